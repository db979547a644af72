"""The reader of plain CSV records: own gauge logs and tables out of other programs.

Columns and units come from the header ("date,rain_in") or from the scenario's keys. Nothing is
guessed: a rain column without a unit, two candidates for one quantity, a date that may be read in
two ways are refused with the cure.
"""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

import numpy as np
import numpy.typing as npt

from holdwater.errors import InputError
from holdwater.weather.formats.cells import Floats, Numbers, StrangeCells, read_numbers
from holdwater.weather.formats.csv_columns import Columns, find_columns
from holdwater.weather.formats.dates import Dates, StrangeDates, civil_days, read_dates
from holdwater.weather.formats.headers import DATE, ET0, ORIGIN, RAIN, T_MAX, T_MIN, TO_MM, WORDS, understand
from holdwater.weather.formats.table import NAMES, Table, first_lines, name_lines, separator_of
from holdwater.weather.reading import Codes, Reading, origins
from holdwater.weather.record import Origin

if TYPE_CHECKING:
    from holdwater.scenario.schema import WeatherFile

FORM = "CSV table"
MOST_ABOVE = 30
"""Lines in which the names of the columns are looked for below a title."""
FEW = 3
"""Cells that cannot be read up to which, beside one in twenty, the rest of the table is still looked at."""
OWN_FORM = "holdwater's own CSV table"
MARK = "# holdwater daily weather record"
"""First line of a table written by `convert`."""
TOLD = ("station", "place", "licence", "units_as_read", "day_ends")
LARGEST_TRACE = {"mm": 0.3, "in": 0.02, "tenths of mm": 3.0}
"""A "<x" mark counts as trace up to this figure; common practice, gauges are marked to 0.2 mm or 0.01 in."""


def read_csv(text: bytes, name: str, weather: WeatherFile) -> Reading:
    """Read a delimited text table of daily weather.

    Parameters
    ----------
    text : bytes
        UTF-8 text with line feeds.
    name : str
        File name, for messages and provenance.
    weather : WeatherFile
        The scenario's keys; each overrules what the header says.

    Returns
    -------
    Reading
        Rain in [mm], temperatures in [degC].

    Raises
    ------
    InputError
        All faults of the header at once, a title above it among them; then those that leave no
        table to read. Single cells that cannot be read are among the faults of the reading.
    """
    try:
        table = open_table(text, name, weather.separator)
        columns = find_columns(table, weather)
    except InputError as fault:
        return _below_title(text, name, weather, fault)
    faults = table.width_faults()
    if faults:
        raise InputError(faults)
    if not len(table):
        raise InputError(f"weather file '{name}' holds a header line and no data")
    table, dates, numbers, faults, unread = _cells(table, columns, weather)
    rain = numbers[RAIN]
    values = {q: to_inside(n.values, columns.units[q]) for q, n in numbers.items()}
    codes = origins(rain.missing, rain.trace)
    if ORIGIN in columns.at:
        _restore_origins(codes, table, columns.at[ORIGIN])
    told = _told(text) if text.startswith(MARK.encode()) else {}
    return Reading(
        source=name,
        form=OWN_FORM if told else f"{FORM}, separated by {NAMES.get(table.separator, table.separator)}",
        days=dates.days,
        rain=values.pop(RAIN),
        origin=codes,
        others=values,
        lines=table.lines,
        unit=columns.units[RAIN],
        temperature_unit=columns.units.get(T_MAX, columns.units.get(T_MIN, "degC")),
        units_as_read=told.get("units_as_read", _units_in_words(columns.units)),
        station=told.get("station", ""),
        place=told.get("place", ""),
        licence=weather.licence or told.get("licence", ""),
        day_ends=weather.day_ends or told.get("day_ends") or _day_ends(dates),
        notes=(*columns.notes, *dates.notes),
        columns=columns.uses,
        faults=tuple(faults),
        unread=unread,
    )


def _below_title(text: bytes, name: str, weather: WeatherFile, fault: InputError) -> Reading:
    """Read on where a line below the first names the columns; that the line above is a title is a fault too.

    Raises
    ------
    InputError
        The faults of the first line, where none below it names the columns; else those of the table below.
    """
    lines = first_lines(text, MOST_ABOVE)
    at = next((i for i, line in enumerate(lines) if _names_columns(line)), 0)
    above = [i for i in range(at) if lines[i].strip() and not lines[i].lstrip().startswith("#")]
    if not above:
        raise InputError(fault.faults) from None
    verb, them = ("is", "it") if len(above) == 1 else ("are", "them")
    said = (
        f"weather file '{name}': the columns are named on line {at + 1} ('{lines[at].strip()[:60]}'); {verb} "
        f"{name_lines([i + 1 for i in above])} a title? Then delete {them}, or begin {them} with #"
    )
    commented = b"\n".join(b"#" + line if i in above else line for i, line in enumerate(text.split(b"\n")))
    try:
        reading = read_csv(commented, name, weather)
    except InputError as more:
        raise InputError([said, *more.faults]) from None
    return replace(reading, faults=(said, *reading.faults))


def _names_columns(line: str) -> bool:
    """Whether a line names a column of dates and one of rain."""
    separator = separator_of(line)
    fields = line.split(None if separator == " " else separator) if separator else []
    found = {understand(field.strip().strip('"').strip()).quantity for field in fields}
    return {DATE, RAIN} <= found


def _cells(
    table: Table, columns: Columns, weather: WeatherFile
) -> tuple[Table, Dates, dict[str, Numbers], list[str], tuple[np.datetime64, ...]]:
    """Dates and numbers of all columns in use; and the cells that are neither, while they are few.

    Rows without a date are left out of the table, cells without a number are missing; their faults and the
    days whose rain could not be read are given back, since no run goes past them.
    """
    faults: list[str] = []
    dates = None
    numbers: dict[str, Numbers] = {}
    many = FEW + len(table) // 20
    try:
        table, dates = _dates_of_most(table, columns, weather, many, faults)
    except InputError as fault:
        faults += fault.faults
    unread: npt.NDArray[np.int64] = np.array([], dtype=np.int64)
    stop = dates is None
    for quantity in (RAIN, T_MIN, T_MAX, ET0):
        if quantity not in columns.at:
            continue
        try:
            numbers[quantity] = _numbers(table, columns, quantity, weather)
        except StrangeCells as fault:
            faults += fault.faults
            stop |= len(fault.rows) > many
            numbers[quantity] = _numbers(table, columns, quantity, weather, fault.texts)
            unread = fault.rows if quantity == RAIN else unread
        except InputError as fault:
            faults += fault.faults
            stop = True
    if stop or dates is None or not len(table) or (faults and numbers[RAIN].missing.all()):
        raise InputError(faults)
    return table, dates, numbers, faults, tuple(dates.days[unread])


def _dates_of_most(
    table: Table, columns: Columns, weather: WeatherFile, many: int, faults: list[str]
) -> tuple[Table, Dates]:
    """Dates, without the rows whose date is none, as long as they are few."""
    while True:
        try:
            return table, _dates(table, columns, weather)
        except (StrangeDates, StrangeCells) as fault:
            many -= len(fault.rows)
            if many < 0 or len(fault.rows) == len(table):
                raise
            faults += fault.faults
            table = table.without(fault.rows)


def _numbers(
    table: Table, columns: Columns, quantity: str, weather: WeatherFile, missing: tuple[str, ...] = ()
) -> Numbers:
    """One column of numbers, with further texts that count as missing."""
    at = columns.at[quantity]
    return read_numbers(
        table.cells(at),
        f"weather file '{table.name}', column '{table.columns[at]}'",
        decimal=weather.decimal,
        trace_below=LARGEST_TRACE[columns.units[RAIN]] if quantity == RAIN else None,
        missing_marks=(*weather.missing_marks, *missing),
    )


def open_table(text: bytes, name: str, separator: str | None) -> Table:
    """Cut a text into a table; comment lines (#) and blank lines may stand above the header.

    Raises
    ------
    InputError
        No header, or no separator in it.
    """
    header_line, header = _header(text, name)
    separator = {"tab": "\t", "\\t": "\t", "space": " "}.get(separator or "", separator)
    if separator is not None and (len(separator) != 1 or separator in '"\n#' or not separator.isascii()):
        raise InputError(
            f"weather file '{name}': separator = \"{separator}\" is not one character; "
            'use ",", ";", "|", "tab" or "space"'
        )
    found = separator or separator_of(header)
    if found is None:
        raise InputError(
            f"weather file '{name}': the first line '{header.strip()[:60]}' names one column only; a date "
            'and a rain column are needed, parted by comma, semicolon or tab (or say separator = "...")'
        )
    return Table(text, found, name, header_line)


def _header(text: bytes, name: str) -> tuple[int, str]:
    for number, line in enumerate(first_lines(text, 500)):
        if line.strip() and not line.lstrip().startswith("#"):
            if line.strip()[:1].isdigit():
                raise InputError(
                    f"weather file '{name}' has no header: line {number + 1} is '{line.strip()[:40]}'; "
                    "write a first line that names the columns, such as date,rain_mm"
                )
            return number, line
    raise InputError(f"weather file '{name}' holds comments only and no data")


def _dates(table: Table, columns: Columns, weather: WeatherFile) -> Dates:
    if columns.parts is None:
        at = columns.at[DATE]
        where = f"weather file '{table.name}', column '{table.columns[at]}'"
        return read_dates(table.cells(at), where, weather.dates)
    where = f"weather file '{table.name}'"
    values = [read_numbers(table.cells(i), f"{where}, column '{table.columns[i]}'") for i in columns.parts]
    whole = [np.nan_to_num(v.values, nan=-1.0).clip(-1, 99999).astype(np.int64) for v in values]
    days, wrong = civil_days(whole[0], whole[1], whole[2])
    for number, integer in zip(values, whole, strict=True):
        wrong |= number.values != integer
    if wrong.any():
        said = f"{where}: year, month and day on {name_lines(table.lines[wrong])} make no day"
        raise StrangeDates(said, np.flatnonzero(wrong))
    return Dates(days)


def _day_ends(dates: Dates) -> str:
    """The hour the day ends: the one time of day the file writes throughout."""
    hours = set(dates.hours)
    if len(hours) == 1 and not next(iter(hours)).startswith(("00:00", "0:00")):
        return f"{next(iter(hours))[:12]} (time of day in the file)"
    return "not stated"


def to_inside(values: Floats, unit: str) -> Floats:
    """Bring rain to mm and temperatures to degC; a figure in mm or degC is left to the last bit."""
    if unit in ("mm", "degC"):
        return values
    if unit == "degF":
        return (values - 32.0) / 1.8
    if unit in ("tenths of mm", "tenths of degC"):
        return values / 10.0
    return values * TO_MM[unit]


def _restore_origins(codes: Codes, table: Table, at: int) -> None:
    """Take the origins from a table holdwater wrote itself; days filled there stay known as filled."""
    by_name = {o.name.lower(): int(o) for o in Origin}
    texts, which = table.cells(at).coded()
    stored = np.array([by_name.get(text, 0) for text in texts], dtype=np.int8)[which]
    told = (stored != Origin.MISSING) & (codes != Origin.MISSING)
    codes[told] = stored[told]


def _units_in_words(units: dict[str, str]) -> str:
    return ", ".join(f"{quantity} in {WORDS.get(unit, unit)}" for quantity, unit in units.items())


def _told(text: bytes) -> dict[str, str]:
    """What the comments of a table holdwater wrote say about the record, its licence above all."""
    told: dict[str, str] = {}
    for line in first_lines(text, 60):
        if not line.startswith("#"):
            break
        key, colon, value = line.lstrip("# ").partition(": ")
        if colon and key in TOLD:
            told[key] = value.strip()
    return told
