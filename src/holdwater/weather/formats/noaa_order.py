"""The reader of NOAA order tables: "standard" is inches and degF, "metric" is mm and degC.

Both have the same header. The unit is the scenario's, or is decided by the values where they
leave no doubt: inches are written in hundredths, mm in tenths. The decision is told.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from holdwater.errors import InputError
from holdwater.weather.formats import noaa_columns
from holdwater.weather.formats.cells import Floats
from holdwater.weather.formats.headers import WORDS
from holdwater.weather.reading import Reading

if TYPE_CHECKING:
    from holdwater.scenario.schema import WeatherFile

FORM = "NOAA order table"
ENOUGH_WET = 20
"""Values above zero that decide the unit."""
DEGREES = {"in": "degF", "mm": "degC", "tenths of mm": "tenths of degC"}


def recognise(lines: list[str]) -> bool:
    """Whether the header is that of an order."""
    names = noaa_columns.header(lines[0]) if lines else []
    return "STATION" in names[:1] and "DATE" in names and "PRCP" in names


def read(text: bytes, name: str, weather: WeatherFile) -> Reading:
    """Read rain and temperatures of one station.

    Raises
    ------
    InputError
        As `noaa_columns.columns`; and a unit that neither the scenario nor the values tell.
    """
    read = noaa_columns.columns(text, name, FORM, weather.station, weather.dates)
    unit: str | None = weather.rain_unit
    note = None
    if unit is None:
        found = unit_by_values(read.values["PRCP"])
        if found is None:
            raise InputError(
                f"weather file '{name}' is a {FORM}; its header does not tell inches from mm, nor do its values; "
                'say rain_unit = "in" (standard), "mm" (metric) or "tenths of mm"'
            )
        unit, why = found
        words = WORDS.get(unit, unit)
        note = f"read in {words} and {DEGREES[unit]}, as {why}; rain_unit in the scenario overrules this"
    degrees = weather.temperature_unit or DEGREES[unit]
    kind = {"in": "standard: inches and degF", "mm": "metric: mm and degC"}.get(unit, unit)
    reading = noaa_columns.reading(read, f"{FORM} ({kind})", unit, degrees, weather.day_ends, weather.licence)
    return reading.noting(note) if note else reading


def unit_by_values(rain: Floats) -> tuple[str, str] | None:
    """Tell inches from mm by the decimals of the values, or None where that leaves a doubt."""
    wet = rain[rain > 0]
    if len(wet) < ENOUGH_WET:
        return None
    tenths = np.abs(wet * 10 - np.round(wet * 10)) < 1e-6
    whole = tenths & (wet == np.round(wet))
    if (~tenths).mean() > 0.5:
        return "in", f"{int((~tenths).sum())} of {len(wet)} values above zero are written in hundredths"
    if tenths.all() and (~whole).mean() > 0.5:
        return (
            "mm",
            f"{int((~whole).sum())} of {len(wet)} values above zero are written in tenths, none finer",
        )
    return None
