"""Running a region piece by piece on this machine, and putting the pieces together."""

from __future__ import annotations

import signal
import threading
from collections.abc import Callable, Generator, Iterator, Sequence
from concurrent.futures import FIRST_COMPLETED, Future, ThreadPoolExecutor, wait
from contextlib import closing, contextmanager
from pathlib import Path
from typing import Any, NamedTuple

import numpy as np
import xarray as xr

from holdwater.errors import InputError
from holdwater.studies.region import Region, run_block
from holdwater.studies.region_pieces import Piece, Store
from holdwater.studies.region_table import named
from holdwater.studies.region_weather import Stations
from holdwater.weather.change import read_changes, said

Done = Generator[tuple[Piece, xr.Dataset], None, None]
Stopped = Callable[[], bool]
Runner = Callable[[Region, Sequence[Piece], Stopped], Done]
HEARS = 0.25
"""How often a waiting runner looks whether it was stopped [s]."""
Told = Callable[[int], None]


class Result(NamedTuple):
    """A region that was run.

    Attributes
    ----------
    data : xarray.Dataset
        `holdwater.studies.region.scores` of all places, with their coordinates.
    taken_over : int
        Places that a run before had finished.
    """

    data: xr.Dataset
    taken_over: int


def run(region: Region, store: Store, runner: Runner, told: Told | None = None) -> Result:
    """Run all pieces that are not finished yet, keeping each as soon as it is done.

    Parameters
    ----------
    region : Region
        Of `holdwater.studies.region.prepare`.
    store : Store
        Where finished pieces are kept.
    runner : callable
        Runs pieces and gives them back in any order: `in_threads(n)`, or one of `region_cluster`.
    told : callable, optional
        Called with the number of places done since the last call; first with those taken over.

    Raises
    ------
    KeyboardInterrupt
        Ctrl-C was pressed; pieces that are finished are kept.
    """
    whole: dict[str, tuple[tuple[Any, ...], Any, dict[str, Any]]] = {}
    waiting, taken_over = [], 0
    for piece in region.pieces:
        found = store.take(piece)
        if found is None:
            waiting.append(piece)
        else:
            _put(whole, region, piece, found)
            taken_over += piece.size
    if told is not None:
        told(taken_over)
    with _hearing() as stopped, closing(runner(region, waiting, stopped)) as finished:
        for piece, found in finished:
            store.keep(piece, found)
            _put(whole, region, piece, found)
            if told is not None:
                told(piece.size)
    table = named(xr.Dataset(whole), region.terms.dials, region.terms.tells_place)
    return Result(_labelled(table, region), taken_over)


@contextmanager
def _hearing() -> Iterator[Stopped]:
    """Ask whether Ctrl-C was pressed; a second one stops at once.

    Raised wherever the program is, it would be lost in a callback of Python's or Dask's own now and then.
    """
    pressed = threading.Event()
    if threading.current_thread() is not threading.main_thread():
        yield pressed.is_set
        return

    def hear(number: int, frame: object) -> None:
        if pressed.is_set():
            raise KeyboardInterrupt
        pressed.set()

    before = signal.signal(signal.SIGINT, hear)
    try:
        yield pressed.is_set
    finally:
        signal.signal(signal.SIGINT, before)


def finished(path: Path, region: Region, attribute: str, key: str) -> xr.Dataset | None:
    """A whole region written before, if it is of the very same weather, scenario and version.

    Parameters
    ----------
    path : Path
        The netCDF file.
    attribute, key : str
        Its attribute that must say so, and what it must say.
    """
    if not path.is_file():
        return None
    try:
        with xr.open_dataset(path, engine="h5netcdf", decode_timedelta=False, cache=False) as data:
            if data.attrs.get(attribute) != key:
                return None
            return _labelled(data.load(), region)
    except (OSError, ValueError, KeyError):  # damaged: it is run again
        return None


def _put(whole: dict[str, Any], region: Region, piece: Piece, found: xr.Dataset) -> None:
    """Put a piece where it belongs."""
    sizes = region.weather.sizes
    for name, variable in found.data_vars.items():
        if name not in whole:
            shape = tuple(sizes.get(str(d), found.sizes[d]) for d in variable.dims)
            whole[str(name)] = (variable.dims, np.empty(shape, variable.dtype), variable.attrs)
        at = tuple(piece.where.get(str(d), slice(None)) for d in variable.dims)
        whole[str(name)][1][at] = variable.values


def _labelled(data: xr.Dataset, region: Region) -> xr.Dataset:
    """The places' coordinates, the values of the dials, and what the numbers rest on."""
    data = data.assign_coords(region.weather.coordinates)
    if {"latitude", "longitude"} <= set(data.data_vars):
        data = data.set_coords(["latitude", "longitude"])
    scenario = region.terms.scenarios[0]
    attributes = {
        "Conventions": "CF-1.11",
        "title": scenario.title,
        "source": region.weather.path.name,
        "license": _licence(region),
        "weather_change": _change(data, region),
        "operating_rule": scenario.run.rule,
        "missing_days_policy": scenario.weather.missing_days,
        "first_day": str(scenario.run.from_ or ""),
        "last_day": str(scenario.run.to or ""),
    }
    return data.assign_attrs(attributes)


def _change(data: xr.Dataset, region: Region) -> str:
    """How the weather was changed on purpose, with the months its seasons have on each side of the equator."""
    scenario, reader = region.terms.scenarios[0], region.terms.reader
    if scenario.weather.change is None:
        return ""
    if isinstance(reader, Stations):
        home = scenario.place.latitude if scenario.place is not None else 0.0
        latitudes = np.nan_to_num(data["latitude"].values, nan=home)
    else:
        latitudes = region.weather.data[reader.latitude].values
    sides = [south for south in (False, True) if ((latitudes < 0.0) == south).any()]
    words = [said(read_changes(scenario.weather.change, south)) for south in sides]
    return "; south of the equator: ".join(dict.fromkeys(words))


def _licence(region: Region) -> str:
    attributes = region.weather.data.attrs
    own = region.terms.scenarios[0].weather.licence
    return own or str(attributes.get("licence") or attributes.get("license") or "")


def in_threads(workers: int | None = None) -> Runner:
    """Run pieces by threads of this process, each piece by one of them, while the next one is read.

    Parameters
    ----------
    workers : int, optional
        How many threads; one by default, because most of the work is Python's own, which threads share.
        For all cores of a machine use `region_cluster.on_dask("local")`.
    """
    count = workers or 1

    def runner(region: Region, pieces: Sequence[Piece], stopped: Stopped) -> Done:
        over = threading.Event()
        with ThreadPoolExecutor(count, "place") as pool:
            running: dict[Future[xr.Dataset], Piece] = {}
            try:
                for piece in pieces:
                    block = _read(region, piece)
                    running[pool.submit(run_block, block, region.terms, over.is_set)] = piece
                    while len(running) > count:
                        yield from _finished(running, stopped)
                while running:
                    yield from _finished(running, stopped)
            finally:  # Ctrl-C, or a fault: the threads stop at their next place
                over.set()
                pool.shutdown(wait=False, cancel_futures=True)

    return runner


def _read(region: Region, piece: Piece) -> xr.Dataset:
    try:
        return region.weather.data.isel(piece.where).load()
    except OSError as fault:
        raise unreadable(region, fault) from None


def unreadable(region: Region, fault: OSError) -> InputError:
    """What to say of weather that was opened and cannot be read."""
    said = (str(fault).splitlines() or [type(fault).__name__])[0]
    return InputError(
        f"'{region.weather.path.name}' cannot be read to its end: {said}; it may be damaged, or be changing under"
        " the run: what is finished is kept"
    )


def _finished(running: dict[Future[xr.Dataset], Piece], stopped: Stopped) -> Done:
    """Wait for pieces and take them out, hearing Ctrl-C meanwhile."""
    if stopped():
        raise KeyboardInterrupt
    done, _ = wait(running, timeout=HEARS, return_when=FIRST_COMPLETED)
    for future in done:
        yield running.pop(future), future.result()
