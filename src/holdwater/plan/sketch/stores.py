"""The tanks of the drawn holding: to scale with their levels, their pads, their links."""

from __future__ import annotations

import math
from collections.abc import Sequence
from itertools import pairwise
from xml.etree.ElementTree import Element

from holdwater import words
from holdwater.charts import look
from holdwater.charts.vessels import PAD
from holdwater.plan.sketch import strokes
from holdwater.plan.sketch.rows import BETWEEN, Box, banded, beside, columns
from holdwater.site.layout import Layout
from holdwater.tanks import Vessel
from holdwater.units import System, show

TALLEST, GROUND, SPOUT = 92.0, 4.0, 8.0
"""Height from the lowest pad to the highest lip, of the ground, and length of an overflow [points]."""
NEVER_TOLD = 1e-6
"""Share of a tank below which water that can never fill is rounding."""

Row = list[tuple[int | None, Box]]
"""Tanks by their place in the scenario; None for what serves draws past the tanks."""


class Stores:
    """Tanks and direct backups, in rows.

    Parameters
    ----------
    plan : Layout
        How the tanks hang together.
    direct : sequence of Box
        What stands beside the tanks.
    system : str
        "us" or "metric".
    """

    def __init__(self, plan: Layout, direct: Sequence[Box], system: System) -> None:
        self.plan, self.system = plan, system
        self.tanks = {t: Box() for members in plan.groups for t in members}
        everything: Row = [*self.tanks.items(), *((None, box) for box in direct)]
        number = beside(len(everything))
        self.rows = [everything[i : i + number] for i in range(0, len(everything), number)]
        self.grounds: list[float] = []
        self.edges: dict[int, float] = {}
        self.low = min(vessel.base for vessel in plan.vessels)
        self.upright = TALLEST / (max(plan.lip(t) for t in self.tanks) - self.low)

    def stand(self, top: float) -> float:
        """Give every tank its place below a height, and return the foot of their words [points]."""
        for row in self.rows:
            wide, left = columns(len(row))
            ground = top + TALLEST
            across = min(self.upright, 0.66 * wide / max(_breadth(v) for v in self.plan.vessels))
            deepest = 0.0
            for i, (tank, box) in enumerate(row):
                box.middle = left + (i + 0.5) * wide
                if tank is None:
                    box.wide, box.high, box.top = wide - BETWEEN, box.needs, ground - box.needs
                    continue
                vessel = self.plan.vessels[tank]
                box.wide, box.high = max(_breadth(vessel) * across, 14.0), vessel.lip * self.upright
                box.top = ground - (vessel.base - self.low) * self.upright - box.high
                self.edges[tank] = box.middle - wide / 2.0 + 3.0
                box.lines = strokes.fitted(words.plain(vessel.name), self._facts(tank), wide - 14.0)
                deepest = max(deepest, strokes.tall(box.lines))
            self.grounds.append(ground)
            top = ground + GROUND + deepest + 18.0
        return top - 14.0

    def draw(self, parent: Element) -> None:
        """Draw them all."""
        for row, ground in zip(self.rows, self.grounds, strict=True):
            for tank, box in row:
                if tank is None:
                    banded(parent, box)
                else:
                    self._tank(parent, tank, box, ground)
            for (one, left), (other, right) in pairwise(row):
                if any({one, other} <= set(members) for members in self.plan.groups):
                    assert one is not None
                    assert other is not None
                    _link(
                        parent, (left.along(1.0), self.outlet(one)), (right.along(-1.0), self.outlet(other))
                    )

    def outlet(self, tank: int) -> float:
        """Height of a tank's outlet in the drawing [points]."""
        return self.tanks[tank].foot - self.plan.vessels[tank].outlet * self.upright

    def lip(self, tank: int) -> strokes.Point:
        """Where a tank's overflow leaves it."""
        return self.tanks[tank].along(1.0), self.tanks[tank].top + 1.5

    def below(self, tank: int) -> float:
        """Share of its height at which the surface stands when its group spills [0..1]."""
        vessel = self.plan.vessels[tank]
        return min(max(self.plan.full(tank) - vessel.base, vessel.outlet), vessel.lip) / vessel.lip

    def _facts(self, tank: int) -> list[str]:
        vessel = self.plan.vessels[tank]
        joined = next(each for each in self.plan.joined if tank in each.tanks)
        gives = vessel.capacity - joined.stranded_top[tank] - joined.stranded_bottom[tank]
        said = [show(vessel.capacity, "volume", self.system)]
        return [*said, f"{show(gives, 'volume', self.system, 2)} to draw"]

    def _tank(self, parent: Element, tank: int, box: Box, ground: float) -> None:
        """Pad, what never fills, what can be drawn, what stays, walls, words."""
        left, right = box.along(-1.0), box.along(1.0)
        pad = (box.wide + 8.0, ground + GROUND - box.foot)
        strokes.rectangle(parent, (left - 4.0, box.foot), pad, fill=PAD.colour)
        full, outlet = self.below(tank), self.plan.vessels[tank].outlet / self.plan.vessels[tank].lip
        zones = ((full, 1.0, "url(#never)"), (outlet, full, look.WATER.colour), (0.0, outlet, "url(#stays)"))
        for low, high, fill in zones:
            if high - low > NEVER_TOLD:
                size = (box.wide, (high - low) * box.high)
                strokes.rectangle(parent, (left, box.foot - high * box.high), size, fill=fill)
        surface = box.foot - full * box.high
        strokes.line(parent, [(left, surface), (right, surface)], look.WATER_LINE.colour, 1.4)
        walls = [(left, box.top), (left, box.foot), (right, box.foot), (right, box.top)]
        strokes.line(parent, walls, look.INK, 1.3)
        strokes.write(parent, box.lines, box.middle, ground + GROUND + 1.0, lifted=True)


def _breadth(vessel: Vessel) -> float:
    """Diameter of a round tank of the same greatest surface [mm]."""
    slices = zip(pairwise(vessel.levels), pairwise(vessel.volumes), strict=True)
    return max(2000.0 * math.sqrt((v1 - v0) / (h1 - h0) / math.pi) for (h0, h1), (v0, v1) in slices)


def _link(parent: Element, one: strokes.Point, other: strokes.Point) -> None:
    """A pipe from outlet to outlet with its valve."""
    (x0, y0), (x1, y1) = one, other
    middle, y = (x0 + x1) / 2.0, (y0 + y1) / 2.0
    strokes.line(parent, [one, (middle, y0), (middle, y1), other], look.INK, 2.6)
    valve = [(-4.0, -3.4), (4.0, 3.4), (4.0, -3.4), (-4.0, 3.4)]
    strokes.polygon(parent, [(middle + dx, y + dy) for dx, dy in valve], fill=look.PAPER, stroke=look.INK)
