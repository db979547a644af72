"""Map of dry days over two quantities, such as roof area and capacity, with the present set-up marked."""

from __future__ import annotations

import math
from itertools import pairwise

import numpy as np
import numpy.typing as npt
from matplotlib.artist import Artist
from matplotlib.axes import Axes
from matplotlib.colors import ListedColormap
from matplotlib.figure import Figure
from matplotlib.lines import Line2D
from matplotlib.patches import Patch, Rectangle
from matplotlib.patheffects import withStroke
from matplotlib.transforms import Bbox

from holdwater import words
from holdwater.charts import clear, look
from holdwater.charts.sheet import LEFT, page
from holdwater.charts.study import foot, quantity_axis
from holdwater.charts.swept import finding
from holdwater.studies.quantity import say
from holdwater.studies.sweep import Sweep
from holdwater.units import System
from holdwater.units.showing import figures

Floats = npt.NDArray[np.float64]

RAMP = ("#f4f7fa", "#f8d9a3", "#f3b96e", "#ea9544", "#dc6727", "#b9432c", "#8d2331", "#510c1d")
"""From no dry day to most, ever darker."""
EDGES = (1.0, 2.0, 5.0, 10.0, 20.0, 50.0)
"""Dry days a year at which a new colour begins."""
NONE = "no dry day"
ROOM, SIDE = 5.2, 8.0
MOST_DOTS = 900
LEAST_DAYS = 0.5
"""Of the record's dry days: fewer are none."""


def designs_map(found: Sweep, system: System) -> Figure:
    """Draw the dry days a year of every design of two dials.

    Parameters
    ----------
    found : Sweep
        With two dials: the first along, the second up.
    system : str
        "us" or "metric".

    Returns
    -------
    matplotlib.figure.Figure
        Dry days a year as colours with lines of equal dry days [days per year].
    """
    with look.style():
        known = foot(found.base.scenario, found.site.record, *_outside(found, system))
        made = page(found.base.scenario.title, finding(found, system), known, ROOM + 1.05)
        table = found.score("dry_days_per_year")
        top = made.key(_entries(found, table), made.top) - 0.08
        axes = made.axes(LEFT + 0.15, made.bottom + 0.52, SIDE, top - made.bottom - 0.52)
        if _smooth(found):
            _surface(axes, found, table, system)
        else:
            _cells(axes, found, table, system)
        return made.figure


def _smooth(found: Sweep) -> bool:
    """Whether both dials are numbers, so that lines of equal dry days can be drawn."""
    return all(each.numeric and each.values.size > 1 for each in found.axes)


def _bands(table: Floats) -> list[float]:
    """Edges of the colours that the map needs [days per year]."""
    most = float(table.max())
    return [edge for edge in EDGES if edge < most]


def _least(found: Sweep) -> float:
    """Dry days a year that are as good as none."""
    return LEAST_DAYS / (found.outcome.n_days / 365.25)


def _entries(found: Sweep, table: Floats) -> list[Artist]:
    """Legend: the colours in use, and the present."""
    edges = _bands(table)
    names = [NONE, f"up to {words.count(int(edges[0]), 'dry day')} a year" if edges else "some dry days"]
    names += [f"{a:g} to {b:g}" for a, b in pairwise(edges)]
    names += [f"over {edges[-1]:g}"] if edges else []
    bins = np.digitize(table.ravel(), [_least(found), *edges])
    known: list[Artist] = [
        Patch(facecolor=RAMP[i], edgecolor=look.FAINT, linewidth=0.4, label=text)
        for i, text in enumerate(names)
        if (bins == i).any() or bins.min() < i < bins.max()
    ]
    if _present(found) is not None and _smooth(found):
        known.append(_mark("present set-up"))
    elif not _smooth(found) and None not in [each.present_place for each in found.axes]:
        known.append(Patch(fill=False, edgecolor=look.INK, linewidth=2.0, label="present set-up"))
    return known


def _mark(label: str = "") -> Line2D:
    return Line2D(
        [],
        [],
        linestyle="none",
        marker="o",
        markersize=9,
        markerfacecolor=look.PAPER,
        markeredgecolor=look.INK,
        markeredgewidth=2.2,
        label=label,
    )


def _present(found: Sweep) -> tuple[float, float] | None:
    """Where the present stands on the map, in the inside units; None outside it."""
    x, y = found.axes
    for each in (x, y):
        if not each.numeric or math.isnan(each.present):
            return None
        if not each.values.min() <= each.present <= each.values.max():
            return None
    return x.present, y.present


def _outside(found: Sweep, system: System) -> list[str]:
    if not _smooth(found) or _present(found) is not None:
        return []
    known = [
        f"{each.label} {say(each.present, each.kind, system)}"
        for each in found.axes
        if not math.isnan(each.present)
    ]
    return ["The present set-up lies outside the map" + (f": {', '.join(known)}." if known else ".")]


def _surface(axes: Axes, found: Sweep, table: Floats, system: System) -> None:
    """Colours and lines of equal dry days over two ranges of numbers."""
    x, y = (each.shown(system)[0] for each in found.axes)
    edges, least = _bands(table), _least(found)
    levels = [-1.0, least, *edges, max(float(table.max()), least) + 1.0]
    shown = np.log1p(table.T)  # between two designs dry days fall off more evenly so
    bounds = [-1.0, *np.log1p(levels[1:])]
    axes.contourf(x, y, shown, levels=bounds, colors=list(RAMP[: len(bounds) - 1]), zorder=1)
    if found.grid.size <= MOST_DOTS:
        across, up = np.meshgrid(x, y)
        axes.plot(across.ravel(), up.ravel(), ".", color=look.INK, alpha=0.35, markersize=2, zorder=2.5)
    quantity_axis(axes, "x", found.axes[0], system, SIDE)
    quantity_axis(axes, "y", found.axes[1], system, ROOM)
    lines = [edge for edge in (least, *edges) if table.min() < edge < table.max()]
    if not lines:
        _mark_present(axes, found, system, [])
        return
    drawn = axes.contour(
        x, y, shown, levels=np.log1p(lines), colors=look.INK, linewidths=0.9, negative_linestyles="solid"
    )
    points = clear.lines_of(axes, drawn)
    taken = _mark_present(axes, found, system, [each for level in points for each in level])
    names = [NONE if line == least else f"{line:g} a year" for line in lines]
    for text in clear.along(axes, drawn, names, points, taken):
        text.set_path_effects([withStroke(linewidth=2.5, foreground=look.PAPER)])


def _mark_present(axes: Axes, found: Sweep, system: System, lines: list[Floats]) -> list[Bbox]:
    """Mark the present with its dry days a year, where few lines cross the words; what room they take."""
    present = _present(found)
    if present is None:
        return []
    mark = _mark()
    at = [
        value * (each.shown(system)[0][-1] / each.values[-1])
        for value, each in zip(present, found.axes, strict=True)
    ]
    mark.set_data([at[0]], [at[1]])
    mark.set_zorder(6)
    mark.set_clip_on(False)
    axes.add_line(mark)
    now = float(found.present.dry_days_per_year[0])
    text = axes.annotate(
        f"present: {figures(now, 2)} a year",
        (at[0], at[1]),
        xytext=(0, 0),
        textcoords="offset points",
        fontsize=look.LABEL,
        fontweight="bold",
        zorder=6,
    )
    text.set_path_effects([withStroke(linewidth=3, foreground=look.PAPER)])
    dot = mark.get_window_extent().padded(clear.ROOM)
    return [dot, clear.beside(axes, text, dot, lines)]


def _cells(axes: Axes, found: Sweep, table: Floats, system: System) -> None:
    """One cell for each design with its dry days a year, where a dial takes words or a single value."""
    edges = [_least(found), *_bands(table)]
    bins = np.digitize(table.T, edges)
    axes.imshow(
        bins,
        cmap=ListedColormap(RAMP),
        vmin=0,
        vmax=len(RAMP) - 1,
        origin="lower",
        aspect="auto",
        interpolation="nearest",
    )
    if table.size <= 200:
        for (j, i), value in np.ndenumerate(table.T):
            dark = look.lightness(RAMP[bins[j, i]]) < 55
            axes.text(
                i,
                j,
                figures(value, 2),
                ha="center",
                va="center",
                fontsize=look.TICK,
                color=look.PAPER if dark else look.INK,
            )
    i, j = (each.present_place for each in found.axes)
    if i is not None and j is not None:
        ring = Rectangle(
            (i - 0.5, j - 0.5), 1, 1, fill=False, edgecolor=look.INK, linewidth=2.4, clip_on=False
        )
        axes.add_patch(ring)
    for ruler, each in ((axes.xaxis, found.axes[0]), (axes.yaxis, found.axes[1])):
        every = -(-len(each.dial.texts) // 12)
        places = list(range(0, len(each.dial.texts), every))
        ruler.set_ticks(places, [each.say(i, system) for i in places])
        ruler.set_label_text(each.label[:1].upper() + each.label[1:])
