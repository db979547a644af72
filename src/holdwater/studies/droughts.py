"""The droughts of a run: dry spells that belong together, rainless spells, months of unusual dryness, ranked."""

from __future__ import annotations

import datetime as dt
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from holdwater import spi
from holdwater.ledger import Ledger
from holdwater.scores import Scores, full_days, lows, shortfall
from holdwater.spells import describe, rainless, runs

Flags = npt.NDArray[np.bool_]
Floats = npt.NDArray[np.float64]

APART = 30
"""Dry spells less than this many days apart are one drought (common practice: about a month) [days]."""
ENDS_AT, COUNTS_FROM = 0.0, -1.0
"""A drought by SPI lasts while the index is below 0 and counts if it falls to -1 (McKee et al. 1993)."""


@dataclass(frozen=True)
class Drought:
    """One drought, whatever it is measured by.

    Attributes
    ----------
    kind : str
        "dry" (the tanks fell short), "rainless" (days under 1 mm) or "SPI-1", "SPI-3", ...
    first, last : date
        Both included.
    days : int
        From first to last.
    spells : int
        Spells pooled into it.
    counted_days : int
        Days within it that are dry, or rainless; for SPI all of them.
    deficit_L : float
        What the tanks could not give from first to last [L].
    lowest_storage_L : float
        Lowest drawable storage from first to last, before backup filled any in [L].
    lowest_on : date
        The first day on which it stood so low.
    refill_days : int or None
        Days from the end until the tanks were full again, be it before the day's draws (as under
        YAS); None if they never were.
    lowest_index : float or None
        Lowest SPI, for droughts by SPI [-].
    magnitude : float
        What it is ranked by: the deficit of a dry one [L], the length of a rainless one [days], the
        sum of -SPI over the months of one by SPI [months].
    rank : int
        1 for the worst of its kind.
    return_period_years : float or None
        (n + 1) / rank for n years on record (Weibull plotting position); None with fewer than 10 years.
    """

    kind: str
    first: dt.date
    last: dt.date
    days: int
    spells: int
    counted_days: int
    deficit_L: float
    lowest_storage_L: float
    lowest_on: dt.date
    refill_days: int | None
    lowest_index: float | None
    magnitude: float
    rank: int
    return_period_years: float | None


@dataclass(frozen=True)
class _Tanks:
    """What every list needs of the run, day by day [L]."""

    days: npt.NDArray[np.datetime64]
    lacking: Floats
    storage: Floats
    full: Flags


def _tanks(ledger: Ledger) -> _Tanks:
    storage = lows(ledger)
    return _Tanks(ledger.days, shortfall(ledger).sum(axis=0), storage, full_days(ledger))


def pooled(flags: Flags, apart: int) -> Flags:
    """Close the gaps between runs of True that are less than `apart` days long.

    Parameters
    ----------
    flags : ndarray of bool, shape (n,)
        The days that count.
    apart : int
        0 or 1 pools nothing [days].
    """
    joined = flags.copy()
    found = runs(flags)
    for end, begin in zip(found[:-1, 1], found[1:, 0], strict=True):
        if begin - end < apart:
            joined[end:begin] = True
    return joined


def dry_droughts(ledger: Ledger, scores: Scores, apart: int = APART) -> list[Drought]:
    """Dry spells less than `apart` days apart as one drought each, in order of time, ranked by deficit.

    Parameters
    ----------
    ledger : Ledger
        The run.
    scores : Scores
        What it says.
    apart : int
        Spells with fewer days than this between them are pooled [days].
    """
    tanks = _tanks(ledger)
    return _listed("dry", pooled(scores.dry_day, apart), scores.dry_day, tanks, tanks.lacking)


def rainless_droughts(ledger: Ledger, least: int = 1) -> list[Drought]:
    """Rainless spells of at least `least` days, in order of time, ranked by length."""
    none = rainless(ledger.flux("rain"))
    for a, b in runs(none):
        if b - a < least:
            none[a:b] = False
    return _listed("rainless", none, none, _tanks(ledger), np.ones(none.size))


def spi_droughts(ledger: Ledger, span: int) -> list[Drought]:
    """Droughts by the SPI of `span` months, in order of time, ranked by the sum of -SPI.

    One lasts while the index stays below 0 and counts if it falls to -1 or lower.

    Raises
    ------
    InputError
        The run has less than 30 years.

    References
    ----------
    McKee, Doesken & Kleist 1993, 8th Conference on Applied Climatology, 179-184.
    """
    index = spi.spi(ledger.days, ledger.flux("rain"), (span,))
    of_month = index.values[span]
    below = of_month < ENDS_AT  # False where not defined
    for a, b in runs(below):
        if of_month[a:b].min() > COUNTS_FROM:
            below[a:b] = False
    place = ledger.days.astype("datetime64[M]").astype(np.int64) - index.months[0].astype(np.int64)
    inside = (place >= 0) & (place < index.months.size)
    month = np.clip(place, 0, index.months.size - 1)
    flags = inside & below[month]
    lengths = np.bincount(month[inside], minlength=index.months.size)
    severity = np.where(flags, -of_month[month] / np.maximum(lengths[month], 1), 0.0)
    values = np.where(flags, of_month[month], np.nan)
    return _listed(f"SPI-{span}", flags, flags, _tanks(ledger), severity, values)


def _listed(
    kind: str, flags: Flags, counted: Flags, tanks: _Tanks, weight: Floats, index: Floats | None = None
) -> list[Drought]:
    """Every run of True as a drought, ranked by the sum of `weight` over it."""
    spells = describe(flags, tanks.days, np.where(counted, weight, 0.0), tanks.storage, tanks.full)
    return [
        Drought(
            kind=kind,
            first=spell.first,
            last=spell.last,
            days=spell.days,
            spells=len(runs(counted[a:b])),
            counted_days=int(counted[a:b].sum()),
            deficit_L=float(tanks.lacking[a:b].sum()),
            lowest_storage_L=spell.lowest_storage_L,
            lowest_on=spell.lowest_on,
            refill_days=spell.refill_days,
            lowest_index=None if index is None else float(index[a:b].min()),
            magnitude=spell.deficit_L,
            rank=spell.rank,
            return_period_years=spell.return_period_years,
        )
        for spell, (a, b) in zip(spells, runs(flags), strict=True)
    ]


def worst(droughts: Sequence[Drought], number: int = 3) -> list[Drought]:
    """The worst of a list, the very worst first."""
    return sorted(droughts, key=lambda d: d.rank)[:number]


def within(droughts: Sequence[Drought], first: dt.date, last: dt.date) -> list[Drought]:
    """Droughts with a day between two dates, the worst first."""
    return sorted((d for d in droughts if d.first <= last and d.last >= first), key=lambda d: d.rank)


def all_droughts(ledger: Ledger, scores: Scores, apart: int = APART) -> list[Drought]:
    """Every list in one, for a table: dry, rainless, and SPI where the record is long enough."""
    lists = [dry_droughts(ledger, scores, apart), rainless_droughts(ledger)]
    if not spi.too_short(ledger.days):
        lists += [spi_droughts(ledger, span) for span in spi.SPANS]
    return [drought for each in lists for drought in sorted(each, key=lambda d: d.rank)]
