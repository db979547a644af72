from __future__ import annotations

from typing import Any

import numpy as np
import pytest

from holdwater.charts import look, supply_chart
from holdwater.charts.supply import means
from holdwater.units import scale
from holdwater.words import MONTHS
from tests.charts.runs import HOUSE_100, TANK_1000, Result, bars, legend, result, ticks, title


def test_means_are_over_the_days_of_the_month() -> None:
    # 59 days from 1 January, 1000 L to start with, 20 L a day asked: 50 days last, 9 days of February are dry
    house = {"name": "house", "kind": "fixed", "per_day": "20 L/day"}
    ledger, scores = result([0.0] * 59, tank=[TANK_1000], draw=[house], run={"start_full": 1.0})
    assert scores.dry_days.total == 9
    mean = means(ledger)
    assert mean["asked"][:2] == pytest.approx([20.0, 20.0])
    assert mean["delivered"][:2] == pytest.approx([20.0, 20.0 * 19 / 28])
    assert mean["unserved"][:2] == pytest.approx([0.0, 20.0 * 9 / 28])
    assert np.isnan(mean["asked"][2:]).all()


def test_inflow_is_what_the_roofs_send_to_the_tanks() -> None:
    # 2 mm on 1000 m2 each day of January = 2000 L/day, nothing in February
    mean = means(result([2.0] * 31 + [0.0] * 28)[0])
    assert mean["inflow"][:2] == pytest.approx([2000.0, 0.0])
    well = {"name": "well", "kind": "direct", "per_day": "30 L/day"}
    parts: dict[str, Any] = {"tank": [TANK_1000], "draw": [HOUSE_100], "run": {"start_full": 0.0}}
    mean = means(result([0.0] * 31, backup=[well], **parts)[0])
    assert (mean["backup"][0], mean["unserved"][0]) == pytest.approx((30.0, 70.0))


@pytest.mark.parametrize(("system", "unit"), [("us", "gal/day"), ("metric", "L/day")])
def test_bars_and_lines_are_the_means_in_shown_units(system: Any, unit: str, thirty_years: Result) -> None:
    figure = supply_chart(*thirty_years, system)
    mean, factor = means(thirty_years[0]), scale("flow", system)[0]
    found = bars(figure)
    for name in ("delivered", "backup", "unserved"):
        assert found[name] == pytest.approx((mean[name] * factor).tolist()), name
    (inflow,) = [line for line in figure.axes[0].lines if line.get_label() == "inflow"]
    assert inflow.get_ydata() == pytest.approx(mean["inflow"] * factor)
    (asked,) = [c for c in figure.axes[0].collections if c.get_label() == "asked"]
    assert [s[0][1] for s in asked.get_segments()] == pytest.approx((mean["asked"] * factor).tolist())
    assert f"[{unit}]" in figure.axes[0].get_ylabel()


def test_what_draws_got_and_lacked_adds_up_to_what_they_asked(thirty_years: Result) -> None:
    figure = supply_chart(*thirty_years, "metric")
    tops = np.sum(list(bars(figure).values()), axis=0)
    assert tops == pytest.approx(means(thirty_years[0])["asked"])


def test_water_filled_in_by_a_hauler_is_a_line_of_its_own(hauled: Result, one_year: Result) -> None:
    ledger, _ = hauled
    figure = supply_chart(*hauled, "metric")
    (refill,) = [line for line in figure.axes[0].lines if line.get_label() == "refill"]
    days = np.bincount(ledger.days.astype("datetime64[M]").astype(int) % 12, minlength=12)
    assert (refill.get_ydata() * days).sum() == pytest.approx(ledger.total("refill"))
    assert look.REFILL.label in legend(figure)
    assert look.REFILL.label not in legend(supply_chart(*one_year, "us"))


def test_months_carry_the_share_that_the_tanks_gave(never_dry: Result) -> None:
    said = ticks(supply_chart(*never_dry, "us").axes[0].xaxis)
    assert said[0] == "Jan\n100 %"
    assert said[1:] == [f"{month[:3]}\nno record" for month in MONTHS[1:]]


def test_months_without_demand_say_so() -> None:
    garden = {"name": "garden", "kind": "fixed", "monthly": ["0 L/day", *["10 L/day"] * 11]}
    said = ticks(supply_chart(*result([1.0] * 40, draw=[garden]), "us").axes[0].xaxis)
    assert said[:2] == ["Jan\nnone asked", "Feb\n100 %"]


def test_the_legend_names_only_what_is_there(never_dry: Result, thirty_years: Result) -> None:
    assert legend(supply_chart(*never_dry, "us")) == [
        "delivered by the tanks",
        "asked for",
        look.INFLOW.label,
    ]
    assert legend(supply_chart(*thirty_years, "us")) == [
        "delivered by the tanks",
        "served by backup",
        "unserved",
        "asked for",
        look.INFLOW.label,
    ]


def test_titles(never_dry: Result, nothing: Result) -> None:
    assert title(supply_chart(*never_dry, "us")) == (
        "In every month on record the tanks gave all of what was asked on an average day."
    )
    assert title(supply_chart(*nothing, "us")) == "Nothing was asked of the tanks."
    house = {"name": "house", "kind": "fixed", "per_day": "20 L/day"}
    parts: dict[str, Any] = {"tank": [TANK_1000], "draw": [house], "run": {"start_full": 1.0}}
    assert title(supply_chart(*result([0.0] * 59, **parts), "metric")) == (
        "The tanks fell short only in February: they gave 68 % of the 20 L/day asked for."
    )
    well = {"name": "well", "kind": "direct"}
    assert title(supply_chart(*result([0.0] * 59, backup=[well], **parts), "metric")) == (
        "The tanks fell short only in February: they gave 68 % of the 20 L/day asked for, and backup gave the rest."
    )
    small = well | {"per_day": "10 L/day"}
    assert title(supply_chart(*result([0.0] * 90, backup=[small], **parts), "metric")) == (
        "The tanks fell short in February and March; in March, the worst month, they gave 0 % of the 20 L/day"
        " asked for, and backup 50 % of the rest."
    )


def test_a_shortfall_of_a_few_drops_is_not_called_falling_short() -> None:
    # 31 days of 100 L; the last of them lacks 20 L, 0.6 % of the month
    run = result(
        [0.0] * 31, tank=[TANK_1000 | {"capacity": "3080 L"}], draw=[HOUSE_100], run={"start_full": 1.0}
    )
    assert run[1].dry_days.total == 1
    figure = supply_chart(*run, "us")
    assert (
        title(figure)
        == "In every month on record the tanks gave nearly all of what was asked on an average day."
    )
    assert ticks(figure.axes[0].xaxis)[0] == "Jan\n>99 %"


def test_the_title_owns_up_to_water_that_a_hauler_filled_in() -> None:
    # 31 days of 100 L from a tank of 1000 L that is never rained on: filled up again each time it is half empty
    hauler = {"name": "hauler", "kind": "refill", "into": "tank", "starts_below": "50 %", "fills_to": "100 %"}
    run = result([0.0] * 31, tank=[TANK_1000], draw=[HOUSE_100], backup=[hauler], run={"start_full": 1.0})
    share = 100 * run[0].total("refill") / 3100
    assert run[1].dry_days.total == 0
    assert 50 < share < 100
    assert title(supply_chart(*run, "us")) == (
        "In every month on record the tanks gave all of what was asked on an average day,"
        f" about {share:.0f} % of it filled in by backup."
    )
