"""Small invented weather files, written into a temporary folder and read through the user's door."""

from __future__ import annotations

import datetime as dt
from pathlib import Path
from typing import Any

import pytest

from holdwater.scenario.schema import Weather
from holdwater.weather import Record, read_weather
from tests.weather.files import Reader


@pytest.fixture
def read(tmp_path: Path) -> Reader:
    """Write a text (or bytes) as a weather file and read it with the keys given."""

    def _read(
        content: str | bytes,
        name: str = "gauge.csv",
        first: dt.date | None = None,
        last: dt.date | None = None,
        **keys: Any,
    ) -> Record:
        raw = content.encode() if isinstance(content, str) else content
        (tmp_path / name).write_bytes(raw)
        return read_weather(Weather(file=name, **keys), tmp_path, first=first, last=last)

    return _read
