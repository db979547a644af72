"""Charts of studies: what they show, that no words are cut, that they can be read in grey."""

from __future__ import annotations

import itertools
import re
from collections.abc import Callable
from dataclasses import replace
from typing import Any, get_args

import matplotlib as mpl
import numpy as np
import pytest
from matplotlib.figure import Figure

from holdwater.charts import files, look
from holdwater.charts.curve import curve_chart, of_size, of_sweep
from holdwater.charts.designs_map import RAMP, designs_map
from holdwater.charts.pareto import apart, pareto_chart
from holdwater.charts.variant_calendars import calendars
from holdwater.charts.variants import LINES, storage_overlay
from holdwater.scenario import ScenarioFile, load
from holdwater.studies.batch import Site
from holdwater.studies.compare import Comparison, SetUp, compare, days_between, last_year, roof_areas, worst
from holdwater.studies.dials import Grid, dial
from holdwater.studies.purchase import next_purchases
from holdwater.studies.size import Size, Target, size
from holdwater.studies.sweep import Sweep, sweep
from holdwater.units import Level, System
from holdwater.weather.record import Record
from tests.charts.runs import boxes, foot, legend, shown, title
from tests.studies.conftest import DEMO, YEARS

VARIANTS = ("third tank", "bigger barn roof", "save water", "call the hauler sooner")
Draw = Callable[[System], Figure]


@pytest.fixture(scope="module")
def swept(demo: ScenarioFile, demo_record: Record) -> Callable[..., Sweep]:
    site = Site.of(demo.scenario, demo_record)
    known: dict[tuple[str, ...], Sweep] = {}

    def run(*asked: str) -> Sweep:
        if asked not in known:
            known[asked] = sweep(demo, site, Grid(tuple(dial(each) for each in asked)))
        return known[asked]

    return run


@pytest.fixture(scope="module")
def sized(demo: ScenarioFile, demo_record: Record) -> Size:
    dry = demo.vary([("backup-", "hauler")])
    return size(
        dry, Site.of(demo.scenario, demo_record), "roof.barn.area=500 ft2..6000 ft2", Target(10, 3, 4)
    )


@pytest.fixture(scope="module")
def compared(demo: ScenarioFile, demo_record: Record) -> Callable[..., Comparison]:
    set_ups = [SetUp("present", demo), *(SetUp(name, load(DEMO, YEARS, name)) for name in VARIANTS)]

    def run(*more: Any, only: int = 9) -> Comparison:
        return compare(set_ups[:only], lambda scenario: demo_record, *more)

    return run


MAP = (
    "roof.barn.area=500 ft2..3500 ft2:13",
    "tank.upper.capacity=2500 gal,3000 gal,5000 gal,7500 gal,9000 gal",
)
WORDS = ("draw.tomatoes.method=drip,sprinkler,surface", "draw.house.people=1..4")
CURVE = ("roof.house.area=1000 ft2..5000 ft2:9",)


@pytest.fixture(
    params=[
        "map",
        "map of words",
        "map that leaves the present out",
        "curve",
        "curve of words",
        "size",
        "overlay",
        "overlay of a drought",
        "overlay from a level",
        "calendars",
        "calendars of a year",
        "two set-ups",
        "next",
        "next with prices",
        "next without any price",
        "roof areas",
    ]
)
def chart(
    request: pytest.FixtureRequest,
    swept: Callable[..., Sweep],
    sized: Size,
    compared: Callable[..., Comparison],
    demo: ScenarioFile,
    demo_record: Record,
) -> Draw:
    """Every chart of every kind of study in turn."""
    site = Site.of(demo.scenario, demo_record)
    free = replace(demo, raw=demo.raw | {"variant": {}})
    summer = days_between(*(np.datetime64(d).astype(object) for d in ("2002-05-01", "2002-10-31")))
    prices = {"save water": 300.0, "no first flush": 0.0, "one more tank like upper": 7000.0}
    areas = [
        SetUp("present", demo),
        *roof_areas(demo, "1000 ft2, 1500 ft2, 2000 ft2, 2500 ft2, 3000 ft2", None),
    ]
    drawn: dict[str, Draw] = {
        "map": lambda s: designs_map(swept(*MAP), s),
        "map of words": lambda s: designs_map(swept(*WORDS), s),
        "map that leaves the present out": lambda s: designs_map(
            swept(MAP[0], "tank.upper.capacity=1000..5000 gal:5"), s
        ),
        "curve": lambda s: curve_chart(of_sweep(swept(*CURVE), s), s),
        "curve of words": lambda s: curve_chart(of_sweep(swept("run.rule=YAS,YBS"), s), s),
        "size": lambda s: curve_chart(of_size(sized, s, "The barn roof must be larger."), s),
        "overlay": lambda s: storage_overlay(compared(), s),
        "overlay of a drought": lambda s: storage_overlay(compared(worst(1)), s),
        "overlay from a level": lambda s: storage_overlay(compared(summer, Level(volume=5000.0)), s),
        "calendars": lambda s: calendars(compared(), s),
        "calendars of a year": lambda s: calendars(compared(last_year), s),
        "two set-ups": lambda s: storage_overlay(compared(last_year, only=2), s),
        "next": lambda s: pareto_chart(next_purchases(demo, site, {}), s),
        "next with prices": lambda s: pareto_chart(next_purchases(demo, site, prices), s),
        "next without any price": lambda s: pareto_chart(next_purchases(free, site, {}), s),
        "roof areas": lambda s: storage_overlay(compare(areas, lambda scenario: demo_record, summer), s),
    }
    return drawn[request.param]


@pytest.mark.parametrize("system", get_args(System))
def test_no_words_are_cut_and_none_lie_on_others(chart: Draw, system: System) -> None:
    figure = chart(system)
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


def test_the_title_is_a_finding_and_the_foot_names_the_weather(chart: Draw) -> None:
    figure = chart("us")
    said = title(figure)
    assert said.endswith(".")
    assert said[0].isupper() or said[0].isdigit()
    assert not re.search(r"(?<![\d.])[01] (dry )?(days|years)\b", said)
    assert "Weather: larkfield-weather.csv. Licence: invented for this example." in foot(figure)
    assert "Rule: YAS (yield after spillage)." in foot(figure)


def test_matplotlibs_own_settings_stay_as_they_were(chart: Draw) -> None:
    before = dict(mpl.rcParams)
    figure = chart("metric")
    files.png(figure)
    files.svg(figure)
    assert dict(mpl.rcParams) == before


# ------------------------------------------------------------------------------------------ the map


def test_the_map_marks_the_present_and_its_dry_days(swept: Callable[..., Sweep]) -> None:
    found = swept(*MAP)
    figure = designs_map(found, "us")
    (mark,) = [line for line in figure.axes[0].lines if line.get_marker() == "o"]
    assert (mark.get_xdata()[0], mark.get_ydata()[0]) == pytest.approx((1480, 7500))
    a_year = float(found.present.dry_days_per_year[0])
    assert any(t.get_text() == f"present: {a_year:.2g} a year" for t in figure.axes[0].texts)
    assert "present set-up" in legend(figure)


def test_sizes_for_sale_are_the_ticks(swept: Callable[..., Sweep]) -> None:
    figure = designs_map(swept(*MAP), "us")
    figure.canvas.draw()
    axes = figure.axes[0]
    assert [t.get_text() for t in axes.get_yticklabels()] == ["2,500", "3,000", "5,000", "7,500", "9,000"]
    assert axes.get_ylabel() == "Upper tank capacity [gal]"
    assert axes.get_xlabel() == "Barn roof area [ft2]"
    assert [t.get_text() for t in axes.get_xticklabels()][:2] == ["500", "1,000"]


def test_the_colour_under_a_design_is_its_dry_days(swept: Callable[..., Sweep]) -> None:
    """Read off the picture at the designs themselves, away from the lines."""
    found = swept("roof.barn.area=500 ft2..3500 ft2:13", "tank.upper.capacity=2500..7500 gal:11")
    figure = designs_map(found, "us")
    axes = figure.axes[0]
    filled = axes.collections[0]
    a_year = found.score("dry_days_per_year")
    for (i, j), value in np.ndenumerate(a_year):
        x, y = (each.shown("us")[0][k] for each, k in zip(found.axes, (i, j), strict=True))
        here = [k for k, path in enumerate(filled.get_paths()) if path.contains_point((x, y), radius=1e-9)]
        bounds = np.expm1(np.maximum(filled.levels, 0.0))
        assert here, (x, y)
        assert any(bounds[k] - 1e-9 <= value <= bounds[k + 1] + 1e-9 for k in here)


def test_the_ramp_gets_darker_all_the_way() -> None:
    light = [look.lightness(colour) for colour in RAMP]
    assert all(a - b >= 8.5 for a, b in itertools.pairwise(light)), (
        "colours that follow can be told apart in grey"
    )


def test_words_become_cells_with_their_numbers(swept: Callable[..., Sweep]) -> None:
    found = swept(*WORDS)
    figure = designs_map(found, "us")
    axes = figure.axes[0]
    numbers = [t.get_text() for t in axes.texts]
    assert len(numbers) == 12
    assert numbers[0] == f"{found.score('dry_days_per_year')[0, 0]:.2g}"
    assert [t.get_text() for t in axes.get_xticklabels()] == ["drip", "sprinkler", "surface"]
    (ring,) = axes.patches
    assert ring.get_xy() == (-0.5, 1.5), "drip lines and three people are the present"


def test_a_present_outside_the_map_is_told(swept: Callable[..., Sweep]) -> None:
    figure = designs_map(swept(MAP[0], "tank.upper.capacity=1000..5000 gal:5"), "us")
    assert (
        "The present set-up lies outside the map: barn roof area 1,480 ft2, upper tank capacity 7,500 gal."
        in foot(figure)
    )
    assert "present set-up" not in legend(figure)


# ------------------------------------------------------------------------------------------- curves


def test_the_curve_shows_mean_worst_year_and_years_that_hold(swept: Callable[..., Sweep]) -> None:
    found = swept(*CURVE)
    above, below = curve_chart(of_sweep(found, "us"), "us").axes
    lines = {line.get_label(): line.get_ydata() for line in (*above.lines, *below.lines)}
    dry = found.outcome.by_year["dry_days"]
    assert lines["mean of the years"] == pytest.approx(found.outcome.dry_days_per_year)
    assert lines["worst year"].tolist() == dry.max(axis=0).tolist()
    assert lines["years that hold"].tolist() == (dry == 0).sum(axis=0).tolist()
    assert above.lines[0].get_xdata() == pytest.approx(np.linspace(1000, 5000, 9))


def test_the_size_is_marked_with_its_value(sized: Size) -> None:
    figure = curve_chart(of_size(sized, "us", "Wide enough."), "us")
    said = [t.get_text() for t in figure.axes[0].texts]
    assert sized.answer is not None
    assert f"answer\n{sized.tried.axis.say(sized.answer, 'us')}" in said
    assert "present\n1,480 ft2" in said
    assert figure.axes[1].get_ylabel() == "Years with\nat most 10 dry days,\nof 4"
    assert any(set(np.ravel(line.get_ydata())) == {3} for line in figure.axes[1].lines), (
        "three years of four needed"
    )


# ---------------------------------------------------------------------------------------- set-ups


def test_every_set_up_has_its_own_line(compared: Callable[..., Comparison]) -> None:
    made = compared(worst(1))
    figure = storage_overlay(made, "us")
    rain, lines, strips = figure.axes
    names = [each.name for each in made.compared]
    drawn = {line.get_label(): line for line in lines.lines if line.get_label() in names}
    for each in made.compared:
        expected = each.ledger.flux("drawable").sum(axis=0) / 3.785411784
        assert drawn[each.name].get_ydata() == pytest.approx(expected)
    looks = [(line.get_color(), str(line._dash_pattern)) for line in drawn.values()]
    assert len(set(looks)) == 5
    assert rain.get_ylabel() == "Rain\n[in/day]"
    counts = [t.get_text() for t in strips.texts]
    assert counts[:5] == [str(each.scores.dry_days.total) for each in made.compared]


def test_over_many_years_the_lowest_of_every_month_is_drawn(demo: ScenarioFile, demo_record: Record) -> None:
    made = compare([SetUp("present", demo)], lambda scenario: demo_record)
    figure = storage_overlay(made, "metric")
    (line,) = [each for each in figure.axes[0].lines if each.get_label() == "present"]
    assert line.get_xdata().size == 48
    ledger = made.compared[0].ledger
    january = ledger.flux("drawable").sum(axis=0)[1:32].min() / 1000
    assert line.get_ydata()[0] == pytest.approx(january)
    assert figure.axes[0].get_ylabel() == "Lowest of the\nmonth [m3]"


def test_lines_that_follow_differ_in_dash_or_width_too() -> None:
    assert all(a[1:] != b[1:] for a, b in itertools.pairwise(LINES))


def test_calendars_tell_the_difference_to_the_present(compared: Callable[..., Comparison]) -> None:
    made = compared()
    figure = calendars(made, "us")
    now = made.compared[0].scores.dry_days.total
    said = " ".join(t.get_text().replace("\n", " ") for t in shown(figure))
    assert f"present: {now} dry days" in said
    for each in made.compared[1:]:
        change = each.scores.dry_days.total - now
        assert f"{abs(change)} {'more' if change > 0 else 'fewer'} than the present" in said
    assert len(figure.axes) == 5
    cells = figure.axes[0].images[0].get_array()
    assert int((cells >= 2).sum()) == now


def test_a_level_said_is_told_in_the_foot(compared: Callable[..., Comparison]) -> None:
    figure = storage_overlay(compared(last_year, Level(share=0.25)), "us")
    assert "Every set-up starts with 25 % of what its tanks can give; soil, snow" in foot(figure)


# ------------------------------------------------------------------------------------------- pareto


def test_priced_offers_are_points_and_the_best_buys_a_line(demo: ScenarioFile, demo_site: Site) -> None:
    found = next_purchases(demo, demo_site, {"save water": 300.0})
    figure = pareto_chart(found, "us")
    axes = figure.axes[0]
    points = {
        (line.get_xdata()[0], round(line.get_ydata()[0], 6))
        for line in axes.lines
        if line.get_marker() == "o"
    }
    years = 1461 / 365.25
    priced = [each for each in found.bought if each.offer.cost is not None]
    assert points == {(each.offer.cost, round(each.dry_days / years, 6)) for each in priced}
    names = " ".join(t.get_text() for t in shown(figure))
    assert all(each.offer.name in names.replace("\n", " ") for each in found.bought)
    assert axes.get_xlabel() == "Price, in the currency of the file"


def test_names_are_moved_apart_and_stay_in_order() -> None:
    assert apart([1.0, 1.05, 1.1, 3.0], [0.2] * 4, 4.0) == pytest.approx([1.0, 1.2, 1.4, 3.0])
    assert apart([0.0, 0.0], [0.2, 0.2], 4.0) == pytest.approx([0.1, 0.3])
    assert apart([3.95, 3.97], [0.2, 0.2], 4.0) == pytest.approx([3.7, 3.9])
