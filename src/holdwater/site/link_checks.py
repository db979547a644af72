"""Checks on the bottom link: time to stand level, and flow against what a storm brings to one tank."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from holdwater.site import storm, water
from holdwater.site.cautions import STORM
from holdwater.site.pipes import Pipe, flow_under_head, whole_length
from holdwater.site.result import Check, Topic, Value, judged, when_known
from holdwater.site.roof_checks import BURST_WORDS, Storm, against_storm
from holdwater.site.sizes import FOOT, INCH
from holdwater.site.tank_checks import named
from holdwater.site.tanks_link import equalise_time

QUARTER_INCH = INCH / 4.0
DAY = 86400.0
"""Seconds."""

EQUALISE = Topic(
    "equalise",
    "bottom link: time to stand level",
    "Darcy-Weisbach, integrated as the levels close; the daily account takes linked tanks as level every day",
    (
        "Common practice: a flexible piece between linked tanks against ground movement, and a valve at each tank.",
    ),
)
LINK_FLOW = Topic(
    "link_flow",
    "bottom link against the inflow",
    "Darcy-Weisbach at 1 ft of difference in level",
    ("When the link is too slow one tank spills while the other still has room.", STORM),
)


@dataclass(frozen=True)
class LinkRun:
    """The pipe between linked tanks.

    Attributes
    ----------
    pipe : Pipe or None
        Kind and size.
    length : float or None
        Length [mm].
    fittings : dict of str to int
        Counted by name.
    ends : float
        Loss of entrance and exit, in speed heads; 1.8 for pipe that stands out into the tanks.
    """

    pipe: Pipe | None = None
    length: float | None = None
    fittings: dict[str, int] | None = None
    ends: float = 1.8

    @property
    def known(self) -> dict[str, float | None]:
        """What the checks need of it, under the words for it."""
        return {
            "the size and pipe of the link (site.link)": self.pipe.inside if self.pipe else None,
            "its length (site.link.length)": self.length,
        }

    @property
    def words(self) -> dict[str, str]:
        """The link in a sentence: "2 in link"."""
        return {"link": f"{self.pipe.size} link" if self.pipe and self.pipe.size else "link"}


def equalise(tanks: Sequence[str], surfaces: Sequence[float], run: LinkRun) -> Check:
    """Do linked tanks stand level again within the day, after 1 ft of difference?

    Parameters
    ----------
    surfaces : sequence of float
        Water surface of each tank [m2].
    """
    subject, whole, pipe = named(tanks), math.fsum(surfaces), run.pipe

    def then(inside: float, straight: float) -> Check:
        assert pipe is not None
        length = whole_length(straight, run.fittings or {}, pipe)
        time = max(
            equalise_time(
                (own, whole - own),
                pipe,
                length,
                run.ends,
                start=FOOT,
                end=QUARTER_INCH,
                temperature=water.COLD,
            )
            for own in surfaces
        )
        lead = (
            "The {link} of {subject} brings {start} of difference down to {end} in {time}; the account takes"
        )
        lead += " them as level every day: "
        return judged(
            EQUALISE,
            subject,
            have="day",
            need="time",
            says=(lead + "fast enough.", lead + "too slow. A wider link is needed."),
            inputs={
                "inside": Value("inside diameter of the link", inside, "size"),
                "length": Value("length with fittings", length, "length"),
                "start": Value("difference at the start", FOOT, "height"),
                "end": Value("difference at the end", QUARTER_INCH, "height"),
                "day": Value("time allowed", DAY, "time"),
            },
            computed={"time": Value("time to stand level", time, "time")},
            words=run.words,
        )

    return when_known(EQUALISE, subject, run.known, then)


def link_flow(
    tanks: Sequence[str], surfaces: Sequence[float], catchments: Sequence[float], run: LinkRun, rain: Storm
) -> Check:
    """Does the link pass on what the storm brings to one tank more than to the other?

    Parameters
    ----------
    surfaces : sequence of float
        Water surface of each tank [m2].
    catchments : sequence of float
        Plan area of the roofs that feed each tank [m2].
    """
    subject, pipe = named(tanks), run.pipe
    whole, roofs = math.fsum(surfaces), math.fsum(catchments)
    uneven = max(abs(c - roofs * s / whole) for c, s in zip(catchments, surfaces, strict=True))

    def then(intensity: float, inside: float, straight: float) -> Check:
        assert pipe is not None
        length = whole_length(straight, run.fittings or {}, pipe)
        passes = flow_under_head(FOOT, pipe, length, run.ends, water.COLD)
        lead = "With {head} of difference the {link} of {subject} passes about {capacity}; in a storm of {intensity}"
        lead += " {inflow} must cross it: "
        return judged(
            LINK_FLOW,
            subject,
            have="capacity",
            need="inflow",
            says=(lead + "enough.", lead + "not enough, one tank can spill before the other is full."),
            inputs={
                "intensity": Value("rain intensity", intensity, "intensity"),
                "inside": Value("inside diameter of the link", inside, "size"),
                "length": Value("length with fittings", length, "length"),
                "head": Value("difference in level", FOOT, "height"),
                "uneven": Value("roof whose water must cross", uneven, "area"),
            },
            computed={
                "capacity": Value("what the link passes", passes, "flow"),
                "inflow": Value("what must cross", storm.roof_peak(uneven, intensity), "flow"),
            },
            words=run.words,
        )

    def with_rain(intensity: float | None) -> Check:
        return when_known(LINK_FLOW, subject, {BURST_WORDS: intensity, **run.known}, then)

    return against_storm(LINK_FLOW, subject, rain, with_rain)
