"""Which reader a file belongs to: recognised by its content, said in words, overruled by `format`."""

from __future__ import annotations

import io
from collections.abc import Callable
from importlib import import_module
from pathlib import Path
from typing import TYPE_CHECKING

from holdwater.errors import InputError
from holdwater.weather.formats.csv_file import read_csv
from holdwater.weather.formats.table import first_lines
from holdwater.weather.formats.textfile import as_text, read_bytes, starts_with
from holdwater.weather.reading import Reading

if TYPE_CHECKING:
    from holdwater.scenario.schema import Place, WeatherFile

MODULES = {
    "ghcn-dly": "ghcn_dly",
    "ghcn-csv": "ghcn_csv",
    "australia": "australia",
    "canada": "canada",
    "noaa-daily": "noaa_daily",
    "noaa-order": "noaa_order",
}
NETCDF_MARKS = (b"\x89HDF\r\n\x1a\n", b"CDF\x01", b"CDF\x02", b"CDF\x05")
_COLUMN_KEYS = (
    "date_column",
    "rain_column",
    "t_min_column",
    "t_max_column",
    "et0_column",
    "decimal",
    "separator",
)
_UNIT_KEYS = ("rain_unit", "temperature_unit")
NO_EFFECT = {
    "ghcn-dly": (*_COLUMN_KEYS, *_UNIT_KEYS, "dates"),
    "ghcn-csv": (*_COLUMN_KEYS, *_UNIT_KEYS, "dates"),
    "australia": (*_COLUMN_KEYS, *_UNIT_KEYS, "dates"),
    "canada": (*_COLUMN_KEYS, *_UNIT_KEYS),
    "noaa-daily": _COLUMN_KEYS,
    "noaa-order": _COLUMN_KEYS,
    "netcdf": ("date_column", "decimal", "separator", "dates", "encoding"),
    "csv": ("station",),
}
"""Keys that cannot take effect on a format; setting one is a fault, not a silence."""


def read_file(path: Path, weather: WeatherFile, place: Place | None = None) -> tuple[str, Reading]:
    """Read a weather file with the reader it belongs to.

    Parameters
    ----------
    path : Path
        The file.
    weather : WeatherFile
        The scenario's keys.
    place : Place or None
        Where the holding stands; a grid needs it.

    Returns
    -------
    format : str
        Name of the format, as `format` in the scenario takes it.
    reading : Reading
        Rows as read.

    Raises
    ------
    InputError
        The file cannot be read, or keys are set that have no effect on its format.
    """
    if weather.format in (None, "netcdf") and starts_with(path, NETCDF_MARKS):
        return "netcdf", _read_grid(path, path, weather, place)  # however large, only one spot of it is read
    raw = read_bytes(path)
    if weather.format == "netcdf" or (weather.format is None and raw.startswith(NETCDF_MARKS)):
        return "netcdf", _read_grid(path, io.BytesIO(raw), weather, place)
    if raw.startswith(NETCDF_MARKS):
        raise InputError(f"weather file '{path.name}' is netCDF, not format = \"{weather.format}\"")
    text, note = _text(raw, path.name, weather)
    name = weather.format or recognise(text)
    _refuse_idle_keys(name, path.name, weather)
    if name == "csv":
        reading = read_csv(text, path.name, weather)
    else:
        read: Callable[[bytes, str, WeatherFile], Reading] = _module(name).read
        reading = read(text, path.name, weather)
    return name, reading.noting(note) if note else reading


def _read_grid(path: Path, content: Path | io.BytesIO, weather: WeatherFile, place: Place | None) -> Reading:
    _refuse_idle_keys("netcdf", path.name, weather)
    from holdwater.weather.formats import grid

    return grid.read(path.name, content, weather, place)


def recognise(text: bytes) -> str:
    """Name of the format of a text, by its first lines; a plain table where nothing else fits."""
    lines = first_lines(text, 70)
    while lines and not lines[0].strip():
        lines = lines[1:]
    for name in MODULES:
        if _module(name).recognise(lines):
            return name
    return "csv"


def _module(name: str) -> _Reader:
    return import_module(f"holdwater.weather.formats.{MODULES[name]}")


def _text(raw: bytes, name: str, weather: WeatherFile) -> tuple[bytes, str | None]:
    """Checked text; older Canadian tables, and only they, may be in Latin-1 without saying so."""
    if weather.encoding is None and not raw.isascii():
        try:
            raw.decode("utf-8")
        except UnicodeDecodeError:
            lines = first_lines(raw[:20_000], 70)
            if weather.format == "canada" or (weather.format is None and _module("canada").recognise(lines)):
                return as_text(
                    raw, name, "latin-1"
                ), "the text was read as Latin-1, as older files of this kind are"
    return as_text(raw, name, weather.encoding), None


def _refuse_idle_keys(name: str, file: str, weather: WeatherFile) -> None:
    set_keys = [key for key in NO_EFFECT[name] if getattr(weather, key) is not None]
    faults = [
        f"weather file '{file}' is read as format = \"{name}\", on which {key} has no effect; leave it out"
        + ("" if name == "csv" else ', or say format = "csv" to read it as a plain table')
        for key in set_keys
    ]
    if name != "csv":
        if weather.absent_days == "dry":
            faults.append(
                f"weather file '{file}': absent_days = \"dry\" is for logs that list rainy days only; in "
                f'format "{name}" a day that is absent is missing'
            )
        if weather.readings == "cumulative":
            faults.append(
                f"weather file '{file}': format \"{name}\" holds no cumulative readings; leave readings out"
            )
        if weather.missing_marks:
            faults.append(
                f"weather file '{file}': missing_marks has no effect on format \"{name}\"; leave it out"
            )
    if faults:
        raise InputError(faults)


if TYPE_CHECKING:
    from typing import Protocol

    class _Reader(Protocol):
        """What every reader module offers."""

        def recognise(self, lines: list[str]) -> bool: ...
        def read(self, text: bytes, name: str, weather: WeatherFile) -> Reading: ...
