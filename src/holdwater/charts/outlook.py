"""The outlook: water in the tanks from today on in the weather of every past year, and the odds by date."""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np
from matplotlib.artist import Artist
from matplotlib.axes import Axes
from matplotlib.figure import Figure
from matplotlib.lines import Line2D
from matplotlib.ticker import FixedLocator, FuncFormatter

from holdwater import units, words
from holdwater.charts import look
from holdwater.charts.reading import Numbers, amounts, day_of, numbers, time_axis
from holdwater.charts.sheet import LEFT, RIGHT, RULES, WIDTH, page
from holdwater.studies.odds import by_date, fan, order
from holdwater.studies.outlook import Outlook
from holdwater.studies.saving import NEVER, Saving

OUTER = look.Role("8 years of 10", "#d3e3f0")
INNER = look.Role("half of the years", "#93bbd9")
MEDIAN = look.Role("median year", "#0d3b66")
DRY = look.Role("run dry at least once by then", "#560a24")
FULL_AGAIN = look.Role("full at least once by then", "#2f7fb8", line="--")
LEANEST = look.Role("leanest year", look.INK, line=":")
FAN, ODDS, GAP = 3.1, 1.55, 0.42
"""Heights of the two parts and the room between them [in]."""
HALF_A_WEEK = 3
"""Days on either side over which bands and median are smoothed."""
NAME = 12.0
"""Height of a label on the scale of shares [%]."""


def outlook_chart(seen: Outlook, system: units.System, saving: Saving | None = None) -> Figure:
    """Draw the water ahead as a fan, and under it how many years have run dry or filled by each date.

    Parameters
    ----------
    seen : Outlook
        The traces.
    system : str
        "us" or "metric".
    saving : Saving, optional
        Marks the day on which saving must start.

    Returns
    -------
    matplotlib.figure.Figure
        Storage [gal or m3] above, share of the years [%] below, on one axis of days.
    """
    with look.style():
        made = page(seen.scenario.title, finding(seen, system), sources(seen), 0.6 + FAN + GAP + ODDS + 0.36)
        top = made.key(_entries(seen), made.top) - 0.05
        wide = WIDTH - LEFT - RIGHT
        x = numbers(np.append(seen.days, seen.days[-1] + 1))
        above = made.axes(LEFT, top - FAN, wide, FAN)
        _fan(above, seen, x, system)
        below = made.axes(LEFT, top - FAN - GAP - ODDS, wide, ODDS)
        _odds(below, seen, x)
        for axes in (above, below):
            time_axis(axes, float(x[0]), float(x[-1]))
        if saving is not None:
            _mark_saving([above, below], saving, x)
        above.tick_params(axis="x", labelbottom=False)
        return made.figure


def finding(seen: Outlook, system: units.System) -> str:
    """Say in how many of the years the tanks run dry, and how long the water lasts in the median year."""
    n, dry = len(seen.traces), int(np.isfinite(seen.first_dry).sum())
    held = units.show(seen.held_L, "volume", system)
    start = f"With {held} on {words.on(day_of(seen.days[0]))}"
    end = words.on(day_of(seen.days[-1]))
    years = words.count(n, "year")
    if dry == 0:
        return f"{start} the tanks do not run dry by {end} in the weather of any of {years} on record."
    lasts = order(seen.first_dry, 0.5)
    said = f"{start} the tanks run dry by {end} in the weather of {dry} of {years}"
    if lasts is None or n < 3:
        return f"{said}."
    if math.isinf(lasts):
        return f"{said}; in the median year they hold out."
    return f"{said}; in the median year the water lasts {words.count(int(lasts), 'day')}."


def sources(seen: Outlook) -> list[str]:
    """Say what the lines are, whose weather it is, and what was assumed."""
    known = seen.record.provenance
    named = [known.source, known.station, known.place]
    where = ", ".join(dict.fromkeys(words.plain(part) for part in named if part and part.strip()))
    licence = words.plain(known.licence)
    rule = seen.scenario.run.rule
    n = len(seen.traces)
    span = f"{seen.years[0]}" if n == 1 else f"{seen.years[0]} to {seen.years[-1]}"
    chosen = ""
    if seen.alike is not None:
        chosen = (
            f" These are those of {seen.alike.out_of} in which the 90 days before were most like this year's."
        )
    return [
        f"Weather: {where or 'source not stated'}." + (f" Licence: {licence}." if licence else ""),
        f"How: today's water, run on through the weather of {words.count(n, 'past year')} ({span}), one year at a"
        f" time.{chosen} {_bands(seen)} Levels are those at the end of the day, after the draws."
        f" Rule: {rule} ({RULES[rule]}). A worse year than any on record can come.",
    ]


def _bands(seen: Outlook) -> str:
    """What the bands leave out, in plain words."""
    storage = seen.storage
    wide, narrow = fan(storage, 0.1) is not None, fan(storage, 0.25) is not None
    said = []
    if wide:
        said.append("of ten years one was drier than the pale band and one wetter")
    if narrow:
        said.append(f"of four {'' if wide else 'years '}one was drier than the dark band and one wetter")
    return f"At any date, {'; '.join(said)}. Bands and median are means of 7 days." if said else ""


def saving_day(saving: Saving | None) -> float | None:
    """Days from today to the day on which saving must start, where there is such a day."""
    if saving is None or saving.start is None or saving.start < 0.0 or saving.start == NEVER:
        return None
    return saving.start


def _entries(seen: Outlook) -> list[Artist]:
    """Legend: only what is in the picture."""
    storage = seen.storage
    known: list[Artist] = []
    if fan(storage, 0.1) is not None:
        known.append(OUTER.patch())
    if fan(storage, 0.25) is not None:
        known.append(INNER.patch())
    leanest = f"{LEANEST.label}, {seen.traces[_leanest(seen)].year}"
    lines = [
        (MEDIAN, 2.0, ""),
        (LEANEST, 1.3, leanest),
        (DRY, 1.8, ""),
        (FULL_AGAIN, 1.6, ""),
    ]
    return known + [
        Line2D([], [], color=role.colour, linestyle=role.line, linewidth=thick, label=label or role.label)
        for role, thick, label in lines
    ]


def _leanest(seen: Outlook) -> int:
    """The trace with the least water over the whole time."""
    return int(seen.storage.mean(axis=1).argmin())


def _mark_saving(both: Sequence[Axes], saving: Saving, x: Numbers) -> None:
    """Draw a line through both parts on the day on which saving must start, and say so beside it."""
    start = saving_day(saving)
    if start is None:
        return
    for axes in both:
        axes.axvline(float(x[0]) + start, color=look.INK, linewidth=1.2, zorder=6)
    late = start > 0.7 * x.size
    both[1].annotate(
        f"start saving by\n{words.briefly(day_of(np.datetime64(int(x[0] + start), 'D')))}",
        (float(x[0]) + start, 0.95),
        (-5 if late else 5, 0),
        xycoords=both[1].get_xaxis_transform(),
        textcoords="offset points",
        fontsize=look.TICK,
        ha="right" if late else "left",
        va="top",
        zorder=7,
        bbox=look.LIFTED,
    )


def _fan(axes: Axes, seen: Outlook, x: Numbers, system: units.System) -> None:
    """Bands that hold eight and five years of ten, the median, and the leanest year as it was."""
    factor, unit = units.scale("bulk", system)
    storage = seen.storage * factor
    for low, high, role in ((0.1, 0.9, OUTER), (0.25, 0.75, INNER)):
        bottom, top = fan(storage, low), fan(storage, high)
        if bottom is not None and top is not None:
            axes.fill_between(
                x, calm(bottom), calm(top), color=role.colour, linewidth=0, zorder=1, label=role.label
            )
    middle = fan(storage, 0.5)
    if middle is not None:
        axes.plot(x, calm(middle), color=MEDIAN.colour, linewidth=2.2, zorder=4, label=MEDIAN.label)
    axes.plot(
        x,
        storage[_leanest(seen)],
        color=LEANEST.colour,
        linestyle=LEANEST.line,
        linewidth=1.3,
        zorder=4.5,
        label=LEANEST.label,
    )
    full, reserve = seen.capacity_L * factor, seen.reserve_L * factor
    axes.set_ylim(0, full * 1.06)
    amounts(axes, 0, full * 1.05)
    axes.grid(axis="y")
    axes.set_ylabel(f"water above the outlets\nin the evening [{unit}]")
    axes.axhline(full, color=look.FULL.colour, linewidth=0.9, zorder=3)
    _name_level(axes, "full", full, full, look.FULL.colour)
    if reserve > 0.0:
        axes.axhline(reserve, color=look.RESERVE.colour, linestyle=look.RESERVE.line, linewidth=1.1, zorder=5)
        _name_level(axes, "reserve", reserve, reserve, look.RESERVE.colour)


def calm(line: Numbers) -> Numbers:
    """Mean of a week about each midnight, narrower towards the ends, so that single loads make no teeth.

    Parameters
    ----------
    line : ndarray, shape (n + 1,)
        A quantile of the storage at every midnight.

    Returns
    -------
    ndarray, shape (n + 1,)
        Unchanged at both ends.
    """
    sums = np.concatenate([[0.0], np.cumsum(line)])
    at = np.arange(line.size)
    reach = np.minimum(np.minimum(at, at[::-1]), HALF_A_WEEK)
    smooth: Numbers = (sums[at + reach + 1] - sums[at - reach]) / (2 * reach + 1)
    return smooth


def _name_level(axes: Axes, name: str, level: float, height: float, colour: str) -> None:
    axes.text(
        1.008,
        height,
        f"{name}\n{units.figures(level)}",
        color=colour,
        transform=axes.get_yaxis_transform(),
        fontsize=look.TICK,
        ha="left",
        va="center",
    )


def _odds(axes: Axes, seen: Outlook, x: Numbers) -> None:
    """How many of the years have run dry, or been full, by the end of each day."""
    n, days = len(seen.traces), seen.days.size
    for first, role, thick in ((seen.first_dry, DRY, 1.8), (seen.first_full, FULL_AGAIN, 1.6)):
        share = by_date(first, days) / n
        axes.step(
            x[1:],
            100 * share,
            where="post",
            color=role.colour,
            linestyle=role.line,
            linewidth=thick,
            zorder=3,
            label=role.label,
        )
    counts = [int(np.isfinite(first).sum()) for first in (seen.first_dry, seen.first_full)]
    for count, role, height in zip(counts, (DRY, FULL_AGAIN), _apart(counts, n), strict=True):
        axes.text(
            1.008,
            height,
            f"{count} of {n}",
            color=role.colour,
            transform=axes.get_yaxis_transform(),
            fontsize=look.TICK,
            ha="left",
            va="center",
        )
    axes.set_ylim(0, 100)
    axes.yaxis.set_major_locator(FixedLocator([0, 25, 50, 75, 100]))
    axes.yaxis.set_major_formatter(FuncFormatter(lambda value, _place: f"{value:.0f} %"))
    axes.grid(axis="y")
    axes.set_ylabel("share of the years")


def _apart(counts: Sequence[int], n: int) -> list[float]:
    """Heights of two labels on the scale of shares, clear of each other and of the ends [%]."""
    low, high = (min(max(100.0 * count / n, NAME / 2), 100.0 - NAME / 2) for count in sorted(counts))
    if high - low < NAME:
        middle = min(max((low + high) / 2, NAME), 100.0 - NAME)
        low, high = middle - NAME / 2, middle + NAME / 2
    return [low, high] if counts[0] <= counts[1] else [high, low]
