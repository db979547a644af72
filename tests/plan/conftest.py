"""Plans of invented holdings, made once; the command; a browser where there is one."""

from __future__ import annotations

import datetime as dt
import os
import shutil
import sys
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import NamedTuple

import pytest

from holdwater.cli import main
from holdwater.plan.browser import CHROMIUMS
from holdwater.plan.plan import gather, page
from holdwater.plan.section import Asked, Matter, Section
from holdwater.scenario import load
from holdwater.scores import score
from holdwater.simulation import simulate
from holdwater.weather import read_weather
from tests.plan.devtools import Chromium
from tests.plan.holdings import EVERYTHING, HOSTILE, HOSTILE_FILE, weather_csv

ON = dt.date(2020, 12, 1)


class Plan(NamedTuple):
    """A plan and what it was made of."""

    matter: Matter
    sections: dict[str, Section]
    html: str


def made(folder: Path, text: str, holding: list[str], weather: str = "weather.csv") -> Plan:
    """Run a scenario and make its plan; nothing is written."""
    (folder / "holding.toml").write_text(text, "utf-8")
    (folder / weather).write_text(weather_csv(), "utf-8")
    file = load(folder / "holding.toml")
    record = read_weather(file.scenario.weather, folder, place=file.scenario.place)
    ledger = simulate(file.scenario, record)
    ledger.warnings.extend(file.warnings)
    scores = score(ledger)
    wanted = Asked(holding, ON, "holdwater plan holding.toml")
    sections = gather(file, ledger, scores, wanted, record)
    html = page(file.scenario.title, sections, wanted)
    return Plan(Matter(file, ledger, scores, wanted, record), {s.key: s for s in sections}, html)


@pytest.fixture(scope="session")
def everything(tmp_path_factory: pytest.TempPathFactory) -> Plan:
    """The plan of a holding with every part, and water in its tanks today."""
    return made(tmp_path_factory.mktemp("everything"), EVERYTHING, ["40 %"])


@pytest.fixture(scope="session")
def hostile(tmp_path_factory: pytest.TempPathFactory) -> Plan:
    """The plan of a holding with hostile words in every place."""
    return made(tmp_path_factory.mktemp("hostile"), HOSTILE, [], HOSTILE_FILE)


class Done(NamedTuple):
    """What a command left behind."""

    code: int
    out: str
    err: str


Command = Callable[..., Done]


@pytest.fixture
def here(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A working folder with `holding.toml` and its `weather.csv`, and no browser."""
    (tmp_path / "holding.toml").write_text(EVERYTHING, "utf-8")
    (tmp_path / "weather.csv").write_text(weather_csv(), "utf-8")
    monkeypatch.chdir(tmp_path)
    monkeypatch.setenv("HOLDWATER_BROWSER", "none")
    return tmp_path


@pytest.fixture
def holdwater(here: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]) -> Command:
    """The command, run in this process."""

    def typed(*words: str | Path) -> Done:
        monkeypatch.setattr(sys, "argv", ["holdwater", *map(str, words)])
        with pytest.raises(SystemExit) as end:
            main()
        out, err = capsys.readouterr()
        assert "Traceback" not in out + err
        assert end.value.code is None or isinstance(end.value.code, int)
        return Done(end.value.code or 0, out, err)

    return typed


@pytest.fixture(scope="session")
def chromium(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Chromium]:
    """A real browser without a window; the tests that want one skip, and say so, where there is none."""
    found = next((path for name in CHROMIUMS if (path := shutil.which(name))), None)
    if found is None:
        pytest.skip("NOT CHECKED IN A BROWSER: no chromium or google-chrome on the path")
    with Chromium(found, tmp_path_factory.mktemp("profile"), root=os.geteuid() == 0) as browser:
        yield browser
