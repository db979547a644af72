"""The owner's own gauge log on top of a station's record: the days the station does not have yet."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from holdwater.weather.reading import Floats, Reading
from holdwater.weather.record import Origin


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
        many days come from the diary.
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
    )
    return topped.noting(_note(record, diary, days[taken]))


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
    days = "1 day" if taken.size == 1 else f"{taken.size:,} days"
    return f"{days} from {taken[0]} to {taken[-1]} come from the owner's own log '{diary.source}'"
