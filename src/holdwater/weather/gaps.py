"""Missing days: found, counted, and filled only by a policy the owner names.

Policies: `refuse` stops; `zero` takes missing for dry; `climate` copies each gap from one other
year of the same record; `neighbour` takes a second record (see `neighbour`). Every filled day
keeps its origin.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace

import numpy as np
import numpy.typing as npt

from holdwater import words
from holdwater.errors import InputError
from holdwater.weather.reading import Days, Floats, Mask, Reading
from holdwater.weather.record import FILLED, Origin

WINDOW = 31
"""Days around a gap by which donor years are compared."""
LEAST_DONORS = 5
"""Other years needed before the record counts as a climatology; common practice, set low."""
LEAST_KNOWN = 0.8
"""Share of a donor's window that must be known."""
SHORT_GAP = 5
"""Days of missing temperature that are bridged by a straight line."""

MOST_LISTED = 30
"""Gaps that a message lists by their dates."""
CHOICES = (
    'missing_days = "climate" (the same days of another, middling year of this record), "neighbour" (another '
    'station\'s record, scaled to this one; name it with neighbour = "FILE") or "zero" (no rain, which makes the '
    "record too dry)"
)
"""What may be done with missing days, and what each way means."""


@dataclass(frozen=True)
class Gap:
    """A run of missing days, `start` and `stop` as positions, `stop` not included."""

    start: int
    stop: int

    @property
    def days(self) -> int:
        """Length [days]."""
        return self.stop - self.start


def runs(mask: Mask) -> Iterator[Gap]:
    """Runs of True."""
    edges = np.flatnonzero(np.diff(np.concatenate([[False], mask, [False]]).astype(np.int8)))
    for start, stop in zip(edges[::2].tolist(), edges[1::2].tolist(), strict=True):
        yield Gap(start, stop)


def longest(mask: Mask) -> Gap | None:
    """The longest run of True, the first of equals."""
    return max(runs(mask), key=lambda gap: gap.days, default=None)


def missing_by_year(reading: Reading) -> dict[int, int]:
    """Missing days of each calendar year that has any."""
    years = reading.days[reading.origin == Origin.MISSING].astype("datetime64[Y]").astype(int) + 1970
    found, counts = np.unique(years, return_counts=True)
    return dict(zip(found.tolist(), counts.tolist(), strict=True))


def dates(days: Days, mask: Mask, limit: int = MOST_LISTED) -> str:
    """The days of a mask one by one, runs as one: "2011-03-01 to 2011-04-09, 2012-07-04 and 3 more gaps".

    Parameters
    ----------
    days : ndarray of datetime64[D]
        Consecutive days.
    mask : ndarray of bool
        Which of them.
    limit : int
        Runs that are listed at most.
    """
    every = list(runs(mask))
    told = [
        f"{days[gap.start]}" if gap.days == 1 else f"{days[gap.start]} to {days[gap.stop - 1]}"
        for gap in every[:limit]
    ]
    more = len(every) - limit
    return ", ".join(told) + (f" and {more} more {'gap' if more == 1 else 'gaps'}" if more > 0 else "")


def describe(reading: Reading, mask: Mask, *, each: bool = False) -> str:
    """ "40 days have no rain value (2011: 40); the longest gap is 40 days, 2011-03-01 to 2011-04-09".

    Parameters
    ----------
    reading : Reading
        On consecutive days.
    mask : ndarray of bool
        The missing days.
    each : bool
        List the gaps, where there are several, up to 30 of them.
    """
    gap = longest(mask)
    assert gap is not None
    first, last = reading.days[gap.start], reading.days[gap.stop - 1]
    years = reading.days[mask].astype("datetime64[Y]").astype(int) + 1970
    found, counts = np.unique(years, return_counts=True)
    listed = ", ".join(f"{y}: {c}" for y, c in list(zip(found, counts, strict=True))[:8])
    listed += f" and {words.count(len(found) - 8, 'more year')}" if len(found) > 8 else ""
    total = int(mask.sum())
    what = "1 day has" if total == 1 else f"{total} days have"
    span = f"on {first}" if gap.days == 1 else f"{gap.days} days, {first} to {last}"
    every = f"; they are {dates(reading.days, mask)}" if each and gap.days < total else ""
    return f"{what} no rain value ({listed}); the longest gap is {span}{every}"


def refuse(reading: Reading, within: Mask, where_else: str = "") -> None:
    """Stop if a day within the run has no rain value.

    Raises
    ------
    InputError
        Names the count by year and the longest gap from-to, and the cures.
    """
    missing = (reading.origin == Origin.MISSING) & within
    if reading.unread:  # they are told by their cell
        missing &= ~np.isin(reading.days, np.array(reading.unread))
    if missing.any():
        raise InputError(
            f"weather file '{reading.source}'{where_else}: {describe(reading, missing, each=True)}. "
            f"Missing is not zero: complete the file, or choose {CHOICES}; if the log lists rainy days only, "
            'say absent_days = "dry"'
        )


def fill_zero(reading: Reading, within: Mask) -> Reading:
    """Take missing days for dry and mark them; this makes a record too dry."""
    missing = (reading.origin == Origin.MISSING) & within
    return _filled(reading, np.where(missing, 0.0, reading.rain), missing, Origin.ZERO)


def fill_climate(reading: Reading, within: Mask) -> Reading:
    """Copy each gap, day by day, from one other year of the same record.

    The donor is the year whose mean rain in a window of at least 31 days around the gap's calendar
    days is the middle one of all years that know the days of the gap and at least four fifths of
    the window (of two, the drier). Whole days of one year are copied, never averages, so that as many
    days stay rainless as in real weather; averaging would make every filled day a drizzle.

    Parameters
    ----------
    reading : Reading
        On consecutive days.
    within : ndarray of bool
        The days of the run; gaps elsewhere stay open.

    Raises
    ------
    InputError
        Fewer than 5 other years know the days of a gap.
    """
    missing = (reading.origin == Origin.MISSING) & within
    usable = ~np.isin(reading.origin, (Origin.MISSING, *FILLED))
    rain = reading.rain.copy()
    wet = np.concatenate([[0.0], np.cumsum(np.where(usable, reading.rain, 0.0))])
    there = np.concatenate([[0], np.cumsum(usable)])
    poor: list[str] = []
    for whole in runs(missing):
        for gap in _pieces(whole):
            shift = _donor(reading, gap, wet, there)
            if shift is None:
                poor.append(f"{reading.days[gap.start]} to {reading.days[gap.stop - 1]}")
            else:
                rain[gap.start : gap.stop] = reading.rain[gap.start + shift : gap.stop + shift]
    if poor:
        shown = ", ".join(poor[:4]) + (f" and {len(poor) - 4} more gaps" if len(poor) > 4 else "")
        raise InputError(
            f"weather file '{reading.source}': missing_days = \"climate\" needs at least {LEAST_DONORS} "
            f"other years that know the missing days; too few know {shown}; use a longer record, or "
            'missing_days = "neighbour" or "zero"'
        )
    return _filled(reading, rain, missing, Origin.CLIMATE)


def _pieces(gap: Gap) -> Iterator[Gap]:
    """A long gap in pieces of a month, so that one odd year does not fill it all."""
    for start in range(gap.start, gap.stop, WINDOW):
        yield Gap(start, min(start + WINDOW, gap.stop))


def _donor(reading: Reading, gap: Gap, wet: Floats, there: npt.NDArray[np.int64]) -> int | None:
    """How many days to shift a gap so that it falls on the same calendar days of the donor year.

    `wet` and `there` are the running sums of rain and of known days.
    """
    n = len(reading.days)
    margin = max(0, (WINDOW - gap.days + 1) // 2)
    years = np.arange(-(n // 365) - 1, n // 365 + 2)
    first = reading.days[gap.start].astype("datetime64[D]")
    month = first.astype("datetime64[M]")
    shift = ((month + 12 * years[years != 0]).astype("datetime64[D]") - month.astype("datetime64[D]")).astype(
        int
    )
    shift = shift[(gap.start + shift >= 0) & (gap.stop + shift <= n)]
    shift = shift[there[gap.stop + shift] - there[gap.start + shift] == gap.days]
    low, high = np.maximum(gap.start + shift - margin, 0), np.minimum(gap.stop + shift + margin, n)
    known = there[high] - there[low]
    enough = known >= LEAST_KNOWN * (gap.days + 2 * margin)
    if enough.sum() < LEAST_DONORS:
        return None
    shift, mean = shift[enough], (wet[high] - wet[low])[enough] / known[enough]
    return int(shift[np.argsort(mean, kind="stable")[(len(mean) - 1) // 2]])


def _filled(reading: Reading, rain: Floats, missing: Mask, origin: Origin) -> Reading:
    codes = reading.origin.copy()
    codes[missing] = origin
    return replace(reading, rain=rain, origin=codes)


def fill_others(reading: Reading) -> Reading:
    """Close gaps in temperature and evapotranspiration, and note how many.

    Up to 5 days are bridged by a straight line, longer gaps take the mean of the calendar day over
    the other years (31 days wide). A column that is empty, or has no mean for a day, is left out.
    """
    others = dict(reading.others)
    notes = []
    for name, values in reading.others.items():
        gap = np.isnan(values)
        if not gap.any():
            continue
        filled = _bridge(values, gap)
        if gap.mean() > 0.5 or np.isnan(filled).any():
            del others[name]
            notes.append(
                f"{name} is missing on {int(gap.sum()):,} of {words.count(len(gap), 'day')} and was not used"
            )
            continue
        others[name] = filled
        notes.append(
            f"{name} was missing on {words.count(int(gap.sum()), 'day')}: bridged up to {SHORT_GAP} days, else the"
            " mean of the calendar day"
        )
    return replace(reading, others=others).noting(*notes)


def _bridge(values: Floats, gap: Mask) -> Floats:
    filled = values.copy()
    at = np.flatnonzero(~gap)
    if not len(at):
        return filled
    normal: Floats | None = None
    for run in runs(gap):
        inside = slice(run.start, run.stop)
        if run.days <= SHORT_GAP and run.start > 0 and run.stop < len(values):
            filled[inside] = np.interp(np.arange(run.start, run.stop), at, values[at])
        else:
            normal = _calendar_means(values, gap) if normal is None else normal
            filled[inside] = normal[inside]
    return filled


def _calendar_means(values: Floats, gap: Mask) -> Floats:
    """Mean of the same time of year, over 31 days, for every day of the series."""
    place = np.arange(len(values)) % 1461 % 365  # drifts by a day in four years, which 31 days cover
    sums = np.bincount(place, weights=np.where(gap, 0.0, values), minlength=365)
    counts = np.bincount(place, weights=~gap, minlength=365)
    ring = np.arange(-(WINDOW // 2), WINDOW // 2 + 1)
    around = (np.arange(365)[:, None] + ring) % 365
    with np.errstate(invalid="ignore"):
        means = sums[around].sum(axis=1) / counts[around].sum(axis=1)
    return np.asarray(means[place], dtype=float)
