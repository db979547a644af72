"""Where water stands: level and volume of each tank, and of tanks joined at the bottom.

Heights are in mm and areas in m2, so height times area is litres. Levels with the word
"absolute" count from the datum the pads' `base` heights count from.
"""

from __future__ import annotations

import math
from bisect import bisect_right
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise

from holdwater.errors import InputError
from holdwater.scenario.schema import Tank


@dataclass(frozen=True)
class Vessel:
    """One tank's shape: volume as a piecewise linear function of the level above its base.

    Attributes
    ----------
    base : float
        Height of the pad above the common datum [mm].
    outlet, lip : float
        Heights of outlet and overflow lip above the tank's own base [mm].
    levels, volumes : tuple of float
        The level-volume table, from the floor to the lip [mm, L].
    """

    name: str
    base: float
    outlet: float
    lip: float
    levels: tuple[float, ...]
    volumes: tuple[float, ...]

    def volume_at(self, level: float) -> float:
        """Water in the tank when it stands `level` above its base, never beyond the lip [L]."""
        if level <= 0.0:
            return 0.0
        if level >= self.lip:
            return self.volumes[-1]
        i = bisect_right(self.levels, level) - 1
        low, high = self.levels[i], self.levels[i + 1]
        share = (level - low) / (high - low)
        return self.volumes[i] + share * (self.volumes[i + 1] - self.volumes[i])

    def surface_at(self, level: float) -> float:
        """Water surface when it stands `level` above the base [m2]."""
        i = min(bisect_right(self.levels, level), len(self.levels) - 1)
        return (self.volumes[i] - self.volumes[i - 1]) / (self.levels[i] - self.levels[i - 1])

    @property
    def capacity(self) -> float:
        """Volume up to the overflow lip [L]."""
        return self.volumes[-1]

    @property
    def dead(self) -> float:
        """Volume below the outlet, which cannot be drawn [L]."""
        return self.volume_at(self.outlet)


def vessel(tank: Tank) -> Vessel:
    """Shape of a tank of the scenario.

    Raises
    ------
    InputError
        The outlet is not below the overflow lip.
    """
    if tank.levels:
        levels = [row.level for row in tank.levels]
        volumes = [row.volume for row in tank.levels]
        lip = tank.overflow if tank.overflow is not None else levels[-1]
        levels, volumes = _cut(levels, volumes, lip)
    else:
        lip, capacity = _cylinder(tank)
        levels, volumes = [0.0, lip], [0.0, capacity]
    if tank.outlet >= lip:
        raise InputError(f"tank '{tank.name}': the outlet must be lower than the overflow lip")
    return Vessel(tank.name, tank.base, tank.outlet, lip, tuple(levels), tuple(volumes))


def _cylinder(tank: Tank) -> tuple[float, float]:
    """Height of the lip [mm] and capacity [L] of an upright cylinder from two of its three measures."""
    if tank.diameter is None:
        if tank.capacity is None or tank.overflow is None:
            raise InputError(f"tank '{tank.name}': give two of capacity, diameter and overflow")
        return tank.overflow, tank.capacity
    area = math.pi * (tank.diameter / 2000.0) ** 2
    if tank.capacity is not None:
        return tank.capacity / area, tank.capacity
    if tank.overflow is None:
        raise InputError(f"tank '{tank.name}': give two of capacity, diameter and overflow")
    return tank.overflow, tank.overflow * area


def _cut(levels: list[float], volumes: list[float], lip: float) -> tuple[list[float], list[float]]:
    """Level-volume table up to the lip."""
    if lip >= levels[-1]:
        return levels, volumes
    i = bisect_right(levels, lip)
    share = (lip - levels[i - 1]) / (levels[i] - levels[i - 1])
    at_lip = volumes[i - 1] + share * (volumes[i] - volumes[i - 1])
    return [*levels[:i], lip] if levels[i - 1] < lip else levels[:i], (
        [*volumes[:i], at_lip] if levels[i - 1] < lip else volumes[:i]
    )


@dataclass(frozen=True)
class Step:
    """Part of a group's filling in which one tank takes a fixed share of every litre.

    Attributes
    ----------
    start, size : float
        Drawable volume of the group at which the step begins, and the volume it holds [L].
    share : float
        Part of that volume that stands in this tank.
    area : float
        Surface of this tank [m2].
    """

    start: float
    size: float
    share: float
    area: float


@dataclass(frozen=True)
class Group:
    """Tanks that share one water surface; a tank standing alone is a group of one.

    Attributes
    ----------
    tanks : tuple of int
        Positions of the tanks in the scenario.
    capacity : float
        Drawable volume between the lowest outlet and the lowest lip [L].
    spills_from : int
        The tank with the lowest overflow lip: the group spills there.
    steps : dict of int to tuple of Step
        How each tank fills, by position of the tank.
    below_outlet : dict of int to float
        Drawable volume of the group when the surface stands at the tank's outlet [L].
    stranded_top : dict of int to float
        Volume of the tank above the group's lowest lip, which can never fill [L].
    stranded_bottom : dict of int to float
        Volume of the tank below its outlet, which can never be drawn [L].
    """

    tanks: tuple[int, ...]
    capacity: float
    spills_from: int
    steps: dict[int, tuple[Step, ...]]
    below_outlet: dict[int, float]
    stranded_top: dict[int, float]
    stranded_bottom: dict[int, float]


def group(vessels: Sequence[Vessel], members: Sequence[int]) -> Group:
    """Join tanks at the bottom.

    Between two neighbouring heights at which any tank's outlet, lip or shape changes, every tank
    takes a fixed share of each litre; those steps are all the daily loop needs to know.

    Parameters
    ----------
    vessels : sequence of Vessel
        All tanks of the holding.
    members : sequence of int
        Positions of the tanks that share one surface.
    """
    lips = {t: vessels[t].base + vessels[t].lip for t in members}
    outlets = {t: vessels[t].base + vessels[t].outlet for t in members}
    lip, bottom = min(lips.values()), min(outlets.values())
    heights = {lip, bottom}
    for t in members:
        heights.update(vessels[t].base + level for level in vessels[t].levels)
        heights.add(outlets[t])
    ladder = sorted(h for h in heights if bottom <= h <= lip)

    def drawable(t: int, surface: float) -> float:
        """Water of tank `t` above its outlet when the surface stands at this absolute height."""
        return vessels[t].volume_at(max(surface - vessels[t].base, vessels[t].outlet)) - vessels[t].dead

    steps: dict[int, list[Step]] = {t: [] for t in members}
    start = 0.0
    reached = {bottom: 0.0}
    for low, high in pairwise(ladder):
        gains = {t: drawable(t, high) - drawable(t, low) for t in members}
        size = math.fsum(gains.values())
        if size > 0.0:
            for t, gain in gains.items():
                if gain > 0.0:
                    steps[t].append(Step(start, size, gain / size, gain / (high - low)))
        start += size
        reached[high] = start
    return Group(
        tanks=tuple(members),
        capacity=start,
        spills_from=min(members, key=lambda t: round(lips[t], 6)),  # at one height: the first of the file
        steps={t: _merged(rows) for t, rows in steps.items()},
        below_outlet={t: reached.get(outlets[t], start) for t in members},
        stranded_top={
            t: vessels[t].capacity - max(vessels[t].volume_at(lip - vessels[t].base), vessels[t].dead)
            for t in members
        },
        stranded_bottom={t: vessels[t].dead for t in members},
    )


def _merged(rows: list[Step]) -> tuple[Step, ...]:
    """Neighbouring steps of equal share and surface as one."""
    merged: list[Step] = []
    for row in rows:
        last = merged[-1] if merged else None
        if last and last.start + last.size == row.start and _alike(last, row):
            merged[-1] = Step(last.start, last.size + row.size, last.share, last.area)
        else:
            merged.append(row)
    return tuple(merged)


def _alike(one: Step, other: Step) -> bool:
    """Whether two steps share litres alike and have one surface."""
    return math.isclose(one.share, other.share, rel_tol=1e-12) and math.isclose(
        one.area, other.area, rel_tol=1e-9
    )


def partition(count: int, open_links: Sequence[Sequence[int]]) -> list[tuple[int, ...]]:
    """Which tanks share a surface while these links are open: every tank in exactly one group."""
    home = list(range(count))
    for link in open_links:
        first = min(home[t] for t in link)
        merged = {home[t] for t in link}
        home = [first if h in merged else h for h in home]
    return [tuple(t for t in range(count) if home[t] == h) for h in sorted(set(home))]
