"""A tank whose capacity is turned stands as high as before; every expectation by hand from geometry (V = pi/4 d2 h)."""

from __future__ import annotations

import math
import tomllib
from typing import Any

import pytest

from holdwater.errors import InputError
from holdwater.scenario import heights
from holdwater.scenario.file import check_raw
from holdwater.scenario.variants import changed, variant_changes
from holdwater.tanks import vessel

RAW: dict[str, Any] = tomllib.loads("""
title = "Two linked tanks (invented)"
[weather]
file = "none.csv"
[[roof]]
name = "barn"
area = "100 m2"
surface = "metal"
feeds = "upper"
[[tank]]
name = "upper"
capacity = "7500 gal"
diameter = "120 in"
outlet = "3 in"
[[tank]]
name = "lower"
capacity = "7500 gal"
diameter = "120 in"
outlet = "3 in"
[[tank]]
name = "pond"
levels = [{ level = "0 in", volume = "0 gal" }, { level = "40 in", volume = "900 gal" }]
[[tank]]
name = "by height"
diameter = "90 in"
overflow = "60 in"
[[tank]]
name = "no width"
capacity = "500 gal"
overflow = "60 in"
[[tank]]
name = "all three"
capacity = "1000 L"
diameter = "1 m"
overflow = "127.3 cm"
[[link]]
tanks = ["upper", "lower"]
[[draw]]
name = "house"
kind = "fixed"
per_day = "100 L/day"
[variant."bigger"]
"tank.lower.capacity" = "30000 gal"
[variant."bigger and wider"]
"tank.lower.capacity" = "30000 gal"
"tank.lower.diameter" = "12 ft"
""")
HIGH = 7500 * 231 / (math.pi * 60**2)
"""Height of 7,500 gal of 231 in3 in a circle of 120 in [in]."""


def shape(raw: dict[str, Any], name: str = "lower") -> tuple[float, float | None, float]:
    """Capacity [gal], diameter [in] and height of the lip [in] of a tank."""
    scenario, _ = check_raw(raw)
    tank = next(tank for tank in scenario.tank if tank.name == name)
    made = vessel(tank)
    return made.capacity / 3.785411784, tank.diameter and tank.diameter / 25.4, made.lip / 25.4


def test_four_times_the_water_at_the_same_height_is_twice_as_wide() -> None:
    """Four times the capacity at one height is twice the diameter: 240 in."""
    raw = changed(RAW, ["tank.lower.capacity=30000 gal"])
    assert shape(raw) == pytest.approx((30000, 240, HIGH), rel=1e-12)
    assert raw["tank"][0] == RAW["tank"][0], "the other tank stays as it is"
    assert RAW["tank"][1]["diameter"] == "120 in", "and so does the file"
    assert type(raw["tank"][1]["diameter"]) is str


def test_a_variant_and_a_chain_of_changes_keep_it_too() -> None:
    variant = changed(RAW, variant_changes(RAW, "bigger"))
    assert shape(variant) == pytest.approx((30000, 240, HIGH), rel=1e-12)
    back = changed(changed(RAW, ["tank.lower.capacity=1000 gal"]), ["tank.lower.capacity=7500 gal"])
    assert shape(back) == pytest.approx((7500, 120, HIGH), rel=1e-12)
    twice = changed(RAW, ["tank.lower.capacity=1000 gal", "tank.lower.capacity=30000 gal"])
    assert shape(twice) == pytest.approx((30000, 240, HIGH), rel=1e-12)
    whole = changed(RAW, [("tank.lower", {"capacity": "30000 gal"})])
    assert shape(whole) == pytest.approx((30000, 240, HIGH), rel=1e-12)


@pytest.mark.parametrize(
    "changes",
    [
        ["tank.lower.capacity=30000 gal", "tank.lower.diameter=12 ft"],
        ["tank.lower.diameter=12 ft", "tank.lower.capacity=30000 gal"],
    ],
)
def test_a_diameter_of_the_same_what_if_stands(changes: list[str]) -> None:
    """30,000 gal in 144 in: 6,930,000 in3 / 16,286 in2 = 425.5 in."""
    high = 30000 * 231 / (math.pi * 72**2)
    assert shape(changed(RAW, changes)) == pytest.approx((30000, 144, high), rel=1e-12)
    assert shape(changed(RAW, variant_changes(RAW, "bigger and wider"))) == pytest.approx((30000, 144, high))
    same = changed(RAW, ["tank.lower.capacity=15000 gal", "tank.lower.diameter=120 in"])
    assert shape(same) == pytest.approx((15000, 120, 2 * HIGH)), "said, though it is that of the file"
    assert heights.told(RAW, changed(RAW, changes)) == []


def test_a_capacity_that_stays_leaves_the_diameter_as_written() -> None:
    assert changed(RAW, ["tank.lower.capacity=7,500 gal"])["tank"][1]["diameter"] == "120 in"
    assert changed(RAW, ["tank.lower.outlet=4 in"])["tank"][1]["diameter"] == "120 in"
    assert changed(RAW, []) == RAW


def test_tanks_given_in_other_ways_are_as_they_were() -> None:
    """By capacity and lip: the height is the file's own. By levels, or diameter and lip: a capacity is too much."""
    assert shape(changed(RAW, ["tank.no width.capacity=900 gal"]), "no width") == pytest.approx(
        (900, None, 60)
    )
    with pytest.raises(InputError, match="levels already says how big it is; drop capacity"):
        check_raw(changed(RAW, ["tank.pond.capacity=900 gal"]))
    with pytest.raises(InputError, match="drop one of the three"):
        check_raw(changed(RAW, ["tank.by height.capacity=900 gal"]))
    higher = ["tank.lower.capacity=9000 gal", "tank.lower.overflow=100 in"]
    with pytest.raises(InputError, match="drop one of the three"):
        check_raw(changed(RAW, higher))
    by_height = changed(RAW, ["tank.lower-=diameter", *higher])
    assert shape(by_height) == pytest.approx((9000, None, 100))


def test_all_three_measures_stay_true_to_each_other() -> None:
    """1 m3 in 1 m across is 127.3 cm high; 4 m3 as high is 2 m across."""
    raw = changed(RAW, ["tank.all three.capacity=4000 L"])
    _, across, high = shape(raw, "all three")
    assert (across, high) == pytest.approx((2000 / 25.4, 4000 / (math.pi * 1000**2) * 1e6 / 25.4))


def test_what_cannot_be_read_is_left_to_the_checks() -> None:
    for bad in ("tank.lower.capacity=much", "tank.lower.capacity=0 gal", "tank.lower.capacity=7"):
        raw = changed(RAW, [bad])
        assert raw["tank"][1]["diameter"] == "120 in"
        with pytest.raises(InputError, match="tank 'lower': capacity"):
            check_raw(raw)


def test_the_new_width_is_told_once_for_every_tank() -> None:
    """20,000 gal: 120 in x sqrt(20,000 / 7,500) = 195.96 in."""
    told = heights.told(RAW, changed(RAW, ["tank.lower.capacity=20000 gal", "tank.upper.capacity=30000 gal"]))
    assert told == [
        "tank 'upper': 30,000 gal as high as now is 240 in across; set tank.upper.diameter too if yours differs",
        "tank 'lower': 20,000 gal as high as now is 196 in across; set tank.lower.diameter too if yours differs",
    ]
    metric = heights.told(RAW, changed(RAW, ["show_units=metric", "tank.lower.capacity=40 m3"]))
    assert metric[0].startswith("tank 'lower': 40 m3 as high as now is 362 cm across")  # x sqrt(40 / 28.39)


def test_a_diameter_alone_changes_the_height_and_says_so() -> None:
    """7,500 gal in 240 in stand a quarter as high: 153.2 / 4 = 38.3 in."""
    told = heights.told(RAW, changed(RAW, ["tank.lower.diameter=240 in"]))
    assert told == [
        "tank 'lower': 240 in across it still holds 7,500 gal, so its lip stands 38.3 in high in place of 153 in;"
        " set tank.lower.capacity too if yours differs"
    ]


def test_many_what_ifs_are_told_of_in_general() -> None:
    def general(*changes: str) -> list[str]:
        return heights.in_general(RAW, [changed(RAW, [each]) for each in changes])

    assert general("tank.lower.capacity=9000 gal", "tank.upper.capacity=9000 gal") == [
        "a tank whose capacity is turned keeps its height; its diameter follows"
    ]
    assert general("tank.lower.diameter=9 ft") == [
        "a tank whose diameter is turned keeps its capacity; its height follows"
    ]
    assert general("roof.barn.area=90 m2", "tank.no width.capacity=900 gal", "tank.lower.outlet=1 in") == []
