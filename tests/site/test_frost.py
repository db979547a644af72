"""Frost read off a daily record; the records here are invented."""

from __future__ import annotations

import datetime as dt

import numpy as np
import pytest

from holdwater.site.ground import freezing_index, frost
from holdwater.site.seen import frost_in
from holdwater.weather.record import Provenance, Record, daily_dataset

Days = np.ndarray[tuple[int], np.dtype[np.datetime64]]
Floats = np.ndarray[tuple[int], np.dtype[np.float64]]


def year_after_year(first: str, last: str, cold: set[str], frost_mean: float = -10.0) -> tuple[Days, Floats]:
    """Days at 10 degC, those with these month-days at the frost's mean."""
    days = np.arange(np.datetime64(first), np.datetime64(last) + 1)
    mean = np.array([frost_mean if str(day)[5:] in cold else 10.0 for day in days])
    return days, mean


JANUARY = {f"01-{day:02d}" for day in range(1, 21)}
JULY = {f"07-{day:02d}" for day in range(1, 21)}


def test_freezing_index_by_hand() -> None:
    """Three days at -4, a thaw of 2, two at -5: the sum falls by 20 from peak to trough."""
    assert freezing_index(np.array([3.0, -4.0, -4.0, -4.0, 2.0, -5.0, -5.0, 9.0])) == pytest.approx(20.0)
    assert freezing_index(np.array([3.0, 4.0])) == 0.0


def test_a_northern_record() -> None:
    """Twenty days at a mean of -10: index 200 each winter, 20 days of frost."""
    days, mean = year_after_year("2001-07-01", "2004-06-30", JANUARY)
    found = frost(days, mean - 5.0, mean + 5.0)
    assert found is not None
    assert found.winters == 3
    assert found.days_per_year == 20.0
    assert found.worst_index == pytest.approx(200.0)
    assert found.mean_index == pytest.approx(200.0)
    assert (found.coldest, found.warmest) == (-15.0, 15.0)


def test_a_winter_that_is_not_whole_is_not_counted() -> None:
    days, mean = year_after_year("2001-01-01", "2003-06-30", JANUARY)
    found = frost(days, mean - 5.0, mean + 5.0)
    assert found is not None
    assert found.winters == 2, "the winter before January 2001 is cut"
    mean[400] = np.nan
    found = frost(days, mean - 5.0, mean + 5.0)
    assert found is not None
    assert found.winters == 1
    assert frost(days[:200], mean[:200], mean[:200]) is None


def test_a_winter_over_the_year_end_is_one_winter() -> None:
    cold = {f"12-{day:02d}" for day in range(22, 32)} | {f"01-{day:02d}" for day in range(1, 11)}
    days, mean = year_after_year("2001-07-01", "2003-06-30", cold)
    found = frost(days, mean - 5.0, mean + 5.0)
    assert found is not None
    assert found.worst_index == pytest.approx(200.0)


def record(days: Days, mean: Floats | None) -> Record:
    rain, origin = np.zeros(days.size), np.ones(days.size, dtype=np.int8)
    both = {} if mean is None else {"t_min": mean - 5.0, "t_max": mean + 5.0}
    return Record(daily_dataset(days, rain, origin, **both), Provenance("invented"))


def test_the_half_of_the_earth_is_the_owners_or_the_records() -> None:
    days, mean = year_after_year("2001-01-01", "2002-12-31", JULY)
    south = frost_in(record(days, mean), latitude=-38.0)
    assert south is not None
    assert south.winters == 2
    assert south == frost_in(record(days, mean))
    north = frost_in(record(days, mean), latitude=38.0)
    assert north is not None
    assert north.winters == 1, "from July to June only one year is whole"


def test_no_temperatures_no_frost() -> None:
    days, _ = year_after_year("2001-07-01", "2002-06-30", JANUARY)
    assert frost_in(record(days, None)) is None
    assert record(days, None).first == dt.date(2001, 7, 1)
