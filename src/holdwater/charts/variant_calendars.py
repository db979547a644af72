"""Calendars of dry days, one for each set-up, side by side."""

from __future__ import annotations

import numpy as np
from matplotlib.artist import Artist
from matplotlib.axes import Axes
from matplotlib.colors import ListedColormap
from matplotlib.figure import Figure

from holdwater import words
from holdwater.charts import look
from holdwater.charts.calendar import COLUMNS, OUTSIDE, UNSERVED, cells, places
from holdwater.charts.compared import finding
from holdwater.charts.reading import boxes, read
from holdwater.charts.sheet import MARGIN, WIDTH, Sheet, page, wrap
from holdwater.charts.variants import foot
from holdwater.studies.compare import Compared, Comparison
from holdwater.units import System

ACROSS = 2
LEFT, RIGHT = 0.5, 0.3
"""Room before and behind every panel, for years and counts [in]."""


def calendars(made: Comparison, system: System) -> Figure:
    """Draw the dry days of every set-up as a calendar, years from the top, in two columns.

    Parameters
    ----------
    made : Comparison
        The set-ups.
    system : str
        "us" or "metric"; no quantity is shown here, all charts are called alike.

    Returns
    -------
    matplotlib.figure.Figure
        One panel for each set-up, its dry days above it [days].
    """
    del system
    with look.style():
        count = len(made.compared)
        across = min(ACROSS, count)
        years = len(made.compared[0].scores.years)
        tall = max(0.3, years * (0.24 if years <= 4 else 0.07 if years > 15 else 0.12))
        wide = (WIDTH - 2 * MARGIN) / across - LEFT - RIGHT
        heads = [wrap(_heading(each, made.compared[0]), look.TICK, wide, bold=True) for each in made.compared]
        lines = [max(len(h) for h in heads[i : i + across]) for i in range(0, count, across)]
        highs = [0.17 * n + 0.05 + tall + 0.34 for n in lines]
        sheet = page(made.compared[0].ledger.scenario.title, finding(made), foot(made), 0.35 + sum(highs))
        top = sheet.key(_entries(made), sheet.top, left=MARGIN)
        for i, (each, head) in enumerate(zip(made.compared, heads, strict=True)):
            row, column = divmod(i, across)
            left = MARGIN + LEFT + column * (LEFT + wide + RIGHT)
            upper = top - sum(highs[:row])
            _panel(sheet, each, head, left, upper, wide, tall, 0.17 * lines[row] + 0.05)
        return sheet.figure


def _heading(each: Compared, present: Compared) -> str:
    dry = each.scores.dry_days.total
    said = f"{words.plain(each.name)}: {words.count(dry, 'dry day')}"
    if each is present or dry == present.scores.dry_days.total:
        return said
    change = dry - present.scores.dry_days.total
    return f"{said}, {abs(change):,} {'more' if change > 0 else 'fewer'} than the present"


def _panel(
    sheet: Sheet,
    each: Compared,
    head: list[str],
    left: float,
    top: float,
    wide: float,
    tall: float,
    room: float,
) -> None:
    sheet.words("\n".join(head), left, top, look.TICK, bold=True)
    axes = sheet.axes(left, top - room - tall, wide, tall)
    reading = read(each.ledger, each.scores)
    row, column = places(each.ledger, each.scores)
    years = each.scores.years
    axes.imshow(
        cells(reading, row, column, len(years)),
        cmap=ListedColormap(["#ffffff00", "#ffffff00", look.COVERED.colour, look.UNSERVED.colour]),
        vmin=OUTSIDE,
        vmax=UNSERVED,
        extent=(0, COLUMNS, len(years), 0),
        aspect="auto",
        interpolation="nearest",
        zorder=3,
    )
    ground = []
    for i in range(len(years)):
        here = column[row == i]
        ground.append((float(here[0]), float(here[-1]) + 1, i, i + 1))
    axes.add_collection(boxes(ground, look.NO_DRY_DAY, zorder=1), autolim=False)
    _name(axes, each)


def _name(axes: Axes, each: Compared) -> None:
    """Years at the left, months at the foot, the dry days of every year at the right where there is room."""
    years, starts = each.scores.years, each.ledger.scenario.run.year_starts
    every = 1 if len(years) <= 12 else 5 if len(years) <= 60 else 20
    shown = [i for i, y in enumerate(years) if y.year % every == 0]
    axes.set_yticks([i + 0.5 for i in shown], [str(years[i].year) for i in shown])
    axes.tick_params(axis="y", length=0)
    lengths = np.array([31, 29, 31, 30, 31, 30, 31, 31, 30, 31, 30, 31])
    order = (np.arange(12) + starts - 1) % 12
    edges = np.concatenate([[0], np.cumsum(lengths[order])])
    axes.set_xlim(0, COLUMNS)
    axes.set_xticks((edges[:-1] + edges[1:]) / 2, [words.MONTHS[m][0] for m in order])
    axes.tick_params(axis="x", length=0, pad=3)
    axes.vlines(edges, 0, len(years), color=look.PAPER, linewidth=0.8, zorder=2)
    axes.set_ylim(len(years), 0)
    for side in ("left", "bottom"):
        axes.spines[side].set_visible(False)
    if every == 1:
        for i, year in enumerate(years):
            axes.text(COLUMNS + 5, i + 0.5, f"{year.dry_days}", fontsize=look.TICK, va="center")


def _entries(made: Comparison) -> list[Artist]:
    readings = [read(each.ledger, each.scores) for each in made.compared]
    known: list[Artist] = [look.NO_DRY_DAY.patch()]
    if any(reading.covered.any() for reading in readings):
        known.append(look.COVERED.patch())
    if any(reading.unserved.any() for reading in readings):
        known.append(look.UNSERVED.patch())
    return known
