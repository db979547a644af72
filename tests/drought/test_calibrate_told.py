"""What `holdwater calibrate` says: of logs that fit, that tell only some numbers, and that do not fit."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from holdwater.charts.calibration import calibration_chart, finding
from holdwater.cli import calibrate as command
from holdwater.simulation import simulate
from holdwater.studies.calibrate import Calibration, calibrate
from holdwater.studies.level_log import LevelLog
from tests.charts.runs import foot, title
from tests.drought.test_calibrate import FIRST, TRUE, WRITTEN, barn, log_between, log_of, rain
from tests.drought.test_commands import levels, run, scenario
from tests.holdings import record

__all__ = ["scenario"]


@pytest.fixture(scope="module")
def unnamed() -> Calibration:
    """Four loads that the log does not name."""
    hauler = {"name": "hauler", "kind": "refill", "starts_below": "30 %", "load": "4 m3", "lead_days": 1}
    draw = [{"name": "house", "kind": "fixed", "per_day": "400 L/day"}]
    true = barn(0.80, 90.0, 12.0, backup=[hauler], draw=draw)
    weather = rain(120)
    log = log_between(simulate(true, weather), 0, None, 2, 20.0, 0)
    assert len(log.filled) > 3
    return calibrate(true, weather, LevelLog(log.readings, []))


@pytest.fixture(scope="module")
def rainless() -> Calibration:
    """A log that tells of the leak alone."""
    weather = record([0.0] * 40, FIRST)
    return calibrate(WRITTEN, weather, log_of(TRUE, weather, 2, 0.0, 0))


@pytest.fixture(scope="module")
def right() -> Calibration:
    """A scenario that needs no change."""
    weather = rain(60)
    return calibrate(TRUE, weather, log_of(TRUE, weather, 1, 40.0, 2))


def said(found: Calibration) -> str:
    return "\n".join(command.answer(found, Path("mine.toml"), "metric"))


def test_water_without_a_source_comes_first_among_the_causes(unnamed: Calibration) -> None:
    text = said(unnamed)
    assert text.startswith("This does not fit: 61 readings show ")
    first = next(line for line in text.splitlines() if line.startswith("  1. "))
    assert 'water filled in that the log does not name: write it into a column "filled [gal]"' in first
    assert "the water rose by " in first
    assert (
        f"and {len(unnamed.rises) - 3} times more" in first
        or f"and {len(unnamed.rises) - 3} time more" in first
    )
    assert "(hauler fills the tanks in the scenario, but the log has no such column)" in first
    for word in ("between 0", "To paste", "runoff_coefficient ="):
        assert word not in text
    assert command.remarks(unnamed, "metric") == []


def test_what_does_not_fit_carries_no_interval_anywhere(unnamed: Calibration) -> None:
    told = command.as_data(unnamed, "us", [])
    assert told["outcome"] == "does not fit"
    assert all(one["low"] is None and one["high"] is None for one in told["fitted"])
    assert told["lines"] == []
    assert len(told["causes"]) == 4
    assert sum(rise["volume_L"] for rise in told["rises_without_source"]) > 4000.0
    assert json.loads(json.dumps(told)) == told
    figure = calibration_chart(unnamed, "us")
    assert title(figure).startswith("This does not fit")
    assert "No interval can be claimed" in foot(figure)
    assert "95 %" not in foot(figure)


def test_what_the_log_does_not_tell_is_named_and_left(rainless: Calibration) -> None:
    text = said(rainless)
    assert text.startswith("21 readings say: a leak of 12 L/day; the simulation then misses them by")
    assert "Left as written, because the log does not tell it:" in text
    assert "  runoff coefficient: the log does not feel the runoff: too little rain fell" in text
    assert "  first flush, mean depth: the log does not feel the first flush" in text
    assert "runoff_coefficient =" not in text
    assert 'leak = "12 L/day"' in text
    assert "As written, not told by the log: first flush and runoff." in foot(
        calibration_chart(rainless, "us")
    )
    left = command.as_data(rainless, "us", [])["left_as_written"]
    assert [one["name"] for one in left] == ["first flush", "runoff"]


def test_a_scenario_that_is_right_is_said_to_be(right: Calibration) -> None:
    text = said(right)
    assert text.startswith("61 readings agree with the scenario as written: it misses them by ")
    assert "To paste" not in text
    assert command.as_data(right, "us", [])["lines"] == []
    assert "95 %" not in foot(calibration_chart(right, "us"))


def test_a_number_at_its_end_is_named() -> None:
    weather = rain(60)
    wide = TRUE.roof[0].model_copy(update={"area": 1.35 * TRUE.roof[0].area})
    log = log_of(TRUE.model_copy(update={"roof": [wide]}), weather, 1, 10.0, 0)
    found = calibrate(WRITTEN, weather, log, fit=["runoff"])
    assert found.rises == []
    assert finding(found, "us") == (
        "This does not fit: 61 readings are met best by a runoff coefficient of 1.00, the end of what it can be."
    )


def test_one_log_does_not_say_which_tank_leaks() -> None:
    two = [{"name": n, "capacity": "8 m3", "diameter": "2 m"} for n in ("upper", "lower")]
    link = [{"tanks": ["upper", "lower"]}]
    roof = [
        {"name": "barn", "area": "150 m2", "runoff_coefficient": 0.9, "feeds": "upper"},
    ]
    written = barn(0.9, 60.0, 0.0, tank=two, link=link, roof=roof)
    true = written.model_copy(
        update={"tank": [written.tank[0].model_copy(update={"leak": 16.0}), written.tank[1]]}
    )
    weather = rain(60)
    log = log_between(simulate(true, weather), 0, None, 2, 5.0, 0)
    found = calibrate(written, weather, log, fit=["leak"])
    assert found.fitted[0].value == pytest.approx(16.0, abs=1.0)
    assert any("one log cannot tell which tank leaks" in note for note in command.remarks(found, "us"))


def test_without_fit_the_command_finds_what_it_can(scenario: Path) -> None:
    text = run("calibrate", str(scenario), "--levels", str(levels(scenario, 3, 60)))
    assert text.startswith("60 readings say: a runoff coefficient of 0.")
    assert "leak = " in text


def test_dates_written_month_first_are_read_and_noted(scenario: Path) -> None:
    log = levels(scenario, 3, 60)
    lines = log.read_text("utf-8").splitlines()
    american = [lines[0]]
    for line in lines[1:]:
        (year, month, day), level = line.split(",")[0].split("-"), line.split(",")[1]
        american.append(f"{int(month)}/{int(day)}/{year},{level}")
    iso = json.loads(run("calibrate", str(scenario), "--levels", str(log), "--json"))
    log.write_text("\n".join(american) + "\n", "utf-8")
    told = json.loads(run("calibrate", str(scenario), "--levels", str(log), "--json"))
    assert told["fitted"] == iso["fitted"]
    assert any("levels: dates read as month, day, year, as line" in note for note in told["notes"])
