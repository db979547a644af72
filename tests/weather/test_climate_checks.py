"""Checks of the record against itself (Durre et al. 2010): they warn and name days."""

from __future__ import annotations

import numpy as np
import pytest

from holdwater.weather.checks.climate_checks import duplicate_months, gap, outlier
from holdwater.weather.checks.findings import Finding
from holdwater.weather.reading import Reading
from holdwater.weather.record import Origin
from tests.weather.files import Reader, days_from, plausible_rain, table

N = 6 * 365
DAYS = np.array(days_from("2001-01-01", N), dtype="datetime64[D]")


def reading(rain: list[float] | np.ndarray, **others: np.ndarray) -> Reading:
    values = np.asarray(rain, dtype=float)
    return Reading(
        "gauge.csv", "", DAYS, values, np.full(N, Origin.OBSERVED, dtype=np.int8), others=dict(others)
    )


def wet_season() -> np.ndarray:
    """Every third day 1 to 10 mm in turn: the 95th percentile of wet days is 10 mm or just below."""
    rain = np.zeros(N)
    rain[::3] = np.arange(len(rain[::3])) % 10 + 1
    return rain


def found(finding: Finding | None) -> Finding:
    assert finding is not None
    return finding


def test_nine_times_the_95th_percentile_is_told() -> None:
    rain = wet_season()
    rain[1000] = 89.0
    assert outlier(reading(rain)) is None  # below 9 x 10 mm
    rain[1000] = 91.0
    finding = found(outlier(reading(rain)))
    assert not finding.hard
    assert finding.days == (str(DAYS[1000]),)
    assert "(91 mm)" in finding.what


def test_five_times_in_frost() -> None:
    rain = wet_season()
    rain[1000] = 60.0
    mild, frost = np.full(N, 5.0), np.full(N, -5.0)
    assert outlier(reading(rain, t_min=mild, t_max=mild)) is None
    assert found(outlier(reading(rain, t_min=frost, t_max=frost))).days == (str(DAYS[1000]),)


def test_the_season_counts_not_the_year() -> None:
    """60 mm among days of 1 mm is odd in the dry season, however wet the rest of the year is."""
    rain = wet_season()
    month = DAYS.astype("datetime64[M]").astype(int) % 12
    rain[(rain > 0) & (month >= 5) & (month <= 8)] = 1.0
    rain[np.flatnonzero(np.datetime64("2003-08-01") == DAYS)[0]] = 60.0
    assert found(outlier(reading(rain))).days == ("2003-08-01",)


def test_gap_of_300_mm() -> None:
    rain = wet_season()
    rain[1000] = 305.0
    assert gap(reading(rain)) is None  # 295 above the next
    rain[1000] = 311.0
    assert found(gap(reading(rain))).days == (str(DAYS[1000]),)


def test_a_month_copied_into_another_year() -> None:
    rain = np.array(plausible_rain(N))
    assert duplicate_months(reading(rain)) is None
    march = (np.datetime64("2002-03-01") <= DAYS) & (np.datetime64("2002-03-31") >= DAYS)
    other = (np.datetime64("2004-03-01") <= DAYS) & (np.datetime64("2004-03-31") >= DAYS)
    rain[other] = rain[march]
    finding = found(duplicate_months(reading(rain)))
    assert "2004-03 repeats 2002-03" in finding.what
    assert not finding.hard


def test_dry_months_are_no_copies() -> None:
    assert duplicate_months(reading(np.zeros(N))) is None


def test_they_warn_and_do_not_stop(read: Reader) -> None:
    rain = wet_season()
    rain[1000] = 411.0
    record = read(table("date,rain_mm", list(zip(DAYS, rain, strict=True))), accept=["duplicate-months"])
    notes = " | ".join(record.provenance.notes)
    assert "far above all other days of its season" in notes
    assert "(gap)" in notes
    assert record.column("rain")[1000] == pytest.approx(411.0)
