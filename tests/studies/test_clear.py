"""Words on the map of designs and on curves keep clear of marks, lines and each other. Invented weather."""

from __future__ import annotations

import itertools
from collections.abc import Callable
from typing import Any

import numpy as np
import pytest
from matplotlib.backends.backend_agg import FigureCanvasAgg
from matplotlib.contour import QuadContourSet
from matplotlib.figure import Figure
from matplotlib.text import Annotation
from matplotlib.transforms import Bbox

from holdwater.charts import clear
from holdwater.charts.curve import HEIGHTS, curve_chart, of_sweep
from holdwater.charts.designs_map import designs_map
from holdwater.scenario import ScenarioFile
from holdwater.studies.batch import Site
from holdwater.studies.dials import Grid, dial
from holdwater.studies.sweep import Sweep, sweep
from holdwater.weather.record import Record

Swept = Callable[..., Sweep]
ROOFS = "roof.barn.area=500 ft2..3500 ft2:13"
MAPS = [
    (ROOFS, "tank.upper.capacity=2500..15000 gal:11"),
    (ROOFS, "tank.upper.capacity=7500..15000 gal:6"),
    ("roof.barn.area=500 ft2,1480 ft2", "tank.upper.capacity=3000..7500 gal:4"),
    ("roof.house.area=1000..4000 ft2:7", "draw.house.people=1..5"),
]


@pytest.fixture(scope="module")
def swept(demo: ScenarioFile, demo_record: Record) -> Swept:
    """Sweeps over four years of the demo."""
    site = Site.of(demo.scenario, demo_record)
    return lambda *asked: sweep(demo, site, Grid(tuple(dial(each) for each in asked)))


def canvas() -> Figure:
    """A chart from 0 to 10 either way, 500 by 500 pixels, with a falling line."""
    figure = Figure(figsize=(5, 5), dpi=100)
    FigureCanvasAgg(figure)
    axes = figure.add_axes((0, 0, 1, 1))
    axes.set_xlim(0, 10)
    axes.set_ylim(0, 10)
    return figure


def room(text: Annotation) -> Bbox:
    return text.get_window_extent()


@pytest.mark.parametrize("asked", MAPS, ids=["wide", "present below", "present at a corner", "people"])
def test_no_words_on_the_map_lie_on_the_mark_or_on_others(swept: Swept, asked: tuple[str, ...]) -> None:
    figure = designs_map(swept(*asked), "us")
    axes = figure.axes[0]
    (mark,) = [line for line in axes.lines if line.get_marker() == "o"]
    words = [text.get_window_extent() for text in axes.texts]
    assert len(words) > 2, "the present and at least two lines"
    for a, b in itertools.combinations([mark.get_window_extent(), *words], 2):
        assert not a.overlaps(b)
    for box in words:
        assert axes.bbox.x0 <= box.x0 < box.x1 <= axes.bbox.x1
        assert axes.bbox.y0 <= box.y0 < box.y1 <= axes.bbox.y1


def test_every_name_stands_on_its_own_line(swept: Swept) -> None:
    """The dry days a year under the middle of a name are those it says, between the designs beside it."""
    found = swept(*MAPS[0])
    axes = designs_map(found, "us").axes[0]
    x, y = (each.shown("us")[0] for each in found.axes)
    a_year = found.score("dry_days_per_year")
    named = [
        text
        for text in axes.texts
        if text.get_text().endswith(" a year") and "present" not in text.get_text()
    ]
    assert len(named) >= 3
    for text in named:
        at = text.get_position()
        i, j = (
            int(np.clip(np.searchsorted(v, p) - 1, 0, v.size - 2)) for v, p in zip((x, y), at, strict=True)
        )
        corners = a_year[i : i + 2, j : j + 2]
        said = float(text.get_text().removesuffix(" a year"))
        assert corners.min() - 1e-9 <= said <= corners.max() + 1e-9


def test_words_stand_where_no_line_crosses_them() -> None:
    figure = canvas()
    axes = figure.axes[0]
    text = axes.annotate("present", (5, 5), xytext=(0, 0), textcoords="offset points")
    mark = Bbox.from_extents(245, 245, 255, 255)
    above = np.stack([np.linspace(0, 500, 251), np.full(251, 262.0)], axis=1)
    box = clear.beside(axes, text, mark, [above])
    assert not box.overlaps(mark)
    assert box.y1 < 262.0
    assert text.get_horizontalalignment() == "left"
    assert clear.beside(axes, text, mark, []).y0 > 250.0, "to the right and up where nothing is in the way"


@pytest.mark.parametrize(("at", "side"), [((9.9, 5.0), "right"), ((0.1, 5.0), "left")])
def test_words_stay_on_the_map(at: tuple[float, float], side: str) -> None:
    figure = canvas()
    axes = figure.axes[0]
    text = axes.annotate("present: 14 a year", at, xytext=(0, 0), textcoords="offset points")
    x, y = axes.transData.transform(at)
    clear.beside(axes, text, Bbox.from_extents(x - 5, y - 5, x + 5, y + 5), [])
    assert text.get_horizontalalignment() == side
    assert room(text).x0 >= 0
    assert room(text).x1 <= 500


def test_a_line_too_short_for_its_name_has_none() -> None:
    figure = canvas()
    axes = figure.axes[0]
    x = np.linspace(0, 10, 41)
    hill = np.hypot(*(np.meshgrid(x, x) - np.full((2, 1, 1), 5.0)))
    drawn = axes.contour(x, x, hill, levels=[0.3, 4.0])
    assert isinstance(drawn, QuadContourSet)
    names = [
        t.get_text() for t in clear.along(axes, drawn, ["small", "large"], clear.lines_of(axes, drawn), [])
    ]
    assert names == ["large"]


def test_a_name_keeps_off_what_is_taken() -> None:
    figure = canvas()
    axes = figure.axes[0]
    x = np.linspace(0, 10, 41)
    drawn = axes.contour(x, x, np.add(*np.meshgrid(x, x)), levels=[10.0])
    taken = Bbox.from_extents(150, 150, 350, 350)
    (text,) = clear.along(axes, drawn, ["ten"], clear.lines_of(axes, drawn), [taken])
    assert not text.get_window_extent().overlaps(taken)
    everything = Bbox.from_extents(0, 0, 500, 500)
    again = axes.contour(x, x, np.add(*np.meshgrid(x, x)), levels=[10.0])
    assert clear.along(axes, again, ["ten"], clear.lines_of(axes, again), [everything]) == []


def test_the_name_of_a_mark_moves_down_out_of_a_line(swept: Swept) -> None:
    """The worst year falls through the top of the chart just where the present stands."""
    found = swept("roof.barn.area=1400 ft2..5000 ft2:9")
    above = curve_chart(of_sweep(found, "us"), "us").axes[0]
    (note,) = [text for text in above.texts if text.get_text().startswith("present")]
    box = note.get_window_extent()
    x, y = clear.drawn_on(above).T
    assert not ((x > box.x0) & (x < box.x1) & (y > box.y0) & (y < box.y1)).any()
    assert note.xy[1] in HEIGHTS[1:], "at the top the line of the worst year runs through it"


def test_a_mark_with_nothing_in_its_way_is_named_at_the_top() -> None:
    figure = canvas()
    axes = figure.axes[0]
    axes.plot([0, 10], [10, 0])
    offset: dict[str, Any] = {"xytext": (5, 0), "textcoords": "offset points", "va": "top"}
    note = axes.annotate("here", (5.0, 0.98), xycoords=("data", "axes fraction"), **offset)
    clear.at_height(note, HEIGHTS, clear.drawn_on(axes))
    assert note.xy == (5.0, HEIGHTS[0])
    crossed = axes.annotate("here", (0.2, 0.98), xycoords=("data", "axes fraction"), **offset)
    clear.at_height(crossed, HEIGHTS, clear.drawn_on(axes))
    assert crossed.xy == (0.2, HEIGHTS[1])
