"""The scenario as the tables that the daily loop reads: a holding ready to run."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import Any

import numpy.typing as npt

from holdwater import day, demand, garden
from holdwater.demand import Days
from holdwater.phases import Phase, cuts, holds, offsets, phases_of
from holdwater.scenario import tables
from holdwater.scenario.schema import Direct, Draw, Garden, Refill, Roof, Scenario
from holdwater.sky import Weather
from holdwater.tanks import Vessel, vessel


@dataclass(frozen=True)
class Holding:
    """Everything a run needs but the weather; draws in order of priority."""

    vessels: list[Vessel]
    draws: list[Draw]
    direct: list[Direct]
    refills: list[Refill]
    roofs: day.Roofs
    tanks: day.Tanks
    uses: day.Draws
    plans: list[garden.BedPlan]
    beds: day.Beds
    helpers: day.Helpers
    phases: list[Phase]

    def opening_state(self, scenario: Scenario) -> day.State:
        """Storage at the start: bottoms full, the drawable part as `start_full` says, the roofs dry and clear.

        A bed starts half way to the stress of its crop (common practice).
        """
        start, first = scenario.run.start_full, self.phases[0]
        drawable = [[0.0] for _ in self.vessels]
        for g, joined in enumerate(first.groups):
            for t in joined.tanks:
                share = start.get(self.vessels[t].name, 0.5) if isinstance(start, dict) else start
                drawable[g][0] += share * holds(joined, t)
        return day.State(
            wet=[[0.0] for _ in scenario.roof],
            chamber=[[0.0] for _ in scenario.roof],
            pack=[[0.0] for _ in scenario.roof],
            below=[[v.dead] for v in self.vessels],
            depletion=[[float(plan.raw[0]) / 2.0] for plan in self.plans],
            surface=[[min(float(plan.raw[0]) / 2.0, plan.tew)] for plan in self.plans],
            drawable=drawable,
            due=[[day.NEVER] for _ in self.refills],
            ordered=[[0.0] for _ in self.refills],
        )


class Memo:
    """Tables of days already worked out, so that holdings that differ elsewhere share them."""

    def __init__(self) -> None:
        self.plans: dict[str, garden.BedPlan] = {}
        self.rows: dict[str, list[float]] = {}

    def row(self, key: str, make: Callable[..., npt.NDArray[Any]], *about: Any) -> list[float]:
        """A row of days under a key, worked out the first time."""
        if key not in self.rows:
            self.rows[key] = make(*about).astype(float).tolist()
        return self.rows[key]

    def plan(self, draw: Garden, days: Days, met: Weather) -> garden.BedPlan:
        """The plan of a bed, worked out the first time."""
        if repr(draw) not in self.plans:
            self.plans[repr(draw)] = garden.plan(_bed(draw), days, met.ground, met.et0)
        return self.plans[repr(draw)]


def build(scenario: Scenario, days: Days, met: Weather, memo: Memo | None = None) -> Holding:
    """Turn a checked scenario into tables for the days of a run.

    Parameters
    ----------
    scenario : Scenario
        Checked by `holdwater.scenario.load`.
    days : ndarray of datetime64[D], shape (n,)
        The days to run.
    met : Weather
        The weather of those days.
    memo : Memo, optional
        Shared by holdings built for the same days and weather: it saves working out a table of days twice.
    """
    memo = Memo() if memo is None else memo
    position = {tank.name: t for t, tank in enumerate(scenario.tank)}
    vessels = [vessel(tank) for tank in scenario.tank]
    draws = by_priority(scenario.draw)
    direct = [b for b in scenario.backup if isinstance(b, Direct)]
    refills = [b for b in scenario.backup if isinstance(b, Refill)]
    gardens = [d for d in draws if isinstance(d, Garden)]
    plans = [memo.plan(d, days, met) for d in gardens]
    return Holding(
        vessels=vessels,
        draws=draws,
        direct=direct,
        refills=refills,
        roofs=_roofs(scenario.roof, position, days, met.snows, memo),
        tanks=day.Tanks(
            dead=[[v.dead] for v in vessels],
            leak=[[tank.leak] for tank in scenario.tank],
            open=[[tank.evaporation_factor] for tank in scenario.tank],
            bottom=[[v.surface_at(v.outlet)] for v in vessels],
            leaky=[
                t for t, tank in enumerate(scenario.tank) if tank.leak > 0.0 or tank.evaporation_factor > 0.0
            ],
        ),
        uses=day.Draws(
            wanted=[memo.row(f"wanted {d!r}", demand.wanted, d, days, met.t_mean) for d in draws],
            may_use_reserve=[int(d.may_use_reserve) for d in draws],
            cut_stops=[int(keeps == 0.0) for d in draws for _, keeps in cuts(d)],
            cut_keeps=[[keeps] for d in draws for _, keeps in cuts(d)],
            bed=[gardens.index(d) if isinstance(d, Garden) else -1 for d in draws],
        ),
        plans=plans,
        beds=_beds(plans, gardens, scenario.roof, days, memo),
        helpers=_helpers(scenario, position, draws, direct, refills),
        phases=phases_of(scenario, vessels, draws, refills, position, days),
    )


def by_priority(draws: Sequence[Draw]) -> list[Draw]:
    """Draws in the order they are served: by `priority`, where absent by their place in the file."""
    places = {id(draw): place for place, draw in enumerate(draws, start=1)}
    return sorted(draws, key=lambda d: (d.priority or places[id(d)], places[id(d)]))


def _roofs(roofs: Sequence[Roof], position: dict[str, int], days: Days, snows: bool, memo: Memo) -> day.Roofs:
    feeds = [(r, position[name], share) for r, roof in enumerate(roofs) for name, share in fed(roof)]
    chambers = [flush_volume(roof) for roof in roofs]
    return day.Roofs(
        area=[[roof.area] for roof in roofs],
        coefficient=[[tables.runoff_coefficient(roof)] for roof in roofs],
        snows=int(snows),
        wets=[int(roof.wetting_loss > 0.0) for roof in roofs],
        seasonal=[int(roof.collects is not None) for roof in roofs],
        filters=[int(roof.filter_efficiency < 1.0) for roof in roofs],
        flushes=[int(volume > 0.0) for volume in chambers],
        slides=[[roof.snow_lost] for roof in roofs],
        wetting=[[roof.area * roof.wetting_loss] for roof in roofs],
        filter=[[roof.filter_efficiency] for roof in roofs],
        gutter=[memo.row(f"gutter {r.collects!r}", demand.in_season, days, r.collects) for r in roofs],
        chamber=[[volume] for volume in chambers],
        drain=[
            [volume / roof.first_flush.drains_in if roof.first_flush else 0.0]
            for roof, volume in zip(roofs, chambers, strict=True)
        ],
        feed_roof=[r for r, _, _ in feeds],
        feed_tank=[t for _, t, _ in feeds],
        feed_share=[[share] for _, _, share in feeds],
    )


def fed(roof: Roof) -> list[tuple[str, float]]:
    """Tanks a roof feeds and the share of its inflow each takes."""
    return [(roof.feeds, 1.0)] if isinstance(roof.feeds, str) else list(roof.feeds.items())


def flush_volume(roof: Roof) -> float:
    """Volume of the first-flush chamber [L]."""
    if roof.first_flush is None:
        return 0.0
    return roof.first_flush.volume or (roof.first_flush.depth or 0.0) * roof.area


def _bed(draw: Garden) -> garden.Bed:
    """The bed of a garden draw, looked up and checked."""
    return garden.bed(
        f"draw '{draw.name}'",
        draw.area,
        draw.crop,
        draw.planted,
        draw.soil,
        draw.method,
        efficiency=draw.efficiency,
        starts_at=draw.trigger,
        refill_to=draw.refill_to,
        mulched=draw.mulch,
        rain_fed=draw.rain_fed,
        root_depth=draw.root_depth,
        stages=draw.stages,
    )


def _beds(
    plans: Sequence[garden.BedPlan], gardens: Sequence[Garden], roofs: Sequence[Roof], days: Days, memo: Memo
) -> day.Beds:
    names = [d.name for d in gardens]
    flushed = [(r, names.index(to)) for r, roof in enumerate(roofs) if (to := flushes_to(roof)) in names]

    def daily(name: str, values: Callable[[garden.BedPlan, Garden], npt.NDArray[Any]]) -> list[list[float]]:
        return [memo.row(f"{name} {d!r}", values, plan, d) for plan, d in zip(plans, gardens, strict=True)]

    return day.Beds(
        area=[[plan.area] for plan in plans],
        available=[[plan.taw] for plan in plans],
        target=[[plan.target] for plan in plans],
        efficiency=[[plan.efficiency] for plan in plans],
        layer=[[plan.tew] for plan in plans],
        layer_ready=[[plan.rew] for plan in plans],
        growing=daily("growing", lambda plan, d: plan.growing),
        need=daily("need", lambda plan, d: plan.etc),
        rain_kept=daily("rain_kept", lambda plan, d: plan.rain_kept),
        ready=daily("ready", lambda plan, d: plan.raw / plan.taw),
        trigger=daily("trigger", lambda plan, d: plan.trigger / plan.taw),
        asks=daily("asks", lambda plan, d: plan.asks * demand.share_of_day(d, days)),
        flush_roof=[r for r, _ in flushed],
        flush_bed=[b for _, b in flushed],
    )


def flushes_to(roof: Roof) -> str | None:
    """Garden draw that takes a roof's first flush, None where it runs to the ground."""
    return roof.first_flush.to if roof.first_flush else None


def _helpers(
    scenario: Scenario,
    position: dict[str, int],
    draws: Sequence[Draw],
    direct: Sequence[Direct],
    refills: Sequence[Refill],
) -> day.Helpers:
    served = [[i for i, d in enumerate(draws) if b.serves is None or d.name in b.serves] for b in direct]
    return day.Helpers(
        transfer_from=[position[p.from_tank] for p in scenario.transfer],
        transfer_to=[position[p.to_tank] for p in scenario.transfer],
        transfer_rate=[[p.per_day] for p in scenario.transfer],
        direct_limit=[[math.inf if b.per_day is None else b.per_day] for b in direct],
        serve_of=offsets(served),
        serve_draw=[i for row in served for i in row],
        refill_tank=[position[b.into] if b.into else 0 for b in refills],
        refill_limit=[[math.inf if b.per_day is None else b.per_day] for b in refills],
        hauls=[int(b.load is not None) for b in refills],
        load=[[b.load or 0.0] for b in refills],
        lead=[b.lead_days for b in refills],
    )
