"""Water that is paid for and never used, in words: what stands above the lowest lip, what lies below an outlet."""

from __future__ import annotations

import math

from holdwater import words
from holdwater.scenario.schema import Scenario
from holdwater.site.layout import layout
from holdwater.site.result import Check
from holdwater.site.tank_checks import levels, named
from holdwater.units import System, show

TOLD_FROM = 0.02
"""Share of the capacity from which on it is told in words; and above the lowest lip it is a warning."""
DEEP_OUTLET = 0.1
"""Share of the capacity below the outlets from which on that is a warning too: a few inches are meant."""


def level_checks(scenario: Scenario) -> list[tuple[list[str], Check]]:
    """The site check of levels for every group of tanks that share one surface, with their names."""
    plan = layout(scenario)
    found = []
    for members, joined in zip(plan.groups, plan.joined, strict=True):
        names = [plan.vessels[t].name for t in members]
        check = levels(
            names,
            plan.vessels[joined.spills_from].name,
            math.fsum(plan.vessels[t].capacity for t in members),
            math.fsum(joined.stranded_top.values()),
            math.fsum(joined.stranded_bottom.values()),
            max(plan.lip(t) for t in members) - plan.lip(joined.spills_from),
        )
        found.append((names, check))
    return found


def in_words(scenario: Scenario, system: System) -> list[str]:
    """What is stranded and why, a text for every group of tanks with more than a little of it."""
    return [
        check.sentence(system)
        for _, check in level_checks(scenario)
        if _share(check, "top") + _share(check, "bottom") > TOLD_FROM
    ]


def warnings(scenario: Scenario, system: System) -> list[str]:
    """What of the tanks is lost by lips at different heights, or by outlets far above the floor."""
    found = []
    for names, check in level_checks(scenario):
        top, bottom = _share(check, "top"), _share(check, "bottom")
        if top > TOLD_FROM:
            apart = show(check.inputs["apart"].number, "height", system, 2)
            found.append(
                f"{words.share(top, 1.0)} of {named(names)} can never fill, because the lips of the linked tanks stand"
                f" {apart} apart; bring them to one height"
            )
        if bottom > DEEP_OUTLET:
            outlets = "outlets stand" if names[1:] else "outlet stands"
            found.append(
                f"{words.share(bottom, 1.0)} of {named(names)} can never be drawn, because the {outlets} high above"
                " the floor"
            )
    return found


def _share(check: Check, end: str) -> float:
    return check.computed[end].number / check.inputs["capacity"].number
