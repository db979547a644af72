"""The weather a study runs in, and designs of one structure made ready to run side by side in it."""

from __future__ import annotations

import hashlib
import time
from collections.abc import Callable
from dataclasses import dataclass, field
from functools import cached_property

import numpy as np
import numpy.typing as npt

from holdwater.holding import Memo, build
from holdwater.scenario.schema import Garden, Scenario
from holdwater.scores import year_labels
from holdwater.simulation import covering
from holdwater.sky import Weather, weather
from holdwater.studies.kernels import Doing, kernels, program_of, run_plain, spend
from holdwater.studies.outcome import BY_YEAR, Outcome
from holdwater.studies.program import Floats, Kernels, Ready, stretches
from holdwater.studies.specialise import WIDTH
from holdwater.weather.record import Record

Places = npt.NDArray[np.int64]


class Shared(Memo):
    """Tables of days worked out once; equal rows are one row, so that designs with equal rows run together."""

    def __init__(self) -> None:
        super().__init__()
        self.by_content: dict[bytes, list[float]] = {}

    def row(self, key: str, make: Callable[..., npt.NDArray[np.generic]], *about: object) -> list[float]:
        """A row of days under a key, worked out the first time."""
        if key not in self.rows:
            values = np.asarray(make(*about), dtype=float)
            content = hashlib.blake2b(values.tobytes()).digest()
            if content not in self.by_content:
                self.by_content[content] = values.tolist()
            self.rows[key] = self.by_content[content]
        return self.rows[key]


def silent(words: str) -> None:
    """Say nothing of what is being done."""


@dataclass
class Site:
    """The weather a study runs in.

    Attributes
    ----------
    record : Record
        Cut to the days of the run.
    met : Weather
        As the daily loop meets it; with evapotranspiration from the first holding on that asks for it.
    memo : Memo
        Tables of days shared by all designs.
    doing : callable
        Told in words what takes a while, such as compiling.
    """

    record: Record
    met: Weather
    memo: Memo = field(default_factory=Shared)
    doing: Doing = silent

    @classmethod
    def of(cls, scenario: Scenario, record: Record, doing: Doing = silent) -> Site:
        """The weather of a scenario's run.

        Raises
        ------
        InputError
            As `holdwater.simulate`.
        """
        cut = covering(scenario, record)
        return cls(cut, weather(scenario, cut), doing=doing)

    def ready(self, scenario: Scenario) -> Ready:
        """A scenario as a holding ready to run in this weather.

        Raises
        ------
        InputError
            The weather lacks what this holding asks for.
        """
        if not self.met.et0_from and _evaporates(scenario):
            self.met = weather(scenario, self.record)
        holding = build(scenario, self.record.days, self.met, self.memo)
        return Ready(holding, holding.opening_state(scenario), scenario.run.rule == "YBS")


def _evaporates(scenario: Scenario) -> bool:
    """Whether a holding asks for evapotranspiration."""
    beds = any(isinstance(draw, Garden) for draw in scenario.draw)
    return beds or any(tank.evaporation_factor for tank in scenario.tank)


class Batch:
    """Designs of one structure and one set of daily tables, their numbers given as columns.

    Parameters
    ----------
    first : Ready
        One of them.
    year_starts : int
        Month in which years of the tables start.
    daily : ndarray, shape (rows, n), optional
        Their tables of days; those of `first` without it.
    """

    def __init__(self, site: Site, first: Ready, year_starts: int, daily: Floats | None = None) -> None:
        self.site = site
        self.key, self.program = program_of(first, site.met.sky, site.met.snows)
        self.daily = self.program.series(first, site.met.sky) if daily is None else daily
        self.stretches = stretches(first.phases(), site.record.days, year_starts)
        self.years = len(np.unique(year_labels(site.record.days, year_starts)))
        self.backups = len(first.holding.refills) + len(first.holding.direct)

    @cached_property
    def rows(self) -> dict[str, list[int]]:
        """Rows of the running scores by name, in order."""
        found: dict[str, list[int]] = {}
        for (space, name, _), place in self.program.layout.rows.items():
            if space == "tally":
                found.setdefault(name, []).append(place)
        return found

    def choose(self, designs: int) -> tuple[Kernels, bool]:
        """Functions for so many designs of this structure, and whether they are compiled."""
        return kernels(self.key, self.program, designs, self.site.record.days.size, self.site.doing)

    def run(self, use: Kernels, columns: Floats) -> tuple[Floats, Floats]:
        """Run up to `WIDTH` designs with compiled functions.

        Parameters
        ----------
        columns : ndarray, shape (rows, designs)
            Numbers of every design, as `Written.column` gives them.

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
                use.turning[before, valves](flat, self.daily, 0, 1)
            use.daily[valves](flat, self.daily, first, last)
            by_year[:, year] = block[counted, :width]
            before = valves
        return block[:, :width], by_year

    @cached_property
    def _days(self) -> list[list[float]]:
        rows: list[list[float]] = self.daily.tolist()
        return rows

    def run_plainly(self, use: Kernels, column: Floats) -> tuple[Floats, Floats]:
        """Run one design in plain Python; results as of `run`."""
        begun = time.perf_counter()
        ends = np.array(run_plain(use, column, self._days, self.stretches), dtype=float)
        by_year = np.zeros((len(BY_YEAR), self.years, 1))
        counted = [self.rows[name][0] for name in BY_YEAR]
        for numbers, (_, _, _, year) in zip(ends, self.stretches, strict=True):
            by_year[:, year, 0] = numbers[counted]
        spend(self.key, time.perf_counter() - begun)
        return ends[-1].reshape(-1, 1), by_year

    def keep(self, into: Outcome, where: Places, result: tuple[Floats, Floats]) -> None:
        """Put the scores of designs where they belong."""
        memory, counts = result
        for name, values in into.numbers.items():
            values[where] = memory[self.rows[name][0]]
        for table, running in zip(into.by_year.values(), counts, strict=True):
            table[:, where] = np.diff(running, axis=0, prepend=0.0)
        prices = memory[len(self.program.layout.rows) :]
        for b, row in enumerate((*self.rows.get("supplied", []), *self.rows.get("served", []))):
            into.supplied[b, where] = memory[row]
            into.cost[where] += memory[row] * prices[b]
        for b, row in enumerate(self.rows.get("loads", [])):
            into.loads[b, where] = memory[row]
            into.cost[where] += memory[row] * prices[self.backups + b]
