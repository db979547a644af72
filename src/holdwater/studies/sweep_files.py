"""A sweep as a CF dataset, and as a table with a row for every design."""

from __future__ import annotations

import csv
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import numpy as np
import numpy.typing as npt
import xarray as xr

from holdwater.studies.dials import Grid
from holdwater.studies.outcome import BY_YEAR
from holdwater.studies.program import Floats
from holdwater.studies.quantity import SI, Axis
from holdwater.studies.redrawn import NUMBERS
from holdwater.studies.sweep import SCORES, Sweep, score_of
from holdwater.studies.sweep_confidence import columns as bounds_of
from holdwater.weather.record import Provenance


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
    for name, (values, about) in _bounds(found).items():
        variables[name] = (dims, values.reshape(found.grid.shape), about)
    for name in set(SCORES) & set(NUMBERS):
        if f"{name}_low" in variables:
            variables[name][2]["ancillary_variables"] = f"{name}_low {name}_high"
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
        units = {name: unit for name, (unit, _) in SCORES.items()}
        units |= {name: about["units"] for name, (_, about) in _bounds(found).items()}
        heads = [header(name, unit) for name, unit in units.items()]
        out.writerow([*(each.path for each in found.grid.dials), *heads])
        out.writerows(_rows(found))


def _bounds(found: Sweep) -> dict[str, tuple[Floats, dict[str, Any]]]:
    """Bounds of every design where they were asked for."""
    return {} if found.confidence is None else bounds_of(found.confidence)


def header(name: str, units: str) -> str:
    """Column of a score: "delivered [L]"."""
    return f"{name} [{units}]" if units != "1" else name


def _rows(found: Sweep, at_once: int = 10_000) -> Iterator[list[str]]:
    scores = [score_of(found.outcome, name) for name in SCORES]
    scores += [values for values, _ in _bounds(found).values()]
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
