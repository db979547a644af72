"""Set-ups side by side: on the whole record, through one drought, from a level said."""

from __future__ import annotations

import datetime as dt

import numpy as np
import pytest

from holdwater.errors import InputError
from holdwater.ledger import closing_error
from holdwater.scenario import ScenarioFile, load
from holdwater.scores import score
from holdwater.simulation import simulate
from holdwater.studies.compare import (
    Compared,
    Comparison,
    SetUp,
    Window,
    compare,
    days_between,
    last_year,
    part_of_run,
    roof_areas,
    worst,
)
from holdwater.studies.droughts import dry_droughts
from holdwater.units import Level
from holdwater.weather.record import Record
from tests.studies.conftest import DEMO, YEARS

NAMES = ("third tank", "save water")
D = dt.date


@pytest.fixture(scope="module")
def set_ups(demo: ScenarioFile) -> list[SetUp]:
    return [SetUp("present", demo), *(SetUp(name, load(DEMO, YEARS, name)) for name in NAMES)]


@pytest.fixture(scope="module")
def whole(set_ups: list[SetUp], demo_record: Record) -> Comparison:
    return compare(set_ups, lambda scenario: demo_record)


def test_every_set_up_is_its_own_single_run(whole: Comparison, demo_record: Record) -> None:
    for each in whole.compared:
        alone = score(simulate(each.set_up.file.scenario, demo_record))
        assert each.scores.dry_days == alone.dry_days
        assert each.scores.totals_L == alone.totals_L
    assert [each.name for each in whole.compared] == ["present", *NAMES]
    assert whole.window is None


def test_in_a_window_each_comes_in_as_its_own_past_left_it(
    whole: Comparison, set_ups: list[SetUp], demo_record: Record
) -> None:
    """The days shown are days of the whole run, storage, soil and loads on order included."""
    found = compare(set_ups, lambda scenario: demo_record, days_between(D(2002, 6, 1), D(2002, 10, 31)))
    a = (D(2002, 6, 1) - D(2001, 1, 1)).days
    b = (D(2002, 10, 31) - D(2001, 1, 1)).days + 1
    for part, all_of_it in zip(found.compared, whole.compared, strict=True):
        assert part.ledger.period == (D(2002, 6, 1), D(2002, 10, 31))
        for name in ("delivered", "depletion", "drawable", "supplied"):
            edge = int(part.ledger.data[name].dims[-1] == "edge")
            assert np.array_equal(part.ledger.flux(name), all_of_it.ledger.flux(name)[:, a : b + edge]), name
        assert part.scores.dry_day.tolist() == all_of_it.scores.dry_day[a:b].tolist()
        assert closing_error(part.ledger) < 1e-9
    opening = [each.opening_L for each in found.compared]
    assert len(set(opening)) == 3


def test_a_level_said_is_what_each_starts_with(set_ups: list[SetUp], demo_record: Record) -> None:
    window = days_between(D(2002, 6, 1), D(2002, 10, 31))
    half = compare(set_ups, lambda scenario: demo_record, window, Level(share=0.5))
    for each in half.compared:
        assert each.opening_L == pytest.approx(0.5 * each.capacity_L)
    same = compare(set_ups, lambda scenario: demo_record, window, Level(volume=9000.0))
    assert [each.opening_L for each in same.compared] == pytest.approx([9000.0] * 3)
    more = compare(set_ups, lambda scenario: demo_record, window, Level(volume=1e6))
    assert [each.opening_L for each in more.compared] == pytest.approx(
        [each.capacity_L for each in more.compared]
    )
    assert "as the weather of the 365 days before left them" in half.assumed


def test_a_level_said_that_is_the_simulated_one_changes_nothing(
    demo: ScenarioFile, demo_record: Record
) -> None:
    """Without a load on order and with soil as the same weather left it, both ways give the same days.

    Soil and chambers are worked out from the year before, from its first day half way to stress: by the next
    summer nothing is left of that.
    """
    plain = demo.vary([("backup-", "hauler"), ("draw-", ["tomatoes", "beans"])])
    set_up = [SetUp("present", plain)]
    window = days_between(D(2003, 6, 1), D(2003, 12, 31))
    simulated = compare(set_up, lambda scenario: demo_record, window)
    said = compare(
        set_up, lambda scenario: demo_record, window, Level(volume=simulated.compared[0].opening_L)
    )
    one, other = (made.compared[0].ledger.flux("delivered") for made in (simulated, said))
    assert other == pytest.approx(one, rel=1e-9, abs=1e-6)


def test_the_worst_drought_is_the_presents_own(whole: Comparison) -> None:
    present = whole.compared[0]
    droughts = sorted(dry_droughts(present.ledger, present.scores), key=lambda each: each.rank)
    for rank, drought in enumerate(droughts[:3], start=1):
        window = worst(rank)(present)
        assert window.first <= drought.first
        assert window.last >= drought.last
        assert (drought.first - window.first).days <= 365
        assert (window.last - drought.last).days <= 180
        assert str(drought.first) in window.why
    storage = present.ledger.flux("drawable").sum(axis=0)
    window = worst(1)(present)
    at, first = (window.first - D(2001, 1, 1)).days, (droughts[0].first - D(2001, 1, 1)).days
    assert storage[at] == storage[max(0, first - 365) : first + 1].max(), (
        "from the fullest day of the year before"
    )


def test_a_holding_that_never_ran_dry_has_its_longest_rainless_spell(
    demo: ScenarioFile, demo_record: Record
) -> None:
    calm = SetUp("present", demo.vary(["draw.house.people=0"]))
    found = compare([calm], lambda scenario: demo_record, worst(1))
    assert found.window is not None
    assert found.window.why.startswith("longest rainless spell; the present set-up never ran dry")


def test_there_is_no_drought_beyond_the_last(whole: Comparison) -> None:
    count = len(dry_droughts(whole.compared[0].ledger, whole.compared[0].scores))
    with pytest.raises(
        InputError, match=f"the record holds {count} droughts; choose 1, the worst, to {count}"
    ):
        worst(count + 1)(whole.compared[0])


def test_the_last_year_is_that_of_the_tables(demo: ScenarioFile, demo_record: Record) -> None:
    water_years = demo.vary(["run.year_starts=10"])
    for file, first, last in (
        (demo, D(2004, 1, 1), D(2004, 12, 31)),
        (water_years, D(2004, 10, 1), D(2004, 12, 31)),
    ):
        found = compare([SetUp("present", file)], lambda scenario: demo_record, last_year)
        assert (found.compared[0].ledger.period) == (first, last)


@pytest.mark.parametrize(
    ("first", "last", "said"),
    [
        (D(2002, 5, 1), D(2002, 4, 1), "--from 2002-05-01 comes after --to 2002-04-01; swap them"),
        (D(1999, 5, 1), None, "1999-05-01 to 2004-12-31 reaches outside the run, 2001-01-01 to 2004-12-31"),
        (None, D(2030, 1, 1), "2001-01-01 to 2030-01-01 reaches outside the run"),
    ],
)
def test_days_outside_the_run_are_refused(
    first: dt.date | None, last: dt.date | None, said: str, set_ups: list[SetUp], demo_record: Record
) -> None:
    with pytest.raises(InputError, match=said):
        compare(set_ups, lambda scenario: demo_record, days_between(first, last))


def test_part_of_a_run_closes_on_its_own(whole: Comparison) -> None:
    ledger = whole.compared[0].ledger
    part = part_of_run(ledger, D(2002, 3, 3), D(2002, 3, 3))
    assert part.days.size == 1
    assert part.flux("drawable").shape[1] == 2
    assert closing_error(part) < 1e-9
    assert part.record.first == D(2002, 3, 3)


def test_areas_of_one_roof_are_set_ups(demo: ScenarioFile) -> None:
    barn = roof_areas(demo, "1000 ft2, 1,500 ft2", None)
    assert [each.name for each in barn] == ["barn roof 1000 ft2", "barn roof 1,500 ft2"]
    assert [each.file.scenario.roof[0].area / 0.09290304 for each in barn] == pytest.approx([1000, 1500])
    assert all(each.file.scenario.roof[1] == demo.scenario.roof[1] for each in barn)
    house = roof_areas(demo, "1000 ft2..3000 ft2:5", "house")
    assert [round(each.file.scenario.roof[1].area / 0.09290304) for each in house] == [
        1000,
        1500,
        2000,
        2500,
        3000,
    ]


@pytest.mark.parametrize(
    ("areas", "roof", "said"),
    [
        ("1000 ft2", "bran", "there is no roof 'bran'; did you mean 'barn'"),
        ("1000 gal", None, "a volume, but an area is needed"),
        ("1000", None, "has no unit"),
    ],
)
def test_areas_that_are_none_are_refused(areas: str, roof: str | None, said: str, demo: ScenarioFile) -> None:
    with pytest.raises(InputError, match=said):
        roof_areas(demo, areas, roof)


def test_windows_say_why_they_were_chosen(whole: Comparison) -> None:
    present: Compared = whole.compared[0]
    assert last_year(present) == Window(D(2004, 1, 1), D(2004, 12, 31), "the last year on record")
    assert days_between(None, None)(present).why == "the days asked for"
