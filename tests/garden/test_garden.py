"""Crop curves, root zones, rain that counts, and what is said of a bed that cannot be."""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest

from holdwater import crop_water, garden
from holdwater.errors import InputError
from holdwater.scenario.quantities import MonthDayValue
from holdwater.scenario.tables.growing import Crop, crops, soils

EXAMPLE_28 = Crop(
    "crop of Example 28", "annual", 0.15, 1.19, 0.35, (25, 25, 30, 20), 600.0, 900.0, 0.45, "", ""
)


def days(first: str, last: str) -> crop_water.Days:
    """All days from one to another, both included."""
    return np.arange(first, np.datetime64(last) + 1, dtype="datetime64[D]")


def describe(**other: Any) -> garden.Bed:
    """A checked bed of tomatoes, with changes."""
    plain = {"area": 100.0, "crop": "tomato", "planted": MonthDayValue(5, 10), "soil": "sandy loam"}
    return garden.bed("draw 'kitchen garden'", **(plain | other))


def test_example_28_curve() -> None:
    """FAO-56 Example 28: Kc on days 20, 40, 70 and 95 is 0.15, 0.77, 1.19, 0.56."""
    assert EXAMPLE_28.stages is not None
    curve = crop_water.season_curve(EXAMPLE_28, EXAMPLE_28.stages)
    assert curve.size == 100
    assert curve[[19, 39, 69, 94]].round(2).tolist() == [0.15, 0.77, 1.19, 0.56]


def test_curve_reaches_its_stages_on_their_last_days() -> None:
    curve = crop_water.season_curve(EXAMPLE_28, (25, 25, 30, 20))
    assert curve[24] == 0.15
    assert curve[25] > 0.15
    assert curve[49] == curve[79] == 1.19
    assert curve[99] == pytest.approx(0.35)


def test_mulch_lowers_the_first_stage_alone() -> None:
    """5 % of Kc ini for each 10 % of the soil covered (FAO-56 chapter 11)."""
    bare, half = (crop_water.season_curve(EXAMPLE_28, (25, 25, 30, 20), m) for m in (0.0, 0.5))
    assert half[0] == pytest.approx(0.75 * bare[0])
    assert half[49:].tolist() == bare[49:].tolist()
    assert (half <= bare).all()


def test_every_year_has_its_season() -> None:
    run = days("2001-01-01", "2004-12-31")
    kc, growing = crop_water.crop_calendar(run, crops()["tomato"], MonthDayValue(5, 10))
    assert growing.sum() == 4 * 145
    for year in range(2001, 2005):
        start = int(np.flatnonzero(run == np.datetime64(f"{year}-05-10"))[0])
        assert growing[start]
        assert not growing[start - 1]
        assert kc[start + 74] == 1.15
        assert not growing[start + 145]
        assert kc[start + 145] == crop_water.KC_BARE


def test_a_season_crosses_the_year_end_and_the_start_of_the_run() -> None:
    """Onion, 150 days from 15 October: on 1 January it is day 79, in its mid season."""
    run = days("2001-01-01", "2002-12-31")
    kc, growing = crop_water.crop_calendar(run, crops()["onion"], MonthDayValue(10, 15))
    curve = crop_water.season_curve(crops()["onion"], (15, 25, 70, 40))
    assert kc[0] == curve[78]
    assert growing[: 150 - 78].all()
    assert not growing[150 - 78]
    new_year = int(np.flatnonzero(run == np.datetime64("2002-01-01"))[0])
    assert kc[new_year - 78 : new_year + 72].tolist() == curve.tolist()


def test_a_run_may_end_within_a_season_and_be_a_single_day() -> None:
    kc, growing = crop_water.crop_calendar(
        days("2001-05-11", "2001-05-11"), crops()["tomato"], MonthDayValue(5, 10)
    )
    assert kc.tolist() == [0.60]
    assert growing.tolist() == [True]


def test_29_february_is_1_march_in_other_years() -> None:
    run = days("2003-01-01", "2004-12-31")
    _, growing = crop_water.crop_calendar(run, crops()["spinach"], MonthDayValue(2, 29))
    begun = run[growing & ~np.roll(growing, 1)]
    assert begun.astype(str).tolist() == ["2003-03-01", "2004-02-29"]


def test_a_perennial_sleeps_from_leaf_fall_to_waking() -> None:
    run = days("2001-01-01", "2002-12-31")
    kc, growing = crop_water.crop_calendar(run, crops()["apple"], MonthDayValue(3, 20))
    assert growing.sum() == 2 * 210
    assert set(kc[~growing]) == {crop_water.KC_BARE}


def test_turf_stands_all_year_at_its_mid_season_value() -> None:
    kc, growing = crop_water.crop_calendar(
        days("2001-01-01", "2001-12-31"), crops()["turf, cool season"], None
    )
    assert growing.all()
    assert set(kc) == {0.95}


def test_example_37_root_zone() -> None:
    """FAO-56 Example 37: FC 0.32, WP 0.12, root depth 0.8 m, p 0.40 give TAW 160 and RAW 64 mm."""
    taw = crop_water.total_available(0.32 - 0.12, 800.0)
    assert taw == pytest.approx(160.0)
    assert crop_water.readily_available(0.40, taw) == pytest.approx(64.0)


def test_root_zone_from_the_tables_takes_the_smaller_root_depth_and_the_middle_of_the_soil() -> None:
    """Sandy loam FC 0.23, WP 0.11 (middles of Table 19); tomato 0.7 m (Table 22): 84 mm."""
    assert soils()["sandy loam"].holds == pytest.approx(0.12)
    assert describe().taw == pytest.approx(84.0)
    assert describe(root_depth=1000.0).taw == pytest.approx(120.0)


def test_top_layer_of_a_bare_bed() -> None:
    """FAO-56 eq. 73: sandy loam 1000 (0.23 - 0.5 x 0.11) 0.10 = 17.5 mm; REW 6 to 10 mm (Table 19)."""
    assert (describe().tew, describe().rew) == (pytest.approx(17.5), 8.0)
    assert describe(mulched=0.5).tew == pytest.approx(0.75 * 17.5)
    shallow = describe(root_depth=50.0)
    assert shallow.tew == shallow.taw == pytest.approx(6.0)
    assert shallow.rew == pytest.approx(6.0)


def test_rain_below_a_fifth_of_et0_is_ignored_and_booked() -> None:
    kept, ignored = crop_water.effective_rain([0.0, 0.99, 1.0, 12.0, 0.3], [5.0, 5.0, 5.0, 5.0, 0.0])
    assert kept.tolist() == [0.0, 0.0, 1.0, 12.0, 0.3]
    assert ignored.tolist() == [0.0, 0.99, 0.0, 0.0, 0.0]


def test_depletion_fraction_follows_the_crops_thirst() -> None:
    """p + 0.04 (5 - ETc) between 0.1 and 0.8 (FAO-56 Table 22 footnote): tomato 0.40."""
    assert crop_water.adjusted_fraction(0.40, [5.0, 10.0, 0.0, 30.0]) == pytest.approx(
        [0.40, 0.20, 0.60, 0.10]
    )
    assert crop_water.adjusted_fraction(0.70, 0.0) == pytest.approx(0.80)


def test_plan_puts_it_together() -> None:
    run = days("2001-05-01", "2001-10-31")
    rain, et0 = np.full(run.size, 0.5), np.full(run.size, 4.0)
    made = garden.plan(describe(), run, rain, et0)
    assert made.raw[0] == pytest.approx(0.40 * 84.0)
    assert made.trigger.tolist() == made.raw.tolist()
    assert (made.target, made.efficiency) == (0.0, 0.90)
    assert made.etc.max() == pytest.approx(1.15 * 4.0)
    assert (made.rain_kept + made.rain_ignored).tolist() == rain.tolist()
    assert made.asks.sum() == made.growing.sum() == 145


def test_plan_with_own_trigger_and_target() -> None:
    run = days("2001-05-01", "2001-05-31")
    made = garden.plan(
        describe(starts_at=0.6, refill_to=0.8, method="surface"), run, np.zeros(31), np.ones(31)
    )
    assert made.trigger == pytest.approx(np.full(31, 50.4))
    assert made.target == pytest.approx(16.8)
    assert made.efficiency == 0.60


def test_adjusted_p_moves_raw_and_the_trigger_day_by_day() -> None:
    run = days("2001-06-20", "2001-06-21")
    made = garden.plan(describe(adjust_p=True, efficiency=0.8), run, np.zeros(2), np.array([2.0, 8.0]))
    assert made.raw[0] > 0.40 * 84.0 > made.raw[1]
    assert made.trigger.tolist() == made.raw.tolist()
    assert made.efficiency == 0.8


def test_rain_fed_beds_never_ask() -> None:
    run = days("2001-05-01", "2001-10-31")
    made = garden.plan(describe(rain_fed=True), run, np.zeros(run.size), np.full(run.size, 6.0))
    assert made.growing.sum() == 145
    assert not made.asks.any()


@pytest.mark.parametrize(
    ("wrong", "said"),
    [
        (
            {"crop": "tomatoe"},
            r"^draw 'kitchen garden': crop 'tomatoe' is not in the table; did you mean 'tomato'\?",
        ),
        ({"crop": "Tomato"}, r"did you mean 'tomato'\?"),
        ({"crop": "xyz"}, r"crop 'xyz' is not in the table; `holdwater tables crops` lists them"),
        (
            {"soil": "sandy lome"},
            r"soil 'sandy lome' .* did you mean 'sandy loam'\? Known are sand, loamy sand",
        ),
        ({"method": "hose"}, r"method 'hose' is not in the table; known are drip, sprinkler, surface"),
        ({"area": 0.0}, r"area must be above 0; found 0"),
        ({"root_depth": -5.0}, r"root_depth must be above 0; found -5"),
        ({"planted": None}, r"crop 'tomato' needs planted, such as \"05-10\""),
        ({"stages": (0, 10, 10, 10)}, r"stages: found \[0, 10, 10, 10\], 30 days in all; required four"),
        ({"stages": (90, 90, 90, 96)}, r"366 days in all"),
        ({"crop": "strawberry"}, r"'strawberry' has no published stage lengths; give stages ="),
        (
            {"crop": "pasture, grazed"},
            r"planted has no effect: pasture, grazed stands all year; leave it out",
        ),
        ({"refill_to": 0.5}, r"refill_to 50% leaves 50% .* starts again at 40%; raise refill_to above 60%"),
        ({"rain_fed": True, "starts_at": 0.5}, r"never watered; leave out trigger and refill_to"),
    ],
)
def test_faults_of_a_bed(wrong: dict[str, Any], said: str) -> None:
    with pytest.raises(InputError, match=said):
        describe(**wrong)


def test_all_faults_are_told_at_once() -> None:
    with pytest.raises(InputError) as told:
        describe(crop="tomatoe", soil="lome", area=-1.0)
    assert len(told.value.faults) == 3
    assert all(fault.startswith("draw 'kitchen garden': ") for fault in told.value.faults)


def test_strawberry_with_stages_of_ones_own() -> None:
    made = describe(crop="strawberry", stages=(20, 50, 120, 60))  # invented lengths
    assert made.taw == pytest.approx(0.12 * 200.0)
