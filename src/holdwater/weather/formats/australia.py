"""The reader of Australian daily rainfall tables: mm to 9 am, with the period of each reading.

A blank amount is missing; a blank period is normal on dry days; a period above one day is a total
for those days. Station numbers keep their leading zeros.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from holdwater.errors import InputError
from holdwater.weather.formats.cells import read_numbers
from holdwater.weather.formats.dates import civil_days
from holdwater.weather.formats.multiday import spread
from holdwater.weather.formats.picking import choose
from holdwater.weather.formats.table import Table, name_lines
from holdwater.weather.reading import Reading, origins

if TYPE_CHECKING:
    from holdwater.scenario.schema import WeatherFile

FORM = "Australian daily rainfall table (mm, day ends 9 am)"
NAMES = {
    "station": "station number",
    "year": "year",
    "month": "month",
    "day": "day",
    "rain": "rainfall amount (millimetres)",
    "period": "period over which rainfall was measured (days)",
    "quality": "quality",
}


def recognise(lines: list[str]) -> bool:
    """Whether the header is that of an Australian rainfall file."""
    header = lines[0].lower() if lines else ""
    return header.startswith(("product code", '"product code')) and NAMES["rain"] in header


def read(text: bytes, name: str, weather: WeatherFile) -> Reading:
    """Read rain; totals over several days are spread and marked.

    Raises
    ------
    InputError
        Columns that are not there, several stations, rows that make no day.
    """
    table = Table(text, ",", name)
    lower = [column.lower() for column in table.columns]
    at = {key: next((i for i, c in enumerate(lower) if c.endswith(end)), None) for key, end in NAMES.items()}
    faults = table.width_faults()
    lost = [NAMES[key] for key in ("year", "month", "day", "rain") if at[key] is None]
    if lost:
        faults.append(f"weather file '{name}' ({FORM}) has no column {', '.join(repr(c) for c in lost)}")
    elif not len(table):
        faults.append(f"weather file '{name}' holds a header line and no data")
    if faults:
        raise InputError(faults)
    where = f"weather file '{name}', column"

    def numbers(key: str) -> np.ndarray[tuple[int, ...], np.dtype[np.float64]]:
        position = at[key]
        if position is None:
            return np.full(len(table), np.nan)
        return read_numbers(table.cells(position), f"{where} '{table.columns[position]}'", decimal=".").values

    parts = [
        np.nan_to_num(numbers(key), nan=-1.0).clip(-1, 99999).astype(np.int64)
        for key in ("year", "month", "day")
    ]
    days, wrong = civil_days(parts[0], parts[1], parts[2])
    if wrong.any():
        raise InputError(f"weather file '{name}': {name_lines(table.lines[wrong])} make no day")
    rain, period = numbers("rain"), np.nan_to_num(numbers("period"), nan=1.0).clip(0, 9999)
    station = ""
    if at["station"] is not None:
        ids = table.cells(at["station"])
        station = choose(ids.distinct(), weather.station, name)
        own = ids.equal(station)
        days, rain, period = days[own], rain[own], period[own]
    total = (period > 1) & ~np.isnan(rain)
    reading = Reading(
        source=name,
        form=FORM,
        days=days,
        rain=np.where(total, np.nan, rain),
        origin=origins(np.isnan(rain) | total),
        lines=None,
        units_as_read="rain in mm",
        station=station,
        licence=weather.licence or "",
        day_ends=weather.day_ends or "09:00 (rain of the 24 hours to 9 am counts for the day of reading)",
        notes=_quality(table, at["quality"]),
    )
    if not total.any():
        return reading
    return spread(reading, days[total], rain[total], period[total].astype(np.int64), "period above one day")


def _quality(table: Table, at: int | None) -> tuple[str, ...]:
    if at is None:
        return ()
    unchecked = int(table.cells(at).equal("N").sum())
    return (f"readings the source has not yet checked (quality N): {unchecked}",) if unchecked else ()
