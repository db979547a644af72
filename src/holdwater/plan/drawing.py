"""Drawings for the page: a chart as plain SVG, without its own title, with ids of its own and no inline style."""

from __future__ import annotations

import re
from collections.abc import Iterable
from xml.etree import ElementTree as ET

import matplotlib as mpl
from markupsafe import Markup
from matplotlib.figure import Figure

from holdwater.charts import files, look
from holdwater.charts.sheet import LINE_HEIGHT, POINTS
from holdwater.plan.hatching import unrolled
from holdwater.plan.section import Picture

SIDE, ABOVE_FOOT = 0.12, 0.1
"""Empty margins of a sheet that are cut off: on either side, and above its foot [in]."""
PRESENTATION = re.compile(
    r"clip-(path|rule)|fill(-opacity|-rule)?|font-(size|style|weight)|image-rendering|opacity|text-anchor"
    r"|stroke(-dash(array|offset)|-line(cap|join)|-miterlimit|-opacity|-width)?"
)
"""Properties of SVG that may stand as attributes, so that no inline style is needed."""
_LONG = re.compile(r"-?\d*\.\d{3,}(?![\de])")
_REFERENCE = re.compile(r"#([\w.:-]+)")
_STILL = re.compile(r"rotate\(-?0(\.0*)? [^)]*\)")
_FONT = re.compile(r"(?:(italic|oblique) )?(?:(\d{3}|bold|normal) )?([\d.]+)px .*")


def picture(figure: Figure, name: str, kind: str) -> Picture:
    """Turn a chart into a drawing for the page.

    The chart's own title becomes the finding, its foot is left out: the plan says both once, as text.

    Parameters
    ----------
    figure : matplotlib.figure.Figure
        The chart, drawn on a sheet.
    name : str
        One word; every id in the drawing begins with it.
    kind : str
        What sort of picture it is, for those who do not see it: "Calendar of dry days".
    """
    box, finding = _laid_bare(figure)
    with look.style(), mpl.rc_context({"svg.hashsalt": name}):
        root = parsed(files.svg(figure))
    root.set("viewBox", " ".join(f"{n:.2f}" for n in box))
    alt = f"{kind}. {finding}".strip()
    return Picture(name, finding, alt, markup(root, name, alt))


def _laid_bare(figure: Figure) -> tuple[tuple[float, float, float, float], str]:
    """Take title and foot off a sheet; give what is left of it, in points from its upper left, and the title."""
    wide, high = figure.get_size_inches()
    sizes = [text.get_fontsize() for text in figure.texts[:3]]
    if sizes != [look.KICKER, look.TITLE, look.NOTE]:
        raise ValueError("the chart does not stand on a sheet with subject, title and foot")
    _, title, foot = figure.texts[:3]
    lines = title.get_text().count("\n") + 1
    upper = (1.0 - title.get_position()[1]) * high + lines * look.TITLE * LINE_HEIGHT / POINTS
    lower = (1.0 - foot.get_position()[1]) * high - ABOVE_FOOT
    for text in figure.texts[:3]:
        text.set_visible(False)
    box = (SIDE * POINTS, upper * POINTS, (wide - 2 * SIDE) * POINTS, (lower - upper) * POINTS)
    return box, " ".join(title.get_text().split())


def parsed(drawing: bytes) -> ET.Element:
    """Read a drawing; its names lose the namespaces that a page does not need."""
    root = ET.fromstring(drawing)
    for element in root.iter():
        element.tag = element.tag.rpartition("}")[2]
        for key in [key for key in element.attrib if key.startswith("{")]:
            element.set(key.rpartition("}")[2], element.attrib.pop(key))
    return root


def markup(root: ET.Element, name: str, alt: str) -> Markup:
    """Make a drawing ready for a page that holds others.

    Parameters
    ----------
    root : Element
        The `svg` element; changed in place.
    name : str
        Every id begins with it.
    alt : str
        Alternative text.
    """
    for key in ("width", "height", "version", "xmlns"):
        root.attrib.pop(key, None)
    root.attrib |= {"class": "drawing", "role": "img", "aria-label": alt, "stroke-linejoin": "round"}
    for kind in ("metadata", "style"):
        _without(root, kind)
    for element in root.iter():
        _presented(element)
        _rounded(element)
    unrolled(root)
    _renamed(root, name)
    _pruned(root)
    return Markup(ET.tostring(root, encoding="unicode"))


def _without(root: ET.Element, kind: str) -> None:
    for parent in root.iter():
        for child in [child for child in parent if child.tag == kind]:
            parent.remove(child)


def _presented(element: ET.Element) -> None:
    """Say with attributes what the style said; the typeface is the page's."""
    style = element.attrib.pop("style", "")
    for part in style.split(";") if style else ():
        key, _, value = part.partition(":")
        key, value = key.strip(), value.strip()
        found = _FONT.fullmatch(value) if key == "font" else None
        if found:
            kinds = zip(("font-style", "font-weight", "font-size"), found.groups(), strict=True)
            element.attrib |= {kind: said for kind, said in kinds if said}
        elif PRESENTATION.fullmatch(key):
            element.set(key, value.removesuffix("px") if key == "font-size" else value)
    if _STILL.fullmatch(element.get("transform", "")):
        del element.attrib["transform"]


def _rounded(element: ET.Element) -> None:
    """Keep two decimals of a point where matplotlib writes six."""
    for key in ("d", "x", "y"):
        value = element.get(key)
        if value is not None:
            short = _LONG.sub(lambda number: f"{float(number[0]):.2f}".rstrip("0").rstrip("."), value)
            element.set(key, " ".join(short.split()) if key == "d" else short)


def _renamed(root: ET.Element, name: str) -> None:
    """Give ids that something points at the drawing's own name, and drop the others."""
    wanted = {found for e in root.iter() for value in _pointing(e) for found in _REFERENCE.findall(value)}
    for element in root.iter():
        own = element.attrib.pop("id", None)
        if own in wanted:
            element.set("id", f"{name}-{own}")
        for key in _keys(element):
            element.set(key, _REFERENCE.sub(rf"#{name}-\1", element.attrib[key]))


def _keys(element: ET.Element) -> list[str]:
    """Attributes that point at an id."""
    return [k for k, v in element.attrib.items() if v.startswith("url(#") or (k == "href" and v[:1] == "#")]


def _pointing(element: ET.Element) -> Iterable[str]:
    return (element.attrib[key] for key in _keys(element))


def _pruned(element: ET.Element) -> None:
    """Take out groups that say nothing, keep what they hold, and take out blanks between elements."""
    element.text = None
    kept: list[ET.Element] = []
    for child in element:
        child.tail = None
        if child.tag not in ("text", "tspan"):
            _pruned(child)
        kept.extend(child if child.tag == "g" and not child.attrib else [child])
    element[:] = kept
