"""Checks on the pump's suction: lift, and head enough that the water does not boil in the pump."""

from __future__ import annotations

from holdwater.site import pump
from holdwater.site.cautions import LICENSED
from holdwater.site.pump_set import ABOVE, ALTITUDE, SUCTION, Pump
from holdwater.site.result import Check, Topic, Value, judged, unchecked, when_known
from holdwater.site.sizes import FOOT, ft

NPSH_MARGIN = 3.0 * FOOT
"""Head kept over what the pump requires [mm]: 3 ft, the least of the trade press's rule of thumb."""

LIFT = Topic(
    "suction_lift",
    "suction lift at this altitude",
    "pump maker's installation table, 22 ft at sea level falling to 15 ft at 7,920 ft",
    (
        "A pump above the water must be primed: common practice is a foot valve and a priming tee at its inlet.",
        "One air leak in the suction line stops the water.",
        LICENSED,
    ),
)
NPSH = Topic(
    "npsh",
    "suction head left at the pump (NPSH)",
    "U.S. Standard Atmosphere 1976; vapour pressure of Wagner & Pruss 1993; 3 ft kept over what the pump requires",
    ("What the pump requires is on its maker's sheet, at the flow it runs at.",),
)


def lift(machine: Pump, altitude: float | None) -> Check:
    """Can the pump draw the lowest water up to itself?"""

    def then(above: float, friction: float, high: float) -> Check:
        if ft(high) > pump.LIFT_TABLE_ENDS:
            end = f"the maker's suction lift above {pump.LIFT_TABLE_ENDS:,.0f} ft, where the table ends"
            return unchecked(LIFT, "", (end,))
        flooded = above >= friction
        lead = (
            "The pump must draw the water up {lifted}, friction included; {most} is the most at {altitude}: "
        )
        easy = "The lowest water stands {above} above the pump, more than the {friction} of friction:"
        easy += " it fills by itself."
        return judged(
            LIFT,
            "",
            have="most",
            need="lifted",
            says=(easy if flooded else lead + "it can, once primed.", lead + "too much. Set the pump lower."),
            inputs={
                "above": Value("lowest water above the pump", above, "length"),
                "friction": Value("lost in the suction pipe", friction, "length"),
                "altitude": Value("altitude", high, "altitude"),
            },
            computed={
                "lifted": Value("suction lift with friction", friction - above, "length"),
                "most": Value("most a pump lifts here", pump.practical_lift(high), "length"),
            },
        )

    known = {ABOVE: machine.above, SUCTION: machine.suction_friction, ALTITUDE: altitude}
    return when_known(LIFT, "", known, then)


def npsh(machine: Pump, altitude: float | None, warmest: float) -> Check:
    """Is there head enough at the pump's mouth that the water does not boil there?

    Parameters
    ----------
    altitude : float or None
        Height above sea level [m].
    warmest : float
        Warmest water [degC].
    """

    def then(above: float, friction: float, high: float, required: float) -> Check:
        lead = "At {altitude}, with water of {warmest}, {available} of suction head is left at the pump; its maker"
        lead += " asks for {required}, and {spare} to spare is wise: "
        return judged(
            NPSH,
            "",
            have="available",
            need="wanted",
            says=(
                lead + "enough.",
                lead + "not enough, the water would boil in the pump and wear it out. Set it lower or widen"
                " the suction pipe.",
            ),
            inputs={
                "above": Value("lowest water above the pump", above, "length"),
                "friction": Value("lost in the suction pipe", friction, "length"),
                "altitude": Value("altitude", high, "altitude"),
                "warmest": Value("warmest water", warmest, "temperature"),
                "required": Value("required by the pump", required, "length"),
                "spare": Value("kept to spare", NPSH_MARGIN, "length"),
            },
            computed={
                "available": Value(
                    "available", pump.npsh_available(high, warmest, above, friction), "length"
                ),
                "wanted": Value("wanted", required + NPSH_MARGIN, "length"),
            },
        )

    known = {
        ABOVE: machine.above,
        SUCTION: machine.suction_friction,
        ALTITUDE: altitude,
        "what the pump requires (site.pump.npsh_required)": machine.npsh_required,
    }
    return when_known(NPSH, "", known, then)
