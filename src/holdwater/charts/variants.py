"""Set-ups side by side: their storage on one axis, and their dry days."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np
import numpy.typing as npt
from matplotlib.artist import Artist
from matplotlib.axes import Axes
from matplotlib.figure import Figure
from matplotlib.lines import Line2D

from holdwater import units, words
from holdwater.charts import look
from holdwater.charts.compared import finding
from holdwater.charts.reading import amounts, boxes, daily, numbers, read, runs, time_axis, widened
from holdwater.charts.sheet import LEFT, WIDTH, page, source, width, wrap
from holdwater.charts.storage import rows
from holdwater.studies.compare import Compared, Comparison

Floats = npt.NDArray[np.float64]

LINES: tuple[tuple[str, Any, float], ...] = (
    (look.INK, "-", 2.0),
    ("#c4501b", "-", 1.3),
    ("#0f6fb5", (0, (5, 1.5)), 1.5),
    ("#0d7a5f", (0, (1.2, 1.2)), 1.7),
    ("#8a5aa8", (0, (6, 1.5, 1.2, 1.5)), 1.4),
    ("#c08a00", (0, (3, 1.2)), 1.3),
    ("#7c8791", "-", 1.3),
)
"""Colour, dashes and width of each set-up, the present first; they come round again."""
DAILY_UP_TO = 3.2 * 366
STRIP, RAIN = 0.2, 0.7
"""Heights of a set-up's strip of dry days and of the rain above the storage [in]."""
NAMES = 2.3
"""Widest column of names [in]."""
LEAST_MARK = 0.02


@dataclass(frozen=True)
class _Drawn:
    """One set-up's water in shown units."""

    name: str
    look: tuple[str, Any, float]
    edges: Floats
    storage: Floats
    compared: Compared


def storage_overlay(made: Comparison, system: units.System) -> Figure:
    """Draw the water above the outlets of every set-up on one axis.

    Parameters
    ----------
    made : Comparison
        The set-ups.
    system : str
        "us" or "metric".

    Returns
    -------
    matplotlib.figure.Figure
        Day by day with the rain above and a strip of dry days for each set-up below; for more than
        three years the lowest storage of every month, in rows of about ten years [gal or m3].
    """
    with look.style():
        present = made.compared[0]
        first, last = present.ledger.period
        long = (last - first).days > DAILY_UP_TO
        factor, unit = units.scale("bulk", system)
        drawn = [
            _Drawn(c.name, LINES[i % len(LINES)], *_storage(c, factor, long))
            for i, c in enumerate(made.compared)
        ]
        return _in_rows(made, drawn, unit) if long else _one_row(made, drawn, unit, system)


def _storage(each: Compared, factor: float, monthly: bool) -> tuple[Floats, Floats, Compared]:
    """Days as numbers and drawable water: at every midnight, or the lowest of each month at its middle."""
    days, storage = each.ledger.days, daily(each.ledger, "drawable") * factor
    if not monthly:
        return np.append(numbers(days), numbers(days)[-1] + 1), storage, each
    months = days.astype("datetime64[M]")
    starts = np.flatnonzero(np.diff(months.astype(int), prepend=-1_000_000))
    return numbers(months[starts]) + 15.0, np.minimum.reduceat(storage[1:], starts), each


def _in_rows(made: Comparison, drawn: list[_Drawn], unit: str) -> Figure:
    present = made.compared[0]
    spans = rows(*present.ledger.period)
    tall = 1.75
    key = [_entry(each) for each in drawn]
    sheet = page(present.ledger.scenario.title, finding(made), foot(made), 0.35 + len(spans) * (tall + 0.42))
    top = sheet.key(key, sheet.top)
    each_high = (top - sheet.bottom) / len(spans)
    most = max(float(each.storage.max()) for each in drawn)
    for i, span in enumerate(spans):
        axes = sheet.axes(LEFT + 0.1, top - (i + 1) * each_high + 0.33, WIDTH - LEFT - 0.6, each_high - 0.43)
        _lines(axes, drawn, most)
        axes.set_ylabel(f"Lowest of the\nmonth [{unit}]")
        time_axis(axes, *span)
    return sheet.figure


def _one_row(made: Comparison, drawn: list[_Drawn], unit: str, system: units.System) -> Figure:
    present = made.compared[0]
    names = [wrap(words.plain(each.name), look.TICK, NAMES - 0.1) for each in drawn]
    left = max(LEFT, 0.35 + max(width(line, look.TICK) for lines in names for line in lines))
    highs = [max(STRIP, 0.14 * len(lines) + 0.06) for lines in names]
    tall, wide = 2.5, WIDTH - left - 0.9
    room = 0.4 + RAIN + tall + 0.24 + sum(highs) + 0.42
    sheet = page(present.ledger.scenario.title, finding(made), foot(made), room)
    top = sheet.key([_entry(each) for each in drawn] + _marks_key(made), sheet.top) - 0.05
    span = (float(drawn[0].edges[0]), float(drawn[0].edges[-1]))
    rain = sheet.axes(left, top - RAIN, wide, RAIN)
    _rain(rain, present, span, system)
    foot_of_lines = sheet.bottom + 0.42 + sum(highs) + 0.18
    axes = sheet.axes(left, foot_of_lines, wide, top - RAIN - 0.12 - foot_of_lines)
    _lines(axes, drawn, max(float(each.storage.max()) for each in drawn))
    axes.set_ylabel(f"Drawable water [{unit}]")
    time_axis(axes, *span)
    axes.tick_params(axis="x", labelbottom=False)
    strip = sheet.axes(left, sheet.bottom + 0.42, wide, sum(highs))
    _strips(strip, drawn, names, highs, span, wide)
    return sheet.figure


def _lines(axes: Axes, drawn: list[_Drawn], most: float) -> None:
    for place, each in enumerate(drawn):
        colour, dashes, thick = each.look
        (line,) = axes.plot(
            each.edges,
            each.storage,
            color=colour,
            linestyle=dashes,
            linewidth=thick,
            label=each.name,
            zorder=4 if place == 0 else 3 - 0.01 * place,
        )
        line.set_rasterized(each.edges.size > 15_000)
    axes.set_ylim(0, most * 1.04)
    axes.grid(axis="y")
    amounts(axes, 0, most)


def _entry(each: _Drawn) -> Artist:
    colour, dashes, thick = each.look
    return Line2D([], [], color=colour, linestyle=dashes, linewidth=thick, label=words.plain(each.name))


def _marks_key(made: Comparison) -> list[Artist]:
    readings = [read(each.ledger, each.scores) for each in made.compared]
    known: list[Artist] = []
    if any(reading.covered.any() for reading in readings):
        known.append(look.COVERED.patch())
    if any(reading.unserved.any() for reading in readings):
        known.append(look.UNSERVED.patch())
    return known


def _rain(axes: Axes, present: Compared, span: tuple[float, float], system: units.System) -> None:
    factor, unit = units.scale("depth", system)
    x, depth = numbers(present.ledger.days), present.ledger.flux("rain") * factor
    bars = [(a, a + 1, 0.0, d) for a, d in zip(x.tolist(), depth.tolist(), strict=True) if d > 0]
    axes.add_collection(boxes(bars, look.RAIN), autolim=False)
    most = float(depth.max(initial=0.0)) or 1.0
    axes.set_xlim(*span)
    axes.set_ylim(most * 1.05, 0)
    amounts(axes, 0, most, steps=2)
    axes.set_xticks([])
    axes.set_ylabel(f"Rain\n[{unit}/day]")
    axes.spines["top"].set_visible(True)
    axes.spines["bottom"].set_visible(False)


def _strips(
    axes: Axes,
    drawn: list[_Drawn],
    names: list[list[str]],
    highs: list[float],
    span: tuple[float, float],
    wide: float,
) -> None:
    """A strip for each set-up with its dry days, its name before it and their number behind it."""
    edges = np.concatenate([[0.0], np.cumsum(highs)])
    least = LEAST_MARK * (span[1] - span[0]) / wide
    for i, each in enumerate(drawn):
        low, high = edges[i] + 0.03, edges[i + 1] - 0.03
        axes.add_collection(boxes([(*span, low, high)], look.NO_DRY_DAY, zorder=1), autolim=False)
        reading = read(each.compared.ledger, each.compared.scores)
        x = reading.number
        for role, flags in ((look.COVERED, reading.covered), (look.UNSERVED, reading.unserved)):
            spans = [(float(x[a]), float(x[b - 1]) + 1) for a, b in runs(flags)]
            places = [(a, b, low, high) for a, b in widened(spans, least)]
            if places:
                axes.add_collection(boxes(places, role), autolim=False)
        axes.text(
            1.01,
            (low + high) / 2,
            f"{each.compared.scores.dry_days.total:,}",
            transform=axes.get_yaxis_transform(),
            va="center",
            fontsize=look.TICK,
        )
    axes.set_ylim(edges[-1], 0)
    axes.set_yticks((edges[:-1] + edges[1:]) / 2, ["\n".join(lines) for lines in names])
    axes.tick_params(axis="y", length=0)
    axes.text(
        1.01,
        0,
        "dry days",
        transform=axes.get_yaxis_transform(),
        va="bottom",
        fontsize=look.NOTE,
        color=look.FAINT,
    )
    for side in ("left", "bottom"):
        axes.spines[side].set_visible(False)
    time_axis(axes, *span)


# ------------------------------------------------------------------------------------------- words


def foot(made: Comparison) -> list[str]:
    """Source of the weather, and how the set-ups came into the days shown."""
    said = source(made.compared[0].ledger)
    if made.window is None:
        return said
    if made.starting is None:
        return [*said, f"Shown: {made.window.why}. Every set-up was run from the first day of the record on."]
    level = made.starting
    how = (
        f"{100 * level.share:.0f} % of what its tanks can give"
        if level.share is not None
        else f"{level.volume:,.0f} L"
    )
    return [*said, f"Shown: {made.window.why}. Every set-up starts with {how}; {made.assumed}."]
