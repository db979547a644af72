"""Where the weather of a region lies: the cells of a CF netCDF grid, or a folder of station files."""

from __future__ import annotations

import csv
import datetime as dt
import json
from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path

import numpy as np
import xarray as xr

from holdwater.errors import InputError
from holdwater.scenario.schema import Place, Weather
from holdwater.weather.formats import grid
from holdwater.weather.formats.grid_spot import _coordinate
from holdwater.weather.formats.recognise import read_file
from holdwater.weather.reading import Reading
from holdwater.weather.sources import FAULTY_YEAR

STATION = "station"
PLACES = "places.csv"
ENDINGS = (".csv", ".csv.gz", ".dly", ".dly.gz")
COLUMNS = ("file", "latitude", "longitude", "elevation_m")


@dataclass(frozen=True)
class Cells:
    """Reads the cells of a grid; small enough to be sent to a worker.

    Attributes
    ----------
    source : str
        Name of the file, for messages.
    space : tuple of str
        Dimensions that run over the places.
    latitude, longitude : str
        Variables with the middles of the cells.
    """

    source: str
    space: tuple[str, ...]
    latitude: str
    longitude: str

    def place(self, cell: xr.Dataset) -> Place | None:
        """Middle of a cell, None where the file does not know it."""
        north, east = (float(cell[name].values.ravel()[0]) for name in (self.latitude, self.longitude))
        if not (np.isfinite(north) and np.isfinite(east)):
            return None
        return Place(latitude=north, longitude=(east + 180.0) % 360.0 - 180.0)

    def read(self, cell: xr.Dataset, weather: Weather) -> Reading:
        """Read the weather of a cell, as a single run at its middle does.

        Raises
        ------
        InputError
            Its place is not known, or its values cannot be read.
        """
        place = self.place(cell)
        if place is None:
            raise InputError(f"weather file '{self.source}': the cell has no latitude and longitude")
        return grid._read(cell, self.source, weather, place)


@dataclass(frozen=True)
class Stations:
    """Reads the files of a folder, one station each; small enough to be sent to a worker.

    Attributes
    ----------
    folder : Path
        Where the files are.
    places : dict of str to Place
        Where the stations are, by file, as far as `places.csv` says.
    """

    folder: Path
    places: Mapping[str, Place]
    space: tuple[str, ...] = (STATION,)

    def place(self, cell: xr.Dataset) -> Place | None:
        """Where a station is, if `places.csv` says."""
        return self.places.get(str(cell["file"].values.ravel()[0]))

    def read(self, cell: xr.Dataset, weather: Weather) -> Reading:
        """Read the file of a station.

        Raises
        ------
        InputError
            It cannot be read.
        """
        path = self.folder / str(cell["file"].values.ravel()[0])
        return read_file(path, weather.model_copy(update={"file": path.name}), self.place(cell))[1]


Reader = Cells | Stations


@dataclass(frozen=True)
class RegionWeather:
    """The weather of a region, opened but not read.

    Attributes
    ----------
    path : Path
        The grid, or the folder of stations.
    data : xarray.Dataset
        A grid as the file has it, values not read yet; the file names of stations.
    reader : Cells or Stations
        Reads one place of it.
    first, last : date or None
        Days of the grid; None for stations, which have days of their own.
    columns : tuple of str
        What is known beside rain: "t_min", "t_max", "et0"; of stations it is not known beforehand.
    weight : int
        What one place takes in memory [bytes].
    identity : str
        Changes when the weather does.
    """

    path: Path
    data: xr.Dataset
    reader: Reader
    first: dt.date | None
    last: dt.date | None
    columns: tuple[str, ...]
    weight: int
    identity: str

    @property
    def sizes(self) -> dict[str, int]:
        """How many places there are, by dimension."""
        return {d: self.data.sizes[d] for d in self.reader.space}

    @property
    def coordinates(self) -> dict[str, xr.DataArray]:
        """Coordinates of the places, by name."""
        names = {*self.reader.space}
        if isinstance(self.reader, Cells):
            names |= {self.reader.latitude, self.reader.longitude}
        return {n: self.data[n].reset_coords(drop=True) for n in sorted(names) if n in self.data.variables}


def open_weather(path: Path, weather: Weather) -> RegionWeather:
    """Open a grid or a folder of stations.

    Parameters
    ----------
    path : Path
        CF netCDF file, or a folder with one daily record per file.
    weather : Weather
        Keys that read the files; see `weather_keys`.

    Raises
    ------
    InputError
        No such file, no rain, no units, no coordinates, no daily steps, no station.
    """
    if path.is_dir():
        return _open_folder(path)
    if not path.exists():
        raise InputError(f"{path} was not found; name a CF netCDF grid, or a folder of daily station files")
    where = f"weather file '{path.name}'"
    try:
        data = xr.open_dataset(path.absolute(), decode_times=False, mask_and_scale=True, cache=False)
    except Exception as fault:  # the libraries below raise whatever they like on a damaged file
        raise InputError(f"{where} cannot be opened as netCDF: {grid._short(fault)}") from None
    try:
        return _open_grid(path, data, weather, where)
    except BaseException:
        data.close()
        raise


def _open_grid(path: Path, data: xr.Dataset, weather: Weather, where: str) -> RegionWeather:
    rain = grid._rain_variable(data, where, weather.rain_column)
    grid._rain_factor(rain, where, weather.rain_unit)
    time = grid._time_dimension(data, rain, where)
    days = grid._days(data, time, where)
    north, east = _coordinate(data, rain, "latitude"), _coordinate(data, rain, "longitude")
    if north is None or east is None:
        raise InputError(f"{where} has no latitude and longitude for the cells of '{rain.name}'")
    space = tuple(str(d) for d in rain.dims if d in {*north.dims, *east.dims})
    odd = [str(d) for d in rain.dims if d not in (*space, time) and rain.sizes[d] > 1]
    if odd:
        raise InputError(
            f"{where}: '{rain.name}' also runs over {', '.join(odd)}; pick one in the file beforehand"
        )
    if not space:
        raise InputError(f"{where} holds a single place; run the scenario on it: holdwater run")
    if not (np.nanmax(np.abs(north.values)) <= 90.0 and np.nanmax(np.abs(east.values)) <= 360.0):
        raise InputError(
            f"{where}: latitude and longitude must be in degrees; found '{north.attrs.get('units')}'"
        )
    others = {key: name for key, name in grid._t(data).items() if data[name].dims == rain.dims}
    others |= {name: name for name in ("et0", "origin") if name in data and data[name].dims == rain.dims}
    bounds = data[time].attrs.get("bounds")
    names = {str(rain.name), *map(str, others.values()), str(north.name), str(east.name)}
    names |= {str(bounds)} & {str(name) for name in data.variables}
    part = data[sorted(names)]
    part.set_close(data.close)
    status = path.stat()
    return RegionWeather(
        path=path.absolute(),
        data=part,
        reader=Cells(path.name, space, str(north.name), str(east.name)),
        first=days.min().item(),
        last=days.max().item(),
        columns=tuple(key for key in others if key != "origin"),
        weight=sum(data[name].dtype.itemsize for name in (rain.name, *others.values())) * len(days),
        identity=json.dumps([path.name, status.st_size, status.st_mtime_ns]),
    )


def _open_folder(folder: Path) -> RegionWeather:
    try:
        files = sorted(p for p in folder.iterdir() if p.name.endswith(ENDINGS) and p.name != PLACES)
        status = [[p.name, p.stat().st_size, p.stat().st_mtime_ns] for p in files]
    except OSError as fault:
        raise InputError(f"{folder} cannot be read: {fault.strerror or fault}") from None
    if not files:
        raise InputError(f"{folder} holds no station file; there should be one daily record per file, in CSV")
    names = [p.name for p in files]
    places = read_places(folder / PLACES, names) if (folder / PLACES).exists() else {}
    labels = [_plain(name) for name in names]
    if len(set(labels)) < len(labels):
        labels = names
    where = {name: [p.latitude, p.longitude, p.elevation] for name, p in places.items()}
    return RegionWeather(
        path=folder.absolute(),
        data=xr.Dataset({"file": (STATION, np.array(names))}, coords={STATION: np.array(labels)}),
        reader=Stations(folder.absolute(), places),
        first=None,
        last=None,
        columns=("t_min", "t_max", "et0"),
        weight=0,
        identity=json.dumps([status, where]),
    )


def _plain(name: str) -> str:
    """A file name without its ending."""
    return next(name.removesuffix(end) for end in (".gz", *ENDINGS) if name.endswith(end)).split(".csv")[0]


def read_places(path: Path, names: list[str]) -> dict[str, Place]:
    """Read where stations are: a table with the columns file, latitude, longitude and, if known, elevation_m.

    Raises
    ------
    InputError
        With every fault of the table.
    """
    faults: list[str] = []
    places: dict[str, Place] = {}
    try:
        with path.open(encoding="utf-8-sig", newline="") as file:
            rows = list(csv.DictReader(file))
            header = rows[0].keys() if rows else set()
    except (OSError, UnicodeError, csv.Error) as fault:
        raise InputError(f"'{path.name}' cannot be read: {fault}") from None
    lacking = [name for name in COLUMNS[:3] if name not in header]
    if lacking:
        raise InputError(
            f"'{path.name}' lacks the column {', '.join(lacking)}; its header is {','.join(COLUMNS)}"
        )
    for line, row in enumerate(rows, start=2):
        name = (row["file"] or "").strip()
        if name not in names:
            faults.append(f"'{path.name}', line {line}: there is no file '{name}' in the folder")
            continue
        try:
            north, east = float(row["latitude"]), float(row["longitude"])
            height = float(row.get("elevation_m") or "nan")
            place = Place(latitude=north, longitude=east)
        except (TypeError, ValueError):
            faults.append(
                f"'{path.name}', line {line}: latitude -90 to 90 and longitude -180 to 180, in degrees"
            )
            continue
        places[name] = place.model_copy(update={"elevation": height}) if np.isfinite(height) else place
    if faults:
        raise InputError(faults)
    return places


def weather_keys(weather: Weather, holding: Path, path: Path) -> Weather:
    """The keys of a scenario's [weather] that hold for a region.

    What to do with missing days, and changes of the weather made on purpose, hold everywhere. How columns and
    units are read belongs to the one file the scenario names: it holds only if that is the grid itself, or a
    file of the folder of stations. The diary of the holding's own gauge belongs to no other place.

    Parameters
    ----------
    weather : Weather
        Of the scenario.
    holding : Path
        Folder of the scenario file.
    path : Path
        The grid or the folder.
    """
    own = (holding / weather.file).resolve() if weather.file else None
    accept = [name for name in weather.accept if name != FAULTY_YEAR]
    if own is not None and path.resolve() in (own, own.parent):
        return weather.model_copy(update={"file": path.name, "accept": accept, "diary": None})
    policy = {
        "missing_days": weather.missing_days,
        "neighbour": weather.neighbour,
        "monthly_et0": weather.monthly_et0,
        "change": weather.change,
        "accept": accept,
    }
    return Weather(file=path.name).model_copy(update=policy)
