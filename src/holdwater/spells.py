"""Runs of days: how long, from when to when, and how rare."""

from __future__ import annotations

import datetime as dt
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

DRY_DAY_RAIN = 1.0
"""A day with less rain than this is a dry day of the weather [mm] (ETCCDI definition)."""
LEAST_YEARS = 10
"""Years on record from which on a return period is told (common practice)."""


@dataclass(frozen=True)
class Spell:
    """A run of days.

    Attributes
    ----------
    first, last : date
        Both included.
    days : int
        Length.
    deficit_L : float
        What the tanks could not give [L]; 0 for rainless spells.
    lowest_storage_L : float
        Lowest drawable storage during the spell, before backup filled any in [L].
    lowest_on : date
        The first day on which it stood so low.
    refill_days : int or None
        Days from the end of the spell until the tanks were full again, be it before the day's draws (as
        under YAS); None if they never were.
    rank : int
        1 for the worst: by deficit for dry spells, by length for rainless ones.
    return_period_years : float or None
        (n + 1) / rank for n years on record: Weibull plotting position rank / (n + 1); None on a record too
        short to tell.
    """

    first: dt.date
    last: dt.date
    days: int
    deficit_L: float
    lowest_storage_L: float
    lowest_on: dt.date
    refill_days: int | None
    rank: int
    return_period_years: float | None


def runs(flags: npt.NDArray[np.bool_]) -> npt.NDArray[np.int64]:
    """First day and day after the last of every run of True, shape (runs, 2)."""
    edges = np.diff(np.concatenate([[False], flags, [False]]).astype(np.int8))
    return np.stack([np.flatnonzero(edges == 1), np.flatnonzero(edges == -1)], axis=1)


def longest(flags: npt.NDArray[np.bool_]) -> int:
    """Length of the longest run of True [days]."""
    found = runs(flags)
    return int((found[:, 1] - found[:, 0]).max(initial=0))


def rainless(rain: npt.NDArray[np.float64]) -> npt.NDArray[np.bool_]:
    """Days with less than 1 mm of rain, shape (n,)."""
    return rain < DRY_DAY_RAIN


def describe(
    flags: npt.NDArray[np.bool_],
    days: npt.NDArray[np.datetime64],
    deficit: npt.NDArray[np.float64],
    storage: npt.NDArray[np.float64],
    full: npt.NDArray[np.bool_],
) -> list[Spell]:
    """Every run of True as a spell, in order of time.

    Parameters
    ----------
    flags : ndarray of bool, shape (n,)
        The days that count.
    deficit : ndarray, shape (n,)
        What the tanks could not give on each day [L].
    storage : ndarray, shape (n,)
        Drawable storage at the end of each day [L].
    full : ndarray of bool, shape (n,)
        Days on which the tanks were full.
    """
    found = runs(flags)
    lost = np.array([deficit[a:b].sum() for a, b in found])
    worst_first = sorted(range(len(found)), key=lambda i: (-lost[i], found[i, 0] - found[i, 1], found[i, 0]))
    rank = {i: place for place, i in enumerate(worst_first, start=1)}
    known = days.size >= LEAST_YEARS * 365
    full_on = np.flatnonzero(full)
    next_full = np.searchsorted(full_on, found[:, 1]).tolist()
    spells = []
    for i, (a, b) in enumerate(found):
        lowest = int(a + storage[a:b].argmin())
        spells.append(
            Spell(
                first=days[a].item(),
                last=days[b - 1].item(),
                days=int(b - a),
                deficit_L=float(lost[i]),
                lowest_storage_L=float(storage[lowest]),
                lowest_on=days[lowest].item(),
                refill_days=int(full_on[next_full[i]] - b) + 1 if next_full[i] < full_on.size else None,
                rank=rank[i],
                return_period_years=(days.size / 365.25 + 1.0) / rank[i] if known else None,
            )
        )
    return spells
