"""Constructed holdings (invented) for every check: one it passes, one it fails, and ways to leave something out."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from typing import NamedTuple

from holdwater.site import (
    link_checks,
    overflow_checks,
    pressure_tank_checks,
    pump_checks,
    roof_checks,
    suction_checks,
    supply_checks,
    tank_checks,
)
from holdwater.site.ground import Frost
from holdwater.site.link_checks import LinkRun
from holdwater.site.overflow_checks import Stub
from holdwater.site.pipes import pipe
from holdwater.site.pump_set import PressureTank, Pump
from holdwater.site.result import Check
from holdwater.site.roof_checks import Gutter, Storm
from holdwater.site.supply_checks import Line
from holdwater.site.tank_checks import Stand

IN, FT, GPM, GAL, PSI, FT2 = 25.4, 304.8, 3.785411784 / 60.0, 3.785411784, 6.894757293168, 0.09290304
STORM = Storm(4 * IN, 2 * IN)
ROOF = 1996 * FT2
STUB = Stub("upper", pipe("PVC schedule 40", "1 1/2 in").inside, 4 * IN, "1 1/2 in")
WIDE = replace(STUB, inside=pipe("PVC schedule 40", "6 in").inside, size="6 in")
LINK = LinkRun(pipe("PVC schedule 40", "1 1/2 in"), 20 * FT, {"90 elbow": 2})
THREAD = LinkRun(pipe("PEX", "1/2 in"), 400 * FT, {"globe valve": 4})
PUMP = Pump(
    above=-3 * FT,
    flow=10 * GPM,
    curve=((0.0, 180 * FT), (10 * GPM, 140 * FT)),
    npsh_required=8 * FT,
    power=0.75 * 0.745699872,
    draws=0.9,
    suction=pipe("PE", "1 1/4 in"),
    suction_length=12 * FT,
    fittings={"90 elbow": 2},
)
TANK = PressureTank(44 * GAL, 28 * PSI, 30 * PSI, 50 * PSI)
LINE = Line(
    "house",
    pipe("PE", "1 1/4 in"),
    250 * FT,
    {"90 elbow": 4},
    flow=10 * GPM,
    rise=11 * FT,
    start=30 * PSI,
    wanted=20 * PSI,
    buried=36 * IN,
)
COLD = Frost(80.0, 150.0, 300.0, -25.0, 38.0, 20)
STAND = Stand(area=5.27, empty=200.0, soil="sand", allowed=95.8)
ALTITUDE = 1585.0


class Case(NamedTuple):
    """One check: a holding it passes, one it fails, and the ways to leave something out."""

    passes: Callable[[], Check]
    fails: Callable[[], Check]
    lacking: list[Callable[[], Check]]


def without(
    check: Callable[..., Check], thing: object, *rest: object, keys: str
) -> list[Callable[[], Check]]:
    """The check once with each of these keys left out."""
    return [lambda key=key: check(replace(thing, **{key: None}), *rest) for key in keys.split()]  # type: ignore[misc]


CASES: dict[str, Case] = {
    "first_flush": Case(
        lambda: roof_checks.first_flush("barn", 30 * GAL, ROOF),
        lambda: roof_checks.first_flush("barn", 10 * GAL, ROOF),
        [
            lambda: roof_checks.first_flush("barn", None, ROOF),
            lambda: roof_checks.first_flush("barn", 0.0, ROOF),
        ],
    ),
    "gutter": Case(
        lambda: roof_checks.gutter("barn", ROOF, Gutter(True, 6 * IN, 5 * IN, 40 * FT, 2), STORM),
        lambda: roof_checks.gutter("barn", ROOF, Gutter(False, 5 * IN, None, 40 * FT, 1), STORM),
        [
            lambda: roof_checks.gutter("barn", ROOF, Gutter(True, 6 * IN, 5 * IN, 40 * FT, 2), Storm()),
            lambda: roof_checks.gutter("barn", ROOF, Gutter(True, None, 5 * IN, 40 * FT, 2), STORM),
            lambda: roof_checks.gutter("barn", ROOF, Gutter(True, 6 * IN, None, 40 * FT, 2), STORM),
            lambda: roof_checks.gutter("barn", ROOF, Gutter(False, 9 * IN, None, None, 2), STORM),
            lambda: roof_checks.gutter("barn", ROOF, Gutter(True, 6 * IN, 5 * IN, 900 * FT, 2), STORM),
        ],
    ),
    "leader": Case(
        lambda: roof_checks.leader("barn", ROOF, 3 * IN, 2, STORM),
        lambda: roof_checks.leader("barn", ROOF, 3 * IN, 1, STORM),
        [
            lambda: roof_checks.leader("barn", ROOF, None, 2, STORM),
            lambda: roof_checks.leader("barn", ROOF, 3 * IN, 2, Storm()),
        ],
    ),
    "overflow": Case(
        lambda: overflow_checks.overflow(ROOF, [WIDE], STORM),
        lambda: overflow_checks.overflow(ROOF, [STUB], STORM),
        [
            lambda: overflow_checks.overflow(ROOF, [WIDE], Storm()),
            lambda: overflow_checks.overflow(ROOF, [replace(WIDE, inside=None)], STORM),
            lambda: overflow_checks.overflow(ROOF, [replace(WIDE, room=None)], STORM),
            lambda: overflow_checks.overflow(ROOF, [WIDE, replace(WIDE, tank="lower", room=None)], STORM),
        ],
    ),
    "inlets": Case(
        lambda: overflow_checks.inlets(["upper"], 8200.0, 8200.0),
        lambda: overflow_checks.inlets(["upper"], 1300.0, 8200.0),
        [
            lambda: overflow_checks.inlets(["upper"], None, 8200.0),
            lambda: overflow_checks.inlets(["upper"], 8200.0, None),
        ],
    ),
    "levels": Case(
        lambda: tank_checks.levels(["upper", "lower"], "lower", 20_000.0, 100.0, 700.0, 20.0),
        lambda: tank_checks.levels(["upper", "lower"], "lower", 20_000.0, 1250.0, 700.0, 100.0),
        [],
    ),
    "cascade": Case(
        lambda: tank_checks.cascade("upper", "lower", 50.0),
        lambda: tank_checks.cascade("upper", "lower", -50.0),
        [lambda: tank_checks.cascade("upper", "lower", None)],
    ),
    "equalise": Case(
        lambda: link_checks.equalise(["upper", "lower"], [5.27, 4.57], LINK),
        lambda: link_checks.equalise(["upper", "lower"], [12.0, 12.0], THREAD),
        [
            lambda: link_checks.equalise(["upper", "lower"], [5.27, 4.57], replace(LINK, pipe=None)),
            lambda: link_checks.equalise(["upper", "lower"], [5.27, 4.57], replace(LINK, length=None)),
        ],
    ),
    "link_flow": Case(
        lambda: link_checks.link_flow(["upper", "lower"], [5.27, 4.57], [ROOF / 2, ROOF / 2], LINK, STORM),
        lambda: link_checks.link_flow(["upper", "lower"], [5.27, 4.57], [ROOF, 0.0], LINK, STORM),
        [
            lambda: link_checks.link_flow(["upper", "lower"], [5.27, 4.57], [9.0, 9.0], LINK, Storm()),
            lambda: link_checks.link_flow(
                ["upper", "lower"], [5.0, 4.0], [9.0, 9.0], replace(LINK, pipe=None), STORM
            ),
            lambda: link_checks.link_flow(
                ["upper", "lower"], [5.0, 4.0], [9.0, 9.0], replace(LINK, length=None), STORM
            ),
        ],
    ),
    "weight": Case(
        lambda: tank_checks.weight("upper", 11_356.0, STAND),
        lambda: tank_checks.weight("upper", 11_356.0, replace(STAND, area=0.8)),
        without(lambda stand: tank_checks.weight("upper", 11_356.0, stand), STAND, keys="area empty allowed"),
    ),
    "air_gap": Case(
        lambda: tank_checks.air_gap("well", 2 * IN, 4 * IN),
        lambda: tank_checks.air_gap("well", 2 * IN, 3.9 * IN),
        [
            lambda: tank_checks.air_gap("well", None, 4 * IN),
            lambda: tank_checks.air_gap("well", 2 * IN, None),
        ],
    ),
    "line_pressure": Case(
        lambda: supply_checks.pressure(LINE),
        lambda: supply_checks.pressure(replace(LINE, rise=60 * FT)),
        without(supply_checks.pressure, LINE, keys="pipe length flow rise start wanted"),
    ),
    "line_speed": Case(
        lambda: supply_checks.speed(LINE),
        lambda: supply_checks.speed(replace(LINE, pipe=pipe("PE", "3/4 in"))),
        without(supply_checks.speed, LINE, keys="pipe flow"),
    ),
    "suction_lift": Case(
        lambda: suction_checks.lift(PUMP, ALTITUDE),
        lambda: suction_checks.lift(replace(PUMP, above=-18 * FT), ALTITUDE),
        [
            *without(suction_checks.lift, PUMP, ALTITUDE, keys="above flow suction suction_length"),
            lambda: suction_checks.lift(PUMP, None),
            lambda: suction_checks.lift(PUMP, 3000.0),
        ],
    ),
    "npsh": Case(
        lambda: suction_checks.npsh(PUMP, ALTITUDE, 30.0),
        lambda: suction_checks.npsh(replace(PUMP, above=-18 * FT), ALTITUDE, 30.0),
        [
            *without(
                suction_checks.npsh,
                PUMP,
                ALTITUDE,
                30.0,
                keys="above flow suction suction_length npsh_required",
            ),
            lambda: suction_checks.npsh(PUMP, None, 30.0),
        ],
    ),
    "pump_duty": Case(
        lambda: pump_checks.duty(PUMP, 30 * PSI),
        lambda: pump_checks.duty(replace(PUMP, curve=((0.0, 80 * FT), (12 * GPM, 60 * FT))), 30 * PSI),
        [
            *without(pump_checks.duty, PUMP, 30 * PSI, keys="above flow suction suction_length"),
            lambda: pump_checks.duty(PUMP, None),
            lambda: pump_checks.duty(replace(PUMP, curve=()), 30 * PSI),
            lambda: pump_checks.duty(replace(PUMP, curve=((0.0, 180 * FT), (9 * GPM, 150 * FT))), 30 * PSI),
        ],
    ),
    "cut_out": Case(
        lambda: pump_checks.cut_out(PUMP, 50 * PSI),
        lambda: pump_checks.cut_out(PUMP, 80 * PSI),
        [
            *without(pump_checks.cut_out, PUMP, 50 * PSI, keys="above"),
            lambda: pump_checks.cut_out(PUMP, None),
            lambda: pump_checks.cut_out(replace(PUMP, curve=()), 50 * PSI),
            lambda: pump_checks.cut_out(replace(PUMP, curve=((10 * GPM, 100 * FT),)), 50 * PSI),
        ],
    ),
    "precharge": Case(
        lambda: pressure_tank_checks.precharge(TANK),
        lambda: pressure_tank_checks.precharge(replace(TANK, precharge=35 * PSI)),
        without(pressure_tank_checks.precharge, TANK, keys="precharge cut_in"),
    ),
    "run_time": Case(
        lambda: pressure_tank_checks.run_time(PUMP, TANK, ALTITUDE),
        lambda: pressure_tank_checks.run_time(PUMP, replace(TANK, volume=20 * GAL), ALTITUDE),
        [
            lambda: pressure_tank_checks.run_time(replace(PUMP, flow=None), TANK, ALTITUDE),
            *without(
                lambda tank: pressure_tank_checks.run_time(PUMP, tank, ALTITUDE),
                TANK,
                keys="volume precharge cut_in cut_out",
            ),
        ],
    ),
    "starts": Case(
        lambda: pressure_tank_checks.starts(PUMP, TANK, ALTITUDE, 600.0),
        lambda: pressure_tank_checks.starts(PUMP, TANK, ALTITUDE, 20_000.0),
        [
            lambda: pressure_tank_checks.starts(replace(PUMP, power=None), TANK, ALTITUDE, 600.0),
            lambda: pressure_tank_checks.starts(replace(PUMP, power=9.0), TANK, ALTITUDE, 600.0),
            lambda: pressure_tank_checks.starts(PUMP, TANK, ALTITUDE, None),
            lambda: pressure_tank_checks.starts(PUMP, replace(TANK, precharge=60 * PSI), ALTITUDE, 600.0),
            *without(
                lambda tank: pressure_tank_checks.starts(PUMP, tank, ALTITUDE, 600.0),
                TANK,
                keys="volume precharge cut_in cut_out",
            ),
        ],
    ),
    "frost": Case(
        lambda: supply_checks.frost(replace(LINE, buried=60 * IN), COLD, None),
        lambda: supply_checks.frost(replace(LINE, buried=12 * IN), COLD, None),
        [
            lambda: supply_checks.frost(replace(LINE, buried=None), COLD, None),
            lambda: supply_checks.frost(replace(LINE, buried=None), None, None),
            lambda: supply_checks.frost(LINE, None, None),
        ],
    ),
}
NOTES: dict[str, Case] = {
    "energy": Case(
        lambda: pump_checks.energy(PUMP, 200_000.0),
        lambda: pump_checks.energy(PUMP, 0.0),
        [
            *without(pump_checks.energy, PUMP, 200_000.0, keys="flow draws"),
            lambda: pump_checks.energy(PUMP, None),
        ],
    ),
    "movement": Case(
        lambda: supply_checks.movement(LINE, COLD),
        lambda: supply_checks.movement(replace(LINE, buried=0.0), COLD),
        [
            *without(lambda line: supply_checks.movement(line, COLD), LINE, keys="pipe length"),
            lambda: supply_checks.movement(LINE, None),
        ],
    ),
    "cross_connection": Case(lambda: tank_checks.crossing("well"), lambda: tank_checks.crossing("main"), []),
}
