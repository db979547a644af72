"""The holding over the days of a log of levels, as a function of the numbers to fit."""

from __future__ import annotations

import datetime as dt
import math
from collections.abc import Sequence
from dataclasses import replace
from typing import Literal

import numpy as np
import numpy.typing as npt

from holdwater import day
from holdwater.errors import InputError
from holdwater.holding import Holding, build, flush_volume
from holdwater.scenario import tables
from holdwater.scenario.schema import FirstFlush, Refill, Scenario
from holdwater.simulation import run
from holdwater.sky import Weather, weather
from holdwater.studies import opening
from holdwater.studies.gauges import Held, drawable
from holdwater.studies.level_log import Filled, LevelLog, Measured
from holdwater.units import Level
from holdwater.weather.record import Record

Floats = npt.NDArray[np.float64]
Name = Literal["runoff", "first flush", "leak"]

NAMES: tuple[Name, ...] = ("runoff", "first flush", "leak")
FLUSH_WITHOUT = 1.0
"""Depth the factor on the first flush stands for where no roof has a chamber [mm]."""
MOST_FLUSH = 20.0
"""Largest factor on the first flush."""
STEPS = {"runoff": 0.1, "first flush": 0.5, "leak": 0.01, "start": 0.01}
"""A change of each that would matter: a tenth of the runoff, half of the first flush, and shares of the
capacity for the leak over the whole log and for the water at the start."""


class Model:
    """The holding over the days of the log, as a function of the numbers to fit.

    Parameters
    ----------
    scenario : Scenario
        The holding as written.
    record : Record
        Covers the days of the log.
    log : LevelLog
        What was read, and what was filled in; the scenario's own refills are left out.
    fit : sequence of str
        Which of `NAMES` to fit.
    morning : bool
        Whether the readings were taken before the day's rain and draws; else after them.
    """

    def __init__(
        self,
        scenario: Scenario,
        record: Record,
        log: LevelLog,
        fit: Sequence[Name],
        morning: bool,
    ) -> None:
        readings = log.readings
        first, last = readings[0].on, readings[-1].on
        start = first if morning else first + dt.timedelta(days=1)
        length = (last - first).days
        _covered(record, start, length)
        self.scenario, self.fit = scenario, list(fit)
        self.flushes = has_flush(scenario)
        met = weather(scenario, record)
        begin, self.assumed = opening.before(scenario, record, met, start)
        at = (start - record.first).days
        self.met: Weather = opening.cut(met, at, length, begin.ground_pack if begin else 0.0)
        brought = [one for one in log.filled if start <= one.on <= record.days[at + length - 1].item()]
        self.holding = build(_open_to_all(scenario, brought), record.days[at : at + length], self.met)
        held = drawable(_held(readings), self.holding, scenario.show_units)
        self.start = opening.state(self.holding, scenario, held, begin.state if begin else None)
        for row, one in zip(self.start.due, brought, strict=True):
            row[0] = float((one.on - start).days)
        for row in self.start.ordered:
            row[0] = 1.0
        self.room = [joined.capacity for joined in self.holding.phases[0].groups]
        self.places = np.array([(one.on - first).days for one in readings])
        self.days = np.datetime64(start) + np.arange(length + 1) - (0 if morning else 1)
        self.measured = np.array([one.drawable_L for one in readings])
        self.tank_of = [self._tank(one) for one in readings]
        self.leak_before = math.fsum(tank.leak for tank in scenario.tank)
        self._last: tuple[bytes, Floats] = b"", np.zeros(0)

    def _tank(self, one: Measured) -> int | None:
        names = [vessel.name for vessel in self.holding.vessels]
        return None if one.tank is None else names.index(one.tank)

    @property
    def written(self) -> Floats:
        """The numbers as the scenario has them: what is fitted, then the water at the start."""
        values = {"runoff": 1.0, "first flush": 1.0 if self.flushes else 0.0, "leak": self.leak_before}
        return np.array([*(values[name] for name in self.fit), 0.0])

    @property
    def steps(self) -> Floats:
        """A change of each number that would matter."""
        room = math.fsum(self.room)
        sizes = {
            "runoff": STEPS["runoff"],
            "first flush": STEPS["first flush"],
            "leak": STEPS["leak"] * room / max(1, len(self.days) - 1),
        }
        return np.array([*(sizes[name] for name in self.fit), STEPS["start"] * room])

    @property
    def bounds(self) -> tuple[Floats, Floats]:
        """Lowest and highest value of each number."""
        highest = max(tables.runoff_coefficient(roof) for roof in self.scenario.roof)
        top = {"runoff": 1.0 / highest if highest > 0.0 else 1.0, "first flush": 20.0, "leak": math.inf}
        held, room = math.fsum(row[0] for row in self.start.drawable), math.fsum(self.room)
        low = [0.0] * len(self.fit) + [-held - 1e-6]
        high = [top[name] for name in self.fit] + [room - held + 1e-6]
        return np.array(low), np.array(high)

    def drawable(self, numbers: Floats) -> Floats:
        """Water above the outlet of every tank at every state, shape (tanks, n + 1) [L]."""
        given = dict(zip([*self.fit, "start"], numbers.tolist(), strict=True))
        holding = self._with(given)
        state = self._opening(given["start"])
        first = self.holding.phases[0].tables
        stands = [day.stand(t, 0, first, state) for t in range(len(holding.vessels))]
        kept, states = run(self.scenario, holding, self.met, state)
        evenings = np.array(kept.storage) - np.array(states.below)[:, 1:]
        return np.concatenate([np.array(stands)[:, None], evenings], axis=1)

    def _with(self, given: dict[str, float]) -> Holding:
        """The holding with other coefficients, chambers and leaks."""
        roofs, tanks = self.holding.roofs, self.holding.tanks
        factor = given.get("runoff", 1.0)
        flush = given.get("first flush", 1.0 if self.flushes else 0.0)
        leak = given.get("leak", self.leak_before)
        return replace(
            self.holding,
            roofs=roofs._replace(
                coefficient=[[factor * row[0]] for row in roofs.coefficient],
                chamber=[[flush * row[0]] for row in roofs.chamber],
                drain=[[flush * row[0]] for row in roofs.drain],
            ),
            tanks=tanks._replace(leak=[[leak * share] for share in leak_shares(self.scenario)]),
        )

    def _opening(self, offset: float) -> day.State:
        """The state at the first reading with more or less water, spread by capacity."""
        state = day.State(*([list(row) for row in table] for table in self.start))
        whole = math.fsum(self.room)
        for g, room in enumerate(self.room):
            state.drawable[g][0] = min(max(state.drawable[g][0] + offset * room / whole, 0.0), room)
        return state

    def residuals(self, numbers: Floats) -> Floats:
        """Reading less simulation, shape (readings,) [L]."""
        key = numbers.tobytes()
        if key != self._last[0]:
            water = self.drawable(numbers)
            total = water.sum(axis=0)
            simulated = [
                total[place] if tank is None else water[tank, place]
                for tank, place in zip(self.tank_of, self.places.tolist(), strict=True)
            ]
            self._last = key, np.asarray(self.measured - np.array(simulated))
        return self._last[1]

    def sensitivities(self, numbers: Floats, at: Floats | None = None) -> Floats:
        """Change of every reading's simulation for one step of each number, shape (readings, numbers) [L].

        Parameters
        ----------
        numbers : ndarray
            Where to look.
        at : ndarray, optional
            Residuals there, where they are known: then differences are one-sided, which is quicker;
            else they are central.
        """
        low, high = self.bounds
        columns = []
        for i, step in enumerate(self.steps * 0.1):
            up, down = numbers.copy(), numbers.copy()
            up[i], down[i] = min(numbers[i] + step, high[i]), max(numbers[i] - step, low[i])
            if at is not None and up[i] > numbers[i]:
                rise, over = at - self.residuals(up), up[i] - numbers[i]
            elif at is not None:
                rise, over = self.residuals(down) - at, numbers[i] - down[i]
            else:
                rise, over = self.residuals(down) - self.residuals(up), up[i] - down[i]
            columns.append(rise / over * self.steps[i])
        return np.stack(columns, axis=1)


def has_flush(scenario: Scenario) -> bool:
    """Whether any roof has a first-flush chamber."""
    return any(flush_volume(roof) > 0.0 for roof in scenario.roof)


def leak_shares(scenario: Scenario) -> list[float]:
    """Share of the leak that every tank takes: as the leaks written, or alike where none is."""
    whole = math.fsum(tank.leak for tank in scenario.tank)
    if whole > 0.0:
        return [tank.leak / whole for tank in scenario.tank]
    return [1.0 / len(scenario.tank)] * len(scenario.tank)


def _open_to_all(scenario: Scenario, brought: Sequence[Filled]) -> Scenario:
    """The scenario as the loop must know it: a leak and a first flush wherever one may be fitted, and
    one load of its own for every time water was filled in, in place of the refills by rule."""
    tanks = [
        tank.model_copy(update={"leak": tank.leak or share})
        for tank, share in zip(scenario.tank, leak_shares(scenario), strict=True)
    ]
    roofs = scenario.roof
    if not has_flush(scenario):
        chamber = FirstFlush.model_construct(volume=None, depth=FLUSH_WITHOUT, drains_in=1.0, to=None)
        roofs = [roof.model_copy(update={"first_flush": chamber}) for roof in scenario.roof]
    into = next((b.into for b in scenario.backup if isinstance(b, Refill) and b.into), scenario.tank[0].name)
    loads = [
        Refill.model_construct(
            name=f"filled {i}", kind="refill", into=into, starts_below=Level(volume=0.0), fills_to=None,
            load=one.volume_L, per_day=None, lead_days=0, cost_per_load=None, cost_per_volume=None,
        )
        for i, one in enumerate(brought)
    ]  # fmt: skip
    backup = [b for b in scenario.backup if not isinstance(b, Refill)] + loads
    return scenario.model_copy(update={"tank": tanks, "roof": roofs, "backup": backup})


def _covered(record: Record, start: dt.date, length: int) -> None:
    at = (start - record.first).days
    end = start + dt.timedelta(days=length - 1)
    if at < 0 or end > record.last:
        raise InputError(
            f"the log runs from {start} to {end}, but the weather covers {record.first} to {record.last};"
            " bring the weather of those days, or a shorter log"
        )
    if np.isnan(record.data["rain"].values[at : at + length]).any():
        raise InputError(f"rain is missing on days of the log, {start} to {end}; complete the record")


def _held(readings: Sequence[Measured]) -> Held:
    """The first reading as what the tanks held."""
    first = [one for one in readings if one.on == readings[0].on]
    together = [one for one in first if one.tank is None]
    if together:
        return Held(Level(volume=together[0].drawable_L), {}, {})
    heights = {one.tank: one.height for one in first if one.tank and one.height is not None}
    volumes = {one.tank: Level(volume=one.drawable_L) for one in first if one.tank and one.height is None}
    return Held(None, volumes, heights)
