"""How the holding hangs together for the site checks: levels, groups, roofs behind every tank."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise

from holdwater.holding import fed
from holdwater.scenario.schema import Scenario
from holdwater.tanks import Group, Vessel, group, partition, vessel


@dataclass(frozen=True)
class Layout:
    """Tanks, links and roofs of a holding with every valve open.

    Attributes
    ----------
    vessels : list of Vessel
        Shape and levels of the tanks.
    links : list of tuple of int
        Tanks each link joins.
    groups : list of tuple of int
        Tanks that share one surface.
    joined : list of Group
        The same with levels and stranded volumes.
    feeds : dict of str to list of str
        Tanks each roof feeds.
    catchments : list of float
        Plan area whose water comes to each tank, the overflow of full tanks above it included [m2].
    diameters : list of float or None
        Diameters of the tanks [mm].
    """

    vessels: list[Vessel]
    links: list[tuple[int, ...]]
    groups: list[tuple[int, ...]]
    joined: list[Group]
    feeds: dict[str, list[str]]
    catchments: list[float]
    diameters: list[float | None]

    def lip(self, tank: int) -> float:
        """Height of a tank's lip above the common datum [mm]."""
        return self.vessels[tank].base + self.vessels[tank].lip

    def full(self, tank: int) -> float:
        """Height of the water surface above the datum when the tank's group spills [mm]."""
        return min(self.lip(t) for members in self.groups if tank in members for t in members)

    @property
    def lowest_outlet(self) -> float:
        """Height of the lowest outlet above the common datum [mm]."""
        return min(v.base + v.outlet for v in self.vessels)

    def surface(self, tank: int) -> float:
        """Water surface of a tank near its lip [m2]."""
        return _areas(self.vessels[tank])[-1]

    def footprint(self, tank: int) -> float:
        """Ground a tank stands on [m2]."""
        diameter = self.diameters[tank]
        return math.pi * (diameter / 2000.0) ** 2 if diameter is not None else _areas(self.vessels[tank])[0]

    def sides(self, names: Sequence[str]) -> list[tuple[int, ...]]:
        """Tanks on each side of a link; the tanks it joins alone where other links go around it."""
        position = {v.name: t for t, v in enumerate(self.vessels)}
        members = [position[name] for name in names]
        others = list(self.links)
        others.remove(tuple(members))
        parts = [part for part in partition(len(self.vessels), others) if set(part) & set(members)]
        return parts if len(parts) == len(members) else [(t,) for t in members]


def _areas(vessel: Vessel) -> list[float]:
    """Areas of the parts of a tank that hold water, from the floor to the lip [m2]."""
    rises = pairwise(zip(vessel.levels, vessel.volumes, strict=True))
    areas = [(above - below) / (high - low) for (low, below), (high, above) in rises]
    return [area for area in areas if area > 0.0]


def layout(scenario: Scenario) -> Layout:
    """Read the layout off a checked scenario."""
    position = {tank.name: t for t, tank in enumerate(scenario.tank)}
    vessels = [vessel(tank) for tank in scenario.tank]
    links = [tuple(position[name] for name in link.tanks) for link in scenario.link]
    groups = partition(len(vessels), links)
    joined = [group(vessels, members) for members in groups]
    return Layout(
        vessels,
        links,
        groups,
        joined,
        {roof.name: [tank for tank, share in fed(roof) if share > 0.0] for roof in scenario.roof},
        _catchments(scenario, position, joined),
        [tank.diameter for tank in scenario.tank],
    )


def _catchments(scenario: Scenario, position: dict[str, int], joined: Sequence[Group]) -> list[float]:
    """Plan area behind every tank; in the design storm the tanks above are full and pass everything on."""
    own = [0.0] * len(position)
    for roof in scenario.roof:
        for name, share in fed(roof):
            own[position[name]] += share * roof.area
    into = {g: position.get(scenario.tank[each.spills_from].overflow_to, -1) for g, each in enumerate(joined)}
    home = {t: g for g, each in enumerate(joined) for t in each.tanks}
    behind = list(own)
    for g, each in enumerate(joined):
        area, target, passed = math.fsum(own[t] for t in each.tanks), into[g], {g}
        while target >= 0 and home[target] not in passed:
            behind[target] += area
            passed.add(home[target])
            target = into[home[target]]
    return behind
