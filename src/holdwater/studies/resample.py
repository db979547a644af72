"""How far the numbers of one record can be trusted: whole years drawn again and again by lot.

A record of n years is one draw from a climate. Records of the same length, joined from whole years of
it drawn with replacement, show how much the dry days, the reliability or the size needed would vary
with the luck of the draw. Within a year the order of the days, and so the dry season, stays as it was.
What is lost is the memory from one year to the next, unless blocks of several years are drawn.

References
----------
Efron 1979, Annals of Statistics 7(1):1-26 (bootstrap, percentile interval); Kuensch 1989, Annals of
Statistics 17(3):1217-1241 (blocks).
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass, replace

import numpy as np
import numpy.typing as npt

from holdwater.errors import InputError
from holdwater.weather.record import Record

Days = npt.NDArray[np.datetime64]
Floats = npt.NDArray[np.float64]
Places = npt.NDArray[np.int64]

SAMPLES = 200
LEVEL = 0.9
LEAST_YEARS = 10
"""Whole years a record must have to be drawn from (common practice)."""


@dataclass(frozen=True)
class Interval:
    """What a number may be with another draw from the same climate.

    Attributes
    ----------
    low, high : float
        Bounds of the share `level` of the samples.
    level : float
        Share of the samples between the bounds [0..1].
    samples : int
        Records drawn.
    """

    low: float
    high: float
    level: float
    samples: int


def whole_years(days: Days, starts: int = 1) -> list[tuple[int, int]]:
    """Place of the first day of every complete year of a record, and of the day after its last.

    Parameters
    ----------
    days : ndarray of datetime64[D], shape (n,)
        Consecutive days.
    starts : int
        Month in which a year starts.
    """
    months = days.astype("datetime64[M]")
    begin = (months.astype(np.int64) % 12 == starts - 1) & (days == months.astype("datetime64[D]"))
    places = np.flatnonzero(begin)
    ends = np.searchsorted(days, (months[places] + 12).astype("datetime64[D]"))
    full = (months[places] + 12).astype("datetime64[D]") <= days[-1] + 1
    return [(int(a), int(b)) for a, b in zip(places[full], ends[full], strict=True)]


class Lot:
    """The complete years of a record, ready to be drawn from many times.

    Parameters
    ----------
    days : ndarray of datetime64[D], shape (n,)
        Consecutive days.
    starts : int
        Month in which a year starts.
    block : int
        Years drawn together, for droughts that last longer than a year.

    Raises
    ------
    InputError
        The record has fewer than 10 complete years, or the blocks are longer than it.
    """

    def __init__(self, days: Days, starts: int = 1, block: int = 1) -> None:
        self.years = whole_years(days, starts)
        _check(self.years, block)
        self.block = block
        self.dates = days[self.years[0][0] : self.years[-1][1]]
        self.leap = np.flatnonzero(_is_29_february(days))
        self.in_year = [self.leap[(self.leap >= a) & (self.leap < b)] for a, b in self.years]

    def draw(self, seed: int | tuple[int, ...]) -> Places:
        """Draw years and say which day of the record each day of the new one is.

        The new record has the dates of the complete years of the old one. Where its year has a
        29 February and the year drawn has none, that day is drawn from all 29 Februaries on record;
        where it is the other way round, that day is left out.

        Parameters
        ----------
        seed : int or tuple of int
            The same seed gives the same years.

        Returns
        -------
        ndarray of int
            Places in the days of the record, one for each of `dates`.
        """
        lot, n = np.random.default_rng(seed), len(self.years)
        firsts = lot.integers(0, n - self.block + 1, -(-n // self.block))
        chosen = (firsts[:, None] + np.arange(self.block)).ravel()[:n].tolist()
        parts = []
        for i, theirs in enumerate(chosen):
            first, end = self.years[theirs]
            source, mine, other = np.arange(first, end), self.in_year[i], self.in_year[theirs]
            if mine.size > other.size:
                at = int(mine[0]) - self.years[i][0]
                source = np.insert(source, at, self.leap[int(lot.integers(self.leap.size))])
            elif mine.size < other.size:
                source = np.delete(source, int(other[0]) - first)
            parts.append(source)
        return np.concatenate(parts)


def _is_29_february(days: Days) -> npt.NDArray[np.bool_]:
    months = days.astype("datetime64[M]")
    of_month = (days - months.astype("datetime64[D]")).astype(np.int64)
    return np.asarray((months.astype(np.int64) % 12 == 1) & (of_month == 28))


def _check(years: list[tuple[int, int]], block: int) -> None:
    if len(years) < LEAST_YEARS:
        raise InputError(
            f"drawing years by lot needs {LEAST_YEARS} complete years; this record has {len(years)};"
            " bring a longer record"
        )
    if not 1 <= block <= len(years):
        raise InputError(
            f"blocks of {block} years cannot be drawn from {len(years)} years; use 1 to {len(years)}"
        )


def resample(record: Record, seed: int | tuple[int, ...], starts: int = 1, block: int = 1) -> Record:
    """Join whole years of a record, drawn by lot, to a new record on the dates of the old one.

    Parameters
    ----------
    record : Record
        The record drawn from.
    seed : int or tuple of int
        The same seed gives the same years.
    starts, block : int
        As for `Lot`.

    Raises
    ------
    InputError
        As `Lot`.
    """
    return _joined(record, Lot(record.days, starts, block), seed)


def _joined(record: Record, lot: Lot, seed: int | tuple[int, ...]) -> Record:
    data = record.data.isel(time=lot.draw(seed)).assign_coords(
        time=("time", lot.dates.astype("datetime64[s]"), record.data["time"].attrs)
    )
    how = "" if lot.block == 1 else f" in blocks of {lot.block}"
    known = record.provenance
    note = f"whole years of the record drawn by lot{how} (seed {seed}): no weather that was"
    return Record(data, replace(known, notes=(*known.notes, note)))


def records(
    record: Record, samples: int, seed: int = 1, starts: int = 1, block: int = 1, first: int = 0
) -> Iterator[Record]:
    """Records drawn by lot, one after the other.

    Parameters
    ----------
    record : Record
        The record drawn from.
    samples : int
        Records to draw.
    seed : int
        Every sample has a seed of its own made from it.
    starts, block : int
        As for `Lot`.
    first : int
        Number of the first sample: all from 0 on are those of parts drawn one after the other.

    Raises
    ------
    InputError
        As `Lot`.
    """
    lot = Lot(record.days, starts, block)
    return (_joined(record, lot, (seed, sample)) for sample in range(first, first + samples))


def bootstrap(
    record: Record,
    tell: Callable[[Record], Mapping[str, float]],
    samples: int = SAMPLES,
    seed: int = 1,
    starts: int = 1,
    block: int = 1,
) -> dict[str, Floats]:
    """Ask the same of many records drawn by lot.

    Parameters
    ----------
    record : Record
        The record drawn from.
    tell : callable
        Numbers by name from one record, such as its dry days a year.
    samples, seed, starts, block
        As for `records`.

    Returns
    -------
    dict of str to ndarray, shape (samples,)
        Each number from every sample.
    """
    told = [tell(drawn) for drawn in records(record, samples, seed, starts, block)]
    return {name: np.array([each[name] for each in told]) for name in told[0]} if told else {}


def interval(values: Floats, level: float = LEVEL) -> Interval:
    """Percentile interval of the samples of one number; samples that are not defined do not count.

    Raises
    ------
    InputError
        There are too few samples for the level.
    """
    known = values[~np.isnan(values)]
    enough(known.size, level)
    low, high = _percentiles(known, level)
    return Interval(float(low), float(high), level, known.size)


def intervals(values: Floats, level: float = LEVEL) -> tuple[Floats, Floats]:
    """Percentile intervals of many numbers, as `interval` gives them one by one.

    Parameters
    ----------
    values : ndarray, shape (samples, numbers)
        Samples of each.
    level : float
        Share of the samples within an interval [0..1].

    Returns
    -------
    low, high : ndarray, shape (numbers,)
        Bounds; NaN where too few samples are defined.
    """
    low, high = _percentiles(values, level)
    for i in np.flatnonzero(np.isnan(values).any(axis=0)):
        known = values[~np.isnan(values[:, i]), i]
        fits = known.size >= least_samples(level)
        low[i], high[i] = _percentiles(known, level) if fits else (np.nan, np.nan)
    return low, high


def _percentiles(values: Floats, level: float) -> tuple[Floats, Floats]:
    """Sample quantiles at i / (n + 1), along the first axis."""
    tail = (1.0 - level) / 2.0
    low, high = np.quantile(values, [tail, 1.0 - tail], axis=0, method="weibull")
    return low, high


def least_samples(level: float = LEVEL) -> int:
    """Samples from which on an interval of this level lies within them."""
    return int(np.ceil(2.0 / (1.0 - level) - 1.0 - 1e-9))


def enough(samples: int, level: float = LEVEL) -> None:
    """Make sure that so many samples do for an interval.

    Raises
    ------
    InputError
        There are too few samples for the level.
    """
    if samples < least_samples(level):
        raise InputError(
            f"an interval of {100 * level:.0f} % needs {least_samples(level)} samples or more;"
            f" there are {samples}: draw more, such as --samples {SAMPLES}"
        )
