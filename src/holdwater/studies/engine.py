"""Thousands of holdings through the same weather: blocks of designs, one thread per core.

Only the running scores of a design are kept, never its days.
"""

from __future__ import annotations

import os
from collections.abc import Callable, Iterator, Sequence
from concurrent.futures import FIRST_COMPLETED, Future, ThreadPoolExecutor, wait
from dataclasses import dataclass
from functools import cached_property

import numpy as np
import numpy.typing as npt

from holdwater.holding import Memo, build
from holdwater.scenario.schema import Refill, Scenario
from holdwater.scores import year_labels
from holdwater.simulation import covering
from holdwater.sky import Weather, weather
from holdwater.studies.program import Floats, Program, Ready, alike, compile_program, stretches
from holdwater.studies.specialise import WIDTH
from holdwater.weather.record import Record

SINGLE = ("asked", "delivered", "inflow", "overflow", "lowest")
COUNTS = ("dry_days", "unserved_days", "held_back_days", "longest", "stressed_days")
BY_YEAR = ("dry_days", "unserved_days", "stressed_days")


@dataclass
class Outcome:
    """Scores of many designs; every array ends with the design [L, days].

    Attributes
    ----------
    years : ndarray of int, shape (y,)
        Names of the years.
    asked, delivered, inflow, overflow, lowest : ndarray, shape (d,)
        Totals, and the lowest drawable storage.
    dry_days, unserved_days, held_back_days, longest, stressed_days : ndarray of int, shape (d,)
        Counts, and the longest dry spell.
    dry_by_year, unserved_by_year, stressed_by_year : ndarray of int, shape (y, d)
        Counts of each year.
    supplied, loads : ndarray, shape (b, d)
        Water and loads of every backup, those that fill tanks first.
    cost : ndarray, shape (d,)
        Cost of the backup water over the run.
    """

    years: npt.NDArray[np.int64]
    n_days: int
    numbers: dict[str, Floats]
    by_year: dict[str, npt.NDArray[np.int32]]
    supplied: Floats
    loads: Floats
    cost: Floats

    def __getattr__(self, name: str) -> Floats:
        """One score of every design, by its name."""
        numbers: dict[str, Floats] = self.__dict__.get("numbers", {})
        if name in numbers:
            return numbers[name]
        raise AttributeError(name)

    @property
    def reliability_volume(self) -> Floats:
        """Delivered / asked; NaN where nothing was asked."""
        asked = self.numbers["asked"]
        return np.divide(self.numbers["delivered"], asked, out=np.full_like(asked, np.nan), where=asked > 0.0)


@dataclass(frozen=True)
class Site:
    """The weather a study runs in.

    Attributes
    ----------
    record : Record
        Cut to the days of the run.
    met : Weather
        As the daily loop meets it.
    memo : Memo
        Tables of days shared by all designs.
    """

    record: Record
    met: Weather
    memo: Memo

    @classmethod
    def of(cls, scenario: Scenario, record: Record) -> Site:
        """The weather of a scenario's run.

        Raises
        ------
        InputError
            As `holdwater.simulate`.
        """
        cut = covering(scenario, record)
        return cls(cut, weather(scenario, cut), Memo())

    def ready(self, scenario: Scenario) -> Ready:
        """A scenario as a holding ready to run in this weather."""
        holding = build(scenario, self.record.days, self.met, self.memo)
        return Ready(holding, holding.opening_state(scenario), scenario.run.rule == "YBS")


class Batch:
    """Designs of one structure and one set of daily tables, their numbers given as columns."""

    def __init__(self, site: Site, first: Ready, year_starts: int) -> None:
        self.site, self.first = site, first
        self.program = program_of(first, site)
        self.daily = self.program.series(first, site.met.sky)
        self.stretches = stretches(first.phases(), site.record.days, year_starts)
        self.years = len(np.unique(year_labels(site.record.days, year_starts)))

    @cached_property
    def rows(self) -> dict[str, list[int]]:
        """Rows of the running scores by name, in order."""
        found: dict[str, list[int]] = {}
        for (space, name, _), place in self.program.layout.rows.items():
            if space == "tally":
                found.setdefault(name, []).append(place)
        return found

    def run(self, columns: Floats) -> tuple[Floats, Floats]:
        """Run up to `WIDTH` designs.

        Parameters
        ----------
        columns : ndarray, shape (rows, designs)
            Numbers of every design, as `Program.column` gives them.

        Returns
        -------
        memory : ndarray, shape (rows, designs)
            The same rows after the last day.
        by_year : ndarray, shape (3, years, designs)
            Running `BY_YEAR` counts at the end of each year.
        """
        width = columns.shape[1]
        block = np.empty((columns.shape[0], WIDTH))
        block[:, :width] = columns
        block[:, width:] = columns[:, :1]
        flat = block.reshape(-1)
        by_year = np.zeros((len(BY_YEAR), self.years, width))
        counted = [self.rows[name][0] for name in BY_YEAR]
        before: int | None = None
        for first, last, valves, year in self.stretches:
            if before is not None and before != valves:
                self.program.turning[before, valves](flat, self.daily, 0, 1)
            self.program.daily[valves](flat, self.daily, first, last)
            by_year[:, year] = block[counted, :width]
            before = valves
        return block[:, :width], by_year


_PROGRAMS: dict[object, Program] = {}


def program_of(ready: Ready, site: Site) -> Program:
    """Compiled code for a structure, made once."""
    key = (ready.structure(), site.met.snows)
    if key not in _PROGRAMS:
        _PROGRAMS[key] = compile_program(ready, site.met.sky)
    return _PROGRAMS[key]


Told = Callable[[int], None]


def run_all(
    site: Site,
    readies: Sequence[Ready],
    year_starts: int = 1,
    told: Told | None = None,
    threads: int | None = None,
) -> Outcome:
    """Run holdings that may differ in anything, each given in full.

    Parameters
    ----------
    site : Site
        The weather they share.
    readies : sequence of Ready
        The holdings.
    year_starts : int
        Month in which years of the tables start.
    told : callable, optional
        Called with the number of designs done since the last call.
    threads : int, optional
        How many cores to use; all by default.
    """
    readies = alike(readies)
    groups: dict[object, list[int]] = {}
    for i, ready in enumerate(readies):
        key = (ready.structure(), tuple(id(row) for row in ready.series().values()))
        groups.setdefault(key, []).append(i)

    def blocks() -> Iterator[tuple[Batch, npt.NDArray[np.int64], Floats]]:
        for members in groups.values():
            batch = Batch(site, readies[members[0]], year_starts)
            columns = np.stack([batch.program.column(readies[i]) for i in members], axis=1)
            for start in range(0, len(members), WIDTH):
                part = slice(start, start + WIDTH)
                yield batch, np.array(members[part]), columns[:, part]

    return gather(site, readies[0], len(readies), blocks(), year_starts, told, threads)


def gather(
    site: Site,
    first: Ready,
    count: int,
    blocks: Iterator[tuple[Batch, npt.NDArray[np.int64], Floats]],
    year_starts: int,
    told: Told | None,
    threads: int | None = None,
) -> Outcome:
    """Run blocks of designs on all cores and put their scores where they belong; Ctrl-C answers at once."""
    years = np.unique(year_labels(site.record.days, year_starts))
    backups = (*first.holding.refills, *first.holding.direct)
    numbers = {name: np.zeros(count) for name in (*SINGLE, *COUNTS)}
    by_year = {name: np.zeros((years.size, count), dtype=np.int32) for name in BY_YEAR}
    supplied, loads = np.zeros((len(backups), count)), np.zeros((len(backups), count))

    def keep(batch: Batch, where: npt.NDArray[np.int64], result: tuple[Floats, Floats]) -> None:
        memory, counts = result
        for name, values in numbers.items():
            values[where] = memory[batch.rows[name][0]]
        for table, running in zip(by_year.values(), counts, strict=True):
            table[:, where] = np.diff(running, axis=0, prepend=0.0)
        for b, row in enumerate((*batch.rows.get("supplied", []), *batch.rows.get("served", []))):
            supplied[b, where] = memory[row]
        for b, row in enumerate(batch.rows.get("loads", [])):
            loads[b, where] = memory[row]
        if told is not None:
            told(where.size)

    with ThreadPoolExecutor(threads or os.cpu_count() or 1) as pool:
        waiting: dict[Future[tuple[Floats, Floats]], tuple[Batch, npt.NDArray[np.int64]]] = {}
        try:
            for batch, where, columns in blocks:
                waiting[pool.submit(batch.run, columns)] = (batch, where)
                while len(waiting) >= 4 * (os.cpu_count() or 1):
                    _collect(waiting, keep)
            while waiting:
                _collect(waiting, keep)
        except BaseException:
            pool.shutdown(wait=False, cancel_futures=True)
            raise
    price = np.array([b.cost_per_volume or 0.0 for b in backups]).reshape(-1, 1)
    fee = np.array([(b.cost_per_load or 0.0) if isinstance(b, Refill) else 0.0 for b in backups]).reshape(
        -1, 1
    )
    cost = (supplied * price + loads * fee).sum(axis=0)
    return Outcome(years, site.record.days.size, numbers, by_year, supplied, loads, cost)


def _collect(
    waiting: dict[Future[tuple[Floats, Floats]], tuple[Batch, npt.NDArray[np.int64]]],
    keep: Callable[[Batch, npt.NDArray[np.int64], tuple[Floats, Floats]], None],
) -> None:
    """Take in the blocks that are done."""
    done, _ = wait(waiting, return_when=FIRST_COMPLETED)
    for future in done:
        keep(*waiting.pop(future), future.result())
