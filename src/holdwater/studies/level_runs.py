"""Thousands of holdings over the days of a log of levels, and where the water stood at each reading."""

from __future__ import annotations

import time
from collections.abc import Iterator, Sequence
from itertools import pairwise
from typing import Any, NamedTuple

import numpy as np
import numpy.typing as npt

from holdwater import day
from holdwater.studies.kernels import Doing, kernels, program_of, spend
from holdwater.studies.level_model import Model
from holdwater.studies.program import Kernel, Ready
from holdwater.studies.specialise import WIDTH

Floats = npt.NDArray[np.float64]


class Stretch(NamedTuple):
    """Days between two readings, fills or turns of a valve."""

    turn: Kernel | None
    """Turns the valves before."""
    days: Kernel
    """Runs the days."""
    load: list[tuple[int, float]]
    """Rows of the load that comes next, and what to write there before."""
    first: int
    last: int
    """First day, and the day after the last."""
    place: int | None
    """Where in `Trials.places` its end is, if levels were read then."""


class Trials:
    """Many values of the numbers of a model, run by the written-out daily loop.

    Parameters
    ----------
    model : Model
        The holding over the days of the log.
    expected : int
        How many trials are likely: compiling pays from some thousands on.
    doing : callable
        Told in words when the days are compiled.
    """

    def __init__(self, model: Model, expected: int, doing: Doing) -> None:
        self.model = model
        short = model.start._replace(due=[*model.start.due[:1]], ordered=[*model.start.ordered[:1]])
        ready = Ready(model.in_short, short, model.scenario.run.rule == "YBS")
        self.key, self.program = program_of(ready, model.met.sky, model.met.snows)
        self.use, self.compiled = kernels(self.key, self.program, expected, model.met.et0.size, doing)
        daily = self.program.series(ready, model.met.sky)
        self.daily: Any = daily if self.compiled else daily.tolist()
        self.column = self.program.column(ready)
        self.valves = ready.valves()
        rows, tanks = self.program.layout.rows, range(len(model.holding.vessels))
        self.groups = [rows["state", "drawable", g] for g in tanks if ("state", "drawable", g) in rows]
        self.places: list[int] = sorted({0, *model.places.tolist()})
        self.valves_at = [0] * len(self.places)
        self.stretches = list(self._cut(ready.phases()))

    def _cut(self, phases: Sequence[tuple[int, int, int]]) -> Iterator[Stretch]:
        """Cut the phases where levels were read and after water was filled in."""
        cuts = {*self.places, *(on + 1 for on, _ in self.model.brought)}
        before: int | None = None
        for start, end, valves in phases:
            for first, last in pairwise([start, *sorted(cut for cut in cuts if start < cut < end), end]):
                place = self.places.index(last) if last in self.places else None
                if place is not None:
                    self.valves_at[place] = valves
                turn = None if before in (None, valves) else self.use.turning[before, valves]
                yield Stretch(turn, self.use.daily[valves], self._next_load(first), first, last, place)
                before = valves

    def residuals(self, many: Floats) -> Floats:
        """Reading less simulation of every trial.

        Parameters
        ----------
        many : ndarray, shape (trials, 4)
            Numbers, as `Model` takes them.

        Returns
        -------
        ndarray, shape (trials, readings)
            [L]
        """
        columns = np.repeat(self.column[:, None], many.shape[0], axis=1)
        rows = self.program.layout.rows
        for space, name, values in self.model.tables(many):
            for i, row in enumerate(values):
                if (space, name, i) in rows:
                    columns[rows[space, name, i]] = row
        water = np.empty((len(self.places), len(self.groups), many.shape[0]))
        water[0] = columns[self.groups]
        if self.compiled:
            for first in range(0, many.shape[0], WIDTH):
                part = slice(first, first + WIDTH)
                self._run_compiled(columns[:, part], water[:, :, part])
        else:
            self._run_plainly(columns, water)
        return self._left(water)

    def _run_compiled(self, columns: Floats, water: Floats) -> None:
        """Run up to `WIDTH` trials; note the water of every group at every place of a reading."""
        width = columns.shape[1]
        block = np.empty((columns.shape[0], WIDTH))
        block[:, :width], block[:, width:] = columns, columns[:, :1]
        flat = block.reshape(-1)
        for part in self.stretches:
            if part.turn is not None:
                part.turn(flat, self.daily, 0, 1)
            for row, value in part.load:
                block[row] = value
            part.days(flat, self.daily, part.first, part.last)
            if part.place is not None:
                water[part.place] = block[self.groups, :width]

    def _run_plainly(self, columns: Floats, water: Floats) -> None:
        """Run trials one by one in plain Python; the same otherwise."""
        begun = time.perf_counter()
        for trial, numbers in enumerate(columns.T):
            try:
                self._run_one(numbers.tolist(), water[:, :, trial])
            except (ZeroDivisionError, OverflowError, ValueError):
                # what is not chosen was worked out too: NumPy's numbers carry inf and nan through
                with np.errstate(all="ignore"):
                    self._run_one(list(numbers), water[:, :, trial])
        spend(self.key, time.perf_counter() - begun)

    def _run_one(self, numbers: list[float], water: Floats) -> None:
        for part in self.stretches:
            if part.turn is not None:
                part.turn(numbers, self.daily, 0, 1)
            for row, value in part.load:
                numbers[row] = value
            part.days(numbers, self.daily, part.first, part.last)
            if part.place is not None:
                water[part.place] = [numbers[row] for row in self.groups]

    def _left(self, water: Floats) -> Floats:
        """Reading less what stands in the tanks read, shape (trials, readings) [L]."""
        shown = np.empty((self.model.measured.size, water.shape[2]))
        for reading, place in enumerate(self.model.places.tolist()):
            at, tank = self.places.index(place), self.model.tank_of[reading]
            groups = self.valves[self.valves_at[at]]
            shown[reading] = water[at].sum(axis=0) if tank is None else standing(tank, water[at], groups)
        return np.ascontiguousarray((self.model.measured[:, None] - shown).T)

    def _next_load(self, first: int) -> list[tuple[int, float]]:
        """Rows of the load that comes next, and what to write there."""
        coming = next(((on, volume) for on, volume in self.model.brought if on >= first), None)
        if coming is None:
            return []
        rows = self.program.layout.rows
        written = {
            ("state", "due"): float(coming[0]),
            ("state", "ordered"): 1.0,
            ("helpers", "load"): coming[1],
        }
        return [(rows[space, name, 0], value) for (space, name), value in written.items()]

    def _show(self, shown: Floats, place: int, drawable: Floats, groups: day.Groups) -> None:
        """Write down what stands in the tanks where they were read at that place."""
        for reading in self.model.read_at.get(place, []):
            tank = self.model.tank_of[reading]
            shown[reading] = drawable.sum(axis=0) if tank is None else standing(tank, drawable, groups)


def standing(tank: int, drawable: Floats, groups: day.Groups) -> Floats:
    """Water in one tank above its outlet from the volumes of the groups, shape (trials,) [L].

    The same as `holdwater.day.stand` for many states at once.
    """
    volume = drawable[groups.of_tank[tank]]
    stands = np.zeros_like(volume)
    for s in range(groups.step_of[tank], groups.step_of[tank + 1]):
        start, size = groups.step_start[s][0], groups.step_size[s][0]
        stands += groups.step_share[s][0] * np.clip(volume - start, 0.0, size)
    return np.asarray(stands)
