"""Helpers that make small invented weather files."""

from __future__ import annotations

import datetime as dt
import random
from collections.abc import Callable, Iterable
from typing import Any

import numpy as np
import numpy.typing as npt

from holdwater.weather import Record

Reader = Callable[..., Any]
"""Writes a text as a weather file and reads it with the keys given; returns a `Record`."""


def rain_of(record: Record) -> npt.NDArray[np.float64]:
    """The record's rain, which is always there."""
    rain = record.column("rain")
    assert rain is not None
    return rain


def days_from(first: str, count: int) -> list[dt.date]:
    start = dt.date.fromisoformat(first)
    return [start + dt.timedelta(days=i) for i in range(count)]


def table(header: str, rows: Iterable[object]) -> str:
    """A header and rows of (date, value, ...) as CSV text."""
    lines = [",".join(str(cell) for cell in row) if isinstance(row, tuple) else str(row) for row in rows]
    return "\n".join([header, *lines]) + "\n"


def plausible_rain(count: int, seed: int = 1) -> list[float]:
    """Invented daily rain in mm: every third day wet, tenths of a millimetre, no two long alike."""
    chance = random.Random(seed)
    return [round(chance.gammavariate(0.8, 8.0), 1) if chance.random() < 0.33 else 0.0 for _ in range(count)]


def dly_line(station: str, year: int, month: int, element: str, cells: dict[int, str]) -> str:
    """One line of a .dly file; a cell is value, measurement, quality and source flag ("  254T  X")."""
    body = "".join(cells.get(day, "-9999   ") for day in range(1, 32))
    return f"{station:11s}{year:04d}{month:02d}{element}{body}\n"


def cell(value: int, measurement: str = " ", quality: str = " ", source: str = "X") -> str:
    """One cell of a .dly file."""
    return f"{value:5d}{measurement}{quality}{source}"
