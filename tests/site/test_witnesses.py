"""Independent witnesses: a network solver, a property library, the fitting and size tables of `fluids`."""

from __future__ import annotations

import math
from pathlib import Path

import pytest
from fluids import fittings as crane
from fluids import nearest_pipe

from holdwater.site import pipes, pump, tanks_link, water

IN, FT, GPM = 25.4, 304.8, 3.785411784 / 60.0
QUIET = "ignore:Changing the headloss formula:UserWarning"  # of wntr; the roughness is given anew anyway
LOUD = "WITNESS NOT HEARD: {0} is not installed, so {1} was not checked against it (pip install {0})"


@pytest.mark.parametrize("temperature", [0.5, 5.0, 10.0, 20.0, 30.0, 45.0, 60.0])
def test_water_against_coolprop(temperature: float) -> None:
    """Density, viscosity and vapour pressure by CoolProp, which solves the reference equation of state."""
    coolprop = pytest.importorskip("CoolProp.CoolProp", reason=LOUD.format("CoolProp", "water"))
    kelvin = temperature + 273.15
    density = coolprop.PropsSI("D", "T", kelvin, "P", 101325, "Water")
    viscosity = coolprop.PropsSI("V", "T", kelvin, "P", 101325, "Water") / density
    vapour = coolprop.PropsSI("P", "T", kelvin, "Q", 0, "Water") / 1000
    assert water.density(temperature) == pytest.approx(density, rel=2e-4)
    assert water.viscosity(temperature) == pytest.approx(viscosity, rel=0.03)
    assert water.vapour_pressure(temperature) == pytest.approx(vapour, rel=1e-3)


@pytest.mark.filterwarnings(QUIET)
@pytest.mark.parametrize("gpm", [5, 10, 20])
@pytest.mark.parametrize("kind", ["PVC schedule 40", "PE"])
def test_friction_against_the_network_solver(kind: str, gpm: float, tmp_path: Path) -> None:
    """Loss of 250 ft of 1-1/4 in pipe by wntr (EPANET engine), by both friction formulas."""
    wntr = pytest.importorskip("wntr", reason=LOUD.format("wntr", "friction"))
    bore = pipes.pipe(kind, "1 1/4 in")
    flow, length = gpm * GPM, 250 * FT
    expected = {
        "H-W": (bore.hazen_williams, pipes.friction_hazen_williams(flow, bore, length)),
        "D-W": (bore.roughness / 1000, pipes.friction_darcy(flow, bore, length, temperature=20.0)),
    }
    for formula, (roughness, ours) in expected.items():
        net = wntr.network.WaterNetworkModel()
        net.options.hydraulic.headloss = formula
        net.options.time.duration = 0
        net.options.hydraulic.viscosity = water.viscosity(20.0) / 1.0221e-6
        net.add_reservoir("up", base_head=100.0)
        net.add_junction("tap", base_demand=flow / 1000, elevation=0.0)
        net.add_pipe(
            "line", "up", "tap", length=length / 1000, diameter=bore.inside / 1000, roughness=roughness
        )
        heads = wntr.sim.EpanetSimulator(net).run_sim(file_prefix=str(tmp_path / formula)).node["head"]
        assert 1000 * (100.0 - float(heads["tap"].iloc[0])) == pytest.approx(ours, rel=0.012)


@pytest.mark.filterwarnings(QUIET)
def test_time_to_stand_level_against_the_network_solver(tmp_path: Path) -> None:
    """Two 95 in tanks joined at the bottom, 12 in apart, stepped through time by wntr (EPANET engine)."""
    wntr = pytest.importorskip("wntr", reason=LOUD.format("wntr", "the bottom link"))
    bore, diameter = pipes.pipe("PVC schedule 40", "1 1/2 in"), 95 * IN / 1000
    net = wntr.network.WaterNetworkModel()
    net.options.hydraulic.headloss = "D-W"
    net.options.hydraulic.viscosity = water.viscosity(20.0) / 1.0221e-6
    net.options.time.duration = 1800
    net.options.time.hydraulic_timestep = net.options.time.report_timestep = 10
    for name, level in (("high", 2.0 + 12 * IN / 1000), ("low", 2.0)):
        net.add_tank(name, elevation=0.0, init_level=level, min_level=0.0, max_level=5.0, diameter=diameter)
    net.add_junction("middle", base_demand=0.0, elevation=0.0)  # the solver wants one
    for ends in (("high", "middle"), ("middle", "low")):
        rough, half = bore.roughness / 1000, 10 * FT / 1000
        net.add_pipe("-".join(ends), *ends, half, bore.inside / 1000, roughness=rough, minor_loss=1.5)
    heads = wntr.sim.EpanetSimulator(net).run_sim(file_prefix=str(tmp_path / "link")).node["head"]
    apart = heads["high"] - heads["low"]
    theirs = float(apart.index[(apart <= 0.25 * IN / 1000).argmax()])
    surface = math.pi / 4 * diameter**2
    ours = tanks_link.equalise_time((surface, surface), bore, 20 * FT, 3.0, start=12 * IN, end=0.25 * IN)
    assert theirs > 0
    assert ours == pytest.approx(theirs, rel=0.03)


def test_fitting_ratios_against_crane_in_fluids() -> None:
    """Crane's K of straight-through valves is the table's ratio times the turbulent friction factor."""
    for inside in (35.0, 52.5):
        d, ft = inside / 1000, crane.ft_Crane(inside / 1000)
        bore = pipes.Pipe("", "", inside)
        for name, k in {
            "gate valve": crane.K_gate_valve_Crane(D1=d, D2=d, angle=0.0),
            "globe valve": crane.K_globe_valve_Crane(D1=d, D2=d),
            "ball valve": crane.K_ball_valve_Crane(D1=d, D2=d, angle=0.0),
            "swing check valve": crane.K_swing_check_valve_Crane(D=d, angled=True),
            "spring check valve": crane.K_lift_check_valve_Crane(D1=d, D2=d, angled=False),
            "foot valve with strainer": crane.K_foot_valve_Crane(D=d, style=0),
        }.items():
            ratio = pipes.equivalent_length(name, bore) / inside
            assert ratio * ft == pytest.approx(k, rel=1e-9), name


@pytest.mark.parametrize("size", [0.5, 0.75, 1.0, 1.25, 1.5, 2.0, 2.5, 3.0, 4.0, 6.0])
@pytest.mark.parametrize("schedule", ["40", "80"])
def test_pipe_sizes_against_fluids(size: float, schedule: str) -> None:
    """Plastic schedule pipe has the walls of steel pipe of that schedule, ASME B36.10, in `fluids`."""
    _, inside, _, _ = nearest_pipe(NPS=size, schedule=schedule)
    assert pipes.pipe(f"PVC schedule {schedule}", f"{size} in").inside == pytest.approx(
        inside * 1000, abs=0.15
    )


def test_pump_power_by_its_definition() -> None:
    """1 L/s lifted 1 m takes 9.79 W at 20 degC."""
    assert pump.water_power(1.0, 1000.0) * 1000 == pytest.approx(998.23 * 9.80665 * 1e-3, rel=1e-5)
