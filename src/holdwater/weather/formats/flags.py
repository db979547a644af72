"""Flags of the Global Historical Climatology Network: what a letter beside a value does to it.

Source: National Centers for Environmental Information, readme of GHCN-Daily (measurement,
quality and source flags).
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping

import numpy as np
import numpy.typing as npt

from holdwater.weather import written
from holdwater.weather.formats.cells import Floats, Mask
from holdwater.weather.reading import Codes, Days, origins

Letters = npt.NDArray[np.uint8]

TRACE, PRESUMED_ZERO = ord("T"), ord("P")
SYNOPTIC = ord("S")
NONE = (0, 32)


def failed(quality: Letters) -> Mask:
    """Values with any quality flag failed a check of the source."""
    return ~np.isin(quality, NONE)


def judge_rain(
    days: Days, rain: Floats, measurement: Letters, quality: Letters, source: Letters, unit: str
) -> tuple[Floats, Codes, list[str]]:
    """Rain, its origin, and what to tell: failed and presumed values are missing, a trace is not.

    Parameters
    ----------
    days : ndarray of datetime64[D]
        Days of the values.
    rain : ndarray
        NaN where missing [mm].
    measurement, quality, source : ndarray of uint8
        The flag letters as bytes.
    unit : str
        Unit of the rain in the file, for the notes.
    """
    there = ~np.isnan(rain)
    bad = failed(quality) & there
    presumed = (measurement == PRESUMED_ZERO) & there & ~bad
    missing = ~there | bad | presumed
    trace = (measurement == TRACE) & ~missing
    notes = []
    if bad.any():
        letters = "".join(sorted({chr(c) for c in quality[bad]}))
        shown = ", ".join(
            f"{d} ({written.rain(float(v), unit)})"
            for d, v in list(zip(days[bad], rain[bad], strict=True))[:3]
        ) + (" and more" if bad.sum() > 3 else "")
        notes.append(
            f"rain values that failed the source's quality checks: {int(bad.sum())} (flags {letters}), counted "
            f"as missing: {shown}"
        )
    if presumed.any():
        notes.append(
            f"days marked 'missing, presumed zero' by the source: {int(presumed.sum())}, counted as missing"
        )
    synoptic = (source == SYNOPTIC) & ~missing
    if synoptic.any():
        notes.append(
            f"rain taken from hourly synoptic reports (source flag S): {int(synoptic.sum())} days; such totals "
            "may differ from the gauge's own"
        )
    values = np.where(missing, np.nan, np.where(trace, 0.0, rain))
    return values, origins(missing, trace), notes


def temperature(values: Floats, quality: Letters) -> Floats:
    """Temperatures, NaN where they failed a check."""
    return np.where(failed(quality), np.nan, values)


def day_end(times: Mapping[str, int]) -> tuple[str, list[str]]:
    """The hour the rain day ends, from counted observation times ("0700"), and a note if it changed."""
    counted = Counter({t: n for t, n in times.items() if len(t) == 4 and t.isdecimal()})
    if not counted:
        return "not stated", []
    (usual, days), *others = counted.most_common()
    words = f"{usual[:2]}:{usual[2:]} (observation time in the file)"
    if not others:
        return words, []
    changed = ", ".join(f"{t[:2]}:{t[2:]} on {n} days" for t, n in others[:3])
    return words, [f"the hour of observation changes: {usual[:2]}:{usual[2:]} on {days} days, {changed}"]
