from __future__ import annotations

import datetime as dt
import itertools
from typing import Any

import numpy as np
import pytest
from matplotlib.collections import PolyCollection
from matplotlib.figure import Figure

from holdwater import charts
from holdwater.charts import files, look
from holdwater.charts import garden as garden_module
from holdwater.charts.beds import seasons
from holdwater.charts.garden import garden_chart
from holdwater.units import scale
from tests.charts.gardens import bed, garden_run
from tests.charts.runs import Result, boxes, foot, legend, shown, title, wet_winters

NAMES = ["tomatoes", "beans", "A bed with a name as long as a name may be, sixty letters long", "$x$ & <y>"]


@pytest.fixture(scope="module")
def three_years() -> Result:
    """Two beds that stop below a level, in three years with dry summers."""
    rain = wet_winters("2019-01-01", "2021-12-31")
    beds = [bed("tomatoes", crop="tomato", stops_below="40 %"), bed("beans")]
    return garden_run(rain, "2019-01-01", beds, run={"start_full": 0.3})


@pytest.fixture(scope="module")
def backed() -> Result:
    """One summer, a small tank and a well."""
    well = {"name": "well", "kind": "direct", "per_day": "20 gal/day"}
    return garden_run([0.0] * 200, "2021-04-01", [bed()], backup=[well], run={"start_full": 0.2})


def panels(figure: Figure) -> list[Any]:
    return list(figure.axes)


def drawn(axes: Any, label: str) -> list[Any]:
    """Corner boxes (left, right, lower, upper) of one role in a panel."""
    found = []
    for made in axes.collections:
        if isinstance(made, PolyCollection) and made.get_label() == label:
            for path in made.get_paths():
                x, y = path.vertices[:, 0], path.vertices[:, 1]
                found.append((x.min(), x.max(), y.min(), y.max()))
    return sorted(found)


def test_only_a_garden_gets_the_chart(three_years: Result, one_year: Result) -> None:
    assert list(charts.charts_of(three_years[0])) == [*charts.CHARTS, "garden"]
    assert list(charts.charts_of(one_year[0])) == list(charts.CHARTS)
    with pytest.raises(ValueError, match="needs a garden draw"):
        garden_chart(*one_year, "us")


@pytest.mark.parametrize("system", ["us", "metric"])
@pytest.mark.parametrize("number", [1, 2, 4, 8])
def test_no_words_are_cut_and_none_lie_on_others(system: Any, number: int) -> None:
    rain = wet_winters("2020-01-01", "2021-12-31")
    beds = [bed(f"{NAMES[i % 4][:58]} {i}", crop="tomato") for i in range(number)]
    figure = garden_chart(*garden_run(rain, "2020-01-01", beds), system)
    placed = boxes(figure)
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
    assert not any(t.get_parse_math() for t in shown(figure))


@pytest.mark.parametrize(("system", "unit"), [("us", "in"), ("metric", "mm")])
def test_the_curve_is_the_depletion_of_the_ledger(system: Any, unit: str, three_years: Result) -> None:
    ledger, _ = three_years
    factor = scale("depth", system)[0]
    figure = garden_chart(*three_years, system)
    for axes, name in zip(panels(figure), ("tomatoes", "tomatoes", "beans"), strict=True):
        (line,) = [line for line in axes.lines if line.get_label() == "depletion"]
        days = np.asarray(line.get_xdata(), dtype=int) - ledger.days[0].astype(int)
        known = ledger.data["depletion"].sel(bed=name).values[days]
        assert line.get_ydata() == pytest.approx(-known * factor)
        (ready,) = [line for line in axes.lines if line.get_label() == "ready"]
        assert ready.get_ydata() == pytest.approx(
            -ledger.data["ready"].sel(bed=name).values[days[0]] * factor
        )
        deep = float(ledger.data["available"].sel(bed=name)) * factor
        assert -deep in [pytest.approx(line.get_ydata()[0]) for line in axes.lines]
    assert f"[{unit}]" in panels(figure)[0].get_ylabel()


def test_marks_stand_under_the_days_they_tell_of(three_years: Result) -> None:
    ledger, scores = three_years
    figure = garden_chart(*three_years, "us")
    axes = panels(figure)[0]
    first, last = (int(x) for x in axes.get_xlim())
    day = ledger.days.astype(int)
    here = (day >= first) & (day < last)
    data = ledger.data.sel(bed="tomatoes", draw="tomatoes")
    for label, flags in (
        (garden_module.STRESS.label, (data["stress"].values < 1.0) & (data["growing"].values > 0.0)),
        (garden_module.HELD_BACK.label, data["held_back"].values > 0.0),
    ):
        marked = np.zeros(here.sum(), dtype=bool)
        for left, right, _, upper in drawn(axes, label):
            marked[round(left) - first : round(right) - first] = True
            assert upper < -float(ledger.data["available"].sel(bed="tomatoes")) / 25.4
        assert marked.tolist() == flags[here].tolist(), label
        assert marked.any()
    assert scores.held_back.by_draw["tomatoes"] > 0


def test_rain_and_watering_hang_from_the_top_as_deep_as_they_were(backed: Result) -> None:
    ledger, _ = backed
    axes = panels(garden_chart(*backed, "metric"))[0]
    top = axes.get_ylim()[1]
    first = int(axes.get_xlim()[0]) - int(ledger.days[0].astype(int))
    tanks, well = drawn(axes, garden_module.WATERED.label), drawn(axes, garden_module.BY_BACKUP.label)
    given = ledger.flux("delivered")[0] + ledger.flux("backup_served")[0]
    depth = ledger.flux("watered")[0]
    by_tank = depth * np.divide(ledger.flux("delivered")[0], given, out=np.zeros_like(given), where=given > 0)
    per_mm = top * 0.94 / depth.max()
    places = np.flatnonzero(by_tank > 0)
    assert len(tanks) == len(places)
    assert len(well) > 0
    assert [box[3] - box[2] for box in tanks] == pytest.approx((by_tank[places] * per_mm).tolist())
    assert [round(box[0]) for box in tanks] == (places + int(ledger.days[0].astype(int))).tolist()
    assert first >= 0
    for _, _, _, upper in tanks:
        assert upper == pytest.approx(top)


def headings(figure: Figure) -> list[str]:
    return [t.get_text() for t in figure.texts if t.get_fontsize() == look.TICK and t.get_weight() == "bold"]


def test_the_worst_season_stands_before_the_last(three_years: Result) -> None:
    tomatoes, beans = three_years[1].beds
    worst = tomatoes.worst_year
    assert worst is not None
    assert worst.year < 2021
    last = tomatoes.years[-1].stress_days
    assert beans.worst_year is None
    assert headings(garden_chart(*three_years, "us")) == [
        f"tomatoes, {worst.year}, the worst: short of water on {worst.stress_days} days",
        f"tomatoes, 2021, the last: short of water on {last} days",
        "beans, 2021: never short of water",
    ]


def test_the_last_season_alone_where_it_was_the_worst(backed: Result) -> None:
    days = backed[1].beds[0].stress_days
    assert headings(garden_chart(*backed, "us")) == [f"tomatoes, 2021: short of water on {days} days"]


def test_a_span_of_ones_own(three_years: Result) -> None:
    figure = garden_chart(*three_years, "us", (dt.date(2020, 6, 1), dt.date(2020, 7, 31)))
    assert len(panels(figure)) == 2
    start = (dt.date(2020, 6, 1) - dt.date(1970, 1, 1)).days
    assert panels(figure)[0].get_xlim() == (start, start + 61)
    with pytest.raises(ValueError, match="no day from 2031-01-01"):
        garden_chart(*three_years, "us", (dt.date(2031, 1, 1), dt.date(2031, 2, 1)))


def test_the_legend_names_only_what_is_there(three_years: Result, backed: Result) -> None:
    held, short = garden_module.HELD_BACK.label, garden_module.SHORT_OF.label
    by_well = garden_module.BY_BACKUP.label
    assert held in legend(garden_chart(*three_years, "us"))
    assert by_well not in legend(garden_chart(*three_years, "us"))
    assert by_well in legend(garden_chart(*backed, "us"))
    assert short in legend(garden_chart(*backed, "us"))
    assert held not in legend(garden_chart(*backed, "us"))


def test_titles(backed: Result) -> None:
    days = backed[1].beds[0].stress_days
    assert title(garden_chart(*backed, "us")) == f"Short of water: tomatoes on {days} of 90 growing days."
    wet = garden_run([8.0] * 730, "2020-01-01", [bed(), bed("beans")])
    assert title(garden_chart(*wet, "us")) == "Never short of water: tomatoes, beans."
    alone = garden_run([8.0] * 200, "2021-04-01", [bed()])
    assert title(garden_chart(*alone, "us")) == "Never short of water: tomatoes."
    winter = garden_run([1.0] * 60, "2021-01-01", [bed()])
    assert title(garden_chart(*winter, "us")) == "Nothing grew in the garden on these days."
    many = [bed(f"bed {i}", rain_fed=True) for i in range(5)]
    said = title(garden_chart(*garden_run([0.0] * 900, "2020-01-01", many), "us"))
    assert said.startswith("Short of water: bed 0 on ")
    assert said.count("growing days (most in 2021: 90)") == 3
    assert said.endswith(", and 2 more beds.")


def test_beds_beyond_the_sixth_are_told_of() -> None:
    beds = [bed(f"bed {i}", rain_fed=True) for i in range(7)]
    figure = garden_chart(*garden_run([0.0] * 300, "2020-03-01", beds), "us")
    assert len(panels(figure)) == 6
    assert "1 more bed not drawn." in foot(figure)


def test_the_foot_names_source_and_licence(backed: Result) -> None:
    said = foot(garden_chart(*backed, "us"))
    assert "Weather: invented. Licence: none needed, invented." in said
    assert "Evapotranspiration: the record's own ET0: 200 days." in said


def test_seasons_are_runs_of_growth_and_a_cover_is_split_by_years() -> None:
    growing = np.array([False, True, True, False, True])
    assert seasons(growing, np.zeros(5)) == [(1, 3), (4, 5)]
    always = np.ones(800, dtype=bool)
    years = np.repeat([2001, 2002, 2003], [300, 365, 135])
    assert seasons(always, years) == [(0, 300), (300, 665), (665, 800)]


def test_a_season_across_the_turn_of_the_year_names_both() -> None:
    run = garden_run(
        np.zeros(900), "2019-01-01", [bed("onions", crop="onion", planted="10-15", rain_fed=True)]
    )
    first, last = headings(garden_chart(*run, "us"))
    assert first.startswith("onions, 2019/20, the worst: ")
    assert last.startswith("onions, 2020/21, the last: ")


def test_a_cover_that_stands_all_year_is_shown_by_years() -> None:
    turf = bed("turf", crop="turf, cool season", planted=None, rain_fed=True)
    run = garden_run(wet_winters("2019-01-01", "2021-12-31"), "2019-01-01", [turf])
    score = run[1].beds[0]
    assert score.worst_year is not None
    figure = garden_chart(*run, "us")
    first, last = headings(figure) if score.worst_year.year < 2021 else (None, headings(figure)[0])
    assert last.endswith(f"short of water on {score.years[-1].stress_days} days")
    assert first is None or first.endswith(f"short of water on {score.worst_year.stress_days} days")
    low, high = panels(figure)[-1].get_xlim()
    assert high - low == 365


def test_what_touches_differs_in_grey() -> None:
    for colours in garden_module.TOUCHING:
        for one, two in itertools.pairwise(colours):
            assert abs(look.lightness(one) - look.lightness(two)) >= look.LEAST_STEP, (one, two)


def test_the_same_run_gives_the_same_bytes(backed: Result) -> None:
    assert files.picture(garden_chart(*backed, "us"), "a") == files.picture(garden_chart(*backed, "us"), "a")


def test_the_day_of_planting_is_marked_in_every_season(three_years: Result) -> None:
    ledger, _ = three_years
    figure = garden_chart(*three_years, "us")
    for axes in panels(figure):
        (line,) = [each for each in axes.lines if each.get_label() == "planted"]
        day = np.datetime64(int(line.get_xdata()[0]), "D").item()
        assert (day.month, day.day) == (5, 10)
        at = (day - ledger.period[0]).days
        growing = ledger.flux("growing") > 0
        assert growing[:, at].all()
        assert not growing[:, at - 1].any()
        assert "planted\n10 May" in [t.get_text() for t in axes.texts]
