"""Checks on the pump: against its work, against its cut-out pressure, hours and energy in a year."""

from __future__ import annotations

from holdwater.site import pump, pump_set, water
from holdwater.site.cautions import LICENSED
from holdwater.site.pump_set import ABOVE, CUT_IN, FLOW, SUCTION, Pump
from holdwater.site.result import RUN, Check, Topic, Value, Verdict, judged, noted, unchecked, when_known

DUTY = Topic(
    "pump_duty",
    "pump against its work",
    "the pump's own curve or rated point; friction as for the supply line",
    ("A curve is that of a new pump at full voltage.", LICENSED),
)
CUT_OUT = Topic(
    "cut_out",
    "pump against its cut-out pressure",
    "the pump's own curve: head at no flow",
    ("A pump that never reaches the cut-out runs until it burns.", LICENSED),
)
ENERGY = Topic(
    "energy",
    "pump hours and energy in a year",
    "water delivered in the simulated years over the pump's flow; power drawn from its plate",
)


def duty(machine: Pump, cut_in: float | None) -> Check:
    """Does the pump give its flow against lift, friction and the cut-in pressure?"""

    def then(above: float, friction: float, flow: float, start: float, gives: float) -> Check:
        needed = friction - above + water.head(start)
        lead = (
            "At {flow} the pump gives {gives} of head; lifting the lowest water, friction in the suction pipe"
        )
        lead += " and the cut-in of {start} ask for {needed}: "
        return judged(
            DUTY,
            "",
            have="gives",
            need="needed",
            says=(lead + "enough.", lead + "not enough."),
            inputs={
                "flow": Value("flow", flow, "flow"),
                "above": Value("lowest water above the pump", above, "length"),
                "friction": Value("lost in the suction pipe", friction, "length"),
                "start": Value("cut-in pressure", start, "pressure"),
                "gives": Value("head of the pump at that flow", gives, "length"),
            },
            computed={
                "needed": Value("head asked of it", needed, "length"),
                "power": Value("power into the water", pump.water_power(flow, max(needed, 0.0)), "power"),
            },
        )

    at_flow = pump.curve_head(machine.curve, machine.flow) if machine.flow is not None else None
    known = {
        ABOVE: machine.above,
        SUCTION: machine.suction_friction,
        FLOW: machine.flow,
        CUT_IN: cut_in,
        "points of the pump's curve that reach its flow (site.pump.curve)": at_flow,
    }
    return when_known(DUTY, "", known, then)


def cut_out(machine: Pump, stop: float | None) -> Check:
    """Can the pump reach the pressure at which the switch stops it?"""

    def then(above: float, pressure: float, gives: float) -> Check:
        lead = "With the taps shut the pump gives {gives} of head; to reach the cut-out of {stop} it needs {needed}: "
        return judged(
            CUT_OUT,
            "",
            have="gives",
            need="needed",
            says=(lead + "it stops.", lead + "it will never stop. Lower the cut-out."),
            inputs={
                "above": Value("lowest water above the pump", above, "length"),
                "stop": Value("cut-out pressure", pressure, "pressure"),
                "gives": Value("head at the least flow of its curve", gives, "length"),
            },
            computed={"needed": Value("head asked of it", water.head(pressure) - above, "length")},
        )

    least = min(machine.curve, default=None)
    known = {
        ABOVE: machine.above,
        pump_set.CUT_OUT: stop,
        "points of the pump's curve (site.pump.curve)": least[1] if least else None,
    }
    check = when_known(CUT_OUT, "", known, then)
    if check.verdict is Verdict.FAILS and least and least[0] > 0.0:
        return unchecked(CUT_OUT, "", ("the pump's head at no flow (site.pump.curve, a point with flow 0)",))
    return check


def energy(machine: Pump, yearly: float | None) -> Check:
    """How long does the pump run in a year, and on how much current?

    Parameters
    ----------
    yearly : float or None
        Water it gave in the mean simulated year [L].
    """

    def then(flow: float, draws: float, volume: float) -> Check:
        hours = pump.pump_hours(volume, flow)
        return noted(
            ENERGY,
            "",
            "In a mean year the pump moves {volume}, runs {hours} and uses {energy}.",
            {
                "volume": Value("water in a mean year", volume, "volume"),
                "flow": Value("flow of the pump", flow, "flow"),
                "draws": Value("electric power", draws, "electric"),
            },
            {
                "hours": Value("hours", hours, "hours"),
                "energy": Value("energy", hours * draws, "energy"),
            },
        )

    known = {
        FLOW: machine.flow,
        "the electric power it takes (site.pump.draws)": machine.draws,
        RUN: yearly,
    }
    return when_known(ENERGY, "", known, then)
