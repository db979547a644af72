"""The tanks to scale: pads, outlets, overflow lips, the water surface at full and at empty, what is stranded."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from matplotlib.artist import Artist
from matplotlib.axes import Axes
from matplotlib.figure import Figure
from matplotlib.lines import Line2D
from matplotlib.ticker import FuncFormatter

from holdwater import words
from holdwater.charts import look, vessels
from holdwater.charts.reading import amounts
from holdwater.charts.sheet import LEFT, LINE_HEIGHT, POINTS, WIDTH, Sheet, page, wrap
from holdwater.charts.vessels import (
    BELOW,
    EMPTY,
    FULL,
    LINE_WIDTH,
    NEVER,
    PAD,
    PIPE,
    PIPE_WIDTH,
    SPILL,
    Column,
)
from holdwater.scenario.schema import Scenario
from holdwater.site.layout import Layout, layout
from holdwater.units import CUBIC_METRES_FROM, System, scale, show

LEAST_TOLD = 1e-6
"""Share of a tank below which water that can never fill is rounding, not told."""
MOST_IN_A_ROW = 7
"""Tanks side by side, so that there is room for the words under each."""
TALL, LOW = 3.1, 2.2
"""Height of the drawing when one row does, and of each of several rows [in]."""
WIDEST_COLUMN, FILLS, WORDS_FILL = 3.2, 0.68, 0.92
"""Widest column of one tank [in], and the shares of it that the widest tank and the words take."""
HEADING, GAP, BETWEEN = 0.46, 0.08, 0.14
"""Room above a row for words, above the words under it, and between rows [in]."""
RIGHT = 0.4
LONGER = {"us": (240.0, 12.0, "ft"), "metric": (600.0, 100.0, "m")}
"""From so many in or cm on heights are shown in a longer unit, so many times as long."""
LINE = look.NOTE * LINE_HEIGHT / POINTS


@dataclass(frozen=True)
class Heights:
    """How heights are shown: units to a millimetre, their name, and the ends of the axis in that unit."""

    factor: float
    unit: str
    low: float
    high: float

    def text(self, height: float) -> str:
        """Write a height above the datum, kept in mm."""
        shown = f"{height * self.factor:,.{1 if self.unit in ('in', 'cm') else 2}f}".rstrip("0").rstrip(".")
        return f"{'0' if shown == '-0' else shown} {self.unit}"


def levels_chart(scenario: Scenario, system: System) -> Figure:
    """Draw the tanks of a holding with every valve open, heights to scale.

    Parameters
    ----------
    scenario : Scenario
        The checked holding.
    system : str
        "us" or "metric".

    Returns
    -------
    matplotlib.figure.Figure
        Tanks from left to right, those joined at the bottom side by side under one bracket; under each its
        name, volumes and heights above the common datum.
    """
    plan = layout(scenario)
    heights, rows = _heights(plan, system), _rows(plan)
    tall, wide = TALL if len(rows) == 1 else LOW, WIDTH - LEFT - RIGHT
    column = min(WIDEST_COLUMN, wide / max(map(len, rows)))
    stood = tall / (heights.high - heights.low) * heights.factor  # drawn inches to a millimetre of height
    across = min(stood, column * FILLS / max(map(vessels.breadth, plan.vessels)))
    with look.style():
        blocks = [
            [_words(scenario, plan, t, heights, system, column * WORDS_FILL) for t in row] for row in rows
        ]
        deep = [max(len(names) + len(rest) for names, rest in block) * LINE for block in blocks]
        said, foot, entries = finding(plan, system), _foot(plan, stood / across), _entries(plan)
        probe = page(scenario.title, said, foot, 1.0)
        legend = probe.top - probe.key(entries, probe.top)
        room = legend + sum(HEADING + tall + GAP + depth + BETWEEN for depth in deep) - BETWEEN
        made = page(scenario.title, said, foot, room)
        top = made.key(entries, made.top)
        for row, block, depth in zip(rows, blocks, deep, strict=True):
            low = top - HEADING - tall
            axes = made.axes(LEFT, low, wide, tall)
            _frame(axes, wide, heights)
            start = (wide - column * len(row)) / 2.0
            placed = [
                Column(t, plan.vessels[t], start + (i + 0.5) * column, across, heights.factor)
                for i, t in enumerate(row)
            ]
            vessels.draw(axes, scenario, plan, placed)
            _headings(axes, plan, placed, column, heights, system)
            _captions(made, placed, block, low - GAP)
            top = low - GAP - depth - BETWEEN
        return made.figure


def finding(plan: Layout, system: System) -> str:
    """Say how much of what the tanks hold can be drawn, and what keeps the rest."""
    whole = math.fsum(vessel.capacity for vessel in plan.vessels)
    top = math.fsum(volume for joined in plan.joined for volume in joined.stranded_top.values())
    bottom = math.fsum(volume for joined in plan.joined for volume in joined.stranded_bottom.values())
    told = top > LEAST_TOLD * whole
    outlets = "the outlet" if len(plan.vessels) == 1 else "the outlets"
    stays = f"; {_volume(bottom, system)} stay below {outlets}" if bottom else ""
    drawn = (
        f"; {_volume(whole - top - bottom, system)} can be drawn" if told or bottom else " and can be drawn"
    )
    if not told:
        return f"All {_volume(whole, system)} can fill{stays}{drawn}."
    return (
        f"{_volume(top, system)} of the {_volume(whole, system)} can never fill, since joined tanks spill at the"
        f" lowest lip{stays}{drawn}."
    )


def _volume(volume: float, system: System) -> str:
    """A volume without needless decimals: "92 gal", "37.9 m3"."""
    return show(volume, "volume", system, 3 if system == "metric" and volume >= CUBIC_METRES_FROM else 2)


def _heights(plan: Layout, system: System) -> Heights:
    """Unit and ends of the axis of heights: from below the lowest pad to above the highest lip."""
    factor, unit = scale("height", system)
    low = min(vessel.base for vessel in plan.vessels)
    high = max(plan.lip(t) for t in range(len(plan.vessels)))
    limit, times, longer = LONGER[system]
    if max(abs(low), abs(high)) * factor >= limit:
        factor, unit = factor / times, longer
    if 0.0 < low < 0.5 * (high - low):
        low = 0.0
    return Heights(factor, unit, (low - 0.06 * (high - low)) * factor, (high + 0.05 * (high - low)) * factor)


def _rows(plan: Layout) -> list[list[int]]:
    """Tanks in rows; groups stay together where they fit into one row."""
    rows: list[list[int]] = [[]]
    for members in plan.groups:
        if rows[-1] and len(rows[-1]) + len(members) > MOST_IN_A_ROW:
            rows.append([])
        for t in members:
            if len(rows[-1]) == MOST_IN_A_ROW:
                rows.append([])
            rows[-1].append(t)
    return rows


def _frame(axes: Axes, wide: float, heights: Heights) -> None:
    axes.set_xlim(0.0, wide)
    axes.set_ylim(heights.low, heights.high)
    axes.set_xticks([])
    amounts(axes, heights.low, heights.high)
    axes.yaxis.set_major_formatter(
        FuncFormatter(lambda height, _: f"{height:,.10g}")
    )  # below the datum: minus
    axes.set_ylabel(f"height above the datum [{heights.unit}]")
    axes.spines["bottom"].set_visible(False)
    axes.grid(axis="y", zorder=0)


def _headings(
    axes: Axes, plan: Layout, placed: Sequence[Column], column: float, heights: Heights, system: System
) -> None:
    """Above each group: a bracket over its tanks, its height when full and what it gives."""
    across = axes.get_xaxis_transform()
    for members, joined in zip(plan.groups, plan.joined, strict=True):
        mine = [each.middle for each in placed if each.tank in members]
        if not mine:
            continue
        full = f"full at {heights.text(plan.full(members[0]))}"
        lead = f"{len(members)} joined, {full}" if len(members) > 1 else full
        if len(members) > 1:
            ends = (mine[0] - column * 0.42, mine[-1] + column * 0.42)
            axes.plot(ends, [1.02, 1.02], transform=across, color=look.INK, linewidth=1.0, clip_on=False)
        axes.text(
            (mine[0] + mine[-1]) / 2.0,
            1.035,
            f"{lead}\n{_volume(joined.capacity, system)} to draw",
            transform=across,
            ha="center",
            va="bottom",
            fontsize=look.TICK if column > 1.3 or len(mine) > 1 else look.NOTE,
            linespacing=1.2,
        )


def _words(
    scenario: Scenario, plan: Layout, tank: int, heights: Heights, system: System, room: float
) -> tuple[list[str], list[str]]:
    """Lines under a tank: its name, and what there is to know of it."""
    vessel = plan.vessels[tank]
    joined = next(each for each in plan.joined if tank in each.tanks)
    top, bottom = joined.stranded_top[tank], joined.stranded_bottom[tank]
    said = [
        f"{_volume(vessel.capacity, system)} to the lip",
        f"lip at {heights.text(plan.lip(tank))}",
        f"outlet at {heights.text(vessel.base + vessel.outlet)}",
        f"base at {heights.text(vessel.base)}",
        *([f"never fills: {_volume(top, system)}"] if top > LEAST_TOLD * vessel.capacity else []),
        *([f"below outlet: {_volume(bottom, system)}"] if bottom else []),
        f"overflows to {words.plain(scenario.tank[tank].overflow_to)}"
        if joined.spills_from == tank
        else f"spills at {words.plain(plan.vessels[joined.spills_from].name)}",
    ]
    name = wrap(words.plain(vessel.name), look.NOTE, room, bold=True)
    return name, [part for line in said for part in wrap(line, look.NOTE, room)]


def _captions(
    made: Sheet, placed: Sequence[Column], blocks: Sequence[tuple[list[str], list[str]]], top: float
) -> None:
    for column, (names, rest) in zip(placed, blocks, strict=True):
        for i, said in enumerate([*names, *rest]):
            made.figure.text(
                (LEFT + column.middle) / WIDTH,
                (top - i * LINE) / made.height,
                said,
                fontsize=look.NOTE,
                fontweight="bold" if i < len(names) else "normal",
                ha="center",
                va="top",
            )


def _entries(plan: Layout) -> list[Artist]:
    """Legend: only what is in the picture."""
    top = any(
        volume > LEAST_TOLD * plan.vessels[t].capacity
        for joined in plan.joined
        for t, volume in joined.stranded_top.items()
    )
    bottom = any(v > 0.0 for joined in plan.joined for v in joined.stranded_bottom.values())
    filled = ((look.WATER, True), (BELOW, bottom), (NEVER, top), (PAD, True))
    entries: list[Artist] = [role.patch() for role, there in filled if there]
    for role in (FULL, EMPTY):
        entries.append(
            Line2D([], [], color=role.colour, linestyle=role.line, linewidth=LINE_WIDTH, label=role.label)
        )
    if any(len(members) > 1 for members in plan.groups):
        entries.append(Line2D([], [], color=PIPE.colour, linewidth=PIPE_WIDTH, label=PIPE.label))
    entries.append(
        Line2D([], [], color=SPILL.colour, linewidth=1.4, marker=">", markersize=5, label=SPILL.label)
    )
    return entries


def _foot(plan: Layout, stretch: float) -> list[str]:
    """Which heights and widths these are, and what holds for joined tanks."""
    scales = (
        "Heights and widths to one scale."
        if stretch < 1.005
        else f"Heights to scale; widths to scale with one another, heights drawn {stretch:.1f} times as large."
    )
    if any(len(vessel.levels) > 2 for vessel in plan.vessels):
        scales += " A tank that is no cylinder is drawn round, with its own area at each height."
    return [
        "Heights count from the datum of the pads' base heights. " + scales,
        "Every valve open: joined tanks share one water surface and spill at the lowest lip; what is below a tank's"
        " own outlet stays in it.",
    ]
