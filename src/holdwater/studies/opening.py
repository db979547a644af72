"""What a run starts from: the water of today, and soil and snow as the days before left them."""

from __future__ import annotations

import datetime as dt
from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from holdwater import day
from holdwater.holding import Holding, build
from holdwater.scenario.schema import Scenario
from holdwater.simulation import run
from holdwater.sky import Weather
from holdwater.weather.record import Record

RUN_UP = 365
"""Days of weather before, at most, from which soil, snow and first-flush chambers are worked out."""
LEAST_RUN_UP = 30
"""With fewer days of weather before nothing is worked out from them."""


def state(
    holding: Holding, scenario: Scenario, volumes: Sequence[float], before: day.State | None
) -> day.State:
    """Opening state with these volumes in the groups of tanks.

    Parameters
    ----------
    volumes : sequence of float
        Above the outlets of every group of the first day [L].
    before : day.State, optional
        How the day before ended: its roofs, snow and soil are taken over. Without it the roofs are
        dry and clear and the beds as at the start of any run. Bottoms are full, no load is on order.
    """
    fresh = holding.opening_state(scenario)
    left = before or fresh
    full = [0.0] * len(fresh.drawable)
    full[: len(volumes)] = volumes

    def copied(table: day.Table) -> day.Table:
        return [list(row) for row in table]

    return fresh._replace(
        wet=copied(left.wet),
        chamber=copied(left.chamber),
        pack=copied(left.pack),
        depletion=copied(left.depletion),
        surface=copied(left.surface),
        drawable=[[volume] for volume in full],
    )


@dataclass(frozen=True)
class Before:
    """How the day before ended: the holding's state, and the snow on open ground [mm]."""

    state: day.State
    ground_pack: float


def before(scenario: Scenario, record: Record, met: Weather, on: dt.date) -> tuple[Before | None, str]:
    """Run the days up to a day, and say in words what a run that starts then starts from.

    Parameters
    ----------
    scenario : Scenario
        The holding.
    record : Record
        The weather.
    met : Weather
        The same for all days of the record, as the daily loop meets it.
    on : date
        First day of the run to come.
    """
    stop = (on - record.first).days
    length = min(RUN_UP, stop)
    known = stop <= record.days.size and length >= LEAST_RUN_UP
    if not known or np.isnan(record.data["rain"].values[stop - length : stop]).any():
        what = "roofs dry and free of snow, first-flush chambers empty"
        if any(draw.kind == "garden" for draw in scenario.draw):
            what += ", garden soil half way to the stress of its crop"
        return None, f"{what} (the record does not tell the weather of the days before)"
    theirs = cut(met, stop - length, length, 0.0)
    built = build(scenario, record.days[stop - length : stop], theirs)
    state = built.opening_state(scenario)
    run(scenario, built, theirs, state)
    said = f"soil, snow and first-flush chambers as the weather of the {length} days before left them"
    return Before(state, _lying(theirs.sky)), said


def _lying(sky: day.Sky) -> float:
    """Snow on open ground after the last day, none lying before the first [mm]."""
    pack = 0.0
    for snow, thaw in zip(sky.snow, sky.thaw, strict=True):
        pack = pack + snow - min(pack + snow, thaw)
    return pack


def cut(met: Weather, start: int, days: int, pack: float) -> Weather:
    """The weather of some days; snow that lies already melts with the first day's."""
    part = slice(start, start + days)
    sky = day.Sky(*(row[part] for row in met.sky))
    lying = sky._replace(snow=[sky.snow[0] + pack, *sky.snow[1:]])
    return replace(
        met,
        sky=sky,
        ground=np.array(day.reaching_ground(lying)),
        et0=met.et0[part],
        t_mean=None if met.t_mean is None else met.t_mean[part],
        snows=any(sky.snow) or pack > 0.0,
    )
