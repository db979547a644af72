"""What must hold of the formulas whatever the numbers: order, round trips, bounds, refusals."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from holdwater.site import ground, pipes, pump, spill, storm, tanks_link, water
from holdwater.site.show import show, unit

DIAMETERS = st.floats(20.0, 300.0)
FT, GPM = 304.8, 3.785411784 / 60.0


@given(st.floats(0.01, 60.0), DIAMETERS)
def test_overflow_flow_and_head_are_each_others_inverse(flow: float, inside: float) -> None:
    head = spill.overflow_head(flow, inside)
    assert spill.overflow_flow(head, inside) == pytest.approx(flow, rel=1e-6)


@given(st.floats(1.0, 600.0), st.floats(1.01, 2.0), DIAMETERS)
def test_more_water_above_passes_more(head: float, more: float, inside: float) -> None:
    assert spill.overflow_flow(head * more, inside) > spill.overflow_flow(head, inside)
    assert spill.overflow_flow(head, inside * more) >= spill.overflow_flow(head, inside) * (1 - 1e-9)


def test_no_water_above_passes_nothing() -> None:
    assert spill.overflow_flow(0.0, 100.0) == 0.0
    assert spill.overflow_flow(-10.0, 100.0) == 0.0


@given(st.floats(0.05, 4.5))
@settings(max_examples=40)
def test_critical_energy_is_the_least_energy(strength: float) -> None:
    """Independent of the formula used: the least of depth + v2/2g over all depths (diameter 1 ft)."""
    g, flow = 9.80665 / 0.3048, strength * math.pi / 4.0
    angle = np.linspace(0.2, 2.0 * math.pi - 0.02, 200_001)
    area = (angle - np.sin(angle)) / 8.0
    energy = 0.5 * (1.0 - np.cos(angle / 2.0)) + flow**2 / (2.0 * g * area**2)
    assert spill.critical_energy(strength) == pytest.approx(float(energy.min()), rel=1e-6)


@given(st.floats(0.01, 3.0), st.floats(1.05, 3.0), st.sampled_from(sorted(pipes.pipes())))
def test_friction_grows_with_flow_and_length(flow: float, more: float, name: tuple[str, str]) -> None:
    bore = pipes.pipes()[name]
    for formula in (pipes.friction_hazen_williams, pipes.friction_darcy):
        assert formula(flow * more, bore, 1000.0) > formula(flow, bore, 1000.0)
        assert formula(flow, bore, 3000.0) == pytest.approx(3 * formula(flow, bore, 1000.0))
        assert formula(0.0, bore, 1000.0) == 0.0


def test_the_greater_friction_is_taken() -> None:
    bore = pipes.pipe("PE", "1 1/4 in")
    for flow in (0.05, 0.5, 2.0):
        both = (
            pipes.friction_hazen_williams(flow, bore, 1000.0),
            pipes.friction_darcy(flow, bore, 1000.0, 5.0),
        )
        assert pipes.friction(flow, bore, 1000.0, 5.0) == max(both)


@given(st.floats(1.0, 3000.0), st.floats(100.0, 1e5), st.floats(1.0, 20.0))
@settings(max_examples=50)
def test_flow_under_a_head_loses_that_head(head: float, length: float, loss: float) -> None:
    """Or stands where friction jumps as the flow turns turbulent."""
    bore = pipes.pipe("PVC schedule 40", "2 in")
    flow = pipes.flow_under_head(head, bore, length, loss, 20.0)
    below = pipes.friction_darcy(flow * (1 - 1e-9), bore, length, 20.0, loss)
    above = pipes.friction_darcy(flow * (1 + 1e-9), bore, length, 20.0, loss)
    assert below * (1 - 1e-6) <= head <= above * (1 + 1e-6)
    assert pipes.flow_under_head(0.0, bore, length, loss) == 0.0


def test_equalising_agrees_with_torricelli_without_friction() -> None:
    """A link without length between a tank and a lake drains like a hole: half the way, half the root."""
    bore = pipes.pipe("PVC schedule 40", "2 in")
    full = tanks_link.drain_time(5.0, bore.bore / 1e6, 400.0, 1 / math.sqrt(2.0))
    quarter = tanks_link.equalise_time((5.0, 1e12), bore, 0.0, 2.0, start=400.0, end=100.0)
    assert quarter == pytest.approx(full / 2, rel=1e-4)


@pytest.mark.parametrize("end", [0.0, -1.0, 500.0])
def test_equalising_to_nothing_is_refused(end: float) -> None:
    with pytest.raises(ValueError, match="must lie above zero"):
        tanks_link.equalise_time((5.0, 5.0), pipes.pipe("PE", "2 in"), 0.0, 2.0, start=400.0, end=end)


@given(st.floats(0.0, 2500.0), st.floats(100.0, 300.0))
def test_drawdown_stays_in_the_tank(altitude: float, cut_in: float) -> None:
    air = water.atmosphere(altitude)
    given_ = pump.drawdown(100.0, cut_in - 14.0, cut_in, cut_in + 140.0, air)
    assert 0.0 < given_ < 100.0
    assert given_ >= pump.drawdown(100.0, cut_in - 14.0, cut_in, cut_in + 140.0) * (1 - 1e-9)


def test_drawdown_of_a_tank_charged_too_high() -> None:
    """Above the cut-in the tank is empty when the pump starts; above the cut-out it never holds water."""
    assert pump.drawdown(100.0, 250.0, 200.0, 350.0) == pytest.approx(
        100 - 100 * (250 + 101.325) / (350 + 101.325)
    )
    assert pump.drawdown(100.0, 400.0, 200.0, 350.0) == 0.0
    with pytest.raises(ValueError, match="stop at a higher pressure"):
        pump.drawdown(100.0, 150.0, 200.0, 200.0)


def test_pump_curve() -> None:
    points = [(1.0, 20_000.0), (0.0, 30_000.0)]
    assert pump.curve_head(points, 0.5) == pytest.approx(25_000.0)
    assert pump.curve_head(points, 1.0) == pytest.approx(20_000.0)
    assert pump.curve_head(points, 1.1) is None
    assert pump.curve_head([], 0.5) is None
    assert pump.curve_head([(0.6, 20_000.0)], 0.5) == pytest.approx(20_000.0)
    assert pump.curve_head([(0.6, 20_000.0)], 0.7) is None


def test_worst_starts_and_hours() -> None:
    assert pump.worst_starts(100.0, 30.0) == 4
    assert pump.worst_starts(90.0, 30.0) == 3
    assert pump.worst_starts(0.0, 30.0) == 0
    assert pump.pump_hours(3600.0, 1.0) == pytest.approx(1.0)


def test_beyond_the_tables_is_refused() -> None:
    with pytest.raises(ValueError, match="ends at 7,920 ft"):
        pump.practical_lift(3000.0)
    with pytest.raises(ValueError, match="beyond the table"):
        storm.long_gutter_factor(25_000.0, 100.0)
    with pytest.raises(ValueError, match="altitude"):
        water.atmosphere(12_000.0)
    for formula in (water.density, water.viscosity, water.vapour_pressure):
        with pytest.raises(ValueError, match="water temperature"):
            formula(-1.0)
    assert storm.code_leader(60.0) is None


def test_box_gutter_as_deep_as_wide_is_the_standards_square() -> None:
    """EN 12056-3: 0.9 x 3.48e-5 x area^1.25 for a square section."""
    assert storm.box_gutter(100.0, 100.0) == pytest.approx(0.9 * 3.48e-5 * 1e4**1.25)
    assert storm.box_gutter(200.0, 100.0) == pytest.approx(2 * storm.box_gutter(100.0, 100.0))


def test_larger_overflows_stop_at_the_first_that_fits() -> None:
    sizes = [pipes.pipe("PVC schedule 40", f"{s} in") for s in ("2", "3", "4", "6")]
    found = spill.larger_overflows(60 * GPM, 110.0, sizes[0].inside, sizes)
    assert [p.size for p, _ in found] == ["3 in", "4 in"]
    assert found[0][1] > 110.0 >= found[1][1]
    assert spill.larger_overflows(40 * GPM, 110.0, 1000.0, sizes) == []


def test_head_and_pressure_are_each_others_inverse() -> None:
    assert water.pressure(water.head(200.0, 15.0), 15.0) == pytest.approx(200.0)


def test_bearing_counts_the_slab() -> None:
    """100 mm of concrete at 2,400 kg/m3 add 2.35 kPa."""
    assert ground.bearing(1000.0, 2.0, 100.0) - ground.bearing(1000.0, 2.0) == pytest.approx(2.354, abs=0.001)


@pytest.mark.parametrize(
    ("number", "kind", "us", "metric"),
    [
        (1.0, "flow", "16 gal/min", "60 L/min"),
        (25.4, "size", "1 in", "25 mm"),
        (3048.0, "length", "10 ft", "3 m"),
        (101.325, "pressure", "15 psi", "101 kPa"),
        (100.0, "bearing", "2,089 lb/ft2", "100 kPa"),
        (0.745699872, "power", "1 hp", "0.75 kW"),
        (20.0, "temperature", "68 degF", "20 degC"),
        (10.0, "warming", "18 degF", "10 degC"),
        (90.0, "time", "90 s", "90 s"),
        (600.0, "time", "10 min", "10 min"),
        (86400.0, "time", "24 h", "24 h"),
        (500.0, "degree days", "900 degF-days", "500 degC-days"),
        (0.0, "height", "0 in", "0 cm"),
        (-5.0, "pressure", "-0.73 psi", "-5 kPa"),
        (0.126, "share", "13 %", "13 %"),
    ],
)
def test_numbers_are_shown_with_their_unit(number: float, kind: str, us: str, metric: str) -> None:
    assert show(number, kind, "us") == us
    assert show(number, kind, "metric") == metric


def test_an_unknown_kind_of_number_is_a_bug() -> None:
    with pytest.raises(KeyError):
        show(1.0, "colour", "us")
    with pytest.raises(KeyError):
        unit("colour")


@pytest.mark.parametrize(
    ("kind", "inside"),
    [("flow", "L/s"), ("volume", "L"), ("share", "1"), ("temperature", "degC"), ("rain", "mm")],
)
def test_every_kind_of_number_knows_its_inside_unit(kind: str, inside: str) -> None:
    assert unit(kind) == inside


def test_cubic_metres_keep_a_figure_more() -> None:
    assert show(56_781.0, "volume", "metric") == "56.8 m3"
    assert show(9_464.0, "volume", "metric") == "9,464 L"


@given(st.floats(20.0, 400.0))
def test_a_gutter_as_wide_as_advised_just_carries_it(width: float) -> None:
    assert storm.half_round_width(storm.half_round_gutter(width)) == pytest.approx(width)
