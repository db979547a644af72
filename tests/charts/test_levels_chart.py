"""The drawing of the levels: what stands where, to scale. The holdings are invented."""

from __future__ import annotations

import itertools
import math
from typing import Any, get_args

import numpy as np
import pytest
from matplotlib.axes import Axes
from matplotlib.collections import PolyCollection
from matplotlib.figure import Figure
from matplotlib.patches import FancyArrowPatch

from holdwater.charts import files, look, vessels
from holdwater.charts.levels import MOST_IN_A_ROW, levels_chart
from holdwater.scenario.schema import Scenario
from holdwater.site.layout import layout
from holdwater.units import System
from tests.charts.runs import boxes, legend, shown, ticks, title
from tests.holdings import holding

Edges = tuple[float, float, float, float]


def tank(name: str, capacity: str = "2500 gal", diameter: str = "95 in", **keys: Any) -> dict[str, Any]:
    return {"name": name, "capacity": capacity, "diameter": diameter, **keys}


UNEVEN = (
    tank("a", "3000 gal", "102 in", base="6 in", outlet="3 in"),
    tank("b", "2500 gal", "95 in", outlet="3 in"),
)
BULB = {
    "name": "a",
    "levels": [
        {"level": 0, "volume": 0},
        {"level": "10 in", "volume": "100 gal"},
        {"level": "40 in", "volume": "900 gal"},
        {"level": "50 in", "volume": "1000 gal"},
    ],
    "outlet": "3 in",
}
HOLDINGS: dict[str, dict[str, Any]] = {
    "one": {"tank": [tank("a", outlet="3 in")]},
    "two unequal": {"tank": list(UNEVEN), "link": [{"tanks": ["a", "b"]}]},
    "cascade": {
        "tank": [
            tank("a", base="12 ft", overflow_to="b", outlet="3 in"),
            tank("b", base="6 ft", overflow_to="c"),
            tank("c", "5000 gal", "120 in", outlet="3 in"),
        ]
    },
    "seven": {
        "tank": [
            tank("a", base="4 in", outlet="3 in"),
            tank("north end of the old barn", outlet="3 in"),
            tank("c", "1650 gal", "87 in", base="2 in", outlet="2 in"),
            tank("d", "500 gal", "48 in", overflow_to="a"),
            tank("e", "305 gal", "46 in", base="-10 in", outlet="2 in"),
            tank("f", "1100 gal", "87 in", outlet="3 in"),
            tank("g", "5000 gal", "102 in", base="1 ft", outlet="3 in"),
        ],
        "link": [{"tanks": ["a", "north end of the old barn", "c"]}, {"tanks": ["f", "g"]}],
    },
    "very unequal": {
        "tank": [
            tank("a", "55 gal", "22.5 in", overflow_to="big", base="20 ft"),
            tank("big", "50000 gal", "24 ft", outlet="6 in"),
            tank("drum", "55 gal", "22.5 in", outlet="2 in"),
        ],
        "link": [{"tanks": ["big", "drum"]}],
    },
    "no cylinder": {"tank": [BULB, {"name": "box", "capacity": "2 m3", "overflow": "1 m"}]},
    "twelve": {
        "tank": [tank(name, base=f"{i} in", outlet="3 in") for i, name in enumerate("abcdefghijkl")],
        "link": [{"tanks": list("abcdefghi")}],
    },
    "by the map": {"tank": [tank("a", base="5200 ft", outlet="3 in"), tank("b", base="5195 ft")]},
}
HARD = "羊 $x^2$ <tank> & \\frac{1}{2} " + "Larkfield" * 3


def made(name: str) -> Scenario:
    roof = {"name": "r", "area": "100 m2", "runoff_coefficient": 1.0, "feeds": "a"}
    return holding(title="Test holding: tanks (invented)", roof=[roof], **HOLDINGS[name])


def drawn(name: str, system: System = "us") -> Figure:
    return levels_chart(made(name), system)


def areas(axes: Axes, role: look.Role) -> list[Edges]:
    """Left, right, lower and upper edge of every area in a role."""
    found = []
    for collection in axes.collections:
        if isinstance(collection, PolyCollection) and collection.get_label() == role.label:
            for path in collection.get_paths():
                x, y = np.asarray(path.vertices).T
                found.append((float(x.min()), float(x.max()), float(y.min()), float(y.max())))
    return found


def foot(figure: Figure) -> str:
    """The paragraphs at the foot, joined."""
    (found,) = [t for t in figure.texts if t.get_fontsize() == look.NOTE and t.get_color() == look.FAINT]
    return found.get_text().replace("\n", " ")


def lines(axes: Axes, role: look.Role) -> list[Any]:
    return [line for line in axes.lines if line.get_label() == role.label]


# ------------------------------------------------------------------------------------------------ to scale


def test_water_stands_between_outlet_and_the_lowest_lip() -> None:
    """Two unequal tanks: the lip of the lower at 2,500 gal (577,500 in3) over 95 in, 81.47 in."""
    (axes,) = drawn("two unequal").axes
    lip, high = 577_500 / (math.pi / 4 * 95**2), 6 + 3000 * 231 / (math.pi / 4 * 102**2)
    water = areas(axes, look.WATER)
    assert [edges[2:] for edges in water] == [pytest.approx((9.0, lip)), pytest.approx((3.0, lip))]
    assert [edges[2:] for edges in areas(axes, vessels.BELOW)] == [
        pytest.approx((6.0, 9.0)),
        pytest.approx((0.0, 3.0)),
    ]
    assert [edges[2:] for edges in areas(axes, vessels.NEVER)] == [pytest.approx((lip, high))]
    assert [list(line.get_ydata()) for line in lines(axes, vessels.FULL)] == [[pytest.approx(lip)] * 2] * 2
    assert [line.get_ydata()[0] for line in lines(axes, vessels.EMPTY)] == [
        pytest.approx(9.0),
        pytest.approx(3.0),
    ]
    assert [edges[3] for edges in areas(axes, vessels.PAD)] == [pytest.approx(6.0), pytest.approx(0.0)]


@pytest.mark.parametrize("name", HOLDINGS)
def test_what_is_drawn_has_the_volumes_of_the_layout(name: str) -> None:
    """Round areas of the drawn breadth, times their height, are the volumes told; one scale for all tanks."""
    figure, plan = drawn(name, "metric"), layout(made(name))
    told = {
        look.WATER: sum(joined.capacity for joined in plan.joined),
        vessels.NEVER: sum(v for joined in plan.joined for v in joined.stranded_top.values()),
        vessels.BELOW: sum(v for joined in plan.joined for v in joined.stranded_bottom.values()),
    }
    solid = {
        role: sum(
            (b - a) ** 2 * (high - low) for axes in figure.axes for a, b, low, high in areas(axes, role)
        )
        for role in told
    }
    scale = solid[look.WATER] / told[look.WATER]
    assert scale > 0
    for role, volume in told.items():
        assert solid[role] == pytest.approx(scale * volume, rel=1e-6, abs=1e-6 * solid[look.WATER])


@pytest.mark.parametrize("name", ["cascade", "by the map"])
def test_heights_and_widths_share_a_scale_where_there_is_room(name: str) -> None:
    figure = drawn(name)
    (axes,) = figure.axes
    assert "Heights and widths to one scale." in foot(figure)
    factor = 12.0 if "[ft]" in axes.get_ylabel() else 1.0
    box, (low, high) = axes.get_window_extent(), axes.get_ylim()
    per_inch = box.height / ((high - low) * factor)
    left, right, *_ = areas(axes, look.WATER)[0]
    assert (right - left) * box.width / axes.get_xlim()[1] / per_inch == pytest.approx(95.0, rel=1e-6)


def test_stretched_heights_say_so() -> None:
    figure = drawn("seven")
    (axes,) = figure.axes
    box, (low, high) = axes.get_window_extent(), axes.get_ylim()
    left, right, *_ = areas(axes, look.WATER)[0]
    stretch = box.height / (high - low) / ((right - left) * box.width / axes.get_xlim()[1] / 95.0)
    assert f"heights drawn {stretch:.1f} times as large" in foot(figure)


def test_a_tank_that_is_no_cylinder_is_as_wide_as_its_volumes_say() -> None:
    figure = drawn("no cylinder")
    narrow, wide = (right - left for left, right, *_ in areas(figure.axes[0], look.WATER)[:2])
    assert (wide / narrow) ** 2 == pytest.approx((800 / 30) / (100 / 10))
    assert "A tank that is no cylinder is drawn round" in foot(figure)
    assert "no cylinder" not in foot(drawn("two unequal"))


# ------------------------------------------------------------------------------------- links and overflows


@pytest.mark.parametrize(("name", "links"), [("one", 0), ("two unequal", 1), ("seven", 3), ("cascade", 0)])
def test_joined_tanks_are_joined_at_their_outlets(name: str, links: int) -> None:
    (axes,) = drawn(name).axes
    pipes = lines(axes, vessels.PIPE)
    assert len(pipes) == links
    if name == "two unequal":
        assert [float(y) for y in pipes[0].get_ydata()] == [pytest.approx(y) for y in (9, 9, 3, 3)]


@pytest.mark.parametrize(
    ("name", "spilling"), [("one", 1), ("two unequal", 1), ("cascade", 3), ("seven", 4), ("twelve", 4)]
)
def test_every_group_spills_once(name: str, spilling: int) -> None:
    arrows = [p for axes in drawn(name).axes for p in axes.patches if isinstance(p, FancyArrowPatch)]
    assert len(arrows) == spilling


def test_a_cascade_runs_from_lip_to_lip() -> None:
    (axes,) = drawn("cascade").axes
    lips = [edges[3] for edges in areas(axes, look.WATER)]
    first, second, last = (patch for patch in axes.patches if isinstance(patch, FancyArrowPatch))
    for arrow, start, end in ((first, 0, 1), (second, 1, 2)):
        a, b = arrow._posA_posB  # type: ignore[attr-defined]
        assert (a[1], b[1]) == pytest.approx((lips[start], lips[end]))
    assert last._posA_posB[1][1] < lips[2]  # type: ignore[attr-defined]
    said = [text.get_text() for text in shown(axes.figure)]  # type: ignore[arg-type]
    assert {"overflows to b", "overflows to c", "overflows to ground"} <= set(said)


def test_many_tanks_take_several_rows_of_one_scale() -> None:
    figure = drawn("twelve")
    first, second = figure.axes
    assert [len(areas(axes, look.WATER)) for axes in (first, second)] == [MOST_IN_A_ROW, 12 - MOST_IN_A_ROW]
    assert first.get_ylim() == second.get_ylim()
    assert any(text.get_text().startswith("9 joined, full at 81.5 in") for text in second.texts)


# --------------------------------------------------------------------------------------------------- words


def test_titles_say_what_can_be_drawn() -> None:
    assert title(drawn("two unequal")) == (
        "330 gal of the 5,500 gal can never fill, since joined tanks spill at the lowest lip; 198 gal stay below the"
        " outlets; 4,972 gal can be drawn."
    )
    assert (
        title(drawn("one")) == "All 2,500 gal can fill; 92 gal stay below the outlet; 2,408 gal can be drawn."
    )
    assert title(drawn("one", "metric")) == (
        "All 9,464 L can fill; 348 L stay below the outlet; 9,115 L can be drawn."
    )
    whole = holding(tank=[{"name": "tank", "capacity": "5 m3", "diameter": "2 m"}])
    assert title(levels_chart(whole, "metric")) == "All 5,000 L can fill and can be drawn."


def test_words_under_a_tank() -> None:
    figure = drawn("two unequal")
    said = [text.get_text() for text in figure.texts]
    at = said.index("a")
    assert said[at : at + 8] == [
        "a",
        "3,000 gal to the lip",
        "lip at 90.8 in",
        "outlet at 9 in",
        "base at 6 in",
        "never fills: 330 gal",
        "below outlet: 106 gal",
        "spills at b",
    ]
    assert [text.get_text() for text in figure.axes[0].texts] == [
        "2 joined, full at 81.5 in\n4,972 gal to draw"
    ]


@pytest.mark.parametrize("system", get_args(System))
@pytest.mark.parametrize("name", HOLDINGS)
def test_no_words_are_cut_and_none_lie_on_others(name: str, system: System) -> None:
    figure = drawn(name, system)
    placed = boxes(figure)
    assert len(placed) > 10
    page = figure.bbox
    for text, box in placed:
        assert page.x0 <= box.x0, text
        assert box.x1 <= page.x1, text
        assert page.y0 <= box.y0, text
        assert box.y1 <= page.y1, text
    for (text, box), (other, beside) in itertools.combinations(placed, 2):
        wide = min(box.x1, beside.x1) - max(box.x0, beside.x0)
        high = min(box.y1, beside.y1) - max(box.y0, beside.y0)
        assert min(wide, high) < 1.5, f"{text!r} lies on {other!r}"


def test_names_are_shown_as_they_are_written() -> None:
    roof = {"name": "r", "area": "100 m2", "runoff_coefficient": 1.0, "feeds": HARD}
    figure = levels_chart(holding(title=HARD, roof=[roof], tank=[tank(HARD), tank("b")]), "us")
    packed = "".join(HARD.split())
    assert "".join("".join(t.get_text() for t in shown(figure)).split()).count(packed) == 2
    assert not any(t.get_parse_math() for t in shown(figure))


def test_long_heights_are_shown_in_a_longer_unit_and_low_ones_with_their_sign() -> None:
    assert drawn("very unequal").axes[0].get_ylabel() == "height above the datum [ft]"
    assert drawn("very unequal", "metric").axes[0].get_ylabel() == "height above the datum [m]"
    assert drawn("one", "metric").axes[0].get_ylabel() == "height above the datum [cm]"
    said = [text.get_text() for text in drawn("by the map").texts]
    assert "base at 5,200 ft" in said
    low = holding(tank=[{**tank("tank"), "base": "-100 in"}])
    figure = levels_chart(low, "us")
    files.png(figure)
    assert "-80" in ticks(figure.axes[0].yaxis)


def test_the_legend_names_only_what_is_there() -> None:
    assert legend(drawn("one")) == [
        "water that can be drawn",
        "stays below the outlet",
        "pad or ground",
        "surface when full",
        "surface when empty",
        "overflow",
    ]
    more = set(legend(drawn("two unequal"))) - set(legend(drawn("one")))
    assert more == {vessels.NEVER.label, vessels.PIPE.label}
    assert vessels.NEVER.label not in legend(drawn("by the map", "metric")), "rounding is no stranded water"


# --------------------------------------------------------------------------------------------------- looks


def test_what_touches_differs_in_grey() -> None:
    below, water, never, pad = (
        look.lightness(role.colour) for role in (vessels.BELOW, look.WATER, vessels.NEVER, vessels.PAD)
    )
    for one, other in ((below, water), (water, never), (below, pad), (pad, never)):
        assert abs(one - other) >= look.LEAST_STEP
    assert vessels.FULL.line != vessels.EMPTY.line
    assert {vessels.BELOW.hatch, vessels.NEVER.hatch} == {"---", "////"}


@pytest.mark.parametrize("name", ["one", "seven"])
def test_the_same_holding_gives_the_same_bytes(name: str) -> None:
    assert files.png(drawn(name)) == files.png(drawn(name))
    assert files.svg(drawn(name)) == files.svg(drawn(name))


def test_sheets_leave_no_gap_and_stay_small() -> None:
    for name in HOLDINGS:
        figure = drawn(name)
        ends = sorted(box.y0 for text, box in boxes(figure) if text in _under(figure))
        foot_top = max(box.y1 for text, box in boxes(figure) if text.startswith("Heights count"))
        assert 0 < (ends[0] - foot_top) / figure.dpi < 0.3, name
        assert np.all(figure.get_size_inches() < (10.1, 12.0))


def _under(figure: Figure) -> set[str]:
    return {text.get_text() for text in figure.texts if text.get_horizontalalignment() == "center"}
