"""One day of snow: the worked vector, the edges, and the balance."""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from holdwater import snow

# Our arithmetic for melt 3 mm/degC/day and a split from -1 to 3 degC, melt after adding the day's snow:
# mean temperature, precipitation -> snow, melt, pack, outflow
VECTOR = [
    (-5.0, 10.0, 10.0, 0.0, 10.0, 0.0),
    (-2.0, 4.0, 4.0, 0.0, 14.0, 0.0),
    (0.0, 8.0, 6.0, 0.0, 20.0, 2.0),
    (1.0, 6.0, 3.0, 3.0, 20.0, 6.0),
    (2.0, 0.0, 0.0, 6.0, 14.0, 6.0),
    (4.0, 5.0, 0.0, 12.0, 2.0, 17.0),
    (6.0, 0.0, 0.0, 2.0, 0.0, 2.0),
]
TEMPERATURE, DEPTH, SHARE = st.floats(-40.0, 40.0), st.floats(0.0, 300.0), st.floats(0.0, 1.0)


def test_vector() -> None:
    pack = 0.0
    for t, precipitation, fallen, melt, left, outflow in VECTOR:
        pack, rain, new, melted, lost = snow.snow_day(pack, precipitation, t)
        assert (new, melted, pack, rain + melted, lost) == (fallen, melt, left, outflow, 0.0)


def test_half_of_it_is_snow_at_1_degc() -> None:
    """Jennings et al. 2018: 50 % snow at 1.0 degC."""
    assert snow.snow_share(1.0) == 0.5
    assert snow.snow_share(-1.0) == 1.0
    assert snow.snow_share(3.0) == 0.0


def test_equal_bounds_are_a_step() -> None:
    assert snow.snow_share(0.5, 0.5, 0.5) == 1.0
    assert snow.snow_share(0.6, 0.5, 0.5) == 0.0


def test_mean_temperature() -> None:
    assert snow.mean_temperature(-6.0, 2.0) == -2.0


def test_melt_is_at_most_the_pack_and_none_in_frost() -> None:
    assert snow.melted(5.0, 10.0) == 5.0
    assert snow.melted(50.0, 10.0) == 30.0
    assert snow.melted(50.0, 2.0, 5.0) == 10.0
    assert snow.melted(50.0, -3.0) == 0.0


def test_snow_that_slides_off_is_lost_as_it_falls() -> None:
    pack, rain, fallen, melt, lost = snow.snow_day(10.0, 20.0, -4.0, loss_share=0.25)
    assert (pack, rain, fallen, melt, lost) == (25.0, 0.0, 20.0, 0.0, 5.0)
    assert snow.snow_day(0.0, 20.0, -4.0, loss_share=1.0) == (0.0, 0.0, 20.0, 0.0, 20.0)


@given(DEPTH, DEPTH, TEMPERATURE, SHARE, st.floats(0.0, 10.0))
def test_balance_closes_and_nothing_turns_negative(
    pack: float, precipitation: float, t: float, loss: float, factor: float
) -> None:
    after, rain, fallen, melt, lost = snow.snow_day(pack, precipitation, t, loss, melt_per_degree=factor)
    assert min(after, rain, fallen, melt, lost) >= 0.0
    assert math.isclose(rain + fallen, precipitation, abs_tol=1e-12)
    assert math.isclose(pack + fallen, after + melt + lost, rel_tol=1e-12, abs_tol=1e-12)


@given(TEMPERATURE, TEMPERATURE)
def test_warmer_never_means_more_snow(a: float, b: float) -> None:
    cold, warm = sorted((a, b))
    assert snow.snow_share(warm) <= snow.snow_share(cold)


@pytest.mark.parametrize("t", [-7.0, 0.3, 2.0, 11.0])
def test_compiles_to_equal_bits(t: float) -> None:
    numba = pytest.importorskip("numba")
    assert numba.njit(snow.snow_share)(t, -1.0, 3.0) == snow.snow_share(t)
    assert numba.njit(snow.melted)(12.0, t, 3.0) == snow.melted(12.0, t)
