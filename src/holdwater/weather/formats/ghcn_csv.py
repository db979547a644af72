"""The reader of GHCN-Daily tables in long form (by station, by year): a line per day and element.

Columns: station, yyyymmdd, element, value, measurement flag, quality flag, source flag, hour of
observation ("0700" is text). Rain in tenths of mm, temperatures in tenths of degC; a day that is
absent is missing. Source: National Centers for Environmental Information, readme of GHCN-Daily.
"""

from __future__ import annotations

import re
from typing import TYPE_CHECKING

import numpy as np

from holdwater.errors import InputError
from holdwater.weather.formats import flags
from holdwater.weather.formats.cells import Floats, Mask, read_numbers
from holdwater.weather.formats.dates import read_dates
from holdwater.weather.formats.multiday import spread
from holdwater.weather.formats.picking import beside, choose
from holdwater.weather.formats.table import Table
from holdwater.weather.reading import Reading

if TYPE_CHECKING:
    from holdwater.scenario.schema import WeatherFile

FORM = "NOAA GHCN-Daily table, a line per day and element (tenths of mm)"
UNIT = "tenths of mm"
STATION, DATE, ELEMENT, VALUE, MEASUREMENT, QUALITY, SOURCE, TIME = range(8)
LICENCE = "NOAA GHCN-Daily; the file states no licence"
_LINE = re.compile(r'"?[A-Z]{2}[A-Z0-9_-]{9}"?,"?\d{8}"?,"?[A-Z]{2}[A-Z0-9]{2}"?,"?\s*-?\d+')
_HEADER = re.compile(r'"?(ID|STATION)"?,"?DATE"?,"?ELEMENT"?,"?(DATA_)?VALUE', re.IGNORECASE)


def recognise(lines: list[str]) -> bool:
    """Whether the first lines are those of a GHCN-Daily table in long form."""
    return bool(lines) and bool(_LINE.match(lines[0]) or _HEADER.match(lines[0]))


def read(text: bytes, name: str, weather: WeatherFile) -> Reading:
    """Read rain and temperatures of one station.

    Raises
    ------
    InputError
        Several stations and none chosen, no rain, cells that are no date or number.
    """
    header = bool(_HEADER.match(text[:200].decode("utf-8", "replace")))
    if weather.station and not header:  # files of a whole year hold all stations of the world
        own = re.findall(
            rb'^"?' + re.escape(weather.station.strip().encode()) + rb'"?,.*$', text, re.MULTILINE
        )
        text = b"\n".join(own) if own else text
    table = Table(text, ",", name, 0, header=header)
    faults = table.width_faults()
    if len(table.columns) < 7:
        faults = [
            f"weather file '{name}' ({FORM}) needs at least 7 columns, the first line has {len(table.columns)}"
        ]
    if faults:
        raise InputError(faults)
    element = table.cells(ELEMENT)
    rain, t_max, t_min, total, period = (element.equal(e) for e in ("PRCP", "TMAX", "TMIN", "MDPR", "DAPR"))
    wanted = rain | t_max | t_min | total | period
    ids = table.cells(STATION)
    names = ids.at(wanted).distinct()
    if not rain.any() and not total.any():
        raise InputError(f"weather file '{name}' ({FORM}) has no line of rain (PRCP)")
    station = choose(names, weather.station, name)
    if len(names) > 1:
        own_rows = ids.equal(station)
        rain, t_max, t_min, total, period = (m & own_rows for m in (rain, t_max, t_min, total, period))
    return _reading(table, weather, station, (rain, t_max, t_min, total, period))


def _reading(
    table: Table, weather: WeatherFile, station: str, masks: tuple[Mask, Mask, Mask, Mask, Mask]
) -> Reading:
    rain, t_max, t_min, total, period = masks
    wanted = np.flatnonzero(rain | t_max | t_min | total | period)
    where = f"weather file '{table.name}'"
    days_of_wanted = read_dates(table.cells(DATE).at(wanted), f"{where}, dates", "ymd").days
    value_of_wanted = read_numbers(table.cells(VALUE).at(wanted), f"{where}, values").values
    days = np.zeros(len(table), dtype="datetime64[D]")
    values = np.full(len(table), np.nan)
    days[wanted], values[wanted] = days_of_wanted, value_of_wanted / 10.0
    told: Mask = total & ~np.isnan(values)
    if not rain.any():  # totals of several days only
        rain = total
    measured = np.where(total, np.nan, values)
    measurement, quality, source = (table.cells(c).letter for c in (MEASUREMENT, QUALITY, SOURCE))
    amounts, codes, notes = flags.judge_rain(
        days[rain], measured[rain], measurement[rain], quality[rain], source[rain], UNIT
    )
    ends: str = "not stated"
    more: list[str] = []
    if len(table.columns) > TIME:
        texts, which = table.cells(TIME).at(rain).coded()
        counts = np.bincount(which, minlength=len(texts)).tolist()
        ends, more = flags.day_end(dict(zip(texts, counts, strict=True)))
    others: dict[str, Floats] = {}
    for key, mask in (("t_min", t_min), ("t_max", t_max)):
        if mask.any():
            others[key] = beside(days[rain], days[mask], flags.temperature(values[mask], quality[mask]))
    told &= ~flags.failed(quality)
    reading = Reading(
        source=table.name,
        form=FORM,
        days=days[rain],
        rain=amounts,
        origin=codes,
        others=others,
        lines=table.lines[rain],
        unit=UNIT,
        temperature_unit="tenths of degC",
        units_as_read="rain in tenths of mm, temperatures in tenths of degC",
        station=station,
        licence=weather.licence or LICENCE,
        day_ends=weather.day_ends or ends,
        notes=(*notes, *more),
    )
    if not told.any():
        return reading
    lengths = np.nan_to_num(beside(days[told], days[period], values[period] * 10.0), nan=0.0)
    return spread(reading, days[told], values[told], lengths.astype(np.int64), "MDPR")
