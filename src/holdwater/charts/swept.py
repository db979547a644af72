"""What to say of a sweep: what the best of its designs would have done, and what is worse with it."""

from __future__ import annotations

from holdwater import words
from holdwater.charts.study import years_of
from holdwater.studies.drawbacks import drawbacks, listed
from holdwater.studies.sweep import Sweep, design
from holdwater.units import System


def finding(found: Sweep, system: System) -> str:
    """Say how many dry days there are now, which design has the fewest, and what is worse with that one.

    One that is better in dry days alone is told with what it costs the beds, the draws held back by their own
    rules and the days unserved, and with the best that makes nothing worse.
    """
    name, length = words.holding(found.base.scenario.title), years_of(found.site.record)
    now, best = found.present.days(0), found.best(1)[0]
    fewest = found.outcome.days(best).dry
    began = f"{name} had {words.count(now.dry, 'dry day')} in {length}"
    but = _but(found, best, system)
    if len(found.axes) == 1:
        left = "none" if fewest == 0 else f"{fewest:,}"
        if fewest < now.dry:
            return f"{began}; with {at(found, best, system)} it would have had {left}{but}."
        tried = f"{found.grid.size:,} values of {found.axes[0].label}"
        return f"{began}; none of the {tried} tried leaves fewer."
    none = found.outcome.dry_days == 0
    if none.any():
        few = f"{int(none.sum()):,} of {found.grid.size:,} combinations have none"
        free = int((none & found.nothing_worse).sum())
        if 0 < free < none.sum():
            few += f", {free:,} of them with nothing else worse"
        return f"{began}; {few}; of those {at(found, best, system)} is nearest to the present{but}."
    return f"{began}; the best of {found.grid.size:,} combinations has {fewest:,}: {at(found, best, system)}{but}."


def at(found: Sweep, i: int, system: System) -> str:
    """Values of a design: "barn roof area 2,000 ft2, house people 3"."""
    places = design(found, i)
    return ", ".join(
        f"{each.label} {each.say(k, system)}" for each, k in zip(found.axes, places, strict=True)
    )


def _but(found: Sweep, best: int, system: System) -> str:
    """What is worse with the best design, and the fewest dry days to be had with nothing worse."""
    now = found.present.days(0)
    worse = drawbacks(now, found.outcome.days(best))
    if not worse:
        return ""
    free = found.best(1, found.nothing_worse & (found.outcome.dry_days < now.dry))
    instead = ""
    if free:
        days = words.count(found.outcome.days(free[0]).dry, "dry day")
        instead = f"; with {at(found, free[0], system)}, {days} and nothing worse"
    return f", but {listed(worse)}{instead}"
