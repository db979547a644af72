"""One day of the root zone: the published case, the edges, and the rules that must never break."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from holdwater import soil_water

DEPTH = st.floats(0.0, 40.0)


def soil_day(
    depletion: float, taw: float, raw: float, etc: float, rain: float, watered: float
) -> tuple[float, float, float]:
    """A day under a crop: evening depletion, what the crop took, what percolated."""
    dried, top = soil_water.dry_down(depletion, 0.0, True, taw, raw, min(taw, 15.0), min(taw, 8.0), etc)
    evening, _, deep = soil_water.wet_up(dried, top, rain + watered)
    return evening, dried - depletion, deep


def dry_out(
    depletion: float, taw: float, raw: float, etc: float, days: int
) -> tuple[list[float], list[float]]:
    """Ks and evening depletion of days without rain or irrigation."""
    ks, evenings = [], []
    for _ in range(days):
        ks.append(soil_water.stress(depletion, taw, raw))
        depletion, _, _ = soil_day(depletion, taw, raw, etc, 0.0, 0.0)
        evenings.append(depletion)
    return ks, evenings


def test_example_37() -> None:
    """FAO-56 Example 37: tomato, TAW 160, RAW 64, Dr 55 mm, ET0 5, Kc 1.2, ten days without rain."""
    ks, evenings = dry_out(55.0, 160.0, 64.0, 1.2 * 5.0, 10)
    assert [round(k, 2) for k in ks] == [1.0, 1.0, 0.97, 0.91, 0.85, 0.80, 0.75, 0.70, 0.66, 0.62]
    assert [round(d, 1) for d in evenings] == [61.0, 67.0, 72.8, 78.3, 83.4, 88.2, 92.6, 96.9, 100.8, 104.5]


@pytest.mark.parametrize(
    ("depletion", "ks"), [(0.0, 1.0), (64.0, 1.0), (112.0, 0.5), (160.0, 0.0), (161.0, 0.0)]
)
def test_stress_at_its_corners(depletion: float, ks: float) -> None:
    """FAO-56 eq. 84: 1 down to RAW, 0 at TAW, a line between."""
    assert soil_water.stress(depletion, 160.0, 64.0) == pytest.approx(ks)


def test_stress_where_all_water_is_readily_available() -> None:
    assert soil_water.stress(50.0, 100.0, 100.0) == 1.0
    assert soil_water.stress(100.0, 100.0, 100.0) == 1.0


def test_surplus_runs_out_below_the_roots() -> None:
    """FAO-56 eq. 88: what comes beyond field capacity percolates."""
    evening, crop, deep = soil_day(10.0, 84.0, 33.6, 5.0, 40.0, 2.0)
    assert (evening, crop) == (0.0, 5.0)
    assert deep == pytest.approx(40.0 + 2.0 - 10.0 - 5.0)


def test_a_shallow_bed_gives_no_more_than_it_holds() -> None:
    """ETc 20 mm from a bed that holds 15: the crop gets 15 and the bed is dry, not beyond."""
    assert soil_day(0.0, 15.0, 6.0, 20.0, 0.0, 0.0) == (15.0, 15.0, 0.0)


@pytest.mark.parametrize(
    ("evening", "asked"), [(-5.0, 0.0), (0.0, 0.0), (33.6, 0.0), (33.7, 33.7), (60.0, 60.0)]
)
def test_a_bed_asks_when_it_would_pass_its_trigger(evening: float, asked: float) -> None:
    assert soil_water.irrigation_asked(evening, 33.6, 0.0) == asked


def test_a_bed_asks_up_to_its_target_only() -> None:
    assert soil_water.irrigation_asked(50.0, 33.6, 20.0) == 30.0


def test_a_bed_that_is_always_served_never_suffers() -> None:
    """A dry summer on full supply: Ks 1 every day, and what is given equals what the crop took."""
    taw, raw, depletion, given_, took = 84.0, 33.6, 0.0, 0.0, 0.0
    waterings = 0
    for _ in range(145):
        ks = soil_water.stress(depletion, taw, raw)
        assert ks == 1.0
        dried = soil_water.after_crop(depletion, taw, ks, 5.75)
        asked = soil_water.irrigation_asked(dried, raw, 0.0)
        took, given_, waterings = took + dried - depletion, given_ + asked, waterings + (asked > 0)
        depletion, deep = soil_water.wetted(dried, asked)
        assert deep == 0.0
    assert waterings == 24  # every sixth day: 5 x 5.75 = 28.75 still below 33.6, the sixth would pass it
    assert given_ == pytest.approx(took - depletion)


def test_what_was_not_given_is_not_asked_again_as_such() -> None:
    """Ten days without a drop from the tank: the need grows by less each day, for the crop suffers."""
    depletion, asks = 30.0, []
    for _ in range(10):
        dried = soil_water.after_crop(depletion, 84.0, soil_water.stress(depletion, 84.0, 33.6), 6.0)
        asks.append(soil_water.irrigation_asked(dried, 33.6, 0.0))
        depletion, _ = soil_water.wetted(dried, 0.0)
    growth = np.diff(asks)
    assert (growth[1:] < growth[:-1]).all()
    assert asks[-1] < 84.0


@st.composite
def zones(draw: st.DrawFn) -> tuple[float, float]:
    """TAW and RAW [mm], shallow sands and fractions to the bounds included."""
    taw = draw(st.floats(2.0, 400.0))
    return taw, taw * draw(st.floats(0.1, 1.0))


@given(zones(), st.floats(0.0, 1.0), DEPTH, st.floats(0.0, 300.0), DEPTH)
def test_balance_closes_and_depletion_stays_within_the_root_zone(
    zone: tuple[float, float], share: float, etc: float, rain: float, watered: float
) -> None:
    taw, raw = zone
    before = share * taw
    evening, crop, deep = soil_day(before, taw, raw, etc, rain, watered)
    assert 0.0 <= evening <= taw
    assert 0.0 <= crop <= etc + 1e-12
    assert deep >= 0.0
    assert deep == 0.0 or evening == 0.0
    handled = taw + etc + rain + watered
    assert abs(evening - (before - rain - watered + crop + deep)) <= 8 * np.finfo(float).eps * handled


@given(zones(), st.lists(st.tuples(st.booleans(), DEPTH, DEPTH, DEPTH), min_size=1, max_size=60))
def test_seasons_and_fallow_keep_the_balance_and_the_bounds(
    zone: tuple[float, float], weather: list[tuple[bool, float, float, float]]
) -> None:
    taw, raw = zone
    tew, rew = min(taw, 15.0), min(taw, 8.0)
    depletion = surface = 0.0
    for growing, etc, rain, watered in weather:
        dried, top = soil_water.dry_down(depletion, surface, growing, taw, raw, tew, rew, etc)
        evening, surface, deep = soil_water.wet_up(dried, top, rain + watered)
        closing = evening - (depletion + (dried - depletion) - rain - watered + deep)
        assert abs(closing) <= 8 * np.finfo(float).eps * (taw + etc + rain + watered)
        assert 0.0 <= dried - depletion <= etc + 1e-9
        assert 0.0 <= evening <= taw
        assert 0.0 <= surface <= tew
        assert surface <= evening + 1e-9
        depletion = evening


@given(
    zones(),
    st.lists(st.tuples(st.booleans(), DEPTH, st.floats(0.0, 60.0)), min_size=2, max_size=40),
    st.data(),
)
def test_more_rain_on_one_day_never_means_a_drier_soil_on_a_later_one(
    zone: tuple[float, float], weather: list[tuple[bool, float, float]], data: st.DataObject
) -> None:
    """On a rain-fed bed, in and out of season, the fiercest day on the shallowest sand included."""
    taw, raw = zone
    tew, rew = min(taw, 15.0), min(taw, 8.0)
    extra = data.draw(st.floats(0.0, 50.0))
    when = data.draw(st.integers(0, len(weather) - 1))
    start = data.draw(st.floats(0.0, 1.0)) * taw
    less = more = (start, min(start, tew))
    for i, (growing, etc, rain) in enumerate(weather):
        dried, top = soil_water.dry_down(*less, growing, taw, raw, tew, rew, etc)
        less = soil_water.wet_up(dried, top, rain)[:2]
        dried, top = soil_water.dry_down(*more, growing, taw, raw, tew, rew, etc)
        more = soil_water.wet_up(dried, top, rain + (extra if i == when else 0.0))[:2]
        assert more[0] <= less[0] + 1e-9 * taw
        assert more[1] <= less[1] + 1e-9 * taw


def test_bare_soil_loses_its_top_layer_and_no_more() -> None:
    """A year without rain or crop: 17.5 mm from a sandy loam (eq. 73 with Ze 0.10 m), never the root zone."""
    depletion = surface = 0.0
    for _ in range(365):
        dried, top = soil_water.dry_down(depletion, surface, False, 84.0, 33.6, 17.5, 8.0, 5.0)
        depletion, surface, deep = soil_water.wet_up(dried, top, 0.0)
        assert deep == 0.0
    assert depletion == pytest.approx(17.5, abs=1e-6)
    assert surface == pytest.approx(17.5, abs=1e-6)


def test_bare_soil_dries_freely_down_to_rew_then_slowly() -> None:
    """FAO-56 eq. 74: Kr = 1 down to REW, (TEW - De) / (TEW - REW) beyond."""
    dried, top = soil_water.dry_down(30.0, 6.0, False, 84.0, 33.6, 17.5, 8.0, 5.0)
    assert (dried, top) == (35.0, 11.0)
    dried, top = soil_water.dry_down(35.0, 11.0, False, 84.0, 33.6, 17.5, 8.0, 5.0)
    assert top - 11.0 == pytest.approx(5.0 * (17.5 - 11.0) / (17.5 - 8.0))
    assert dried - 35.0 == pytest.approx(top - 11.0)


def test_rain_wets_the_top_of_a_dry_bed_and_the_sun_takes_it_back() -> None:
    """After harvest the deep soil is dry; 10 mm of rain lies on top and most of it goes again within days."""
    depletion, surface = 80.0, 17.5
    depletion, surface, _ = soil_water.wet_up(depletion, surface, 10.0)
    assert (depletion, surface) == (70.0, 7.5)
    for _ in range(10):
        dried, top = soil_water.dry_down(depletion, surface, False, 84.0, 33.6, 17.5, 8.0, 4.0)
        depletion, surface, _ = soil_water.wet_up(dried, top, 0.0)
    assert depletion == pytest.approx(80.0, abs=0.2)


@given(zones(), st.floats(0.0, 1.0), st.floats(0.0, 1.0), DEPTH, DEPTH)
def test_a_wetter_morning_is_a_wetter_evening(
    zone: tuple[float, float], a: float, b: float, etc: float, rain: float
) -> None:
    taw, raw = zone
    wet, dry = sorted((a * taw, b * taw))
    wetter, _, _ = soil_day(wet, taw, raw, etc, rain, 0.0)
    drier, _, _ = soil_day(dry, taw, raw, etc, rain, 0.0)
    assert wetter <= drier + 1e-9 * taw


@given(zones(), st.floats(0.0, 1.0), DEPTH, DEPTH, st.floats(0.0, 1.0), st.floats(0.0, 1.0))
def test_what_is_asked_fills_to_the_target_and_no_further(
    zone: tuple[float, float],
    share: float,
    etc: float,
    rain: float,
    trigger_share: float,
    target_share: float,
) -> None:
    taw, raw = zone
    trigger, target = trigger_share * taw, target_share * trigger_share * taw
    assume(target < trigger)
    before = share * taw
    dried = soil_water.after_crop(before, taw, soil_water.stress(before, taw, raw), etc)
    asked = soil_water.irrigation_asked(dried - rain, trigger, target)
    evening, deep = soil_water.wetted(dried, rain + asked)
    if asked > 0.0:
        assert evening == pytest.approx(target, abs=1e-9 * (taw + rain))
        assert deep <= 1e-9 * (taw + rain)
    else:
        assert evening <= trigger + 1e-9 * taw or dried - rain <= trigger


@settings(max_examples=25)
@given(zones(), st.floats(0.0, 1.0), DEPTH, DEPTH, DEPTH)
def test_compiled_and_interpreted_give_equal_bits(
    compiled: dict[str, object],
    zone: tuple[float, float],
    share: float,
    etc: float,
    rain: float,
    watered: float,
) -> None:
    taw, raw = zone
    before = share * taw
    ks = soil_water.stress(before, taw, raw)
    dried = soil_water.after_crop(before, taw, ks, etc)
    assert compiled["stress"](before, taw, raw) == ks  # type: ignore[operator]
    assert compiled["after_crop"](before, taw, ks, etc) == dried  # type: ignore[operator]
    assert compiled["wetted"](dried, rain + watered) == soil_water.wetted(dried, rain + watered)  # type: ignore[operator]
    want = soil_water.irrigation_asked(dried - rain, raw, 0.0)
    assert compiled["irrigation_asked"](dried - rain, raw, 0.0) == want  # type: ignore[operator]


@pytest.fixture(scope="module")
def compiled() -> dict[str, object]:
    numba = pytest.importorskip("numba")
    names = ("stress", "after_crop", "wetted", "irrigation_asked")
    return {name: numba.njit(getattr(soil_water, name)) for name in names}
