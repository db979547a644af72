"""Droughts pooled, ranked and told."""

from __future__ import annotations

import datetime as dt
from statistics import NormalDist
from typing import Any

import numpy as np
import pytest

from holdwater import spi
from holdwater.errors import InputError
from holdwater.ledger import Ledger
from holdwater.report.droughts import as_data, pooling, sentences
from holdwater.scores import Scores, score
from holdwater.simulation import simulate
from holdwater.spells import runs
from holdwater.studies import droughts
from tests.holdings import holding, record, run

TANK = {"name": "tank", "capacity": "3 m3", "diameter": "2 m"}
FULL = {"start_full": 1.0, "rule": "YBS"}
ROOF = {"name": "roof", "area": "1000 m2", "runoff_coefficient": 1.0, "feeds": "tank"}


def scored(rain: Any, **parts: Any) -> tuple[Ledger, Scores]:
    ledger = run(rain, tank=[TANK], **({"run": FULL} | parts))
    return ledger, score(ledger)


# A tank of 3 m3, full, 1 m3 a day, 1 mm = 1 m3: dry on days 3 to 5, 8 and 9.
RAIN = [0, 0, 0, 0, 0, 0, 1, 1, 0, 0, 4, 0, 0, 0, 1, 1, 1, 1, 1, 1, 1, 5, 1, 1, 1]


@pytest.mark.parametrize(
    ("apart", "spans"),
    [
        (0, [(3, 6), (8, 10), (20, 21)]),
        (2, [(3, 6), (8, 10), (20, 21)]),
        (3, [(3, 10), (20, 21)]),
        (10, [(3, 10), (20, 21)]),
        (11, [(3, 21)]),
    ],
)
def test_spells_are_pooled_when_fewer_days_than_chosen_lie_between(
    apart: int, spans: list[tuple[int, int]]
) -> None:
    flags = np.zeros(25, dtype=bool)
    flags[[3, 4, 5, 8, 9, 20]] = True
    joined = droughts.pooled(flags, apart)
    assert [(int(a), int(b)) for a, b in runs(joined)] == spans
    assert flags.sum() == 6  # the flags given stay as they are


def test_a_pooled_drought_tells_its_span_deficit_lowest_level_and_refill() -> None:
    ledger, scores = scored(RAIN)
    dry = np.flatnonzero(scores.dry_day).tolist()
    assert dry == [3, 4, 5, 8, 9]
    (found,) = droughts.dry_droughts(ledger, scores, apart=3)
    assert (found.first, found.last) == (dt.date(2001, 1, 4), dt.date(2001, 1, 10))
    assert (found.days, found.spells, found.counted_days) == (7, 2, 5)
    assert found.deficit_L == pytest.approx(5000.0)
    assert (found.lowest_storage_L, found.lowest_on) == (0.0, dt.date(2001, 1, 3 + 1))
    assert found.refill_days == 1  # 4 mm on the day after fill it, less the day's draw
    apart = droughts.dry_droughts(ledger, scores, apart=0)
    assert [(d.days, d.spells, round(d.deficit_L, 6), d.rank) for d in apart] == [
        (3, 1, 3000.0, 1),
        (2, 1, 2000.0, 2),
    ]
    assert [d.return_period_years for d in (found, *apart)] == [None] * 3, "25 days tell of no return period"


def test_rainless_droughts_are_ranked_by_length_and_tell_what_the_tanks_lacked() -> None:
    ledger, _ = scored(RAIN)
    found = droughts.rainless_droughts(ledger, least=3)
    assert [(d.first.day, d.days, d.rank) for d in found] == [(1, 6, 1), (12, 3, 2)]
    assert found[0].deficit_L == pytest.approx(3000.0)
    assert found[1].deficit_L == 0.0


def test_worst_and_within() -> None:
    ledger, scores = scored(RAIN)
    found = droughts.dry_droughts(ledger, scores, apart=0)
    assert [d.rank for d in droughts.worst(found, 1)] == [1]
    assert [d.rank for d in droughts.within(found, dt.date(2001, 1, 6), dt.date(2001, 1, 9))] == [1, 2]
    assert droughts.within(found, dt.date(2001, 1, 11), dt.date(2001, 1, 20)) == []


def thirty_years() -> Ledger:
    """Invented: 30 years of 2 mm on every second day; July to September 2010 rainless; half in 2020."""
    days = np.arange(np.datetime64("1996-01-01"), np.datetime64("2026-01-01"))
    month = days.astype("datetime64[M]")
    rain = np.where(np.arange(days.size) % 2 == 0, 2.0, 0.0)
    rain += np.random.default_rng(5).gamma(0.3, 2.0, days.size)
    rain[(month >= np.datetime64("2010-07")) & (month <= np.datetime64("2010-09"))] = 0.0
    rain[(month >= np.datetime64("2020-04")) & (month <= np.datetime64("2020-05"))] *= 0.5
    return simulate(holding(tank=[TANK], run={"start_full": 1.0}), record(rain.tolist(), "1996-01-01"))


@pytest.mark.parametrize(("days", "known"), [(3649, False), (3652, True)])
def test_return_periods_are_told_from_ten_years_on(days: int, known: bool) -> None:
    """Ten calendar years are 3,652 days or one more; Weibull plotting position rank / (n + 1)."""
    ledger, scores = scored([*RAIN, *([1.0] * (days - len(RAIN)))])
    found = droughts.dry_droughts(ledger, scores, apart=0)
    assert [d.rank for d in found] == [1, 2]
    periods = [d.return_period_years for d in found]
    assert [s.return_period_years for s in scores.dry_spells] == periods
    years = days / 365.25 + 1
    assert periods == (pytest.approx([years, years / 2]) if known else [None, None])
    said = sentences(ledger, scores, "metric")[0]
    assert ("; as bad or worse once in 11 years on this record." in said) is known
    told = as_data(ledger, scores, found, "metric")["droughts"][0]
    assert (told["return_period_years"] is not None) is known


def test_a_drought_by_spi_lasts_while_the_index_is_below_zero_and_reaches_minus_one() -> None:
    found = droughts.spi_droughts(thirty_years(), 1)
    (hit,) = (d for d in found if d.first <= dt.date(2010, 8, 15) <= d.last)
    assert hit.kind == "SPI-1"
    assert hit.first <= dt.date(2010, 7, 1)
    assert hit.last >= dt.date(2010, 9, 30)
    # one rainless month in thirty years: H = q = 1/30, and that is as low as the index of no rain goes
    assert hit.lowest_index == pytest.approx(NormalDist().inv_cdf(1 / 30))
    assert hit.counted_days == hit.days
    assert all(d.lowest_index is not None and d.lowest_index <= -1.0 for d in found)
    assert any(d.first <= dt.date(2020, 4, 30) <= d.last for d in found)
    assert hit.deficit_L > 80_000.0  # the tank fell short meanwhile


def test_the_magnitude_by_spi_is_the_sum_of_the_index_over_its_months() -> None:
    ledger = thirty_years()
    index = spi.spi(ledger.days, ledger.flux("rain"), (3,))
    for drought in droughts.spi_droughts(ledger, 3):
        span = (index.months >= np.datetime64(drought.first, "M")) & (
            index.months <= np.datetime64(drought.last, "M")
        )
        assert drought.magnitude == pytest.approx(-index.values[3][span].sum())


def test_spi_droughts_of_a_short_record_are_refused() -> None:
    with pytest.raises(InputError, match="needs 30 years"):
        droughts.spi_droughts(run([0.0] * 400), 3)


def test_the_table_of_all_leaves_spi_out_of_a_short_record_and_keeps_it_in_a_long_one() -> None:
    ledger, scores = scored(RAIN)
    assert {d.kind for d in droughts.all_droughts(ledger, scores)} == {"dry", "rainless"}
    long = thirty_years()
    kinds = {d.kind for d in droughts.all_droughts(long, score(long))}
    assert kinds == {"dry", "rainless", "SPI-1", "SPI-3", "SPI-6", "SPI-12"}


def test_sentences_name_the_worst_and_say_what_was_pooled() -> None:
    ledger, scores = scored(RAIN)
    assert sentences(ledger, scores, "metric", apart=3) == [
        "Drought 1: 4 to 10 January 2001, 5 dry days in 2 spells, 5,000 L short; the tanks stood lowest on"
        " 4 January 2001 with 0 L above the outlets, and were full again 1 day after it ended."
    ]
    found = droughts.dry_droughts(ledger, scores, 3)
    assert pooling(found, 3) == "dry spells less than 3 days apart count as one drought"
    assert pooling(droughts.dry_droughts(ledger, scores, 0), 0) == ""


def test_sentences_tell_of_last_year() -> None:
    wet, dry = [1.0] * 365, [0.0] * 12
    ledger, scores = scored([*wet, *dry, *wet[:-12]])  # the second year is dry at its start
    assert sentences(ledger, scores, "us")[-1] == "Last year (2002): 1 drought, drought 1 above."
    ledger, scores = scored([*dry, *wet, *wet[:-12]])
    assert sentences(ledger, scores, "us")[-1] == "Last year (2002): no drought."
    ledger, scores = scored([1.0] * 730)
    assert sentences(ledger, scores, "us") == [
        "No drought: the tanks never fell short.",
        "Last year (2002): no drought.",
    ]


def test_last_year_of_lesser_rank_is_told_in_full() -> None:
    block = [1.0] * 60
    years = [*([0.0] * 20), *block, *([0.0] * 19), *block, *([0.0] * 18), *([1.0] * 188)]
    ledger, scores = scored([*years, *([0.0] * 5), *([1.0] * 360)])
    last = sentences(ledger, scores, "us", apart=0)[-1]
    assert last.startswith("Last year (2002): 1 drought, drought 4 of 4, 1 to 5 January 2002, 5 dry")


def test_a_drought_that_runs_to_the_end_was_not_full_again() -> None:
    ledger, scores = scored([0.0] * 10)
    (said,) = sentences(ledger, scores, "us")
    assert "were not full again on this record" in said
    (found,) = droughts.dry_droughts(ledger, scores)
    assert found.refill_days is None


@pytest.mark.parametrize(("rule", "last"), [("YAS", 7), ("YBS", 6)])
def test_a_tank_that_spills_by_day_is_full_again_whatever_the_evening_says(rule: str, last: int) -> None:
    # 9 mm fill the dry tank on day 7; from then on 1 mm a day makes up for the draw: YAS spills it first,
    # so every evening stands a day's draw (a third) below the lip
    ledger, scores = scored([0.0] * 6 + [9.0] + [1.0] * 5, run=FULL | {"rule": rule})
    (spell,), (drought,) = scores.dry_spells, droughts.dry_droughts(ledger, scores)
    assert spell.last == dt.date(2001, 1, last)
    assert (spell.refill_days, drought.refill_days) == (1, 1)
    assert ledger.flux("drawable").sum(axis=0)[-1] == pytest.approx(2000.0 if rule == "YAS" else 3000.0)
