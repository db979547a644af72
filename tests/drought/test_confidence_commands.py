"""`--confidence` of run, size and sweep: what is told, what is refused, progress, Ctrl-C. Invented weather."""

from __future__ import annotations

import json
import os
import pty
import signal
import subprocess
import sys
import time
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

import pytest

from tests.drought.test_commands import refused, run, scenario, table

__all__ = ["scenario"]
ROOT = Path(__file__).resolve().parents[2]
VARY = ("--vary", "roof.barn.area=1500 ft2,2000 ft2,3000 ft2")
LOT = ("--confidence", "--samples", "40", "--seed", "3", "--block", "2")
COMMANDS = {
    "run": (),
    "size": ("--vary", "tank.tank.capacity=5000 gal,9000 gal,20000 gal", "--dry-days", "60"),
    "sweep": VARY,
}
RUNS = {"run": 1, "size": 1, "sweep": 4}
"""Runs counted for each drawn record: those of a sweep are its designs and the present."""


def test_a_sweep_tells_for_every_design_what_run_tells_for_one(scenario: Path) -> None:
    said = run("sweep", str(scenario), *VARY, *LOT, "--out", "swept")
    told = json.loads(Path("swept/sweep.json").read_text("utf-8"))
    how = {"level": 0.9, "samples": 40, "seed": 3, "block": 2}
    assert {name: told["confidence"][name] for name in how} == how
    assert "How sure is that? 40 records made of whole years in blocks of 2 of this one, drawn by lot" in said
    rows = table("swept/sweep.csv")
    for design, row in zip(told["every"], rows, strict=True):
        area = design["roof.barn.area"]
        alone = json.loads(run("run", str(scenario), "--set", f"roof.barn.area={area}", *LOT, "--json"))
        assert {name: alone["confidence"][name] for name in how} == how
        bounds = design["confidence"]
        assert set(alone["confidence"]["numbers"]) == {name for name in bounds if "present" not in name}
        for name, number in alone["confidence"]["numbers"].items():
            assert bounds[name] == {"low": number["low"], "high": number["high"]}
        low, high = (bounds["dry_days_per_year"][end] for end in ("low", "high"))
        assert f"{low:,.1f} to {high:,.1f}" in said
        assert float(row["dry_days_per_year_low [day]"]) == pytest.approx(low, rel=1e-5)
        fewer = bounds["fewer_dry_days_than_present"]
        assert float(row["fewer_dry_days_share"]) == pytest.approx(fewer / 40)
        assert (f"in {fewer} of 40" if area != "2000 ft2" else "the same") in said
    present = told["every"][1]["confidence"]
    assert (present["fewer_dry_days_than_present"], present["more_dry_days_than_present"]) == (0, 0)
    for name, number in told["confidence"]["numbers"].items():
        assert (number["low"], number["high"]) == tuple(present[name].values())
    assert told["confidence"]["numbers"]["dry_days_per_year"]["here"] == told["present"]["dry_days_per_year"]
    best = told["best"][0]
    fewer = best["confidence"]["fewer_dry_days_than_present"]
    assert (
        f"Against the present set-up, barn roof area 3,000 ft2 has fewer dry days in {fewer} of the 40"
        in said
    )


def test_the_same_seed_gives_the_same_files_and_without_it_there_are_no_bounds(scenario: Path) -> None:
    for folder, words in (("a", LOT), ("b", LOT), ("other", (*LOT, "--seed", "4")), ("none", ())):
        run("sweep", str(scenario), *VARY, *words, "--out", folder, "--quiet")
    a, b, other, none = (Path(f"{name}/sweep.csv").read_bytes() for name in ("a", "b", "other", "none"))
    assert a == b
    assert a != other
    assert b"_low" not in none
    plain = json.loads(Path("none/sweep.json").read_text("utf-8"))
    assert "confidence" not in plain
    assert "confidence" not in plain["every"][0]
    with_it = json.loads(Path("a/sweep.json").read_text("utf-8"))
    assert with_it["finding"] == plain["finding"]


def test_a_small_map_tells_the_interval_of_every_cell(scenario: Path) -> None:
    words = (*VARY, "--vary", "tank.tank.capacity=5000 gal,9000 gal", "--confidence", "--samples", "19")
    said = run("sweep", str(scenario), *words)
    told = json.loads(Path("outputs/ridge/sweep.json").read_text("utf-8"))
    assert "dry days a year in 90 % of those drawn, barn roof area down, tank capacity across:" in said
    cells = [each["confidence"]["dry_days_per_year"] for each in told["every"]]
    part = said.split("How sure is that?")[1]
    assert all(f"{each['low']:,.1f} to {each['high']:,.1f}" in part for each in cells)


@pytest.mark.parametrize("command", COMMANDS)
def test_what_cannot_be_drawn_is_refused_and_nothing_is_written(command: str, scenario: Path) -> None:
    words = (command, str(scenario), *COMMANDS[command], "--out", "new", "--confidence")
    start = ("--from", "2015-01-01") if command == "run" else ("--set", "run.from=2015-01-01")
    assert "needs 10 complete years; this record has 7; bring a longer record" in refused(*words, *start)
    assert "needs 19 samples or more; there are 5: draw more" in refused(*words, "--samples", "5")
    assert "blocks of 30 years cannot be drawn from 12 years" in refused(*words, "--block", "30")
    assert not Path("new").exists()


@pytest.mark.parametrize("command", ["run", "size", "sweep"])
def test_options_that_have_no_effect_without_confidence_are_refused(command: str, scenario: Path) -> None:
    said = refused(
        command, str(scenario), *COMMANDS[command], "--seed", "5", "--samples", "50", "--block", "2"
    )
    for option in ("--seed 5", "--samples 50", "--block 2"):
        assert f"{option} has no effect without --confidence; add it, or leave" in said


# -------------------------------------------------------------------------------- progress and Ctrl-C


@contextmanager
def at_a_terminal(*words: str) -> Iterator[tuple[subprocess.Popen[str], int]]:
    """The command with a terminal for its error stream, and the other end of it."""
    ours, theirs = pty.openpty()
    environment = os.environ | {"PYTHONPATH": str(ROOT / "src"), "COLUMNS": "100"}
    command = [sys.executable, "-m", "holdwater", *words]
    with subprocess.Popen(
        command, env=environment, text=True, stderr=theirs, stdout=subprocess.PIPE
    ) as running:
        os.close(theirs)
        try:
            yield running, ours
        finally:
            running.kill()
            os.close(ours)


def seen(ours: int, until: str = "") -> str:
    """What the terminal shows, to the end or until some words."""
    shown = b""
    try:
        while not until or until not in shown.decode("utf-8", "replace"):
            part = os.read(ours, 4096)
            if not part:
                break
            shown += part
    except OSError:  # the other end has closed
        pass
    return shown.decode("utf-8", "replace")


@pytest.mark.skipif(os.name != "posix", reason="a terminal as POSIX has it")
@pytest.mark.parametrize("command", COMMANDS)
def test_progress_counts_and_tells_the_time_left_to_a_person_only(command: str, scenario: Path) -> None:
    words = (command, str(scenario), *COMMANDS[command], "--confidence", "--samples", "30")
    with at_a_terminal(*words) as (running, ours):
        shown = seen(ours)
        assert running.wait(60) == 0
    assert "drawing years by lot" in shown
    assert f"{30 * RUNS[command]}/{30 * RUNS[command]}" in shown
    assert "0:00:0" in shown, "the time left"
    for way in ("--quiet", "--json"):
        with at_a_terminal(*words, way) as (running, ours):
            assert seen(ours) == ""


@pytest.mark.skipif(os.name != "posix", reason="signals as POSIX has them")
@pytest.mark.parametrize(
    ("command", "before"), [("run", True), ("size", True), ("sweep", True), ("sweep", False)]
)
def test_ctrl_c_while_years_are_drawn_leaves_nothing_half_written(
    command: str, before: bool, scenario: Path
) -> None:
    out = Path("out")
    if before:
        run(command, str(scenario), *COMMANDS[command], "--out", "out", "--quiet")
    old = {path: path.read_bytes() for path in out.rglob("*") if path.is_file()}
    words = (command, str(scenario), *COMMANDS[command], "--confidence", "--samples", "5000", "--out", "out")
    if command == "sweep":
        words = (*words, "--yes")  # on a slow machine it would ask
    with at_a_terminal(*words) as (running, ours):
        assert "drawing years by lot" in seen(ours, "drawing years by lot")
        time.sleep(0.3)
        assert running.poll() is None
        running.send_signal(signal.SIGINT)
        begun = time.monotonic()
        said = seen(ours)
        assert running.wait(20) == 130
    assert time.monotonic() - begun < 5.0
    assert "holdwater: stopped; what was there before is untouched" in said
    assert "Traceback" not in said
    assert {path: path.read_bytes() for path in out.rglob("*") if path.is_file()} == old
    assert out.exists() == before
