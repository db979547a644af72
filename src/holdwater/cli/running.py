"""`holdwater run`: read, then simulate, score, write and show; a fault in the file is told before the rest loads."""

from __future__ import annotations

import atexit
import datetime as dt
import gc
import sys
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass, replace
from pathlib import Path

from holdwater import units
from holdwater.cli.options import SAMPLES
from holdwater.cli.study import Bar
from holdwater.cli.study import progress as counting
from holdwater.errors import InputError
from holdwater.scenario import load


@dataclass(frozen=True)
class Lot:
    """How years are drawn by lot for --confidence.

    Attributes
    ----------
    samples : int
        Records to draw.
    seed : int
        The same draws the same.
    block : int
        Years drawn together.
    bar : Bar or None
        Shows how many are done.
    """

    samples: int
    seed: int
    block: int
    bar: Bar | None = None

    @property
    def how(self) -> dict[str, int]:
        """How the records were drawn, as plain data."""
        return {"samples": self.samples, "seed": self.seed, "block": self.block}

    def begin(self, runs: int) -> Callable[[int], None]:
        """Show that drawing begins, with so many runs to do; the function given counts them."""
        if self.bar is None:
            return lambda done: None
        self.bar.doing("drawing years by lot")
        self.bar.of(runs)
        return self.bar.done


def read_lot(confidence: bool, samples: int, seed: int, block: int) -> Lot | None:
    """What was asked of --confidence and the options that go with it; None without it.

    Raises
    ------
    InputError
        An option that has no effect without --confidence.
    """
    if confidence:
        return Lot(samples, seed, block)
    given = [
        f"--{name} {value} has no effect without --confidence; add it, or leave --{name} out"
        for name, value, usual in (("samples", samples, SAMPLES), ("seed", seed, 1), ("block", block, 1))
        if value != usual
    ]
    if given:
        raise InputError(given)
    return None


@dataclass(frozen=True)
class Asked:
    """What the user typed."""

    scenario: Path
    out: Path | None
    first: dt.date | None
    last: dt.date | None
    sets: list[str]
    variant: str | None
    both_rules: bool
    units: str | None
    pool: str = "30 days"
    lot: Lot | None = None

    @property
    def changes(self) -> list[str]:
        """Changes of the scenario, those of --from, --to and --units included."""
        given = (("run.from", self.first), ("run.to", self.last), ("show_units", self.units))
        return [*self.sets, *(f"{key}={value}" for key, value in given if value)]


def read_pool(text: str) -> int:
    """Whole days from "30 days" or "4 weeks".

    Raises
    ------
    InputError
        It is no length of time, or not in whole days.
    """
    try:
        days = units.read(text, "duration")
    except InputError as fault:
        raise InputError([f"--pool: {said}" for said in fault.faults]) from None
    if days != int(days):
        raise InputError(f'--pool: {text} is {days:g} days; write whole days, such as "30 days"')
    return int(days)


def run(asked: Asked, as_json: bool, quiet: bool) -> None:
    """Run a scenario, write its files, and print the verdict.

    Raises
    ------
    InputError
        The scenario, its weather or the output folder cannot be used; nothing is written then.
    """
    apart = read_pool(asked.pool)
    file = load(asked.scenario, sets=asked.changes, variant=asked.variant)
    folder = asked.out or Path("outputs") / asked.scenario.stem
    with counting(quiet or as_json) as bar, no_sweeping():
        bar.doing("reading the weather")
        from holdwater.weather import read_weather

        scenario = file.scenario
        span = scenario.run
        record = read_weather(
            scenario.weather, file.path.parent, first=span.from_, last=span.to, place=scenario.place
        )
        from holdwater.cli import outcome

        lot = replace(asked.lot, bar=bar) if asked.lot is not None else None
        told = outcome.write(file, record, folder, asked.both_rules, bar.doing, apart, lot, asked.sets)
    if as_json:
        outcome.print_json(told)
    elif not quiet:
        outcome.print_text(told, folder)


@contextmanager
def no_sweeping() -> Iterator[None]:
    """Leave cyclic garbage lying for the few seconds of one run, and at the end of the process.

    Looking for it takes a tenth of the whole time and gives back next to nothing.
    """
    swept = gc.isenabled()
    gc.disable()
    atexit.register(gc.freeze)
    try:
        yield
    finally:
        if swept:
            gc.enable()


@contextmanager
def progress(hidden: bool) -> Iterator[Callable[[str], None]]:
    """Give a function that names the step under way; shown only to a person at a terminal."""
    if hidden or not sys.stderr.isatty():
        yield lambda step: None
        return
    from rich.console import Console
    from rich.progress import BarColumn, Progress, TextColumn, TimeElapsedColumn

    columns = (TextColumn("{task.description}"), BarColumn(), TimeElapsedColumn())
    with Progress(*columns, console=Console(stderr=True), transient=True) as bar:
        task = bar.add_task("reading", total=None)
        yield lambda step: bar.update(task, description=step, advance=1)
