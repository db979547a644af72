"""Indices of daily rain: dry and wet spells, wet days, rain of wet days, wettest day, per year.

Definitions: Expert Team on Climate Change Detection and Indices (CDD, CWD, R1mm, PRCPTOT, Rx1day);
a wet day has at least 1 mm. Spells are cut at the end of the year here; a missing day ends a spell
and leaves the sums of its year undefined.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from holdwater.weather.reading import Days, Floats, Mask

WET_DAY_MM = 1.0
_EDGE = 1e-9  # 1 mm brought from inches or tenths is still 1 mm


@dataclass(frozen=True)
class YearIndices:
    """One calendar year.

    Attributes
    ----------
    year, days, missing : int
        Year, days of the record in it, days without a rain value.
    total : float or None
        Rain of the days known [mm]; None where none is known.
    wet_days : int
        Days with at least 1 mm.
    wet_total : float or None
        PRCPTOT, rain of wet days [mm]; None where days are missing.
    wettest : float or None
        Rx1day [mm], and `wettest_on` its first day.
    longest_dry, longest_wet : int
        CDD and CWD [days], cut at the year's end; with missing days the longest run that is known.
    """

    year: int
    days: int
    missing: int
    total: float | None
    wet_days: int
    wet_total: float | None
    wettest: float | None
    wettest_on: str | None
    longest_dry: int
    longest_wet: int

    @property
    def complete(self) -> bool:
        """Every day of the calendar year is in the record and known."""
        leap = self.year % 4 == 0 and (self.year % 100 != 0 or self.year % 400 == 0)
        return self.missing == 0 and self.days == 365 + leap


def longest_run(mask: Mask) -> tuple[int, int]:
    """Start and length of the longest run of True, the first of equals; (0, 0) where there is none."""
    edges = np.flatnonzero(np.diff(np.concatenate([[False], mask, [False]]).astype(np.int8)))
    if not len(edges):
        return 0, 0
    starts, lengths = edges[::2], edges[1::2] - edges[::2]
    best = int(np.argmax(lengths))
    return int(starts[best]), int(lengths[best])


def wet(rain: Floats) -> Mask:
    """Days with at least 1 mm; missing days are not."""
    return np.asarray(rain >= WET_DAY_MM - _EDGE)


def dry(rain: Floats) -> Mask:
    """Days known to have less than 1 mm."""
    return np.asarray(rain < WET_DAY_MM - _EDGE)


def by_year(days: Days, rain: Floats) -> list[YearIndices]:
    """The indices of every calendar year of a record on consecutive days.

    Parameters
    ----------
    days : ndarray of datetime64[D]
        Consecutive days.
    rain : ndarray
        NaN where missing [mm].
    """
    years = days.astype("datetime64[Y]").astype(np.int64) + 1970
    year = years - years[0]
    n = int(year[-1]) + 1
    known, is_wet = ~np.isnan(rain), wet(rain)
    amount = np.where(known, rain, 0.0)
    length = np.bincount(year, minlength=n)
    counted = np.bincount(year, weights=known, minlength=n).astype(np.int64)
    total = np.bincount(year, weights=amount, minlength=n)
    wet_days = np.bincount(year, weights=is_wet, minlength=n).astype(np.int64)
    wet_total = np.bincount(year, weights=np.where(is_wet, amount, 0.0), minlength=n)
    starts = np.concatenate([[0], np.cumsum(length)[:-1]])
    top = np.maximum.reduceat(np.where(known, rain, -np.inf), starts)
    at_top = np.flatnonzero(known & (rain == top[year]))
    first_top = dict(zip(year[at_top][::-1].tolist(), at_top[::-1].tolist(), strict=True))
    longest_dry, longest_wet = _longest(dry(rain), year, n), _longest(is_wet, year, n)
    return [
        YearIndices(
            year=int(years[0]) + i,
            days=int(length[i]),
            missing=int(length[i] - counted[i]),
            total=float(total[i]) if counted[i] else None,
            wet_days=int(wet_days[i]),
            wet_total=float(wet_total[i]) if counted[i] == length[i] else None,
            wettest=float(top[i]) if counted[i] else None,
            wettest_on=str(days[first_top[i]]) if counted[i] else None,
            longest_dry=int(longest_dry[i]),
            longest_wet=int(longest_wet[i]),
        )
        for i in range(n)
    ]


def _longest(mask: Mask, year: npt.NDArray[np.int64], n: int) -> npt.NDArray[np.int64]:
    """Longest run of True in every year; a run that crosses into the next year counts in both, cut."""
    begins = mask & (np.diff(year, prepend=-1).astype(bool) | ~np.concatenate([[False], mask[:-1]]))
    lengths = np.bincount(np.cumsum(begins)[mask] - 1)
    longest = np.zeros(n, dtype=np.int64)
    np.maximum.at(longest, year[begins], lengths)
    return longest
