"""The frame around every command: help, version, bugs, pipes, letters a terminal does not know."""

from __future__ import annotations

import os
import subprocess
import sys
from pathlib import Path

import pytest

import holdwater as package
from holdwater import simulation
from tests.cli.conftest import Command
from tests.cli.holding import HOLDING

COMMANDS = ("new", "check", "tables", "run", "weather")


def test_help_names_every_command(holdwater: Command) -> None:
    done = holdwater("--help")
    assert (done.code, done.err) == (0, "")
    assert all(name in done.out for name in COMMANDS)


@pytest.mark.parametrize("name", COMMANDS)
def test_every_command_explains_itself(name: str, holdwater: Command) -> None:
    done = holdwater(name, "--help")
    assert (done.code, done.err) == (0, "")
    assert f"Usage: holdwater {name}" in done.out
    if name != "weather":
        assert all(option in done.out for option in ("--json", "--quiet", "--units"))


def test_version(holdwater: Command) -> None:
    assert holdwater("--version") == (0, f"holdwater {package.__version__}\n", "")


def test_no_command_shows_help(holdwater: Command) -> None:
    done = holdwater()
    assert "Usage: holdwater" in done.out + done.err


def test_a_command_that_is_not_there(holdwater: Command) -> None:
    done = holdwater("rnu")
    assert (done.code, done.out) == (2, "")
    assert "rnu" in done.err


def test_a_bug_is_told_in_two_lines_with_exit_code_1(
    holdwater: Command, monkeypatch: pytest.MonkeyPatch
) -> None:
    def fails(*anything: object) -> None:
        raise AssertionError("the ledger does not close")

    monkeypatch.setattr(simulation, "closing_error", fails)
    done = holdwater("run", "holding.toml")
    assert (done.code, done.out) == (1, "")
    first, second = done.err.splitlines()
    assert first == (
        "holdwater: this is a fault of holdwater, not yours: AssertionError: the ledger does not close"
    )
    assert "HOLDWATER_TRACEBACK=1" in second
    monkeypatch.setenv("HOLDWATER_TRACEBACK", "1")
    monkeypatch.setattr(sys, "argv", ["holdwater", "run", "holding.toml"])
    from holdwater.cli import main

    with pytest.raises(AssertionError, match="does not close"):
        main()


@pytest.mark.skipif(os.name == "nt", reason="pipes end otherwise there")
def test_a_reader_that_goes_away_is_no_fault(here: Path) -> None:
    command = f"{sys.executable} -m holdwater tables crops --json | head -1; echo ${{PIPESTATUS[0]}}"
    done = subprocess.run(
        ["bash", "-c", command], cwd=here, capture_output=True, text=True, timeout=60, check=False
    )
    assert done.stdout == "{\n0\n"
    assert done.stderr == ""


def test_letters_that_the_terminal_does_not_know_stop_nothing(here: Path) -> None:
    (here / "holding.toml").write_text(HOLDING.replace("Test holding", "Schäferhof 羊"), encoding="utf-8")
    command = [sys.executable, "-m", "holdwater", "check", "holding.toml"]
    plain = os.environ | {"PYTHONIOENCODING": "ascii", "PYTHONUTF8": "0"}
    for words, said in (([], "Sch?ferhof ?"), (["--json"], r"Sch\u00e4ferhof \u7f8a")):
        done = subprocess.run(
            [*command, *words], cwd=here, capture_output=True, timeout=60, env=plain, check=False
        )
        assert (done.returncode, done.stderr) == (0, b"")
        assert said.encode() in done.stdout
