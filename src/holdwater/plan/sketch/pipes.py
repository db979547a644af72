"""The pipes of the drawn holding: into the tanks from above, out of them to the draws."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from xml.etree.ElementTree import Element

from holdwater import words
from holdwater.charts import look
from holdwater.charts.vessels import SPILL
from holdwater.holding import fed
from holdwater.plan import facts
from holdwater.plan.sketch import strokes
from holdwater.plan.sketch.rows import Box
from holdwater.plan.sketch.stores import SPOUT, Stores
from holdwater.plan.sketch.strokes import Point
from holdwater.scenario.schema import Direct, Refill, Roof, Scenario
from holdwater.units import System, show

LANE = 9.0
"""Room of one line beside another [points]."""
SMALL = 6.4
"""Type size of words beside a pipe [points]."""
ROOF_WATER, DRAWN = look.ROOF.colour, "#3a7fb1"
BACKUP_WATER, BACKUP_DASHES = look.REFILL.colour, "4 2.4"
SPILLED, SPILLED_DASHES = SPILL.colour, "1.6 2"


@dataclass
class Way:
    """Water on its way into a tank; its ends are known once all boxes stand."""

    start: Callable[[], Point]
    end: Callable[[], Point]
    colour: str
    dashes: str = ""
    said: str = ""
    mark: str = ""
    lane: bool = True
    above: bool = False


def bringing(scenario: Scenario) -> list[Roof | Refill]:
    """Roofs, and backups that fill tanks."""
    return [*scenario.roof, *(b for b in scenario.backup if isinstance(b, Refill))]


def into(scenario: Scenario, part: Roof | Refill) -> list[tuple[str, float]]:
    """Tanks it fills, with the share each gets."""
    if isinstance(part, Roof):
        return [(name, share) for name, share in fed(part) if share > 0.0]
    return [(part.into or scenario.tank[0].name, 1.0)]


def ways_in(scenario: Scenario, sources: dict[int, Box], stores: Stores, system: System) -> list[Way]:
    """Every pipe that ends at the top of a tank."""
    at = {vessel.name: t for t, vessel in enumerate(stores.plan.vessels)}
    ways = []
    for i, box in sources.items():
        part = bringing(scenario)[i]
        mouths = into(scenario, part)
        flush = isinstance(part, Roof) and bool(facts.first_flush(part, system))
        for k, (name, _) in enumerate(mouths):
            way = Way(_foot(box, k, len(mouths)), _mouth(stores.tanks[at[name]]), ROOF_WATER, above=True)
            way.mark = "flush" if flush and k == 0 else ""
            if isinstance(part, Refill):
                way.colour, way.dashes = BACKUP_WATER, BACKUP_DASHES
            ways.append(way)
    for joined in stores.plan.joined:
        to, lip = scenario.tank[joined.spills_from].overflow_to, _lip(stores, joined.spills_from)
        end = _mouth(stores.tanks[at[to]]) if to in at else _earth(stores, joined.spills_from)
        ways.append(Way(lip, end, SPILLED, SPILLED_DASHES, lane=to in at))
    for pump in scenario.transfer:
        said = words.plain(f"{pump.name}, {show(pump.per_day, 'flow', system)}")
        start, end = _lip(stores, at[pump.from_tank]), _mouth(stores.tanks[at[pump.to_tank]])
        ways.append(Way(start, end, DRAWN, "", said, "pump"))
    return ways


def _foot(box: Box, which: int, of: int) -> Callable[[], Point]:
    return lambda: (box.tap(which, of), box.foot)


def _lip(stores: Stores, tank: int) -> Callable[[], Point]:
    return lambda: stores.lip(tank)


def _earth(stores: Stores, tank: int) -> Callable[[], Point]:
    """Below the spout of a tank that spills to the ground."""
    return lambda: (stores.lip(tank)[0] + SPOUT, stores.lip(tank)[1] + 2.0 * SPOUT)


def _mouth(box: Box) -> Callable[[], Point]:
    """The next free place at the top of a tank."""
    place = box.taken
    box.taken += 1
    return lambda: (box.tap(place, box.taken), box.top)


def lead(parent: Element, marks: Element, ways: Sequence[Way]) -> None:
    """Draw the ways in, those from above along lanes of their own so that few of them cross.

    Parameters
    ----------
    parent : Element
        Takes the lines.
    marks : Element
        Takes chambers, pumps and words, which lie above the lines.
    ways : sequence of Way
        All of them; every box stands by now.
    """
    placed = [(way, way.start(), way.end()) for way in ways]
    down = [each for each in placed if each[0].above]
    right = sorted((e for e in down if e[2][0] >= e[1][0]), key=lambda e: -e[1][0])
    left = sorted((e for e in down if e[2][0] < e[1][0]), key=lambda e: e[1][0])
    top = max(start[1] for _, start, _ in down) + 11.0
    for lane, (way, start, end) in enumerate([*right, *left]):
        y = min(top + lane * LANE, end[1] - 7.0)
        straight = abs(end[0] - start[0]) < 1.0
        _pipe(parent, marks, way, [start, end] if straight else [start, (start[0], y), (end[0], y), end])
    lanes = len(down)
    for way, start, end in placed:
        if way.above:
            continue
        aside = (start[0] + SPOUT, start[1])
        if not way.lane:
            _pipe(parent, marks, way, [start, aside, end])
            continue
        y = min(top + lanes * LANE, start[1] - 7.0, end[1] - 7.0)
        lanes += 1
        _pipe(parent, marks, way, [start, aside, (aside[0], y), (end[0], y), end])


def _pipe(parent: Element, marks: Element, way: Way, along: Sequence[Point]) -> None:
    """One way in, with a first-flush chamber or a pump beside it."""
    strokes.arrow(parent, along, way.colour, 1.3, way.dashes)
    x, y = along[0]
    if way.mark == "flush":
        strokes.rectangle(
            marks,
            (x - 7.6, y),
            (5.0, 8.5),
            fill="url(#flush)",
            stroke=look.FIRST_FLUSH.colour,
            stroke_width=0.7,
        )
    if way.mark == "pump":
        middle = along[2][0] + (6.0 if along[3][0] > along[2][0] else -6.0)
        strokes.add(marks, "circle", cx=middle, cy=along[2][1], r=3.6, fill=look.PAPER, stroke=way.colour)
        strokes.words(marks, way.said, (middle + 5.0, along[2][1] - 2.4), SMALL, anchor="start")


@dataclass
class Main:
    """A pipe that serves draws.

    Attributes
    ----------
    way : list of Point
        From the tanks to where it turns down.
    serves : set of str
        Names of the draws.
    """

    way: list[Point]
    serves: set[str]
    colour: str
    dashes: str = ""

    @property
    def down(self) -> float:
        """Where it turns down."""
        return self.way[-1][0]


def mains(scenario: Scenario, stores: Stores, direct: dict[int, Box]) -> list[Main]:
    """One pipe from every group of tanks and from every direct backup, if it serves any draw."""
    found = []
    for members in stores.plan.groups:
        names = {stores.plan.vessels[t].name for t in members}
        serves = {d.name for d in scenario.draw if d.from_tanks is None or names & set(d.from_tanks)}
        found.append(Main(_take_off(stores, members), serves, DRAWN))
    for i, box in direct.items():
        backup = scenario.backup[i]
        named = backup.serves if isinstance(backup, Direct) else None
        serves = {d.name for d in scenario.draw if named is None or d.name in named}
        found.append(Main([(box.middle, box.foot)], serves, BACKUP_WATER, BACKUP_DASHES))
    return [main for main in found if main.serves]


def _take_off(stores: Stores, members: Sequence[int]) -> list[Point]:
    """From the link between two tanks that stand side by side, or from the left of a tank."""
    first = stores.tanks[members[0]]
    second = stores.tanks[members[1]] if members[1:] else first
    if second.middle > first.middle and abs(second.foot - first.foot) < first.high:
        middle = (first.along(1.0) + second.along(-1.0)) / 2.0
        return [(middle, max(stores.outlet(members[0]), stores.outlet(members[1])))]
    y = stores.outlet(members[0])
    return [(first.along(-1.0), y), (stores.edges[members[0]], y)]


def serve(parent: Element, served: Sequence[Main], boxes: dict[str, Box], top: float) -> None:
    """Draw the mains along lines of their own, and from them down to every draw.

    Parameters
    ----------
    served : sequence of Main
        The pipes.
    boxes : dict of str to Box
        Draws by name; they stand by now.
    top : float
        Height of the first line [points].
    """
    for level, main in enumerate(served):
        y = top + level * LANE
        reach = [main.down]
        for name, box in boxes.items():
            of = [m for m in served if name in m.serves]
            if main in of:
                x = box.tap(of.index(main), len(of))
                reach.append(x)
                strokes.arrow(parent, [(x, y), (x, box.top)], main.colour, 1.3, main.dashes)
                strokes.add(parent, "circle", cx=x, cy=y, r=1.7, fill=main.colour)
        strokes.line(parent, [*main.way, (main.down, y)], main.colour, 1.5, main.dashes)
        strokes.line(parent, [(min(reach), y), (max(reach), y)], main.colour, 1.5, main.dashes)
