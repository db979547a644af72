"""The holding over the days of a log of levels, as a function of the numbers to fit."""

from __future__ import annotations

import datetime as dt
import math
from collections.abc import Iterator, Sequence
from dataclasses import replace

import numpy as np
import numpy.typing as npt

from holdwater import day, simulation
from holdwater.errors import InputError
from holdwater.holding import Holding, Memo, build
from holdwater.phases import holds
from holdwater.scenario.schema import Scenario
from holdwater.sky import Weather, weather
from holdwater.studies import opening
from holdwater.studies.gauges import Held, drawable
from holdwater.studies.level_log import Filled, LevelLog, Measured
from holdwater.studies.level_numbers import has_flush, leak_shares, open_to_all
from holdwater.units import Level
from holdwater.weather.record import Record

Floats = npt.NDArray[np.float64]

TOO_FULL = 0.02
"""A first reading may be more than full tanks hold by this share: no gauge is exact."""


class Model:
    """The holding over the days of the log, as a function of four numbers.

    The numbers are a factor on all runoff coefficients, one on all first-flush chambers, the leak of all
    tanks together [L/day], and the water at the start beyond what the first reading says [L].

    Parameters
    ----------
    scenario : Scenario
        The holding as written.
    record : Record
        Covers the days of the log.
    log : LevelLog
        What was read, and what was filled in; the scenario's own refills are left out.
    morning : bool
        Whether the readings were taken before the day's rain and draws; else after them.
    """

    def __init__(
        self,
        scenario: Scenario,
        record: Record,
        log: LevelLog,
        morning: bool,
    ) -> None:
        readings = log.readings
        first, last = readings[0].on, readings[-1].on
        start = first if morning else first + dt.timedelta(days=1)
        length = (last - first).days
        _covered(record, start, length)
        self.scenario = scenario
        self.flushes = has_flush(scenario)
        met = weather(scenario, record)
        begin, self.assumed = opening.before(scenario, record, met, start)
        at = (start - record.first).days
        self.met: Weather = opening.cut(met, at, length, begin.ground_pack if begin else 0.0)
        self.brought = _by_day(log.filled, start, length)
        days, memo = record.days[at : at + length], Memo()
        self.holding = build(open_to_all(scenario, self.brought), days, self.met, memo)
        self.in_short = build(open_to_all(scenario, self.brought[:1]), days, self.met, memo)
        """The same with one load, which stands for all of them in turn."""
        try:
            held = drawable(_held(readings, self.holding), self.holding, scenario.show_units)
        except InputError as fault:
            raise InputError(
                [f"the first day of the log, {first}: {said}" for said in fault.faults]
            ) from None
        self.start = opening.state(self.holding, scenario, held, begin.state if begin else None)
        for row, (on, _) in zip(self.start.due, self.brought, strict=True):
            row[0] = float(on)
        for row in self.start.ordered:
            row[0] = 1.0
        self.rooms = [joined.capacity for joined in self.holding.phases[0].groups]
        self.room = math.fsum(self.rooms)
        self.places = np.array([(one.on - first).days for one in readings])
        self.days = np.datetime64(start) + np.arange(length + 1) - (0 if morning else 1)
        self.measured = np.array([one.drawable_L for one in readings])
        self.tank_of = [self._tank(one) for one in readings]
        self.read_at: dict[int, list[int]] = {}
        for reading, place in enumerate(self.places.tolist()):
            self.read_at.setdefault(place, []).append(reading)

    def _tank(self, one: Measured) -> int | None:
        names = [vessel.name for vessel in self.holding.vessels]
        return None if one.tank is None else names.index(one.tank)

    def run(self, numbers: Floats) -> tuple[day.Today, day.State]:
        """Run the days of the log: every flux and state."""
        return simulation.run(self.scenario, self.with_numbers(numbers), self.met, self.opening(numbers))

    def drawable(self, numbers: Floats) -> Floats:
        """Water above the outlet of every tank at every state, shape (tanks, n + 1) [L]."""
        first, state = self.holding.phases[0].tables, self.opening(numbers)
        stands = [day.stand(t, 0, first, state) for t in range(len(self.holding.vessels))]
        kept, states = self.run(numbers)
        evenings = np.array(kept.storage) - np.array(states.below)[:, 1:]
        return np.concatenate([np.array(stands)[:, None], evenings], axis=1)

    def tables(self, many: Floats) -> Iterator[tuple[str, str, list[Floats]]]:
        """Tables of the daily loop that the numbers change: where they are, their name, and their rows.

        Parameters
        ----------
        many : ndarray, shape (trials, 4)
            Numbers of any count of trials.
        """
        runoff, flush, leak, start = many.T
        roofs, shares = self.holding.roofs, leak_shares(self.scenario)
        yield "roofs", "coefficient", [runoff * row[0] for row in roofs.coefficient]
        yield "roofs", "chamber", [flush * row[0] for row in roofs.chamber]
        yield "roofs", "drain", [flush * row[0] for row in roofs.drain]
        yield "tanks", "leak", [leak * share for share in shares]
        held = [row[0] for row in self.start.drawable[: len(self.rooms)]]
        spread = [
            np.clip(volume + start * room / self.room, 0.0, room)
            for volume, room in zip(held, self.rooms, strict=True)
        ]
        yield "state", "drawable", spread

    def with_numbers(self, numbers: Floats) -> Holding:
        """The holding with other coefficients, chambers and leaks."""
        changed = {name: [[float(row[0])] for row in rows] for _, name, rows in self.tables(numbers[None])}
        roofs = self.holding.roofs._replace(
            coefficient=changed["coefficient"], chamber=changed["chamber"], drain=changed["drain"]
        )
        return replace(self.holding, roofs=roofs, tanks=self.holding.tanks._replace(leak=changed["leak"]))

    def opening(self, numbers: Floats) -> day.State:
        """The state at the first reading with more or less water, spread by capacity."""
        state = day.State(*([list(row) for row in table] for table in self.start))
        *_, (_, _, volumes) = self.tables(numbers[None])
        for row, volume in zip(state.drawable, volumes, strict=False):
            row[0] = float(volume[0])
        return state

    def residuals(self, numbers: Floats) -> Floats:
        """Reading less simulation, shape (readings,) [L]."""
        water = self.drawable(numbers)
        total = water.sum(axis=0)
        simulated = [
            total[place] if tank is None else water[tank, place]
            for tank, place in zip(self.tank_of, self.places.tolist(), strict=True)
        ]
        return np.asarray(self.measured - np.array(simulated))


def _by_day(filled: Sequence[Filled], start: dt.date, length: int) -> list[tuple[int, float]]:
    """Days of the log, counted from 0, on which water was filled in, and how much [L]."""
    volumes: dict[int, float] = {}
    for one in filled:
        on = (one.on - start).days
        if 0 <= on < length and one.volume_L > 0.0:
            volumes[on] = volumes.get(on, 0.0) + one.volume_L
    return sorted(volumes.items())


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


def _held(readings: Sequence[Measured], holding: Holding) -> Held:
    """The first reading as what the tanks held; a gauge may show a little more than full tanks."""
    first = [one for one in readings if one.on == readings[0].on]
    groups = holding.phases[0].groups
    together = [one for one in first if one.tank is None]
    if together:
        room = math.fsum(joined.capacity for joined in groups)
        return Held(Level(volume=_full(together[0].drawable_L, room)), {}, {})
    heights, volumes = {}, {}
    for joined in groups:
        lip = holding.vessels[joined.spills_from]
        for t in joined.tanks:
            vessel = holding.vessels[t]
            for one in (one for one in first if one.tank == vessel.name):
                if one.height is None:
                    volumes[vessel.name] = Level(volume=_full(one.drawable_L, holds(joined, t)))
                else:
                    heights[vessel.name] = _full(one.height, lip.base + lip.lip - vessel.base)
    return Held(None, volumes, heights)


def _full(read: float, most: float) -> float:
    """A reading, no more than `most` where it is hardly more."""
    return min(read, most) if read <= most * (1.0 + TOO_FULL) else read
