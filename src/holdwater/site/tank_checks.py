"""Checks on the tanks: levels, weight, filling from a well or main."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from holdwater.site import cautions, cross_connection, ground
from holdwater.site.result import Check, Topic, Value, judged, listed, noted, when_known

STRANDED_SHARE = 0.01
"""Share of the capacity above the lowest lip that is let pass: as near as pads can be levelled."""

LEVELS = Topic(
    "levels",
    "levels and stranded water",
    "geometry: linked tanks share one water surface and spill at the lowest lip",
    (
        "A pad that settles changes these numbers: measure the lips with a water level when the tanks are full.",
    ),
)
CASCADE = Topic("cascade", "overflow from tank to tank", "geometry: water runs down")
WEIGHT = Topic(
    "weight",
    "full weight and bearing",
    "8.34 lb per gal; presumptive bearing of IBC 2012 table 1806.2; concrete 2,400 kg/m3 (common practice)",
    (
        cautions.BASE,
        "Organic soil, fill or a slope needs an engineer.",
        "An empty tank can blow away or float.",
        cautions.ENTRY,
    ),
)
AIR_GAP = Topic(
    "air_gap",
    "air gap where other water comes in",
    "local codes, ASME A112.1.2: twice the outlet's diameter, at least 1 in",
    (cautions.AIR_GAP, "Near walls codes ask for more. The local plumbing office decides."),
)
CROSSING = Topic(
    "cross_connection",
    "well or main beside rainwater",
    "local plumbing codes",
    AIR_GAP.cautions,
)


def levels(
    tanks: Sequence[str], lowest: str, capacity: float, top: float, bottom: float, apart: float
) -> Check:
    """How much of the volume paid for can never fill or never be drawn?

    Parameters
    ----------
    tanks : sequence of str
        Tanks that share one surface.
    lowest : str
        The tank whose lip is the lowest.
    capacity, top, bottom : float
        Volume of all to their own lips, volume above the lowest lip, volume below the outlets [L].
    apart : float
        Height of the highest lip above the lowest [mm].
    """
    subject = named(tanks)
    usable = capacity - top
    outlets = "outlet" if len(tanks) == 1 else "outlets"
    below = f" {{bottom}} below the {outlets} cannot be drawn." if bottom > 0.0 else ""
    return judged(
        LEVELS,
        subject,
        have="usable",
        need="wanted",
        says=(
            "Of the {capacity} of {subject}, {usable} can fill." + below,
            "Of the {capacity} of {subject}, {top} can never fill: joined at the bottom they spill at the lip of"
            " '{lowest}', the lowest, and the lips stand {apart} apart. Bring them to one height." + below,
        ),
        inputs={
            "capacity": Value("volume to the lips", capacity, "volume"),
            "apart": Value("highest lip above the lowest", apart, "height"),
        },
        computed={
            "usable": Value("volume that can fill", usable, "volume"),
            "wanted": Value("volume that ought to fill", (1.0 - STRANDED_SHARE) * capacity, "volume"),
            "top": Value("stranded at the top", top, "volume"),
            "bottom": Value("stranded at the bottom", bottom, "volume"),
        },
        words={"lowest": lowest},
    )


def cascade(tank: str, target: str, drop: float | None) -> Check:
    """Can the overflow run from one tank into another?

    Parameters
    ----------
    tank, target : str
        The tank that spills and the tank it spills into.
    drop : float or None
        Height of the lip it spills at above the full surface of the target; None where neither tank's base
        height is given [mm].
    """
    subject = f"tank '{tank}'"

    def then(height: float) -> Check:
        return judged(
            CASCADE,
            subject,
            have="drop",
            need="least",
            says=(
                "{subject} spills {apart} above the full surface of '{target}': the water runs down by itself.",
                "{subject} spills {apart} below the full surface of '{target}': the water cannot run there by itself."
                " Raise '{tank}', or correct the base heights.",
            ),
            inputs={
                "drop": Value("its lip above the full surface of the other", height, "height"),
                "least": Value("least", 0.0, "height"),
            },
            computed={"apart": Value("difference", abs(height), "height")},
            words={"tank": tank, "target": target},
        )

    known = {f"the base heights of both tanks (tank.{tank}.base, tank.{target}.base)": drop}
    return when_known(CASCADE, subject, known, then)


@dataclass(frozen=True)
class Stand:
    """What a tank stands on.

    Attributes
    ----------
    area : float or None
        Ground under the tank or its pad [m2].
    slab : float
        Thickness of a concrete pad [mm].
    empty : float or None
        Mass of the empty tank [kg].
    soil : str
        Name of the soil for the sentence.
    allowed : float or None
        Pressure the soil may carry [kPa].
    """

    area: float | None = None
    slab: float = 0.0
    empty: float | None = None
    soil: str = "the soil"
    allowed: float | None = None


def weight(tank: str, volume: float, stand: Stand) -> Check:
    """Does the ground carry the full tank?

    Parameters
    ----------
    volume : float
        Water in the full tank [L].
    """
    subject = f"tank '{tank}'"

    def then(on: float, empty: float, allowed: float) -> Check:
        mass = ground.water_mass(volume) + empty
        return judged(
            WEIGHT,
            subject,
            have="allowed",
            need="pressure",
            says=(
                "Full, {subject} weighs {mass} and presses on the ground with {pressure}; {soil} may carry"
                " {allowed}: enough.",
                "Full, {subject} weighs {mass} and presses on the ground with {pressure}; {soil} may carry"
                " {allowed}: too much. A wider pad spreads it.",
            ),
            inputs={
                "volume": Value("water in the full tank", volume, "volume"),
                "empty": Value("empty tank", empty, "mass"),
                "area": Value("ground under it", on, "area"),
                **({"slab": Value("concrete pad", stand.slab, "size")} if stand.slab else {}),
                "allowed": Value("pressure the soil may carry", allowed, "bearing"),
            },
            computed={
                "mass": Value("full weight", mass, "mass"),
                "pressure": Value("pressure on the soil", ground.bearing(mass, on, stand.slab), "bearing"),
            },
            words={"soil": stand.soil},
        )

    known = {
        "the tank's diameter or its pad's area (site.stand.pad_area)": stand.area,
        "the weight of the empty tank (site.stand.empty_weight)": stand.empty,
        "the soil (site.soil) or the pressure it may carry (site.allowed_bearing)": stand.allowed,
    }
    return when_known(WEIGHT, subject, known, then)


def air_gap(backup: str, outlet: float | None, gap: float | None) -> Check:
    """Is the filling outlet of a well, main or hauler high enough above the water?

    Parameters
    ----------
    outlet : float or None
        Inside diameter of the filling outlet [mm].
    gap : float or None
        Open height above the highest water it can meet [mm].
    """
    subject = f"backup '{backup}'"

    def then(bore: float, height: float) -> Check:
        return judged(
            AIR_GAP,
            subject,
            have="gap",
            need="least",
            says=(
                "The filling outlet of {subject}, {outlet} wide, ends {gap} above the highest water; the rule asks"
                " for {least}: enough.",
                "The filling outlet of {subject}, {outlet} wide, ends {gap} above the highest water; the rule asks"
                " for {least}: too low, tank water could be sucked back into the supply.",
            ),
            inputs={
                "outlet": Value("inside diameter of the outlet", bore, "size"),
                "gap": Value("open height", height, "height"),
            },
            computed={"least": Value("least open height", cross_connection.air_gap(bore), "height")},
        )

    known = {
        "the width of its filling outlet (site.filling.outlet)": outlet,
        "the open height below it (site.filling.air_gap)": gap,
    }
    return when_known(AIR_GAP, subject, known, then)


def crossing(backup: str) -> Check:
    """What to keep in mind where a backup serves the same taps as the tanks."""
    says = "{subject} serves the same taps as the tanks: their pipes may meet only where the local authority"
    says += " accepts the assembly, best through an air gap into a tank."
    return noted(CROSSING, f"backup '{backup}'", says)


def named(tanks: Sequence[str]) -> str:
    """Tanks by name for a sentence."""
    return ("tank " if len(tanks) == 1 else "tanks ") + listed([f"'{name}'" for name in tanks])
