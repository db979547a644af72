"""The reader of GHCN-Daily station files (.dly), fixed width, a line per element and month.

Columns (1-based): station 1-11, year 12-15, month 16-17, element 18-21, then 31 times value (5),
measurement, quality and source flag (1 each). Rain in tenths of mm, temperatures in tenths of
degC, -9999 missing. Source: National Centers for Environmental Information, readme of GHCN-Daily.
"""

from __future__ import annotations

import re
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np
import numpy.typing as npt

from holdwater.errors import InputError
from holdwater.weather.formats import flags
from holdwater.weather.formats.cells import Floats
from holdwater.weather.formats.dates import civil_days
from holdwater.weather.formats.multiday import spread
from holdwater.weather.formats.picking import beside, choose
from holdwater.weather.formats.table import name_lines
from holdwater.weather.reading import Days, Reading

if TYPE_CHECKING:
    from holdwater.scenario.schema import WeatherFile

FORM = "NOAA GHCN-Daily station file (.dly)"
RAIN, T_MAX, T_MIN, TOTAL, PERIOD = b"PRCP", b"TMAX", b"TMIN", b"MDPR", b"DAPR"
UNIT = "tenths of mm"
WIDTH = 269
LICENCE = "NOAA GHCN-Daily; the file states no licence"
_LINE = re.compile(r"[A-Z]{2}[A-Z0-9_-]{9}\d{4}(0[1-9]|1[0-2])[A-Z]{2}[A-Z0-9]{2}[ 0-9-]{5}")


@dataclass(frozen=True)
class _Values:
    """Values of one element, one per day that was measured."""

    days: Days
    values: Floats
    measurement: flags.Letters
    quality: flags.Letters
    source: flags.Letters


def recognise(lines: list[str]) -> bool:
    """Whether the first lines are those of a .dly file."""
    return bool(lines) and bool(_LINE.match(lines[0])) and "," not in lines[0][:40]


def read(text: bytes, name: str, weather: WeatherFile) -> Reading:
    """Read rain and temperatures of one station.

    Raises
    ------
    InputError
        Several stations and none chosen, no rain, characters that are no value.
    """
    rows, lines = _rows(text)
    elements = rows[:, 17:21].tobytes()
    element = np.frombuffer(elements, dtype="S4")
    wanted = np.isin(element, [RAIN, T_MAX, T_MIN, TOTAL, PERIOD])
    rows, lines, element = rows[wanted], lines[wanted], element[wanted]
    ids = np.frombuffer(rows[:, :11].tobytes(), dtype="S11")
    if not len(rows):
        raise InputError(f"weather file '{name}' ({FORM}) has no line of rain (PRCP)")
    station = choose({i.decode("ascii", "replace") for i in np.unique(ids)}, weather.station, name)
    own = ids == station.encode()
    rows, lines, element = rows[own], lines[own], element[own]
    found = {e: _element(rows[element == e], lines[element == e], name) for e in np.unique(element)}
    nothing = _element(rows[:0], lines[:0], name)
    rain = found.get(RAIN, nothing)
    totals, periods = found.get(TOTAL, nothing), found.get(PERIOD, nothing)
    if not len(rain.days) and not len(totals.days):
        raise InputError(f"weather file '{name}' ({FORM}) has no line of rain (PRCP) for {station}")
    if not len(rain.days):  # totals of several days only
        rain = replace(totals, values=np.full(len(totals.days), np.nan))
    amounts, codes, notes = flags.judge_rain(
        rain.days, rain.values / 10.0, rain.measurement, rain.quality, rain.source, UNIT
    )
    others = {}
    for key, element_name in (("t_min", T_MIN), ("t_max", T_MAX)):
        if element_name in found:
            it = found[element_name]
            others[key] = beside(rain.days, it.days, flags.temperature(it.values / 10.0, it.quality))
    reading = Reading(
        source=name,
        form=FORM,
        days=rain.days,
        rain=amounts,
        origin=codes,
        others=others,
        unit=UNIT,
        temperature_unit="tenths of degC",
        units_as_read="rain in tenths of mm, temperatures in tenths of degC",
        station=station,
        licence=weather.licence or LICENCE,
        day_ends=weather.day_ends or "not stated (.dly files do not tell the hour)",
        notes=tuple(notes),
    )
    return _with_totals(reading, totals, periods)


def _rows(text: bytes) -> tuple[npt.NDArray[np.uint8], npt.NDArray[np.int64]]:
    """The lines as a matrix of bytes, padded with blanks to the full width."""
    padded = np.frombuffer(text + b"\n" + b" " * WIDTH, dtype=np.uint8)
    ends = np.flatnonzero(padded == 10)
    starts = np.concatenate([[0], ends[:-1] + 1])
    lines = np.flatnonzero(ends - starts >= 21)
    rows = np.lib.stride_tricks.sliding_window_view(padded, WIDTH)[starts[lines]].copy()
    length = ends[lines] - starts[lines]
    short = np.flatnonzero(length < WIDTH)
    if len(short):
        rows[short] = np.where(np.arange(WIDTH) < length[short, None], rows[short], 32)
    return rows, lines + 1


def _element(rows: npt.NDArray[np.uint8], lines: npt.NDArray[np.int64], name: str) -> _Values:
    """Days, values and flags of one element; days that do not exist or are missing are left out."""
    year, bad_year = _integers(rows[:, 11:15])
    month, bad_month = _integers(rows[:, 15:17])
    cells = rows[:, 21:].reshape(-1, 31, 8)
    values, strange = _integers(cells[:, :, :5])
    wrong = bad_year | bad_month | (strange & ~(cells[:, :, :5] == 32).all(axis=2)).any(axis=1)
    day = np.arange(1, 32)
    days, outside = civil_days(*np.broadcast_arrays(year[:, None], month[:, None], day))
    wrong |= outside[:, 0]
    if wrong.any():
        raise InputError(
            f"weather file '{name}': {name_lines(lines[wrong])} of a {FORM} cannot be read; each needs year, "
            "month and 31 values of 5 characters with 3 flags"
        )
    there = ~outside
    missing = (values == -9999) | strange
    return _Values(
        days[there],
        np.where(missing, np.nan, values)[there],
        cells[:, :, 5][there],
        cells[:, :, 6][there],
        cells[:, :, 7][there],
    )


def _integers(chars: npt.NDArray[np.uint8]) -> tuple[npt.NDArray[np.int64], npt.NDArray[np.bool_]]:
    """Whole numbers, right-justified in the last axis, and a mask of what is none."""
    value = np.zeros(chars.shape[:-1], dtype=np.int64)
    negative = np.zeros(value.shape, dtype=bool)
    begun = np.zeros(value.shape, dtype=bool)
    digits = np.zeros(value.shape, dtype=bool)
    strange = np.zeros(value.shape, dtype=bool)
    for j in range(chars.shape[-1]):
        char = chars[..., j]
        digit = (char >= 48) & (char <= 57)
        minus = (char == 45) & ~begun
        strange |= ~digit & ~minus & ((char != 32) | begun)
        value = np.where(digit, value * 10 + (char.astype(np.int64) - 48), value)
        negative |= minus
        begun |= digit | minus
        digits |= digit
    return np.where(negative, -value, value), strange | ~digits


def _with_totals(reading: Reading, totals: _Values, periods: _Values) -> Reading:
    """Spread the multi-day totals (MDPR) over the days they stand for (DAPR)."""
    told = ~np.isnan(totals.values) & ~flags.failed(totals.quality)
    if not told.any():
        return reading
    ends, amounts = totals.days[told], totals.values[told] / 10.0
    lengths = np.nan_to_num(beside(ends, periods.days, periods.values), nan=0.0).astype(np.int64)
    return spread(reading, ends, amounts, lengths, "MDPR")
