"""The scenario as the tables that the daily loop reads: a holding ready to run."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass
from itertools import pairwise
from typing import Any

import numpy as np

from holdwater import day, demand, garden
from holdwater.demand import Days, Floats
from holdwater.errors import InputError
from holdwater.scenario import tables
from holdwater.scenario.schema import Direct, Draw, Garden, Household, Refill, Roof, Scenario
from holdwater.sky import Weather
from holdwater.tanks import Group, Vessel, group, partition, vessel
from holdwater.units import Level


@dataclass(frozen=True)
class Phase:
    """Days on which every valve stays as it is.

    Attributes
    ----------
    first, last : int
        Days `first` to `last - 1` of the run.
    groups : list of Group
        Tanks by common water surface.
    tables : day.Groups
        The same for the daily loop.
    """

    first: int
    last: int
    groups: list[Group]
    tables: day.Groups


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


def holds(joined: Group, tank: int) -> float:
    """Drawable volume of one tank of a group when the group is full [L]."""
    return math.fsum(step.size * step.share for step in joined.steps[tank])


class Memo(dict[str, Any]):
    """Tables of days already worked out, so that holdings that differ elsewhere share them."""

    def of(self, key: str, make: Callable[[], Any]) -> Any:
        """What is remembered under a key, made the first time."""
        if key not in self:
            self[key] = make()
        return self[key]


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
    plans = [
        memo.of(f"plan {d!r}", lambda d=d: garden.plan(_bed(d), days, met.ground, met.et0)) for d in gardens
    ]
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
            wanted=[
                memo.of(f"wanted {d!r}", lambda d=d: demand.wanted(d, days, met.t_mean).tolist())
                for d in draws
            ],
            may_use_reserve=[int(d.may_use_reserve) for d in draws],
            cut_keeps=[[keeps] for d in draws for _, keeps in cuts(d)],
            bed=[gardens.index(d) if isinstance(d, Garden) else -1 for d in draws],
        ),
        plans=plans,
        beds=_beds(plans, gardens, scenario.roof, days, memo),
        helpers=_helpers(scenario, position, draws, direct, refills),
        phases=_phases(scenario, vessels, draws, refills, position, days),
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
        gutter=[
            memo.of(f"gutter {c!r}", lambda c=c: demand.in_season(days, c).astype(float).tolist())
            for c in (roof.collects for roof in roofs)
        ],
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


def cuts(draw: Draw) -> list[tuple[Level, float]]:
    """Levels below which a draw takes less by its own rule, and the share of its want it keeps there."""
    stops = [] if draw.stops_below is None else [(draw.stops_below, 0.0)]
    if isinstance(draw, Household) and demand.per_person(draw) > 0.0:
        saved = [(step.below, min(1.0, step.per_person / demand.per_person(draw))) for step in draw.steps]
        return [*stops, *saved]
    return stops


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

    def daily(name: str, of: Callable[[garden.BedPlan, Garden], Floats]) -> list[list[float]]:
        return [
            memo.of(f"{name} {d!r}", lambda plan=plan, d=d: of(plan, d).astype(float).tolist())
            for plan, d in zip(plans, gardens, strict=True)
        ]

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
        serve_of=_offsets(served),
        serve_draw=[i for row in served for i in row],
        refill_tank=[position[b.into] if b.into else 0 for b in refills],
        refill_limit=[[math.inf if b.per_day is None else b.per_day] for b in refills],
        hauls=[int(b.load is not None) for b in refills],
        load=[[b.load or 0.0] for b in refills],
        lead=[b.lead_days for b in refills],
    )


def _offsets(rows: Iterable[Sequence[object]]) -> list[int]:
    """First entry of each row in the flattened rows, and one entry more."""
    ends = [0]
    for row in rows:
        ends.append(ends[-1] + len(row))
    return ends


def _phases(
    scenario: Scenario,
    vessels: Sequence[Vessel],
    draws: Sequence[Draw],
    refills: Sequence[Refill],
    position: dict[str, int],
    days: Days,
) -> list[Phase]:
    """Cut the run at every day on which a valve is opened or closed."""
    links = [[position[name] for name in link.tanks] for link in scenario.link]
    shut = np.array([demand.in_spans(days, link.closed) for link in scenario.link]).reshape(
        len(links), days.size
    )
    turns = (shut[:, 1:] != shut[:, :-1]).any(axis=0).nonzero()[0] + 1
    phases = []
    for first, last in pairwise([0, *turns.tolist(), days.size]):
        open_links = [link for link, closed in zip(links, shut[:, first], strict=True) if not closed]
        groups = [group(vessels, members) for members in partition(len(vessels), open_links)]
        phases.append(Phase(first, last, groups, _tables(scenario, groups, draws, refills, position)))
    return phases


def _tables(
    scenario: Scenario,
    groups: Sequence[Group],
    draws: Sequence[Draw],
    refills: Sequence[Refill],
    position: dict[str, int],
) -> day.Groups:
    home = {t: g for g, joined in enumerate(groups) for t in joined.tanks}
    of_tank = [home[t] for t in range(len(position))]
    capacity = [joined.capacity for joined in groups]
    steps = [groups[of_tank[t]].steps[t] for t in range(len(position))]
    sources = [_sources(draw, of_tank, position) for draw in draws]
    into = [_spills_into(joined, scenario, position) for joined in groups]

    def level(at: Level | None, among: Iterable[int]) -> float:
        """Drawable volume a level stands for in these groups [L]."""
        return 0.0 if at is None else at.of(math.fsum(capacity[g] for g in among))

    return day.Groups(
        of_tank=of_tank,
        capacity=[[c] for c in capacity],
        reserve=[[r] for r in _reserves(scenario, groups, position)],
        order=_spill_order(into, of_tank),
        spills_from=[joined.spills_from for joined in groups],
        spills_into=into,
        to_ground=[int(into[g] < 0 and groups[g].spills_from == t) for t, g in enumerate(of_tank)],
        below_outlet=[[groups[of_tank[t]].below_outlet[t]] for t in range(len(position))],
        step_of=_offsets(steps),
        step_start=[[step.start] for row in steps for step in row],
        step_size=[[step.size] for row in steps for step in row],
        step_share=[[step.share] for row in steps for step in row],
        step_area=[[step.area] for row in steps for step in row],
        source_of=_offsets(sources),
        source_tank=[t for row in sources for t in row],
        cut_of=_offsets([cuts(d) for d in draws]),
        cut_below=[
            [level(below, {of_tank[t] for t in row})]
            for d, row in zip(draws, sources, strict=True)
            for below, _ in cuts(d)
        ],
        transfer_below=[[level(p.starts_below, [of_tank[position[p.to_tank]]])] for p in scenario.transfer],
        refill_below=[[level(b.starts_below, [of_tank[position[b.into] if b.into else 0]])] for b in refills],
        refill_to=[[level(b.fills_to, [of_tank[position[b.into] if b.into else 0]])] for b in refills],
    )


def _sources(draw: Draw, of_tank: Sequence[int], position: dict[str, int]) -> list[int]:
    """Tanks a draw takes from in its order, the first it names of each group."""
    first_of_group: dict[int, int] = {}
    for name in draw.from_tanks or position:
        first_of_group.setdefault(of_tank[position[name]], position[name])
    return list(first_of_group.values())


def _reserves(scenario: Scenario, groups: Sequence[Group], position: dict[str, int]) -> list[float]:
    """Reserve kept by every group: spread over its tanks in proportion to what they can give."""
    if scenario.reserve is None:
        return [0.0 for _ in groups]
    keepers = {position[name] for name in scenario.reserve.in_tanks or position}
    room = [math.fsum(holds(joined, t) for t in joined.tanks if t in keepers) for joined in groups]
    return [scenario.reserve.volume * part / math.fsum(room) for part in room]


def _spills_into(joined: Group, scenario: Scenario, position: dict[str, int]) -> int:
    """Tank that takes a group's overflow, -1 for the ground."""
    target = position.get(scenario.tank[joined.spills_from].overflow_to, -1)
    return -1 if target in joined.tanks else target


def _spill_order(into: Sequence[int], of_tank: Sequence[int]) -> list[int]:
    """Groups so that each comes after all that spill into it."""
    target = [of_tank[t] if t >= 0 else -1 for t in into]

    def depth(g: int) -> int:
        steps, at = 0, target[g]
        while at >= 0:
            steps, at = steps + 1, target[at]
            if steps > len(target):
                raise InputError(
                    "the overflows run in a loop: tanks joined by a link count as one, and what they spill"
                    " comes back to them; let one of them overflow to ground"
                )
        return steps

    return sorted(range(len(target)), key=depth, reverse=True)
