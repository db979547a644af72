"""Speed, measured side by side in one run: `pytest tests/benchmarks -n 0 --benchmark-disable-gc -s`.

Whole processes are timed in turn (the command, then its yardstick, and so on) and compared by the median
of the ratios, so that a machine whose speed drifts does not decide. Every figure is printed.
"""

from __future__ import annotations

import os
import statistics
import subprocess
import sys
import time
from pathlib import Path

import pytest

import holdwater
from holdwater.scenario.schema import Scenario
from holdwater.weather.record import Record

ROOT = Path(__file__).parents[2]
DEMO = ROOT / "scenarios" / "larkfield.toml"
CHARTS_IMPORT = "import pandas, xarray, matplotlib.pyplot"


def seconds(*command: str) -> float:
    """Wall time of one whole process [s]."""
    start = time.perf_counter()
    subprocess.run(command, check=True, stdout=subprocess.DEVNULL, cwd=ROOT)
    return time.perf_counter() - start


def compare(ours: list[str], yardstick: list[str], rounds: int = 7) -> float:
    """Median ratio of the two commands, run in turn after one warm-up each."""
    first = seconds(*ours)
    seconds(*yardstick)
    pairs = [(seconds(*ours), seconds(*yardstick)) for _ in range(rounds)]
    ratio = statistics.median(a / b for a, b in pairs)
    a, b = (statistics.median(p[i] for p in pairs) for i in (0, 1))
    print(
        f"\n{' '.join(ours[1:4])}: {a:.2f} s against {b:.2f} s, ratio {ratio:.2f}; very first run {first:.2f} s"
    )
    return ratio


def test_help_starts_fast() -> None:
    python = sys.executable
    assert compare([python, "-m", "holdwater", "--help"], [python, "-c", "import typer"]) <= 3.0


def test_a_run_of_thirty_years_with_all_charts(tmp_path: Path) -> None:
    python = sys.executable
    run = [python, "-m", "holdwater", "run", str(DEMO), "--out", str(tmp_path), "--quiet"]
    assert compare(run, [python, "-c", CHARTS_IMPORT]) <= 5.0


@pytest.mark.skipif(not hasattr(os, "wait4"), reason="memory of a child process is read with wait4")
def test_memory_of_a_run(tmp_path: Path) -> None:
    run = [sys.executable, "-m", "holdwater", "run", str(DEMO), "--out", str(tmp_path), "--quiet"]
    process = subprocess.Popen(run, cwd=ROOT)
    _, status, usage = os.wait4(process.pid, 0)
    process.returncode = os.waitstatus_to_exitcode(status)
    assert process.returncode == 0
    print(f"\npeak memory {usage.ru_maxrss / 1024:.0f} MB")
    assert usage.ru_maxrss / 1024 <= 350


@pytest.fixture(scope="module")
def century() -> tuple[Scenario, Record]:
    """The demo holding, and its weather repeated to a hundred years."""
    from tests.benchmarks.century import repeated

    file = holdwater.load(DEMO)
    record = holdwater.read_weather(file.scenario.weather, file.path.parent)
    return repeated(file.scenario, record, 100)


def test_the_bare_daily_loop_of_a_century(benchmark, century) -> None:  # type: ignore[no-untyped-def]
    """Interpreted; at most 1 s for 100 years with fixed draws, 1.5 s with beds (stated, not asserted)."""
    from holdwater.holding import build
    from holdwater.simulation import run
    from holdwater.sky import weather

    scenario, record = century
    met = weather(scenario, record)
    holding = build(scenario, record.days, met)
    benchmark.pedantic(run, args=(scenario, holding, met), rounds=5, warmup_rounds=1)
    benchmark.extra_info["days"] = int(record.days.size)
