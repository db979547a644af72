"""Speed of studies, side by side in one run: `pytest tests/benchmarks/test_engine_speed.py -n 0 -s`.

Every figure is printed with the load of the machine. Compiling is timed apart. What is compared is timed in
turn, so that a machine whose speed drifts does not decide.
"""

from __future__ import annotations

import ctypes
import os
import shutil
import statistics
import subprocess
import sys
import time
from collections.abc import Callable, Iterator
from pathlib import Path

import numpy as np
import pandas as pd
import pytest

import holdwater
from holdwater.scenario import ScenarioFile
from holdwater.studies import compiled
from holdwater.studies.batch import Batch, Site
from holdwater.studies.dials import Grid, dial
from holdwater.studies.engine import Block, gather
from holdwater.studies.grid import run_grid
from holdwater.studies.kernels import program_of
from holdwater.studies.program import Kernels, Ready
from holdwater.studies.specialise import WIDTH
from holdwater.weather.record import Record
from tests.benchmarks.century import repeated
from tests.holdings import holding, record

ROOT = Path(__file__).parents[2]
DEMO = ROOT / "scenarios" / "larkfield.toml"
ROOF, CAPACITY = "roof.barn.area=500 ft2..3000 ft2:{n}", "tank.upper.capacity=3000 gal..7300 gal:{n}"
MILLION = 1e6


def seconds(
    work: Callable[[], object], rounds: int = 1, clock: Callable[[], float] = time.perf_counter
) -> float:
    """Shortest time of some rounds [s]."""
    times = []
    for _ in range(rounds):
        begun = clock()
        work()
        times.append(clock() - begun)
    return min(times)


def say(words: str) -> None:
    load = " ".join(f"{each:.1f}" for each in os.getloadavg())
    print(f"\n{words} (load {load}, {os.cpu_count()} cores)")


@pytest.fixture(scope="module")
def demo() -> tuple[ScenarioFile, Record]:
    file = holdwater.load(DEMO)
    return file, holdwater.read_weather(file.scenario.weather, file.path.parent)


def prepared(site: Site, readies: list[Ready]) -> tuple[Batch, np.ndarray, Kernels]:
    """A batch of designs of one structure, compiled: the time for that is printed."""
    batch = Batch(site, readies[0], 1)
    columns = np.stack([batch.program.column(ready) for ready in readies], axis=1)
    kept = compiled.is_kept(batch.program.source)
    begun = time.perf_counter()
    use = Kernels.of(batch.program, compiled.load(batch.program.source))
    took = time.perf_counter() - begun
    say(f"{'loading compiled code' if kept else 'compiling'}: {took:.2f} s for {batch.program.lines} lines")
    return batch, columns, use


def demo_batch(demo: tuple[ScenarioFile, Record]) -> tuple[Site, Batch, np.ndarray, Kernels]:
    file, weather = demo
    site = Site.of(file.scenario, weather)
    changes = (
        [("roof.barn.area", f"{900 + 30 * i} ft2"), ("draw.house.per_person", f"{15 + i / 4} gal/day")]
        for i in range(WIDTH)
    )
    readies = [site.ready(file.vary(change).scenario) for change in changes]
    return site, *prepared(site, [each for each in readies if each.structure() == readies[0].structure()])


def blocks(batch: Batch, columns: np.ndarray, designs: int) -> Iterator[Block]:
    """The same designs over and over, as blocks for the engine."""
    for start in range(0, designs, columns.shape[1]):
        yield batch, np.arange(start, min(start + columns.shape[1], designs)), columns, designs


# --------------------------------------------------------------------------------------- the speed


def test_the_whole_demo_holding_on_all_cores(demo: tuple[ScenarioFile, Record]) -> None:
    """Two roofs, two linked tanks, four draws, two of them beds with a soil; a valve that closes."""
    site, batch, columns, use = demo_batch(demo)
    designs = 4096
    one = seconds(lambda: batch.run(use, columns), 5)
    run = seconds(lambda: gather(site, designs, blocks(batch, columns, designs), 1, None), 4)
    days = site.record.days.size
    alone, together = WIDTH * days / one / MILLION, designs * days / run / MILLION
    say(f"demo holding: {alone:.0f} million design-days a second on one core, {together:.0f} on all")
    assert together >= 100.0


def test_a_sweep_of_the_demo_from_end_to_end(demo: tuple[ScenarioFile, Record]) -> None:
    """65,536 designs over thirty years, holdings built included."""
    file, weather = demo
    grid = Grid(tuple(dial(each.format(n=256)) for each in (ROOF, CAPACITY)))
    site = Site.of(file.scenario, weather)
    run_grid(file, site, Grid(tuple(dial(each.format(n=9)) for each in (ROOF, CAPACITY))))  # compiled before
    took = seconds(lambda: run_grid(file, site, grid))
    built = seconds(lambda: [site.ready(grid.file(file, [0], [i]).scenario) for i in range(64)]) / 64
    rate = grid.size * site.record.days.size / took / MILLION
    say(
        f"sweep of {grid.size:,} designs: {took:.1f} s, {rate:.0f} million design-days a second;"
        f" {1000 * built:.1f} ms to build a holding, {sum(grid.shape)} built"
    )
    assert grid.size == 65_536


YARDSTICK = Path(__file__).with_name("yas.c")


@pytest.mark.skipif(shutil.which("gcc") is None, reason="needs a C compiler for the yardstick")
def test_a_single_tank_against_a_loop_in_c(tmp_path: Path) -> None:
    """One tank and constant demand, one core each; the loop in C keeps its designs in registers."""
    library = tmp_path / "yas.so"
    subprocess.run(["gcc", "-O3", "-march=native", "-shared", "-fPIC", "-o", library, YARDSTICK], check=True)
    yardstick = ctypes.CDLL(str(library))
    drawn = np.random.default_rng(1)
    days, designs = 10_957, 1024
    rain = np.where(drawn.random(days) < 0.2, drawn.exponential(8.0, days), 0.0)
    area, capacity = drawn.uniform(40.0, 300.0, designs), drawn.uniform(2e3, 4e4, designs)
    scenarios = [single_tank(a, c) for a, c in zip(area.tolist(), capacity.tolist(), strict=True)]
    site = Site.of(scenarios[0], record(rain.tolist()))
    batch, columns, use = prepared(site, [site.ready(each) for each in scenarios])
    parts = [np.ascontiguousarray(columns[:, i : i + WIDTH]) for i in range(0, designs, WIDTH)]

    def ours() -> list[np.ndarray]:
        return [batch.run(use, part)[0] for part in parts]

    def theirs(name: str) -> list[np.ndarray]:
        demand = np.full(designs, 400.0)
        columns = [rain, area, capacity, demand, capacity * 0.5, *(np.zeros(designs) for _ in range(3))]
        pointers = [each.ctypes.data_as(ctypes.c_void_p) for each in columns]
        getattr(yardstick, name)(ctypes.c_long(days), ctypes.c_long(designs), *pointers)
        return columns[5:]

    memory = np.concatenate(ours(), axis=1)
    dry, delivered, overflow = theirs("held")
    assert np.array_equal(memory[batch.rows["dry_days"][0]], dry), "both count the same"
    assert memory[batch.rows["delivered"][0]] == pytest.approx(delivered, rel=1e-9)
    assert memory[batch.rows["overflow"][0]] == pytest.approx(overflow, rel=1e-9, abs=1e-3)
    for name in ("by_day", "held"):
        pairs = [(seconds(ours), seconds(lambda name=name: theirs(name))) for _ in range(9)]
        ratio = statistics.median(b / a for a, b in pairs)
        a, b = (days * designs / statistics.median(p[i] for p in pairs) / MILLION for i in (0, 1))
        say(
            f"single tank, one core: {a:,.0f} million tank-days a second, C ({name}) {b:,.0f}: ratio {ratio:.2f}"
        )
    assert ratio >= 0.25


def single_tank(area: float, capacity: float) -> holdwater.Scenario:
    return holding(
        run={"rule": "YAS", "start_full": 0.5},
        roof=[{"name": "roof", "area": f"{area!r} m2", "runoff_coefficient": 1.0, "feeds": "tank"}],
        tank=[{"name": "tank", "capacity": f"{capacity!r} L", "diameter": "2 m"}],
        draw=[{"name": "house", "kind": "fixed", "per_day": "400 L/day"}],
    )


def test_a_single_tank_against_a_plain_pandas_loop() -> None:
    """The loop that most would write first, over the rows of a table."""
    drawn = np.random.default_rng(1)
    days = 10_957
    rain = np.where(drawn.random(days) < 0.2, drawn.exponential(8.0, days), 0.0)
    table = pd.DataFrame({"rain": rain}, index=pd.date_range("1996-01-01", periods=days))

    def rows() -> tuple[int, float]:
        storage, dry, delivered = 10_000.0, 0, 0.0
        for _, row in table.iterrows():
            take = min(400.0, storage)
            storage = min(storage - take + 150.0 * row["rain"], 20_000.0 - take)
            dry += take < 400.0 * (1 - 1e-6)
            delivered += take
        return dry, delivered

    scenarios = [single_tank(150.0, 20_000.0)] * WIDTH
    site = Site.of(scenarios[0], record(rain.tolist()))
    batch, columns, use = prepared(site, [site.ready(each) for each in scenarios])
    memory, _ = batch.run(use, columns)
    dry, delivered = rows()
    assert memory[batch.rows["dry_days"][0]][0] == dry
    assert memory[batch.rows["delivered"][0]][0] == pytest.approx(delivered)
    pairs = [(seconds(lambda: batch.run(use, columns)) / WIDTH, seconds(rows)) for _ in range(5)]
    ratio = statistics.median(b / a for a, b in pairs)
    plain = Kernels.of(batch.program, compiled.plain(batch.program.source))
    alone = seconds(lambda: batch.run_plainly(plain, columns[:, 0]), 3)
    say(
        f"thirty years of a single tank: pandas rows {1000 * pairs[0][1]:.0f} ms,"
        f" the engine {1000 * pairs[0][0]:.3f} ms a design, ratio {ratio:,.0f}; in plain Python {1000 * alone:.0f} ms"
    )
    assert ratio > 1000


# ----------------------------------------------------------------------------------- cost and memory


def exponent(sizes: list[int], times: list[float]) -> float:
    """Slope of the straight line through the logarithms."""
    return float(np.polyfit(np.log(sizes), np.log(times), 1)[0])


def test_cost_is_linear_in_designs(demo: tuple[ScenarioFile, Record]) -> None:
    """Running and keeping the scores, by the time of all cores together.

    What is built beforehand grows with the values of the dials, not with the designs.
    """
    site, batch, columns, _ = demo_batch(demo)
    sizes = [256, 1024, 4096, 16_384, 65_536]
    times = [
        seconds(
            lambda n=n: gather(site, n, blocks(batch, columns, n), 1, None),
            max(2, 8192 // n),
            time.process_time,
        )
        for n in sizes
    ]
    found = exponent(sizes, times)
    told = ", ".join(f"{n:,}: {t:.3f} s" for n, t in zip(sizes, times, strict=True))
    say(f"designs: {told}; exponent {found:.3f}")
    assert abs(found - 1.0) <= 0.1


def test_cost_is_linear_in_days(demo: tuple[ScenarioFile, Record]) -> None:
    file, weather = demo
    years = [6, 12, 25, 50, 100]
    times, lengths = [], []
    for count in years:
        scenario, longer = repeated(file.scenario, weather, count)
        site = Site.of(scenario, longer)
        batch = Batch(site, site.ready(scenario), 1)
        use = Kernels.of(batch.program, compiled.load(batch.program.source))
        columns = np.repeat(batch.program.column(site.ready(scenario))[:, None], WIDTH, axis=1)
        batch.run(use, columns)
        times.append(seconds(lambda b=batch, u=use, c=columns: b.run(u, c), 7, time.process_time))
        lengths.append(longer.days.size)
    found = exponent(lengths, times)
    told = ", ".join(f"{n} years: {1000 * t:.1f} ms" for n, t in zip(years, times, strict=True))
    say(f"a block of {WIDTH} designs: {told}; exponent {found:.3f}")
    assert abs(found - 1.0) <= 0.1


@pytest.mark.skipif(not hasattr(os, "wait4"), reason="memory of a child process is read with wait4")
def test_memory_of_a_sweep_of_65536_designs_over_thirty_years(tmp_path: Path) -> None:
    """The command with its netCDF, its table and its map."""
    words = [word for each in (ROOF, CAPACITY) for word in ("--vary", each.format(n=256))]
    command = [
        sys.executable,
        "-m",
        "holdwater",
        "sweep",
        str(DEMO),
        *words,
        "--out",
        str(tmp_path),
        "--quiet",
    ]
    begun = time.perf_counter()
    process = subprocess.Popen(command, cwd=ROOT)
    _, status, usage = os.wait4(process.pid, 0)
    process.returncode = os.waitstatus_to_exitcode(status)
    assert process.returncode == 0
    say(
        f"the whole command: {time.perf_counter() - begun:.1f} s, peak memory {usage.ru_maxrss / 1024:.0f} MB"
    )
    assert usage.ru_maxrss / 1024 < 600


def test_time_to_compile(
    demo: tuple[ScenarioFile, Record], tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Once for a structure of holding, then kept; stated, not asserted."""
    file, weather = demo
    monkeypatch.setenv("HOLDWATER_CACHE", str(tmp_path))
    compiled.load.cache_clear()
    site = Site.of(file.scenario, weather)
    _, program = program_of(site.ready(file.scenario), site.met.sky, site.met.snows)
    fresh = seconds(lambda: compiled.load(program.source))
    compiled.load.cache_clear()
    again = seconds(lambda: compiled.load(program.source))
    compiled.load.cache_clear()
    say(f"compiling the demo holding ({program.lines} lines): {fresh:.1f} s, from the cache {again:.2f} s")
    assert again < fresh
