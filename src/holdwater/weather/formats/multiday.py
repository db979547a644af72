"""Readings that stand for several days: totals of a weekend, counters that add up.

A total is spread evenly over its days and every one of them is marked: the sum is right, the
timing within the period is not known.
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import numpy.typing as npt

from holdwater.errors import InputError
from holdwater.weather.record import Origin
from holdwater.weather.rows import Days, Floats, Reading, laid_out

LONGEST_PERIOD = 93
"""Days one total may stand for; longer ones stay missing."""
COUNTER_SLACK = 0.005
"""Fall of a counter, as a share of its stand, that is a reading error and not a reset."""


def spread(
    reading: Reading, ends: Days, totals: Floats, periods: npt.NDArray[np.int64], what: str
) -> Reading:
    """Spread multi-day totals evenly over the days they stand for.

    Days of the period that were measured keep their value; the rest of the total goes to the days
    that have none. A total smaller than what was measured, of no length or of more than 93 days
    is left aside and counted.

    Parameters
    ----------
    reading : Reading
        Rows as read.
    ends : ndarray of datetime64[D]
        Last day of each period.
    totals : ndarray
        Rain of the period [mm].
    periods : ndarray of int
        Length of the period [days].
    what : str
        What such a total is called in the file, for the note.

    Raises
    ------
    InputError
        A day stands twice in the file.
    """
    if not len(ends):
        return reading
    if len(np.unique(reading.days)) < len(reading.days):
        raise InputError(
            f"weather file '{reading.source}' ({reading.form}) holds a day twice beside multi-day totals ({what}); "
            "strike one of the rows"
        )
    usable = (periods >= 1) & (periods <= LONGEST_PERIOD) & ~np.isnan(totals)
    first, last = reading.days.min(), reading.days.max()
    if usable.any():
        first = min(first, (ends[usable] - (periods[usable] - 1)).min())
    usable &= ends <= last
    daily = laid_out(reading, first, int((last - first).astype(np.int64)) + 1)
    rain, origin = daily.rain.copy(), daily.origin.copy()
    days_spread, aside = 0, int((~usable).sum())
    for end, total, period in zip(ends[usable], totals[usable], periods[usable], strict=True):
        stop = int((end - daily.days[0]).astype(np.int64)) + 1
        inside = slice(stop - int(period), stop)
        free = origin[inside] == Origin.MISSING
        rest = float(total) - float(rain[inside][~free].sum())
        if not free.any() or rest < 0:
            aside += 1
            continue
        rain[inside][free] = rest / free.sum()
        origin[inside][free] = Origin.SPREAD
        days_spread += int(free.sum())
    notes = []
    if days_spread:
        count = len(ends) - aside
        notes.append(f"multi-day totals ({what}): {count}, spread evenly over {days_spread} days")
    if aside:
        notes.append(f"multi-day totals ({what}) that could not be spread: {aside}; their days stay missing")
    return replace(daily, rain=rain, origin=origin).noting(*notes)


def from_counter(reading: Reading) -> Reading:
    """Daily amounts from a counter that adds up.

    Each amount is the reading less the one before; where the counter falls it was reset, and the
    reading itself is the amount since. An amount over several days is spread over them. The first
    reading tells nothing and is missing.

    Parameters
    ----------
    reading : Reading
        One row a day, in order of time.
    """
    told = np.flatnonzero(reading.origin != Origin.MISSING)
    stand = reading.rain[told]
    amount = np.diff(stand)
    reset = amount < -COUNTER_SLACK * np.abs(stand[:-1])
    amount = np.where(reset, stand[1:], np.maximum(amount, 0.0))
    periods = np.diff(reading.days[told]).astype(np.int64)
    rain = np.full(len(reading.rain), np.nan)
    origin = np.full(len(reading.rain), Origin.MISSING, dtype=np.int8)
    single = periods == 1
    rain[told[1:][single]] = amount[single]
    origin[told[1:][single]] = Origin.OBSERVED
    bare = replace(reading, rain=rain, origin=origin)
    bare = bare.noting(
        f"the readings are a counter; its differences were taken, with {int(reset.sum())} resets"
    )
    return spread(
        bare, reading.days[told[1:][~single]], amount[~single], periods[~single], "counter read after days"
    )
