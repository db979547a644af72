"""The dials of a holding: what can be turned, that turning changes the scenario, that the slider meets the value."""

from __future__ import annotations

from pathlib import Path

import pytest

from holdwater.errors import InputError
from holdwater.page.dials import dials, slider, step_of, turned
from holdwater.scenario import load


def test_every_part_has_its_dials(scenario: Path) -> None:
    found = {dial.path: dial for dial in dials(load(scenario).scenario, "us")}
    assert list(found) == [
        "roof.barn.area",
        "roof.barn.first_flush.depth",
        "roof.'the long \"north\" shed.east'.area",
        "roof.'the long \"north\" shed.east'.first_flush.volume",
        "tank.upper.capacity",
        "tank.lower.capacity",
        "draw.house.people",
        "draw.beds.area",
        "draw.wash.per_day",
    ]
    assert (found["roof.barn.area"].value, found["roof.barn.area"].unit) == (900.0, "ft2")
    assert (found["roof.barn.first_flush.depth"].value, found["roof.barn.first_flush.depth"].unit) == (
        0.02,
        "in",
    )
    # an upright cylinder, 90 in wide and 60 in high, in gallons of 231 cubic inches
    assert found["tank.lower.capacity"].value == pytest.approx(3.14159265 / 4 * 90**2 * 60 / 231, abs=0.5)


@pytest.mark.parametrize("system", ["us", "metric"])
def test_each_dial_turns_what_it_says(scenario: Path, system: str) -> None:
    file = load(scenario)
    for dial in dials(file.scenario, system):  # type: ignore[arg-type]
        assert turned([dial], {dial.path: dial.value}) == []
        wanted = dial.value + 3 * dial.step
        changes = turned([dial], {dial.path: wanted})
        after = file.vary(changes)
        typed = load(scenario, sets=[f"{path}={value}" for path, value in changes])
        assert typed.scenario == after.scenario, "the plan's own command makes the same design"
        again = {each.path: each for each in dials(after.scenario, system)}  # type: ignore[arg-type]
        assert again[dial.path].value == pytest.approx(wanted, rel=1e-3)
        others = {p: d.value for p, d in again.items() if p != dial.path}
        assert others == {d.path: d.value for d in dials(file.scenario, system) if d.path != dial.path}  # type: ignore[arg-type]


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
