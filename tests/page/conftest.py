"""A scenario and its page for the tests of this folder."""

from __future__ import annotations

import shutil
from collections.abc import Iterator
from pathlib import Path

import pytest

from tests.page.chromium import Chromium, started
from tests.page.holding import Page, served, write

DEMO = Path(__file__).parents[2] / "scenarios"


@pytest.fixture
def scenario(tmp_path: Path) -> Path:
    """The small holding, fresh."""
    return write(tmp_path)


@pytest.fixture(scope="module")
def page(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Page]:
    """Its page, served for all tests of a file; they leave the scenario as it is."""
    with served(write(tmp_path_factory.mktemp("served"))) as running:
        yield running


@pytest.fixture(scope="module")
def browser(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Chromium]:
    """One browser for all tests."""
    with started(tmp_path_factory.mktemp("profile")) as running:
        running.size(1360, 900)
        yield running


@pytest.fixture(scope="module")
def demo(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Page]:
    """The demo's page, on a copy of its files."""
    folder = tmp_path_factory.mktemp("demo")
    for name in ("larkfield.toml", "larkfield-weather.csv"):
        shutil.copy(DEMO / name, folder)
    with served(folder / "larkfield.toml") as running:
        yield running
