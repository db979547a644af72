"""Rows as read: what every reader of weather files hands over, and how rows are chosen and laid out on days."""

from __future__ import annotations

from dataclasses import dataclass, field, replace

import numpy as np
import numpy.typing as npt

from holdwater.weather.record import Origin

Days = npt.NDArray[np.datetime64]
Floats = npt.NDArray[np.float64]
Codes = npt.NDArray[np.int8]
Mask = npt.NDArray[np.bool_]


@dataclass(frozen=True)
class Reading:
    """Rows as read, in any order; the first form every file format is brought into.

    Attributes
    ----------
    days : ndarray of datetime64[D], shape (n,)
        The civil day each row counts for.
    rain : ndarray, shape (n,)
        NaN where missing [mm].
    origin : ndarray of int8, shape (n,)
        Codes of `Origin`.
    others : dict of str to ndarray
        `t_min`, `t_max` [degC], `et0` [mm], NaN where missing.
    lines : ndarray of int or None
        Line of the file each row stands on.
    form : str
        The file format, in words.
    unit, temperature_unit : str
        Units of the rain and of the temperatures as read: "mm", "in", "tenths of mm"; "degC", "degF".
    columns : tuple of (str, str)
        Every column of a table and what it was used as, "not used" included.
    faults : tuple of str
        Sentences about rows that cannot be used and are left out here; no run goes past them.
    unread : tuple of datetime64[D]
        Days whose rain is missing here only because its cell is among the faults.
    """

    source: str
    form: str
    days: Days
    rain: Floats
    origin: Codes
    others: dict[str, Floats] = field(default_factory=dict)
    lines: npt.NDArray[np.integer] | None = None
    unit: str = "mm"
    temperature_unit: str = "degC"
    units_as_read: str = ""
    station: str = ""
    place: str = ""
    latitude: float | None = None
    longitude: float | None = None
    elevation: float | None = None
    licence: str = ""
    day_ends: str = "not stated"
    notes: tuple[str, ...] = ()
    columns: tuple[tuple[str, str], ...] = ()
    faults: tuple[str, ...] = ()
    unread: tuple[np.datetime64, ...] = ()

    def noting(self, *notes: str) -> Reading:
        """The same reading with further notes."""
        return replace(self, notes=(*self.notes, *notes))

    def faulted(self, *faults: str) -> Reading:
        """The same reading with further faults."""
        return replace(self, faults=(*self.faults, *faults))


def origins(missing: Mask, trace: Mask | None = None) -> Codes:
    """Codes of rows that are observed, trace or missing."""
    codes = np.full(len(missing), Origin.OBSERVED, dtype=np.int8)
    if trace is not None:
        codes[trace] = Origin.TRACE
    codes[missing] = Origin.MISSING
    return codes


def chosen(reading: Reading, rows: npt.NDArray[np.int64] | Mask | slice) -> Reading:
    """The reading with these rows alone, in this order."""
    return replace(
        reading,
        days=reading.days[rows],
        rain=reading.rain[rows],
        origin=reading.origin[rows],
        others={k: v[rows] for k, v in reading.others.items()},
        lines=None if reading.lines is None else reading.lines[rows],
    )


def laid_out(
    reading: Reading,
    first: np.datetime64,
    span: int,
    rain: float = np.nan,
    origin: Origin = Origin.MISSING,
) -> Reading:
    """The reading on consecutive days; no day may stand twice in it.

    Parameters
    ----------
    reading : Reading
        Rows of the days from `first` on, in any order.
    first : datetime64[D]
        First of the days.
    span : int
        How many there are [days].
    rain : float
        Rain of a day that has no row [mm].
    origin : Origin
        Origin of a day that has no row.
    """
    at = (reading.days - first).astype(np.int64)
    amounts, codes = np.full(span, rain), np.full(span, origin, dtype=np.int8)
    amounts[at], codes[at] = reading.rain, reading.origin
    others = {}
    for name, values in reading.others.items():
        others[name] = np.full(span, np.nan)
        others[name][at] = values
    days = first + np.arange(span)
    return replace(reading, days=days, rain=amounts, origin=codes, others=others, lines=None)
