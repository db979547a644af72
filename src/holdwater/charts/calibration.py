"""A log of measured levels against the simulation, as written and as fitted."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from matplotlib.artist import Artist
from matplotlib.axes import Axes
from matplotlib.figure import Figure
from matplotlib.lines import Line2D

from holdwater import units, words
from holdwater.charts import look
from holdwater.charts.reading import Numbers, amounts, day_of, numbers, time_axis
from holdwater.charts.sheet import LEFT, RIGHT, RULES, WIDTH, page
from holdwater.scenario import tables
from holdwater.studies.calibrate import Calibration
from holdwater.studies.fitted import Fitted
from holdwater.studies.level_numbers import mean_flush

READ = look.Role("read off the gauge", look.INK)
WRITTEN = look.Role("the scenario as written", "#d08a2d", line="--")
FOUND = look.Role("with the numbers found", "#14476e")
MISFIT = look.Role("reading less simulation", "#8a99a6")
LEVELS, MISFITS, GAP = 3.0, 1.1, 0.42
"""Heights of the two parts and the room between them [in]."""


def calibration_chart(found: Calibration, system: units.System) -> Figure:
    """Draw the readings over both simulations, and below what each reading still differs by.

    Parameters
    ----------
    found : Calibration
        What the log tells.
    system : str
        "us" or "metric".

    Returns
    -------
    matplotlib.figure.Figure
        Water above the outlets [gal or m3] on one axis of days; readings of single tanks are drawn
        in the place of all water by what they differ from the simulation.
    """
    with look.style():
        made = page(
            found.scenario.title,
            finding(found, system),
            sources(found, system),
            0.55 + LEVELS + GAP + MISFITS + 0.36,
        )
        top = made.key(_entries(), made.top) - 0.05
        wide = WIDTH - LEFT - RIGHT
        x = numbers(found.days) + (0.0 if found.morning else 1.0)
        pad = 0.015 * float(x[-1] - x[0])
        above = made.axes(LEFT, top - LEVELS, wide, LEVELS)
        _levels(above, found, x, system)
        below = made.axes(LEFT, top - LEVELS - GAP - MISFITS, wide, MISFITS)
        _misfits(below, found, x, system)
        for axes in (above, below):
            time_axis(axes, float(x[0]) - pad, float(x[-1]) + pad)
        above.tick_params(axis="x", labelbottom=False)
        return made.figure


def finding(found: Calibration, system: units.System) -> str:
    """Say what was found, and how much nearer the simulation comes to the readings."""
    before, after = (
        units.show(v, "volume", system, digits=2) for v in (found.misfit_before, found.misfit_after)
    )
    readings = words.count(len(found.readings), "reading")
    if found.outcome == "as written":
        return (
            f"{readings} agree with the scenario as written: it misses them by {before}, and no other numbers"
            " come much nearer."
        )
    if found.outcome == "fits":
        return (
            f"{readings} say: {listed(words_for(found, system))}; the simulation then misses them by {after},"
            f" not {before}."
        )
    if found.rises:
        more = units.show(sum(rise.volume_L for rise in found.rises), "volume", system, digits=2)
        return (
            f"This does not fit: {readings} show {more} of water that neither the roofs nor what the log names"
            " as filled in can have given."
        )
    if found.limits:
        return f"This does not fit: {readings} are met best by {_at_end(found, system)}."
    return (
        f"This does not fit: with the best numbers there are the simulation still misses {readings} by {after},"
        f" not {before}."
    )


def _at_end(found: Calibration, system: units.System) -> str:
    """The number that ran to the end of what it can be."""
    one = next(one for one in found.fitted if one.name == found.limits[0])
    return f"{_words(found, one, one.value, system)}, the end of what it can be"


def listed(said: Sequence[str]) -> str:
    """ "a, b and c"."""
    return said[0] if len(said) == 1 else f"{', '.join(said[:-1])} and {said[-1]}"


def words_for(found: Calibration, system: units.System) -> list[str]:
    """The numbers found, in words: "a runoff coefficient of 0.87", "a leak of 3.1 gal/day"."""
    return [_words(found, one, one.value, system) for one in found.fitted]


def _words(found: Calibration, one: Fitted, value: float, system: units.System) -> str:
    said = amount(found, one, value, system)
    return {"runoff": f"a runoff coefficient of {said}", "first flush": f"a first flush of {said}"}.get(
        one.name, f"a leak of {said}"
    )


def amount(found: Calibration, one: Fitted, value: float, system: units.System) -> str:
    """One value of a number fitted as a reader knows it: the first roof's coefficient, a mean depth, a flow."""
    if one.name == "runoff":
        return f"{value * tables.runoff_coefficient(found.scenario.roof[0]):.2f}"
    if one.name == "first flush":
        return units.show(value * mean_flush(found.scenario), "depth", system, digits=2)
    return units.show(value, "flow", system, digits=2)


def sources(found: Calibration, system: units.System) -> list[str]:
    """Say how it was fitted and how sure it is."""
    rule = found.scenario.run.rule
    first, last = (words.briefly(day_of(day)) for day in (found.days[0], found.days[-1]))
    how = (
        f"Least squares on the readings of {first} to {last}, the water at the start fitted with them.{{sure}}"
        f" Rule: {rule} ({RULES[rule]})."
    )
    if found.outcome != "fits":
        none = " No interval can be claimed for numbers that do not explain the readings."
        return [how.format(sure=none if found.outcome == "does not fit" else "")]
    sure = "; ".join(f"{one.name} {between(found, one, system, ' to ')}" for one in found.fitted)
    left = [one.name for one in found.untold]
    return [
        how.format(sure=f" With 95 % confidence for all together: {sure}.")
        + (f" As written, not told by the log: {listed(left)}." if left else ""),
        "A leak found this way is every loss or use that the scenario does not know.",
    ]


def between(found: Calibration, one: Fitted, system: units.System, joint: str = " and ") -> str:
    """The interval of a number, where there is one."""
    if one.low is None or one.high is None:
        return "not to be told"
    return joint.join(amount(found, one, value, system) for value in (one.low, one.high))


def _entries() -> Sequence[Artist]:
    """Legend."""
    point = Line2D(
        [], [], linestyle="none", marker="o", markersize=4.5, markerfacecolor=look.PAPER, color=READ.colour,
        label=READ.label,
    )  # fmt: skip
    lines = [
        Line2D([], [], color=role.colour, linestyle=role.line, linewidth=thick, label=role.label)
        for role, thick in ((WRITTEN, 1.5), (FOUND, 1.8))
    ]
    return [point, *lines]


def _levels(axes: Axes, found: Calibration, x: Numbers, system: units.System) -> None:
    factor, unit = units.scale("bulk", system)
    axes.plot(
        x, found.before * factor, color=WRITTEN.colour, linestyle=WRITTEN.line, linewidth=1.5, zorder=2,
        label=WRITTEN.label,
    )  # fmt: skip
    axes.plot(x, found.after * factor, color=FOUND.colour, linewidth=1.8, zorder=3, label=FOUND.label)
    stands = (found.after[found.places] + found.residuals) * factor
    axes.plot(
        x[found.places],
        stands,
        linestyle="none",
        marker="o",
        markersize=4.5 if len(found.readings) <= 60 else 2.5,
        markerfacecolor=look.PAPER,
        color=READ.colour,
        zorder=4,
        label=READ.label,
    )
    high = (
        max(float(found.before.max()), float(found.after.max()), float(stands.max()) / factor) * factor * 1.08
    )
    axes.set_ylim(0, high)
    amounts(axes, 0, high)
    axes.grid(axis="y")
    axes.set_ylabel(f"water above the outlets [{unit}]")


def _misfits(axes: Axes, found: Calibration, x: Numbers, system: units.System) -> None:
    factor, unit = units.scale("volume", system)
    values = found.residuals * factor
    axes.vlines(x[found.places], 0.0, values, color=MISFIT.colour, linewidth=1.4, zorder=2)
    axes.axhline(0.0, color=look.FAINT, linewidth=0.8, zorder=1)
    reach = max(float(np.abs(values).max()), 1e-9) * 1.15
    axes.set_ylim(-reach, reach)
    axes.locator_params(axis="y", nbins=4)
    axes.grid(axis="y")
    axes.set_ylabel(f"misfit [{unit}]")
