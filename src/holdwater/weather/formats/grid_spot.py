"""Where in a CF file to read: the nearest cell, a station by name, or the only point there is."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

import numpy as np
import xarray as xr

from holdwater.errors import InputError
from holdwater.weather.formats.picking import choose
from holdwater.weather.reading import Floats

if TYPE_CHECKING:
    from holdwater.scenario.schema import Place, WeatherFile

EARTH_KM = 6371.0
KM_PER_DEGREE = 111.2
TRIES = 9


@dataclass(frozen=True)
class Spot:
    """Where to read: indices by dimension, and what to tell about it."""

    index: dict[str, int]
    latitude: float | None = None
    longitude: float | None = None
    name: str = ""
    kilometres: float | None = None


def find_spots(
    data: xr.Dataset, rain: xr.DataArray, time: str, name: str, weather: WeatherFile, place: Place | None
) -> list[Spot]:
    """The spots to try, nearest first; a cell of sea has no values and gives way to the next."""
    where = f"weather file '{name}'"
    free = [str(d) for d in rain.dims if d != time and rain.sizes[d] > 1]
    fixed = {str(d): 0 for d in rain.dims if d != time and rain.sizes[d] == 1}
    latitude, longitude = _coordinate(data, rain, "latitude"), _coordinate(data, rain, "longitude")
    labels = _labels(data, free)
    if labels is not None:
        wanted = choose(labels, weather.station, name)
        return [Spot({free[0]: labels.index(wanted), **fixed}, name=wanted)]
    if not free and (latitude is None or longitude is None or place is None):
        return [Spot(fixed, _single(latitude), _single(longitude))]
    if latitude is None or longitude is None:
        raise InputError(
            f"{where}: '{rain.name}' runs over {', '.join(free)} beside time; only latitude and longitude do"
        )
    if place is None:
        raise InputError(f"{where} is a grid; write the holding's latitude and longitude under [place]")
    lat, lon = xr.broadcast(latitude, longitude)
    odd = [d for d in free if d not in lat.dims]
    if odd:
        raise InputError(
            f"{where}: '{rain.name}' also runs over {', '.join(odd)}; pick one in the file beforehand"
        )
    km = _distance(lat.values.astype(float), lon.values.astype(float), place.latitude, place.longitude)
    km = np.where(np.isnan(km), np.inf, km)
    near = np.argsort(km, axis=None)[:TRIES]
    closest = float(km.ravel()[near[0]])
    limit = 2.0 * _spacing(lat.values, lon.values)
    if not np.isfinite(closest) or (limit > 0 and closest > limit):
        raise InputError(
            f"{where}: the nearest cell is {closest:.0f} km from {place.latitude}, {place.longitude}; the grid covers "
            f"latitude {np.nanmin(lat):.2f} to {np.nanmax(lat):.2f}, longitude {np.nanmin(lon):.2f} to "
            f"{np.nanmax(lon):.2f}"
        )
    spots = []
    for flat in near:
        at = np.unravel_index(int(flat), km.shape)
        index = {str(d): int(i) for d, i in zip(lat.dims, at, strict=True) if d in rain.dims}
        spots.append(Spot(fixed | index, float(lat.values[at]), float(lon.values[at]), "", float(km[at])))
    return spots


def _coordinate(data: xr.Dataset, rain: xr.DataArray, which: str) -> xr.DataArray | None:
    for name in data.variables:
        variable = data[name]
        named = str(name).lower() in (which, which[:3])
        if (variable.attrs.get("standard_name") == which or named) and set(variable.dims) <= set(rain.dims):
            return variable
    return None


def _labels(data: xr.Dataset, free: list[str]) -> list[str] | None:
    """Names along the one free dimension, where a variable of text gives them."""
    if len(free) != 1:
        return None
    for name in data.variables:
        variable = data[name]
        if variable.dims == (free[0],) and variable.dtype.kind in "USO":
            return [
                v.decode("utf-8", "replace") if isinstance(v, bytes) else str(v)
                for v in variable.values.tolist()
            ]
    return None


def _distance(lat: Floats, lon: Floats, place_lat: float, place_lon: float) -> Floats:
    """Great-circle distance [km]; longitudes from 0 to 360 and -180 to 180 come to the same."""
    a, b = np.radians(lat), np.radians(place_lat)
    half_lat, half_lon = (a - b) / 2, np.radians(lon - place_lon) / 2
    chord = np.sin(half_lat) ** 2 + np.cos(a) * np.cos(b) * np.sin(half_lon) ** 2
    return np.asarray(2 * EARTH_KM * np.arcsin(np.sqrt(np.clip(chord, 0, 1))))


def _spacing(lat: Any, lon: Any) -> float:
    """Diagonal of a cell [km]; 0 where the grid has a single row or column only."""

    def step(values: Any, axis: int) -> float:
        return float(np.nanmedian(np.abs(np.diff(values, axis=axis)))) if values.shape[axis] > 1 else 0.0

    axes = range(lat.ndim)
    return KM_PER_DEGREE * float(
        np.hypot(max((step(lat, a) for a in axes), default=0), max((step(lon, a) for a in axes), default=0))
    )


def _single(coordinate: xr.DataArray | None) -> float | None:
    return float(coordinate.values.ravel()[0]) if coordinate is not None and coordinate.size == 1 else None
