"""What must hold for any holding in any weather."""

from __future__ import annotations

import copy
from typing import Any

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from holdwater.ledger import ENTRIES, STATES, closing_error
from holdwater.scores import score
from holdwater.units import read
from tests.holdings import run
from tests.properties.strategies import holdings, one_tank, rains


@settings(max_examples=300, deadline=None)
@given(holdings(), rains)
def test_the_ledger_closes_and_nothing_is_negative(parts: dict[str, Any], rain: list[float]) -> None:
    """`simulate` raises on any negative volume; here the account is checked once more by its numbers."""
    ledger = run(rain, **parts)
    assert closing_error(ledger) <= 1e-9
    storage = ledger.flux("storage")
    assert (storage >= 0.0).all()
    assert (storage <= ledger.flux("capacity")[:, None] * (1 + 1e-9)).all()
    assert (ledger.flux("delivered") <= ledger.flux("asked") * (1 + 1e-12)).all()
    scores = score(ledger)
    assert sum(scores.dry_days.by_year.values()) == scores.dry_days.total
    assert sum(s.days for s in scores.dry_spells) == scores.dry_days.total


@settings(max_examples=200, deadline=None)
@given(holdings(), rains)
def test_reserve_is_never_touched_by_ordinary_draws(parts: dict[str, Any], rain: list[float]) -> None:
    """With no draw that may use it, no leak and the valves as they are, storage never sinks below the reserve."""
    parts = copy.deepcopy(parts)
    parts |= {"reserve": {"volume": "200 L"}, "transfer": []}
    parts["run"]["start_full"] = 1.0
    for draw in parts["draw"]:
        draw["may_use_reserve"] = False
    for tank in parts["tank"]:
        tank["leak"] = 0
    for link in parts["link"]:
        link["closed"] = []
    ledger = run(rain, **parts)
    drawable = ledger.flux("drawable").sum(axis=0)
    least = min(200.0, float(ledger.flux("drawable_capacity").sum()))
    assert drawable.min() >= least * (1 - 1e-9)


@settings(max_examples=150, deadline=None)
@given(one_tank(), rains, st.floats(1.0, 3.0))
def test_more_roof_never_supplies_less_under_ybs(
    parts: dict[str, Any], rain: list[float], more: float
) -> None:
    """Holds day by day for YBS, one tank and a constant draw: V1 = min(max(V0 + Q - D, 0), S) grows with V0 and Q.

    It does not hold day by day for YAS, whose room S - Y shrinks when more was there to take, nor with
    draws or backup that watch a level.
    """
    parts["run"]["rule"] = "YBS"
    larger = copy.deepcopy(parts)
    larger["roof"][0]["area"] = f"{read(parts['roof'][0]['area'], 'area') * more} m2"
    less, much = run(rain, **parts), run(rain, **larger)
    assert (much.flux("delivered") >= less.flux("delivered") - 1e-6).all()


@settings(max_examples=150, deadline=None)
@given(one_tank(), rains, st.floats(1.0, 3.0))
def test_more_roof_never_supplies_less_in_all_under_yas(
    parts: dict[str, Any], rain: list[float], more: float
) -> None:
    """For YAS it holds for the water supplied up to any day (one tank, one constant draw)."""
    larger = copy.deepcopy(parts)
    larger["roof"][0]["area"] = f"{read(parts['roof'][0]['area'], 'area') * more} m2"
    less, much = run(rain, **parts), run(rain, **larger)
    gained = much.flux("delivered").cumsum(axis=1) - less.flux("delivered").cumsum(axis=1)
    assert gained.min() >= -1e-6


@settings(max_examples=150, deadline=None)
@given(one_tank(), rains)
def test_yas_never_supplies_more_than_ybs(parts: dict[str, Any], rain: list[float]) -> None:
    """One tank, one draw that watches no level; supplied up to any day (Jenkins et al. 1978)."""
    supplied = {}
    for rule in ("YAS", "YBS"):
        parts["run"]["rule"] = rule
        supplied[rule] = run(rain, **parts).flux("delivered").cumsum(axis=1)
    assert (supplied["YAS"] <= supplied["YBS"] + 1e-6).all()


@settings(max_examples=100, deadline=None)
@given(holdings(), rains, st.sampled_from([0.5, 3.0, 10.0]))
def test_scaling_everything_scales_everything(
    parts: dict[str, Any], rain: list[float], factor: float
) -> None:
    """Areas, volumes and draws times a factor, heights as they are: every flux and storage times the factor."""
    parts["backup"] = [b for b in parts["backup"] if b["kind"] == "direct"]  # loads come in whole numbers
    small, large = run(rain, **parts), run(rain, **_scaled(parts, factor))
    for name in (*ENTRIES, *STATES):
        if name in small.data and name not in ("rain", "loads", "cost"):
            assert large.flux(name) == pytest.approx(small.flux(name) * factor, rel=1e-7, abs=1e-5), name


def _scaled(parts: Any, factor: float) -> Any:
    """The same holding with every quantity of kind volume, area or flow multiplied."""
    if isinstance(parts, dict):
        return {key: _scaled(value, factor) for key, value in parts.items()}
    if isinstance(parts, list):
        return [_scaled(value, factor) for value in parts]
    if isinstance(parts, str):
        number, _, unit = parts.partition(" ")
        if unit in ("L", "m2", "L/day"):
            return f"{float(number) * factor:.17g} {unit}"
    return parts


@settings(max_examples=100, deadline=None)
@given(holdings(), rains)
def test_a_run_is_repeatable_to_the_bit(parts: dict[str, Any], rain: list[float]) -> None:
    first, second = run(rain, **parts), run(rain, **parts)
    assert np.array_equal(first.flux("storage"), second.flux("storage"))
    assert np.array_equal(first.flux("delivered"), second.flux("delivered"))
