"""The reader of plain CSV records: own gauge logs and tables out of other programs.

Columns and units come from the header ("date,rain_in") or from the scenario's keys. Nothing is
guessed: a rain column without a unit, two candidates for one quantity, a date that may be read in
two ways are refused with the cure.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from holdwater.errors import InputError
from holdwater.weather.formats.cells import Floats, Numbers, read_numbers
from holdwater.weather.formats.csv_columns import Columns, find_columns
from holdwater.weather.formats.dates import Dates, civil_days, read_dates
from holdwater.weather.formats.headers import DATE, ET0, ORIGIN, RAIN, T_MAX, T_MIN, TO_MM, WORDS
from holdwater.weather.formats.table import NAMES, Table, first_lines, name_lines, separator_of
from holdwater.weather.reading import Codes, Reading, origins
from holdwater.weather.record import Origin

if TYPE_CHECKING:
    from holdwater.scenario.schema import WeatherFile

FORM = "CSV table"
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
        All faults of the header at once; then those of the lines.
    """
    table = open_table(text, name, weather.separator)
    columns = find_columns(table, weather)
    faults = table.width_faults()
    if faults:
        raise InputError(faults)
    if not len(table):
        raise InputError(f"weather file '{name}' holds a header line and no data")
    dates, numbers = _cells(table, columns, weather)
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
        units_as_read=told.get("units_as_read", _units_in_words(columns.units)),
        station=told.get("station", ""),
        place=told.get("place", ""),
        licence=weather.licence or told.get("licence", ""),
        day_ends=weather.day_ends or told.get("day_ends") or _day_ends(dates),
        notes=(*columns.notes, *dates.notes),
    )


def _cells(table: Table, columns: Columns, weather: WeatherFile) -> tuple[Dates, dict[str, Numbers]]:
    """Dates and numbers of all columns in use; the faults of all of them at once."""
    faults: list[str] = []
    dates = None
    numbers: dict[str, Numbers] = {}
    try:
        dates = _dates(table, columns, weather)
    except InputError as fault:
        faults += fault.faults
    for quantity in (RAIN, T_MIN, T_MAX, ET0):
        if quantity not in columns.at:
            continue
        at = columns.at[quantity]
        try:
            numbers[quantity] = read_numbers(
                table.cells(at),
                f"weather file '{table.name}', column '{table.columns[at]}'",
                decimal=weather.decimal,
                trace_below=LARGEST_TRACE[columns.units[RAIN]] if quantity == RAIN else None,
                missing_marks=tuple(weather.missing_marks),
            )
        except InputError as fault:
            faults += fault.faults
    if faults or dates is None:
        raise InputError(faults)
    return dates, numbers


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
        raise InputError(f"{where}: year, month and day on {name_lines(table.lines[wrong])} make no day")
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
