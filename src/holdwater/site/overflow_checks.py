"""Checks on the overflow: against the design storm, and against the pipes that fill the tank."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from holdwater.site import spill, storm
from holdwater.site.cautions import MOSQUITOES, STORM
from holdwater.site.pipes import Pipe, area, sizes
from holdwater.site.result import Check, Topic, Value, judged, when_known
from holdwater.site.roof_checks import BURST_WORDS, Storm, against_storm
from holdwater.site.tank_checks import named

OVERFLOW = Topic(
    "overflow",
    "overflow against the design storm",
    "FHWA Hydraulic Design Series 5 (2012), inlet control, thin-wall projecting pipe",
    (
        "The mouth of the pipe in the tank wall is what throttles it, so a plumbing code's pipe table does not"
        " apply.",
        "Holds if the pipe falls away freely outside; a screen, a long level run or a buried outlet takes more.",
        "Lead the water away from pads and footings.",
        MOSQUITOES,
        STORM,
    ),
)
INLETS = Topic(
    "inlets",
    "overflow as large as its inlets",
    "common practice: the bore of the overflow is at least that of the pipes that fill the tank",
)


USUAL_PIPE = "PVC schedule 40"


@dataclass(frozen=True)
class Stub:
    """The overflow pipes of one tank.

    Attributes
    ----------
    tank : str
        The tank they leave.
    inside : float or None
        Inside diameter [mm].
    room : float or None
        Water allowed above the bottom of the pipe before the tank spills elsewhere [mm].
    size : str
        Nominal size for the sentence.
    count : int
        How many alike.
    kind : str
        Kind of pipe, as in the table; advice keeps to it.
    """

    tank: str
    inside: float | None = None
    room: float | None = None
    size: str = ""
    count: int = 1
    kind: str = ""


def overflow(catchment: float, stubs: Sequence[Stub], rain: Storm) -> Check:
    """Do the overflow pipes of a tank, or of linked tanks together, carry the design storm?

    Parameters
    ----------
    catchment : float
        Plan area of all roofs whose water comes here [m2].
    """
    subject = named([stub.tank for stub in stubs])

    def with_rain(intensity: float | None) -> Check:
        known: dict[str, float | None] = {BURST_WORDS: intensity}
        for stub in stubs:
            known[f"the overflow's size and pipe at tank '{stub.tank}' (site.overflow)"] = stub.inside
            known[f"the room above the overflow of tank '{stub.tank}' (site.overflow.water_above)"] = (
                stub.room
            )
        return when_known(OVERFLOW, subject, known, lambda i, *_: _overflow(subject, catchment, stubs, i))

    return against_storm(OVERFLOW, subject, rain, with_rain)


def _overflow(subject: str, catchment: float, stubs: Sequence[Stub], intensity: float) -> Check:
    """The overflow check with every number known."""
    inflow = storm.roof_peak(catchment, intensity)
    capacity = math.fsum(s.count * spill.overflow_flow(s.room or 0.0, s.inside or 0.0) for s in stubs)
    first, rooms = stubs[0], [s.room or 0.0 for s in stubs]
    several = sum(s.count for s in stubs) > 1
    larger = _larger(stubs, inflow, max(rooms))
    sized = "The {size} overflow" if first.size else "The overflow"
    lead = "The overflows of {subject} together pass" if several else f"{sized} of {{subject}} passes"
    high = "{room}" if max(rooms) - min(rooms) < 1.0 else "{room} to {most}"
    lead += f" about {{capacity}} with {high} of water above {'their' if several else 'its'} bottom; the roofs give"
    lead += " {inflow} in a storm of {intensity}: "
    alone = " alone" if several else ""
    tried = [
        f"a {pipe.size} {'one' if i else f'overflow{alone} would need'} {{head_{i}}}{'' if i else ' of water'}"
        for i, (pipe, _) in enumerate(larger)
    ]
    mend = f" A{', '.join(tried)[1:]}." if tried else ""
    if max(rooms) <= 0.0:
        mend = " A tank of the group spills lower, before this pipe can carry: bring the lips to one height."
    return judged(
        OVERFLOW,
        subject,
        have="capacity",
        need="inflow",
        says=(
            lead + "enough.",
            lead + "not enough." + mend,
        ),
        inputs={
            "area": Value("plan area of the roofs", catchment, "area"),
            "intensity": Value("rain intensity", intensity, "intensity"),
            "inside": Value(
                f"inside diameter of the overflow of '{first.tank}'", first.inside or 0.0, "size"
            ),
            "count": Value("overflow pipes", sum(s.count for s in stubs), "count"),
            "room": Value("least water allowed above a bottom", min(rooms), "height"),
            "most": Value("most water allowed above a bottom", max(rooms), "height"),
        },
        computed={
            "capacity": Value("what the overflow passes", capacity, "flow"),
            "inflow": Value("what the storm brings", inflow, "flow"),
            **{
                f"head_{i}": Value(f"water a {p.size} overflow needs", h, "height")
                for i, (p, h) in enumerate(larger)
            },
        },
        words={"size": first.size},
    )


def _larger(stubs: Sequence[Stub], flow: float, room: float) -> list[tuple[Pipe, float]]:
    """The last two pipes tried, each alone, the last of them the first that fits where one does."""
    widest, tried = max(s.inside or 0.0 for s in stubs), []
    for kind in (stubs[0].kind, USUAL_PIPE):
        tried = spill.larger_overflows(flow, room, widest, sizes(kind))
        if tried and tried[-1][1] <= room:
            break
    return tried[-2:]


def inlets(tanks: Sequence[str], outlet_bore: float | None, inlet_bore: float | None) -> Check:
    """Is the bore of the overflow at least that of the pipes that fill the tank?

    Parameters
    ----------
    outlet_bore, inlet_bore : float or None
        Area of all overflow pipes and of all leaders [mm2].
    """
    subject = named(tanks)

    lead = "The overflow of {subject} has a bore of {out} in all, the leaders that fill it {into}: "

    def then(out: float, into: float) -> Check:
        return judged(
            INLETS,
            subject,
            have="out",
            need="into",
            says=(
                lead + "enough.",
                lead + "too narrow.",
            ),
            inputs={
                "out": Value("bore of the overflow", out, "bore"),
                "into": Value("bore of the inlets", into, "bore"),
            },
            computed={},
        )

    known = {
        "the size and pipe of the overflow (site.overflow)": outlet_bore,
        "the size and pipe of the leaders (site.leader)": inlet_bore,
    }
    return when_known(INLETS, subject, known, then)


def bore(stubs: Sequence[Stub]) -> float | None:
    """Area of all overflow pipes, None where one is unknown [mm2]."""
    areas = [s.count * area(s.inside) * 1e6 if s.inside else None for s in stubs]
    return None if not areas or None in areas else math.fsum(a for a in areas if a is not None)
