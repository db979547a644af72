"""What lies ahead: today's water, and the weather that every year on record had from this day on.

Each historic year gives one trace: the holding is run through its weather on the days to come, with
its garden, its saving steps and its backup, from the water in the tanks today.

References
----------
Day 1985, Extended streamflow forecasting using NWSRFS, J. Water Resour. Plann. Manage. 111(2):157-170.
"""

from __future__ import annotations

import datetime as dt
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from holdwater import day
from holdwater.day import SHORT
from holdwater.errors import InputError
from holdwater.holding import Holding, build
from holdwater.scenario.quantities import MonthDayValue
from holdwater.scenario.schema import Scenario
from holdwater.scores import was_full
from holdwater.simulation import run
from holdwater.sky import Weather, weather
from holdwater.studies import opening
from holdwater.studies.gauges import Held, drawable
from holdwater.weather.record import Record

Floats = npt.NDArray[np.float64]
Flags = npt.NDArray[np.bool_]
Days = npt.NDArray[np.datetime64]

LOOK_BACK = 90
"""Days of rain before today by which years like this one are found."""
LEAST_ALIKE = 10
"""Years like this one that are taken at least; else a third of those on record."""


@dataclass(frozen=True)
class Trace:
    """One possible future.

    Attributes
    ----------
    year : int
        The year whose weather it has.
    storage : ndarray, shape (n + 1,)
        Water above the outlets at every midnight, today's first [L].
    dry, unserved : ndarray of bool, shape (n,)
        Days on which the tanks, or the backup too, could not give all that was asked.
    full : ndarray of bool, shape (n,)
        Days on which the tanks were full, be it before the day's draws (as under YAS).
    supplied_L : float
        Water from backup [L].
    loads : int
        Loads brought.
    """

    year: int
    storage: Floats
    dry: Flags
    unserved: Flags
    full: Flags
    supplied_L: float
    loads: int


@dataclass(frozen=True)
class Future:
    """A year's weather on the days to come, and the holding built for it."""

    year: int
    met: Weather
    holding: Holding


@dataclass(frozen=True)
class Alike:
    """Years chosen by how much it rained in the days before this day of the year [mm]."""

    rain_now: float
    rain_then: dict[int, float]
    out_of: int


@dataclass(frozen=True)
class Outlook:
    """What may lie ahead.

    Attributes
    ----------
    scenario : Scenario
        The holding.
    record : Record
        Where the weather comes from.
    days : ndarray of datetime64[D], shape (n,)
        The days to come.
    held_L, capacity_L, reserve_L : float
        Water above the outlets today, room for it, and what no ordinary draw may touch [L].
    traces : list of Trace
        In order of years.
    dropped : list of str
        Years that gave no trace, and why.
    assumed : str
        What soil, snow and first-flush chambers start from.
    alike : Alike or None
        How the years were chosen, where not all of them were taken.
    """

    scenario: Scenario
    record: Record
    days: Days
    held_L: float
    capacity_L: float
    reserve_L: float
    traces: list[Trace]
    dropped: list[str]
    assumed: str
    alike: Alike | None
    futures: list[Future]
    start: day.State

    @property
    def storage(self) -> Floats:
        """Water above the outlets, shape (traces, n + 1) [L]."""
        return np.stack([trace.storage for trace in self.traces])

    @property
    def years(self) -> list[int]:
        """Years the traces have their weather from."""
        return [trace.year for trace in self.traces]

    @property
    def first_dry(self) -> Floats:
        """Days until each trace first runs dry: 0 for today, infinite if it does not."""
        return _first(np.stack([trace.dry for trace in self.traces]))

    @property
    def first_unserved(self) -> Floats:
        """Days until backup too first falls short, as `first_dry`."""
        return _first(np.stack([trace.unserved for trace in self.traces]))

    @property
    def first_full(self) -> Floats:
        """Days until each trace is first full, as `first_dry`."""
        return _first(np.stack([trace.full for trace in self.traces]))


def _first(flags: Flags) -> Floats:
    """First True of every row, infinite where there is none."""
    return np.where(flags.any(axis=1), flags.argmax(axis=1).astype(float), np.inf)


def outlook(
    scenario: Scenario, record: Record, held: Held, on: dt.date, days: int = 180, like_this_year: bool = False
) -> Outlook:
    """Run the holding from today's water through the weather of every year on record.

    Parameters
    ----------
    scenario : Scenario
        The holding; its period does not matter here.
    record : Record
        Daily weather; only years whose weather is complete on the days to come are used.
    held : Held
        Water in the tanks on the morning of `on`.
    on : date
        Today: the first day to come.
    days : int
        How far ahead.
    like_this_year : bool
        Only the years in which it rained about as much in the 90 days before this day of the year.

    Raises
    ------
    InputError
        No year on record has the weather, the amount held cannot be, or the record does not reach
        up to today where `like_this_year` needs it.
    """
    if days < 1:
        raise InputError(f"an outlook of {days} days looks nowhere; ask for 1 day or more")
    met = weather(scenario, record)
    ahead = np.datetime64(on) + np.arange(days)
    starts, dropped = _starts(record, on, days)
    alike = None
    if like_this_year:
        starts, alike, more = _alike(record, on, starts)
        dropped += more
    if not starts:
        raise InputError(
            f"no year from {record.first} to {record.last} has weather on all of the {days} days from"
            f" {on:%d %B} on; look less far ahead with --days, or bring a longer record"
        )
    before, assumed = opening.before(scenario, record, met, on)
    futures = []
    for year, start in starts.items():
        theirs = opening.cut(met, start, days, before.ground_pack if before else 0.0)
        futures.append(Future(year, theirs, build(scenario, ahead, theirs)))
    holding = futures[0].holding
    volumes = drawable(held, holding, scenario.show_units)
    begin = opening.state(holding, scenario, volumes, before.state if before else None)
    return Outlook(
        scenario=scenario,
        record=record,
        days=ahead,
        held_L=float(sum(volumes)),
        capacity_L=float(sum(joined.capacity for joined in holding.phases[0].groups)),
        reserve_L=scenario.reserve.volume if scenario.reserve else 0.0,
        traces=[trace(scenario, future, begin) for future in futures],
        dropped=dropped,
        assumed=assumed,
        alike=alike,
        futures=futures,
        start=begin,
    )


def trace(scenario: Scenario, future: Future, begin: day.State) -> Trace:
    """Run one future from a state, which stays as it is."""
    state = day.State(*([list(row) for row in table] for table in begin))
    kept, states = run(scenario, future.holding, future.met, state)
    asked, delivered = np.array(kept.wanted) - np.array(kept.held_back), np.array(kept.delivered)
    short = asked - delivered
    served = np.array(kept.backup_served) if kept.backup_served else np.zeros_like(short)
    evenings = np.array(kept.storage).sum(axis=0) - np.array(states.below).sum(axis=0)[1:]
    refilled = np.sum(kept.refill, axis=0) if kept.refill else np.zeros_like(evenings)
    morning = sum(row[0] for row in begin.drawable)
    room = sum(joined.capacity for joined in future.holding.phases[0].groups)
    return Trace(
        year=future.year,
        storage=np.concatenate([[morning], evenings]),
        dry=np.asarray((short > SHORT * asked).any(axis=0)),
        unserved=np.asarray((short - served > SHORT * asked).any(axis=0)),
        full=was_full(evenings, delivered.sum(axis=0), refilled, room, scenario.run.rule),
        supplied_L=float(np.sum(kept.supplied) + np.sum(kept.direct)),
        loads=int(np.sum(kept.loads)),
    )


def _starts(record: Record, on: dt.date, days: int) -> tuple[dict[int, int], list[str]]:
    """Place in the record at which each year's weather begins, and the years that have none, with the reason.

    29 February means 1 March in years without one.
    """
    rain, first = record.data["rain"].values, record.first
    starts: dict[int, int] = {}
    dropped = []
    for year in range(first.year, record.last.year + 1):
        place = (MonthDayValue(on.month, on.day).in_year(year) - first).days
        if place < 0 or place >= rain.size:
            continue  # the record has no such day in this year
        if place + days > rain.size:
            dropped.append(f"{year}: its weather would reach beyond the end of the record, {record.last}")
        elif np.isnan(rain[place : place + days]).any():
            dropped.append(f"{year}: rain is missing")
        else:
            starts[year] = place
    return starts, dropped


def _alike(record: Record, on: dt.date, starts: dict[int, int]) -> tuple[dict[int, int], Alike, list[str]]:
    """The years with the rain of the last 90 days nearest to this year's, this year itself left out.

    Raises
    ------
    InputError
        The record does not cover the 90 days before today.
    """
    rain = record.data["rain"].values
    now = (on - record.first).days
    if now < LOOK_BACK or now > rain.size or np.isnan(rain[now - LOOK_BACK : now]).any():
        raise InputError(
            f"years like this one are found by the rain of the {LOOK_BACK} days before {on}, which the record"
            f" ({record.first} to {record.last}) does not cover; bring it up to date, or leave --like-this-year out"
        )
    this = float(rain[now - LOOK_BACK : now].sum())
    then, dropped = {}, []
    for year, place in starts.items():
        before = rain[max(0, place - LOOK_BACK) : place]
        if year == on.year:
            dropped.append(f"{year}: this year itself")
        elif before.size < LOOK_BACK or np.isnan(before).any():
            dropped.append(f"{year}: the {LOOK_BACK} days before are not on record")
        else:
            then[year] = float(before.sum())
    number = max(LEAST_ALIKE, -(-len(then) // 3))
    nearest = sorted(sorted(then, key=lambda year: (abs(then[year] - this), year))[:number])
    return (
        {year: starts[year] for year in nearest},
        Alike(this, {year: then[year] for year in nearest}, len(then)),
        dropped,
    )
