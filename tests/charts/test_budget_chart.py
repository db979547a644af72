from __future__ import annotations

import re
from typing import Any

import numpy as np
import pytest

from holdwater.charts import budget_chart, gallons_chart, look
from holdwater.charts.budget import parts
from holdwater.charts.fates import apportioned, of_100
from holdwater.charts.gallons import shares_of, streams
from holdwater.units import scale
from tests.charts.runs import HOUSE_100, TANK_1000, Result, bars, legend, result, stacked, ticks, title


@pytest.mark.parametrize("name", ["thirty_years", "one_year", "hauled", "never_dry", "once_dry"])
def test_what_came_in_equals_where_it_went_every_year(name: str, request: pytest.FixtureRequest) -> None:
    came, went = parts(*request.getfixturevalue(name))
    into, out = (np.sum(list(side.values()), axis=0) for side in (came, went))
    assert np.allclose(into, out, rtol=1e-9, atol=1e-6)
    assert into.max() > 0


@pytest.mark.parametrize(("system", "unit"), [("us", "gal"), ("metric", "m3")])
def test_bars_are_the_ledgers_sums_in_shown_units(system: Any, unit: str, hauled: Result) -> None:
    ledger, scores = hauled
    figure = budget_chart(*hauled, system)
    found, factor = bars(figure), scale("bulk", system)[0]
    assert sum(found["overflow"]) == pytest.approx(-ledger.total("to_ground") * factor)
    assert sum(found["came to use"]) == pytest.approx(-ledger.total("delivered") * factor)
    assert sum(found["backup"]) == pytest.approx(ledger.total("supplied") * factor)
    assert sum(found["leak and evaporation"]) == pytest.approx(-ledger.total("leak") * factor)
    assert len(found["backup"]) == len(scores.years) == 6
    assert f"[{unit} a year]" in figure.axes[0].get_ylabel()
    assert sum(found["rain on the roofs"]) == pytest.approx(ledger.total("rain_on_roof") * factor)
    lost = sum(ledger.total(name) for name in ("not_run_off", "first_flush", "filter_loss", "wetting_loss"))
    assert sum(found[look.BEFORE_TANKS.label]) == pytest.approx(-lost * factor)


def test_water_of_a_direct_backup_counts_on_both_sides(thirty_years: Result) -> None:
    ledger, _ = thirty_years
    found = bars(budget_chart(*thirty_years, "metric"))
    served = ledger.total("backup_served") / 1000
    assert served > 0
    assert sum(found["backup"]) == pytest.approx(served)
    assert -sum(found["came to use"]) == pytest.approx(ledger.total("delivered") / 1000 + served)


def test_stacks_stand_on_one_another(thirty_years: Result) -> None:
    figure = budget_chart(*thirty_years, "us")
    sides = [[0.0] * 30, [0.0] * 30]
    came_in = {role.label for role in look.CAME_IN}
    for label, parts_of in stacked(figure).items():
        side = sides[0] if label in came_in else sides[1]
        assert len(parts_of) == 30
        for i, (start, end) in enumerate(parts_of):
            assert start == pytest.approx(side[i], abs=1e-9)
            assert (end >= start) == (side is sides[0]) or end == start
            side[i] = end
    assert sides[0] == pytest.approx([-end for end in sides[1]])
    assert min(sides[0]) > 1000


def test_the_legend_names_only_what_flowed(one_year: Result, hauled: Result) -> None:
    assert "backup" not in legend(budget_chart(*one_year, "us"))
    said = legend(budget_chart(*hauled, "us"))
    assert said[:2] == ["rain on the roofs", "backup"]
    assert "came to use" in said
    without = legend(budget_chart(*result([5.0] * 9), "us"))
    assert look.BEFORE_TANKS.label not in without
    assert "leak and evaporation" not in without


def test_amounts_have_no_minus_sign_and_thousands_are_marked(thirty_years: Result) -> None:
    said = ticks(budget_chart(*thirty_years, "us").axes[0].yaxis)
    assert "0" in said
    assert "20,000" in said
    assert not any(s.startswith(("-", "\N{MINUS SIGN}")) for s in said)


def test_parts_of_years_are_marked(hauled: Result, one_year: Result) -> None:
    axes = budget_chart(*hauled, "us").axes[0]
    assert ticks(axes.xaxis) == ["2020*", "2021", "2022", "2023", "2024", "2025*"]
    assert axes.get_xlabel() == "years end in September; * part of a year"
    assert budget_chart(*one_year, "us").axes[0].get_xlabel() == ""


def test_a_single_bar_tells_its_parts() -> None:
    # 4 mm on 1000 m2 = 4000 L into an empty 5 m3 tank; 1000 L a day asked, so 4000 L delivered in 5 days
    run = result([4.0, 0.0, 0.0, 0.0, 0.0], run={"start_full": 0.0})
    said = {t.get_text() for t in budget_chart(*run, "metric").axes[0].texts}
    assert said == {"4,000 L rain on the roofs", "4,000 L came to use"}


def test_titles() -> None:
    # 10 mm on 1000 m2 = 10,000 L into 5 m3: under YAS 5,000 L spill on the day, 1000 L a day are drawn
    run = result([10.0] + [0.0] * 5, run={"start_full": 0.0})
    assert title(budget_chart(*run, "us")) == "Of every 100 gal of rain, 50 came to use and 50 overflowed."
    assert title(budget_chart(*run, "metric")) == "Of every 100 L of rain, 50 came to use and 50 overflowed."
    kept = result([4.0, 0.0, 0.0], run={"start_full": 0.0})
    assert title(budget_chart(*kept, "us")) == (
        "Of every 100 gal of rain, 50 came to use and 50 stayed in the tanks."
    )


def test_title_tells_the_share_of_backup_and_losses(hauled: Result) -> None:
    ledger, scores = hauled
    said = title(budget_chart(*hauled, "us"))
    everything = scores.totals_L["rain_on_roofs"] + ledger.total("supplied")
    everything += max(-scores.totals_L["storage_change"], 0.0)
    assert f"; {100 * ledger.total('supplied') / everything:.0f} of the 100 came from backup." in said
    assert f" {100 * ledger.total('leak') / everything:.0f} leaked or evaporated" in said
    shares = [int(number) for number in re.findall(r"(\d+) (?:came to|over|never|leaked|stayed)", said)]
    assert sum(shares) == 100


@pytest.mark.parametrize("name", ["thirty_years", "one_year", "hauled"])
def test_the_same_hundred_gallons_as_in_the_flow(name: str, request: pytest.FixtureRequest) -> None:
    """One base: what both charts say of use and overflow is one number, and the shares add to 100."""
    run: Result = request.getfixturevalue(name)
    said = title(budget_chart(*run, "us"))
    went = streams(*run)[1]
    shares = shares_of(went)
    assert sum(shares) == 100
    used = sum(share for stream, share in zip(went, shares, strict=True) if stream.use)
    (spilled,) = (share for stream, share in zip(went, shares, strict=True) if stream.name == "overflow")
    assert f", {used} came to use" in said
    assert f", {used} came to use" in title(gallons_chart(*run, "us"))
    assert f"{spilled} overflowed" in said
    base = re.match(r"Of every 100 gal (of [a-z ,]+),", said)
    assert base is not None
    assert title(gallons_chart(*run, "us")).startswith(base[0])


def test_title_without_rain_and_without_anything(nothing: Result) -> None:
    run = result([0.0] * 4, tank=[TANK_1000], draw=[HOUSE_100], run={"start_full": 1.0})
    assert title(budget_chart(*run, "metric")) == (
        "No rain fell on the roofs: the 400 L delivered came from storage."
    )
    assert title(budget_chart(*nothing, "us")) == "No water came in and none went out."


def test_shares_add_up_to_a_hundred() -> None:
    assert of_100([735.0, 107.0, 158.0]) == ["73", "11", "16"]
    assert of_100([1.0, 1.0, 1.0]) == ["34", "33", "33"]
    assert of_100([999.0, 1.0]) == ["100", "less than 1"]
    assert of_100([5.0, 0.0]) == ["100", "0"]
    assert apportioned([3.0, 3.0, 1.0], 7) == [3, 3, 1]
    assert apportioned([0.0, 0.0]) == [0, 0]
