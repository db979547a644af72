"""The owner's own gauge log on top of a station's record: the days the station does not have yet."""

from __future__ import annotations

import datetime as dt
from dataclasses import replace

import numpy as np

from holdwater.weather.reading import Floats, Reading
from holdwater.weather.record import Origin, Provenance


def top_up(record: Reading, diary: Reading) -> Reading:
    """Join the days of a diary to a record: those after its end, and those it is missing.

    Where both know a day the record stays. Days that neither knows stay missing, for the policy on
    missing days to decide. Columns that only the diary has are left out, since most days lack them.

    Parameters
    ----------
    record : Reading
        On consecutive days.
    diary : Reading
        On consecutive days, read and checked like any other record.

    Returns
    -------
    Reading
        On consecutive days from the first of the record to the last of either, with a note of how
        many days come from the diary, and the licence line saying so.
    """
    first, last = record.days[0], max(record.days[-1], diary.days[-1])
    days = np.arange(first, last + np.timedelta64(1, "D"))
    rain = np.full(days.size, np.nan)
    origin = np.full(days.size, Origin.MISSING, dtype=np.int8)
    n = record.days.size
    rain[:n], origin[:n] = record.rain, record.origin
    theirs = diary.days >= first
    places = (diary.days[theirs] - first).astype(np.int64)
    known = diary.origin[theirs] != Origin.MISSING
    taken = places[known & (origin[places] == Origin.MISSING)]
    source = taken - int((diary.days[0] - first).astype(np.int64))
    rain[taken], origin[taken] = diary.rain[source], diary.origin[source]
    others = {
        name: _column(values, diary.others.get(name), days.size, taken, source)
        for name, values in record.others.items()
    }
    topped = replace(
        record,
        days=days,
        rain=rain,
        origin=origin,
        others=others,
        lines=None,
        notes=(*record.notes, *diary.notes),
        licence=_licence(record, taken.size),
    )
    return topped.noting(_note(record, diary, days[taken]))


def needed_until(diary: Reading | None, first: dt.date | None, last: dt.date | None) -> dt.date | None:
    """The last day that a station itself must have, where a diary has every day from there to the last.

    Parameters
    ----------
    diary : Reading or None
        On consecutive days.
    first, last : date or None
        The days a run needs, both included.
    """
    if diary is None or last is None:
        return last
    known = diary.days[diary.origin != Origin.MISSING]
    known = known[known <= np.datetime64(last)]
    if not known.size or known[-1] != np.datetime64(last):
        return last
    breaks = np.flatnonzero(np.diff(known) > np.timedelta64(1, "D"))
    begins: dt.date = known[breaks[-1] + 1 if breaks.size else 0].item()
    return max(begins - dt.timedelta(days=1), first or dt.date.min)


def _licence(record: Reading, taken: int) -> str:
    """The licence line of the record with the days that are not from it."""
    if not taken:
        return record.licence
    known = Provenance(source=record.source, licence=record.licence)
    return known.licence_after(f"{_days(taken)} from the owner's own log")


def _days(number: int) -> str:
    return "1 day" if number == 1 else f"{number:,} days"


def _column(
    values: Floats,
    more: Floats | None,
    size: int,
    taken: np.ndarray[tuple[int], np.dtype[np.int64]],
    source: np.ndarray[tuple[int], np.dtype[np.int64]],
) -> Floats:
    """One column of the record with the diary's values on the days taken from it."""
    joined = np.full(size, np.nan)
    joined[: values.size] = values
    if more is not None:
        open_ = np.isnan(joined[taken])
        joined[taken[open_]] = more[source[open_]]
    return joined


def _note(record: Reading, diary: Reading, taken: np.ndarray[tuple[int], np.dtype[np.datetime64]]) -> str:
    """Say how many days come from the diary and which."""
    if not taken.size:
        return f"the diary '{diary.source}' has no day that '{record.source}' lacks"
    if taken.size == 1:
        return f"1 day, {taken[0]}, comes from the owner's own log '{diary.source}'"
    return (
        f"{_days(taken.size)} from {taken[0]} to {taken[-1]} come from the owner's own log '{diary.source}'"
    )
