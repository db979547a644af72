"""Checks for rain in another unit than it is taken for, and for counters that add up.

The limits on means and shares are our own, set wide; common practice.
"""

from __future__ import annotations

import numpy as np

from holdwater.weather import written
from holdwater.weather.checks.findings import Check, Finding, known
from holdwater.weather.reading import Reading


def _yearly_mean(reading: Reading) -> float:
    """Rain of an average year, from the known days [mm]."""
    return float(np.nanmean(reading.rain)) * 365.25


def tenths(reading: Reading) -> Finding | None:
    """Tenths of a millimetre taken for millimetres: whole numbers, ten times too wet."""
    if reading.unit != "mm":
        return None
    rain = reading.rain[known(reading)]
    wet = rain[rain > 0]
    if len(wet) < 10 or (wet != np.round(wet)).any():
        return None
    mean, year = float(wet.mean()), _yearly_mean(reading)
    many = len(rain) >= 300
    if mean < 35 and not (many and year > 4000) and float(np.quantile(wet, 0.95)) < 150:
        return None
    top = int(np.nanargmax(reading.rain))
    return Finding(
        "tenths",
        True,
        f"the rain looks like tenths of a millimetre taken for mm: every value is a whole number, the mean "
        f"day with rain has {mean:.0f} mm, the year {year:.0f} mm, the wettest day "
        f"{reading.rain[top]:.0f} mm ({reading.days[top]})",
        'say rain_unit = "tenths of mm"',
        (str(reading.days[top]),),
    )


def inches(reading: Reading) -> Finding | None:
    """Inches taken for millimetres: hundredths throughout, and hardly any rain."""
    if reading.unit != "mm":
        return None
    rain = reading.rain[known(reading)]
    wet = rain[rain > 0]
    if len(wet) < 10 or (np.abs(wet * 100 - np.round(wet * 100)) > 1e-6).any():
        return None
    mean, year = float(wet.mean()), _yearly_mean(reading)
    tenths_only = (np.abs(wet * 10 - np.round(wet * 10)) < 1e-6).all()
    if mean >= 1.0 or wet.max() >= 30 or year >= 500 or tenths_only:
        return None
    return Finding(
        "inches",
        True,
        f"the rain looks like inches taken for mm: values in hundredths, the mean day with rain has "
        f"{mean:.2f} mm, the wettest {wet.max():.2f} mm, the year {year:.0f} mm",
        'say rain_unit = "in"',
    )


def not_inches(reading: Reading) -> Finding | None:
    """Millimetres taken for inches."""
    if reading.unit != "in":
        return None
    rain = reading.rain[known(reading)]
    wet = rain[rain > 0]
    if len(wet) < 10:
        return None
    mean, year = float(wet.mean()) / 25.4, _yearly_mean(reading) / 25.4
    if mean < 1.6 and not (len(rain) >= 300 and year > 500):
        return None
    return Finding(
        "not-inches",
        True,
        f"the rain looks like mm taken for inches: the mean day with rain has {mean:.1f} in, "
        f"the wettest {wet.max() / 25.4:.1f} in, the year {year:.0f} in",
        'say rain_unit = "mm"',
    )


def cumulative(reading: Reading) -> Finding | None:
    """A counter that only grows, with a reset now and then, instead of daily amounts."""
    rain = reading.rain[known(reading)]
    if len(rain) < 15 or not (rain > 0).any():
        return None
    steps = np.diff(rain)
    falls, rises = int((steps < 0).sum()), int((steps > 0).sum())
    if rises < 5 or falls > max(1, rises // 8) or (rain == 0).mean() > 0.5:
        return None
    return Finding(
        "cumulative",
        True,
        f"the rain looks like a counter that adds up: of {len(steps)} steps from day to day {rises} rise and "
        f"only {falls} fall, up to {written.rain(float(rain.max()), reading.unit)}",
        'say readings = "cumulative", and the daily amounts are the differences',
    )


CHECKS: dict[str, Check] = {
    "tenths": tenths,
    "inches": inches,
    "not-inches": not_inches,
    "cumulative": cumulative,
}
