"""A small invented holding in a folder of its own, and the command as a user types it."""

from __future__ import annotations

import os
import sys
from collections.abc import Callable
from pathlib import Path
from typing import NamedTuple

import pytest

from holdwater.cli import main
from tests.cli.holding import HOLDING, weather_csv


class Done(NamedTuple):
    """What a command left behind."""

    code: int
    out: str
    err: str


Command = Callable[..., Done]


@pytest.fixture
def here(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A working folder with `holding.toml` and its `weather.csv`."""
    (tmp_path / "holding.toml").write_text(HOLDING, encoding="utf-8")
    (tmp_path / "weather.csv").write_text(weather_csv(), encoding="utf-8")
    monkeypatch.chdir(tmp_path)
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
        code = end.value.code
        assert code is None or isinstance(code, int)
        return Done(code or 0, out, err)

    return typed


def contents(folder: Path) -> dict[str, bytes]:
    """Every file under a folder, hidden ones too, with what is in it."""
    return {
        str(Path(root, name).relative_to(folder)): Path(root, name).read_bytes()
        for root, _, names in os.walk(folder)
        for name in names
    }
