"""Checks on the way from the roof to the tank: first flush, gutter, leader."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass, replace

from holdwater.site import storm
from holdwater.site.cautions import MOSQUITOES, ROOFS, STORM
from holdwater.site.result import Check, Topic, Value, Verdict, judged, unchecked, when_known
from holdwater.site.sizes import INCH

BURST_WORDS = "the rain intensity of the design storm over 5 minutes (site.storm.in_5_minutes)"

FIRST_FLUSH = Topic(
    "first_flush",
    "first flush",
    "Texas Water Development Board manual 2005, ch. 2, as quoted: 10 to 20 gal per 1,000 ft2;"
    " dirt halves per mm flushed, Martinson & Thomas 2005",
    (
        "Roofs differ in dirt. Clean the chamber and keep its drain open; flushed water is not for drinking.",
        MOSQUITOES,
        ROOFS,
    ),
)
GUTTER = Topic(
    "gutter",
    "gutter against the design storm",
    "EN 12056-3, level gutter with a free outlet (from memory; agrees with Approved Document H3 table 2);"
    " other sections after Beij 1934",
    (
        "For level, clean gutters. A steep roof, wind, a valley or a corner near the outlet brings water faster"
        " than the gutter can take it. For a K-style gutter give its mean width as a box.",
        STORM,
    ),
)
LEADER = Topic(
    "leader",
    "leader (downspout) against the design storm",
    "Wyly-Eaton as in EN 12056-3, 7/24 full; beside it the plumbing code's IPC 2018 table 1106.2",
    (
        "The formula is the stricter of the two; the code's table is what the plumbing office reads. For a"
        " rectangular leader give its shorter side.",
        STORM,
    ),
)


@dataclass(frozen=True)
class Storm:
    """Design storm of the place, from its owner.

    Attributes
    ----------
    burst, hour : float or None
        Mean intensity over 5 and over 60 minutes [mm/h].
    source : str
        Where they come from.
    """

    burst: float | None = None
    hour: float | None = None
    source: str = ""


def against_storm(topic: Topic, subject: str, rain: Storm, check: Callable[[float | None], Check]) -> Check:
    """Judge by the 5-minute burst; with the hour alone only a failure is certain.

    Parameters
    ----------
    check : callable
        Takes an intensity [mm/h], or None where there is none.
    """
    if rain.burst is not None or rain.hour is None:
        return _named(check(rain.burst), "5-minute", rain.source)
    done = _named(check(rain.hour), "60-minute", rain.source)
    if done.verdict is Verdict.FAILS:
        return replace(
            done, says=done.says + " That is already so for the 60-minute rain; bursts bring more."
        )
    return unchecked(topic, subject, (BURST_WORDS, *done.needs))


def _named(done: Check, which: str, source: str) -> Check:
    """The check with its intensity called by its duration and its source."""
    if "intensity" not in done.inputs:
        return done
    label = f"{which} rain of the design storm ({source or 'source not given'})"
    return replace(done, inputs={**done.inputs, "intensity": replace(done.inputs["intensity"], label=label)})


def first_flush(roof: str, volume: float | None, area: float) -> Check:
    """Is the first flush as large as the published rules ask?

    Parameters
    ----------
    volume : float or None
        Volume of the chamber; none or 0 is not checked [L].
    area : float
        Plan area [m2].
    """
    subject = f"roof '{roof}'"

    def then(held: float, area: float) -> Check:
        least = storm.TEN_GALLONS_PER_THOUSAND_FT2 * area
        return judged(
            FIRST_FLUSH,
            subject,
            have="volume",
            need="least",
            says=(
                "The first flush of {subject} holds {volume}, the first {depth} of rain on {area}; published"
                " rules ask for {least} to {twice}: enough.",
                "The first flush of {subject} holds {volume}, the first {depth} of rain on {area}; published"
                " rules ask for {least} to {twice}: too small, {left} of the dirt still follows.",
            ),
            inputs={
                "volume": Value("volume of the chamber", held, "volume"),
                "area": Value("plan area", area, "area"),
            },
            computed={
                "depth": Value("depth flushed", held / area, "rain"),
                "least": Value("least by the published rules", least, "volume"),
                "twice": Value("most by the published rules", 2.0 * least, "volume"),
                "left": Value("dirt that still follows", storm.contamination_left(held / area), "share"),
                "standpipe": Value(
                    "upright 4 in pipe that holds it", storm.standpipe(held, 4.0 * INCH), "length"
                ),
            },
        )

    known = {
        f"the volume or depth of its first flush (roof.{roof}.first_flush)": volume or None,
        f"a roof with an area (roof.{roof}.area)": area or None,
    }
    return when_known(FIRST_FLUSH, subject, known, then)


@dataclass(frozen=True)
class Gutter:
    """A gutter as its owner gives it.

    Attributes
    ----------
    box : bool
        Rectangular section; otherwise half-round.
    width, depth, length : float or None
        Width across the top, depth of a box, whole length along the eave [mm].
    runs : int
        Runs of gutter that end at an outlet; an outlet between two ends drains two runs.
    """

    box: bool = False
    width: float | None = None
    depth: float | None = None
    length: float | None = None
    runs: int = 1


def gutter(roof: str, area: float, trough: Gutter, rain: Storm) -> Check:
    """Does the gutter carry the design storm to its outlets?

    Parameters
    ----------
    area : float
        Plan area that drains into this gutter [m2].
    """
    subject = f"roof '{roof}'"

    def with_rain(intensity: float | None) -> Check:
        known = {
            BURST_WORDS: intensity,
            "the width of the gutter (site.gutter.width)": trough.width,
            "the length of the gutter (site.gutter.length)": trough.length,
        }
        if trough.box:
            known["the depth of the gutter (site.gutter.depth)"] = trough.depth
        return when_known(GUTTER, subject, known, then)

    def then(intensity: float, width: float, length: float, depth: float | None = None) -> Check:
        return _gutter(subject, area, intensity, (width, depth, length / trough.runs), trough.runs)

    return against_storm(GUTTER, subject, rain, with_rain)


def _gutter(
    subject: str, area: float, intensity: float, shape: tuple[float, float | None, float], runs: int
) -> Check:
    """The gutter check with every number known."""
    width, depth, length = shape
    level = storm.box_gutter(width, depth) if depth else storm.half_round_gutter(width)
    deep = depth or width / 2.0
    if length > storm.LONGEST_RUN * deep:
        end = f"an outlet nearer than {storm.LONGEST_RUN:.0f} gutter depths (the table ends there)"
        return unchecked(GUTTER, subject, (end,))
    keeps = storm.long_gutter_factor(length, deep)
    inflow = storm.roof_peak(area, intensity) / runs
    wide = storm.half_round_width(inflow / keeps)
    return judged(
        GUTTER,
        subject,
        have="capacity",
        need="inflow",
        says=(
            "Each run of gutter on {subject} carries about {capacity}; the roof gives it {inflow} in a storm of"
            " {intensity}: enough.",
            "Each run of gutter on {subject} carries about {capacity}; the roof gives it {inflow} in a storm of"
            " {intensity}: not enough, it will spill over the edge. A half-round gutter {wide} across would"
            " carry it; so would more outlets.",
        ),
        inputs={
            "area": Value("plan area on this gutter", area, "area"),
            "intensity": Value("rain intensity", intensity, "intensity"),
            "width": Value("width of the gutter", width, "size"),
            "depth": Value("depth of the gutter", deep, "size"),
            "length": Value("length of a run", length, "length"),
            "runs": Value("runs", runs, "count"),
        },
        computed={
            "capacity": Value("what a run carries", level * keeps, "flow"),
            "inflow": Value("what the storm brings to a run", inflow, "flow"),
            "keeps": Value("share kept for the length of the run", keeps, "share"),
            "wide": Value("half-round width that would carry it", wide, "size"),
        },
    )


def leader(roof: str, area: float, inside: float | None, count: int, rain: Storm) -> Check:
    """Do the leaders carry the design storm?

    Parameters
    ----------
    area : float
        Plan area that drains into these leaders [m2].
    inside : float or None
        Inside diameter of each [mm].
    count : int
        How many share the roof equally.
    """
    subject = f"roof '{roof}'"

    def then(intensity: float, bore: float) -> Check:
        one, inflow = storm.leader_flow(bore), storm.roof_peak(area, intensity)
        code = storm.code_leader(bore)
        allowed = (
            {"code": Value("what the plumbing code's table allows", count * code[0], "flow")} if code else {}
        )
        lead = "The leader of {subject} carries" if count == 1 else "The {count} leaders of {subject} carry"
        lead += " about {capacity} down; the roof gives {inflow} in a storm of {intensity}: "
        return judged(
            LEADER,
            subject,
            have="capacity",
            need="inflow",
            says=(
                lead + "enough.",
                lead + "not enough. It would take {wanted} of this size.",
            ),
            inputs={
                "area": Value("plan area on these leaders", area, "area"),
                "intensity": Value("rain intensity", intensity, "intensity"),
                "inside": Value("inside diameter", bore, "size"),
                "count": Value("leaders", count, "count"),
            },
            computed={
                "capacity": Value("what they carry", count * one, "flow"),
                "inflow": Value("what the storm brings", inflow, "flow"),
                "wanted": Value("leaders of this size that would carry it", math.ceil(inflow / one), "count"),
                **allowed,
            },
        )

    def with_rain(intensity: float | None) -> Check:
        known = {BURST_WORDS: intensity, "the size of the leaders (site.leader.size and pipe)": inside}
        return when_known(LEADER, subject, known, then)

    return against_storm(LEADER, subject, rain, with_rain)
