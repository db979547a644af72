"""Writing a record as a tidy CSV or a CF netCDF, whole or not at all."""

from __future__ import annotations

import os
import tempfile
from collections.abc import Callable
from pathlib import Path
from typing import TYPE_CHECKING

import numpy as np

from holdwater.errors import InputError
from holdwater.weather.formats.csv_file import MARK, TOLD
from holdwater.weather.record import Origin, Record

if TYPE_CHECKING:
    from holdwater.scenario.schema import Place, WeatherFile
    from holdwater.weather.inspection import Inspection

COLUMNS = {"rain": "rain_mm", "t_min": "t_min_c", "t_max": "t_max_c", "et0": "et0_mm"}
PLACES = {"rain": 4, "t_min": 2, "t_max": 2, "et0": 4}
"""Decimal places in the tidy CSV."""
TOLD_TOO = ("source", *TOLD)


def convert(
    path: Path | str, to: Path | str, weather: WeatherFile | None = None, place: Place | None = None
) -> Path:
    """Read any weather file and write it as tidy CSV or CF netCDF, by the ending of `to`.

    Gaps stay open and every day keeps its origin.

    Parameters
    ----------
    path, to : Path or str
        The file to read; the file to write, ending in .csv, .csv.gz or .nc.
    weather : WeatherFile or None
        Keys that read the file.
    place : Place or None
        Where the holding stands; a grid needs it.

    Raises
    ------
    InputError
        The file cannot be read, rows of it cannot be used, an ending that is not known, or a place that
        cannot be written.
    """
    return write(readable(path, weather, place).record, Path(to))


def readable(path: Path | str, weather: WeatherFile | None = None, place: Place | None = None) -> Inspection:
    """Inspect a file that is to be written anew; the arguments are those of `convert`.

    Raises
    ------
    InputError
        The file cannot be read, or rows of it cannot be used: a value would be lost or chosen unasked.
    """
    from holdwater.weather.inspection import ROWS, inspect

    found = inspect(path, weather, place)
    faults = [f"{f.what}; {f.cure}" for f in found.findings if f.name == ROWS]
    if faults:
        raise InputError(faults)
    return found


def write(record: Record, to: Path) -> Path:
    """Write a record by the ending of the file name."""
    name = to.name.lower()
    if name.endswith((".csv", ".csv.gz")):
        text = to_csv(record)
        packed = name.endswith(".gz")
        _whole_or_not(to, lambda temporary: temporary.write_bytes(_pack(text) if packed else text))
    elif name.endswith(".nc"):
        _whole_or_not(to, lambda temporary: _write_netcdf(record, temporary))
    else:
        raise InputError(f"'{to.name}': the ending tells the form; write to a .csv, .csv.gz or .nc file")
    return to


def to_csv(record: Record) -> bytes:
    """The tidy CSV: comments with the provenance, a header with units, a line per day.

    Rain and evapotranspiration are rounded to 0.0001 mm and temperatures to 0.01 degC, far below what is
    measured: a thousandth of an inch comes back as it was.
    """
    told = record.provenance
    lines = [MARK]
    lines += [f"# {key}: {_one_line(getattr(told, key))}" for key in TOLD_TOO if getattr(told, key)]
    lines += [f"# note: {_one_line(note)}" for note in told.notes]
    columns = [("date", np.datetime_as_string(record.days, unit="D").tolist())]
    for name, header in COLUMNS.items():
        values = record.column(name)
        if values is not None:
            columns.append((header, ["" if v != v else repr(v) for v in values.round(PLACES[name]).tolist()]))
    names = {int(o): o.name.lower() for o in Origin}
    columns.append(("origin", [names[code] for code in record.data["origin"].values.tolist()]))
    lines.append(",".join(header for header, _ in columns))
    lines += [",".join(row) for row in zip(*(cells for _, cells in columns), strict=True)]
    return ("\n".join(lines) + "\n").encode()


def _one_line(text: str) -> str:
    return " ".join(str(text).split())


def _pack(text: bytes) -> bytes:
    import gzip

    return gzip.compress(text, mtime=0)


def _write_netcdf(record: Record, path: Path) -> None:
    told = record.provenance
    data = record.data.assign_attrs(
        {
            **record.data.attrs,
            "title": "daily weather record",
            **{key: _one_line(getattr(told, key)) for key in TOLD_TOO if getattr(told, key)},
            "comment": " | ".join(told.notes),
        }
    )
    encoding: dict[str, dict[str, object]] = {
        "time": {"units": "days since 1900-01-01", "calendar": "standard", "dtype": "int32"}
    }
    for name in data.data_vars:
        floating = data[name].dtype.kind == "f"
        encoding[str(name)] = {"zlib": True, "_FillValue": np.nan if floating else None}
    data.to_netcdf(path, engine="h5netcdf", encoding=encoding)


def _whole_or_not(to: Path, write_into: Callable[[Path], object]) -> None:
    """Write into a temporary file beside the target and put it in its place in one step."""
    temporary: Path | None = None
    try:
        handle, name = tempfile.mkstemp(dir=to.parent, prefix=f".{to.name}.", suffix=".part")
        os.close(handle)
        temporary = Path(name)
        write_into(temporary)
        umask = os.umask(0)
        os.umask(umask)
        temporary.chmod(0o666 & ~umask)
        temporary.replace(to)
    except OSError as fault:
        reason = fault.strerror or str(fault)
        raise InputError(f"'{to}' cannot be written: {reason}; nothing was changed") from None
    finally:
        if temporary is not None:
            temporary.unlink(missing_ok=True)
