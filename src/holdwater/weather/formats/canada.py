"""The reader of Canadian daily tables: mm and degC, a flag column beside every value.

Older files carry some 25 lines about the station above the header. Flags: T trace; M missing;
E estimated; A accumulated over several days; C precipitation of unknown amount and L precipitation
may have fallen, both written as 0 and not known at all; F accumulated and estimated. Source:
Environment and Climate Change Canada, legend of the daily tables.
"""

from __future__ import annotations

import re
from typing import TYPE_CHECKING

import numpy as np

from holdwater.errors import InputError
from holdwater.weather.formats.cells import Floats, Mask, read_numbers
from holdwater.weather.formats.dates import read_dates
from holdwater.weather.formats.multiday import spread
from holdwater.weather.formats.picking import choose
from holdwater.weather.formats.table import Table, first_lines
from holdwater.weather.reading import Reading, origins

if TYPE_CHECKING:
    from holdwater.scenario.schema import WeatherFile

FORM = "Canadian daily table (mm, degC)"
DATE, PRECIPITATION, RAIN = "date/time", "total precip (mm)", "total rain (mm)"
T_MIN, T_MAX = "min temp", "max temp"
STATION = "climate id"
UNCERTAIN, ACCUMULATED = ("C", "L"), ("A", "F")
LICENCE = "Environment and Climate Change Canada; the file states no licence"
HEADER_WITHIN = 60


def recognise(lines: list[str]) -> bool:
    """Whether one of the first lines is the header of a Canadian daily table."""
    return _header_line(lines) is not None


def _header_line(lines: list[str]) -> int | None:
    for number, line in enumerate(lines[:HEADER_WITHIN]):
        lower = line.lower()
        if DATE in lower and (PRECIPITATION in lower or RAIN in lower):
            return number
    return None


def read(text: bytes, name: str, weather: WeatherFile) -> Reading:
    """Read precipitation (rain and the water of snow) and temperatures.

    Raises
    ------
    InputError
        Columns that are not there, several stations, cells that are no date or number.
    """
    lines = first_lines(text, HEADER_WITHIN)
    header = _header_line(lines)
    if header is None:
        raise InputError(
            f"weather file '{name}' is no {FORM}: no line among the first {HEADER_WITHIN} names "
            f"'Date/Time' and 'Total Precip (mm)'"
        )
    table = Table(text, ",", name, header)
    lower = [column.lower() for column in table.columns]
    faults = table.width_faults()
    if DATE not in lower:
        faults.append(f"weather file '{name}' ({FORM}) has no column 'Date/Time'")
    elif not len(table):
        faults.append(f"weather file '{name}' holds a header line and no data")
    if faults:
        raise InputError(faults)
    own, station = np.ones(len(table), dtype=bool), _preamble(lines[:header], STATION)
    if STATION in lower:
        ids = table.cells(lower.index(STATION))
        station = choose(ids.distinct(), weather.station, name)
        own = ids.equal(station)
    where = f"weather file '{name}'"
    days = read_dates(
        table.cells(lower.index(DATE)).at(own), f"{where}, column 'Date/Time'", weather.dates
    ).days
    element = PRECIPITATION if PRECIPITATION in lower else RAIN
    rain, trace, flag = _values(table, lower, element, own)
    notes = (
        [] if element == PRECIPITATION else ["there is no column of total precipitation; snow is not counted"]
    )
    uncertain = np.isin(flag, UNCERTAIN)
    lumped = np.isin(flag, ACCUMULATED) & ~np.isnan(rain)
    trace |= flag == "T"
    missing = np.isnan(rain) & ~trace | uncertain | lumped | (flag == "M")
    estimated = int(((flag == "E") & ~missing).sum())
    if estimated:
        notes.append(f"rain the source has estimated (flag E): {estimated} days")
    others: dict[str, Floats] = {}
    for key, start in (("t_min", T_MIN), ("t_max", T_MAX)):
        column = next((c for c in lower if c.startswith(start) and "flag" not in c), None)
        if column:
            others[key] = _values(table, lower, column, own)[0]
    reading = Reading(
        source=name,
        form=FORM,
        days=days,
        rain=np.where(missing, np.nan, np.where(trace, 0.0, rain)),
        origin=origins(missing, trace & ~missing),
        others=others,
        lines=table.lines[own],
        units_as_read="rain in mm" + (", temperatures in degC" if others else ""),
        station=station,
        place=_preamble(lines[:header], "station name") or _cell(table, lower, "station name", own),
        licence=weather.licence or LICENCE,
        day_ends=weather.day_ends or "not stated",
        notes=tuple(notes),
    )
    return _accumulated(reading, rain, uncertain, lumped)


def _accumulated(reading: Reading, rain: Floats, uncertain: Mask, lumped: Mask) -> Reading:
    """Spread totals over the days of uncertain zeros before them; the other uncertain days stay missing."""
    if lumped.any() and len(np.unique(reading.days)) < len(reading.days):
        raise InputError(
            f"weather file '{reading.source}' ({FORM}) holds a day twice; strike one of the rows"
        )
    known = {day: i for i, day in enumerate(reading.days.tolist())}
    ends = np.flatnonzero(lumped)
    periods = np.ones(len(ends), dtype=np.int64)
    one = np.timedelta64(1, "D")
    for k, row in enumerate(ends):
        day = reading.days[row] - one
        while (before := known.get(day.item())) is not None and uncertain[before]:
            periods[k] += 1
            day -= one
    left = int(uncertain.sum()) - int((periods - 1).sum())
    if left:
        reading = reading.noting(
            f"zeros the source is not sure of (flags C, L): {left} days, counted as missing"
        )
    return spread(reading, reading.days[ends], rain[ends], periods, "flag A")


def _values(
    table: Table, lower: list[str], column: str, own: Mask
) -> tuple[Floats, Mask, np.ndarray[tuple[int, ...], np.dtype[np.str_]]]:
    """Numbers, trace marks and flags of one element; its flag column is the one that follows."""
    at = lower.index(column)
    numbers = read_numbers(
        table.cells(at).at(own),
        f"weather file '{table.name}', column '{table.columns[at]}'",
        trace_below=0.3 if "mm" in column else None,
    )
    if at + 1 < len(lower) and "flag" in lower[at + 1]:
        flag = np.array(table.cells(at + 1).at(own).texts(), dtype="U4")
    else:
        flag = np.full(int(own.sum()), "", dtype="U4")
    values = numbers.values.copy()
    values[flag == "M"] = np.nan
    return values, numbers.trace, flag


def _preamble(lines: list[str], key: str) -> str:
    """What the lines above the header say about the station."""
    for line in lines:
        match = re.match(rf'"?{key}"?\s*[,:]\s*"?([^",]*)"?', line.strip(), re.IGNORECASE)
        if match:
            return match[1].strip()
    return ""


def _cell(table: Table, lower: list[str], column: str, own: Mask) -> str:
    if column not in lower or not own.any():
        return ""
    return table.cells(lower.index(column), 80, np.flatnonzero(own)[:1]).texts()[0]
