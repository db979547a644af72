"""The demo holding over four of its years, among them the driest, and small scenario files; all invented."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import pytest

from holdwater.scenario import ScenarioFile, load
from holdwater.studies.batch import Site
from holdwater.weather import read_weather
from holdwater.weather.record import Record

DEMO = Path(__file__).parents[2] / "scenarios" / "larkfield.toml"
YEARS = ["run.from=2001-01-01", "run.to=2004-12-31"]
ONE_TANK = """
title = "One tank (invented)"
show_units = "metric"
[weather]
file = "none.csv"
[run]
rule = "YBS"
start_full = 1.0
[[roof]]
name = "roof"
area = "1000 m2"
runoff_coefficient = 1.0
feeds = "tank"
[[tank]]
name = "tank"
capacity = "5 m3"
diameter = "2 m"
[[draw]]
name = "house"
kind = "fixed"
per_day = "1 m3/day"
"""


@pytest.fixture(scope="session")
def demo() -> ScenarioFile:
    """The demo holding, four years."""
    return load(DEMO, YEARS)


@pytest.fixture(scope="session")
def demo_record(demo: ScenarioFile) -> Record:
    """Its weather."""
    run = demo.scenario.run
    return read_weather(demo.scenario.weather, DEMO.parent, first=run.from_, last=run.to)


@pytest.fixture
def demo_site(demo: ScenarioFile, demo_record: Record) -> Site:
    """Its weather as studies have it."""
    return Site.of(demo.scenario, demo_record)


@pytest.fixture
def one_tank(tmp_path: Path) -> Callable[..., ScenarioFile]:
    """Write a scenario of one tank and read it with changes; 1 mm of rain is 1 m3 of inflow."""

    def write(*sets: str, text: str = ONE_TANK) -> ScenarioFile:
        path = tmp_path / "one-tank.toml"
        path.write_text(text, "utf-8")
        return load(path, sets)

    return write
