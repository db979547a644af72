"""The dials of a holding: what can be turned, that turning changes the scenario, that the slider meets the value."""

from __future__ import annotations

from pathlib import Path

import pytest

from holdwater.errors import InputError
from holdwater.page import typed
from holdwater.page.dials import Dial, slider, step_of, turned
from holdwater.page.which import dials, without_dials
from holdwater.scenario import load
from holdwater.scenario.schema import Fixed
from holdwater.tanks import vessel
from holdwater.units import System
from tests.page.holding import ODD, write

DEMO = Path(__file__).parents[2] / "scenarios" / "larkfield.toml"


NORTH = "roof.'the long \"north\" shed.east'"
MAIN = [
    "roof.barn.area",
    f"{NORTH}.area",
    "roof.barn.first_flush.depth",
    f"{NORTH}.first_flush.volume",
    "tank.upper.capacity",
    "tank.lower.capacity",
    "draw.house.people",
    "draw.house.per_person",
    "draw.beds.area",
    "draw.wash.per_day",
    "reserve.volume",
]
FINE = [
    "roof.barn.runoff_coefficient",
    "roof.barn.filter_efficiency",
    f"{NORTH}.runoff_coefficient",
    f"{NORTH}.filter_efficiency",
    "roof.barn.first_flush.drains_in",
    "tank.upper.outlet",
    "tank.upper.base",
    "tank.upper.leak",
    "tank.lower.outlet",
    "tank.lower.base",
    "tank.lower.leak",
    "draw.house.stops_below",
    "draw.beds.mulch",
    "draw.beds.stops_below",
    "draw.wash.stops_below",
    "backup.hauler.starts_below",
    "backup.hauler.load",
    "backup.hauler.lead_days",
    "backup.hauler.cost_per_load",
    "backup.well.cost_per_volume",
    "run.start_full",
]


def test_every_part_has_its_dials(scenario: Path) -> None:
    known = dials(load(scenario).scenario, "us")
    found = {dial.path: dial for dial in known}
    assert [dial.path for dial in known if not dial.fine] == MAIN
    assert [dial.path for dial in known if dial.fine] == FINE
    assert (found["roof.barn.area"].value, found["roof.barn.area"].unit) == (900.0, "ft2")
    flush = found["roof.barn.first_flush.depth"]
    assert (flush.value, flush.unit) == (0.02, "in")
    # an upright cylinder, 90 in wide and 60 in high, in gallons of 231 cubic inches
    assert found["tank.lower.capacity"].value == pytest.approx(3.14159265 / 4 * 90**2 * 60 / 231, abs=0.5)
    assert found["backup.hauler.lead_days"].unit == "days"
    assert len({(dial.group, dial.label) for dial in known}) == len(known), "no two dials read alike"


def _ends(dial: Dial) -> set[float]:
    steps = [round(dial.value + n * dial.step, 9) for n in (-1, 1, 3)]
    return {dial.low, dial.high} | {value for value in steps if dial.low <= value <= dial.high}


FILES = ["holding.toml", "odd.toml", "demo"]


def _file(folder: Path, name: str) -> Path:
    if name == "demo":
        return DEMO
    write(folder)
    (folder / "odd.toml").write_text(ODD, "utf-8")
    return folder / name


@pytest.mark.parametrize("system", ["us", "metric"])
@pytest.mark.parametrize("name", FILES)
def test_each_dial_turns_what_it_says_and_nothing_else(tmp_path: Path, name: str, system: System) -> None:
    path = _file(tmp_path, name)
    file = load(path)
    known = dials(file.scenario, system)
    before = {dial.path: dial.value for dial in known}
    for dial in known:
        assert turned([dial], {dial.path: dial.value}) == []
        for wanted in _ends(dial) - {dial.value}:
            after = file.vary(changes := turned([dial], {dial.path: wanted}))
            typed_in = load(path, sets=[typed.in_one_line(change) for change in changes])
            assert typed_in.scenario == after.scenario, "the command that is shown makes the same design"
            again = {each.path: each.value for each in dials(after.scenario, system)}
            assert again.get(dial.path, 0.0) == pytest.approx(wanted, rel=1e-3, abs=1e-9), (dial.path, wanted)
            both = (again.keys() & before.keys()) - {dial.path}
            assert {p: again[p] for p in both} == {p: before[p] for p in both}, dial.path
            assert len(both) >= len(before) - 2


@pytest.mark.parametrize("name", FILES)
def test_the_present_value_lies_on_a_step_of_its_slider(tmp_path: Path, name: str) -> None:
    scenario = load(_file(tmp_path, name)).scenario
    for dial in [*dials(scenario, "us"), *dials(scenario, "metric")]:
        assert dial.least <= dial.low <= dial.value <= dial.high <= dial.most or dial.value == 0.0, dial
        steps = (dial.value - dial.low) / dial.step
        assert steps == pytest.approx(round(steps), abs=1e-6), dial


def test_a_tank_given_by_a_table_is_scaled_at_the_same_heights(tmp_path: Path) -> None:
    file = load(_file(tmp_path, "odd.toml"))
    dial = next(dial for dial in dials(file.scenario, "metric") if dial.path == 'tank."a.b".levels')
    # its lip stands at 97 cm: 1234.5 L + 47/50 of the rest to 6007 L
    assert dial.value == pytest.approx(1234.5 + 47 / 50 * (6007 - 1234.5), abs=0.5)
    assert "table of levels" in dial.note
    before, after = (
        vessel(each.scenario.tank[0]) for each in (file, file.vary(dial.changes(2 * dial.value)))
    )
    assert after.levels == before.levels
    assert after.capacity == pytest.approx(2 * dial.value, rel=1e-9)
    assert [v / w for v, w in zip(after.volumes[1:], before.volumes[1:], strict=True)] == pytest.approx(
        [2 * dial.value / before.capacity] * (len(after.volumes) - 1)
    )


def test_a_linked_tank_stays_as_high_as_it_is(scenario: Path) -> None:
    file = load(scenario)
    for name, i in (("upper", 0), ("lower", 1)):
        dial = next(d for d in dials(file.scenario, "us") if d.path == f"tank.{name}.capacity")
        after = file.vary(dial.changes(3000.0)).scenario
        assert vessel(after.tank[i]).lip == vessel(file.scenario.tank[i]).lip
        assert vessel(after.tank[i]).capacity == pytest.approx(3000 * 3.785411784)
        assert "Linked, so it stays as high" in dial.note


def test_twelve_months_turn_together(tmp_path: Path) -> None:
    file = load(_file(tmp_path, "odd.toml"))
    dial = next(d for d in dials(file.scenario, "metric") if d.path == "draw.m.monthly")
    assert dial.value == pytest.approx(170 / 12, abs=0.01)
    after = file.vary(dial.changes(2 * dial.value)).scenario.draw[2]
    assert isinstance(after, Fixed)
    assert after.monthly is not None
    assert sum(after.monthly) / 12 == pytest.approx(2 * dial.value)
    assert after.monthly[6] == pytest.approx(45 * 2 * dial.value * 12 / 170)


def test_a_name_that_no_path_carries_is_told(scenario: Path) -> None:
    text = scenario.read_text("utf-8").replace('"wash"', '"it\'s \\"mine\\""')
    scenario.write_text(text, "utf-8")
    found = load(scenario).scenario
    assert not [dial for dial in dials(found, "us") if "mine" in dial.path]
    assert without_dials(found) == [
        'draw it\'s "mine": a name with both kinds of quotation marks has no dials; rename it in the file'
    ]


@pytest.mark.parametrize("value", [1480.0, 45.0, 7500.0, 28391.0, 0.5, 12.08, 137.5, 66.04, 1.0, 99999.0])
def test_a_slider_meets_the_present_value(value: float) -> None:
    low, step = slider(value)
    steps = (value - low) / step
    assert steps == pytest.approx(round(steps), abs=1e-6)
    assert 14 <= value / step <= 200
    assert 0 <= low < step


def test_values_that_are_no_amounts_are_told_by_name(scenario: Path) -> None:
    known = dials(load(scenario).scenario, "us")
    with pytest.raises(InputError, match="barn roof, area: an amount from 0"):
        turned(known, {"roof.barn.area": -3.0})
    with pytest.raises(InputError, match="barn roof, area: an amount from 0"):
        turned(known, {"roof.barn.area": float("inf")})
    with pytest.raises(InputError, match="reload the page"):
        turned(known, {"weather.file": 1.0})


def test_names_as_steps_of_a_path() -> None:
    assert step_of("barn") == "barn"
    assert step_of("north end") == '"north end"'
    assert step_of('the "big" one') == "'the \"big\" one'"
    assert step_of("""both ' and " signs""") is None
