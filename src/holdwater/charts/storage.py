"""Water in the tanks through the whole record, with the rain hanging from the top."""

from __future__ import annotations

import datetime as dt
from dataclasses import dataclass

import numpy as np
from matplotlib.artist import Artist
from matplotlib.axes import Axes
from matplotlib.figure import Figure
from matplotlib.lines import Line2D

from holdwater import units, words
from holdwater.charts import filled, look
from holdwater.charts.reading import (
    Days,
    Numbers,
    Reading,
    amounts,
    boxes,
    daily,
    numbers,
    read,
    runs,
    time_axis,
    widened,
)
from holdwater.charts.sheet import LEFT, RIGHT, WIDTH, sheet
from holdwater.ledger import Ledger
from holdwater.scores import Scores, full_days

YEARS_IN_A_ROW = 10
MOST_ROWS = 6
DAILY_RAIN_UP_TO = 2.2 * 366
RAIN_PART = 0.36
STRIP = 0.07
LEAST_MARK = 0.02  # [in]
ABOVE = 4.0  # filled days stand so far above the rain [points]
HIGHEST_NAME = 0.58  # share of full; a reserve above it is named lower, clear of the name of the full level
LARGEST_FILL, LARGEST_LINE = 800, 15_000  # days drawn as lines; more become a picture inside the drawing


@dataclass(frozen=True)
class _Drawn:
    """What every row of the chart shares, in shown units; `brimmed` is the day's height of a full day, else NaN."""

    reading: Reading
    storage: Numbers
    brimmed: Numbers
    rain_bars: tuple[Numbers, Numbers, Numbers]
    full: float
    reserve: float
    volume: str
    depth: str
    daily_rain: bool


def storage_chart(ledger: Ledger, scores: Scores, system: units.System) -> Figure:
    """Draw the water above the outlets day by day, in rows of about ten years.

    Parameters
    ----------
    ledger : Ledger
        The run.
    scores : Scores
        What it says.
    system : str
        "us" or "metric".

    Returns
    -------
    matplotlib.figure.Figure
        Storage at the end of every day [gal or m3] from below, rain [in or mm] from above: by day up to
        two years in a row, by month beyond. Where the tanks were full before the day's draws, the line
        rises to that too.
    """
    with look.style():
        spans = rows(*ledger.period)
        drawn = _prepare(ledger, scores, system, spans)
        tall = 3.7 if len(spans) == 1 else 2.05
        made = sheet(ledger, finding(ledger, scores, system), 0.5 + len(spans) * (tall + 0.45))
        entries = _entries(drawn)
        top = made.key(entries, made.top) - (0.04 if drawn.reading.filled.any() else 0.0)
        each = (top - made.bottom) / len(spans)
        for i, span in enumerate(spans):
            axes = made.axes(LEFT, top - (i + 1) * each + 0.4, WIDTH - LEFT - RIGHT, each - 0.45)
            _row(axes, drawn, span)
        return made.figure


def finding(ledger: Ledger, scores: Scores, system: units.System) -> str:
    """Say on how many days the tanks ran dry and when longest, or how low they came."""
    name, (first, last) = words.holding(ledger.scenario.title), ledger.period
    total, longest = scores.dry_days.total, scores.longest_dry_spell
    if total == 0:
        level = daily(ledger, "drawable")[1:]
        lowest = int(np.argmin(level))
        left, full = float(level[lowest]), float(ledger.flux("drawable_capacity").sum())
        return (
            f"{name} never ran dry in {words.span(first, last)}; storage was lowest on"
            f" {words.on(ledger.days[lowest].item())}, with {units.show(left, 'volume', system)}"
            f" ({words.share(left, full or 1.0)} of full) left."
        )
    days = f"{name} ran dry on {words.days_in(total, first, last)}"
    if longest is None or total == 1:
        return f"{days}: {words.on(ledger.days[np.flatnonzero(scores.dry_day)[0]].item())}."
    return f"{days}; the longest dry spell was {words.spell(longest.days, longest.first)}."


def rows(first: dt.date, last: dt.date) -> list[tuple[float, float]]:
    """Split a record into rows of whole years, equally long, that are wide enough to read.

    Parameters
    ----------
    first, last : datetime.date
        First and last day of the record.

    Returns
    -------
    list of (float, float)
        Ends of each row [days since 1970]; a record that fits in one row ends where it ends.
    """
    years = last.year - first.year + 1
    number = min(MOST_ROWS, -(-years // YEARS_IN_A_ROW))
    start, stop = (np.datetime64(day, "D") for day in (first, last))
    if number == 1:
        return [(float(start.astype(int)), float(stop.astype(int)) + 1)]
    each = -(-years // number)
    edges = np.arange(first.year, first.year + each * number + 1, each) - 1970
    ends = numbers(edges.astype("datetime64[Y]"))
    return [
        (a, b) for a, b in zip(ends[:-1].tolist(), ends[1:].tolist(), strict=True) if a <= stop.astype(int)
    ]


def _prepare(
    ledger: Ledger, scores: Scores, system: units.System, spans: list[tuple[float, float]]
) -> _Drawn:
    """Turn litres and millimetres into what is shown."""
    by_day = spans[0][1] - spans[0][0] <= DAILY_RAIN_UP_TO
    per_volume, volume = units.scale("bulk", system)
    per_depth, depth = units.scale("depth", system)
    evenings = daily(ledger, "drawable")
    full = float(ledger.data["drawable_capacity"].values.sum())
    return _Drawn(
        read(ledger, scores),
        evenings * per_volume,
        _brimmed(ledger, evenings[1:], full) * per_volume,
        _rain_bars(ledger.days, ledger.flux("rain") * per_depth, by_day),
        full * per_volume,
        float(ledger.data["reserve"].values) * per_volume,
        volume,
        depth,
        daily_rain=by_day,
    )


def _brimmed(ledger: Ledger, evenings: Numbers, full: float) -> Numbers:
    """How high the tanks stood before the draws of a day on which they were full; NaN on all others [L].

    Under YAS they spill first and are drawn from then, so that no evening ever shows them full.
    """
    stood = np.minimum(evenings + daily(ledger, "delivered"), full)
    if ledger.scenario.run.rule != "YAS":
        return np.full(evenings.size, np.nan)
    return np.where(full_days(ledger), stood, np.nan)


def _rain_bars(days: Days, rain: Numbers, by_day: bool) -> tuple[Numbers, Numbers, Numbers]:
    """Left edges, right edges and heights of the bars of rain: one a day, or one a calendar month."""
    x = numbers(days)
    if by_day:
        return x, x + 1, rain
    months = days.astype("datetime64[M]")
    starts = np.flatnonzero(np.diff(months.astype(int), prepend=-1_000_000))
    return x[starts], np.append(x[starts[1:]], x[-1] + 1), np.add.reduceat(rain, starts)


def _entries(drawn: _Drawn) -> list[Artist]:
    """Legend: only what is in the picture."""
    every = "day" if drawn.daily_rain else "month"
    known: list[Artist] = [
        look.WATER.patch("water that can be drawn, at the end of the day"),
        look.RAIN.patch(f"rain by {every}, from the top"),
    ]
    if drawn.reading.covered.any():
        known.append(look.COVERED.patch())
    if drawn.reading.unserved.any():
        known.append(look.UNSERVED.patch())
    if drawn.reserve > 0:
        known.append(Line2D([], [], color=look.RESERVE.colour, linestyle=look.RESERVE.line, label="reserve"))
    if drawn.reading.filled.any():
        known.append(filled.entry())
    return known


def _row(axes: Axes, drawn: _Drawn, span: tuple[float, float]) -> None:
    """Draw one row: storage, levels, rain, dry days."""
    reading, whole = drawn.reading, drawn.full or 1.0
    x = reading.number
    here = (x >= span[0]) & (x < span[1])
    edges = np.append(x[here], x[here][-1:] + 1)
    level = drawn.storage[np.append(here, False) | np.append(False, here)]
    edges, level = _with_brims(edges, level, drawn.brimmed[here])
    water = axes.fill_between(edges, level, 0, color=look.WATER.colour, linewidth=0, zorder=1)
    water.set_rasterized(edges.size > LARGEST_FILL)
    (line,) = axes.plot(
        edges, level, color=look.WATER_LINE.colour, linewidth=0.9, zorder=1.1, label=look.WATER_LINE.label
    )
    line.set_rasterized(x.size > LARGEST_LINE)
    axes.axhline(drawn.full, color=look.FULL.colour, linewidth=0.8, zorder=2)
    if drawn.reserve > 0:
        axes.axhline(
            drawn.reserve, color=look.RESERVE.colour, linestyle=look.RESERVE.line, linewidth=1.1, zorder=4
        )
    axes.set_ylim(-STRIP * 1.4 * whole, whole / (1 - RAIN_PART))
    _marks(axes, drawn, span)
    time_axis(axes, *span)
    amounts(axes, 0, drawn.full)
    axes.set_ylabel(f"Drawable\nwater [{drawn.volume}]", y=(1 - RAIN_PART) / 2 + 0.03, fontsize=look.LABEL)
    _levels(axes, drawn)
    _rain(axes, drawn, span)


def _with_brims(edges: Numbers, level: Numbers, brimmed: Numbers) -> tuple[Numbers, Numbers]:
    """The line of the evenings with a point in the middle of each day on which the tanks were full."""
    at = np.flatnonzero(~np.isnan(brimmed))
    return np.insert(edges, at + 1, edges[at] + 0.5), np.insert(level, at + 1, brimmed[at])


def _marks(axes: Axes, drawn: _Drawn, span: tuple[float, float]) -> None:
    """Mark dry days in a strip under the storage, wide enough to be seen, and filled days above the rain."""
    x, whole = drawn.reading.number, drawn.full or 1.0
    here = (x >= span[0]) & (x < span[1])
    least = LEAST_MARK * (span[1] - span[0]) / (WIDTH - LEFT - RIGHT)
    axes.axhline(0, color=look.FAINT, linewidth=0.8, zorder=2)
    strip = (-STRIP * 1.2 * whole, -STRIP * 0.15 * whole)
    for role, flags in ((look.COVERED, drawn.reading.covered), (look.UNSERVED, drawn.reading.unserved)):
        spans = [(float(x[a]), float(x[b - 1]) + 1) for a, b in runs(flags & here)]
        if spans:
            places = [(a, b, *strip) for a, b in widened(spans, least)]
            axes.add_collection(boxes(places, role, zorder=5), autolim=False)
    guessed = [(float(x[a]), float(x[b - 1]) + 1) for a, b in runs(drawn.reading.filled & here)]
    filled.mark_above(axes, guessed, ABOVE)


def _levels(axes: Axes, drawn: _Drawn) -> None:
    """Name the full level and the reserve at the right edge."""
    named = [(look.FULL, drawn.full, 0.98 * drawn.full, "top")]
    if drawn.reserve > 0:
        clear = min(drawn.reserve, HIGHEST_NAME * drawn.full)
        named.append((look.RESERVE, drawn.reserve, clear, "center"))
    for role, level, height, side in named:
        axes.text(
            1.008,
            height,
            f"{role.label}\n{units.figures(level)}",
            color=role.colour,
            transform=axes.get_yaxis_transform(),
            fontsize=look.TICK,
            ha="left",
            va=side,
        )


def _rain(axes: Axes, drawn: _Drawn, span: tuple[float, float]) -> None:
    """Hang the rain from the top on an axis of its own."""
    hung = axes.twinx()
    left, right, depth = drawn.rain_bars
    here = (left >= span[0]) & (left < span[1])
    inset = 0.0 if drawn.daily_rain else 0.12
    gap = inset * (right - left)
    bars = [
        (a, b, 0.0, d)
        for a, b, d in zip(left[here] + gap[here], right[here] - gap[here], depth[here], strict=True)
        if d > 0
    ]
    hung.add_collection(boxes(bars, look.RAIN), autolim=False)
    most = float(depth.max(initial=0.0)) or 1.0
    hung.set_ylim(most / (RAIN_PART * 0.92), 0)
    hung.set_xlim(*span)
    amounts(hung, 0, 0.95 * most, steps=3)
    every = "day" if drawn.daily_rain else "month"
    hung.set_ylabel(
        f"Rain\n[{drawn.depth} per\n{every}]", rotation=0, ha="left", va="top", fontsize=look.TICK
    )
    hung.yaxis.set_label_coords(1.042, 1.02)
    hung.spines["top"].set_visible(True)
    hung.spines["right"].set_visible(True)
    hung.spines["right"].set_bounds(0, most)
