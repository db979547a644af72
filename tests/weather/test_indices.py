"""ETCCDI indices: published values of a real record, and small hand-made series."""

from __future__ import annotations

import math
from pathlib import Path

import numpy as np
import pytest
import vega_datasets  # type: ignore[import-untyped]

from holdwater.scenario.schema import Weather, WeatherFile
from holdwater.weather.indices import by_year, longest_run
from holdwater.weather.inspection import Inspection, inspect

SEATTLE = Path(vega_datasets.__file__).parent / "_data" / "seattle-weather.csv"


@pytest.fixture(scope="module")
def seattle() -> Inspection:
    keys = WeatherFile(file=str(SEATTLE), rain_unit="mm", temperature_unit="degC")
    return inspect(SEATTLE, keys)


def test_seattle_tacoma_by_year(seattle: Inspection) -> None:
    """Longest spells below 1 mm, rain of wet days, wet days, wettest day: two implementations agree on these."""
    years = seattle.years
    assert [y.year for y in years] == [2012, 2013, 2014, 2015]
    assert [y.longest_dry for y in years] == [81, 35, 24, 54]
    assert [y.wet_total for y in years] == pytest.approx([1211.5, 813.6, 1220.1, 1126.2], abs=0.05)
    assert [y.wet_days for y in years] == [148, 119, 123, 116]
    assert [y.wettest for y in years] == pytest.approx([54.1, 43.4, 46.7, 55.9], abs=0.05)


def test_seattle_tacoma_as_a_whole(seattle: Inspection) -> None:
    """48 days without rain, 23 July to 8 September 2012: National Weather Service, as reported by the press."""
    assert seattle.longest_rainless is not None
    assert (seattle.longest_rainless.first, seattle.longest_rainless.last) == ("2012-07-23", "2012-09-08")
    assert seattle.longest_rainless.days == 48
    assert (seattle.first, seattle.last, seattle.days, seattle.missing) == (
        "2012-01-01",
        "2015-12-31",
        1461,
        0,
    )
    assert seattle.findings == ()
    assert all(y.complete for y in seattle.years)


def days(first: str, count: int) -> np.ndarray:
    return np.datetime64(first, "D") + np.arange(count)


def test_a_spell_across_new_year_is_cut() -> None:
    rain = np.array([5.0, 0, 0, 0, 0, 0, 5.0])
    years = by_year(days("2011-12-29", 7), rain)
    assert [(y.year, y.longest_dry, y.longest_wet) for y in years] == [(2011, 2, 1), (2012, 3, 1)]


def test_one_mm_is_wet_and_less_is_dry() -> None:
    year = by_year(days("2011-06-01", 4), np.array([1.0, 0.99, 0.1 * 10, 25.4 / 25.4]))[0]
    assert (year.wet_days, year.longest_dry, year.longest_wet) == (3, 1, 2)


def test_missing_days_end_spells_and_leave_sums_open() -> None:
    year = by_year(days("2011-06-01", 6), np.array([0, 0, math.nan, 0, 2.0, 3.0]))[0]
    assert (year.missing, year.longest_dry, year.total, year.wet_total) == (1, 2, 5.0, None)
    assert (year.wettest, year.wettest_on) == (3.0, "2011-06-06")
    assert not year.complete


def test_a_year_without_a_value_has_no_total() -> None:
    """A plain sum would make it 0 mm."""
    rain = np.concatenate([np.zeros(3), np.full(365, math.nan), np.ones(3)])
    year = by_year(days("2010-12-29", 371), rain)[1]
    assert (year.year, year.total, year.wettest, year.longest_dry) == (2011, None, None, 0)


def test_longest_run_takes_the_first_of_equals() -> None:
    assert longest_run(np.array([False, True, True, False, True, True])) == (1, 2)
    assert longest_run(np.zeros(3, dtype=bool)) == (0, 0)


def test_weather_is_a_weather_file() -> None:
    assert issubclass(Weather, WeatherFile)
