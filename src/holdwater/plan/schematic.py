"""The holding drawn from its scenario: what brings water above, what holds it below, what draws it at the foot."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from xml.etree.ElementTree import Element

from holdwater import words
from holdwater.charts import look
from holdwater.charts.sheet import POINTS, width
from holdwater.charts.vessels import BELOW
from holdwater.plan import facts
from holdwater.plan.drawing import markup
from holdwater.plan.section import Picture
from holdwater.plan.sketch import pipes, rows, strokes
from holdwater.plan.sketch.rows import WIDE, Box
from holdwater.plan.sketch.stores import NEVER_TOLD, Stores
from holdwater.plan.sketch.strokes import Point
from holdwater.scenario.schema import Backup, Direct, Draw, Roof, Scenario
from holdwater.site.layout import Layout, layout
from holdwater.units import System, show

NAME = "holding"


def schematic(scenario: Scenario, system: System) -> Picture:
    """Draw the holding: roofs, tanks to scale with their levels, links, overflows, pumps, draws and backup.

    Parameters
    ----------
    scenario : Scenario
        The checked holding.
    system : str
        "us" or "metric".
    """
    with look.style():
        return _drawn(scenario, system)


def _drawn(scenario: Scenario, system: System) -> Picture:
    root = Element("svg")
    _patterns(strokes.add(root, "defs"))
    lines, marks = strokes.add(root, "g", fill="none"), Element("g", {"fill": look.INK})
    plan = layout(scenario)
    direct = _direct(scenario, system)
    stores = Stores(plan, list(direct.values()), system)
    sources = _sources(scenario, stores, system)
    ways = pipes.ways_in(scenario, sources, stores, system)
    foot = rows.place(list(sources.values()), 2.0)
    foot = stores.stand(foot + 16.0 + pipes.LANE * sum(way.lane for way in ways))
    served = pipes.mains(scenario, stores, direct)
    draws = _draws(scenario, served, system)
    below = foot + 8.0
    foot = rows.place(list(draws.values()), below + pipes.LANE * len(served) + 6.0)
    pipes.lead(lines, marks, ways)
    pipes.serve(lines, served, draws, below)
    for i, box in sources.items():
        (rows.roof if isinstance(pipes.bringing(scenario)[i], Roof) else rows.banded)(root, box)
    stores.draw(root)
    for box in draws.values():
        rows.frame(root, box)
    root.append(marks)
    foot = _legend(root, scenario, stores, foot + 8.0)
    root.set("viewBox", f"0 0 {WIDE:g} {foot:.2f}")
    finding = sentence(plan, scenario, system)
    alt = f"Drawing of the holding. {finding}"
    return Picture(NAME, finding, alt, markup(root, NAME, alt))


def sentence(plan: Layout, scenario: Scenario, system: System) -> str:
    """Say in words what the drawing shows."""
    roofs = [f"{words.plain(r.name)} ({show(r.area, 'area', system)})" for r in scenario.roof]
    tanks = [f"{words.plain(v.name)} ({show(v.capacity, 'volume', system)})" for v in plan.vessels]
    said = f"{'Roofs' if roofs[1:] else 'Roof'} {facts.listed(roofs)} {'feed' if roofs[1:] else 'feeds'} "
    said += f"{'tanks' if tanks[1:] else 'tank'} {facts.listed(tanks)}"
    joined = [[words.plain(plan.vessels[t].name) for t in members] for members in plan.groups if members[1:]]
    said += "".join(f"; {facts.listed(names)} are joined at the bottom" for names in joined)
    said += f"; served are {facts.listed([words.plain(d.name) for d in scenario.draw])}"
    behind = [words.plain(b.name) for b in scenario.backup]
    return f"{said}{f', with {facts.listed(behind)} behind them' if behind else ''}."


def in_order(scenario: Scenario) -> list[Draw]:
    """Draws in the order in which they are served."""
    place = {d.name: (i + 1 if d.priority is None else d.priority, i) for i, d in enumerate(scenario.draw)}
    return sorted(scenario.draw, key=lambda d: place[d.name])


def _patterns(parent: Element) -> None:
    strokes.hatch(parent, "never", look.PAPER, look.FAINT, "/")
    strokes.hatch(parent, "stays", BELOW.colour, look.PAPER, ".")
    strokes.hatch(parent, "backup", look.BACKUP.colour, look.REFILL.colour, "/")
    strokes.hatch(parent, "flush", "#e8d5b8", look.FIRST_FLUSH.colour, "\\")


def _sources(scenario: Scenario, stores: Stores, system: System) -> dict[int, Box]:
    """Boxes of what brings water, from left to right as the tanks it fills; keys are places in `bringing`."""
    parts = pipes.bringing(scenario)
    place = {stores.plan.vessels[t].name: i for i, t in enumerate(stores.tanks)}
    fills = [_mean([place[name] for name, _ in pipes.into(scenario, part)]) for part in parts]
    room = rows.room(len(parts)) - 6.0
    boxes = {}
    for i in sorted(range(len(parts)), key=fills.__getitem__):
        part = parts[i]
        said = facts.roof(part, system) if isinstance(part, Roof) else facts.backup(part, system)
        head = rows.ROOF if isinstance(part, Roof) else rows.BAND
        boxes[i] = Box(strokes.fitted(words.plain(part.name), said, room), head)
    return boxes


def _direct(scenario: Scenario, system: System) -> dict[int, Box]:
    """Boxes of what serves draws past the tanks; keys are places among the backups."""
    found: dict[int, Backup] = {i: b for i, b in enumerate(scenario.backup) if isinstance(b, Direct)}
    room = rows.room(len(scenario.tank) + len(found))
    return {
        i: Box(strokes.fitted(words.plain(b.name), facts.backup(b, system), room), rows.BAND)
        for i, b in found.items()
    }


def _draws(scenario: Scenario, served: Sequence[pipes.Main], system: System) -> dict[str, Box]:
    """Boxes of the draws, from left to right as what serves them; each begins with its place in the order."""
    order = in_order(scenario)
    room = rows.room(len(order))
    named = {d.name: f"{i}. {words.plain(d.name)}" for i, d in enumerate(order, 1)}
    middle = {d.name: _mean([m.down for m in served if d.name in m.serves]) for d in order}
    return {
        d.name: Box(strokes.fitted(named[d.name], facts.draw(d, system), room))
        for d in sorted(order, key=lambda d: middle[d.name])
    }


def _mean(places: Sequence[float]) -> float:
    return sum(places) / len(places) if places else 0.0


# ------------------------------------------------------------------------------------------------ legend

Stroke = Callable[[Element, Point], None]


def _legend(root: Element, scenario: Scenario, stores: Stores, top: float) -> float:
    """Say what lines and fills stand for, only those in the picture; give the foot [points]."""
    plan = stores.plan
    never = any(
        v > NEVER_TOLD * plan.vessels[t].capacity for j in plan.joined for t, v in j.stranded_top.items()
    )
    stays = any(v > 0.0 for joined in plan.joined for v in joined.stranded_bottom.values())
    flush = any(facts.first_flush(roof, "metric") for roof in scenario.roof)
    entries: list[tuple[Stroke, str, bool]] = [
        (_dash(pipes.ROOF_WATER), "roof water", True),
        (_swatch("url(#flush)"), "first flush", flush),
        (_dash(pipes.SPILLED, pipes.SPILLED_DASHES), "overflow", True),
        (_dash(pipes.DRAWN), "drawn water", True),
        (_dash(pipes.BACKUP_WATER, pipes.BACKUP_DASHES), "backup", bool(scenario.backup)),
        (_swatch(look.WATER.colour), "can be drawn when full", True),
        (_swatch("url(#stays)"), "stays below the outlet", stays),
        (_swatch("url(#never)"), "can never fill", never),
    ]
    x, y = 0.0, top + 8.0
    for stroke, said, there in entries:
        wide = 20.0 + width(said, strokes.SAID) * POINTS + 12.0
        if not there:
            continue
        if x + wide - 12.0 > WIDE:
            x, y = 0.0, y + 12.0
        stroke(root, (x, y))
        strokes.words(root, said, (x + 20.0, y), anchor="start")
        x += wide
    return y + 5.0


def _dash(colour: str, dashes: str = "") -> Stroke:
    return lambda root, at: strokes.line(
        root, [(at[0], at[1] - 2.6), (at[0] + 16.0, at[1] - 2.6)], colour, 1.5, dashes
    )


def _swatch(fill: str) -> Stroke:
    def draw(root: Element, at: Point) -> None:
        corner = (at[0] + 2.0, at[1] - 6.6)
        strokes.rectangle(root, corner, (13.0, 8.0), fill=fill, stroke=look.INK, stroke_width=0.5)

    return draw
