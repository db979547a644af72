"""A finding of the plausibility gate, and what all its checks need."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from itertools import zip_longest

import numpy as np
import numpy.typing as npt

from holdwater.weather import written
from holdwater.weather.reading import Days, Floats, Mask, Reading
from holdwater.weather.record import Origin

NAMED = 4
"""Days that a message names before it counts the rest."""


@dataclass(frozen=True)
class Finding:
    """Something that does not look like daily weather.

    Attributes
    ----------
    name : str
        Short name, for `accept`.
    hard : bool
        True stops a run, False only warns.
    what : str
        What was found, with days and values.
    cure : str
        What to do about it.
    days : tuple of str
        The days concerned, where there are any.
    """

    name: str
    hard: bool
    what: str
    cure: str
    days: tuple[str, ...] = ()

    def sentence(self, source: str) -> str:
        """The finding as a message."""
        return f"weather file '{source}': {self.what}; {self.cure}, or accept = [\"{self.name}\"]"


Check = Callable[[Reading], Finding | None]


def known(reading: Reading) -> npt.NDArray[np.bool_]:
    """Days on which a rain value was read."""
    return np.asarray(reading.origin != Origin.MISSING)


def rain_days(reading: Reading, at: Mask | npt.NDArray[np.int64] | list[int]) -> str:
    """Days with their rain as the file has it: "2012-07-04 (94 in, that is 2388 mm), ... and 3 more days"."""
    said = [written.rain(float(depth), reading.unit) for depth in reading.rain[at][:NAMED]]
    return day_names(reading.days[at], said)


def day_names(days: Days, said: Sequence[str] = (), limit: int = NAMED) -> str:
    """ "2012-07-04 (12.7 mm), ... and 3 more days"; what stands in brackets is optional."""
    shown = [
        f"{day} ({value})" if value else f"{day}"
        for day, value in zip_longest(days[:limit], said[:limit], fillvalue="")
    ]
    more = len(days) - limit
    return ", ".join(shown) + (f" and {more} more day{'s' * (more > 1)}" if more > 0 else "")


def year_totals(days: Days, rain: Floats) -> tuple[npt.NDArray[np.int64], Floats, npt.NDArray[np.int64]]:
    """Calendar years, their totals over known days [mm] and the number of known days.

    A year without a known day has the total NaN, never 0.
    """
    years = days.astype("datetime64[Y]").astype(np.int64) + 1970
    index = years - years[0]
    there = ~np.isnan(rain)
    counted = np.bincount(index, weights=there).astype(np.int64)
    totals = np.bincount(index, weights=np.where(there, rain, 0.0))
    return np.arange(years[0], years[-1] + 1), np.where(counted > 0, totals, np.nan), counted
