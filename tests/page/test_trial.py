"""A trial of the page says what a full run says, day by day, interpreted and compiled."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest

from holdwater.page import told, trial
from holdwater.report.verdict import verdict
from holdwater.scenario import load
from holdwater.scores import score
from holdwater.simulation import simulate
from holdwater.studies import compiled
from holdwater.studies.batch import Batch, Site
from holdwater.studies.program import Kernels
from holdwater.weather import read_weather

DEMO = Path(__file__).parents[2] / "scenarios" / "larkfield.toml"
DESIGNS: list[list[tuple[str, object]]] = [
    [],
    [("run.rule", "YBS")],
    [("roof.barn.area", "400 ft2"), ("draw.house.people", 5)],
    [
        ("tank.upper.capacity", "400 gal"),
        ("draw.beds.area", "600 ft2"),
        ("roof.barn.first_flush.depth", "0.1 in"),
    ],
    [("draw.house.people", 0.5)],
]


def _same(path: Path, changes: list[tuple[str, object]]) -> trial.Trial:
    file = load(path).vary(changes)
    scenario, run = file.scenario, file.scenario.run
    record = read_weather(scenario.weather, path.parent, first=run.from_, last=run.to, place=scenario.place)
    ledger = simulate(scenario, record)
    scores = score(ledger)
    found = trial.tried(Site.of(scenario, record), scenario)
    np.testing.assert_array_equal(found.dry, scores.dry_day)
    np.testing.assert_array_equal(found.unserved, scores.unserved_day)
    held = (ledger.flux("held_back") > 0.0).any(axis=0)
    np.testing.assert_array_equal(found.held_back, held)
    np.testing.assert_allclose(found.drawable, ledger.flux("drawable").sum(axis=0)[1:], rtol=1e-12, atol=1e-9)
    np.testing.assert_allclose(found.lacking.sum(), sum(s.deficit_L for s in scores.dry_spells), rtol=1e-6)
    assert found.capacity == pytest.approx(float(ledger.flux("drawable_capacity").sum()), rel=1e-12)
    assert found.reserve == pytest.approx(float(ledger.data["reserve"].values), rel=1e-12)
    assert found.supplied == pytest.approx(ledger.total("supplied"), rel=1e-9)
    assert found.loads == scores.loads
    assert found.cost == pytest.approx(scores.cost, rel=1e-9)
    starts = scenario.run.year_starts
    assert [(y.year, y.days, y.dry_days) for y in scores.years] == told.by_year(found, starts)
    said = told.verdict(found, scenario, record.provenance).split(" Held back by")
    whole = verdict(ledger, scores).split(" Held back by")
    assert said[0] == whole[0], "the same sentence as `holdwater run`"
    assert len(said) == len(whole)
    beds = {bed.name: bed.stress_days for bed in scores.beds}
    assert found.beds == beds
    return found


@pytest.mark.parametrize("changes", DESIGNS, ids=str)
def test_a_trial_is_the_run(scenario: Path, changes: list[tuple[str, object]]) -> None:
    _same(scenario, changes)


def test_the_designs_differ_in_what_is_compared(scenario: Path) -> None:
    dry = [int(_same(scenario, changes).dry.sum()) for changes in DESIGNS]
    assert len(set(dry)) >= 3, dry
    assert min(dry) < max(dry)


def test_a_trial_is_the_run_on_the_demo() -> None:
    found = _same(DEMO, [])
    assert found.days.size == 10_958
    assert found.dry.any()


def test_compiled_and_interpreted_give_the_same_bits(scenario: Path) -> None:
    file = load(scenario)
    record = read_weather(file.scenario.weather, scenario.parent, place=file.scenario.place)
    site = Site.of(file.scenario, record)
    ready = site.ready(file.scenario)
    batch = Batch(site, ready, 1)
    plain = Kernels.of(batch.program, compiled.plain(batch.program.source))
    use, is_compiled = batch.choose(10_000_000)
    assert is_compiled
    column, watched = batch.program.column(ready), trial._watched(batch)
    a, ends_a = trial._step_plainly(batch, plain, column, watched)
    b, ends_b = trial._step_compiled(batch, use, column, watched)
    np.testing.assert_array_equal(a, b)
    np.testing.assert_array_equal(ends_a, ends_b)


def test_tables_of_days_do_not_pile_up(scenario: Path) -> None:
    file = load(scenario)
    site = Site.of(
        file.scenario, read_weather(file.scenario.weather, scenario.parent, place=file.scenario.place)
    )
    for area in range(100, 250):
        trial.tried(site, file.vary([("draw.beds.area", f"{area} ft2")]).scenario)
        assert len(site.memo.rows) <= trial.MOST_TABLES + 20


def test_spells_near_each_other_are_one_drought() -> None:
    flags = np.zeros(100, dtype=bool)
    flags[[10, 11, 42, 73, 74]] = True
    assert trial.joined(flags, 30) == [(10, 12), (42, 43), (73, 75)]
    assert trial.joined(flags, 31) == [(10, 75)]
    assert trial.joined(np.zeros(5, dtype=bool), 30) == []
