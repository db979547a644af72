"""The service, a home of its own for every test, and two ways to run the command: here and as a process."""

from __future__ import annotations

import json
import os
import re
import subprocess
import sys
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import pytest

from holdwater.weather.stations.store import Store
from tests.weather_stations.service import Service, running

ROOT = Path(__file__).resolve().parents[2]
SCENARIO = """
title = "Invented holding"
[place]
latitude = 38.4
longitude = -109.2
elevation = "5200 ft"
[weather]
{weather}
[run]
from = {first}
to = {last}
[[roof]]
name = "barn"
area = "1480 ft2"
surface = "metal"
feeds = "upper"
[[tank]]
name = "upper"
capacity = "3000 gal"
diameter = "102 in"
[[draw]]
name = "house"
kind = "fixed"
per_day = "60 gal/day"
"""


@dataclass(frozen=True)
class Done:
    """What a command left behind."""

    code: int
    out: str
    err: str

    @property
    def json(self) -> Any:
        """Standard output as data."""
        return json.loads(self.out)


@dataclass(frozen=True)
class Command:
    """Runs `python -m holdwater` as a user does, with the library led to the loopback service."""

    home: Path
    environment: dict[str, str]

    def start(self, *args: object, **more: str) -> subprocess.Popen[str]:
        """Start a command."""
        return subprocess.Popen(
            [sys.executable, "-m", "holdwater", *map(str, args)],
            env={**self.environment, **more},
            cwd=self.home,
            stdin=subprocess.DEVNULL,
            stdout=subprocess.PIPE,
            stderr=subprocess.PIPE,
            text=True,
        )

    def __call__(self, *args: object, **more: str) -> Done:
        """Run a command to its end; whatever happens, no traceback and no warning reach the user."""
        with self.start(*args, **more) as process:
            try:
                out, err = process.communicate(timeout=60)
            except subprocess.TimeoutExpired:
                process.kill()
                raise
        assert "Traceback" not in err, err
        assert "Warning" not in err, err
        assert process.returncode != 1
        return Done(process.returncode, out, err)


@pytest.fixture
def service() -> Iterator[Service]:
    with running() as made:
        yield made


@pytest.fixture
def home(tmp_path: Path) -> Path:
    return tmp_path


@pytest.fixture
def command(service: Service, home: Path) -> Command:
    kept = {k: v for k, v in os.environ.items() if not k.lower().endswith("_proxy")}
    source = {"PYTHONPATH": str(ROOT / "src"), "HOLDWATER_TIMEOUT": "1.5", "COLUMNS": "120"}
    return Command(home, {**kept, **service.environment(home), **source})


@pytest.fixture
def store(home: Path) -> Store:
    return Store(home / "store")


@pytest.fixture
def here(service: Service, home: Path, monkeypatch: pytest.MonkeyPatch) -> Service:
    """Lead the library in this very process to the service."""
    for name, value in service.environment(home).items():
        if not name.startswith("MS_"):
            monkeypatch.setenv(name, value)
    for name in list(os.environ):
        if name.lower().endswith("_proxy") and name.lower() != "no_proxy":
            monkeypatch.delenv(name)
    monkeypatch.setenv("HOLDWATER_TIMEOUT", "1")
    import meteostat
    from meteostat.providers.meteostat import daily

    environment = service.environment(home)
    monkeypatch.setattr(daily, "ENDPOINT", environment["MS_DAILY_ENDPOINT"])
    monkeypatch.setattr(meteostat.config, "stations_db_endpoints", [service.address + "/stations.db"])
    monkeypatch.setattr(meteostat.config, "stations_db_file", environment["MS_STATIONS_DB_FILE"])
    monkeypatch.setattr(meteostat.config, "cache_directory", environment["MS_CACHE_DIRECTORY"])
    return service


def scenario(folder: Path, weather: str, first: str = "2010-01-01", last: str = "2014-12-31") -> Path:
    """Write an invented holding with this [weather]."""
    path = folder / "holding.toml"
    path.write_text(SCENARIO.format(weather=weather, first=first, last=last), encoding="utf-8")
    return path


def squeezed(text: str) -> str:
    """Text on one line."""
    return re.sub(r"\s+", " ", text)
