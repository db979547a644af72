"""Calendar of dry days: a row for each year, a column for each day of the year."""

from __future__ import annotations

import numpy as np
import numpy.typing as npt
from matplotlib.artist import Artist
from matplotlib.axes import Axes
from matplotlib.colors import ListedColormap
from matplotlib.figure import Figure

from holdwater import words
from holdwater.charts import filled, look
from holdwater.charts.reading import Box, Reading, boxes, name_places, read, runs
from holdwater.charts.sheet import LEFT, RIGHT, WIDTH, sheet
from holdwater.ledger import Ledger
from holdwater.scores import Scores
from holdwater.units import System

OUTSIDE, NO_DRY_DAY, COVERED, UNSERVED = range(4)
COLUMNS = 366
MOST = 0.75
"""Share of the dry days that "most" stands for in the title."""

Cells = npt.NDArray[np.int8]
Places = npt.NDArray[np.int64]


def calendar_chart(ledger: Ledger, scores: Scores, system: System) -> Figure:
    """Draw every day of the record, dry and unserved days told apart.

    Parameters
    ----------
    ledger : Ledger
        The run.
    scores : Scores
        What it says.
    system : str
        "us" or "metric"; no quantity is shown here, all charts are called alike.

    Returns
    -------
    matplotlib.figure.Figure
        Years from the top, days from the first day of the year; dry days of every year at the
        right, of every month at the foot [days].
    """
    del system
    with look.style():
        reading = read(ledger, scores)
        starts = ledger.scenario.run.year_starts
        row, column = places(ledger, scores)
        number = len(scores.years)
        tall = max(0.8, number * (0.2 if number > 12 else 0.28))
        made = sheet(ledger, finding(ledger, scores), 0.35 + 0.5 + tall)
        top = made.key(_entries(reading), made.top)
        axes = made.axes(LEFT, top - 0.1 - tall, WIDTH - LEFT - RIGHT, tall)
        axes.imshow(
            cells(reading, row, column, number),
            cmap=ListedColormap(["#ffffff00", "#ffffff00", look.COVERED.colour, look.UNSERVED.colour]),
            vmin=OUTSIDE,
            vmax=UNSERVED,
            extent=(0, COLUMNS, number, 0),
            aspect="auto",
            interpolation="nearest",
            zorder=3,
        )
        _rule_off(axes, reading, row, column, number)
        _name_years(axes, ledger, scores)
        _name_months(axes, reading, starts)
        return made.figure


def finding(ledger: Ledger, scores: Scores) -> str:
    """Say when in the year most dry days fall, and which year was the worst."""
    (first, last), total = ledger.period, scores.dry_days.total
    if total == 0:
        return f"No dry day in {words.span(first, last)}: the tanks gave every draw all it asked for."
    if total == 1:
        day = words.on(ledger.days[np.flatnonzero(scores.dry_day)[0]].item())
        return f"The only dry day in {words.span(first, last)} was {day}."
    months = ledger.days[scores.dry_day].astype("datetime64[M]").astype(int) % 12
    by_month = np.bincount(months, minlength=12)
    flags = season(by_month)
    within = int(by_month[flags].sum())
    which = f"{within:,} of {total:,}" if within < total else "both" if total == 2 else f"all {total:,}"
    if sum(flags) > 6:
        said = f"{words.count(total, 'dry day').capitalize()} in {words.span(first, last)}, in all seasons"
    else:
        said = f"{which.capitalize()} dry days fell {words.months(flags.tolist())}"
    if len(scores.years) == 1:
        return f"{said}."
    worst = max(scores.years, key=lambda y: y.dry_days)
    without = sum(y.dry_days == 0 for y in scores.years)
    free = f"; {without} of {len(scores.years)} years had none" if without else ""
    return f"{said}; the worst year was {worst.year} with {worst.dry_days}{free}."


def season(by_month: npt.NDArray[np.int64]) -> npt.NDArray[np.bool_]:
    """Find the fewest months in a row, round the year, that hold most of the dry days.

    Parameters
    ----------
    by_month : ndarray, shape (12,)
        Dry days in each calendar month.

    Returns
    -------
    ndarray of bool, shape (12,)
        The months; of equally short runs the one with most dry days, then the earliest.
    """
    for length in range(1, 13):
        sums = np.array([by_month[(np.arange(length) + start) % 12].sum() for start in range(12)])
        if sums.max() >= MOST * by_month.sum():
            flags = np.zeros(12, dtype=bool)
            flags[(np.arange(length) + int(sums.argmax())) % 12] = True
            return flags
    raise AssertionError("twelve months hold every day")


def places(ledger: Ledger, scores: Scores) -> tuple[Places, Places]:
    """Row and column of every day, shape (n,); the 29 February has its column in every year."""
    row = np.concatenate([np.full(year.days, i) for i, year in enumerate(scores.years)])
    months = ledger.days.astype("datetime64[M]")
    day = (ledger.days - months.astype("datetime64[D]")).astype(np.int64)
    first = _month_columns(ledger.scenario.run.year_starts)
    return row, first[months.astype(np.int64) % 12] + day


def _month_columns(starts: int) -> Places:
    """Column in which each month begins, January first, when the year starts with month `starts`."""
    lengths = np.array([31, 29, 31, 30, 31, 30, 31, 31, 30, 31, 30, 31])
    order = (np.arange(12) + starts - 1) % 12
    first = np.zeros(12, dtype=np.int64)
    first[order] = np.concatenate([[0], np.cumsum(lengths[order])[:-1]])
    return first


def cells(reading: Reading, row: Places, column: Places, number: int) -> Cells:
    """What each cell shows, shape (years, 366): outside, no dry day, covered, unserved."""
    made = np.full((number, COLUMNS), OUTSIDE, dtype=np.int8)
    made[row, column] = np.where(reading.unserved, UNSERVED, np.where(reading.dry, COVERED, NO_DRY_DAY))
    return made


def _entries(reading: Reading) -> list[Artist]:
    """Legend: only what is in the picture."""
    known: list[Artist] = [look.NO_DRY_DAY.patch()]
    if reading.covered.any():
        known.append(look.COVERED.patch())
    if reading.unserved.any():
        known.append(look.UNSERVED.patch())
    if reading.filled.any():
        known.append(filled.entry())
    return known


def _rule_off(axes: Axes, reading: Reading, row: Places, column: Places, number: int) -> None:
    """Lay the ground of the years on record, rule them off, mark filled days."""
    axes.hlines(
        np.arange(number + 1), 0, COLUMNS, color=look.PAPER, linewidth=1.2 if number <= 40 else 0.4, zorder=4
    )
    ground: list[Box] = []
    guessed: list[tuple[tuple[float, float], float]] = []
    for i in range(number):
        here = column[row == i]
        ground.append((float(here[0]), float(here[-1]) + 1, i, i + 1))
        spans = runs(reading.filled & (row == i))
        guessed += [((float(column[a]), float(column[b - 1]) + 1), i + 0.5) for a, b in spans]
    axes.add_collection(boxes(ground, look.NO_DRY_DAY, zorder=1), autolim=False)
    filled.mark(axes, guessed)
    for side in ("left", "bottom"):
        axes.spines[side].set_visible(False)


def _name_years(axes: Axes, ledger: Ledger, scores: Scores) -> None:
    """Years at the left, their dry days at the right."""
    number, starts = len(scores.years), ledger.scenario.run.year_starts
    every = 1 if number <= 45 else 2 if number <= 80 else 5
    axes.set_ylim(number, 0)
    axes.set_yticks(
        [i + 0.5 for i, y in enumerate(scores.years) if y.year % every == 0 or every == 1],
        [str(y.year) for y in scores.years if y.year % every == 0 or every == 1],
    )
    axes.tick_params(axis="y", length=0)
    if starts > 1:
        axes.set_ylabel(f"Year ending in {words.MONTHS[starts - 2]}")
    for i, year in enumerate(scores.years):
        if every == 1:
            colour = look.INK if year.dry_days else look.FAINT
            axes.text(COLUMNS + 4, i + 0.5, f"{year.dry_days}", fontsize=look.TICK, va="center", color=colour)
    axes.text(
        COLUMNS + 4, 0, "dry days\nin the year", fontsize=look.NOTE, va="bottom", ha="left", color=look.FAINT
    )


def _name_months(axes: Axes, reading: Reading, starts: int) -> None:
    """Months at the foot, with their dry days over all years."""
    first = _month_columns(starts)
    order = (np.arange(12) + starts - 1) % 12
    edges = np.append(first[order], COLUMNS)
    by_month = np.bincount(reading.days[reading.dry].astype("datetime64[M]").astype(int) % 12, minlength=12)
    known = np.unique(reading.days.astype("datetime64[M]").astype(int) % 12)
    names = [words.MONTHS[m][:3] + (f"\n{by_month[m]:,}" if m in known else "") for m in order]
    axes.set_xlim(0, COLUMNS)
    axes.vlines(edges, *axes.get_ylim(), color=look.PAPER, linewidth=1.2, zorder=2)
    name_places(axes, edges.astype(float), (edges[:-1] + edges[1:]) / 2, names)
    axes.text(
        COLUMNS + 4,
        axes.get_ylim()[0],
        "\ndry days in\nthe month,\nall years",
        fontsize=look.NOTE,
        va="top",
        color=look.FAINT,
    )
