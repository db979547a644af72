"""The strokes of the drawn holding: boxes, lines with arrows, words; one unit is one point on paper."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from xml.etree.ElementTree import Element, SubElement

from holdwater.charts import look
from holdwater.charts.sheet import LINE_HEIGHT, POINTS, wrap

Point = tuple[float, float]
NAME, SAID = 8.0, 7.2
"""Type size of names and of what is said of them [points]."""
TILE, STEP = 40.0, 4.0
"""Side of a tile of a hatch, and the room between two of its strokes [points]."""
HEAD = 4.5
"""Length of an arrow head [points]."""


def add(parent: Element, tag: str, **said: float | str) -> Element:
    """Add an element; `_` in a name stands for `-`, numbers get two decimals at most."""
    texts = {k.replace("_", "-"): _number(v) if isinstance(v, float | int) else v for k, v in said.items()}
    return SubElement(parent, tag, texts)


def _number(value: float) -> str:
    text = f"{value:.2f}".rstrip("0").rstrip(".")
    return "0" if text == "-0" else text


def rectangle(parent: Element, at: Point, size: Point, **said: float | str) -> Element:
    """A box from its upper left corner."""
    return add(parent, "rect", x=at[0], y=at[1], width=size[0], height=size[1], **said)


def polygon(parent: Element, corners: Iterable[Point], **said: float | str) -> Element:
    """A closed shape."""
    points = " ".join(f"{_number(x)},{_number(y)}" for x, y in corners)
    return add(parent, "polygon", points=points, **said)


def line(parent: Element, way: Sequence[Point], colour: str, width: float = 1.2, dashes: str = "") -> None:
    """A line along a way."""
    points = " ".join(f"{_number(x)},{_number(y)}" for x, y in way)
    made = add(parent, "polyline", points=points, fill="none", stroke=colour, stroke_width=width)
    if dashes:
        made.set("stroke-dasharray", dashes)


def arrow(parent: Element, way: Sequence[Point], colour: str, width: float = 1.2, dashes: str = "") -> None:
    """A line along a way, with a head at its end."""
    (x0, y0), (x1, y1) = way[-2], way[-1]
    long = max(abs(x1 - x0), abs(y1 - y0)) or 1.0
    ux, uy = (x1 - x0) / long, (y1 - y0) / long
    neck = (x1 - ux * HEAD, y1 - uy * HEAD)
    line(parent, [*way[:-1], neck], colour, width, dashes)
    half = HEAD * 0.5
    sides = [(neck[0] - uy * half, neck[1] + ux * half), (neck[0] + uy * half, neck[1] - ux * half)]
    polygon(parent, [(x1, y1), *sides], fill=colour)


def leading(size: float) -> float:
    """Height of a line of words [points]."""
    return size * LINE_HEIGHT


def fitted(name: str, facts: Iterable[str], room: float) -> list[tuple[str, bool]]:
    """Lines that fit into a width: the name in heavy type, then the facts.

    Parameters
    ----------
    name : str
        May be of any length; it is broken where it must be.
    facts : iterable of str
        What is said of it.
    room : float
        Width [points].
    """
    inches = room / POINTS
    lines = [(part, True) for part in wrap(name, NAME, inches, bold=True)]
    return lines + [(part, False) for fact in facts for part in wrap(fact, SAID, inches)]


def tall(lines: Sequence[tuple[str, bool]]) -> float:
    """Height of lines of words [points]."""
    return sum(leading(NAME if bold else SAID) for _, bold in lines)


def write(
    parent: Element, lines: Sequence[tuple[str, bool]], middle: float, top: float, lifted: bool = False
) -> None:
    """Set lines of words, each about a middle, below a height; lifted off what passes under them."""
    for said, bold in lines:
        size = NAME if bold else SAID
        top += leading(size)
        made = words(parent, said, (middle, top - 0.3 * size), size, bold)
        if lifted:
            made.attrib |= {"stroke": look.PAPER, "stroke-width": "2.5", "paint-order": "stroke"}


def words(
    parent: Element,
    said: str,
    at: Point,
    size: float = SAID,
    bold: bool = False,
    anchor: str = "middle",
    colour: str = look.INK,
) -> Element:
    """Set one line of words at a place on its base line."""
    made = add(parent, "text", x=at[0], y=at[1], font_size=size, text_anchor=anchor, fill=colour)
    if bold:
        made.set("font-weight", "700")
    made.text = said
    return made


def hatch(parent: Element, key: str, ground: str, stroke: str, way: str) -> None:
    """Define a hatch: strokes on a ground, leaning "/" or "\\", or dots "."."""
    pattern = add(parent, "pattern", id=key, width=TILE, height=TILE)
    add(pattern, "rect", width=TILE, height=TILE, fill=ground)
    steps = [STEP * i for i in range(int(TILE / STEP) + 1)]
    if way == ".":
        for x in steps[:-1]:
            for y in steps[:-1]:
                add(pattern, "circle", cx=x + STEP / 2, cy=y + STEP / 2, r=0.7, fill=stroke)
        return
    low, high = (TILE, 0.0) if way == "/" else (0.0, TILE)
    path = "".join(f"M{x - TILE:g} {low:g}L{x:g} {high:g}M{x:g} {low:g}L{x + TILE:g} {high:g}" for x in steps)
    add(pattern, "path", d=path, stroke=stroke, stroke_width=0.7, fill="none")
