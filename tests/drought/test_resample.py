"""Whole years drawn by lot: calendar, seed, coverage on a synthetic climate."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

import numpy as np
import pytest

from holdwater.errors import InputError
from holdwater.scores import score
from holdwater.simulation import simulate
from holdwater.studies.resample import Lot, bootstrap, interval, resample, whole_years
from holdwater.weather.record import Provenance, Record, daily_dataset
from tests.holdings import holding, record


def days(first: str, last: str) -> Any:
    return np.arange(np.datetime64(first), np.datetime64(last) + 1)


def of(dates: Any, rain: Any) -> Record:
    data = daily_dataset(dates, np.asarray(rain, dtype=float), np.ones(dates.size, dtype=np.int8))
    return Record(data, Provenance(source="invented for a test"))


def telling(first: str, last: str) -> Record:
    """Rain that tells its own date: the year, and the month and day behind the point."""
    dates = days(first, last)
    year = dates.astype("datetime64[Y]").astype(int) + 1970
    month = dates.astype("datetime64[M]").astype(int) % 12 + 1
    of_month = (dates - dates.astype("datetime64[M]")).astype(int) + 1
    return of(dates, year + (month * 100 + of_month) / 10_000)


def test_only_complete_years_are_drawn_from() -> None:
    dates = days("2000-07-01", "2004-12-31")
    found = [(str(dates[a]), str(dates[b - 1])) for a, b in whole_years(dates)]
    assert found == [(f"{y}-01-01", f"{y}-12-31") for y in (2001, 2002, 2003, 2004)]
    water = [(str(dates[a]), str(dates[b - 1])) for a, b in whole_years(dates, starts=10)]
    assert water == [(f"{y}-10-01", f"{y + 1}-09-30") for y in (2000, 2001, 2002, 2003)]


@pytest.mark.parametrize("starts", [1, 10])
def test_every_year_is_joined_whole_and_keeps_its_calendar(starts: int) -> None:
    old = telling("1990-01-01", "2009-12-31")
    new = resample(old, 7, starts)
    rain, dates = new.data["rain"].values, new.days
    assert (np.diff(dates).astype(int) == 1).all()
    month, of_month = dates.astype("datetime64[M]").astype(int) % 12 + 1, np.round(rain % 1 * 10_000) % 100
    assert (np.round(rain % 1 * 100_00) // 100 == month).all()
    assert (of_month == (dates - dates.astype("datetime64[M]")).astype(int) + 1).all()
    years = whole_years(dates, starts)
    assert len(years) == (20 if starts == 1 else 19)
    for a, b in years:
        inside = ~((month[a:b] == 2) & (of_month[a:b] == 29))
        spring = rain[a:b][inside].astype(int)
        assert np.unique(np.diff(spring)).tolist() in ([0], [0, 1])  # one year, from its start to its end
    drawn_from = {int(rain[a]) for a, b in years}
    assert 5 < len(drawn_from) < 20  # with replacement


def test_a_29_february_comes_from_a_29_february() -> None:
    old = telling("1990-01-01", "2009-12-31")
    for seed in range(5):
        new = resample(old, seed)
        leap = np.array([str(d).endswith("-02-29") for d in new.days])
        assert leap.sum() == 5
        assert (np.round(new.data["rain"].values[leap] % 1 * 10_000) == 229).all()


def test_the_same_seed_gives_the_same_bits_and_another_seed_other_years() -> None:
    old = telling("1990-01-01", "2009-12-31")
    one, two, other = (resample(old, seed).data["rain"].values for seed in (3, 3, 4))
    assert one.tobytes() == two.tobytes()
    assert one.tobytes() != other.tobytes()
    told = bootstrap(old, lambda r: {"rain": float(r.data["rain"].values.sum())}, 5, seed=11)
    again = bootstrap(old, lambda r: {"rain": float(r.data["rain"].values.sum())}, 5, seed=11)
    assert told["rain"].tobytes() == again["rain"].tobytes()
    assert np.unique(told["rain"]).size == 5


def test_blocks_keep_consecutive_years_together() -> None:
    old = telling("1990-01-01", "2009-12-31")
    lot = Lot(old.days, block=4)
    places = lot.draw(2)
    first = [int(old.data["rain"].values[places[a]]) for a, _ in whole_years(lot.dates)]
    for i in range(0, 20, 4):
        assert first[i : i + 4] == list(range(first[i], first[i] + 4))


def test_the_record_says_that_it_was_drawn_by_lot() -> None:
    new = resample(telling("1990-01-01", "2009-12-31"), 5, block=2)
    assert new.provenance.notes[-1].startswith(
        "whole years of the record drawn by lot in blocks of 2 (seed 5)"
    )


def test_temperatures_are_drawn_with_their_rain() -> None:
    old = telling("1990-01-01", "2009-12-31")
    old.data["t_min"] = old.data["rain"]
    new = resample(old, 1)
    assert (new.data["t_min"].values == new.data["rain"].values).all()


def test_short_records_and_impossible_blocks_are_refused() -> None:
    short = telling("2001-01-01", "2009-12-31")
    with pytest.raises(InputError, match="needs 10 complete years; this record has 9"):
        resample(short, 1)
    with pytest.raises(InputError, match="blocks of 30 years cannot be drawn from 20 years; use 1 to 20"):
        resample(telling("1990-01-01", "2009-12-31"), 1, block=30)


def test_the_interval_is_the_percentiles_of_the_samples() -> None:
    found = interval(np.arange(1.0, 20.0), 0.9)  # 19 sorted values stand for 1/20 ... 19/20
    assert (found.low, found.high, found.samples) == (1.0, 19.0, 19)
    assert interval(np.array([np.nan, *np.arange(1.0, 20.0)]), 0.9).samples == 19
    with pytest.raises(InputError, match=r"an interval of 90 % needs 19 samples or more; there are 18"):
        interval(np.arange(18.0), 0.9)


def test_intervals_of_mean_dry_days_cover_the_truth_of_a_synthetic_climate() -> None:
    """200 climates of 30 independent years; nine intervals in ten should hold the true mean.

    Each year has Poisson(12) rainless weeks; percentile intervals from 30 values are known to be a
    little narrow, so 90 % nominal may come out a few per cent lower (Efron & Tibshirani 1993, from memory).
    """
    dates = days("1991-01-01", "2020-12-31")
    year = dates.astype("datetime64[Y]").astype(int) - 21
    lot = np.random.default_rng(20)
    covered, years = 0, Lot(dates)
    for trial in range(200):
        dry_weeks = lot.poisson(12.0, 30)
        into = (dates - dates.astype("datetime64[Y]")).astype(int)
        climate = of(dates, np.where(into < 7 * dry_weeks[year], 0.0, 1.0))
        rain = climate.data["rain"].values
        means = []
        for sample in range(59):
            means.append(float((rain[years.draw((trial, sample))] == 0.0).sum()) / 30.0)
        found = interval(np.array(means), 0.9)
        covered += found.low <= 7 * 12.0 <= found.high
    assert 165 <= covered <= 192


def test_dry_days_and_reliability_of_a_holding_vary_with_the_draw() -> None:
    lot = np.random.default_rng(4)
    dates = days("2001-01-01", "2010-12-31")
    wet_year = lot.uniform(0.4, 1.6, 10)[dates.astype("datetime64[Y]").astype(int) - 31]
    rain = np.where(lot.random(dates.size) < 0.2, 5.0 * wet_year, 0.0)
    scenario = holding(tank=[{"name": "tank", "capacity": "20 m3", "diameter": "3 m"}])

    def tell(drawn_record: Record) -> Mapping[str, float]:
        found = score(simulate(scenario, drawn_record))
        return {"dry": found.dry_days.per_year, "reliability": found.reliability_time or 0.0}

    told = bootstrap(of(dates, rain), tell, samples=19, seed=1)
    here = tell(of(dates, rain))
    for name, values in told.items():
        found = interval(values, 0.9)
        assert found.low < here[name] < found.high
        assert found.low < found.high


def test_a_plain_record_is_not_changed_by_drawing() -> None:
    old = record([1.0] * 3653, "2001-01-01")
    assert (resample(old, 9).data["rain"].values == 1.0).all()
    assert old.provenance.notes == ()
