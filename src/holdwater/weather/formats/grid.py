"""The reader of CF netCDF: a grid's nearest cell, one of several stations, or a single point.

Rates, fluxes and daily amounts become mm per day by the variable's units, temperatures degC. A
cell is the mean of an area and no gauge: it has more days with rain and smaller extremes; the
notes say so, with the distance to the cell.
"""

from __future__ import annotations

import io
import re
from pathlib import Path
from typing import TYPE_CHECKING, Any

import h5py  # type: ignore[import-untyped]
import numpy as np
import xarray as xr

from holdwater.errors import InputError
from holdwater.weather.formats.grid_spot import Spot, find_spots
from holdwater.weather.formats.grid_time import YEAR_LENGTH, to_days
from holdwater.weather.formats.textfile import starts_with
from holdwater.weather.reading import Days, Floats, Reading, origins
from holdwater.weather.record import Origin

if TYPE_CHECKING:
    from holdwater.scenario.schema import Place, WeatherFile

FORM = "CF netCDF"
HDF5_MARK = b"\x89HDF"
RAIN_NAMES = ("pr", "rain", "prcp", "precip", "precipitation", "rainfall", "rr", "tp", "ppt")
RAIN_STANDARD_NAMES = (
    "precipitation_flux",
    "lwe_precipitation_rate",
    "precipitation_amount",
    "lwe_thickness_of_precipitation_amount",
    "rainfall_flux",
    "rainfall_rate",
    "rainfall_amount",
    "thickness_of_rainfall_amount",
)
T_NAMES = {
    "t_min": ("tasmin", "t_min", "tmin", "tn", "tmmn"),
    "t_max": ("tasmax", "t_max", "tmax", "tx", "tmmx"),
}
RAIN_UNITS = {
    "kg m-2 s-1": 86400.0,
    "mm s-1": 86400.0,
    "m s-1": 86_400_000.0,
    "mm day-1": 1.0,
    "kg m-2 day-1": 1.0,
    "mm hour-1": 24.0,
    "in day-1": 25.4,
    "mm": 1.0,
    "kg m-2": 1.0,
    "cm": 10.0,
    "m": 1000.0,
    "in": 25.4,
    "inch": 25.4,
    "inches": 25.4,
    "tenths of mm": 0.1,
    "0.1 mm": 0.1,
}
"""Factor from the units to mm per day; 1 kg of water per m2 is 1 mm."""
DRIZZLE = 1e-3
"""mm per day below which a model's rain is numerical noise."""


def read(name: str, content: Path | io.BytesIO, weather: WeatherFile, place: Place | None) -> Reading:
    """Read the rain (and temperatures) of one spot.

    Parameters
    ----------
    name : str
        File name, for messages.
    content : Path or BytesIO
        The file, or its content where it was packed.
    weather : WeatherFile
        `rain_column` names the variable where the file has several, `rain_unit` its unit where it
        has none, `station` the point where the file holds several.
    place : Place or None
        Where the holding stands.

    Raises
    ------
    InputError
        No rain, no units, no daily steps, no place for a grid, a spot outside of it.
    """
    where = f"weather file '{name}'"
    try:
        if _is_hdf5(content):
            with h5py.File(content, "r") as bare:  # the layer above answers a damaged file with noise
                list(bare.attrs)
        data = xr.open_dataset(content, decode_times=False, mask_and_scale=True, cache=False)
    except Exception as fault:  # the libraries below raise whatever they like on a damaged file
        raise InputError(f"{where} cannot be opened as netCDF: {_short(fault)}") from None
    with data:
        try:
            return _read(data, name, weather, place)
        except InputError:
            raise
        except Exception as fault:  # a damaged or odd file, met while its values are read
            raise InputError(f"{where} is netCDF, but cannot be read: {_short(fault)}") from None


def _is_hdf5(content: Path | io.BytesIO) -> bool:
    if isinstance(content, io.BytesIO):
        return bytes(content.getbuffer()[:4]) == HDF5_MARK
    return starts_with(content, (HDF5_MARK,))


def _read(data: xr.Dataset, name: str, weather: WeatherFile, place: Place | None) -> Reading:
    where = f"weather file '{name}'"
    rain = _rain_variable(data, where, weather.rain_column)
    factor, unit = _rain_factor(rain, where, weather.rain_unit)
    time = _time_dimension(data, rain, where)
    days = _days(data, time, where)
    spots = find_spots(data, rain, time, name, weather, place)
    spot, amounts, tries = spots[0], np.full(0, np.nan), 0
    for spot in spots:
        tries += 1
        amounts = _values(rain, spot, time) * factor
        if not np.isnan(amounts).all():
            break
    notes = _notes(spot, tries, str(data[time].attrs.get("calendar", "")))
    noise = (np.abs(amounts) < DRIZZLE) & (amounts != 0)
    if noise.any():
        notes.append(f"rain below {DRIZZLE} mm a day taken for 0: {int(noise.sum())} days")
        amounts = np.where(noise, 0.0, amounts)
    others = _temperatures(data, spot, time, rain, where, weather)
    codes = origins(np.isnan(amounts))
    if "origin" in data and data["origin"].dims == rain.dims and len(rain.dims) == 1:
        stored = _values(data["origin"], spot, time)
        codes = _stored_origins(codes, stored)
    attributes = {k: str(v) for k, v in data.attrs.items()}
    return Reading(
        source=name,
        form=f"{FORM}, {'grid' if spot.kilometres is not None else 'point'}",
        days=days,
        rain=amounts,
        origin=codes,
        others=others,
        units_as_read=f"rain in {unit}"
        + "".join(f", {k} in {data[v].attrs.get('units')}" for k, v in _t(data).items()),
        station=attributes.get("station", spot.name),
        place=attributes.get("place", ""),
        latitude=spot.latitude,
        longitude=spot.longitude,
        licence=weather.licence or attributes.get("licence") or attributes.get("license", ""),
        day_ends=weather.day_ends
        or attributes.get("day_ends", "not stated (grids mostly end the day at 24 UTC)"),
        notes=tuple(notes),
    )


def _rain_variable(data: xr.Dataset, where: str, wanted: str | None) -> xr.DataArray:
    if wanted is not None:
        if wanted not in data.data_vars:
            raise InputError(
                f'{where}: rain_column = "{wanted}" is no variable; there are {_names(data.data_vars)}'
            )
        return data[wanted]
    by_standard = [v for v in data.data_vars if data[v].attrs.get("standard_name") in RAIN_STANDARD_NAMES]
    by_name = [v for v in data.data_vars if str(v).lower() in RAIN_NAMES]
    found = by_standard or by_name
    if len(found) != 1:
        what = "no variable of rain" if not found else f"more than one variable of rain: {_names(found)}"
        raise InputError(
            f'{where} has {what}; the variables are {_names(data.data_vars)}; choose with rain_column = "..."'
        )
    return data[found[0]]


def _rain_factor(rain: xr.DataArray, where: str, declared: str | None) -> tuple[float, str]:
    written = str(rain.attrs.get("units", "")).strip()
    unit = declared or written
    if not unit:
        raise InputError(
            f"{where}: variable '{rain.name}' has no units; say rain_unit = \"mm\" if they are mm per day"
        )
    factor = RAIN_UNITS.get(plain_unit(unit))
    if factor is None:
        raise InputError(
            f"{where}: variable '{rain.name}' is in '{unit}', which is not known; known are kg m-2 s-1, mm/day, mm, "
            "m s-1, in; say rain_unit if you know better"
        )
    return factor, unit


def plain_unit(text: str) -> str:
    """A unit in one spelling: "kg/m^2/s", "kg m**-2 s**-1" and "kg m-2 s-1" come to the same."""
    plain = re.sub(r"\*\*|\^", "", text.strip().lower())
    plain = re.sub(r"/\s*([a-z]+)(\d?)", lambda m: f" {m[1]}-{m[2] or 1}", plain)
    plain = re.sub(r"\b(days?|d)-1", "day-1", plain)
    plain = re.sub(r"\b(hours?|hr?)-1", "hour-1", plain)
    plain = re.sub(r"(?<=[a-z0-9])\.(?=[a-z])", " ", plain)
    return " ".join(plain.split())


def _time_dimension(data: xr.Dataset, rain: xr.DataArray, where: str) -> str:
    for dimension in rain.dims:
        if dimension in data.variables and "since" in str(data[dimension].attrs.get("units", "")):
            return str(dimension)
    raise InputError(
        f"{where}: variable '{rain.name}' has no time axis with units such as 'days since 1990-01-01'"
    )


def _days(data: xr.Dataset, time: str, where: str) -> Days:
    """The civil day of every step: that of its lower bound where the file has bounds."""
    axis = data[time]
    values = np.asarray(axis.values, dtype=float).ravel()
    bounds = axis.attrs.get("bounds")
    if bounds in data.variables and data[bounds].shape == (len(values), 2):
        values = np.asarray(data[bounds].values, dtype=float)[:, 0]
    if not len(values):
        raise InputError(f"{where} has a time axis without a single step")
    days = to_days(values, str(axis.attrs["units"]), str(axis.attrs.get("calendar", "")), where)
    steps = np.diff(np.sort(days).astype(np.int64))
    if len(steps) and np.median(steps) != 1:
        what = "several steps a day" if np.median(steps) < 1 else f"a step of {int(np.median(steps))} days"
        raise InputError(f"{where} has {what}; a daily record is needed")
    return days


def _values(variable: xr.DataArray, spot: Spot, time: str) -> Floats:
    index = {d: i for d, i in spot.index.items() if d in variable.dims}
    values = np.asarray(variable.isel(index).transpose(time).values, dtype=float)
    return np.where(np.isfinite(values) & (np.abs(values) < 1e10), values, np.nan)


def _t(data: xr.Dataset) -> dict[str, Any]:
    found: dict[str, Any] = {}
    for key, names in T_NAMES.items():
        word = "minimum" if key == "t_min" else "maximum"
        for name in data.data_vars:
            attributes = data[name].attrs
            meant = attributes.get("standard_name") == "air_temperature" and word in str(
                attributes.get("cell_methods")
            )
            if meant or str(name).lower() in names:
                found.setdefault(key, name)
    return found


def _temperatures(
    data: xr.Dataset, spot: Spot, time: str, rain: xr.DataArray, where: str, weather: WeatherFile
) -> dict[str, Floats]:
    others: dict[str, Floats] = {}
    for key, name in _t(data).items():
        if data[name].dims != rain.dims:
            continue
        unit = weather.temperature_unit or str(data[name].attrs.get("units", "")).strip()
        values = _values(data[name], spot, time)
        match unit.lower().replace(" ", "").replace("degrees_", "deg").replace("°", "deg"):
            case "k" | "kelvin" | "degk":
                others[key] = values - 273.15
            case "c" | "degc" | "celsius" | "degcelsius" | "degreesc":
                others[key] = values
            case "f" | "degf" | "fahrenheit" | "degfahrenheit":
                others[key] = (values - 32.0) / 1.8
            case "tenthsofdegc":
                others[key] = values / 10.0
            case _:
                raise InputError(
                    f"{where}: variable '{name}' is in '{unit}'; say temperature_unit = \"degC\" or \"degF\""
                )
    if "et0" in data and data["et0"].dims == rain.dims and data["et0"].attrs.get("units") == "mm":
        others["et0"] = _values(data["et0"], spot, time)
    return others


def _stored_origins(
    codes: np.ndarray[Any, np.dtype[np.int8]], stored: Floats
) -> np.ndarray[Any, np.dtype[np.int8]]:
    known = np.isin(stored, [int(o) for o in Origin]) & (stored > 0) & (codes != Origin.MISSING)
    return np.where(known, stored, codes).astype(np.int8)


def _notes(spot: Spot, tries: int, calendar: str) -> list[str]:
    notes = []
    if spot.kilometres is not None:
        notes.append(
            f"nearest cell {spot.latitude:.3f}, {spot.longitude:.3f}, {spot.kilometres:.1f} km from the holding; a "
            "cell is the mean of an area, with more days of rain and smaller extremes than a gauge"
        )
    if tries > 1:
        notes.append(f"the {tries - 1} nearest cells have no values (sea?); the next one was taken")
    if calendar.lower() in YEAR_LENGTH:
        notes.append(f"the file's calendar is '{calendar}'; civil days it lacks are missing")
    return notes


def _names(names: Any) -> str:
    listed = [f"'{n}'" for n in names]
    return ", ".join(listed[:12]) + (f" and {len(listed) - 12} more" if len(listed) > 12 else "")


def _short(fault: BaseException) -> str:
    return (str(fault).splitlines() or [type(fault).__name__])[0][:160] or type(fault).__name__
