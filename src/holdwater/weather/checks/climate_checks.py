"""Checks of the record against itself, after the quality control of GHCN-Daily; they warn only.

Source: Durre, Menne, Gleason, Houston and Vose 2010, Comprehensive automated quality assurance of
daily surface observations, J. Appl. Meteor. Climatol. 49:1615, thresholds as documented by two
independent implementations.
"""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

from holdwater.weather import written
from holdwater.weather.checks.findings import Check, Finding, known, rain_days
from holdwater.weather.reading import Floats, Mask, Reading
from holdwater.weather.record import Origin

WINDOW = 29
LEAST_WET = 20
FACTOR, FACTOR_FREEZING = 9.0, 5.0
GAP_MM = 300.0
LEAST_WET_OF_MONTH = 3


def outlier(reading: Reading) -> Finding | None:
    """Days with 9 times the 95th percentile of wet days at that time of year (5 times in frost).

    The percentile is that of all values above zero in a 29-day window over all years, where there
    are at least 20.
    """
    measured = known(reading) & (reading.origin != Origin.SPREAD) & (reading.rain > 0)
    if measured.sum() < LEAST_WET:
        return None
    freezing = _freezing(reading)
    limit = np.where(freezing, FACTOR_FREEZING, FACTOR)
    at = np.flatnonzero(measured)
    place, rain = _day_of_year(reading)[at], reading.rain[at]
    order = np.argsort(place, kind="stable")
    place_sorted, rain_sorted = place[order], rain[order]
    floor = _lowest_of_season(place, rain)  # spares the window of all but a few days
    found = []
    for i in np.flatnonzero(rain >= limit[at] * floor).tolist():
        values = _window(place_sorted, rain_sorted, int(place[i]))
        if len(values) >= LEAST_WET and rain[i] >= limit[at[i]] * np.quantile(values, 0.95):
            found.append(int(at[i]))
    if not found:
        return None
    return Finding(
        "outlier",
        False,
        f"rain far above all other days of its season on {rain_days(reading, found)}",
        "compare the days with another source",
        tuple(str(d) for d in reading.days[found]),
    )


def _lowest_of_season(place: npt.NDArray[np.int64], rain: Floats) -> Floats:
    """Half the lowest 95th percentile of the twelfth of the year a day is in and of its neighbours."""
    part = np.minimum(place * 12 // 365, 11)
    high = np.array([np.quantile(rain[part == k], 0.95) if (part == k).any() else 0.0 for k in range(12)])
    lowest = np.minimum(high, np.minimum(np.roll(high, 1), np.roll(high, -1)))
    return np.asarray(0.5 * lowest[part])


def _freezing(reading: Reading) -> Mask:
    low, high = reading.others.get("t_min"), reading.others.get("t_max")
    if low is None or high is None:
        return np.zeros(len(reading.days), dtype=bool)
    return np.asarray((low + high) / 2 < 0)


def _day_of_year(reading: Reading) -> npt.NDArray[np.int64]:
    """Place in the year, 0 to 365."""
    years = reading.days.astype("datetime64[Y]").astype("datetime64[D]")
    return np.asarray((reading.days - years).astype(np.int64))


def _window(place: npt.NDArray[np.int64], rain: Floats, centre: int) -> Floats:
    """Values within 14 days of a place in the year; the year is a ring."""
    half = WINDOW // 2
    parts = []
    for shift in (-365, 0, 365):
        low, high = np.searchsorted(place, [centre - half + shift, centre + half + shift + 1])
        parts.append(rain[low:high])
    return np.concatenate(parts)


def gap(reading: Reading) -> Finding | None:
    """Values 300 mm or more above the next lower one of their calendar month."""
    there = known(reading)
    if not there.any() or np.nanmax(reading.rain) < GAP_MM:
        return None
    month = reading.days.astype("datetime64[M]").astype(np.int64) % 12
    found: list[int] = []
    for m in range(12):
        at = np.flatnonzero(there & (month == m))
        at = at[np.argsort(reading.rain[at], kind="stable")]
        jumps = np.flatnonzero(np.diff(reading.rain[at], prepend=0.0) >= GAP_MM)
        if len(jumps):
            found += at[jumps[0] :].tolist()
    if not found:
        return None
    found.sort()
    return Finding(
        "gap",
        False,
        f"rain {written.rain_alone(GAP_MM, reading.unit)} or more above any other day of its calendar month on "
        f"{rain_days(reading, found)}",
        "compare the days with another source",
        tuple(str(d) for d in reading.days[found]),
    )


def duplicate_months(reading: Reading) -> Finding | None:
    """Months that repeat another month day by day, with at least 3 wet days."""
    months = reading.days.astype("datetime64[M]")
    starts = np.flatnonzero(reading.days == months.astype("datetime64[D]"))
    starts = starts[starts + 28 <= len(reading.days)]
    if len(starts) < 2:
        return None
    rain = reading.rain[starts[:, None] + np.arange(28)]
    rain = np.where(known(reading)[starts[:, None] + np.arange(28)], rain, np.nan)
    full = ~np.isnan(rain).any(axis=1) & ((rain > 0).sum(axis=1) >= LEAST_WET_OF_MONTH)
    starts, rain = starts[full], np.ascontiguousarray(rain[full])
    _, first, which = np.unique(
        rain.view(f"V{rain.shape[1] * 8}").ravel(), return_index=True, return_inverse=True
    )
    again = np.flatnonzero(first[which] != np.arange(len(starts)))
    if not len(again):
        return None
    named = [f"{months[starts[i]]} repeats {months[starts[first[which[i]]]]}" for i in again]
    shown = ", ".join(named[:4]) + (f" and {len(named) - 4} more" if len(named) > 4 else "")
    return Finding(
        "duplicate-months",
        False,
        f"months that are equal day by day: {shown}",
        "one of each pair may be a copy; compare with another source",
        tuple(str(months[starts[i]]) for i in again),
    )


CHECKS: dict[str, Check] = {
    "outlier": outlier,
    "gap": gap,
    "duplicate-months": duplicate_months,
}
