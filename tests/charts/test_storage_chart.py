from __future__ import annotations

import datetime as dt
import itertools
from typing import Any

import numpy as np
import pytest

from holdwater.charts import look, storage_chart
from holdwater.charts.storage import rows
from holdwater.units import scale
from tests.charts.runs import HOUSE_100, TANK_1000, Result, dry_from, legend, result, title


def lines(figure: Any, label: str) -> Any:
    """Data of the lines of this label, row after row."""
    return [line for axes in figure.axes for line in axes.lines if line.get_label() == label]


def hung(figure: Any) -> list[Any]:
    """The axes that hang from the top."""
    return [axes for axes in figure.axes if axes.get_ylim()[1] == 0]


@pytest.mark.parametrize(("system", "unit", "depth"), [("us", "gal", "in"), ("metric", "m3", "mm")])
def test_the_line_is_the_drawable_water_and_the_axes_say_its_unit(
    system: Any, unit: str, depth: str, one_year: Result
) -> None:
    ledger, _ = one_year
    figure = storage_chart(*one_year, system)
    (line,) = lines(figure, look.WATER_LINE.label)
    factor = scale("bulk", system)[0]
    evenings = line.get_xdata() % 1 == 0
    drawable = ledger.flux("drawable").sum(axis=0) * factor
    assert np.allclose(line.get_ydata()[evenings], drawable, rtol=1e-12)
    assert line.get_xdata()[0] == (dt.date(2025, 1, 1) - dt.date(1970, 1, 1)).days
    assert evenings.sum() == 366
    assert f"[{unit}]" in line.axes.get_ylabel()
    assert f"[{depth} per" in hung(figure)[0].get_ylabel()


def test_full_level_and_reserve_are_lines_with_their_amounts(one_year: Result) -> None:
    ledger, _ = one_year
    figure = storage_chart(*one_year, "us")
    axes = figure.axes[0]
    level = [line.get_ydata()[0] for line in axes.lines if len(set(line.get_ydata())) == 1]
    full = float(ledger.flux("drawable_capacity").sum()) / 3.785411784
    assert any(y == pytest.approx(full) for y in level)
    assert any(y == pytest.approx(400.0) for y in level)
    assert {t.get_text() for t in axes.texts} == {f"full\n{full:,.0f}", "reserve\n400"}
    assert "reserve" in legend(figure)


def test_without_reserve_none_is_drawn_or_named(never_dry: Result) -> None:
    figure = storage_chart(*never_dry, "us")
    assert not any("reserve" in text for text in legend(figure))
    assert len(figure.axes[0].texts) == 1


def test_daily_rain_hangs_from_the_top() -> None:
    rain = [0.0, 25.4, 0.0, 12.7, 0.0]
    figure = storage_chart(*result(rain), "us")
    (axes,) = hung(figure)
    low, high = axes.get_ylim()
    assert low > 1.0 > high == 0
    (bars,) = axes.collections
    heights = [path.vertices[:, 1].max() for path in bars.get_paths()]
    assert heights == pytest.approx([1.0, 0.5])
    lefts = [path.vertices[:, 0].min() for path in bars.get_paths()]
    assert np.diff(lefts).tolist() == [2.0]
    assert "rain by day, from the top" in legend(figure)


def test_rain_of_a_long_record_hangs_by_month_and_none_is_lost(thirty_years: Result) -> None:
    ledger, _ = thirty_years
    figure = storage_chart(*thirty_years, "metric")
    bars = [path for axes in hung(figure) for path in axes.collections[0].get_paths()]
    wet_months = np.unique(ledger.days[ledger.flux("rain") > 0].astype("datetime64[M]"))
    assert len(bars) == wet_months.size > 300
    assert sum(path.vertices[:, 1].max() for path in bars) == pytest.approx(ledger.flux("rain").sum())
    assert "rain by month, from the top" in legend(figure)


def test_rows_hold_about_ten_years_and_leave_no_day_out(thirty_years: Result) -> None:
    figure = storage_chart(*thirty_years, "us")
    found = lines(figure, look.WATER_LINE.label)
    assert len(found) == 3
    evenings = sum(int((line.get_xdata() % 1 == 0).sum()) - 1 for line in found)
    assert evenings == thirty_years[0].days.size
    widths = {round(line.axes.get_xlim()[1] - line.axes.get_xlim()[0]) for line in found}
    assert max(widths) - min(widths) <= 1


@pytest.mark.parametrize(
    ("first", "last", "number"),
    [
        ((2001, 3, 1), (2001, 3, 10), 1),
        ((2001, 1, 1), (2010, 12, 31), 1),
        ((2001, 5, 1), (2011, 4, 30), 2),
        ((1996, 1, 1), (2025, 12, 31), 3),
        ((1900, 1, 1), (2025, 12, 31), 6),
    ],
)
def test_rows_of_records(first: Any, last: Any, number: int) -> None:
    found = rows(dt.date(*first), dt.date(*last))
    assert len(found) == number
    epoch = dt.date(1970, 1, 1)
    assert found[0][0] <= (dt.date(*first) - epoch).days
    assert found[-1][1] >= (dt.date(*last) - epoch).days + 1
    assert all(a[1] == b[0] for a, b in itertools.pairwise(found))


def test_dry_days_are_marked_below_the_water_and_unserved_days_apart() -> None:
    well = {"name": "well", "kind": "direct", "per_day": "100 L/day", "serves": ["house"]}
    goats = {"name": "goats", "kind": "fixed", "monthly": [*["0 L/day"], *["100 L/day"] * 11]}
    house = HOUSE_100 | {"monthly": [*["100 L/day"] * 12]}
    house.pop("per_day")
    parts = {"tank": [TANK_1000], "draw": [house, goats], "backup": [well], "run": {"start_full": 1.0}}
    run = result([0.0] * 41, **parts)
    assert run[1].dry_days.total == 31
    assert run[1].unserved_days == 10
    figure = storage_chart(*run, "metric")
    marked = {c.get_label(): c.get_paths() for c in figure.axes[0].collections}
    first = (dt.date(2001, 1, 1) - dt.date(1970, 1, 1)).days
    (covered,), (unserved,) = marked[look.COVERED.label], marked[look.UNSERVED.label]
    assert covered.vertices[:, 0].min() == first + 10
    assert covered.vertices[:, 0].max() == unserved.vertices[:, 0].min() == first + 31
    assert unserved.vertices[:, 0].max() == first + 41
    assert max(covered.vertices[:, 1].max(), unserved.vertices[:, 1].max()) < 0
    assert {look.COVERED.label, look.UNSERVED.label} <= set(legend(figure))


def test_legend_is_silent_about_what_is_not_there(never_dry: Result) -> None:
    said = legend(storage_chart(*never_dry, "us"))
    assert said == ["water that can be drawn, at the end of the day", "rain by day, from the top"]


def test_a_tank_that_spilled_before_the_draws_is_drawn_full() -> None:
    """900 L and 160 L of rain in a tank of 1000 L, 100 L drawn: full at noon, 900 L in the evening."""
    roof = {"name": "roof", "area": "20 m2", "runoff_coefficient": 0.8, "feeds": "tank"}
    parts = {"roof": [roof], "tank": [TANK_1000], "draw": [HOUSE_100]}
    run = result([10.0, 0.0], run={"start_full": 0.9}, **parts)
    (line,) = lines(storage_chart(*run, "metric"), look.WATER_LINE.label)
    first = (dt.date(2001, 1, 1) - dt.date(1970, 1, 1)).days
    assert (line.get_xdata() - first).tolist() == [0.0, 0.5, 1.0, 2.0]
    assert line.get_ydata() == pytest.approx([0.9, 1.0, 0.9, 0.8])
    late = result([10.0, 0.0], run={"start_full": 0.9, "rule": "YBS"}, **parts)
    (line,) = lines(storage_chart(*late, "metric"), look.WATER_LINE.label)
    assert line.get_xdata().size == 3, "under YBS the evening itself is as high as the day came"


def test_many_tanks_are_one_surface_of_water(hauled: Result) -> None:
    ledger, _ = hauled
    (line,) = lines(storage_chart(*hauled, "us"), look.WATER_LINE.label)
    assert ledger.flux("drawable").shape[0] == 4
    assert line.get_ydata()[-1] * 3.785411784 == pytest.approx(ledger.flux("drawable")[:, -1].sum())


def test_titles() -> None:
    assert title(storage_chart(*dry_from(10, 365), "us")) == (
        "Test holding (invented) ran dry on 10 days in 2001; the longest dry spell was 10 days from 22 December 2001."
    )
    assert title(storage_chart(*dry_from(1, 30), "us")) == (
        "Test holding (invented) ran dry on 1 of 30 days: 30 January 2001."
    )
    run = result([0.0] * 5, tank=[TANK_1000], draw=[HOUSE_100], run={"start_full": 1.0})
    assert title(storage_chart(*run, "metric")) == (
        "Test holding (invented) never ran dry in 5 days; storage was lowest on 5 January 2001,"
        " with 500 L (50 % of full) left."
    )
    assert "with 132 gal (50 % of full) left" in title(storage_chart(*run, "us"))


def test_a_title_without_spell_longer_than_a_day() -> None:
    rain = [0.0] * 12
    rain[1] = 0.05  # 50 L, short of the 100 L asked, then again nothing
    house = HOUSE_100 | {"season": {"from": "01-01", "to": "01-02"}}
    run = result(rain, tank=[TANK_1000], draw=[house], run={"start_full": 0.0})
    assert run[1].dry_days.total == 2
    assert title(storage_chart(*run, "us")).startswith("Test holding (invented) ran dry on 2 of 12 days")
