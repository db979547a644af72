"""The reader of NOAA daily-summaries tables as they lie on the service's file store.

Known by the order STATION, DATE, LATITUDE, ... of the columns. Rain in tenths of mm, temperatures
in tenths of degC, whole numbers padded with blanks. Source: National Centers for Environmental
Information, documentation of the daily summaries.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from holdwater.errors import InputError
from holdwater.weather.formats import noaa_columns
from holdwater.weather.formats.table import name_lines
from holdwater.weather.reading import Reading

if TYPE_CHECKING:
    from holdwater.scenario.schema import WeatherFile

FORM = "NOAA daily-summaries table (tenths of mm)"


def recognise(lines: list[str]) -> bool:
    """Whether the header is that of a daily-summaries file."""
    names = noaa_columns.header(lines[0]) if lines else []
    return names[:3] == ["STATION", "DATE", "LATITUDE"]


def read(text: bytes, name: str, weather: WeatherFile) -> Reading:
    """Read rain and temperatures of one station.

    Raises
    ------
    InputError
        As `noaa_columns.columns`; and values that are no whole numbers, which tenths always are.
    """
    read = noaa_columns.columns(text, name, FORM, weather.station, weather.dates)
    rain = read.values["PRCP"]
    broken = ~np.isnan(rain) & (rain != np.round(rain))
    if broken.any() and weather.rain_unit is None:
        lines = read.table.lines[read.own][broken]
        raise InputError(
            f"weather file '{name}' looks like a {FORM}, but {name_lines(lines, 3)} have decimals; say "
            'rain_unit = "mm", "in" or "tenths of mm", and temperature_unit'
        )
    unit = weather.rain_unit or "tenths of mm"
    degrees = weather.temperature_unit or {"in": "degF", "mm": "degC"}.get(unit, "tenths of degC")
    return noaa_columns.reading(read, FORM, unit, degrees, weather.day_ends, weather.licence)
