"""Two Dask workers against one, side by side: `pytest tests/benchmarks/test_region_speed.py -n 0 -s`.

The weather is invented. Workers are started, and have loaded their compiled code, before the clock starts.
Two workers cannot be faster than the cores that are left to them: the time other programs take on this
machine is measured during every run and printed, a round in which it is more than a tenth of the cores does
not count, and without a quiet round the test is skipped.
"""

from __future__ import annotations

import os
import shutil
import statistics
import time
from collections.abc import Iterator
from contextlib import ExitStack
from pathlib import Path
from typing import NamedTuple

import pytest

from holdwater import load
from holdwater.studies.region import Region, prepare
from holdwater.studies.region_pieces import Store
from holdwater.studies.region_run import Runner, in_threads, run
from tests.region.invented import HOLDING, grid

pytest.importorskip("distributed")
psutil = pytest.importorskip("psutil")

from holdwater.studies.region_cluster import on_dask  # noqa: E402

ROWS, COLUMNS, YEARS = 28, 40, 25
QUIET, WANTED, MOST = 0.10, 3, 8
"""Share of the cores that others may take; rounds that count, and rounds tried."""


class Timed(NamedTuple):
    """Wall time of one run of the region, and the share of all cores that other programs took meanwhile."""

    seconds: float
    others: float


def timed(region: Region, runner: Runner, folder: Path) -> Timed:
    """Run the whole region once, pieces written included."""
    shutil.rmtree(folder, ignore_errors=True)
    store = Store(folder, region.key)
    all_before, ours_before, begun = _busy(), _ours(), time.perf_counter()
    run(region, store, runner)
    took = time.perf_counter() - begun
    others = (_busy() - all_before) - (_ours() - ours_before)
    return Timed(took, max(0.0, others) / took / psutil.cpu_count())


def _busy() -> float:
    """Time all programs have taken on all cores [s]."""
    times = psutil.cpu_times()
    return float(sum(times) - times.idle - getattr(times, "iowait", 0.0))


def _ours() -> float:
    """Time this process and its workers have taken [s]."""
    mine = psutil.Process()
    return float(
        sum(p.cpu_times().user + p.cpu_times().system for p in (mine, *mine.children(recursive=True)))
    )


@pytest.fixture(scope="module")
def region(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Region]:
    folder = tmp_path_factory.mktemp("region")
    (folder / "holding.toml").write_text(HOLDING)
    grid(folder / "pr.nc", ROWS, COLUMNS, years=YEARS)
    made = prepare(load(folder / "holding.toml"), folder / "pr.nc")
    with made.weather.data:
        yield made


@pytest.mark.skipif((os.cpu_count() or 1) < 2, reason="needs two cores")
def test_two_workers_against_one(region: Region, tmp_path: Path) -> None:
    print(f"\n{region.size} cells, {YEARS} years, {len(region.pieces)} pieces, {os.cpu_count()} cores")
    with ExitStack() as open_clusters:
        runners = [open_clusters.enter_context(on_dask("local", workers)) for workers in (1, 2)]
        for runner in runners:
            timed(region, runner, tmp_path / "warm")
        quiet: list[tuple[float, float]] = []
        for _ in range(MOST):
            one, two = (timed(region, runner, tmp_path / "timed") for runner in runners)
            counts = max(one.others, two.others) <= QUIET
            print(
                f"one {one.seconds:.1f} s (others {one.others:.0%}), two {two.seconds:.1f} s (others {two.others:.0%}):"
                f" {one.seconds / two.seconds:.2f} times{'' if counts else ', not counted'}"
            )
            quiet += [(one.seconds, two.seconds)] if counts else []
            if len(quiet) == WANTED:
                break
    if not quiet:
        pytest.skip("the machine was busy with other programs in every round")
    ratio = statistics.median(one / two for one, two in quiet)
    per_cell = 1000 * statistics.median(one for one, _ in quiet) / region.size
    print(f"median ratio {ratio:.2f} of {len(quiet)} quiet rounds; {per_cell:.0f} ms for a cell on one core")
    assert ratio >= 1.7


def test_threads_of_one_process(region: Region, tmp_path: Path) -> None:
    """Stated, not asserted: most of the work is Python's own, which threads share."""
    timed(region, in_threads(1), tmp_path / "warm")
    one, two = (timed(region, in_threads(n), tmp_path / "timed") for n in (1, 2))
    print(
        f"\none thread {one.seconds:.1f} s (others {one.others:.0%}), two {two.seconds:.1f} s (others"
        f" {two.others:.0%}): {one.seconds / two.seconds:.2f} times"
    )
    assert one.seconds > 0.0
