"""A real record through the user's own door: Seattle-Tacoma 2012-2015 of the package vega_datasets."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest
import vega_datasets  # type: ignore[import-untyped]

from holdwater.scenario.schema import Weather
from holdwater.weather import Record, read_weather
from tests.weather.files import rain_of

FILE = Path(vega_datasets.__file__).parent / "_data" / "seattle-weather.csv"


@pytest.fixture(scope="module")
def seattle() -> Record:
    weather = Weather(file=str(FILE), rain_unit="mm", temperature_unit="degC")
    return read_weather(weather, Path())


def test_span(seattle: Record) -> None:
    assert [str(seattle.first), str(seattle.last)] == ["2012-01-01", "2015-12-31"]
    assert len(seattle.days) == 1461
    assert seattle.provenance.missing == 0
    assert seattle.column("t_min") is not None
    assert seattle.column("t_max") is not None


@pytest.mark.parametrize(("year", "inches"), [(2012, 48.26), (2014, 48.50), (2015, 44.83)])
def test_year_totals(seattle: Record, year: int, inches: float) -> None:
    """Totals published by the National Weather Service, as reported by the press."""
    in_year = seattle.days.astype("datetime64[Y]") == np.datetime64(str(year))
    assert rain_of(seattle)[in_year].sum() / 25.4 == pytest.approx(inches, abs=0.05)


def test_november_2012(seattle: Record) -> None:
    """8.28 in: National Weather Service, as reported by the press."""
    in_month = seattle.days.astype("datetime64[M]") == np.datetime64("2012-11")
    assert rain_of(seattle)[in_month].sum() / 25.4 == pytest.approx(8.28, abs=0.02)


def test_longest_stretch_without_rain(seattle: Record) -> None:
    """48 days, 23 July to 8 September 2012: National Weather Service, as reported by the press."""
    wet = np.flatnonzero(np.concatenate([[1.0], rain_of(seattle), [1.0]]) > 0)
    longest = int(np.argmax(np.diff(wet)))
    first, count = wet[longest], int(np.diff(wet)[longest]) - 1
    assert count == 48
    assert str(seattle.days[first]) == "2012-07-23"
    assert str(seattle.days[first + count - 1]) == "2012-09-08"
