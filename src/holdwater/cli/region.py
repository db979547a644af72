"""`holdwater region`: the same holding in every cell of a weather grid, or at many stations."""

from __future__ import annotations

import sys
from collections.abc import Callable, Iterator
from contextlib import closing, contextmanager
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Any

from holdwater.errors import InputError
from holdwater.scenario import load

if TYPE_CHECKING:
    import xarray as xr

    from holdwater.studies.region import Region
    from holdwater.studies.region_pieces import Store
    from holdwater.studies.region_run import Result

NETCDF = "region.nc"
KEY = "holdwater_key"
"""Attribute that says what the numbers of a whole region depend on."""


@dataclass(frozen=True)
class Asked:
    """What the user typed."""

    grid: Path
    scenario: Path
    out: Path | None
    vary: list[str]
    scheduler: str | None
    workers: int | None
    sets: list[str]
    variant: str | None
    units: str | None

    @property
    def changes(self) -> list[str]:
        """Changes of the scenario, that of --units included."""
        return [*self.sets, *([f"show_units={self.units}"] if self.units else [])]


def run(asked: Asked, as_json: bool, quiet: bool) -> None:
    """Run the region, write `region.nc`, `region.json` and the map, and print what was found.

    Raises
    ------
    InputError
        Weather, scenario or output folder cannot be used, or the holding could not be run anywhere.
        Finished pieces are kept for the next run.
    """
    if asked.scheduler not in (None, "local") and asked.workers is not None:
        raise InputError("--workers has no effect on a cluster, which has its own; leave it out")
    file = load(asked.scenario, sets=asked.changes, variant=asked.variant)
    folder = asked.out or Path("outputs") / asked.scenario.stem
    from holdwater.studies.dials import Grid, dial
    from holdwater.studies.region import prepare
    from holdwater.studies.region_pieces import Store

    dials = Grid(tuple(dial(each) for each in asked.vary)) if asked.vary else None
    region = prepare(file, asked.grid, dials)
    store = Store(folder, region.key)
    with closing(region.weather.data), _kept(store, region):
        result = _result(region, store, folder / NETCDF, asked, quiet or as_json)
    from holdwater.cli import region_told

    system = file.scenario.show_units
    told = region_told.as_data(result.data, system)
    told["taken_over"] = result.taken_over
    diary = file.scenario.weather.diary
    told["weather"]["diary_left_out"] = diary.file if diary is not None else None
    told["notes"] = [
        *file.warnings,
        *told["notes"],
        *region_told.diary_notes(told["weather"]["diary_left_out"], told["places"]["kind"]),
        *_notes(store, region),
    ]
    place = file.scenario.place
    home = (place.latitude, place.longitude) if place is not None else None
    write(folder, result.data.assign_attrs({KEY: store.key}), told, home)
    store.clear()
    if as_json:
        print(region_told.as_json(told))
    elif not quiet:
        region_told.print_text(result.data, told, system)
        print(f"\nWritten to {folder}/: {NETCDF}, region.json, charts/region.png, charts/region.svg")


def _result(region: Region, store: Store, whole: Path, asked: Asked, hidden: bool) -> Result:
    """The region as an earlier run left it, or run now."""
    from holdwater.studies.region_run import Result, finished, in_threads
    from holdwater.studies.region_run import run as run_region

    before = finished(whole, region, KEY, store.key)
    if before is not None:
        return Result(before, region.size)
    if asked.scheduler is None:
        with progress(region.size, hidden) as told:
            return run_region(region, store, in_threads(asked.workers), told)
    from holdwater.studies.region_cluster import on_dask

    with on_dask(asked.scheduler, asked.workers) as runner, progress(region.size, hidden) as told:
        return run_region(region, store, runner, told)


@contextmanager
def _kept(store: Store, region: Region) -> Iterator[None]:
    """Say, when the run is stopped, what of it is kept."""
    try:
        yield
    except KeyboardInterrupt:
        done = sum(piece.size for piece in region.pieces if store.has(piece))
        print(
            f"holdwater: {done:,} of {region.size:,} places are finished and kept; the same command goes on from there",
            file=sys.stderr,
        )
        raise


def _notes(store: Store, region: Region) -> list[str]:
    """What happened to the work of an earlier run."""
    if not store.discarded:
        return []
    return [
        f"{store.discarded} finished pieces of an earlier run were of another scenario or another"
        f" {region.weather.path.name} and were removed"
    ]


def write(folder: Path, data: xr.Dataset, told: dict[str, Any], home: tuple[float, float] | None) -> None:
    """Put `region.nc`, `region.json` and the map into the folder, whole.

    Raises
    ------
    InputError
        The folder cannot be written.
    """
    import json

    from holdwater.charts import files
    from holdwater.charts.region_map import region_map
    from holdwater.report.files import staged

    with staged(folder) as stage:
        data.to_netcdf(stage / NETCDF, engine="h5netcdf")
        text = json.dumps(told, indent=2, ensure_ascii=False, allow_nan=False)
        (stage / "region.json").write_text(text + "\n", "utf-8")
        files.save(region_map(data, home), stage / "charts", "region")


@contextmanager
def progress(places: int, hidden: bool) -> Iterator[Callable[[int], None]]:
    """Give a function that counts places, shown with the time left to a person at a terminal."""
    if hidden or not sys.stderr.isatty():
        yield lambda done: None
        return
    from rich.console import Console
    from rich.progress import BarColumn, MofNCompleteColumn, Progress, TextColumn, TimeRemainingColumn

    columns = (
        TextColumn("{task.description}"),
        BarColumn(),
        MofNCompleteColumn(),
        TextColumn("places,"),
        TimeRemainingColumn(),
        TextColumn("left"),
    )
    with Progress(*columns, console=Console(stderr=True), transient=True) as bar:
        task = bar.add_task("running", total=places)
        yield lambda done: bar.update(task, advance=done)
