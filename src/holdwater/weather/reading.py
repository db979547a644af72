"""How the rows that a reader hands over become one row per civil day."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

import numpy as np
import numpy.typing as npt

from holdwater.errors import InputError
from holdwater.weather import written
from holdwater.weather.formats.multiday import from_counter
from holdwater.weather.formats.table import name_lines
from holdwater.weather.record import Origin
from holdwater.weather.rows import Codes, Days, Floats, Mask, Reading, chosen, laid_out, origins

if TYPE_CHECKING:
    from holdwater.scenario.schema import WeatherFile

__all__ = ["Codes", "Days", "Floats", "Mask", "Reading", "lay_out", "origins", "prepare", "to_daily"]

LONGEST_RECORD = 400 * 366


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
        The faults of the reading, a day with two different readings, a span beyond 400 years, no rain
        value at all.
    """
    return _sound(_daily(reading, same_day, absent_days))


def prepare(reading: Reading, weather: WeatherFile) -> Reading:
    """Put a reading on consecutive days by the scenario's keys; counters become daily amounts.

    Raises
    ------
    InputError
        As `to_daily`.
    """
    return _sound(lay_out(reading, weather))


def lay_out(reading: Reading, weather: WeatherFile) -> Reading:
    """As `prepare`, but with what stops a run among the faults of the reading, so that one can look further.

    Of two different readings of a day the later one is taken.

    Raises
    ------
    InputError
        A span beyond 400 years, no rain value at all.
    """
    if weather.readings == "cumulative":
        if weather.same_day == "add":
            raise InputError('weather: same_day = "add" and readings = "cumulative" contradict each other')
        return _daily(from_counter(_daily(reading, weather.same_day)))
    return _daily(reading, weather.same_day, weather.absent_days)


def _sound(reading: Reading) -> Reading:
    if reading.faults:
        raise InputError(reading.faults)
    return reading


def _daily(reading: Reading, same_day: str = "refuse", absent_days: str = "missing") -> Reading:
    _some_rain(reading)
    notes: list[str] = []
    steps = np.diff(reading.days.astype(np.int64))
    if (steps < 0).any():
        order = np.argsort(reading.days, kind="stable")
        reading = chosen(reading, order)
        if not (steps <= 0).all():
            notes.append("the rows were not in order of time; they were sorted")
        steps = np.diff(reading.days.astype(np.int64))
    if (steps == 0).any():
        reading = _one_row_a_day(reading, same_day)
        _some_rain(reading)  # the row of a day that is kept may be blank
    reading, more = _trim(reading)
    notes += more
    span = int((reading.days[-1] - reading.days[0]).astype(np.int64)) + 1
    if span > LONGEST_RECORD:
        said = (
            f"weather file '{reading.source}' spans {reading.days[0]} to {reading.days[-1]}; "
            "more than 400 years is taken for a slip in a date"
        )
        raise InputError([*reading.faults, said])
    if span > len(reading.days):
        reading, more = _fill_axis(reading, span, absent_days)
        notes += more
    return reading.noting(*notes)


def _some_rain(reading: Reading) -> None:
    """Refuse a reading without a rain value, by its own faults where it has any."""
    if not (reading.origin != Origin.MISSING).any():
        said = (
            f"weather file '{reading.source}' has {len(reading.days)} rows, but no rain value in any of them"
        )
        raise InputError(reading.faults or said)


def _one_row_a_day(reading: Reading, same_day: str) -> Reading:
    again = np.diff(reading.days.astype(np.int64), prepend=-(10**9)) == 0
    group = np.cumsum(~again) - 1
    first = np.flatnonzero(~again)
    repeated = int(again.sum())
    last = np.append(first[1:], len(again)) - 1
    if same_day == "last":
        differing = _differing(reading, group, first)
        which = f", on {_each_reading(reading, differing, 4)}" if differing.any() else ""
        return chosen(reading, last).noting(
            f"earlier readings of a day that gave way to its last one: {repeated}{which}"
        )
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
        kept = replace(chosen(reading, first), rain=rain, origin=origin)
        kept = replace(kept, others={k: v if len(v) == len(first) else v[first] for k, v in others.items()})
        return kept.noting(f"second and further readings added to the first of their day: {repeated}")
    differing = _differing(reading, group, first)
    if differing.any():
        unread = tuple(np.unique(reading.days[differing]))
        told = chosen(reading, last).faulted(_two_readings(reading, differing))
        return replace(told, unread=(*told.unread, *unread))
    return chosen(reading, first).noting(
        f"rows that repeat a day with the same values: {repeated}; each day counts once"
    )


def _differing(reading: Reading, group: npt.NDArray[np.int64], first: npt.NDArray[np.int64]) -> Mask:
    """Rows whose day has rows with other values."""
    same = np.ones(len(group), dtype=bool)
    for column in (reading.rain, reading.origin.astype(float), *reading.others.values()):
        lead = column[first][group]
        same &= (column == lead) | (np.isnan(column) & np.isnan(lead))
    odd = np.bincount(group, weights=~same) > 0
    return np.asarray(odd[group])


def _two_readings(reading: Reading, differing: Mask) -> str:
    return (
        f"weather file '{reading.source}' has two different readings for {_each_reading(reading, differing)}; "
        'strike one, or say same_day = "last" (the later one corrects) or "add" (they are parts of the day)'
    )


def _each_reading(reading: Reading, rows: Mask, limit: int = 10) -> str:
    """ "2018-08-03 (0.1 in on line 1677, 0.35 in on line 1678)"; rows are in order of their days."""
    at = np.flatnonzero(rows)
    days = np.split(at, np.flatnonzero(np.diff(reading.days[at].astype(np.int64))) + 1)
    told = []
    for own in days[:limit]:
        also = [n for n, values in reading.others.items() if len(np.unique(values[own])) > 1]
        if len(np.unique(reading.rain[own])) > 1:
            also = []
        each = ", ".join(_one_reading(reading, int(i), also) for i in own[:4])
        told.append(f"{reading.days[own[0]]} ({each})")
    more = len(days) - limit
    return ", ".join(told) + (f" and {more} more {'day' if more == 1 else 'days'}" if more > 0 else "")


def _one_reading(reading: Reading, i: int, also: list[str]) -> str:
    """A reading as the file has it, with its line; `also` names what differs where the rain does not."""
    said = written.as_read(float(reading.rain[i]), reading.unit)
    said = {Origin.MISSING: "blank", Origin.TRACE: "a trace"}.get(Origin(reading.origin[i]), said)
    for name in also:
        value = float(reading.others[name][i])
        known = f"{value:.4g} mm" if name == "et0" else written.temperature(value, reading.temperature_unit)
        said += f" with {name} {'blank' if np.isnan(value) else known}"
    return said + ("" if reading.lines is None else f" on {name_lines(reading.lines[i : i + 1])}")


def _trim(reading: Reading) -> tuple[Reading, list[str]]:
    known = np.flatnonzero(reading.origin != Origin.MISSING)
    head, tail = int(known[0]), len(reading.days) - 1 - int(known[-1])
    notes = []
    if head:
        notes.append(f"the first {head} rows, before {reading.days[known[0]]}, have no rain and are left out")
    if tail:
        notes.append(f"the last {tail} rows, after {reading.days[known[-1]]}, have no rain and are left out")
    return (chosen(reading, slice(head, len(reading.days) - tail)) if notes else reading), notes


def _fill_axis(reading: Reading, span: int, absent_days: str) -> tuple[Reading, list[str]]:
    if absent_days != "dry":
        return laid_out(reading, reading.days[0], span), []
    full = laid_out(reading, reading.days[0], span, 0.0, Origin.DECLARED_DRY)
    gaps = np.diff(reading.days).astype(np.int64)
    longest = int(np.argmax(gaps))
    return full, [
        f"{span - len(reading.days)} days absent from the file count as dry, as declared; the longest run of them "
        f"is {gaps[longest] - 1} days after {reading.days[longest]}"
    ]
