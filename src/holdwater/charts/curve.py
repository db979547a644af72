"""Curve of one quantity: dry days a year, and in how many years the holding got through."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
from matplotlib.artist import Artist
from matplotlib.axes import Axes
from matplotlib.figure import Figure
from matplotlib.lines import Line2D

from holdwater import words
from holdwater.charts import clear, look
from holdwater.charts.reading import amounts
from holdwater.charts.sheet import LEFT, WIDTH, page
from holdwater.charts.study import foot, quantity_axis
from holdwater.charts.swept import finding
from holdwater.scenario.schema import Scenario
from holdwater.studies.engine import Outcome
from holdwater.studies.quantity import Axis, say
from holdwater.studies.size import Size, Target
from holdwater.studies.size_search import whole_years
from holdwater.studies.sweep import Sweep
from holdwater.studies.sweep_confidence import SweepConfidence
from holdwater.units import System
from holdwater.weather.record import Record

Floats = npt.NDArray[np.float64]

MEAN = look.Role("mean of the years", "#560a24")
WORST = look.Role("worst year", "#b0602a", line="--")
HELD = look.Role("years that hold", "#14476e")
NEEDED = look.Role("years needed", look.INK, line=":")
ANSWER = look.Role("answer", "#0d6b4f")
PRESENT = look.Role("present", look.FAINT, line="--")
BAND = look.Role("% of records drawn by lot", "#c6ced5")
ABOVE, BELOW, GAP = 2.7, 1.7, 0.4
"""Heights of the two parts and the room between them [in]."""
MOST_DOTS = 60
HEIGHTS = (0.98, 0.78, 0.58, 0.38)
"""Where the name of a mark may stand, from the top [0..1]."""


@dataclass(frozen=True)
class Curve:
    """What a curve is drawn from: values of one dial and what came of them; whole years alone count as years."""

    scenario: Scenario
    record: Record
    axis: Axis
    outcome: Outcome
    present: float
    target: Target
    title: str
    whole: npt.NDArray[np.bool_]
    needed: int | None = None
    listed: bool | None = None
    answer: int | None = None
    drawn: SweepConfidence | None = None


def of_sweep(found: Sweep, system: System) -> Curve:
    """Curve of a sweep with one dial."""
    (axis,) = found.axes
    return Curve(
        found.base.scenario,
        found.site.record,
        axis,
        found.outcome,
        axis.present,
        Target(),
        finding(found, system),
        whole_years(found.site, found.base.scenario.run.year_starts),
        drawn=found.confidence,
    )


def of_size(found: Size, system: System, title: str) -> Curve:
    """Curve of the values tried for a size."""
    del system
    return Curve(
        found.base.scenario,
        found.site.record,
        found.tried.axis,
        found.tried.outcome,
        found.tried.axis.present,
        found.target,
        title,
        found.whole,
        found.years - found.may_fail,
        found.listed,
        found.answer,
    )


def curve_chart(curve: Curve, system: System) -> Figure:
    """Draw dry days a year over one quantity, and below it the years that hold.

    Parameters
    ----------
    curve : Curve
        Values in rising order; a dial of words is drawn as steps.
    system : str
        "us" or "metric".

    Returns
    -------
    matplotlib.figure.Figure
        Dry days of the mean and of the worst year above [days], years that hold below.
    """
    with look.style():
        known = foot(curve.scenario, curve.record, *_how_sure(curve))
        made = page(curve.scenario.title, curve.title, known, ABOVE + GAP + BELOW + 0.95)
        top = made.key(_entries(curve), made.top) - 0.05
        wide = WIDTH - LEFT - 0.6
        foot_of_above = made.bottom + 0.5 + BELOW + GAP
        above = made.axes(LEFT, foot_of_above, wide, top - foot_of_above)
        below = made.axes(LEFT, made.bottom + 0.5, wide, BELOW)
        words_only = np.arange(len(curve.axis.dial.texts), dtype=float)
        x: Floats = curve.axis.shown(system)[0] if curve.axis.numeric else words_only
        _dry_days(above, curve, x)
        _years(below, curve, x)
        for axes in (above, below):
            _along(axes, curve, x, system, wide)
            _marks(axes, curve, x, system, named=axes is above)
        above.set_xlabel("")
        above.tick_params(axis="x", labelbottom=False)
        return made.figure


def _how_sure(curve: Curve) -> list[str]:
    """What the bands are, for the foot."""
    if curve.drawn is None:
        return []
    share = f"{100 * curve.drawn.drawing.level:.0f} %"
    drawn = curve.drawn.drawing.words
    return [
        f"Bands: the mean, and the years that hold, in {share} of {drawn}. Years never seen can be worse."
    ]


def _held_band(curve: Curve) -> tuple[Floats, Floats] | None:
    """Years that hold in the drawn records."""
    if curve.drawn is None:
        return None
    n = curve.drawn.drawing.years
    low, high = (bounds["dry_years_share"] for bounds in (curve.drawn.low, curve.drawn.high))
    return n * (1.0 - high), n * (1.0 - low)


def _band(axes: Axes, x: Floats, low: Floats, high: Floats) -> None:
    """What a line may be with another draw of the years, with thin edges that show where it is narrow."""
    if x.size == 1:
        axes.vlines(x, low, high, color=BAND.colour, linewidth=12, zorder=1)
        return
    axes.fill_between(x, low, high, color=BAND.colour, linewidth=0, zorder=1)
    for edge in (low, high):
        axes.plot(x, edge, color=look.FAINT, linewidth=0.5, zorder=1.5, clip_on=False)


def _dotted(x: Floats) -> str:
    return "o" if x.size <= MOST_DOTS else ""


def _dry_days(axes: Axes, curve: Curve, x: Floats) -> None:
    worst = curve.outcome.by_year["dry_days"].max(axis=0).astype(float)
    mean = curve.outcome.dry_days_per_year
    for role, values in ((WORST, worst), (MEAN, mean)):
        axes.plot(
            x,
            values,
            color=role.colour,
            linestyle=role.line,
            linewidth=1.6,
            label=role.label,
            marker=_dotted(x),
            markersize=3.2,
            zorder=3,
            clip_on=False,
        )
    most = max(1.0, float(worst.max()), float(curve.target.dry_days))
    if curve.drawn is not None:
        low, high = (bounds["dry_days_per_year"] for bounds in (curve.drawn.low, curve.drawn.high))
        _band(axes, x, low, high)
        most = max(most, float(high.max()))
    if curve.target.dry_days:
        axes.axhline(curve.target.dry_days, color=NEEDED.colour, linestyle=NEEDED.line, linewidth=1.0)
    axes.set_ylim(0, most * 1.06)
    axes.set_ylabel("Dry days\nin a year [days]")
    axes.grid(axis="y")
    amounts(axes, 0, most)


def _years(axes: Axes, curve: Curve, x: Floats) -> None:
    fails = curve.target.fails(curve.outcome)
    if curve.whole.any():  # else the record is shorter than a year
        fails = fails[curve.whole]
    n = fails.shape[0]
    held = n - fails.sum(axis=0)
    band = _held_band(curve)
    if band is not None:
        _band(axes, x, *band)
    axes.plot(
        x,
        held,
        color=HELD.colour,
        linewidth=1.6,
        marker=_dotted(x),
        markersize=3.2,
        zorder=3,
        clip_on=False,
        label=HELD.label,
    )
    if curve.needed is not None:
        axes.axhline(curve.needed, color=NEEDED.colour, linestyle=NEEDED.line, linewidth=1.3, zorder=2)
    axes.set_ylim(0, n * 1.04)
    most = (
        f"at most {words.count(curve.target.dry_days, 'dry day')}" if curve.target.dry_days else "no dry day"
    )
    axes.set_ylabel(f"Years with\n{most},\nof {n}")
    axes.grid(axis="y")
    amounts(axes, 0, n, steps=4, whole=True)


def _along(axes: Axes, curve: Curve, x: Floats, system: System, wide: float) -> None:
    if curve.axis.numeric and x.size > 1:
        quantity_axis(axes, "x", curve.axis, system, wide, curve.listed)
        return
    axes.set_xticks(x, [curve.axis.say(i, system) for i in range(x.size)])
    axes.set_xlim(x[0] - 0.5, x[-1] + 0.5)
    axes.set_xlabel(curve.axis.titled(system))


def _marks(axes: Axes, curve: Curve, x: Floats, system: System, named: bool) -> None:
    """Stand a line at the present and at the answer, with its value."""
    places: list[tuple[look.Role, float, str]] = []
    if curve.axis.numeric and not math.isnan(curve.present):
        factor = curve.axis.shown(system)[0][-1] / curve.axis.values[-1]
        if x[0] <= curve.present * factor <= x[-1]:
            said = say(curve.present, curve.axis.kind, system)
            places.append((PRESENT, curve.present * factor, f"present\n{said}"))
    if curve.answer is not None:
        said = curve.axis.say(curve.answer, system)
        places.append((ANSWER, float(x[curve.answer]), f"answer\n{said}"))
    middle = (axes.get_xlim()[0] + axes.get_xlim()[1]) / 2
    near = len(places) == 2 and abs(places[0][1] - places[1][1]) < 0.12 * (x[-1] - x[0])
    for role, at, _ in places:
        axes.axvline(at, color=role.colour, linestyle=role.line, linewidth=1.4, zorder=2)
    if named:
        points = clear.drawn_on(axes)
        for role, at, text in places:
            right = at > middle if not near else at == min(place for _, place, _ in places)
            note = axes.annotate(
                text,
                (at, HEIGHTS[0]),
                xycoords=("data", "axes fraction"),
                xytext=(-5 if right else 5, 0),
                textcoords="offset points",
                ha="right" if right else "left",
                va="top",
                fontsize=look.TICK,
                color=role.colour,
                bbox=look.LIFTED,
                zorder=5,
            )
            clear.at_height(note, HEIGHTS, points)


def _entries(curve: Curve) -> list[Artist]:
    roles = [MEAN, WORST, HELD, *([NEEDED] if curve.needed is not None else [])]
    known: list[Artist] = [
        Line2D([], [], color=role.colour, linestyle=role.line, linewidth=1.6, label=role.label)
        for role in roles
    ]
    if curve.drawn is not None:
        known.append(BAND.patch(f"{100 * curve.drawn.drawing.level:.0f} {BAND.label}"))
    return known
