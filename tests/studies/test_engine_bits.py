"""The written loop and the interpreted one give the same bits, for any holding in any weather.

The written source is run as it stands, in plain Python, for many structures of holding; and compiled, for
a few that have everything.
"""

from __future__ import annotations

import copy
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from hypothesis import HealthCheck, given, settings

from holdwater.ledger import Ledger
from holdwater.scenario.schema import Scenario
from holdwater.scores import Scores, lows, score
from holdwater.simulation import simulate
from holdwater.studies import compiled, kernels
from holdwater.studies.batch import Batch, Site
from holdwater.studies.engine import Outcome, run_all
from holdwater.studies.program import Kernels
from holdwater.units import read
from holdwater.weather.record import Record
from tests.holdings import holding
from tests.studies.whole import rains, seeds, sky, whole_holdings


def agree(outcome: Outcome, i: int, ledger: Ledger, scores: Scores) -> None:
    """Every score of a design is that of its own single run, to the bit."""
    totals = scores.totals_L
    assert outcome.dry_days[i] == scores.dry_days.total
    assert outcome.unserved_days[i] == scores.unserved_days
    assert outcome.held_back_days[i] == scores.held_back.total
    assert outcome.longest[i] == max((spell.days for spell in scores.dry_spells), default=0)
    for name in ("asked", "delivered", "inflow", "overflow"):
        assert outcome.numbers[name][i] == totals[name], name
    lowest = lows(ledger).min()
    assert outcome.lowest[i] == pytest.approx(
        lowest, rel=1e-12, abs=1e-9
    )  # a difference of sums in the ledger
    assert outcome.supplied[:, i].sum() == pytest.approx(totals["backup"], rel=1e-12)
    assert outcome.loads[:, i].sum() == scores.loads
    assert outcome.cost[i] == pytest.approx(scores.cost, rel=1e-12)
    stressed = np.asarray(ledger.flux("stressed") > 0).any(axis=0).sum()
    assert outcome.stressed_days[i] == stressed
    assert outcome.by_year["dry_days"][:, i].tolist() == [year.dry_days for year in scores.years]
    assert outcome.by_year["unserved_days"][:, i].tolist() == [year.unserved_days for year in scores.years]
    assert outcome.years.tolist() == [year.year for year in scores.years]


def single(scenario: Scenario, record: Record) -> tuple[Ledger, Scores]:
    ledger = simulate(scenario, record)
    return ledger, score(ledger)


def written_run(scenario: Scenario, record: Record) -> Outcome:
    """One design through the written source, uncompiled."""
    site = Site.of(scenario, record)
    ready = site.ready(scenario)
    batch = Batch(site, ready, scenario.run.year_starts)
    use = Kernels.of(batch.program, compiled.plain(batch.program.source))
    into = Outcome.empty(np.unique(site.record.days.astype("datetime64[Y]").astype(int) + 1970), 0, 9, 1)
    batch.keep(into, np.array([0]), batch.run_plainly(use, batch.program.column(ready)))
    return into


@settings(max_examples=250, deadline=None, suppress_health_check=[HealthCheck.too_slow])
@given(whole_holdings(), rains, seeds)
def test_the_written_source_gives_the_bits_of_the_loop(
    parts: dict[str, Any], rain: list[float], seed: int
) -> None:
    scenario, record = holding(**parts), sky(rain, seed)
    agree(written_run(scenario, record), 0, *single(scenario, record))


# ---------------------------------------------------------------------------------------- compiled

RAIN = np.random.default_rng(5).gamma(0.25, 14.0, 70).round(1).tolist()
TANKS = [
    {"name": "tank 0", "capacity": "6000 L", "overflow": "1.8 m", "outlet": "100 mm", "leak": "15 L/day"},
    {"name": "tank 1", "capacity": "4000 L", "overflow": "2 m", "base": "150 mm", "evaporation_factor": 1.1},
    {"name": "tank 2", "capacity": "1500 L", "overflow": "1.5 m", "overflow_to": "tank 0"},
]
ROOFS = [
    {
        "name": "barn",
        "area": "120 m2",
        "runoff_coefficient": 0.85,
        "wetting_loss": "0.5 mm",
        "first_flush": {"volume": "80 L", "drains_in": "2 days", "to": "bed"},
        "feeds": {"tank 0": 0.6, "tank 1": 0.4},
    },
    {
        "name": "shed",
        "area": "40 m2",
        "runoff_coefficient": 0.9,
        "filter_efficiency": 0.9,
        "snow_lost": 0.2,
        "collects": {"from": "12-25", "to": "02-20"},
        "feeds": "tank 2",
    },
]
HOUSE = {
    "name": "house",
    "kind": "household",
    "people": 3,
    "per_person": "95 L/day",
    "steps": [{"below": "40 %", "per_person": "60 L/day"}],
}
GOATS = {"name": "goats", "kind": "livestock", "animals": {"doe, dry": 8}, "may_use_reserve": True}
BED = {
    "name": "bed",
    "kind": "garden",
    "area": "60 m2",
    "crop": "tomato",
    "planted": "12-24",
    "soil": "sandy loam",
    "method": "sprinkler",
    "stops_below": "25 %",
}
WELL = {
    "name": "well",
    "kind": "direct",
    "per_day": "60 L/day",
    "serves": ["house"],
    "cost_per_volume": "2 per m3",
}
HAULER = {
    "name": "hauler",
    "kind": "refill",
    "into": "tank 0",
    "starts_below": "12 %",
    "load": "1500 L",
    "cost_per_load": 90,
    "lead_days": 3,
}
PUMP = {
    "name": "pump",
    "from_tank": "tank 2",
    "to_tank": "tank 0",
    "starts_below": "70 %",
    "per_day": "400 L/day",
}
VALVE = {"tanks": ["tank 0", "tank 1"], "closed": [{"from": "2001-01-06", "to": "2001-01-19"}]}
EVERYTHING: dict[str, Any] = {
    "roof": ROOFS,
    "tank": TANKS,
    "link": [VALVE],
    "draw": [HOUSE, GOATS, BED],
    "reserve": {"volume": "250 L"},
    "transfer": [PUMP],
    "backup": [WELL, HAULER],
}
STRUCTURES: dict[str, dict[str, Any]] = {
    "everything, YAS": EVERYTHING | {"run": {"rule": "YAS"}},
    "everything, YBS": EVERYTHING | {"run": {"rule": "YBS"}},
    "one tank, one draw, YAS": {
        "run": {"rule": "YAS"},
        "roof": [dict(ROOFS[1], feeds="tank 2")],
        "tank": [dict(TANKS[2], overflow_to="ground")],
        "draw": [HOUSE],
        "backup": [],
    },
}


def designs(parts: dict[str, Any], number: int) -> list[Scenario]:
    """So many holdings of one structure with other numbers: areas, capacities, people, start."""
    drawn = np.random.default_rng(11)
    made = []
    for _ in range(number):
        new = copy.deepcopy(parts)
        for roof in new["roof"]:
            roof["area"] = f"{read(roof['area'], 'area') * drawn.uniform(0.2, 3.0):.3f} m2"
        for tank in new["tank"]:
            tank["capacity"] = f"{read(tank['capacity'], 'volume') * drawn.uniform(0.3, 2.5):.3f} L"
        new["draw"][0]["people"] = float(drawn.integers(0, 5))
        new["run"]["start_full"] = float(drawn.choice([0.0, 0.5, 1.0]))
        made.append(holding(**new))
    return made


@pytest.mark.parametrize("name", STRUCTURES)
def test_compiled_designs_side_by_side_give_the_bits_of_single_runs(
    name: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    """More designs than a block holds, so that one block is only partly filled."""
    monkeypatch.setattr(kernels, "PLAIN", 1e9)
    record = sky(RAIN, 4)
    scenarios = designs(STRUCTURES[name], 70)
    site = Site.of(scenarios[0], record)
    done: list[int] = []
    outcome = run_all(site, [site.ready(each) for each in scenarios], told=done.append)
    assert sum(done) == 70
    assert outcome.dry_days.max() > outcome.dry_days.min(), "designs that all fare alike show little"
    for i in (0, 1, 17, 40, 63, 64, 69):
        agree(outcome, i, *single(scenarios[i], record))


@pytest.mark.parametrize("name", STRUCTURES)
def test_plain_and_compiled_give_the_same_bits(name: str, monkeypatch: pytest.MonkeyPatch) -> None:
    record = sky(RAIN, 4)
    scenarios = designs(STRUCTURES[name], 5)
    site = Site.of(scenarios[0], record)
    readies = [site.ready(each) for each in scenarios]
    batch = Batch(site, readies[0], 1)
    columns = np.stack([batch.program.column(ready) for ready in readies], axis=1)
    fast = Kernels.of(batch.program, compiled.load(batch.program.source))
    plain = Kernels.of(batch.program, compiled.plain(batch.program.source))
    memory, by_year = batch.run(fast, columns)
    for i in range(5):
        one, years = batch.run_plainly(plain, columns[:, i])
        assert np.array_equal(one[:, 0], memory[:, i])
        assert np.array_equal(years[..., 0], by_year[..., i])


def test_designs_of_different_structures_run_together() -> None:
    """A hauler, beds or a third tank in some only; each is in its own place in the outcome."""
    record = sky(RAIN, 4)
    scenarios = [each for parts in STRUCTURES.values() for each in designs(parts, 2)]
    site = Site.of(scenarios[-1], record)  # the first one asked asks for no evapotranspiration
    outcome = run_all(site, [site.ready(each) for each in reversed(scenarios)])
    assert outcome.supplied.shape[0] == 2
    for i, each in enumerate(reversed(scenarios)):
        agree(outcome, i, *single(each, record))


# ------------------------------------------------------------------------------- which way is chosen


@pytest.fixture
def fresh(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    """Nothing written, compiled or spent so far."""
    monkeypatch.setenv("HOLDWATER_CACHE", str(tmp_path))
    for store in ("_WRITTEN", "_COMPILED", "_PLAIN", "_SPENT"):
        monkeypatch.setattr(kernels, store, {})
    compiled.load.cache_clear()


@pytest.mark.usefixtures("fresh")
def test_few_designs_are_not_compiled_for_and_many_are(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    said: list[str] = []
    parts = STRUCTURES["one tank, one draw, YAS"]
    scenarios = designs(parts, 3)
    site = Site.of(scenarios[0], sky(RAIN, 4), said.append)
    run_all(site, [site.ready(each) for each in scenarios])
    assert not list(tmp_path.rglob("*.py"))
    assert said == []
    monkeypatch.setattr(kernels, "PLAIN", 1.0)
    few = run_all(site, [site.ready(each) for each in scenarios])
    assert said == ["compiling the days for this holding, once", "running the designs"]
    (kept,) = tmp_path.rglob("holding_*.py")
    assert "def days_0(M, D, first, last):" in kept.read_text()
    assert few.dry_days.size == 3


@pytest.mark.usefixtures("fresh")
def test_time_spent_in_plain_python_adds_up_until_compiling_pays(monkeypatch: pytest.MonkeyPatch) -> None:
    scenarios = designs(STRUCTURES["one tank, one draw, YAS"], 1)
    site = Site.of(scenarios[0], sky(RAIN, 4))
    ready = [site.ready(scenarios[0])]
    run_all(site, ready)
    (key,) = kernels._SPENT
    assert 0.0 < kernels._SPENT[key] < 1.0
    assert not kernels._COMPILED
    monkeypatch.setitem(kernels._SPENT, key, 1e6)
    run_all(site, ready)
    assert list(kernels._COMPILED) == [key]


@pytest.mark.usefixtures("fresh")
def test_compiled_code_is_kept_under_the_hash_of_its_text(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """So another physics, holding or compiler is another file, and none can be stale."""
    site = Site.of(designs(STRUCTURES["one tank, one draw, YAS"], 1)[0], sky(RAIN, 4))
    source = Batch(site, site.ready(designs(STRUCTURES["one tank, one draw, YAS"], 1)[0]), 1).program.source
    assert not compiled.is_kept(source)
    compiled.load(source)
    assert compiled.is_kept(source)
    changed = source.replace("1e-06", "1e-05")
    assert changed != source
    assert not compiled.is_kept(changed)
    monkeypatch.setattr(compiled.metadata, "version", lambda name: "0.0.0")
    assert not compiled.is_kept(source), "another version of the compiler"


def test_a_cache_that_cannot_be_written_does_not_matter(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    blocked = tmp_path / "file"
    blocked.write_text("no folder")
    monkeypatch.setenv("HOLDWATER_CACHE", str(blocked))
    place = compiled.folder()
    assert place.is_dir()
    assert tmp_path not in place.parents


def test_a_division_by_zero_that_is_not_chosen_is_carried_through() -> None:
    """Compiled code works out both sides of a choice; so does the plain one."""
    source = (
        "def days_0(M, D, first, last):\n    for day in range(first, last):\n        for k in range(64):\n"
        "            v0 = M[0 + k]\n            v1 = 1.0 / v0\n            v2 = v0 > 0.0\n"
        "            v3 = v1 if v2 else 7.0\n            M[64 + k] = v3\n"
    )
    use = Kernels([compiled.plain(source).days_0], {})
    (end,) = kernels.run_plain(use, np.array([0.0, 0.0]), [], [(0, 1, 0, 0)])
    assert end == [0.0, 7.0]
