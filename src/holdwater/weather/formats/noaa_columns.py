"""What the two NOAA daily tables have in common: a line per day, a column per element.

Columns are known by element (PRCP, TMAX, TMIN, MDPR, DAPR); `<element>_ATTRIBUTES` holds
measurement, quality and source flag and at times the hour of observation, parted by commas.
Source: National Centers for Environmental Information, documentation of the daily summaries.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from holdwater.errors import InputError
from holdwater.weather.formats import flags
from holdwater.weather.formats.cells import Floats, Mask, read_numbers
from holdwater.weather.formats.csv_file import LARGEST_TRACE, to_inside
from holdwater.weather.formats.dates import read_dates
from holdwater.weather.formats.headers import WORDS
from holdwater.weather.formats.multiday import spread
from holdwater.weather.formats.picking import choose
from holdwater.weather.formats.table import Cells, Table
from holdwater.weather.reading import Days, Reading

ELEMENTS = ("PRCP", "TMIN", "TMAX", "MDPR", "DAPR")
LICENCE = "NOAA GHCN-Daily; the file states no licence"


@dataclass(frozen=True)
class _Flags:
    """Flag letters of one element by row, and its hours of observation with their counts."""

    measurement: flags.Letters
    quality: flags.Letters
    source: flags.Letters
    times: dict[str, int]


@dataclass(frozen=True)
class Columns:
    """Values as written, not yet in mm or degC, with flags, of one station."""

    table: Table
    own: Mask
    station: str
    place: str
    days: Days
    values: dict[str, Floats]
    trace: Mask
    flags: dict[str, _Flags]
    coordinates: tuple[float | None, float | None, float | None]


def header(line: str) -> list[str]:
    """Column names of a header line."""
    return [field.strip().strip('"').strip().upper() for field in line.split(",")]


def columns(text: bytes, name: str, form: str, station: str | None, dates: str | None) -> Columns:
    """Cut the table and pick the rows of one station.

    Raises
    ------
    InputError
        No rain column, several stations and none chosen, cells that are no date or number.
    """
    table = Table(text, ",", name)
    at = {column.upper(): i for i, column in enumerate(table.columns)}
    faults = table.width_faults()
    if len(at) < len(table.columns):
        faults.append(f"weather file '{name}' ({form}) names a column twice")
    if "PRCP" not in at or "DATE" not in at:
        faults.append(f"weather file '{name}' ({form}) has no column DATE or PRCP: the order holds no rain")
    if not faults and not len(table):
        faults.append(f"weather file '{name}' holds a header line and no data")
    if faults:
        raise InputError(faults)
    chosen, own = "", np.ones(len(table), dtype=bool)
    if "STATION" in at:
        ids = table.cells(at["STATION"])
        chosen = choose(ids.distinct(), station, name)
        own = ids.equal(chosen)
    where = f"weather file '{name}'"
    days = read_dates(table.cells(at["DATE"]).at(own), f"{where}, column 'DATE'", dates).days
    values: dict[str, Floats] = {}
    trace: Mask = np.zeros(len(days), dtype=bool)
    for element in ELEMENTS:
        if element in at:
            numbers = read_numbers(
                table.cells(at[element]).at(own),
                f"{where}, column '{element}'",
                decimal=".",
                trace_below=LARGEST_TRACE["in"] if element == "PRCP" else None,
            )
            values[element] = numbers.values
            trace = numbers.trace if element == "PRCP" else trace
    beside = {e: at.get(f"{e}_ATTRIBUTES") for e in values}
    letters = {e: _flags(None if i is None else table.cells(i).at(own), len(days)) for e, i in beside.items()}
    first = np.flatnonzero(own)[:1]
    place = table.cells(at["NAME"], 80, first).texts()[0] if "NAME" in at else ""
    coordinates = tuple(
        _number(table.cells(at[c], rows=first).texts()[0]) if c in at else None
        for c in ("LATITUDE", "LONGITUDE", "ELEVATION")
    )
    return Columns(
        table,
        own,
        chosen,
        place,
        days,
        values,
        trace,
        letters,
        (coordinates[0], coordinates[1], coordinates[2]),
    )


def reading(
    read: Columns, form: str, rain_unit: str, temperature_unit: str, day_ends: str | None, licence: str | None
) -> Reading:
    """Bring the columns into mm and degC and let the flags speak."""
    n = len(read.days)
    said = read.flags["PRCP"]
    measurement = np.where(read.trace, flags.TRACE, said.measurement).astype(np.uint8)
    rain = to_inside(read.values["PRCP"], rain_unit)
    amounts, codes, notes = flags.judge_rain(
        read.days, rain, measurement, said.quality, said.source, rain_unit
    )
    others: dict[str, Floats] = {}
    for key, element in (("t_min", "TMIN"), ("t_max", "TMAX")):
        if element in read.values:
            degrees = to_inside(read.values[element], temperature_unit)
            others[key] = flags.temperature(degrees, read.flags[element].quality)
    ends, more = flags.day_end(said.times)
    result = Reading(
        source=read.table.name,
        form=form,
        days=read.days,
        rain=amounts,
        origin=codes,
        others=others,
        lines=read.table.lines[read.own],
        unit=rain_unit,
        temperature_unit=temperature_unit,
        units_as_read=f"rain in {WORDS.get(rain_unit, rain_unit)}"
        + (f", temperatures in {temperature_unit}" if others else ""),
        station=read.station,
        place=read.place,
        latitude=read.coordinates[0],
        longitude=read.coordinates[1],
        elevation=read.coordinates[2],
        licence=licence or LICENCE,
        day_ends=day_ends or ends,
        notes=(*notes, *more),
    )
    if "MDPR" not in read.values:
        return result
    totals = to_inside(read.values["MDPR"], rain_unit)
    told = ~np.isnan(totals) & ~flags.failed(read.flags["MDPR"].quality)
    lengths = np.nan_to_num(read.values.get("DAPR", np.full(n, np.nan)), nan=0.0).clip(0, 9999)
    return spread(result, read.days[told], totals[told], lengths[told].astype(np.int64), "MDPR")


def _flags(cells: Cells | None, rows: int) -> _Flags:
    """Measurement, quality and source flags and hours of "T,,W,0700"; none where there is no column."""
    texts, which = cells.coded() if cells is not None else ([""], np.zeros(rows, dtype=np.intp))
    letters = np.zeros((max(len(texts), 1), 3), dtype=np.uint8)
    times: dict[str, int] = {}
    counts = np.bincount(which, minlength=len(texts)).tolist()
    for i, text in enumerate(texts):
        parts = [part.strip() for part in text.split(",")] + [""] * 4
        letters[i] = [ord(part[0]) % 256 if part else 0 for part in parts[:3]]
        times[parts[3]] = times.get(parts[3], 0) + counts[i]
    of_rows = letters[which]
    return _Flags(of_rows[:, 0], of_rows[:, 1], of_rows[:, 2], times)


def _number(text: str) -> float | None:
    try:
        value = float(text)
    except ValueError:
        return None
    return value if np.isfinite(value) else None
