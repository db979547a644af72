"""Every place of a region is a single run: the same numbers, and the same refusals. Invented weather."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import numpy as np
import pytest
import xarray as xr

from holdwater import score, simulate
from holdwater.charts.region_words import sources
from holdwater.errors import InputError
from holdwater.scenario import ScenarioFile
from holdwater.scenario.schema import Place, Scenario
from holdwater.scores import Scores
from holdwater.studies.dials import Grid, dial
from holdwater.studies.region import prepare
from holdwater.studies.region_place import SCORES, State
from holdwater.weather import read_weather
from tests.region.conftest import Write, everywhere
from tests.region.invented import grid, stations


def single(scenario: Scenario, path: Path, north: float, east: float) -> Scores:
    """A single run at a place, the way `holdwater run` makes it."""
    place = Place(latitude=north, longitude=(east + 180.0) % 360.0 - 180.0)
    weather = type(scenario.weather)(file=path.name).model_copy(
        update={"missing_days": scenario.weather.missing_days, "change": scenario.weather.change}
    )
    there = scenario.model_copy(update={"place": place, "weather": weather})
    span = scenario.run
    record = read_weather(weather, path.parent, first=span.from_, last=span.to, place=place)
    return score(simulate(there, record))


def assert_same(cell: xr.Dataset, run: Scores, years: float) -> None:
    """Counts are equal; sums are equal but for the order in which they were added up."""
    assert cell["state"] == State.RUN
    assert cell["dry_days"] == run.dry_days.total
    assert cell["dry_days_per_year"] == run.dry_days.per_year
    longest = run.longest_dry_spell
    assert cell["longest_dry_spell"] == (longest.days if longest else 0)
    assert cell["unserved_days"] == run.unserved_days
    assert cell["held_back_days"] == run.held_back.total
    most = max(run.dry_days.by_year.values())
    assert cell["dry_days_of_worst_year"] == most
    if most:
        assert cell["worst_year"] == next(y for y, n in run.dry_days.by_year.items() if n == most)
    else:
        assert np.isnan(cell["worst_year"])
    close = {"rel": 1e-12, "abs": 1e-12}
    assert float(cell["reliability_volume"]) == pytest.approx(run.reliability_volume, **close)
    assert float(cell["backup_per_year"]) == pytest.approx(run.totals_L["backup"] / years, **close)
    assert float(cell["loads_per_year"]) == pytest.approx(run.loads / years, **close)
    assert float(cell["cost_per_year"]) == pytest.approx(run.cost / years, **close)
    assert float(cell["lowest_storage"]) == pytest.approx(min(y.lowest_storage_L for y in run.years), **close)


def test_a_sample_of_cells_equals_single_runs(holding: Write, tmp_path: Path) -> None:
    grid(tmp_path / "pr.nc", 4, 5)
    file = holding()
    data = everywhere(file, tmp_path / "pr.nc")
    assert data["dry_days"].max() > 100 > data["dry_days"].min()  # the holding is tried, not idle
    assert (data["backup_per_year"] > 0).any()
    for row, column in ((0, 0), (1, 3), (2, 2), (3, 4)):
        cell = data.isel(lat=row, lon=column)
        run = single(file.scenario, tmp_path / "pr.nc", float(cell["lat"]), float(cell["lon"]))
        assert_same(cell, run, 1461 / 365.25)


def test_the_days_of_the_run_are_the_scenarios(holding: Write, tmp_path: Path) -> None:
    grid(tmp_path / "pr.nc", 2, 2)
    file = holding("run.from=2002-03-01", "run.to=2003-10-31", "run.rule=YBS")
    data = everywhere(file, tmp_path / "pr.nc")
    assert (data["days"] == 610).all()
    run = single(file.scenario, tmp_path / "pr.nc", 39.0, 250.0)
    assert_same(data.isel(lat=1, lon=1), run, 610 / 365.25)
    assert (data.attrs["first_day"], data.attrs["last_day"]) == ("2002-03-01", "2003-10-31")


def test_stations_equal_single_runs(holding: Write, tmp_path: Path) -> None:
    names = stations(tmp_path / "stations")
    file = holding()
    data = everywhere(file, tmp_path / "stations")
    assert data["station"].values.tolist() == [name.removesuffix(".csv") for name in names]
    for i in (0, 3):
        here = data.isel(station=i)
        assert (float(here["latitude"]), float(here["longitude"])) == (38.0 + 0.2 * i, -109.0 + 0.3 * i)
        run = single(
            file.scenario, tmp_path / "stations" / names[i], float(here["latitude"]), float(here["longitude"])
        )
        assert_same(here, run, 1461 / 365.25)


def test_stations_of_different_years_each_run_their_own(plain: Write, tmp_path: Path) -> None:
    stations(tmp_path / "stations", 2)
    path = tmp_path / "stations" / "creek-1.csv"
    lines = path.read_text().splitlines()
    path.write_text("\n".join([lines[0], *lines[366:]]) + "\n")  # without 2001
    data = everywhere(plain(), tmp_path / "stations")
    assert data["days"].values.tolist() == [1461, 1096]
    run = single(plain().scenario, path, 38.2, -108.7)
    assert_same(data.isel(station=1), run, 1096 / 365.25)


def test_a_dial_runs_its_designs_in_every_place(holding: Write, tmp_path: Path) -> None:
    grid(tmp_path / "pr.nc", 2, 3)
    file = holding()
    dials = Grid((dial("draw.house.people=1,3"), dial("tank.lower.capacity=5 m3, 9 m3")))
    data = everywhere(file, tmp_path / "pr.nc", dials)
    varied = data["varied_dry_days_per_year"]
    assert varied.dims == ("lat", "lon", "draw.house.people", "tank.lower.capacity")
    assert data["tank.lower.capacity"].values.tolist() == [5000.0, 9000.0]
    for people, capacity in ((0, 1), (1, 0)):
        changed = dials.file(file, (0, 1), (people, capacity))
        run = single(changed.scenario, tmp_path / "pr.nc", 39.0, 250.5)
        there = varied.isel(
            {"lat": 1, "lon": 2, "draw.house.people": people, "tank.lower.capacity": capacity}
        )
        assert float(there) == run.dry_days.per_year
    present = single(file.scenario, tmp_path / "pr.nc", 39.0, 250.5)
    assert_same(data.isel(lat=1, lon=2), present, 1461 / 365.25)


def test_weather_changed_on_purpose_is_changed_everywhere(holding: Write, tmp_path: Path) -> None:
    grid(tmp_path / "pr.nc", 1, 2)
    file = holding("weather.change=rain x 0.7 in summer, +2 degC")
    data = everywhere(file, tmp_path / "pr.nc")
    assert_same(
        data.isel(lat=0, lon=1), single(file.scenario, tmp_path / "pr.nc", 39.5, 250.0), 1461 / 365.25
    )
    assert (data["dry_days"] > everywhere(holding(), tmp_path / "pr.nc")["dry_days"]).all()
    assert data.attrs["weather_change"] == "rain x 0.7 in summer (June to August), +2 degC"
    assert "Changed on purpose: rain x 0.7 in summer (June to August), +2 degC." in sources(data)[0]
    refuses(holding("weather.change=rain x 0.7 on Sundays"), tmp_path / "pr.nc", "rain x 0.7 on Sundays")


SEA, GAP, STORM = (0, 0), (1, 1), (1, 2)
HOLES = {SEA: np.nan, (100, *GAP): np.nan, (101, *GAP): np.nan, (300, *STORM): 3000.0}


@pytest.mark.parametrize("policy", ["refuse", "zero", "climate"])
def test_missing_rain_is_marked_and_counted_never_dry(holding: Write, tmp_path: Path, policy: str) -> None:
    grid(tmp_path / "pr.nc", 2, 3, years=7, change=HOLES)
    file = holding(f"weather.missing_days={policy}")
    data = everywhere(file, tmp_path / "pr.nc")
    states = {at: State(int(data["state"].values[at])) for at in (SEA, GAP, STORM, (0, 1))}
    filled = policy != "refuse"
    assert states == {
        SEA: State.NO_DATA,
        GAP: State.RUN if filled else State.MISSING_DAYS,
        STORM: State.IMPLAUSIBLE,
        (0, 1): State.RUN,
    }
    for name in SCORES:
        values = data[name].values
        assert np.isnan(values[SEA])
        assert np.isnan(values[STORM])
        assert np.isnan(values[GAP]) == (not filled) or name == "worst_year"
    assert data["missing_days"].values[GAP] == 2
    assert data["filled_days"].values[GAP] == (2 if filled else 0)
    assert data["missing_days"].values[0, 1] == 0
    assert "more rain than was ever measured" in str(data["fault"].values[STORM])
    if filled:
        run = single(file.scenario, tmp_path / "pr.nc", 39.0, 250.0)
        assert_same(data.isel(lat=1, lon=1), run, float(data["days"][GAP]) / 365.25)
    else:
        assert "2 days have no rain value" in str(data["fault"].values[GAP])
        with pytest.raises(InputError, match="2 days have no rain value"):
            single(file.scenario, tmp_path / "pr.nc", 39.0, 250.0)


def test_a_neighbour_fills_every_place(plain: Write, tmp_path: Path) -> None:
    names = stations(tmp_path / "stations", 1)
    grid(tmp_path / "pr.nc", 1, 2, change={(50, 0, 1): np.nan})
    (tmp_path / "near.csv").write_text((tmp_path / "stations" / names[0]).read_text())
    file = plain("weather.missing_days=neighbour", "weather.neighbour=near.csv")
    data = everywhere(file, tmp_path / "pr.nc")
    assert data["filled_days"].values.tolist() == [[0, 1]]
    assert (data["state"] == State.RUN).all()


def test_a_cell_that_starts_late_does_not_cover_the_run(plain: Write, tmp_path: Path) -> None:
    late = {(day, 0, 1): np.nan for day in range(40)}
    grid(tmp_path / "pr.nc", 1, 2, change=late)
    data = everywhere(plain("weather.missing_days=zero"), tmp_path / "pr.nc")
    assert data["state"].values.tolist() == [[State.RUN, State.NOT_COVERED]]
    assert data["missing_days"].values.tolist() == [[0, 40]]


def test_a_calendar_without_29_february_has_missing_days(plain: Write, tmp_path: Path) -> None:
    """One day in four years; by the policy it is refused, or filled and counted, never silently dry."""
    whole = grid(tmp_path / "pr.nc", 1, 2, temperatures=False)
    noleap = whole.isel(time=np.arange(1460))
    noleap["time"].attrs["calendar"] = "noleap"
    noleap.to_netcdf(tmp_path / "noleap.nc", engine="h5netcdf")
    refused = everywhere(plain(), tmp_path / "noleap.nc")
    assert (refused["state"] == State.MISSING_DAYS).all()
    assert "2004-02-29" in str(refused["fault"].values[0, 0])
    filled = everywhere(plain("weather.missing_days=zero"), tmp_path / "noleap.nc")
    assert (filled["state"] == State.RUN).all()
    assert (filled["days"] == 1461).all()
    assert (filled["filled_days"] == 1).all()


def test_how_the_own_gauge_is_read_does_not_touch_the_grid(holding: Write, tmp_path: Path) -> None:
    """The holding's own file is in inches; a grid in kg m-2 s-1 stays what it is."""
    whole = grid(tmp_path / "pr.nc", 1, 2)
    data = everywhere(holding(), tmp_path / "pr.nc")
    mm = (whole["pr"].values * 86400.0).sum(axis=0) / 4.0
    np.testing.assert_allclose(data["rain_per_year"].values, mm, rtol=1e-9)


def test_keys_of_the_grid_itself_hold(plain: Write, tmp_path: Path) -> None:
    whole = grid(tmp_path / "pr.nc", 1, 2, temperatures=False)
    bare = whole.rename(pr="wetness")
    bare["wetness"] = (bare["wetness"] * 86400.0).assign_attrs(units="")
    bare.to_netcdf(tmp_path / "own.nc", engine="h5netcdf")
    keys = ("weather.file=own.nc", "weather.rain_column=wetness", "weather.rain_unit=mm")
    data = everywhere(plain(*keys), tmp_path / "own.nc")
    mm = (whole["pr"].values * 86400.0).sum(axis=0) / 4.0
    np.testing.assert_allclose(data["rain_per_year"].values, mm, rtol=1e-9)
    with pytest.raises(InputError, match=r"has no units; .* hold for the file that weather.file names"):
        prepare(plain("weather.rain_unit=mm"), tmp_path / "own.nc")


def varieties(whole: xr.Dataset) -> dict[str, xr.Dataset]:
    """The same grid in other forms that CF allows."""
    lat, lon = xr.broadcast(whole["lat"], whole["lon"])
    skewed = whole.rename(lat="y", lon="x").drop_vars(["y", "x"])
    skewed = skewed.assign_coords(
        lat=(("y", "x"), lat.values, lat.attrs), lon=(("y", "x"), lon.values, lon.attrs)
    )
    points = whole.stack(site=("lat", "lon")).reset_index("site")
    points = points.assign(name=("site", [f"p{i}" for i in range(points.sizes["site"])]))
    return {
        "longitude first": whole.transpose("time", "lon", "lat"),
        "space first": whole.transpose("lat", "lon", "time"),
        "with a height": whole.expand_dims(height=[2.0], axis=1),
        "two-dimensional coordinates": skewed,
        "a list of points": points,
    }


@pytest.mark.parametrize(
    "form",
    ["longitude first", "space first", "with a height", "two-dimensional coordinates", "a list of points"],
)
def test_forms_of_a_grid_give_the_same_numbers(holding: Write, tmp_path: Path, form: str) -> None:
    whole = grid(tmp_path / "pr.nc", 2, 3)
    expected = everywhere(holding(), tmp_path / "pr.nc")["dry_days"].values
    (tmp_path / "other").mkdir()
    path = tmp_path / "other" / "pr.nc"
    varieties(whole)[form].to_netcdf(path, engine="h5netcdf")
    found = everywhere(holding(), path)["dry_days"]
    values = found.values.T if form == "longitude first" else found.values.reshape(expected.shape)
    np.testing.assert_array_equal(values, expected)


def test_classic_netcdf(holding: Write, tmp_path: Path) -> None:
    grid(tmp_path / "new.nc", 2, 2)
    grid(tmp_path / "old.nc", 2, 2, engine="scipy")
    new, old = (everywhere(holding(), tmp_path / name) for name in ("new.nc", "old.nc"))
    np.testing.assert_array_equal(new["dry_days"].values, old["dry_days"].values)


def refuses(file: ScenarioFile, path: Path, says: str, *vary: str) -> None:
    dials = Grid(tuple(dial(each) for each in vary)) if vary else None
    with pytest.raises(InputError, match=says):
        prepare(file, path, dials)


def test_what_cannot_be_a_region_is_refused_at_once(holding: Write, plain: Write, tmp_path: Path) -> None:
    whole = grid(tmp_path / "pr.nc", 2, 3, temperatures=False)
    path = tmp_path / "pr.nc"
    refuses(holding(), path, "ET0 cannot be computed: no t_min column, no t_max column")
    refuses(plain("run.to=2010-01-01"), path, r"'pr.nc' covers 2001-01-01 to 2004-12-31")
    refuses(plain(), tmp_path / "no.nc", "was not found; name a CF netCDF grid, or a folder")
    refuses(plain(), path, "is no part of the holding", "run.from=2001-01-01,2002-01-01")
    refuses(plain(), path, "asks for 1,100 designs", "tank.tank.capacity=1 m3..9 m3:1100")
    refuses(plain(), path, "did you mean", "tank.tank.capacty=1 m3..9 m3")
    (tmp_path / "empty").mkdir()
    refuses(plain(), tmp_path / "empty", "holds no station file")
    (tmp_path / "text.nc").write_text("no netCDF")
    refuses(plain(), tmp_path / "text.nc", "cannot be opened as netCDF")
    odd: dict[str, Any] = {
        "holds a single place": whole.isel(lat=0, lon=0),
        "has no latitude and longitude": whole.rename(lat="y", lon="x").drop_vars(["y", "x"]),
        "also runs over member": whole.expand_dims(member=[1, 2], axis=1),
        "latitude and longitude must be in degrees": whole.assign_coords(
            lat=("lat", [4.0e6, 4.1e6], {"units": "m", "standard_name": "latitude"})
        ),
    }
    for says, data in odd.items():
        data.to_netcdf(tmp_path / "odd.nc", engine="h5netcdf")
        refuses(plain(), tmp_path / "odd.nc", says)


def test_faults_of_places_are_told_together(plain: Write, tmp_path: Path) -> None:
    stations(tmp_path / "stations", 2)
    (tmp_path / "stations" / "places.csv").write_text(
        "file,latitude,longitude\ncreek-0.csv,138,0\ncreek-9.csv,38,0\n"
    )
    with pytest.raises(InputError) as told:
        prepare(plain(), tmp_path / "stations")
    assert [fault.split(":")[0] for fault in told.value.faults] == [
        "'places.csv', line 2",
        "'places.csv', line 3",
    ]
    (tmp_path / "stations" / "places.csv").write_text("name,lat\nx,1\n")
    refuses(plain(), tmp_path / "stations", "lacks the column file, latitude, longitude")


JUNE, DECEMBER = (6, 7, 8), (12, 1, 2)


def without(path: Path, months: tuple[int, ...]) -> float:
    """Rain in a year of 365.25 days of the first station, those months dry [mm]."""
    lines = (path / "creek-0.csv").read_text().splitlines()[1:]
    rain = [float(line.split(",")[1]) for line in lines if int(line[5:7]) not in months]
    return sum(rain) / len(lines) * 365.25


def test_a_season_is_that_of_each_cell(plain: Write, tmp_path: Path) -> None:
    """One cell on each side of the equator with the same rain: the summer of each is dry, and both are told."""
    found = grid(tmp_path / "pr.nc", 2, 1).load()
    found["pr"].values[:, 1] = found["pr"].values[:, 0]
    found.assign_coords(lat=("lat", [20.0, -20.0], found["lat"].attrs)).to_netcdf(
        tmp_path / "both.nc", engine="h5netcdf"
    )
    data = everywhere(plain("weather.change=rain x 0 in summer"), tmp_path / "both.nc")
    days = np.datetime64("2001-01-01") + np.arange(found.sizes["time"])
    month = days.astype("datetime64[M]").astype(int) % 12 + 1
    rain = found["pr"].values[:, 0, 0] * 86400.0
    north, south = (rain[~np.isin(month, dry)].sum() / days.size * 365.25 for dry in (JUNE, DECEMBER))
    assert data["rain_per_year"].values[:, 0] == pytest.approx([north, south], rel=1e-6)
    assert data.attrs["weather_change"] == (
        "rain x 0 in summer (June to August); south of the equator: rain x 0 in summer (December to February)"
    )


@pytest.mark.parametrize(("latitude", "dry"), [(-33.0, DECEMBER), (33.0, JUNE)])
def test_where_stations_do_not_say_where_they_are_the_holding_does(
    plain: Write, tmp_path: Path, latitude: float, dry: tuple[int, ...]
) -> None:
    stations(tmp_path / "gauges", 2)
    (tmp_path / "gauges" / "places.csv").unlink()
    file = plain("weather.change=rain x 0 in summer", f"place.latitude={latitude}", "place.longitude=18.0")
    data = everywhere(file, tmp_path / "gauges")
    assert float(data["rain_per_year"].values[0]) == pytest.approx(without(tmp_path / "gauges", dry))
    months = "December to February" if dry == DECEMBER else "June to August"
    assert data.attrs["weather_change"] == f"rain x 0 in summer ({months})"
