"""What a reader hands over, and how its rows become one row per civil day."""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from typing import TYPE_CHECKING

import numpy as np
import numpy.typing as npt

from holdwater.errors import InputError
from holdwater.weather.formats.table import name_lines
from holdwater.weather.record import Origin

if TYPE_CHECKING:
    from holdwater.scenario.schema import WeatherFile

Days = npt.NDArray[np.datetime64]
Floats = npt.NDArray[np.float64]
Codes = npt.NDArray[np.int8]
Mask = npt.NDArray[np.bool_]

LONGEST_RECORD = 400 * 366
OTHERS = ("t_min", "t_max", "et0")


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
    unit : str
        Unit of the rain as read: "mm", "in", "tenths of mm".
    """

    source: str
    form: str
    days: Days
    rain: Floats
    origin: Codes
    others: dict[str, Floats] = field(default_factory=dict)
    lines: npt.NDArray[np.integer] | None = None
    unit: str = "mm"
    units_as_read: str = ""
    station: str = ""
    place: str = ""
    latitude: float | None = None
    longitude: float | None = None
    elevation: float | None = None
    licence: str = ""
    day_ends: str = "not stated"
    notes: tuple[str, ...] = ()

    def noting(self, *notes: str) -> Reading:
        """The same reading with further notes."""
        return replace(self, notes=(*self.notes, *notes))


def origins(missing: Mask, trace: Mask | None = None) -> Codes:
    """Codes of rows that are observed, trace or missing."""
    codes = np.full(len(missing), Origin.OBSERVED, dtype=np.int8)
    if trace is not None:
        codes[trace] = Origin.TRACE
    codes[missing] = Origin.MISSING
    return codes


def to_daily(reading: Reading, *, same_day: str = "refuse", absent_days: str = "missing") -> Reading:
    """Put a reading on consecutive days, one row each.

    Rows are sorted. Rows that repeat a day with the very same values count once and are noted;
    a day with different values is refused unless `same_day` says what to do. Days that are
    absent count as missing, or as dry where the owner declares the log to list rainy days only.
    Missing days at either end are cut off and noted.

    Parameters
    ----------
    reading : Reading
        Rows as read.
    same_day : str
        "refuse", "add" (readings of one day are parts of its rain) or "last" (a later one corrects).
    absent_days : str
        "missing" or "dry".

    Raises
    ------
    InputError
        A day with two different readings, a span beyond 400 years, no rain value at all.
    """
    if not (reading.origin != Origin.MISSING).any():
        raise InputError(
            f"weather file '{reading.source}' has {len(reading.days)} rows, but no rain value in any of them"
        )
    notes: list[str] = []
    steps = np.diff(reading.days.astype(np.int64))
    if (steps < 0).any():
        order = np.argsort(reading.days, kind="stable")
        reading = _rows(reading, order)
        if not (steps <= 0).all():
            notes.append("the rows were not in order of time; they were sorted")
        steps = np.diff(reading.days.astype(np.int64))
    if (steps == 0).any():
        reading, note = _one_row_a_day(reading, same_day)
        notes.append(note)
    reading, more = _trim(reading)
    notes += more
    span = int((reading.days[-1] - reading.days[0]).astype(np.int64)) + 1
    if span > LONGEST_RECORD:
        raise InputError(
            f"weather file '{reading.source}' spans {reading.days[0]} to {reading.days[-1]}; "
            "more than 400 years is taken for a slip in a date"
        )
    if span > len(reading.days):
        reading, more = _fill_axis(reading, span, absent_days)
        notes += more
    return reading.noting(*notes)


def prepare(reading: Reading, weather: WeatherFile) -> Reading:
    """Put a reading on consecutive days by the scenario's keys; counters become daily amounts."""
    if weather.readings == "cumulative":
        from holdwater.weather.formats.multiday import from_counter

        if weather.same_day == "add":
            raise InputError('weather: same_day = "add" and readings = "cumulative" contradict each other')
        return to_daily(from_counter(to_daily(reading, same_day=weather.same_day)))
    return to_daily(reading, same_day=weather.same_day, absent_days=weather.absent_days)


def _rows(reading: Reading, rows: npt.NDArray[np.int64] | Mask | slice) -> Reading:
    return replace(
        reading,
        days=reading.days[rows],
        rain=reading.rain[rows],
        origin=reading.origin[rows],
        others={k: v[rows] for k, v in reading.others.items()},
        lines=None if reading.lines is None else reading.lines[rows],
    )


def _one_row_a_day(reading: Reading, same_day: str) -> tuple[Reading, str]:
    again = np.diff(reading.days.astype(np.int64), prepend=-(10**9)) == 0
    group = np.cumsum(~again) - 1
    first = np.flatnonzero(~again)
    repeated = int(again.sum())
    if same_day == "last":
        last = np.append(first[1:], len(again)) - 1
        return _rows(reading, last), f"earlier readings of a day that gave way to its last one: {repeated}"
    if same_day == "add":
        rain = np.bincount(group, weights=reading.rain).astype(np.float64)
        # a missing part (NaN) leaves the whole day missing
        origin = reading.origin[first].copy()
        wet = np.maximum.reduceat(reading.origin == Origin.OBSERVED, first)
        origin[wet] = Origin.OBSERVED
        origin[np.isnan(rain)] = Origin.MISSING
        others = dict(reading.others)
        for name, pick in (("t_min", np.fmin), ("t_max", np.fmax)):
            if name in others:
                others[name] = pick.reduceat(others[name], first)
        if "et0" in others:
            others["et0"] = np.bincount(group, weights=others["et0"]).astype(np.float64)
        kept = replace(_rows(reading, first), rain=rain, origin=origin)
        kept = replace(kept, others={k: v if len(v) == len(first) else v[first] for k, v in others.items()})
        return kept, f"second and further readings added to the first of their day: {repeated}"
    same = np.ones(len(again), dtype=bool)
    for column in (reading.rain, reading.origin.astype(float), *reading.others.values()):
        lead = column[first][group]
        same &= (column == lead) | (np.isnan(column) & np.isnan(lead))
    if not same.all():
        raise InputError(_two_readings(reading, ~same))
    return _rows(
        reading, first
    ), f"rows that repeat a day with the same values: {repeated}; each day counts once"


def _two_readings(reading: Reading, differing: Mask) -> str:
    days = list(dict.fromkeys(str(d) for d in reading.days[differing]))
    named = ", ".join(days[:4]) + (f" and {len(days) - 4} more days" if len(days) > 4 else "")
    lines = ""
    if reading.lines is not None:
        of_days = np.isin(reading.days, reading.days[differing])
        lines = f" ({name_lines(np.sort(reading.lines[of_days]))})"
    return (
        f"weather file '{reading.source}' has two different readings for {named}{lines}; strike one, or say "
        'same_day = "add" if they are parts of the day, "last" if the later one corrects'
    )


def _trim(reading: Reading) -> tuple[Reading, list[str]]:
    known = np.flatnonzero(reading.origin != Origin.MISSING)
    head, tail = int(known[0]), len(reading.days) - 1 - int(known[-1])
    notes = []
    if head:
        notes.append(f"the first {head} rows, before {reading.days[known[0]]}, have no rain and are left out")
    if tail:
        notes.append(f"the last {tail} rows, after {reading.days[known[-1]]}, have no rain and are left out")
    return (_rows(reading, slice(head, len(reading.days) - tail)) if notes else reading), notes


def _fill_axis(reading: Reading, span: int, absent_days: str) -> tuple[Reading, list[str]]:
    dry = absent_days == "dry"
    place = (reading.days - reading.days[0]).astype(np.int64)
    days = reading.days[0] + np.arange(span)
    rain = np.full(span, 0.0 if dry else np.nan)
    origin = np.full(span, Origin.DECLARED_DRY if dry else Origin.MISSING, dtype=np.int8)
    rain[place], origin[place] = reading.rain, reading.origin
    others = {}
    for name, values in reading.others.items():
        others[name] = np.full(span, np.nan)
        others[name][place] = values
    full = replace(reading, days=days, rain=rain, origin=origin, others=others, lines=None)
    if not dry:
        return full, []
    gaps = np.diff(place)
    longest = int(np.argmax(gaps))
    return full, [
        f"{span - len(place)} days absent from the file count as dry, as declared; the longest run of them "
        f"is {gaps[longest] - 1} days after {reading.days[longest]}"
    ]
