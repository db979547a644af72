"""Tanks drawn to scale into axes: pads, walls, water, links and overflows."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import pairwise

from matplotlib.axes import Axes
from matplotlib.patches import FancyArrowPatch

from holdwater.charts import look
from holdwater.charts.reading import Box, boxes
from holdwater.scenario.schema import Scenario
from holdwater.site.layout import Layout
from holdwater.tanks import Vessel

BELOW = look.Role("stays below the outlet", "#46647d", hatch="---")
NEVER = look.Role("can never fill: above the lowest lip", look.PAPER, hatch="////")
PAD = look.Role("pad or ground", "#c2b59f")
FULL = look.Role("surface when full", look.WATER_LINE.colour, line="--")
EMPTY = look.Role("surface when empty", look.RESERVE.colour, line=":")
PIPE = look.Role("joined at the bottom", look.INK)
SPILL = look.Role("overflow", look.INFLOW.colour)
SPOUT, DROP, EDGE = 0.11, 0.1, 0.07
"""Length of an overflow pipe [in], its drop [share of the axes], and what pads and surfaces stand over [in]."""
PIPE_WIDTH, LINE_WIDTH = 3.0, 1.6


@dataclass(frozen=True)
class Column:
    """One tank in its row.

    Attributes
    ----------
    tank : int
        Position in the scenario.
    vessel : Vessel
        Its shape.
    middle : float
        Where it stands, from the left of the axes [in].
    across : float
        Drawn inches to a millimetre of breadth.
    up : float
        Shown units of height to a millimetre.
    """

    tank: int
    vessel: Vessel
    middle: float
    across: float
    up: float

    def side(self, level: float) -> float:
        """Half the drawn breadth at a level above the tank's base [in]."""
        slices = list(shape(self.vessel))
        return next((b for low, high, b in slices if level < high), slices[-1][2]) * self.across / 2.0

    def at(self, level: float) -> float:
        """Height of a level above the tank's base, in shown units above the datum."""
        return (self.vessel.base + level) * self.up


def shape(vessel: Vessel) -> Iterator[tuple[float, float, float]]:
    """Slices of a tank: lower and upper level above its base and the breadth of a round tank of that area [mm]."""
    for (low, below), (high, above) in pairwise(zip(vessel.levels, vessel.volumes, strict=True)):
        yield low, high, 2000.0 * math.sqrt((above - below) / (high - low) / math.pi)


def breadth(vessel: Vessel) -> float:
    """Greatest breadth of a tank [mm]."""
    return max(across for _, _, across in shape(vessel))


def draw(axes: Axes, scenario: Scenario, plan: Layout, row: Sequence[Column]) -> None:
    """Draw the tanks of one row with their water, what joins them, and where they spill."""
    ground = axes.get_ylim()[0]
    pads = [(*_over(column, column.side(0.0)), min(ground, column.at(0.0)), column.at(0.0)) for column in row]
    axes.add_collection(boxes(pads, PAD, 1.0), autolim=False)
    zones: dict[look.Role, list[Box]] = {look.WATER: [], BELOW: [], NEVER: []}
    for column in row:
        surface = plan.full(column.tank) - column.vessel.base
        for role, place in _water(column, surface):
            zones[role].append(place)
        _walls(axes, column)
        _surface(axes, column, column.vessel.outlet, EMPTY)
        if surface > 0.0:
            _surface(axes, column, surface, FULL)
    axes.add_collection(boxes(zones[BELOW], look.Role("", BELOW.colour), 1.9), autolim=False)
    for role, places in zones.items():
        axes.add_collection(boxes(places, role, 2.0), autolim=False)
    _links(axes, plan, row)
    _spills(axes, scenario, plan, row)


def _water(column: Column, surface: float) -> Iterator[tuple[look.Role, Box]]:
    """What fills a tank slice by slice: below the outlet, between outlet and surface, above the surface."""
    vessel = column.vessel
    top = min(max(surface, vessel.outlet), vessel.lip)
    zones = ((BELOW, 0.0, vessel.outlet), (look.WATER, vessel.outlet, top), (NEVER, top, vessel.lip))
    for low, high, across in shape(vessel):
        side = across * column.across / 2.0
        for role, start, stop in zones:
            a, b = max(low, start), min(high, stop)
            if b > a:
                yield role, (column.middle - side, column.middle + side, column.at(a), column.at(b))


def _walls(axes: Axes, column: Column) -> None:
    """Outline of a tank, open at the lip."""
    right = [
        (across * column.across / 2.0, column.at(level))
        for low, high, across in shape(column.vessel)
        for level in (low, high)
    ]
    x = [column.middle - side for side, _ in reversed(right)] + [column.middle + side for side, _ in right]
    y = [height for _, height in reversed(right)] + [height for _, height in right]
    axes.plot(x, y, color=look.INK, linewidth=1.2, zorder=4, solid_joinstyle="miter")


def _over(column: Column, side: float) -> tuple[float, float]:
    """Ends of what stands over the tank a little on both sides."""
    return column.middle - side - EDGE, column.middle + side + EDGE


def _surface(axes: Axes, column: Column, level: float, role: look.Role) -> None:
    axes.plot(
        _over(column, column.side(level)),
        [column.at(level)] * 2,
        color=role.colour,
        linestyle=role.line,
        linewidth=LINE_WIDTH,
        zorder=5,
        label=role.label,
    )


def _links(axes: Axes, plan: Layout, row: Sequence[Column]) -> None:
    """A pipe from outlet to outlet of neighbours that share one surface."""
    for one, other in pairwise(row):
        if any(one.tank in members and other.tank in members for members in plan.groups):
            a = one.middle + one.side(one.vessel.outlet)
            b = other.middle - other.side(other.vessel.outlet)
            low, high = one.at(one.vessel.outlet), other.at(other.vessel.outlet)
            axes.plot(
                [a, (a + b) / 2.0, (a + b) / 2.0, b],
                [low, low, high, high],
                color=PIPE.colour,
                linewidth=PIPE_WIDTH,
                zorder=6,
                label=PIPE.label,
            )


def _spills(axes: Axes, scenario: Scenario, plan: Layout, row: Sequence[Column]) -> None:
    """An arrow from the lip at which each group spills: down to the ground, or to the tank it spills into."""
    at = {column.vessel.name: column for column in row}
    low, high = axes.get_ylim()
    for joined in plan.joined:
        column = at.get(plan.vessels[joined.spills_from].name)
        if column is None:
            continue
        lip, side = column.at(column.vessel.lip), column.side(column.vessel.lip)
        target = at.get(scenario.tank[joined.spills_from].overflow_to)
        if target is None:
            start = (column.middle + side, lip)
            end = (start[0] + SPOUT, lip - DROP * (high - low))
            bend = "angle,angleA=0,angleB=90,rad=0"
        else:
            way = 1.0 if target.middle > column.middle else -1.0
            start = (column.middle + way * side, lip)
            top = target.vessel.lip
            end = (target.middle - way * 0.5 * target.side(top), target.at(top))
            bend = f"arc3,rad={-0.25 * way}"
        arrow = FancyArrowPatch(
            start,
            end,
            arrowstyle="-|>",
            mutation_scale=8,
            connectionstyle=bend,
            color=SPILL.colour,
            linewidth=1.4,
            shrinkA=0,
            shrinkB=0,
            zorder=7,
            clip_on=False,
            label=SPILL.label,
        )
        axes.add_patch(arrow)
