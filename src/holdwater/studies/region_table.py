"""What was found in the places of a region, packed for the way between processes, and by name."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

import numpy as np
import xarray as xr

from holdwater.studies.region_place import SCORES, Found, State

VARIED = (
    "dry_days_per_year",
    "longest_dry_spell",
    "unserved_days_per_year",
    "reliability_volume",
    "backup_per_year",
)
"""What is told of designs that differ from the scenario as it stands."""
COUNTS = {
    "state": "whether the holding was run",
    "days": "days of the run",
    "missing_days": "days of the run without a rain value in the file",
    "filled_days": "days of the run filled by the policy for missing days",
}
PLACE = {
    "rain_per_year": {"units": "mm", "long_name": "rain in a year of 365.25 days, filled days included"},
    "latitude": {"units": "degrees_north", "standard_name": "latitude"},
    "longitude": {"units": "degrees_east", "standard_name": "longitude"},
}
Dials = Sequence[tuple[str, Sequence[float]]]


def packed(sizes: dict[str, int], found: Sequence[Found]) -> xr.Dataset:
    """Four variables over the places: `scores`, `counts`, `place` and `fault`.

    Parameters
    ----------
    sizes : dict of str to int
        Places by dimension, the last one turning fastest.
    found : sequence of Found
        One for every place in that order.
    """
    space, shape = tuple(sizes), tuple(sizes.values())
    scores = np.stack([f.scores for f in found])
    counts = np.array([[f.state, f.days, f.missing, f.filled] for f in found], dtype=np.int32)
    place = np.array([[f.rain, f.latitude, f.longitude] for f in found], dtype=float)
    fault = np.array([f.fault for f in found], dtype=object)
    return xr.Dataset(
        {
            "scores": ((*space, "score", "design"), scores.reshape(*shape, *scores.shape[1:])),
            "counts": ((*space, "count"), counts.reshape(*shape, len(COUNTS))),
            "place": ((*space, "number"), place.reshape(*shape, len(PLACE))),
            "fault": (space, fault.reshape(shape)),
        }
    )


def template(data: xr.Dataset, space: Sequence[str], designs: int) -> xr.Dataset:
    """`packed` of data chunked over space, with names, shapes and chunks, and no value in it."""
    sizes = {d: data.sizes[d] for d in space}
    count = int(np.prod(list(sizes.values()), dtype=np.int64))
    empty = packed(sizes, [Found(np.zeros((len(SCORES), designs)))] * count)
    return empty.chunk({d: data.chunksizes[d] for d in sizes})


def named(table: xr.Dataset, dials: Dials, keep_place: bool) -> xr.Dataset:
    """The same by name, with units.

    Parameters
    ----------
    table : xarray.Dataset
        Of `packed`.
    dials : sequence of (str, sequence of float)
        Paths of the dials and their values in the inside unit.
    keep_place : bool
        Whether to tell latitude and longitude, as found in the weather of each place.
    """
    scores = table["scores"]
    present = scores.isel(design=0)
    held: dict[str, Any] = {}
    for i, (name, (unit, meaning)) in enumerate(SCORES.items()):
        held[name] = present.isel(score=i).assign_attrs(units=unit, long_name=meaning)
    for name in VARIED if dials else ():
        held[f"varied_{name}"] = _turned(scores.isel(score=list(SCORES).index(name)), dials, held[name].attrs)
    for i, (name, meaning) in enumerate(COUNTS.items()):
        held[name] = table["counts"].isel(count=i).assign_attrs(units="day", long_name=meaning)
    held["state"] = held["state"].astype(np.int8)
    held["state"].attrs = {
        "long_name": COUNTS["state"],
        "flag_values": np.array([int(s) for s in State], dtype=np.int8),
        "flag_meanings": " ".join(s.name.lower() for s in State),
    }
    for i, (name, attributes) in enumerate(PLACE.items()):
        if keep_place or name == "rain_per_year":
            held[name] = table["place"].isel(number=i).assign_attrs(attributes)
    held["fault"] = table["fault"].assign_attrs(long_name="why the holding was not run")
    return xr.Dataset(held)


def _turned(scores: xr.DataArray, dials: Dials, attributes: dict[str, Any]) -> xr.DataArray:
    """One score of the designs of the dials, a dimension for every dial."""
    designs = scores.isel(design=slice(1, None)).transpose(..., "design")
    sizes = {dimension(path): len(values) for path, values in dials}
    data = designs.data.reshape(*designs.shape[:-1], *sizes.values())
    coordinates = {dimension(path): list(values) for path, values in dials}
    return xr.DataArray(data, dims=(*designs.dims[:-1], *sizes), coords=coordinates, attrs=attributes)


def dimension(path: str) -> str:
    """Name of the dimension of a dial."""
    return path.replace("/", "_")
