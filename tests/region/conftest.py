"""The invented holding and a way to run a region in this process."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import pytest
import xarray as xr

from holdwater import load
from holdwater.scenario import ScenarioFile
from holdwater.studies.dials import Grid
from holdwater.studies.region import Region, prepare
from holdwater.studies.region_pieces import Store
from holdwater.studies.region_run import in_threads, run
from tests.region.invented import HOLDING, PLAIN

Write = Callable[..., ScenarioFile]


@pytest.fixture
def holding(tmp_path: Path) -> Write:
    """Writes the invented holding (or another text) and loads it, with changes."""

    def write(*sets: str, text: str = HOLDING) -> ScenarioFile:
        path = tmp_path / "holding.toml"
        path.write_text(text)
        return load(path, sets=sets)

    return write


@pytest.fixture
def plain(holding: Write) -> Write:
    """The same for the holding of one roof and one tank, which needs no temperature."""
    return lambda *sets: holding(*sets, text=PLAIN)


def made(region: Region, folder: Path) -> xr.Dataset:
    """Run a region in this process, one thread."""
    return run(region, Store(folder, region.key), in_threads(1)).data


def everywhere(file: ScenarioFile, path: Path, dials: Grid | None = None) -> xr.Dataset:
    """Run a holding over a grid or a folder of stations."""
    region = prepare(file, path, dials)
    with region.weather.data:
        return made(region, path.parent / "out")
