"""The same holding in every place of a region: the cells of a weather grid, or many stations.

Every place is a single run of its own, by the same steps and with the same numbers. The places are run in
pieces: by threads on this machine, or on Dask, here or on a cluster; which of them makes no difference.
"""

from __future__ import annotations

import datetime as dt
import hashlib
import json
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path

import numpy as np
import xarray as xr

from holdwater.errors import InputError
from holdwater.scenario import ScenarioFile
from holdwater.scenario.schema import Place, Scenario, Weather
from holdwater.studies.dials import Grid
from holdwater.studies.engine import Site
from holdwater.studies.region_pieces import Piece, cut, stored_chunks
from holdwater.studies.region_place import Found, try_place
from holdwater.studies.region_table import named, packed, template
from holdwater.studies.region_weather import Reader, RegionWeather, Stations, open_weather, weather_keys
from holdwater.weather.change import as_written
from holdwater.weather.reader import read_checked
from holdwater.weather.reading import Reading
from holdwater.weather.record import Provenance, Record, daily_dataset

FORM = 1
"""Changes when finished pieces of an earlier version would no longer fit."""
READING = ("rain_unit", "rain_column", "temperature_unit")
MOST_DESIGNS = 1000
"""Designs of the dials, in every place."""


@dataclass(frozen=True)
class Terms:
    """What is asked in every place; goes to the workers.

    Attributes
    ----------
    reader : Cells or Stations
        Reads the weather of one place.
    scenarios : tuple of Scenario
        The scenario as it stands, then the designs of the dials, the last dial turning fastest.
    dials : tuple of (str, tuple of float)
        Paths of the dials and their values in the inside unit.
    neighbour : Reading or None
        Record that fills missing days under the policy "neighbour".
    """

    reader: Reader
    scenarios: tuple[Scenario, ...]
    dials: tuple[tuple[str, tuple[float, ...]], ...] = ()
    neighbour: Reading | None = None

    @property
    def tells_place(self) -> bool:
        """Whether places are known only once their weather is read."""
        return isinstance(self.reader, Stations)


@dataclass(frozen=True)
class Region:
    """A region ready to run.

    Attributes
    ----------
    weather : RegionWeather
        Opened, not read.
    terms : Terms
        What is asked in every place.
    pieces : list of Piece
        How it is cut.
    """

    weather: RegionWeather
    terms: Terms
    pieces: list[Piece]

    @property
    def size(self) -> int:
        """How many places there are."""
        return sum(piece.size for piece in self.pieces)

    @property
    def key(self) -> str:
        """Stands for all that the numbers depend on."""
        from holdwater import __version__

        leave = {"title", "show_units", "variant", "site"}
        other = self.terms.neighbour
        parts = [
            FORM,
            __version__,
            self.weather.identity,
            [s.model_dump_json(exclude=leave) for s in self.terms.scenarios],
            "" if other is None else hashlib.sha256(other.days.tobytes() + other.rain.tobytes()).hexdigest(),
            [str(piece.where) for piece in self.pieces],
        ]
        return json.dumps(parts)


def prepare(file: ScenarioFile, path: Path, dials: Grid | None = None) -> Region:
    """Open the weather of a region and make sure that the holding can be run in it.

    Parameters
    ----------
    file : ScenarioFile
        The holding. Its place and its own weather file are not used.
    path : Path
        CF netCDF grid, or folder of daily station files.
    dials : Grid, optional
        Designs to run beside the scenario as it stands.

    Raises
    ------
    InputError
        The weather cannot be opened, does not cover the run or lacks what the holding needs; a dial that
        would change the weather.
    """
    holding = file.path.parent
    keys = weather_keys(file.scenario.weather, holding, path)
    try:
        weather = open_weather(path, keys)
    except InputError as fault:
        raise InputError([_with_way(said, path, keys, file) for said in fault.faults]) from None
    run = file.scenario.run
    first, last = run.from_ or weather.first, run.to or weather.last
    if weather.first and weather.last and first and last and (first < weather.first or last > weather.last):
        raise InputError(
            f"the run asks for {first} to {last}, but '{path.name}' covers {weather.first} to {weather.last};"
            f" change run.from and run.to, or bring a longer record{_no_diary(file)}"
        )
    designs = [] if dials is None else _designs(file, dials)
    scenarios = [
        each.model_copy(
            update={"weather": keys, "run": each.run.model_copy(update={"from_": first, "to": last})}
        )
        for each in (file.scenario, *designs)
    ]
    turned = [] if dials is None else [tuple(values.tolist()) for values in dials.coordinates(file)]
    paths = [] if dials is None else [each.path for each in dials.dials]
    neighbour = None
    if keys.missing_days == "neighbour" and keys.neighbour is not None:
        neighbour = read_checked(keys.neighbour, holding, file.scenario.place)
    terms = Terms(weather.reader, tuple(scenarios), tuple(zip(paths, turned, strict=True)), neighbour)
    _rehearse(terms, weather)
    stored = (
        {} if isinstance(weather.reader, Stations) else stored_chunks(_rain(weather), weather.reader.space)
    )
    return Region(weather, terms, cut(weather.sizes, stored, weather.weight))


def _no_diary(file: ScenarioFile) -> str:
    """That the holding's own gauge log adds no days here, where it has one."""
    diary = file.scenario.weather.diary
    return (
        ""
        if diary is None
        else f" (the diary '{diary.file}' is the rain of one gauge: no region is topped up with it)"
    )


def _with_way(fault: str, path: Path, keys: Weather, file: ScenarioFile) -> str:
    """A fault whose cure is a key that holds for another file, with the way to make it hold for this one."""
    if keys.file == Path(file.scenario.weather.file).name or not any(key in fault for key in READING):
        return fault
    return (
        f"{fault}; in the scenario such keys hold for the file that weather.file names: give them together with"
        f" --set weather.file={path}"
    )


def _rain(weather: RegionWeather) -> xr.DataArray:
    return next(
        v for v in weather.data.data_vars.values() if set(weather.reader.space) < set(map(str, v.dims))
    )


def _designs(file: ScenarioFile, dials: Grid) -> list[Scenario]:
    """The designs of the dials.

    Raises
    ------
    InputError
        A dial that does not turn the holding, or does not fit it.
    """
    dials.check(file)
    if dials.size > MOST_DESIGNS:
        raise InputError(
            f"--vary asks for {dials.size:,} designs in every place; {MOST_DESIGNS:,} at most: give fewer values"
        )
    every = range(len(dials.dials))
    return [dials.file(file, every, at).scenario for at in np.ndindex(*dials.shape)]


def _rehearse(terms: Terms, weather: RegionWeather) -> None:
    """Make the holding ready in made-up weather with the columns of the region's, so that faults show at once."""
    run = terms.scenarios[0].run
    first = run.from_ or dt.date(2001, 1, 1)
    last = max(run.to or first, first)
    days = np.arange(np.datetime64(first), np.datetime64(last) + 1)
    mild = {"t_min": 8.0, "t_max": 18.0, "et0": 3.0}
    others = {name: np.full(days.size, mild[name]) for name in weather.columns}
    data = daily_dataset(days, np.ones(days.size), np.ones(days.size, dtype=np.int8), **others)
    gridded = not isinstance(weather.reader, Stations)
    place = Place(latitude=45.0, longitude=0.0) if gridded else terms.scenarios[0].place
    scenarios = [scenario.model_copy(update={"place": place}) for scenario in terms.scenarios]
    record = Record(data, Provenance(source=weather.path.name))
    site = Site.of(scenarios[0], as_written(record, scenarios[0].weather, place))
    for scenario in scenarios:
        site.ready(scenario)


def scores(data: xr.Dataset, terms: Terms) -> xr.Dataset:
    """What the holding would do in every place of a grid, or of a list of stations.

    Parameters
    ----------
    data : xarray.Dataset
        As `RegionWeather.data`, or a part of it. Chunked over space (`data.chunk`) it stays lazy, and Dask
        runs chunk by chunk.
    terms : Terms
        What is asked.

    Returns
    -------
    xarray.Dataset
        `SCORES` of the scenario as it stands, those of `VARIED` for every design of the dials, and for
        every place `state`, `fault`, `days`, `missing_days`, `filled_days`, `rain_per_year`.
    """
    if not data.chunks:
        return named(run_block(data, terms), terms.dials, terms.tells_place)
    space = terms.reader.space
    data = data.chunk({d: -1 for d in data.dims if d not in space})
    like = template(data, space, len(terms.scenarios))
    table = data.map_blocks(run_block, kwargs={"terms": terms}, template=like)
    return named(table, terms.dials, terms.tells_place)


class Halted(Exception):
    """The run was stopped between two places."""


def run_block(data: xr.Dataset, terms: Terms, stopped: Callable[[], bool] = lambda: False) -> xr.Dataset:
    """Run place by place.

    Raises
    ------
    Halted
        `stopped` said so.
    """
    data = data.load()
    space = terms.reader.space
    sizes = {d: data.sizes[d] for d in space}
    found = []
    for at in np.ndindex(*sizes.values()):
        if stopped():
            raise Halted
        cell = data.isel({d: slice(i, i + 1) for d, i in zip(space, at, strict=True)})
        found.append(_run_cell(cell, terms))
    return packed(sizes, found)


def _run_cell(cell: xr.Dataset, terms: Terms) -> Found:
    reader = terms.reader
    return try_place(
        lambda: reader.read(cell, terms.scenarios[0].weather),
        terms.scenarios,
        terms.neighbour,
        reader.place(cell),
        is_cell=not isinstance(reader, Stations),
    )
