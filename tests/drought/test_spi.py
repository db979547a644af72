"""Standardised precipitation index: published vector, classes, a witness on a real record."""

from __future__ import annotations

import csv
import math
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from climate_indices import compute, indices
from scipy.special import gammainc

from holdwater import spi
from holdwater.errors import InputError

HERE = Path(__file__).parent
LARKFIELD = HERE.parents[1] / "scenarios" / "larkfield-weather.csv"

# Computed from the published definitions (McKee 1993, Thom 1958); climate-indices gives the same.
SUMS = np.array([0, 0, 4.5, 10.6, 23.1, 31, 12.2, 55.4, 8.8, 18.3])
INDEX = [-0.8416, -0.8416, -0.6562, -0.2049, 0.6030, 1.0137, -0.0886, 2.0097, -0.3394, 0.3194]


def days(first: str, last: str) -> Any:
    return np.arange(np.datetime64(first), np.datetime64(last) + 1)


def oxford() -> np.ndarray[Any, np.dtype[np.float64]]:
    """Monthly rain of thirty years, measured; the file names the source."""
    with (HERE / "oxford-monthly-rain.csv").open() as file:
        rows = list(csv.reader(line for line in file if not line.startswith("#")))[1:]
    return np.array([[float(cell) for cell in row[1:]] for row in rows]).ravel()


def larkfield() -> tuple[Any, Any]:
    """Invented daily rain with rainless months."""
    with LARKFIELD.open() as file:
        rows = list(csv.DictReader(line for line in file if not line.startswith("#")))
    rain = next(key for key in rows[0] if "rain" in key)
    dates = np.array([next(iter(row.values())) for row in rows], dtype="datetime64[D]")
    return dates, np.array([float(row[rain]) * 25.4 for row in rows])


def witness(sums: Any, months: int, first_year: int) -> Any:
    years = sums.size // 12
    return indices.spi(
        sums,
        months,
        indices.Distribution.gamma,
        first_year,
        first_year,
        first_year + years - 1,
        compute.Periodicity.monthly,
    )


def test_the_published_vector_gives_thoms_shape_and_scale() -> None:
    gamma = spi.fit(SUMS)
    assert gamma is not None
    assert gamma.shape == pytest.approx(2.038998, abs=1e-6)
    assert gamma.scale == pytest.approx(10.047827, abs=1e-6)
    assert gamma.zeros == pytest.approx(0.2)


def test_the_published_vector_gives_its_index() -> None:
    assert spi.standardised(SUMS) == pytest.approx(INDEX, abs=5e-5)


@pytest.mark.parametrize("span", spi.SPANS)
def test_climate_indices_agrees_on_a_measured_record_of_thirty_years(span: int) -> None:
    sums = oxford()
    months = np.arange(np.datetime64("1983-01"), np.datetime64("2013-01"))
    ours = spi.by_calendar_month(months, sums, span)
    theirs = witness(sums, span, 1983)
    assert np.isnan(ours).sum() == span - 1
    np.testing.assert_allclose(ours, theirs, atol=0.01)
    assert np.nanmin(ours) < -2.0  # the comparison reaches into the tail


@pytest.mark.parametrize("span", spi.SPANS)
def test_climate_indices_agrees_where_months_are_rainless(span: int) -> None:
    dates, rain = larkfield()
    months, sums = spi.monthly_sums(dates, rain)
    assert (sums == 0.0).any()
    found = spi.spi(dates, rain)
    assert (found.months == months).all()
    np.testing.assert_allclose(found.values[span], witness(sums, span, 1996), atol=0.01)


def test_the_driest_month_of_its_season_has_the_lowest_index() -> None:
    sums = oxford().reshape(30, 12)
    months = np.arange(np.datetime64("1983-01"), np.datetime64("2013-01"))
    found = spi.by_calendar_month(months, sums.ravel(), 1).reshape(30, 12)
    assert (found.argmin(axis=0) == sums.argmin(axis=0)).all()
    assert np.abs(found.mean(axis=0)).max() < 0.1  # standard normal in every season
    assert found.std(axis=0) == pytest.approx(1.0, abs=0.15)


@pytest.mark.parametrize(
    ("value", "name"),
    [
        (2.0, "extremely wet"),
        (1.99, "very wet"),
        (1.5, "very wet"),
        (1.49, "moderately wet"),
        (1.0, "moderately wet"),
        (0.99, "near normal"),
        (0.0, "near normal"),
        (-0.99, "near normal"),
        (-1.0, "moderately dry"),
        (-1.49, "moderately dry"),
        (-1.5, "severely dry"),
        (-1.99, "severely dry"),
        (-2.0, "extremely dry"),
        (-3.09, "extremely dry"),
    ],
)
def test_classes_are_those_of_wmo_1090(value: float, name: str) -> None:
    assert spi.class_of(value) == name


def test_an_undefined_index_has_no_class() -> None:
    with pytest.raises(ValueError, match="not defined"):
        spi.class_of(math.nan)


def test_less_than_thirty_years_is_refused_with_the_length_found() -> None:
    short = days("1996-01-01", "2025-11-30")
    with pytest.raises(
        InputError, match=r"needs 30 years of daily rain; this record has 29\.9; bring a longer"
    ):
        spi.spi(short, np.ones(short.size))
    assert spi.too_short(days("1996-01-01", "2025-12-31")) == ""
    assert spi.too_short(days("1995-03-01", "2025-02-28")) == ""


def test_only_whole_months_are_summed_and_a_missing_day_leaves_its_month_open() -> None:
    dates = days("2001-01-15", "2001-04-10")
    rain = np.ones(dates.size)
    rain[dates == np.datetime64("2001-03-05")] = np.nan
    months, sums = spi.monthly_sums(dates, rain)
    assert months.astype(str).tolist() == ["2001-02", "2001-03"]
    assert sums[0] == 28.0
    assert np.isnan(sums[1])


def test_sums_over_months_end_with_their_month() -> None:
    found = spi.accumulated(np.array([1.0, 2.0, 4.0, np.nan, 8.0, 16.0, 32.0]), 3)
    assert found[2] == 7.0
    assert found[6] == 56.0
    assert np.isnan(found[[0, 1, 3, 4, 5]]).all()
    assert np.isnan(spi.accumulated(np.array([1.0]), 3)).all()


@pytest.mark.parametrize("sums", [[0.0] * 30, [5.0] * 30, [0.0] * 29 + [3.0]])
def test_a_month_with_nothing_to_fit_is_left_open(sums: list[float]) -> None:
    assert np.isnan(spi.standardised(np.array(sums))).all()


def test_the_index_never_passes_its_limit() -> None:
    sums = np.array([10.0, 11.0, 9.0, 10.5] * 8 + [400.0])
    assert spi.standardised(sums).max() <= spi.LIMIT


@pytest.mark.parametrize("shape", [0.02, 0.3, 1.0, 2.5, 12.0, 80.0, 700.0])
def test_the_share_below_is_that_of_scipy(shape: float) -> None:
    x = np.concatenate([[0.0], np.geomspace(1e-6, 20.0, 200), shape * np.linspace(0.01, 4.0, 200)])
    np.testing.assert_allclose(spi.below(shape, x), gammainc(shape, x), rtol=2e-12, atol=1e-13)
