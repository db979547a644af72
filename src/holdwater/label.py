"""From the bare tables of the daily loop to the ledger: names, units, and what follows from what was kept."""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np
import numpy.typing as npt

from holdwater import day
from holdwater.garden import BedPlan
from holdwater.holding import Holding
from holdwater.ledger import STATES, Floats, Ledger, dataset
from holdwater.scenario.schema import Garden, Refill, Scenario
from holdwater.sky import Weather
from holdwater.weather.record import Record

ROUNDING = 1e-9
"""Share of what was asked below which a difference is rounding, not want."""
COMING = ("inflow", "received", "transfer_in", "refill")
GOING = ("drawn", "overflow", "transfer_out", "leak", "evaporation")


def label(
    scenario: Scenario, record: Record, holding: Holding, met: Weather, kept: day.Today, states: day.State
) -> Ledger:
    """Label what the loop kept, and derive what follows from it.

    Parameters
    ----------
    kept : day.Today
        Every flux, [..][n].
    states : day.State
        Every state, [..][n + 1].
    """
    columns = {name: _table(rows) for name, rows in zip(day.Today._fields, kept, strict=True)}
    for name in ("transfer_in", "transfer_out", "refill", "leak", "evaporation", "backup_served"):
        if not columns[name].size:  # nothing of the kind on this holding
            columns[name] = np.zeros_like(columns["delivered" if name == "backup_served" else "drawn"])
    columns["rain"] = record.data["rain"].values
    columns["rain_on_roof"] = columns["onto_roof"]
    columns |= _states(holding, columns["storage"], states)
    columns |= _shares(columns)
    columns["to_ground"] = _to_ground(holding, columns["overflow"])
    columns["reserve_lacking"] = _reserve_lacking(holding, columns["drawable"][:, 1:])
    columns["link_flow"] = np.diff(columns["storage"], axis=1)
    columns["link_flow"] -= sum(columns[name] for name in COMING) - sum(columns[name] for name in GOING)
    columns |= _backups(holding, columns) | _gardens(holding, met, columns["depletion"])
    names = {
        "roof": [roof.name for roof in scenario.roof],
        "tank": [tank.name for tank in scenario.tank],
        "draw": [draw.name for draw in holding.draws],
        "backup": [backup.name for backup in (*holding.refills, *holding.direct)],
        "bed": [draw.name for draw in holding.draws if isinstance(draw, Garden)],
    }
    n = record.days.size
    sized = {name: _sized(values, n + (name in STATES)) for name, values in columns.items()}
    reserve = scenario.reserve.volume if scenario.reserve else 0.0
    data = dataset(record.days, names, sized, _constants(holding), reserve)
    about = {"long_name": "water the root zone holds between full and dry, TAW", "units": "mm"}
    data["available"] = ("bed", np.array([plan.taw for plan in holding.plans], dtype=float), about)
    if met.et0_from:
        data["et0"].attrs["source"] = met.et0_from
    return Ledger(data, scenario, record)


def _table(rows: Sequence[npt.ArrayLike]) -> Floats:
    return np.array(rows, dtype=float)


def _sized(values: Floats, n: int) -> Floats:
    """A table without rows keeps its days."""
    return values if values.size else np.zeros((0, n))


def _states(holding: Holding, evenings: Floats, states: day.State) -> dict[str, Floats]:
    """Storages at every midnight, the opening one first [L; mm for soil]."""
    state, first = day.State(*([row[:1] for row in table] for table in states)), holding.phases[0].tables
    below = _table(states.below)
    opening = [state.below[t][0] + day.stand(t, 0, first, state) for t in range(len(holding.vessels))]
    storage = np.concatenate([np.array(opening)[:, None], evenings], axis=1)
    return {
        "storage": storage,
        "drawable": storage - below,
        "wetting_store": _table(states.wet),
        "flush_chamber": _table(states.chamber),
        "snow_pack": _table(states.pack),
        "depletion": _table(states.depletion),
    }


def _shares(columns: dict[str, Floats]) -> dict[str, Floats]:
    """What was asked, and what nobody could give [L]."""
    asked = columns["wanted"] - columns["held_back"]
    lacks = asked - columns["delivered"] - columns["backup_served"]
    return {"asked": asked, "unserved": np.where(lacks > ROUNDING * asked, lacks, 0.0)}


def _backups(holding: Holding, columns: dict[str, Floats]) -> dict[str, Floats]:
    """Water, loads and cost of every backup, those that fill tanks first."""
    n = columns["wanted"].shape[1]
    backups = (*holding.refills, *holding.direct)
    supplied = np.concatenate([_sized(columns["supplied"], n), _sized(columns["direct"], n)])
    loads = np.concatenate([_sized(columns["loads"], n), np.zeros((len(holding.direct), n))])
    per_litre = [backup.cost_per_volume or 0.0 for backup in backups]
    per_load = [(backup.cost_per_load or 0.0) if isinstance(backup, Refill) else 0.0 for backup in backups]
    cost = supplied * np.reshape(per_litre, (-1, 1)) + loads * np.reshape(per_load, (-1, 1))
    return {"supplied": supplied, "loads": loads, "cost": cost}


def _gardens(holding: Holding, met: Weather, depletion: Floats) -> dict[str, Floats]:
    """What the beds know without the loop, each of shape (beds, n) [mm]; and their stress, eq. 84."""
    plans = holding.plans
    columns = {
        "crop_need": _table([plan.etc for plan in plans]),
        "rain_kept": _table([plan.rain_kept for plan in plans]),
        "rain_ignored": _table([plan.rain_ignored for plan in plans]),
        "growing": _table([plan.growing for plan in plans]),
        "ready": _table([plan.raw for plan in plans]),
        "stress": _table(
            [np.where(p.growing, _ks(p, row[:-1]), 1.0) for p, row in zip(plans, depletion, strict=True)]
        ),
    }
    return columns | ({"et0": met.et0} if met.et0_from else {})


def _ks(plan: BedPlan, depletion: Floats) -> Floats:
    """Water stress coefficient of every day from the depletion of the evening before."""
    return np.clip((plan.taw - depletion) / (plan.taw - plan.raw), 0.0, 1.0)


def _to_ground(holding: Holding, overflow: Floats) -> Floats:
    """Overflow of the tanks whose group spills into no other tank, phase by phase."""
    ground = np.zeros_like(overflow)
    for phase in holding.phases:
        leaves, days = np.array(phase.tables.to_ground, dtype=float), slice(phase.first, phase.last)
        ground[:, days] = overflow[:, days] * leaves[:, None]
    return ground


def _reserve_lacking(holding: Holding, drawable: Floats) -> Floats:
    """What every group lacks of the reserve it keeps, summed over the groups, shape (n,) [L]."""
    lacking = np.zeros(drawable.shape[1])
    for phase in holding.phases:
        days = slice(phase.first, phase.last)
        for g, (kept,) in enumerate(phase.tables.reserve):
            stands = drawable[list(phase.groups[g].tanks), days].sum(axis=0)
            lacking[days] += np.maximum(0.0, kept - stands)
    return lacking


def _constants(holding: Holding) -> dict[str, Floats]:
    """Capacities and stranded volumes of the tanks, the valves as in the longest phase of the run [L]."""
    groups = max(holding.phases, key=lambda phase: phase.last - phase.first).groups
    top = {t: volume for joined in groups for t, volume in joined.stranded_top.items()}
    steps = {t: joined.steps[t] for joined in groups for t in joined.tanks}
    tanks = range(len(holding.vessels))
    return {
        "capacity": np.array([v.capacity for v in holding.vessels]),
        "drawable_capacity": np.array([math.fsum(s.size * s.share for s in steps[t]) for t in tanks]),
        "stranded_top": np.array([top[t] for t in tanks]),
        "stranded_bottom": np.array([v.dead for v in holding.vessels]),
    }
