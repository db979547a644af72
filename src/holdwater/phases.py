"""Which tanks share a surface, and when: the valves' part of the tables that the daily loop reads."""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from itertools import pairwise

import numpy as np

from holdwater import day, demand
from holdwater.demand import Days
from holdwater.errors import InputError
from holdwater.scenario.schema import Draw, Household, Refill, Scenario
from holdwater.tanks import Group, Vessel, group, partition
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


def holds(joined: Group, tank: int) -> float:
    """Drawable volume of one tank of a group when the group is full [L]."""
    return math.fsum(step.size * step.share for step in joined.steps[tank])


def cuts(draw: Draw) -> list[tuple[Level, float]]:
    """Levels below which a draw takes less by its own rule, and the share of its want it keeps there."""
    stops = [] if draw.stops_below is None else [(draw.stops_below, 0.0)]
    if isinstance(draw, Household) and demand.per_person(draw) > 0.0:
        saved = [(step.below, min(1.0, step.per_person / demand.per_person(draw))) for step in draw.steps]
        return [*stops, *saved]
    return stops


def offsets(rows: Iterable[Sequence[object]]) -> list[int]:
    """First entry of each row in the flattened rows, and one entry more."""
    ends = [0]
    for row in rows:
        ends.append(ends[-1] + len(row))
    return ends


def phases_of(
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
    sources = [_sources(draw, groups, of_tank, position) for draw in draws]
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
        step_of=offsets(steps),
        step_start=[[step.start] for row in steps for step in row],
        step_size=[[step.size] for row in steps for step in row],
        step_share=[[step.share] for row in steps for step in row],
        step_area=[[step.area] for row in steps for step in row],
        source_of=offsets(sources),
        source_tank=[t for row in sources for t in row],
        cut_of=offsets([cuts(d) for d in draws]),
        cut_below=[
            [level(below, {of_tank[t] for t in row})]
            for d, row in zip(draws, sources, strict=True)
            for below, _ in cuts(d)
        ],
        transfer_below=[[level(p.starts_below, [of_tank[position[p.to_tank]]])] for p in scenario.transfer],
        refill_below=[[level(b.starts_below, [of_tank[position[b.into] if b.into else 0]])] for b in refills],
        refill_to=[[level(b.fills_to, [of_tank[position[b.into] if b.into else 0]])] for b in refills],
    )


def _sources(
    draw: Draw, groups: Sequence[Group], of_tank: Sequence[int], position: dict[str, int]
) -> list[int]:
    """Tanks a draw takes from in its order, of each group the one it names with the lowest outlet."""
    lowest: dict[int, int] = {}
    for name in draw.from_tanks or position:
        tank = position[name]
        g = of_tank[tank]
        if g not in lowest or groups[g].below_outlet[tank] < groups[g].below_outlet[lowest[g]]:
            lowest[g] = tank
    return list(lowest.values())


def _reserves(scenario: Scenario, groups: Sequence[Group], position: dict[str, int]) -> list[float]:
    """Reserve kept by every group: spread over its tanks in proportion to what they can give."""
    if scenario.reserve is None:
        return [0.0 for _ in groups]
    keepers = {position[name] for name in scenario.reserve.in_tanks or position}
    room = [math.fsum(holds(joined, t) for t in joined.tanks if t in keepers) for joined in groups]
    if math.fsum(room) <= 0.0 < scenario.reserve.volume:
        raise InputError(
            "reserve: the tanks that keep it can hold no water that can be drawn: they stand above the lowest"
            " lip of the tanks they are joined to; name other tanks in reserve.in_tanks, or mend the levels"
        )
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
