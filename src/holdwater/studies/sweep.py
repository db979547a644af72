"""Sweep: every combination of some dials through the same weather, as one dataset."""

from __future__ import annotations

import csv
import os
import time
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import numpy as np
import numpy.typing as npt
import xarray as xr

from holdwater.scenario import ScenarioFile
from holdwater.studies.batch import Batch, Site
from holdwater.studies.dials import Grid
from holdwater.studies.engine import Told, run_all
from holdwater.studies.grid import run_grid
from holdwater.studies.outcome import BY_YEAR, Outcome
from holdwater.studies.program import Floats
from holdwater.studies.quantity import SI, Axis, axis
from holdwater.studies.specialise import WIDTH
from holdwater.weather.record import Provenance

MANY = 200_000
"""Designs from which on a sweep is estimated before it runs."""
TOO_MANY, TOO_LONG, TOO_LARGE = 2_000_000, 600.0, 2000.0
"""Designs, seconds and megabytes beyond which a sweep asks first."""
PROGRAM_MB = 300.0
"""Memory of the program itself with all it loads [MB]; measured."""

SCORES: dict[str, tuple[str, str]] = {
    "dry_days": ("day", "days on which the tanks could not give a draw all it asked for"),
    "dry_days_per_year": ("day", "dry days in a year of 365.25 days"),
    "unserved_days": ("day", "dry days on which backup could not cover the rest either"),
    "held_back_days": ("day", "days on which a draw took less by its own rule"),
    "stressed_days": ("day", "days on which a garden bed was short of water"),
    "longest_dry_spell": ("day", "longest run of dry days"),
    "dry_days_of_worst_year": ("day", "dry days of the year that has most of them"),
    "reliability_volume": ("1", "water delivered by the tanks / water asked of them"),
    "asked": ("L", "water asked of the tanks"),
    "delivered": ("L", "water delivered by the tanks"),
    "inflow": ("L", "inflow from roofs"),
    "overflow": ("L", "overflow to the ground"),
    "lowest_storage": ("L", "lowest drawable storage"),
    "backup": ("L", "backup water"),
    "loads": ("1", "loads brought by haulers"),
    "cost": ("1", "price of the backup water"),
}
"""Units and meaning of what is told of every design, sums over the run."""


@dataclass(frozen=True)
class Sweep:
    """All combinations of some dials and what each would have done.

    Attributes
    ----------
    base : ScenarioFile
        The scenario as it is.
    site : Site
        The weather.
    grid : Grid
        The dials; the last turns fastest.
    axes : list of Axis
        The dials with their values as numbers.
    outcome : Outcome
        Scores of every design.
    present : Outcome
        Scores of the scenario as it is.
    """

    base: ScenarioFile
    site: Site
    grid: Grid
    axes: list[Axis]
    outcome: Outcome
    present: Outcome

    def score(self, name: str) -> Floats:
        """One of `SCORES` for every design, shape of the grid."""
        return score_of(self.outcome, name).reshape(self.grid.shape)

    def best(self, most: int = 10) -> list[int]:
        """Designs with the fewest dry days, then the most water; of equals those nearest to the present."""
        far = np.zeros(self.grid.shape)
        for d, each in enumerate(self.axes):
            width = np.ptp(each.values) if each.numeric else 0.0
            if width > 0.0 and not np.isnan(each.present):
                shape = [-1 if i == d else 1 for i in range(len(self.axes))]
                far = far + np.reshape(np.abs(each.values - each.present) / width, shape)
        keys = (far.ravel(), -self.outcome.reliability_volume, self.outcome.dry_days)
        return [int(i) for i in np.lexsort(keys)[:most]]


def score_of(outcome: Outcome, name: str) -> Floats:
    """One of `SCORES` for every design, shape (d,)."""
    match name:
        case "longest_dry_spell":
            return outcome.longest
        case "lowest_storage":
            return outcome.lowest
        case "dry_days_of_worst_year":
            return np.asarray(outcome.by_year["dry_days"].max(axis=0), dtype=float)
        case "backup":
            return np.asarray(outcome.supplied.sum(axis=0))
        case "loads":
            return np.asarray(outcome.loads.sum(axis=0))
    values: Floats = getattr(outcome, name)
    return values


def sweep(
    base: ScenarioFile, site: Site, grid: Grid, told: Told | None = None, threads: int | None = None
) -> Sweep:
    """Run every combination of the dials.

    Parameters
    ----------
    base : ScenarioFile
        The scenario the dials are turned in.
    site : Site
        Its weather.
    grid : Grid
        The dials.
    told : callable, optional
        Called with the number of designs done since the last call.

    Raises
    ------
    InputError
        A path or a value does not fit the scenario.
    """
    grid.check(base)
    axes = axes_of(base, grid)
    outcome = run_grid(base, site, grid, told, threads)
    present = run_all(site, [site.ready(base.scenario)], base.scenario.run.year_starts)
    return Sweep(base, site, grid, axes, outcome, present)


def axes_of(base: ScenarioFile, grid: Grid) -> list[Axis]:
    """The dials of a grid with their values as numbers."""
    return [
        axis(each, base, [grid.file(base, [d], [i]) for i in range(len(each.texts))])
        for d, each in enumerate(grid.dials)
    ]


@dataclass(frozen=True)
class Estimate:
    """What a sweep will take.

    Attributes
    ----------
    designs : int
        How many.
    seconds : float
        On this machine, everything included [s].
    megabytes : float
        Peak memory [MB].
    """

    designs: int
    seconds: float
    megabytes: float

    @property
    def asks(self) -> bool:
        """Whether it is so much that the user is asked first."""
        return self.designs > TOO_MANY or self.seconds > TOO_LONG or self.megabytes > TOO_LARGE


def estimate(base: ScenarioFile, site: Site, grid: Grid) -> Estimate | None:
    """Say what a sweep will take, from a few holdings built and one block run; None for a small one.

    Parameters
    ----------
    base, site, grid
        As for `sweep`.
    """
    holdings = sum(int(np.prod([grid.shape[d] for d in part])) for part in grid.parts())
    if max(grid.size, 10 * holdings) < MANY:
        return None
    begun = time.perf_counter()
    for _ in range(5):
        ready = site.ready(base.vary([]).scenario)
    build = (time.perf_counter() - begun) / 5
    batch = Batch(site, ready, base.scenario.run.year_starts)
    use, compiled = batch.choose(grid.size)
    columns = np.repeat(batch.program.column(ready)[:, None], WIDTH, axis=1)
    begun = time.perf_counter()
    (batch.run if compiled else batch.run_plainly)(use, columns if compiled else columns[:, 0])
    run = (time.perf_counter() - begun) / (WIDTH if compiled else 1)
    cores = (os.cpu_count() or 1) if compiled else 1
    return Estimate(grid.size, holdings * build + grid.size * run / cores, _megabytes(site, grid, batch))


def _megabytes(site: Site, grid: Grid, batch: Batch) -> float:
    """Memory for the scores of all designs, with the sums made of them, and for finding each one's place."""
    scores = 3 * 8 * len(SCORES) + 2 * len(BY_YEAR) * batch.years + 16 * batch.backups
    return PROGRAM_MB + grid.size * (scores + 8 * (len(grid.dials) + 4)) / 1e6


# ------------------------------------------------------------------------------------------- files


def dataset(found: Sweep) -> xr.Dataset:
    """The sweep as a CF dataset: a dimension for every dial, and the years."""
    dims = [each.name for each in found.axes]
    coords: dict[str, Any] = {each.name: _coordinate(each) for each in found.axes}
    coords["year"] = ("year", found.outcome.years.astype(np.int32), {"long_name": "year of the run"})
    variables: dict[str, Any] = {
        name: (dims, found.score(name), {"long_name": meaning, "units": units})
        for name, (units, meaning) in SCORES.items()
    }
    for name in BY_YEAR:
        table = found.outcome.by_year[name].reshape(-1, *found.grid.shape)
        meaning = SCORES[name][1]
        variables[f"{name}_by_year"] = (["year", *dims], table, {"long_name": meaning, "units": "day"})
    return xr.Dataset(variables, coords, _attributes(found))


def _coordinate(each: Axis) -> tuple[str, npt.NDArray[Any], dict[str, Any]]:
    about: dict[str, Any] = {"long_name": each.label, "path": each.dial.path}
    if not each.numeric:
        return each.name, np.array(each.dial.texts, dtype=str), about
    about["units"] = SI[each.kind] if each.kind else "1"
    if not np.isnan(each.present):
        about["present_set_up"] = each.present
    return each.name, each.values, about


def _attributes(found: Sweep) -> dict[str, Any]:
    known: Provenance = found.site.record.provenance
    run = found.base.scenario.run
    return {
        "Conventions": "CF-1.11",
        "title": f"holdwater sweep: {found.base.scenario.title}",
        "source": known.source,
        "license": known.licence,
        "operating_rule": run.rule,
        "first_day": str(found.site.record.first),
        "last_day": str(found.site.record.last),
        "days": found.outcome.n_days,
        "comment": f"a year begins with month {run.year_starts}; litres, days; costs in the scenario's currency",
    }


def write_nc(path: Path, found: Sweep) -> None:
    """Write the sweep as CF netCDF, compressed."""
    data = dataset(found)
    packed = {name: {"zlib": True, "complevel": 1} for name in data.data_vars if data[name].ndim}
    data.to_netcdf(path, engine="h5netcdf", encoding=packed)


def write_csv(path: Path, found: Sweep) -> None:
    """Write one row per design: the dials as written in the scenario, then the scores [L, days]."""
    with path.open("w", newline="", encoding="utf-8") as file:
        out = csv.writer(file)
        out.writerow([each.path for each in found.grid.dials] + [header(name) for name in SCORES])
        out.writerows(_rows(found))


def header(name: str) -> str:
    """Column of a score: "delivered [L]"."""
    units = SCORES[name][0]
    return f"{name} [{units}]" if units != "1" else name


def _rows(found: Sweep, at_once: int = 10_000) -> Iterator[list[str]]:
    scores = [score_of(found.outcome, name) for name in SCORES]
    for start in range(0, found.grid.size, at_once):
        designs = np.arange(start, min(start + at_once, found.grid.size))
        columns = [*_texts(found.grid, designs), *(_figures(each[designs]) for each in scores)]
        yield from (list(row) for row in zip(*columns, strict=True))


def _texts(grid: Grid, designs: npt.NDArray[np.int64]) -> Iterator[list[str]]:
    if grid.dials:
        for each, at in zip(grid.dials, np.unravel_index(designs, grid.shape), strict=True):
            yield [each.texts[i] for i in at]


def _figures(values: Floats) -> list[str]:
    return [
        "" if value != value else f"{value:.6g}" if value < 1 else f"{value:.10g}"
        for value in values.tolist()
    ]


def design(found: Sweep, i: int) -> tuple[int, ...]:
    """Places on the dials of a design."""
    return tuple(int(place) for place in np.unravel_index(i, found.grid.shape))
