"""Checks on the pressure tank: pre-charge, shortest run of the pump, starts on the busiest day."""

from __future__ import annotations

from holdwater.site import pump
from holdwater.site.cautions import LICENSED
from holdwater.site.pump_set import CUT_IN, FLOW, PressureTank, Pump
from holdwater.site.pump_set import PRECHARGE as CHARGED
from holdwater.site.result import RUN, Check, Topic, Value, judged, unchecked, when_known
from holdwater.site.sizes import PSI

SHORTEST_RUN = 60.0
"""Shortest run of a pump motor [s]: pump maker's manual."""
BELOW_CUT_IN = 2.0 * PSI
"""How far below the cut-in a pressure tank is charged [kPa]: common practice."""

PRECHARGE = Topic(
    "precharge",
    "pre-charge of the pressure tank",
    "common practice: 2 psi (14 kPa) below the cut-in, set with the tank empty of water",
    ("Check it every year, with the pump off and the line drained.",),
)
RUN_TIME = Topic(
    "run_time",
    "pressure tank: shortest run of the pump",
    "Boyle; pump maker's manual: at least one minute a run",
    ("The thinner air of your altitude is counted.", LICENSED),
)
STARTS = Topic(
    "starts",
    "pump starts on the busiest day",
    "pump maker's manual: 300 a day up to 0.75 hp, 100 a day for single-phase motors of 1 to 5.5 hp",
    ("Worst case: every start gives no more than the drawdown of the pressure tank.",),
)


def precharge(tank: PressureTank) -> Check:
    """Is the pre-charge no higher than the cut-in?"""

    def then(air: float, start: float) -> Check:
        lead = "The pressure tank is charged to {air} and the pump starts at {start}: "
        return judged(
            PRECHARGE,
            "",
            have="start",
            need="air",
            says=(
                lead + "there is still water in the tank then. Usual is {usual}.",
                lead + "the tank is empty before the pump starts, and the taps stutter. Usual is {usual}.",
            ),
            inputs={"air": Value("pre-charge", air, "pressure"), "start": Value("cut-in", start, "pressure")},
            computed={"usual": Value("usual pre-charge", max(start - BELOW_CUT_IN, 0.0), "pressure")},
        )

    return when_known(PRECHARGE, "", {CHARGED: tank.precharge, CUT_IN: tank.cut_in}, then)


def run_time(machine: Pump, tank: PressureTank, altitude: float | None) -> Check:
    """Does every run last at least a minute?"""

    def then(volume: float, air: float, start: float, stop: float, flow: float) -> Check:
        given = tank.given(altitude) or 0.0
        lead = (
            "Between stop and start the pressure tank gives {drawdown}, which the pump puts back in {time};"
        )
        lead += " a run of {least} is the least it should have: "
        return judged(
            RUN_TIME,
            "",
            have="time",
            need="least",
            says=(lead + "long enough.", lead + "too short. A larger pressure tank is needed."),
            inputs={
                "volume": Value("pressure tank", volume, "volume"),
                "air": Value("pre-charge", air, "pressure"),
                "start": Value("cut-in", start, "pressure"),
                "stop": Value("cut-out", stop, "pressure"),
                "flow": Value("flow of the pump", flow, "flow"),
                "least": Value("shortest run", SHORTEST_RUN, "time"),
            },
            computed={
                "drawdown": Value("drawdown", given, "volume"),
                "time": Value("shortest run the tank allows", given / flow, "time"),
            },
        )

    return when_known(RUN_TIME, "", {**tank.known, FLOW: machine.flow}, then)


def starts(machine: Pump, tank: PressureTank, altitude: float | None, busiest: float | None) -> Check:
    """Does the motor start seldom enough on the day of most use?

    Parameters
    ----------
    busiest : float or None
        Most water the pump gave on one simulated day [L].
    """

    def then(*numbers: float) -> Check:
        power, volume = numbers[-2:]
        limit, given = pump.starts_limit(power, machine.single_phase), tank.given(altitude)
        if limit is None:
            return unchecked(STARTS, "", ("the starts per day its maker allows a motor of this size",))
        if not given:
            return unchecked(STARTS, "", ("a pressure tank that holds water when the pump starts",))
        lead = "On the busiest day, {busiest}, the pump starts {starts} times at most; its motor is good for"
        lead += " {limit} a day: "
        return judged(
            STARTS,
            "",
            have="limit",
            need="starts",
            says=(lead + "seldom enough.", lead + "too often. A larger pressure tank is needed."),
            inputs={
                "busiest": Value("most water in a day", volume, "volume"),
                "power": Value("power of the motor", power, "power"),
                "limit": Value("starts a day it is good for", limit, "count"),
            },
            computed={
                "drawdown": Value("drawdown", given, "volume"),
                "starts": Value("most starts", pump.worst_starts(volume, given), "count"),
            },
        )

    known = {**tank.known, "the power of the motor (site.pump.power)": machine.power, RUN: busiest}
    return when_known(STARTS, "", known, then)
