"""The drawn holding: every part is there, levels are to scale, no words leave it."""

from __future__ import annotations

import itertools
import re
from typing import Any
from xml.etree import ElementTree as ET

import pytest

from holdwater.charts import look
from holdwater.charts.sheet import POINTS, width
from holdwater.charts.vessels import PAD
from holdwater.plan.schematic import in_order, schematic
from holdwater.plan.sketch.rows import WIDE, Box, beside, place
from holdwater.plan.sketch.strokes import fitted, tall
from holdwater.scenario.schema import Scenario
from holdwater.units import System
from tests.holdings import holding


def read(scenario: Scenario, system: System = "us") -> ET.Element:
    return ET.fromstring(schematic(scenario, system).svg)


def said(root: ET.Element) -> list[str]:
    return [text.text or "" for text in root.iter("text")]


def boxes(root: ET.Element, **wanted: str) -> list[dict[str, float]]:
    keys = ("x", "y", "width", "height")
    return [
        {key: float(rect.get(key, "0")) for key in keys}
        for rect in root.iter("rect")
        if all(rect.get(key) == value for key, value in wanted.items())
    ]


def tank(name: str, **more: Any) -> dict[str, Any]:
    return {"name": name, "capacity": "5 m3", "diameter": "2 m"} | more


def roof(name: str, feeds: Any, **more: Any) -> dict[str, Any]:
    return {"name": name, "area": "100 m2", "runoff_coefficient": 0.9, "feeds": feeds} | more


def draw(name: str, **more: Any) -> dict[str, Any]:
    return {"name": name, "kind": "fixed", "per_day": "100 L/day"} | more


def test_every_part_is_named_with_its_size(everything: Any) -> None:
    scenario = everything.matter.scenario
    words = " ".join(said(read(scenario)))
    for part in (*scenario.roof, *scenario.tank, *scenario.draw, *scenario.backup):
        assert part.name in words
    for size in ("900 ft2 of metal", "700 ft2", "1,500 gal", "first flush 20 gal", "lift, 100 gal/day"):
        assert size in words
    assert "60 % to upper, 40 % to lower" in words
    assert "4 people, 25 gal/day each" in words


def test_the_sentence_tells_the_drawing(everything: Any) -> None:
    alt = schematic(everything.matter.scenario, "us").alt
    assert alt == (
        "Drawing of the holding. Roofs barn (900 ft2) and house (700 ft2) feed tanks upper (1,500 gal), lower"
        " (1,500 gal) and pond (1,200 gal); upper and lower are joined at the bottom; served are house, hens and"
        " tomatoes, with hauler and well behind them."
    )


def test_water_and_pads_stand_to_scale() -> None:
    """A 5 m3 tank of 2 m diameter is 1592 mm tall; one stands 400 mm higher, so its top 400 mm never fill."""
    scenario = holding(
        roof=[roof("roof", "high")],
        tank=[tank("high", base="400 mm", outlet="100 mm"), tank("low", outlet="100 mm")],
        link=[{"tanks": ["high", "low"]}],
    )
    root = read(scenario)
    points = 92.0 / (400.0 + 1591.549)
    water = boxes(root, fill=look.WATER.colour)[:2]
    assert [box["height"] for box in water] == pytest.approx(
        [(1591.549 - 400 - 100) * points, (1591.549 - 100) * points], abs=0.02
    )
    pads = boxes(root, fill=PAD.colour)
    assert pads[0]["height"] - pads[1]["height"] == pytest.approx(400 * points, abs=0.02)
    assert water[0]["y"] == pytest.approx(water[1]["y"], abs=0.02)  # one surface
    assert "can never fill" in said(root)
    assert "5,000 L" in " ".join(said(read(scenario, "metric")))


def test_the_legend_names_only_what_is_there() -> None:
    plain = said(read(holding(tank=[tank("tank")])))
    assert "roof water" in plain
    assert not {"backup", "first flush", "can never fill", "stays below the outlet"} & set(plain)


def test_draws_are_numbered_in_the_order_they_are_served() -> None:
    scenario = holding(draw=[draw("garden", priority=2), draw("house", priority=1), draw("goats")])
    assert [d.name for d in in_order(scenario)] == ["house", "garden", "goats"]
    assert {"1. house", "2. garden", "3. goats"} <= set(said(read(scenario)))


def lines(root: ET.Element, colour: str) -> list[list[tuple[float, float]]]:
    """Ways of the lines of a colour."""
    found = []
    for line in root.iter("polyline"):
        if line.get("stroke") == colour:
            pairs = (pair.split(",") for pair in line.get("points", "").split())
            found.append([(float(x), float(y)) for x, y in pairs])
    return found


def test_every_roof_has_a_pipe_that_ends_at_its_tank() -> None:
    scenario = holding(
        roof=[roof("a", "one"), roof("b", "two"), roof("c", {"one": 0.5, "two": 0.5})],
        tank=[tank("one"), tank("two")],
        draw=[draw("house")],
    )
    root = read(scenario)
    tops = [(box["x"], box["x"] + box["width"], box["y"]) for box in boxes(root, fill=look.WATER.colour)[:2]]
    ends = sorted(way[-1] for way in lines(root, look.ROOF.colour) if way[0][1] < tops[0][2] - 20)
    hits = [[left < x < right and abs(y - top) < 6 for left, right, top in tops] for x, y in ends]
    assert [sum(column) for column in zip(*hits, strict=True)] == [2, 2]


def test_no_two_pipes_run_along_one_line() -> None:
    scenario = holding(
        roof=[roof(f"r{i}", f"t{(i * 3) % 5}") for i in range(6)],
        tank=[tank(f"t{i}") for i in range(5)],
        draw=[draw(f"d{i}", from_tanks=[f"t{i % 5}", f"t{(i + 2) % 5}"]) for i in range(6)],
        backup=[{"name": "well", "kind": "direct"}],
    )
    root = read(scenario)
    flat = []
    for line in root.iter("polyline"):
        pairs = [tuple(map(float, p.split(","))) for p in line.get("points", "").split()]
        for (x0, y0), (x1, y1) in itertools.pairwise(pairs):
            if (
                y0 == y1
                and abs(x1 - x0) > 12
                and line.get("stroke") not in (look.INK, look.WATER_LINE.colour)
            ):
                flat.append((y0, min(x0, x1), max(x0, x1)))
    assert len(flat) > 10
    for i, (y, left, right) in enumerate(flat):
        for other, start, stop in flat[i + 1 :]:
            assert y != other or right <= start or stop <= left, "two pipes lie on each other"


@pytest.mark.parametrize("number", [1, 2, 7, 8, 15, 40])
def test_many_parts_stand_in_rows_within_the_page(number: int) -> None:
    scenario = holding(
        roof=[roof(f"roof {i}", f"tank {i}") for i in range(number)],
        tank=[tank(f"tank {i}") for i in range(number)],
        draw=[draw(f"draw {i}") for i in range(number)],
    )
    root = read(scenario)
    _, _, wide, high = (float(n) for n in root.attrib["viewBox"].split())
    assert wide == WIDE
    for box in boxes(root):
        assert box["x"] >= -0.01
        assert box["x"] + box["width"] <= WIDE + 0.01
        assert box["y"] + box["height"] <= high
    names = [name for name in said(root) if re.fullmatch(r"(roof|tank) \d+", name)]
    assert len(names) == 2 * number


@pytest.mark.parametrize("name", ["W" * 60, "羊" * 60, "a b c d " * 7, "<script>\"'&", "שלום " * 10])
def test_long_names_are_broken_so_that_they_fit(name: str) -> None:
    name = name[:60].strip()
    scenario = holding(
        roof=[roof(name, name), *(roof(f"r{i}", name) for i in range(6))],
        tank=[tank(name), *(tank(f"t{i}") for i in range(6))],
        draw=[draw(name), *(draw(f"d{i}") for i in range(6))],
    )
    root = read(scenario)
    assert name.replace(" ", "") in "".join(said(root)).replace(" ", "")
    for text in root.iter("text"):
        size, bold = float(text.get("font-size", "0")), text.get("font-weight") == "700"
        if text.get("text-anchor") == "middle":
            half = width(text.text or "", size, bold) * POINTS / 2
            x = float(text.get("x", "0"))
            assert x - half >= -0.5, text.text
            assert x + half <= WIDE + 0.5, text.text


def test_rows_are_about_equally_full() -> None:
    assert [beside(n) for n in (0, 1, 7, 8, 9, 14, 15)] == [1, 1, 7, 4, 5, 7, 5]


def test_boxes_of_a_row_do_not_touch_and_hold_their_words() -> None:
    made = [Box(fitted(f"part {i}", ["some words of it"] * i, 60.0)) for i in range(10)]
    foot = place(made, 5.0)
    for one, other in itertools.pairwise(made):
        assert one.top != other.top or one.along(1.0) < other.along(-1.0)
    assert all(box.high >= tall(box.lines) for box in made)
    assert foot == max(box.foot for box in made)
