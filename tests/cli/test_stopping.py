"""Stopped half way, by Ctrl-C or by a fault: the old files are whole and nothing else is left."""

from __future__ import annotations

import os
import signal
import subprocess
import sys
from pathlib import Path

import pytest

from holdwater import charts
from tests.cli.conftest import Command, contents

SLOW = """
import sys, time
import holdwater.charts
from holdwater.cli import main
def slowly(*anything):
    print("drawing", flush=True)
    time.sleep(60)
holdwater.charts.save_all = slowly
sys.argv = ["holdwater", "run", "holding.toml", "--out", "out"]
main()
"""


def stopped_while_drawing(here: Path) -> tuple[int, str]:
    """Run until the tables are written and the charts begin, then press Ctrl-C."""
    command = [sys.executable, "-c", SLOW]
    with subprocess.Popen(
        command, cwd=here, stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True
    ) as run:
        assert run.stdout is not None
        assert run.stdout.readline() == "drawing\n"
        staged = [path for path in (here / "out").iterdir() if path.name.startswith(".writing-")]
        assert {p.name for p in staged[0].iterdir()} >= {"summary.json", "ledger.nc"}
        run.send_signal(signal.SIGINT)
        _, err = run.communicate(timeout=20)
    return run.returncode, err


@pytest.mark.skipif(os.name == "nt", reason="Ctrl-C is sent as a signal")
def test_ctrl_c_leaves_the_old_files_whole(here: Path, holdwater: Command) -> None:
    assert holdwater("run", "holding.toml", "--quiet", "--out", "out").code == 0
    before = contents(here)
    assert stopped_while_drawing(here) == (130, "holdwater: stopped; what was there before is untouched\n")
    assert contents(here) == before
    assert not any(path.name.startswith(".") for path in (here / "out").iterdir())


@pytest.mark.skipif(os.name == "nt", reason="Ctrl-C is sent as a signal")
def test_ctrl_c_in_a_first_run_leaves_no_folder(here: Path) -> None:
    assert stopped_while_drawing(here)[0] == 130
    assert not (here / "out").exists()


EARLY = """
import os, signal, sys
class Presses:
    def find_spec(self, name, path, target=None):
        if name == {module!r}:
            sys.meta_path.remove(self)
            os.kill(os.getpid(), signal.SIGINT)
from holdwater.cli import main
sys.meta_path.insert(0, Presses())
sys.argv = ["holdwater", "run", "holding.toml", "--out", "out"]
main()
"""


@pytest.mark.skipif(os.name == "nt", reason="Ctrl-C is sent as a signal")
@pytest.mark.parametrize(
    "module", ["holdwater.cli.app", "holdwater.scenario", "xarray", "matplotlib.figure", "h5netcdf"]
)
def test_ctrl_c_while_something_loads_gives_no_traceback(module: str, here: Path) -> None:
    command = [sys.executable, "-c", EARLY.format(module=module)]
    done = subprocess.run(command, cwd=here, capture_output=True, text=True, timeout=60, check=False)
    assert (done.returncode, done.stdout) == (130, "")
    assert done.stderr == "holdwater: stopped; what was there before is untouched\n"
    assert not (here / "out").exists()


def test_ctrl_c_while_files_change_places_waits_until_all_have(
    here: Path, holdwater: Command, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Old and new files are never mixed: the moves are finished before the command stops."""
    moved = os.replace

    def interrupted(source: object, target: object) -> None:
        os.kill(os.getpid(), signal.SIGINT)
        moved(source, target)  # type: ignore[arg-type]

    assert holdwater("run", "holding.toml", "--quiet", "--out", "out").code == 0
    before = contents(here / "out")
    monkeypatch.setattr(charts, "save_all", lambda *anything: [])
    monkeypatch.setattr(os, "replace", interrupted)
    done = holdwater("run", "holding.toml", "--quiet", "--out", "out", "--set", "draw.house.people=4")
    assert done.code == 130
    after = contents(here / "out")
    changed = {name for name in after if after[name] != before[name]}
    assert {"summary.json", "ledger.csv", "ledger.nc", "years.csv"} <= changed
    assert not any(name.startswith(".writing") for name in after)


@pytest.mark.parametrize("fault", [OSError(28, "No space left on device"), RuntimeError("a bug")])
def test_a_fault_half_way_leaves_the_old_files_whole(
    fault: Exception, here: Path, holdwater: Command, monkeypatch: pytest.MonkeyPatch
) -> None:
    (here / "out").mkdir()
    (here / "out" / "summary.json").write_text("old", encoding="utf-8")

    def fails(*anything: object) -> None:
        raise fault

    monkeypatch.setattr(charts, "save_all", fails)
    done = holdwater("run", "holding.toml", "--out", "out")
    assert contents(here / "out") == {"summary.json": b"old"}
    if isinstance(fault, OSError):
        said = "holdwater: cannot write into the output folder out: No space left on device; choose another"
        assert (done.code, done.err.startswith(said)) == (2, True)
    else:
        assert done.code == 1
        assert "this is a fault of holdwater, not yours: RuntimeError: a bug" in done.err
    assert holdwater("run", "holding.toml", "--out", "new/deep").code == done.code
    assert not (here / "new").exists()


def test_an_empty_folder_of_the_users_own_stays(
    here: Path, holdwater: Command, monkeypatch: pytest.MonkeyPatch
) -> None:
    def fails(*anything: object) -> None:
        raise OSError(28, "No space left on device")

    (here / "mine").mkdir()
    monkeypatch.setattr(charts, "save_all", fails)
    assert holdwater("run", "holding.toml", "--out", "mine").code == 2
    assert list((here / "mine").iterdir()) == []


def test_a_new_run_replaces_every_old_file(here: Path, holdwater: Command) -> None:
    assert holdwater("run", "holding.toml", "--quiet", "--out", "out").code == 0
    first = contents(here / "out")
    assert holdwater("run", "holding.toml", "--quiet", "--out", "out").code == 0
    again = contents(here / "out")
    assert {name for name in first if first[name] != again[name]} <= {"ledger.nc"}, (
        "the same run, the same bytes"
    )
    assert holdwater("run", "holding.toml", "--quiet", "--out", "out", "--set", "run.rule=YBS").code == 0
    other = contents(here / "out")
    assert set(other) == set(first)
    assert {"summary.json", "ledger.csv", "ledger.nc", "years.csv"} <= {
        n for n in first if other[n] != first[n]
    }
