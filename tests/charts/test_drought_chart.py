from __future__ import annotations

import datetime as dt
from typing import Any

import numpy as np

from holdwater.charts import drought_chart, look
from tests.charts.runs import HOUSE_100, TANK_1000, Result, dry_from, legend, result, title


def heights(figure: Any, lane: int, *roles: look.Role) -> list[float]:
    """Heights of a lane's bars [days]."""
    labels = {role.label for role in roles}
    found = [c for c in figure.axes[lane].collections if c.get_label() in labels]
    return sorted(path.vertices[:, 1].max() for c in found for path in c.get_paths())


def named(figure: Any, lane: int) -> list[str]:
    """Words over the bars of a lane, without its heading."""
    return [t.get_text() for t in figure.axes[lane].texts if t.get_zorder() == 6]


def test_rainless_spells_are_as_wide_and_as_high_as_they_were_long() -> None:
    rain = np.array(
        [0, 0, 5, 0.9, 5, 0, 0, 0, 0, 0, 0, 5], dtype=float
    )  # spells of 2, 1 and 6 days below 1 mm
    figure = drought_chart(*result(rain), "metric")
    assert heights(figure, 0, look.RAINLESS) == [1, 2, 6]
    first = (dt.date(2001, 1, 1) - dt.date(1970, 1, 1)).days
    (bars,) = [c for c in figure.axes[0].collections if c.get_label() == look.RAINLESS.label]
    edges = [(p.vertices[:, 0].min() - first, p.vertices[:, 0].max() - first) for p in bars.get_paths()]
    assert edges == [(0, 2), (3, 4), (5, 11)]
    assert named(figure, 0)[0] == "6 days from 6 Jan 2001"


def test_every_dry_spell_has_a_bar(thirty_years: Result) -> None:
    _, scores = thirty_years
    figure = drought_chart(*thirty_years, "us")
    assert heights(figure, 1, look.COVERED, look.UNSERVED) == sorted(s.days for s in scores.dry_spells)
    assert len(heights(figure, 1, look.UNSERVED)) > 0
    assert len(heights(figure, 1, look.COVERED)) > 0


def test_a_long_record_shows_rainless_spells_of_a_week_or_more_and_says_so(thirty_years: Result) -> None:
    _, scores = thirty_years
    figure = drought_chart(*thirty_years, "us")
    assert heights(figure, 0, look.RAINLESS) == sorted(s.days for s in scores.rainless_spells if s.days >= 7)
    headings = [t.get_text() for t in figure.axes[0].texts]
    assert "Rainless spells of 7 days or more (less than 0.04 in a day)" in headings


def test_a_short_record_shows_every_rainless_spell(one_year: Result) -> None:
    _, scores = one_year
    figure = drought_chart(*one_year, "metric")
    assert heights(figure, 0, look.RAINLESS) == sorted(s.days for s in scores.rainless_spells)
    assert "Rainless spells (less than 1 mm a day)" in [t.get_text() for t in figure.axes[0].texts]


def test_both_lanes_share_the_axis_of_time_and_count_days(thirty_years: Result) -> None:
    figure = drought_chart(*thirty_years, "us")
    first, second = figure.axes[:2]
    assert first.get_xlim() == second.get_xlim()
    assert first.get_xlim()[1] - first.get_xlim()[0] == thirty_years[0].days.size
    assert [axes.get_ylabel() for axes in (first, second)] == ["days in a row"] * 2
    assert all(float(t).is_integer() for axes in (first, second) for t in axes.get_yticks())


def test_the_longest_spells_are_named(thirty_years: Result) -> None:
    _, scores = thirty_years
    figure = drought_chart(*thirty_years, "us")
    for lane, longest in ((0, scores.longest_rainless_spell), (1, scores.longest_dry_spell)):
        assert longest is not None
        assert named(figure, lane)[0].startswith(f"{longest.days} days from {longest.first.day} ")
        assert len(named(figure, lane)) <= 3


def test_legend(thirty_years: Result, never_dry: Result, one_year: Result) -> None:
    assert legend(drought_chart(*never_dry, "us")) == [look.RAINLESS.label]
    said = legend(drought_chart(*thirty_years, "us"))
    assert "dry spell, backup covered the rest" in said
    assert "dry spell with unserved days" in said
    assert "dry spell, backup covered the rest" not in legend(drought_chart(*one_year, "us"))


def test_an_empty_lane_says_so(never_dry: Result) -> None:
    figure = drought_chart(*never_dry, "us")
    assert "none in this record" in [t.get_text() for t in figure.axes[1].texts]


def test_titles() -> None:
    assert title(drought_chart(*dry_from(0, 30), "us")) == (
        "The tanks never ran dry in 30 days, not even in the longest rainless spell, 30 days from 1 January 2001."
    )
    assert title(drought_chart(*dry_from(1, 30), "us")) == (
        "The longest rainless spell, 30 days from 1 January 2001, brought 1 dry day;"
        " the longest dry spell was 1 day, 30 January 2001."
    )
    assert title(drought_chart(*result([5.0] * 9), "us")) == (
        "No day without rain in 9 days, and the tanks never ran dry."
    )
    drizzle = result([1.0] * 9, tank=[TANK_1000], draw=[HOUSE_100 | {"per_day": "1200 L/day"}])
    assert title(drought_chart(*drizzle, "us")) == (
        "No day without rain in 9 days; the longest dry spell was 9 days from 1 January 2001."
    )


def test_a_rainless_spell_that_the_tanks_outlasted() -> None:
    # the tank lasts ten days; the longest rainless spell has eight, the dry days come when it drips later
    rain = np.array([0.0] * 8 + [1.0] + [0.0] * 5 + [1.0] * 2)
    roof = {"name": "roof", "area": "1 m2", "runoff_coefficient": 1.0, "feeds": "tank"}
    run = result(rain, roof=[roof], tank=[TANK_1000], draw=[HOUSE_100], run={"start_full": 1.0})
    assert title(drought_chart(*run, "us")) == (
        "The longest rainless spell, 8 days from 1 January 2001, brought no dry day;"
        " the longest dry spell was 6 days from 11 January 2001."
    )
