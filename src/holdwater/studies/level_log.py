"""The owner's log of measured levels: dates, and gallons or inches, of each tank or of all."""

from __future__ import annotations

import csv
import datetime as dt
import re
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

import numpy as np

from holdwater.errors import InputError
from holdwater.scenario.schema import Scenario
from holdwater.tanks import Vessel, vessel
from holdwater.units import quoted, read
from holdwater.weather.formats.dates import read_dates
from holdwater.weather.formats.table import Cells

ALL = ("", "all", "total", "together", "level", "water", "storage", "volume")
_COLUMN = re.compile(
    r"(?:(?P<name>.*?)[\s_]*[\s_\[(])?"
    r"(?P<unit>gal|gallons?|l|lit(?:re|er)s?|m3|in|inch|inches|ft|feet|cm|mm|m|%)[\])\s]*",
    re.IGNORECASE,
)
_DATE = re.compile(r"(?:date|day|on)\s*(?:[\[(]\s*(?P<order>ymd|mdy|dmy)\s*[\])])?", re.IGNORECASE)
FILLED = ("filled", "filled in", "hauled", "delivered")
REMARKS = ("", "note", "notes", "remark", "remarks")
LENGTHS = ("in", "inch", "inches", "ft", "feet", "cm", "mm", "m")
HOW = (
    'the header names the date and, with its unit, each tank or the water of all: "date,upper [in],lower [in]"'
    ' or "date,gallons"; water that was brought stands in a column "filled [gal]"'
)
MOST_FAULTS = 6


@dataclass(frozen=True)
class Measured:
    """One value read off a gauge.

    Attributes
    ----------
    on : date
        The day.
    tank : str or None
        None for all tanks together.
    height : float or None
        Of the water above the tank's floor, where that was measured [mm].
    drawable_L : float
        Water above the outlet, or above all of them [L].
    """

    on: dt.date
    tank: str | None
    height: float | None
    drawable_L: float


@dataclass(frozen=True)
class Filled:
    """Water filled in by a hauler or from a well on a day [L]."""

    on: dt.date
    volume_L: float


@dataclass(frozen=True)
class LevelLog:
    """A log of levels.

    Attributes
    ----------
    readings : list of Measured
        In order of date.
    filled : list of Filled
        Water brought, in order of date.
    notes : tuple of str
        What was taken for granted in reading it.
    """

    readings: list[Measured]
    filled: list[Filled]
    notes: tuple[str, ...] = ()


@dataclass(frozen=True)
class _Column:
    place: int
    tank: str | None
    unit: str
    fills: bool = False

    @property
    def is_height(self) -> bool:
        return self.unit.lower() in LENGTHS


def read_levels(path: Path, scenario: Scenario) -> LevelLog:
    """Read a log of levels.

    Parameters
    ----------
    path : Path
        A CSV file whose header names the date and what was measured: heights of the water above the
        floor of a tank ("upper [in]"), or water above the outlets ("upper [gal]", "gallons"); and
        water filled in on the day ("filled [gal]"). Lines that begin with # and empty cells do not count.
        Dates are read as those of a weather file; where their order cannot be told the header says it,
        "date [mdy]".
    scenario : Scenario
        Knows the tanks, and the order of dates in its weather file.

    Returns
    -------
    LevelLog
        The readings and what was filled in.

    Raises
    ------
    InputError
        The file cannot be read, or with all the lines that cannot.
    """
    try:
        text = path.read_text("utf-8-sig")
    except (OSError, UnicodeDecodeError) as fault:
        why = getattr(fault, "strerror", None) or "it is no UTF-8 text"
        raise InputError(f"cannot read the levels in {path}: {why}") from None
    lines = [
        (n, line) for n, line in enumerate(text.splitlines(), 1) if line.strip() and line.lstrip()[0] != "#"
    ]
    if len(lines) < 2:
        raise InputError(f"{path} holds no levels; {HOW}")
    cells = list(csv.reader(line for _, line in lines))
    vessels = {tank.name: vessel(tank) for tank in scenario.tank}
    day, order, columns = _header(cells[0], vessels, path)
    faults: list[str] = []
    found: list[Measured] = []
    filled: list[Filled] = []
    rows = [
        (line[0], row) for line, row in zip(lines[1:], cells[1:], strict=True) if any(map(str.strip, row))
    ]
    days, notes = _days(rows, day, order or scenario.weather.dates, path, faults)
    for (number, row), on in zip(rows, days, strict=True):
        for column, text in _cells(row, columns):
            try:
                if column.fills:
                    filled.append(Filled(on, _filled(column, text)))
                else:
                    found.append(_measured(on, column, text, vessels))
            except InputError as fault:
                faults += [f"{path}, line {number}: {said}" for said in fault.faults]
    if faults:
        more = len(faults) - MOST_FAULTS
        raise InputError(
            [*faults[:MOST_FAULTS], *([f"... and {more} more lines like these"] if more > 0 else [])]
        )
    if not found:
        raise InputError(f"{path} holds no levels; {HOW}")
    return LevelLog(
        sorted(found, key=lambda one: one.on), sorted(filled, key=lambda one: one.on), tuple(notes)
    )


def _days(
    rows: Sequence[tuple[int, list[str]]], day: int, order: str | None, path: Path, faults: list[str]
) -> tuple[list[dt.date], list[str]]:
    """Dates of all lines, read as those of a weather file; faults are added to the others."""
    texts = [row[day].strip().encode() if day < len(row) else b"" for _, row in rows]
    width = max(1, *map(len, texts))
    chars = np.array([list(text.ljust(width, b"\0")) for text in texts], dtype=np.uint8).T
    try:
        found = read_dates(Cells(chars, np.array([number - 1 for number, _ in rows])), str(path), order)
    except InputError as fault:
        for said in fault.faults:
            in_header = re.sub(r'dates = "(\w+)"', r'"date [\1]"', said)
            faults.append(in_header.replace('say "date', 'head the column "date'))
        return [dt.date.min] * len(rows), []
    return found.days.tolist(), [f"levels: {note}" for note in found.notes]


def _header(
    names: Sequence[str], vessels: dict[str, Vessel], path: Path
) -> tuple[int, str | None, list[_Column]]:
    """Place of the date, the order of its parts where it is said, and the columns that measure something."""
    plain = [name.strip() for name in names]
    dates = {i: found for i, name in enumerate(plain) if (found := _DATE.fullmatch(name))}
    days = list(dates)
    faults, columns = [], []
    if len(days) != 1:
        faults.append(f"{path}: found {'no' if not days else 'more than one'} column of dates; {HOW}")
    for i, name in enumerate(plain):
        if i not in days and name.lower() not in REMARKS:
            try:
                columns.append(_column(i, name, list(vessels)))
            except InputError as fault:
                faults += [f"{path}: column {quoted(name)}: {said}" for said in fault.faults]
    if not faults and all(column.fills for column in columns):
        faults.append(f"{path}: found no column of levels; {HOW}")
    if faults:
        raise InputError(faults)
    order = dates[days[0]]["order"]
    return days[0], order.lower() if order else None, columns


def _column(place: int, header: str, tanks: list[str]) -> _Column:
    """What a column measures: of which tank, in which unit."""
    found = _COLUMN.fullmatch(header)
    if not found:
        raise InputError(f"no unit; {HOW}")
    name, unit = (found["name"] or "").strip(), found["unit"]
    if name.lower() in FILLED and name not in tanks:
        return _Column(place, None, unit, fills=True)
    if name.lower() not in ALL and name not in tanks:
        raise InputError(f"there is no tank {quoted(name)}; the tanks are {', '.join(tanks)}")
    tank = name if name in tanks else None
    if tank is None and unit.lower() in LENGTHS:
        if len(tanks) > 1:
            raise InputError(f"say in which tank the height was measured; {HOW}")
        tank = tanks[0]
    return _Column(place, tank, unit)


def _cells(row: Sequence[str], columns: Sequence[_Column]) -> list[tuple[_Column, str]]:
    """Cells of a line that are not empty."""
    cells = [(column, row[column.place].strip()) for column in columns if column.place < len(row)]
    return [(column, text) for column, text in cells if text]


def _filled(column: _Column, text: str) -> float:
    return read(f"{text} {column.unit}", "volume")


def _measured(on: dt.date, column: _Column, text: str, vessels: dict[str, Vessel]) -> Measured:
    """One cell as water above the outlets.

    Raises
    ------
    InputError
        It is no number, or the tank cannot hold it.
    """
    try:
        float(text.replace(",", ""))
    except ValueError:
        raise InputError(
            f"{quoted(text)} is no number; leave the cell empty where nothing was read"
        ) from None
    chosen = [vessels[column.tank]] if column.tank else list(vessels.values())
    room = sum(one.capacity - one.dead for one in chosen)
    what = f"tank '{column.tank}'" if column.tank else "the tanks"
    if column.is_height:
        height, one = read(f"{text} {column.unit}", "height"), chosen[0]
        if height > one.lip * 1.02:
            raise InputError(
                f"{what}: {text} {column.unit} is above the overflow at {one.lip / 25.4:.0f} in ({one.lip:.0f} mm);"
                " heights count from the floor of the tank"
            )
        return Measured(on, column.tank, height, one.volume_at(max(height, one.outlet)) - one.dead)
    level = read(f"{text} {column.unit}", "level")
    volume = level.of(room)
    if volume > room * 1.02:
        raise InputError(
            f"{what}: {text} {column.unit} is more than fits above the outlets, {room / 3.785411784:,.0f} gal"
            f" ({room:,.0f} L); volumes count from the outlet up"
        )
    return Measured(on, column.tank, None, volume)
