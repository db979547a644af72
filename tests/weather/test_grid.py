"""CF netCDF: units, calendars, longitudes, Kelvin, fill values, cells and points. Invented data."""

from __future__ import annotations

import gzip
from pathlib import Path
from typing import Any

import numpy as np
import pytest
import xarray as xr

from holdwater.errors import InputError
from holdwater.scenario.schema import Place, Weather
from holdwater.weather import Record, read_weather
from holdwater.weather.formats.grid import plain_unit
from holdwater.weather.formats.grid_time import to_days
from tests.weather.files import rain_of

N = 40
RAIN = np.where(np.arange(N) % 3 == 0, (np.arange(N) % 11) * 1.5, 0.0)  # mm per day
HOME = Place(latitude=38.4, longitude=-109.2)


def grid(
    values: np.ndarray | None = None,
    units: str | None = "kg m-2 s-1",
    lat: tuple[float, ...] = (37.5, 38.5, 39.5),
    lon: tuple[float, ...] = (250.0, 251.0, 252.0),
    calendar: str = "standard",
    since: str = "days since 2001-01-01 12:00",
    time: np.ndarray | None = None,
    **attributes: Any,
) -> xr.Dataset:
    """Three by three cells; the rain of a cell is RAIN times (1 + its row + its column / 10)."""
    share = 1 + np.arange(len(lat))[:, None] + np.arange(len(lon))[None, :] / 10
    rain = RAIN[:, None, None] * share / 86400.0 if values is None else values
    pr = xr.DataArray(rain, dims=("time", "lat", "lon"), attrs=attributes)
    if units is not None:
        pr.attrs["units"] = units
    time = np.arange(N, dtype=float) if time is None else time
    return xr.Dataset(
        {"pr": pr},
        coords={
            "time": ("time", time, {"units": since, "calendar": calendar}),
            "lat": ("lat", np.array(lat), {"standard_name": "latitude"}),
            "lon": ("lon", np.array(lon), {"standard_name": "longitude"}),
        },
    )


def through(
    folder: Path, data: xr.Dataset, place: Place | None = HOME, engine: Any = "h5netcdf", **keys: Any
) -> Record:
    data.to_netcdf(folder / "pr.nc", engine=engine)
    return read_weather(Weather(file="pr.nc", **keys), folder, place=place)


@pytest.mark.parametrize("engine", ["h5netcdf", "scipy"])
def test_flux_at_the_nearest_cell_with_longitudes_to_360(tmp_path: Path, engine: str) -> None:
    record = through(tmp_path, grid(), engine=engine)
    np.testing.assert_allclose(rain_of(record), RAIN * 2.1, rtol=1e-12)  # row 1 (38.5), column 1 (251 = -109)
    assert [str(record.first), str(record.last)] == ["2001-01-01", "2001-02-09"]
    notes = " | ".join(record.provenance.notes)
    assert "nearest cell 38.500, 251.000, 20.7 km from the holding" in notes
    assert "smaller extremes than a gauge" in notes


@pytest.mark.parametrize(
    ("units", "factor"),
    [
        ("mm/day", 1.0),
        ("mm d-1", 1.0),
        ("mm", 1.0),
        ("kg m-2", 1.0),
        ("kg/m^2/s", 86400.0),
        ("kg m**-2 s**-1", 86400.0),
        ("m s-1", 86400.0e3),
        ("mm/h", 24.0),
        ("m", 1000.0),
        ("in/day", 25.4),
        ("0.1 mm", 0.1),
    ],
)
def test_units_of_rates_and_amounts(tmp_path: Path, units: str, factor: float) -> None:
    values = np.broadcast_to(RAIN[:, None, None] / factor, (N, 3, 3)).copy()
    record = through(tmp_path, grid(values, units))
    np.testing.assert_allclose(rain_of(record), RAIN, rtol=1e-12)
    assert record.provenance.units_as_read == f"rain in {units}"


def test_spellings_of_a_unit() -> None:
    assert {plain_unit(u) for u in ("kg m-2 s-1", "kg/m2/s", "kg.m-2.s-1", "KG M^-2 S^-1")} == {"kg m-2 s-1"}


def test_no_units_and_unknown_units_are_refused(tmp_path: Path) -> None:
    with pytest.raises(InputError, match=r"variable 'pr' has no units; say rain_unit = \"mm\""):
        through(tmp_path, grid(units=None))
    with pytest.raises(InputError, match=r"variable 'pr' is in 'furlong', which is not known"):
        through(tmp_path, grid(units="furlong"))
    values = np.broadcast_to(RAIN[:, None, None], (N, 3, 3)).copy()
    np.testing.assert_allclose(rain_of(through(tmp_path, grid(values, None), rain_unit="mm")), RAIN)


def test_kelvin_and_cell_methods(tmp_path: Path) -> None:
    data = grid()
    air = {"standard_name": "air_temperature", "units": "K"}
    for name, kelvin, method in (("low", 270.15, "minimum"), ("high", 290.15, "maximum")):
        data[name] = xr.full_like(data["pr"], kelvin).assign_attrs(air | {"cell_methods": f"time: {method}"})
    record = through(tmp_path, data)
    assert record.column("t_min") == pytest.approx(np.full(N, -3.0))
    assert record.column("t_max") == pytest.approx(np.full(N, 17.0))


def test_temperatures_without_a_unit(tmp_path: Path) -> None:
    data = grid()
    data["tasmin"] = xr.zeros_like(data["pr"]).assign_attrs(units="")
    with pytest.raises(InputError, match=r"variable 'tasmin' is in ''; say temperature_unit"):
        through(tmp_path, data)


def test_fill_values_declared_or_not(tmp_path: Path) -> None:
    values = np.broadcast_to(RAIN[:, None, None], (N, 3, 3)).copy()
    values[5], values[6] = -9999.0, 9.96921e36
    data = grid(values, "mm")
    data["pr"].encoding["_FillValue"] = -9999.0
    record = through(tmp_path, data, missing_days="zero")
    assert record.provenance.missing == 2


def test_drizzle_of_a_model_is_no_rain(tmp_path: Path) -> None:
    values = np.broadcast_to(RAIN[:, None, None], (N, 3, 3)).copy()
    values[values == 0] = 1e-12
    values[1] = -1e-9
    record = through(tmp_path, grid(values, "mm"))
    np.testing.assert_array_equal(rain_of(record), RAIN)
    assert any("below 0.001 mm a day taken for 0" in n for n in record.provenance.notes)


def test_sea_gives_way_to_the_nearest_cell_with_values(tmp_path: Path) -> None:
    values = np.broadcast_to(RAIN[:, None, None], (N, 3, 3)).copy()
    values[:, 1, 1] = np.nan
    record = through(tmp_path, grid(values, "mm"))
    np.testing.assert_allclose(rain_of(record), RAIN)
    assert any("the 1 nearest cells have no values (sea?)" in n for n in record.provenance.notes)


def test_a_place_outside_the_grid(tmp_path: Path) -> None:
    with pytest.raises(
        InputError, match=r"nearest cell is \d+ km from 52.0, 8.0; the grid covers latitude 37.50 to"
    ):
        through(tmp_path, grid(), Place(latitude=52, longitude=8))


def test_a_grid_needs_a_place(tmp_path: Path) -> None:
    with pytest.raises(
        InputError, match=r"is a grid; write the holding's latitude and longitude under \[place\]"
    ):
        through(tmp_path, grid(), None)


def test_curvilinear_coordinates(tmp_path: Path) -> None:
    data = grid(lat=(0.0, 1.0, 2.0), lon=(0.0, 1.0, 2.0)).rename(lat="y", lon="x")
    lat, lon = np.meshgrid([37.5, 38.5, 39.5], [-110.0, -109.0, -108.0], indexing="ij")
    data = data.drop_vars(["y", "x"]).assign_coords(
        latitude=(("y", "x"), lat, {"standard_name": "latitude"}),
        longitude=(("y", "x"), lon, {"standard_name": "longitude"}),
    )
    np.testing.assert_allclose(rain_of(through(tmp_path, data)), RAIN * 2.1, rtol=1e-12)


def test_named_points(tmp_path: Path) -> None:
    rain = xr.DataArray(RAIN[:, None] * [1.0, 2.0], dims=("time", "station"), attrs={"units": "mm"})
    data = xr.Dataset(
        {"rain": rain, "station_name": ("station", ["mill", "ridge"])},
        coords={"time": ("time", np.arange(N), {"units": "days since 2001-01-01"})},
    )
    with pytest.raises(
        InputError, match=r"weather file 'pr.nc' holds 2 stations: mill, ridge; choose with station"
    ):
        through(tmp_path, data)
    record = through(tmp_path, data, station="ridge")
    np.testing.assert_allclose(rain_of(record), RAIN * 2)
    assert record.provenance.station == "ridge"


def test_a_single_point_needs_no_place(tmp_path: Path) -> None:
    data = grid(lat=(38.0,), lon=(-109.0,))
    np.testing.assert_allclose(rain_of(through(tmp_path, data, None)), RAIN)
    assert any("54" in n or "km" in n for n in through(tmp_path, data).provenance.notes)


def test_more_dimensions_are_refused(tmp_path: Path) -> None:
    data = grid().expand_dims(member=[1, 2])
    with pytest.raises(InputError, match=r"'pr' also runs over member; pick one"):
        through(tmp_path, data)


def test_two_rains_are_asked_for(tmp_path: Path) -> None:
    data = grid()
    data["rain"] = data["pr"] * 2
    data["rain"].attrs["units"] = "kg m-2 s-1"
    with pytest.raises(
        InputError, match=r"more than one variable of rain: 'pr', 'rain'; .* choose with rain_column"
    ):
        through(tmp_path, data)
    np.testing.assert_allclose(rain_of(through(tmp_path, data, rain_column="rain")), RAIN * 4.2)
    with pytest.raises(InputError, match=r'rain_column = "snow" is no variable'):
        through(tmp_path, data, rain_column="snow")


def test_steps_that_are_not_days(tmp_path: Path) -> None:
    with pytest.raises(InputError, match=r"has several steps a day; a daily record is needed"):
        through(tmp_path, grid(since="hours since 2001-01-01"))
    with pytest.raises(InputError, match=r"has a step of 30 days"):
        through(tmp_path, grid(time=np.arange(N) * 30.0))


def test_bounds_tell_the_day_a_stamp_at_midnight_belongs_to(tmp_path: Path) -> None:
    data = grid(since="days since 2001-01-01", time=np.arange(1, N + 1, dtype=float))
    data["time"].attrs["bounds"] = "time_bnds"
    data["time_bnds"] = (("time", "b"), np.stack([np.arange(N), np.arange(1, N + 1)], axis=1).astype(float))
    assert str(through(tmp_path, data).first) == "2001-01-01"


def test_damaged_files_and_keys_without_effect(tmp_path: Path) -> None:
    (tmp_path / "pr.nc").write_bytes(b"\x89HDF\r\n\x1a\n" + b"\x00" * 200)
    with pytest.raises(InputError, match=r"cannot be opened as netCDF"):
        read_weather(Weather(file="pr.nc"), tmp_path, place=HOME)
    with pytest.raises(InputError, match=r'format = "netcdf", on which decimal has no effect'):
        through(tmp_path, grid(), decimal=",")
    with pytest.raises(InputError, match=r'is netCDF, not format = "csv"'):
        through(tmp_path, grid(), format="csv")


def civil(values: list[float], units: str, calendar: str) -> list[str]:
    return [str(d) for d in to_days(np.array(values, dtype=float), units, calendar, "here")]


def test_calendars() -> None:
    assert civil([58, 59], "days since 2004-01-01", "noleap") == ["2004-02-28", "2004-03-01"]
    assert civil([58, 59], "days since 2004-01-01", "standard") == ["2004-02-28", "2004-02-29"]
    assert civil([0, 365], "days since 2001-01-01", "365_day") == ["2001-01-01", "2002-01-01"]
    assert civil([0, 366], "days since 2004-01-01", "all_leap") == ["2004-01-01", "2005-01-01"]
    assert civil([24, 47.9], "hours since 2001-01-01", "gregorian") == ["2001-01-02", "2001-01-02"]
    assert civil([0.5], "days since 1850-1-1 12:00:00", "") == ["1850-01-02"]
    assert civil([86400 * 31], "seconds since 2001-01-01T00:00:00Z", "proleptic_gregorian") == ["2001-02-01"]


def test_a_year_of_360_days_is_laid_over_the_civil_year() -> None:
    days = civil(list(range(360)), "days since 2001-01-01", "360_day")
    assert (days[0], days[180], days[-1]) == ("2001-01-01", "2001-07-03", "2001-12-31")
    assert len(set(days)) == 360


@pytest.mark.parametrize(
    ("units", "calendar", "match"),
    [
        ("days", "standard", "time axis has the units 'days'"),
        ("fortnights since 2001-01-01", "standard", "time axis has the units"),
        ("days since 2001-13-01", "standard", "counts from 2001-13-1, which is no day"),
        ("days since 2001-01-31", "lunar", "calendar 'lunar' is not read"),
        ("days since 0001-01-01", "standard", "outside the years 1650 to 2150"),
        ("days since 2001-02-29", "noleap", "no day of 'noleap'"),
    ],
)
def test_time_axes_that_cannot_be_read(units: str, calendar: str, match: str) -> None:
    with pytest.raises(InputError, match=match):
        civil([0.0], units, calendar)


def test_leap_days_a_calendar_lacks_are_missing_and_named(tmp_path: Path) -> None:
    data = grid(calendar="noleap", since="days since 2004-02-01")
    with pytest.raises(InputError, match=r"1 day has no rain value .* on 2004-02-29"):
        through(tmp_path, data)
    record = through(tmp_path, data, missing_days="zero")
    assert any("calendar is 'noleap'; civil days it lacks are missing" in n for n in record.provenance.notes)


@pytest.mark.parametrize("engine", ["h5netcdf", "scipy"])
def test_a_packed_grid(tmp_path: Path, engine: str) -> None:
    plain = through(tmp_path, grid(), engine=engine)
    (tmp_path / "pr.nc.gz").write_bytes(gzip.compress((tmp_path / "pr.nc").read_bytes()))
    packed = read_weather(Weather(file="pr.nc.gz"), tmp_path, place=HOME)
    np.testing.assert_array_equal(rain_of(packed), rain_of(plain))
