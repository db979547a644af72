"""Intervals for every design of a sweep: those of its own run, from the same drawn years for all."""

from __future__ import annotations

import csv
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
import xarray as xr

from holdwater.cli.sweep import ask
from holdwater.errors import InputError
from holdwater.scenario import ScenarioFile, load
from holdwater.scores import score
from holdwater.simulation import simulate
from holdwater.studies import kernels, redrawn, sweep_estimate
from holdwater.studies.batch import Site
from holdwater.studies.confidence import confidence
from holdwater.studies.dials import Grid, dial
from holdwater.studies.redrawn import NUMBERS, Drawing, of_grid, run_redrawn
from holdwater.studies.resample import interval, intervals, resample
from holdwater.studies.sweep import Sweep, sweep
from holdwater.studies.sweep_confidence import SweepConfidence, sweep_confidence
from holdwater.studies.sweep_estimate import Estimate, estimate
from holdwater.studies.sweep_files import dataset, write_csv, write_nc
from holdwater.weather import read_weather
from holdwater.weather.record import Record
from tests.studies.conftest import DEMO

SAMPLES = 19
SWEEPS = {
    "parts built apart": ["roof.barn.area=1000 ft2..3000 ft2:3", "tank.upper.capacity=3000 gal,7500 gal"],
    "one part, another structure": [
        "tank.upper.capacity=3000 gal,9000 gal",
        "tank.lower.capacity=5000 gal,7500 gal",
    ],
    "other tables of days": ["draw.house.people=2..4", "draw.tomatoes.method=drip,sprinkler"],
    "words": ["run.rule=YAS,YBS"],
}


@pytest.fixture(scope="module")
def ten() -> ScenarioFile:
    """The demo holding over ten of its years, beginning in the middle of one."""
    return load(DEMO, ["run.from=1996-07-01", "run.to=2006-12-31"])


@pytest.fixture(scope="module")
def ten_record(ten: ScenarioFile) -> Record:
    run = ten.scenario.run
    return read_weather(
        ten.scenario.weather, DEMO.parent, first=run.from_, last=run.to, place=ten.scenario.place
    )


def turned(*asked: str) -> Grid:
    return Grid(tuple(dial(each) for each in asked))


def drawn(ten: ScenarioFile, record: Record, grid: Grid, seed: int = 3, block: int = 1) -> SweepConfidence:
    return sweep_confidence(ten, grid, Drawing(record, SAMPLES, seed, 1, block))


@pytest.mark.parametrize("name", SWEEPS)
def test_the_interval_of_a_design_is_that_of_its_own_run(
    name: str, ten: ScenarioFile, ten_record: Record
) -> None:
    """To the bit, for the first design, the last, and the scenario as it is."""
    grid = turned(*SWEEPS[name])
    found = drawn(ten, ten_record, grid, block=2)
    for i in (0, grid.size - 1):
        at = [int(k) for k in np.unravel_index(i, grid.shape)]
        alone = confidence(grid.file(ten, range(len(at)), at).scenario, ten_record, SAMPLES, 3, 2)
        assert set(alone) == set(NUMBERS)
        for number, each in alone.items():
            assert (found.low[number][i], found.high[number][i]) == (each.interval.low, each.interval.high)
    for number, each in confidence(ten.scenario, ten_record, SAMPLES, 3, 2).items():
        assert found.present_low[number] == each.interval.low
        assert found.present_high[number] == each.interval.high


def test_every_design_runs_through_the_same_drawn_records(ten: ScenarioFile, ten_record: Record) -> None:
    """Each number of a run is what a plain simulation of that design tells of that drawn record."""
    grid = turned("roof.barn.area=1000 ft2,3000 ft2")
    told = run_redrawn(ten.scenario, Drawing(ten_record, SAMPLES, 5), of_grid(ten, grid), 3)
    assert told.shape == (len(NUMBERS), SAMPLES, 3)
    for sample in (0, 11):
        record = resample(ten_record, (5, sample))
        for i in (0, 1):
            run = ten.scenario.run.model_copy(update={"from_": None, "to": None})
            scenario = grid.file(ten, [0], [i]).scenario.model_copy(update={"run": run})
            scores = score(simulate(scenario, record))
            years = record.days.size / 365.25
            here = dict(zip(NUMBERS, told[:, sample, i], strict=True))
            assert here["dry_days_per_year"] == scores.dry_days.total / years
            assert here["unserved_days_per_year"] == scores.unserved_days / years
            assert here["dry_years_share"] == np.mean([n > 0 for n in scores.dry_days.by_year.values()])
            assert here["reliability_volume"] == pytest.approx(scores.reliability_volume, rel=1e-12)
            assert here["backup_cost_per_year"] == pytest.approx(scores.cost / years, rel=1e-12)


def test_the_same_seed_gives_the_same_bits_whatever_the_pieces(
    ten: ScenarioFile, ten_record: Record, monkeypatch: pytest.MonkeyPatch
) -> None:
    grid = turned("roof.barn.area=1000 ft2..3000 ft2:3")
    one = run_redrawn(ten.scenario, Drawing(ten_record, SAMPLES, 7), of_grid(ten, grid), 4)
    monkeypatch.setattr(redrawn, "AT_ONCE", 9)  # two records at a time
    monkeypatch.setattr(redrawn, "MOST_KEPT", 1)
    two = run_redrawn(ten.scenario, Drawing(ten_record, SAMPLES, 7), of_grid(ten, grid), 4)
    other = run_redrawn(ten.scenario, Drawing(ten_record, SAMPLES, 8), of_grid(ten, grid), 4)
    assert one.tobytes() == two.tobytes()
    assert one.tobytes() != other.tobytes()
    monkeypatch.setattr(kernels, "PLAIN", 0.0)
    for store in ("_COMPILED", "_SPENT"):
        monkeypatch.setattr(kernels, store, {})
    few = replace(Drawing(ten_record, SAMPLES, 7))
    plain = run_redrawn(ten.scenario, few, of_grid(ten, turned("roof.barn.area=1000 ft2")), 2)
    assert plain[:, :, 0].tobytes() == one[:, :, 0].tobytes()


def test_designs_are_set_against_the_present_record_by_record(ten: ScenarioFile, ten_record: Record) -> None:
    grid = turned("draw.house.people=2..4")
    dry = run_redrawn(ten.scenario, Drawing(ten_record, SAMPLES, 3), of_grid(ten, grid), 4)[0]
    found = drawn(ten, ten_record, grid)
    assert found.fewer.tolist() == [int((dry[:, i] < dry[:, 3]).sum()) for i in range(3)]
    assert found.more.tolist() == [int((dry[:, i] > dry[:, 3]).sum()) for i in range(3)]
    assert (found.fewer[1], found.more[1]) == (0, 0), "three people are the present"
    assert found.fewer[0] > SAMPLES // 2
    assert found.more[2] > SAMPLES // 2


def test_many_intervals_are_those_worked_out_one_by_one() -> None:
    values = np.random.default_rng(1).poisson(3.0, (40, 25)) / 7.3
    values[5, 3] = np.nan
    values[:25, 4] = np.nan
    low, high = intervals(values, 0.9)
    for i in range(25):
        if i != 4:
            one = interval(values[:, i], 0.9)
            assert (low[i], high[i]) == (one.low, one.high)
    assert np.isnan([low[4], high[4]]).all(), "fifteen samples are too few"


def test_bounds_are_missing_where_nothing_is_asked(ten: ScenarioFile, ten_record: Record) -> None:
    bare = ten.vary([("draw-", name) for name in ("goats and hens", "tomatoes", "beans")])
    found = drawn(bare, ten_record, turned("draw.house.people=0,3"))
    assert np.isnan(found.low["reliability_volume"]).tolist() == [True, False]
    assert (found.low["dry_days_per_year"][0], found.high["dry_days_per_year"][0]) == (0.0, 0.0)


# ------------------------------------------------------------------------------------------- refusals


def test_short_records_long_blocks_and_few_samples_are_refused_at_once(ten_record: Record) -> None:
    nine = ten_record.between(ten_record.first, ten_record.last.replace(year=2005))
    with pytest.raises(InputError, match="needs 10 complete years; this record has 9; bring a longer"):
        Drawing(nine)
    with pytest.raises(InputError, match="blocks of 11 years cannot be drawn from 10 years; use 1 to 10"):
        Drawing(ten_record, block=11)
    with pytest.raises(
        InputError, match="needs 19 samples or more; there are 18: draw more, such as --samples"
    ):
        Drawing(ten_record, 18)


# ---------------------------------------------------------------------------------------------- files


@pytest.fixture(scope="module")
def small(ten: ScenarioFile, ten_record: Record) -> Sweep:
    """Six designs with their intervals."""
    grid = turned("roof.barn.area=1000 ft2..3000 ft2:3", "tank.upper.capacity=3000 gal,7500 gal")
    found = sweep(ten, Site.of(ten.scenario, ten_record), grid)
    return replace(found, confidence=drawn(ten, ten_record, grid))


def test_the_dataset_has_bounds_with_how_they_were_drawn(small: Sweep, tmp_path: Path) -> None:
    data = dataset(small)
    assert small.confidence is not None
    for name in NUMBERS:
        for end, bounds in (("low", small.confidence.low), ("high", small.confidence.high)):
            variable = data[f"{name}_{end}"]
            assert variable.dims == ("roof_barn_area", "tank_upper_capacity")
            assert (variable.values.ravel() == bounds[name]).all()
            assert (variable.attrs["level"], variable.attrs["samples"]) == (0.9, SAMPLES)
            assert (variable.attrs["seed"], variable.attrs["block"]) == (3, 1)
            assert "bound of 90 % of the records drawn by lot" in variable.attrs["long_name"]
            assert variable.attrs["units"] == NUMBERS[name][0]
    assert (data["dry_days_per_year_low"] <= data["dry_days_per_year_high"]).all()
    assert data["dry_days_per_year"].attrs["ancillary_variables"] == (
        "dry_days_per_year_low dry_days_per_year_high"
    )
    share = data["fewer_dry_days_share"].values.ravel()
    assert share == pytest.approx(small.confidence.fewer / SAMPLES)
    write_nc(tmp_path / "sweep.nc", small)
    with xr.open_dataset(tmp_path / "sweep.nc", engine="h5netcdf", decode_timedelta=False) as back:
        xr.testing.assert_identical(back.load(), data)
    plain = dataset(replace(small, confidence=None))
    assert not [name for name in plain.data_vars if str(name).endswith(("_low", "_high", "_share"))]
    assert "ancillary_variables" not in plain["dry_days_per_year"].attrs


def test_the_table_has_the_bounds_of_every_design(small: Sweep, tmp_path: Path) -> None:
    assert small.confidence is not None
    write_csv(tmp_path / "sweep.csv", small)
    with (tmp_path / "sweep.csv").open(newline="") as file:
        rows = list(csv.DictReader(file))
    for name, units in (("dry_days_per_year", " [day]"), ("reliability_volume", "")):
        for end, bounds in (("low", small.confidence.low), ("high", small.confidence.high)):
            column = [float(row[f"{name}_{end}{units}"]) for row in rows]
            assert column == pytest.approx(bounds[name], rel=1e-5)


# ------------------------------------------------------------------------------------------ the guard


def test_the_estimate_counts_samples_times_designs(ten: ScenarioFile, ten_record: Record) -> None:
    grid = turned("roof.barn.area=500..3000 ft2:60", "tank.upper.capacity=3000..9000 gal:60")
    site = Site.of(ten.scenario, ten_record)
    assert estimate(ten, site, grid) is None, "3,600 designs alone are not worth a word"
    some, many = (estimate(ten, site, grid, Drawing(ten_record, n)) for n in (100, 1000))
    assert some is not None
    assert many is not None
    assert (some.runs, many.runs) == (3600 * 101, 3600 * 1001)
    assert many.seconds > 2 * some.seconds, "both are measured, on a machine that may be busy"
    assert many.megabytes - some.megabytes > 8 * len(NUMBERS) * 900 * 3600 / 1e6
    assert many.asks
    with pytest.raises(InputError) as told:
        ask(many, yes=False)
    assert "3,600 designs in this record and in 1,000 drawn by lot, 3,603,600 runs in all, will take" in str(
        told.value
    )
    assert (
        "add --yes to run them all the same, or take fewer values: LOW..HIGH:COUNT, or fewer --samples"
        in str(told.value)
    )
    ask(many, yes=True)
    ask(Estimate(6, 20.0, 300.0, 200), yes=False)


def test_a_few_designs_are_not_estimated(ten: ScenarioFile, ten_record: Record) -> None:
    grid = turned("roof.barn.area=1000 ft2..3000 ft2:5")
    site = Site.of(ten.scenario, ten_record)
    assert sweep_estimate.MANY_DRAWN > 10 * 5 * 201
    assert estimate(ten, site, grid, Drawing(ten_record, 200)) is None
