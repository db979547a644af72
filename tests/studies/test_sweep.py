"""Sweeps: every design is its own single run; the dataset, the table, the estimate."""

from __future__ import annotations

import csv
from pathlib import Path

import numpy as np
import pytest
import xarray as xr

from holdwater.cli.sweep import ask
from holdwater.errors import InputError
from holdwater.scenario import ScenarioFile
from holdwater.scores import score
from holdwater.simulation import simulate
from holdwater.studies import kernels
from holdwater.studies.batch import Site
from holdwater.studies.dials import Grid, dial
from holdwater.studies.sweep import SCORES, Sweep, sweep
from holdwater.studies.sweep_estimate import estimate
from holdwater.studies.sweep_files import dataset, write_csv, write_nc
from holdwater.weather.record import Record
from tests.studies.test_engine_bits import agree

SWEEPS = {
    "roof x capacity": ["roof.barn.area=500 ft2..3000 ft2:9", "tank.upper.capacity=3000 gal..9000 gal:9"],
    "two capacities, one part of the holding": [
        "tank.upper.capacity=3000 gal..9000 gal:5",
        "tank.lower.capacity=3000 gal..9000 gal:5",
    ],
    "width and height of a tank, open and in a link": [
        "tank.lower.capacity=3000 gal..15000 gal:4",
        "tank.lower.evaporation_factor=0,1.1",
        "roof.house.area=1000 ft2,2600 ft2",
    ],
    "a diameter of its own": [
        "tank.lower.capacity=3000 gal..9000 gal:4",
        "tank.lower.diameter=100 in,140 in",
    ],
    "people x garden x first flush": [
        "draw.house.people=1..4",
        "draw.tomatoes.area=50 ft2..400 ft2:4",
        "roof.barn.first_flush.volume=0 gal..90 gal:4",
    ],
    "words, leaks and open tanks": [
        "run.rule=YAS,YBS",
        "draw.beans.method=drip,sprinkler",
        "tank.lower.evaporation_factor=0,1.1",
        "tank.upper.leak=0 gal/day,5 gal/day",
    ],
    "what the hauler does": ["backup.hauler.starts_below=5 %..30 %:6", "backup.hauler.cost_per_load=100,250"],
}


@pytest.mark.parametrize("name", SWEEPS)
@pytest.mark.parametrize("way", ["compiled", "plain"])
def test_every_design_of_a_random_sample_is_its_own_single_run(
    name: str,
    way: str,
    demo: ScenarioFile,
    demo_record: Record,
    demo_site: Site,
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    """Exactly: dry days, delivered and overflow to the bit, and the other scores with them."""
    monkeypatch.setattr(kernels, "PLAIN", 1e9 if way == "compiled" else 0.0)
    for store in ("_COMPILED", "_SPENT") if way == "plain" else ():
        monkeypatch.setattr(kernels, store, {})
    grid = Grid(tuple(dial(asked) for asked in SWEEPS[name]))
    found = sweep(demo, demo_site, grid)
    for i in np.random.default_rng(len(name)).choice(grid.size, 6, replace=False):
        at = [int(k) for k in np.unravel_index(i, grid.shape)]
        scenario = grid.file(demo, range(len(grid.dials)), at).scenario
        ledger = simulate(scenario, demo_record)
        agree(found.outcome, int(i), ledger, score(ledger))
    agree(found.present, 0, (ledger := simulate(demo.scenario, demo_record)), score(ledger))


@pytest.fixture
def small(demo: ScenarioFile, demo_site: Site) -> Sweep:
    """Two dials, six designs."""
    asked = ("roof.barn.area=1000 ft2..3000 ft2:3", "tank.upper.capacity=3000 gal,7500 gal")
    return sweep(demo, demo_site, Grid(tuple(dial(each) for each in asked)))


def test_the_dataset_has_a_dimension_for_every_dial(small: Sweep) -> None:
    data = dataset(small)
    assert dict(data.sizes) == {"roof_barn_area": 3, "tank_upper_capacity": 2, "year": 4}
    assert data["roof_barn_area"].attrs["units"] == "m2"
    assert data["roof_barn_area"].values[0] == pytest.approx(1000 * 0.09290304)
    assert data["tank_upper_capacity"].attrs["present_set_up"] == pytest.approx(7500 * 3.785411784)
    assert set(SCORES) <= set(data.data_vars)
    assert all({"units", "long_name"} <= set(data[name].attrs) for name in data.data_vars)
    assert data.attrs["license"] == "invented for this example"
    assert (data["dry_days_by_year"].sum("year") == data["dry_days"]).all()
    assert (
        float(data["dry_days"].sel(roof_barn_area=139.35, tank_upper_capacity=28390, method="nearest"))
        == (small.outcome.dry_days[1])
    ), "the last dial turns fastest"


def test_netcdf_is_read_back_as_it_was(small: Sweep, tmp_path: Path) -> None:
    write_nc(tmp_path / "sweep.nc", small)
    with xr.open_dataset(tmp_path / "sweep.nc", engine="h5netcdf", decode_timedelta=False) as back:
        xr.testing.assert_identical(back.load(), dataset(small))


def test_words_are_kept_in_netcdf(demo: ScenarioFile, demo_site: Site, tmp_path: Path) -> None:
    found = sweep(demo, demo_site, Grid((dial("run.rule=YAS,YBS"),)))
    write_nc(tmp_path / "rules.nc", found)
    with xr.open_dataset(tmp_path / "rules.nc", engine="h5netcdf", decode_timedelta=False) as back:
        assert back["run_rule"].values.tolist() == ["YAS", "YBS"]


def test_the_table_has_a_row_for_every_design(small: Sweep, tmp_path: Path) -> None:
    write_csv(tmp_path / "sweep.csv", small)
    with (tmp_path / "sweep.csv").open(newline="") as file:
        rows = list(csv.DictReader(file))
    assert [(row["roof.barn.area"], row["tank.upper.capacity"]) for row in rows[:3]] == [
        ("1000 ft2", "3000 gal"),
        ("1000 ft2", "7500 gal"),
        ("2000 ft2", "3000 gal"),
    ]
    assert [float(row["dry_days [day]"]) for row in rows] == small.outcome.dry_days.tolist()
    assert [float(row["delivered [L]"]) for row in rows] == pytest.approx(small.outcome.delivered, rel=1e-9)


def test_the_best_are_the_driest_least_and_of_equals_the_nearest(demo: ScenarioFile, demo_site: Site) -> None:
    found = sweep(
        demo, demo_site, Grid((dial("draw.house.people=0..3"), dial("roof.barn.area=900,1500,4000 ft2")))
    )
    dry = found.outcome.dry_days
    order = found.best(12)
    assert dry[order].tolist() == sorted(dry.tolist())
    none = [i for i in order if dry[i] == 0 and found.outcome.reliability_volume[i] == 1.0]
    people, area = found.axes
    far = [
        abs(people.values[i // 3] - 3) / 3 + abs(area.values[i % 3] - area.present) / np.ptp(area.values)
        for i in none
    ]
    assert len(none) > 2
    assert far == sorted(far)


# ---------------------------------------------------------------------------------------- the guard


def test_ten_million_designs_ask_first(demo: ScenarioFile, demo_site: Site) -> None:
    grid = Grid(
        (dial("roof.barn.area=500..3000 ft2:4000"), dial("draw.house.per_person=10..50 gal/day:2500"))
    )
    expected = estimate(demo, demo_site, grid)
    assert expected is not None
    assert expected.designs == 10_000_000
    assert expected.asks
    with pytest.raises(
        InputError,
        match=r"10,000,000 designs will take about .*(seconds|minutes|hours) and \d.* GB of memory",
    ):
        ask(expected, yes=False)
    with pytest.raises(InputError, match="add --yes to run them all the same, or take fewer values"):
        ask(expected, yes=False)
    ask(expected, yes=True)


def test_a_small_sweep_is_not_asked_about(demo: ScenarioFile, demo_site: Site) -> None:
    grid = Grid((dial("roof.barn.area=500..3000 ft2:100"), dial("tank.upper.capacity=3000..9000 gal:100")))
    assert estimate(demo, demo_site, grid) is None
    ask(None, yes=False)


def test_designs_that_must_be_built_one_by_one_are_reckoned_with(demo: ScenarioFile, demo_site: Site) -> None:
    """Two capacities shape the tanks together: no two designs share a build."""
    apart = Grid((dial("roof.barn.area=500..3000 ft2:400"), dial("tank.upper.capacity=3000..9000 gal:600")))
    together = Grid(
        (dial("tank.lower.capacity=3000..9000 gal:400"), dial("tank.upper.capacity=3000..9000 gal:600"))
    )
    quick, slow = (estimate(demo, demo_site, grid) for grid in (apart, together))
    assert quick is not None
    assert slow is not None
    assert slow.seconds > 2 * quick.seconds
