"""Boxes side by side, in as many rows as they need."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, field
from xml.etree.ElementTree import Element

from holdwater.charts import look
from holdwater.plan.sketch import strokes

WIDE = 540.0
"""Width of the drawing: that of a letter or A4 page between its margins [points]."""
WIDEST, NARROWEST, BETWEEN = 132.0, 66.0, 11.0
"""Widest and narrowest box of a row, and the room between two [points]."""
PAD, ROOF, BAND, APART = 4.0, 13.0, 8.0, 12.0
"""Room around words, height of a roof or a band above them, room between rows [points]."""


@dataclass
class Box:
    """Something with a name and a place.

    Attributes
    ----------
    lines : list of (str, bool)
        Its words, heavy ones marked.
    head : float
        Room for a roof or a band above the words [points].
    middle, top, wide, high : float
        Where it stands [points].
    taken : int
        Pipes that already end at its top.
    """

    lines: list[tuple[str, bool]] = field(default_factory=list)
    head: float = 0.0
    middle: float = 0.0
    top: float = 0.0
    wide: float = 0.0
    high: float = 0.0
    taken: int = 0

    @property
    def foot(self) -> float:
        """Lower edge."""
        return self.top + self.high

    @property
    def needs(self) -> float:
        """Height its words ask for."""
        return self.head + 2 * PAD + strokes.tall(self.lines)

    def along(self, part: float) -> float:
        """A place along its width: -1 is the left end, 1 the right one."""
        return self.middle + part * self.wide / 2.0

    def tap(self, which: int, of: int) -> float:
        """One of several places spread along its width."""
        return self.along(0.7 * ((which + 1) / (of + 1) * 2.0 - 1.0))


def beside(number: int) -> int:
    """How many of so many stand side by side; rows are about equally full."""
    most = int(WIDE // (NARROWEST + BETWEEN))
    return math.ceil(number / math.ceil(number / most)) if number else 1


def columns(number: int) -> tuple[float, float]:
    """Width of a column, and the left edge of the first of them [points]."""
    wide = min(WIDEST + BETWEEN, WIDE / max(number, 1))
    return wide, (WIDE - wide * number) / 2.0


def room(number: int) -> float:
    """Room for words in each of so many boxes [points]."""
    return columns(beside(number))[0] - BETWEEN - 2 * PAD


def place(boxes: Sequence[Box], top: float) -> float:
    """Put boxes in rows below a height and give their foot [points]."""
    per_row = beside(len(boxes))
    for start in range(0, len(boxes), per_row):
        row = boxes[start : start + per_row]
        high = max(box.needs for box in row)
        wide, left = columns(len(row))
        for i, box in enumerate(row):
            box.middle, box.top = left + (i + 0.5) * wide, top
            box.wide, box.high = wide - BETWEEN, high
        top += high + APART
    return top - APART


def frame(parent: Element, box: Box) -> None:
    """A plain box and its words."""
    at, size = (box.along(-1.0), box.top), (box.wide, box.high)
    strokes.rectangle(parent, at, size, fill=look.PAPER, stroke=look.FAINT, stroke_width=0.8)
    strokes.write(parent, box.lines, box.middle, box.top + box.head + PAD)


def roof(parent: Element, box: Box) -> None:
    """A box under a roof."""
    eaves = box.top + ROOF
    at, size = (box.along(-0.94), eaves), (box.wide * 0.94, box.high - ROOF)
    strokes.rectangle(parent, at, size, fill=look.PAPER, stroke=look.FAINT, stroke_width=0.8)
    corners = [(box.along(-1.0), eaves), (box.along(-0.55), box.top), (box.along(0.55), box.top)]
    strokes.polygon(parent, [*corners, (box.along(1.0), eaves)], fill=look.ROOF.colour)
    strokes.write(parent, box.lines, box.middle, eaves + PAD)


def banded(parent: Element, box: Box) -> None:
    """A box under a hatched band: what comes from elsewhere."""
    frame(parent, box)
    at, size = (box.along(-1.0), box.top), (box.wide, BAND)
    strokes.rectangle(parent, at, size, fill="url(#backup)", stroke=look.FAINT, stroke_width=0.8)
