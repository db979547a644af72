"""Invented weather and an invented holding for the tests of regions."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import numpy.typing as npt
import xarray as xr

Floats = npt.NDArray[np.float64]
FIRST = np.datetime64("2001-01-01")

HOLDING = """
title = "Stony Fold (invented): two roofs, two tanks"
show_units = "metric"

[place]
latitude = 38.6
longitude = -109.4

[weather]
file = "own-gauge.csv"
rain_column = "rain_in"
rain_unit = "in"
missing_days = "refuse"

[[roof]]
name = "barn"
area = "140 m2"
surface = "metal"
first_flush = { volume = "150 L", drains_in = "1 day" }
feeds = "upper"

[[roof]]
name = "house"
area = "90 m2"
runoff_coefficient = 0.9
feeds = "lower"

[[tank]]
name = "upper"
capacity = "9 m3"
diameter = "2.4 m"
base = "10 cm"
outlet = "5 cm"

[[tank]]
name = "lower"
capacity = "9 m3"
diameter = "2.4 m"
outlet = "5 cm"

[[link]]
tanks = ["upper", "lower"]

[[draw]]
name = "house"
kind = "household"
people = 2
per_person = "70 L/day"

[[draw]]
name = "ewes"
kind = "livestock"
animals = { "doe, dry" = 5 }
may_use_reserve = true

[[draw]]
name = "beds"
kind = "garden"
area = "15 m2"
crop = "tomato"
planted = "05-10"
soil = "sandy loam"
stops_below = "20 %"

[reserve]
volume = "500 L"

[[backup]]
name = "well"
kind = "direct"
serves = ["house"]
per_day = "60 L/day"
cost_per_volume = "4 per m3"

[[backup]]
name = "hauler"
kind = "refill"
into = "lower"
starts_below = "4 %"
load = "4 m3"
cost_per_load = 90
lead_days = 9
"""

PLAIN = """
title = "Dry Run (invented): one roof, one tank"
show_units = "metric"

[weather]
file = "own-gauge.csv"

[[roof]]
name = "roof"
area = "100 m2"
runoff_coefficient = 0.9
feeds = "tank"

[[tank]]
name = "tank"
capacity = "8 m3"
diameter = "2.4 m"

[[draw]]
name = "house"
kind = "fixed"
per_day = "120 L/day"
"""


def weather(shape: tuple[int, ...], years: int = 4, seed: int = 1) -> dict[str, Floats]:
    """Rain [mm], t_min and t_max [degC] by day and place: wetter and colder from place to place, dry summers."""
    rng = np.random.default_rng(seed)
    n = int((FIRST.astype("datetime64[Y]") + years - FIRST).astype("timedelta64[D]").astype(int))
    season = np.cos(2 * np.pi * np.arange(n) / 365.25).reshape(n, *[1] * len(shape))
    along = np.linspace(0.0, 1.0, int(np.prod(shape))).reshape(shape)
    wet = rng.random((n, *shape)) < (0.08 + 0.14 * along) * (1.0 + 0.6 * season)
    rain = np.where(wet, rng.exponential(7.0, wet.shape), 0.0).round(1)
    warm = 13.0 - 6.0 * along - 11.0 * season + rng.normal(0.0, 3.0, wet.shape)
    return {"rain": rain, "t_min": warm - 5.0, "t_max": warm + 5.0}


def grid(
    path: Path,
    ny: int = 4,
    nx: int = 5,
    years: int = 4,
    temperatures: bool = True,
    change: dict[tuple[int, ...], float] | None = None,
    engine: str = "h5netcdf",
) -> xr.Dataset:
    """A grid as a climate model would write it: kg m-2 s-1 and K, north first, longitudes from 0 to 360.

    `change` sets rain [mm] at (day, row, column), or of a whole cell at (row, column).
    """
    found = weather((ny, nx), years)
    for at, value in (change or {}).items():
        found["rain"][at if len(at) == 3 else (slice(None), *at)] = value
    dims = ("time", "lat", "lon")
    data = {
        "pr": (dims, found["rain"] / 86400.0, {"units": "kg m-2 s-1", "standard_name": "precipitation_flux"})
    }
    if temperatures:
        data["tasmin"] = (dims, found["t_min"] + 273.15, {"units": "K"})
        data["tasmax"] = (dims, found["t_max"] + 273.15, {"units": "K"})
    coordinates = {
        "time": (
            "time",
            np.arange(len(found["rain"])) + 0.5,
            {"units": f"days since {FIRST}", "calendar": "standard"},
        ),
        "lat": ("lat", 39.5 - 0.5 * np.arange(ny), {"units": "degrees_north", "standard_name": "latitude"}),
        "lon": ("lon", 249.5 + 0.5 * np.arange(nx), {"units": "degrees_east", "standard_name": "longitude"}),
    }
    whole = xr.Dataset(data, coordinates, {"licence": "invented for a test"})
    whole.to_netcdf(path, engine=engine)  # type: ignore[call-overload]
    return whole


def stations(folder: Path, count: int = 5, years: int = 4) -> list[str]:
    """A folder with one CSV file for each station, and places.csv for all of them."""
    folder.mkdir(parents=True)
    found = weather((count,), years)
    days = FIRST + np.arange(len(found["rain"]))
    places = ["file,latitude,longitude,elevation_m"]
    for i in range(count):
        columns = zip(days, *(found[name][:, i] for name in ("rain", "t_min", "t_max")), strict=True)
        rows = [f"{day},{rain:.1f},{low:.2f},{high:.2f}" for day, rain, low, high in columns]
        name = f"creek-{i}.csv"
        (folder / name).write_text("\n".join(["date,rain_mm,t_min_c,t_max_c", *rows]) + "\n")
        places.append(f"{name},{38.0 + 0.2 * i},{-109.0 + 0.3 * i},{1500 + 40 * i}")
    (folder / "places.csv").write_text("\n".join(places) + "\n")
    return [f"creek-{i}.csv" for i in range(count)]
