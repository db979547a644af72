"""Hatches as lines: printers and PDF writers turn patterns into coarse dots, and grey print lives by hatches."""

from __future__ import annotations

import copy
import math
import re
from xml.etree.ElementTree import Element, SubElement

_NUMBER = re.compile(r"-?\d*\.?\d+(?:e-?\d+)?")
_FILL = re.compile(r"url\(#([^)]+)\)")
_GEOMETRY = ("d", "points", "x", "y", "width", "height", "href")

Box = tuple[float, float, float, float]


def unrolled(root: Element) -> None:
    """Replace every fill with a pattern by its ground, its lines cut to the shape, and the outline.

    Parameters
    ----------
    root : Element
        An `svg` whose names have no namespace, with a `viewBox`; changed in place.
    """
    patterns = {pattern.get("id", ""): pattern for pattern in root.iter("pattern")}
    if not patterns:
        return
    shapes = {element.get("id"): element for element in root.iter() if element.get("id")}
    left, top, wide, high = (float(n) for n in root.attrib["viewBox"].split())
    view = (left, top, left + wide, top + high)
    made = 0
    for parent in [element for element in root.iter() if element.tag not in ("pattern", "defs", "clipPath")]:
        for place, child in enumerate(list(parent)):
            found = _FILL.fullmatch(child.get("fill", ""))
            if found and found[1] in patterns:
                parent[place] = _hatched(
                    child, patterns[found[1]], _bounds(child, shapes, view), f"cut{made}"
                )
                made += 1
    for pattern in patterns.values():
        _as_symbol(pattern)


def _hatched(shape: Element, pattern: Element, box: Box | None, name: str) -> Element:
    """A group of ground, lines and outline in place of a shape."""
    group = Element(
        "g", {k: v for k, v in shape.attrib.items() if k in ("clip-path", "transform", "opacity")}
    )
    own = {k: v for k, v in shape.attrib.items() if k not in group.attrib and k != "fill"}
    bare = {k: v for k, v in own.items() if k in _GEOMETRY}
    ground = next((rect.get("fill", "none") for rect in pattern.iter("rect")), "none")
    if ground != "none":
        SubElement(group, shape.tag, bare | {"fill": ground})
    if box is not None:
        SubElement(SubElement(group, "clipPath", id=name), shape.tag, bare)
        lines = SubElement(group, "g", {"clip-path": f"url(#{name})"})
        for tile in _tiles(pattern, box):
            SubElement(lines, "use", tile | {"href": f"#{pattern.get('id')}"})
    if own.get("stroke", "none") != "none":
        SubElement(group, shape.tag, own | {"fill": "none"})
    return group


def _tiles(pattern: Element, box: Box) -> list[dict[str, str]]:
    """Places of the tiles that cover a box."""
    wide, high = (float(pattern.get(side, "72")) for side in ("width", "height"))
    columns = range(math.floor(box[0] / wide), math.ceil(box[2] / wide))
    rows = range(math.floor(box[1] / high), math.ceil(box[3] / high))
    size = {"width": f"{wide:g}", "height": f"{high:g}"}
    return [{"x": f"{i * wide:g}", "y": f"{j * high:g}", **size} for j in rows for i in columns]


def _as_symbol(pattern: Element) -> None:
    """Turn a pattern into a symbol with its lines only."""
    size = f"0 0 {pattern.get('width')} {pattern.get('height')}"
    lines = [copy.deepcopy(child) for child in pattern if child.tag != "rect"]
    key = pattern.get("id", "")
    pattern.clear()
    pattern.tag = "symbol"
    pattern.attrib = {"id": key, "viewBox": size}
    pattern.extend(lines)


def _bounds(shape: Element, shapes: dict[str | None, Element], view: Box) -> Box | None:
    """Left, upper, right and lower end of a shape within the drawing; None where nothing of it is there."""
    if shape.tag == "use":
        of = shapes.get(shape.get("href", "")[1:])
        found = None if of is None else _bounds(of, shapes, (-math.inf, -math.inf, math.inf, math.inf))
        if found is None:
            return None
        x, y = (float(shape.get(key, "0")) for key in ("x", "y"))
        box = (found[0] + x, found[1] + y, found[2] + x, found[3] + y)
    elif shape.tag == "rect":
        x, y, wide, high = (float(shape.get(key, "0")) for key in ("x", "y", "width", "height"))
        box = (x, y, x + wide, y + high)
    else:
        numbers = [float(n) for n in _NUMBER.findall(shape.get("d") or shape.get("points") or "")]
        if not numbers:
            return None
        xs, ys = numbers[0::2], numbers[1::2]
        box = (min(xs), min(ys), max(xs), max(ys))
    inside = (max(box[0], view[0]), max(box[1], view[1]), min(box[2], view[2]), min(box[3], view[3]))
    return inside if inside[0] < inside[2] and inside[1] < inside[3] else None
