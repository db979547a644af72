"""What holds for every chart on every kind of run."""

from __future__ import annotations

import itertools
import re
from typing import Any, get_args

import matplotlib as mpl
import numpy as np
import pytest
from matplotlib.backends.backend_agg import FigureCanvasAgg
from matplotlib.colors import to_rgb

from holdwater import charts
from holdwater.charts import files, look
from holdwater.units import System
from tests.charts.runs import Result, boxes, dry_from, foot, legend, result, shown, title, wet_winters

RUNS = ("thirty_years", "one_year", "hauled", "never_dry", "once_dry", "nothing")
EVERY_CHART = pytest.mark.parametrize("name", list(charts.CHARTS))
HARD_NAMES = [
    "A_b$x^2$ <tag> & \\frac{1}{2} " * 6 + "$_$",
    "Larkfield" * 20,
    "Ivy & Sons: $5 barn_roof",
    "羊牧場 (a name in another script)",
]


@pytest.fixture(params=RUNS)
def run(request: pytest.FixtureRequest) -> Result:
    """Every kind of run in turn."""
    made: Result = request.getfixturevalue(request.param)
    return made


@EVERY_CHART
@pytest.mark.parametrize("system", get_args(System))
def test_no_words_are_cut_and_none_lie_on_others(name: str, system: System, run: Result) -> None:
    figure = charts.CHARTS[name](*run, system)
    placed = boxes(figure)
    assert len(placed) > 5
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


@EVERY_CHART
@pytest.mark.parametrize("holding", HARD_NAMES)
def test_names_are_shown_as_they_are_written(name: str, holding: str) -> None:
    run = result(wet_winters("2001-01-01", "2001-12-31"), title=holding[:200], source="rain_$x$_<file>.csv")
    figure = charts.CHARTS[name](*run, "us")
    written = "".join(t.get_text() for t in shown(figure))
    packed = re.sub(r"\s", "", "".join(c for c in holding[:200] if c.isprintable()))
    assert packed in re.sub(r"\s", "", written)
    assert "rain_$x$_<file>.csv" in foot(figure)
    assert not any(t.get_parse_math() for t in shown(figure))
    for text, box in boxes(figure):
        assert box.x1 <= figure.bbox.x1, text


@EVERY_CHART
def test_the_foot_names_source_licence_rule_and_period(
    name: str, hauled: Result, thirty_years: Result
) -> None:
    said = foot(charts.CHARTS[name](*hauled, "us"))
    assert "Weather: invented. Licence: none needed, invented." in said
    assert "Rule: YBS (yield before spillage). Period: 1 Apr 2020 to 10 Oct 2024 (1,654 days)." in said
    assert "filled" not in said
    assert "Rain of 40 days was filled in." in foot(charts.CHARTS[name](*thirty_years, "us"))


@pytest.mark.parametrize("name", ["storage", "dry-days", "drought"])
def test_filled_days_are_marked_quietly_and_told(name: str, thirty_years: Result, one_year: Result) -> None:
    figure = charts.CHARTS[name](*thirty_years, "us")
    assert look.FILLED.label in legend(figure)
    assert _marked(figure) == 40, "forty filled days in one run, from the first to the last"
    assert not any(c.get_hatch() == look.FILLED.hatch for axes in figure.axes for c in axes.collections)
    clean = charts.CHARTS[name](*one_year, "us")
    assert look.FILLED.label not in legend(clean)
    assert _marked(clean) == 0


def _marked(figure: Any) -> int:
    """Days under the mark of filled days."""
    found = [line for axes in figure.axes for line in axes.lines if line.get_label() == look.FILLED.label]
    days = [np.asarray(line.get_xdata()).reshape(-1, 3) for line in found]
    return int(sum((each[:, 1] - each[:, 0] + 1).sum() for each in days))


@pytest.mark.parametrize("name", ["storage", "dry-days", "drought"])
def test_each_single_filled_day_is_a_dot_on_the_paper(name: str) -> None:
    """Read off the picture itself: a line of one day must not be simplified away."""
    figure = charts.CHARTS[name](*result([5.0] * 4000, filled=slice(100, 4000, 400)), "us")
    with look.style():
        canvas = FigureCanvasAgg(figure)
        canvas.draw()
    picture = np.asarray(canvas.buffer_rgba())[::-1, :, :3] / 255.0
    seen = 0
    for line in (line for axes in figure.axes for line in axes.lines):
        if line.get_label() == look.FILLED.label:
            places = line.get_transform().transform(line.get_xydata()[::3])
            for x, y in places:
                assert np.allclose(picture[int(y), int(x)], to_rgb(look.FAINT), atol=0.05), (x, y)
                seen += 1
    assert seen == 10


@EVERY_CHART
def test_the_title_is_a_sentence_with_a_finding(name: str, run: Result) -> None:
    said = title(charts.CHARTS[name](*run, "metric"))
    assert said.endswith(".")
    assert said[0].isupper() or said[0].isdigit()
    assert " " in said


@EVERY_CHART
def test_numbers_in_the_title_agree_with_their_nouns(name: str) -> None:
    for dry in (0, 1, 2):
        said = title(charts.CHARTS[name](*dry_from(dry, 400), "us"))
        assert not re.search(r"(?<![\d.])1 (dry )?(days|years)\b", said)
        assert not re.search(r"(?<![\d.])0 (dry )?days\b", said)


@EVERY_CHART
def test_matplotlibs_own_settings_stay_as_they_were(name: str, one_year: Result) -> None:
    before = dict(mpl.rcParams)
    figure = charts.CHARTS[name](*one_year, "us")
    files.png(figure)
    files.svg(figure)
    assert dict(mpl.rcParams) == before
