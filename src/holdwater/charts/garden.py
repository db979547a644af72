"""Garden beds through a season: how dry the root zone was, what came in, and when the crop lacked water."""

from __future__ import annotations

import datetime as dt
from collections.abc import Sequence

import numpy as np
from matplotlib.artist import Artist
from matplotlib.axes import Axes
from matplotlib.figure import Figure
from matplotlib.lines import Line2D

from holdwater import units, words
from holdwater.charts import look
from holdwater.charts.beds import Bed, Span, finding, read_beds, spans, when
from holdwater.charts.fitting import shortened
from holdwater.charts.reading import Numbers, amounts, boxes, numbers, runs, time_axis, widened
from holdwater.charts.sheet import LEFT, RIGHT, WIDTH, Sheet, page, source, width
from holdwater.ledger import Ledger
from holdwater.scores import Scores

TALL = 2.65  # of a bed [in]
BETWEEN = 0.3  # two seasons side by side [in]
MOST_BEDS = 6
RAIN_PART = 0.34  # of the height, for rain and watering
STRIP = 0.075  # of the height of the soil, for each row of marks
LEAST_MARK = 0.018  # [in]

SOIL = look.Role("water left for the roots", look.WATER.colour)
FULL = look.Role("field capacity", look.INK)
STRESS_BEGINS = look.Role("stress begins", look.RESERVE.colour, line="--")
WATERED = look.Role("watered from the tanks", look.ROOF.colour)
BY_BACKUP = look.Role("watered by backup", look.BACKUP.colour)
STRESS = look.Role("crop short of water", look.UNSERVED.colour)
HELD_BACK = look.Role("held back by its own rule", look.COVERED.colour)
SHORT_OF = look.Role("tanks fell short of what it asked", look.INK)

TOUCHING = (
    (look.RAIN.colour, WATERED.colour, BY_BACKUP.colour, look.RAIN.colour),
    (SOIL.colour, look.WATER_LINE.colour, look.PAPER),
    (STRESS.colour, HELD_BACK.colour, SHORT_OF.colour),
)


def garden_chart(
    ledger: Ledger,
    scores: Scores,
    system: units.System,
    span: tuple[dt.date, dt.date] | None = None,
) -> Figure:
    """Draw how dry each bed was, through its worst season and its last one.

    Parameters
    ----------
    ledger : Ledger
        The run, with at least one bed.
    scores : Scores
        What it says.
    system : str
        "us" or "metric".
    span : tuple of date, optional
        First and last day to show of every bed instead.

    Returns
    -------
    matplotlib.figure.Figure
        For each bed the water missing in the root zone [in or mm], with rain and watering hanging from
        the top and the days of stress below. A crop's worst season is the one with most days of stress.

    Raises
    ------
    ValueError
        The run has no bed, or none of the days of `span`.
    """
    if not scores.beds:
        raise ValueError("a garden chart needs a garden draw")
    with look.style():
        factor, unit = units.scale("depth", system)
        beds = read_beds(ledger, scores, factor)[:MOST_BEDS]
        shown = [spans(ledger, b, span) for b in range(len(beds))]
        left_out = len(scores.beds) - len(beds)
        notes = [f"{words.count(left_out, 'more bed')} not drawn."] if left_out else []
        notes.append(f"Evapotranspiration: {ledger.data['et0'].attrs['source']}.")
        room = 0.62 + TALL * len(beds)
        made = page(ledger.scenario.title, finding(scores), [*source(ledger), *notes], room)
        top = made.key(_entries(beds, shown), made.top)
        each = (top - made.bottom) / len(beds)
        for i, (bed, seasons) in enumerate(zip(beds, shown, strict=True)):
            foot = top - (i + 1) * each
            _row(made, ledger, bed, seasons, (foot, each), unit)
        return made.figure


def _entries(beds: Sequence[Bed], shown: Sequence[Sequence[Span]]) -> list[Artist]:
    """Legend: only what is in the picture."""

    def any_of(column: str) -> bool:
        return any(
            getattr(bed, column)[a:e].any()
            for bed, seasons in zip(beds, shown, strict=True)
            for a, e in seasons
        )

    known: list[Artist] = [SOIL.patch(), look.RAIN.patch("rain")]
    for column, role in (
        ("tanks", WATERED),
        ("backup", BY_BACKUP),
        ("stress", STRESS),
        ("held_back", HELD_BACK),
        ("short", SHORT_OF),
    ):
        if any_of(column):
            known.append(role.patch())
    dashes = STRESS_BEGINS
    known.append(Line2D([], [], color=dashes.colour, linestyle=dashes.line, label=dashes.label))
    return known


def _row(
    made: Sheet, ledger: Ledger, bed: Bed, seasons: Sequence[Span], place: tuple[float, float], unit: str
) -> None:
    """One bed: its seasons side by side, on the same scales."""
    foot, tall = place
    wide = (WIDTH - LEFT - RIGHT - BETWEEN * (len(seasons) - 1)) / len(seasons)
    most = max(float((bed.rain + bed.tanks + bed.backup)[a:e].max(initial=0.0)) for a, e in seasons) or 1.0
    for i, (a, e) in enumerate(seasons):
        left = LEFT + i * (wide + BETWEEN)
        days = int(bed.stress[a:e].sum())
        season = when(ledger, a, e) + (f", the {('worst', 'last')[i]}" if len(seasons) == 2 else "")
        lacked = f"short of water on {words.count(days, 'day')}" if days else "never short of water"
        told = f", {season}: {lacked}"
        name = shortened(bed.score.name, wide - width(told, look.TICK, bold=True))
        made.words(name + told, left, foot + tall - 0.02, look.TICK, bold=True)
        axes = made.axes(left, foot + 0.45, wide, tall - 0.72)
        _panel(axes, numbers(ledger.days), bed, (a, e), most, wide)
        _mark_planting(axes, ledger, bed, (a, e))
        if i == 0:
            axes.set_ylabel(
                f"Water missing in\nthe root zone [{unit}]", y=_middle_of_soil(), fontsize=look.LABEL
            )
        else:
            axes.set_yticklabels([])
        if i == len(seasons) - 1:
            _names(axes, bed, most, unit)


def _middle_of_soil() -> float:
    """Middle of the soil as a share of the height of a panel."""
    return (1 - RAIN_PART) / 2


def _panel(axes: Axes, x: Numbers, bed: Bed, span: Span, most: float, wide: float) -> None:
    """Draw one season: the soil, its marks below, rain and watering above."""
    a, e = span
    deep = bed.available
    axes.set_ylim(-deep * (1 + 2.6 * STRIP), deep * RAIN_PART / (1 - RAIN_PART))
    edges = np.append(x[a:e], x[e - 1] + 1)
    level = -bed.depletion[a : e + 1]
    axes.fill_between(edges, level, -deep, color=SOIL.colour, linewidth=0, zorder=1)
    axes.plot(edges, level, color=look.WATER_LINE.colour, linewidth=1.0, zorder=3, label="depletion")
    axes.step(
        edges,
        -np.append(bed.ready[a:e], bed.ready[e - 1]),
        where="post",
        color=STRESS_BEGINS.colour,
        linestyle=STRESS_BEGINS.line,
        linewidth=1.1,
        zorder=4,
        label="ready",
    )
    for height in (0.0, -deep):
        axes.axhline(height, color=look.FAINT, linewidth=0.8, zorder=2)
    _hang(axes, x, bed, span, most)
    least = LEAST_MARK * (e - a) / wide
    for role, flags, place in (
        (STRESS, bed.stress, 0),
        (HELD_BACK, bed.held_back, 1),
        (SHORT_OF, bed.short, 1),
    ):
        marks = [(float(x[p + a]), float(x[q - 1 + a]) + 1) for p, q in runs(flags[a:e])]
        high = -deep * (1 + STRIP * (0.3 + 1.15 * place))
        if marks:
            low = high - deep * STRIP
            axes.add_collection(
                boxes([(p, q, low, high) for p, q in widened(marks, least)], role, zorder=5), autolim=False
            )
    time_axis(axes, float(x[a]), float(x[e - 1]) + 1)
    amounts(axes, -deep, 0.0, steps=4)


def _mark_planting(axes: Axes, ledger: Ledger, bed: Bed, span: Span) -> None:
    """A line through the soil on the day the crop was planted, with the date at its foot."""
    for day in bed.planted(span):
        x = float(numbers(ledger.days)[day])
        axes.plot([x, x], [0.0, -bed.available], color=look.INK, linewidth=1.0, zorder=4.5, label="planted")
        date = words.briefly(ledger.days[day].item()).rsplit(" ", 1)[0]
        axes.annotate(
            f"planted\n{date}",
            (x, -bed.available),
            (4, 4),
            textcoords="offset points",
            fontsize=look.NOTE,
            ha="left",
            va="bottom",
            linespacing=1.1,
            zorder=6,
            bbox=look.LIFTED,
        )


def _hang(axes: Axes, x: Numbers, bed: Bed, span: Span, most: float) -> None:
    """Hang rain, and below it what was watered on the same day, from the top."""
    a, e = span
    top = axes.get_ylim()[1]
    scale = top * 0.94 / most
    start = np.zeros(e - a)
    for role, column in ((look.RAIN, bed.rain), (WATERED, bed.tanks), (BY_BACKUP, bed.backup)):
        depth = column[a:e] * scale
        bars = [
            (float(x[a + i]), float(x[a + i]) + 1, top - start[i] - depth[i], top - start[i])
            for i in np.flatnonzero(depth > 0)
        ]
        if bars:
            axes.add_collection(boxes(bars, role), autolim=False)
        start = start + depth
    axes.axhline(top, color=look.FAINT, linewidth=0.8, zorder=2, clip_on=False)


def _names(axes: Axes, bed: Bed, most: float, unit: str) -> None:
    """Name the levels of the soil and the scale of the rain at the right edge."""
    top = axes.get_ylim()[1]
    ready = float(bed.ready.mean())
    named = [
        (f"up to {units.figures(most, 2)} {unit}\na day", top, "top", look.INK),
        (FULL.label, 0.0, "center", FULL.colour),
        (STRESS_BEGINS.label, -ready, "center", STRESS_BEGINS.colour),
        ("wilting", -bed.available, "center", look.INK),
    ]
    for text, height, side, colour in named:
        axes.text(
            1.012,
            height,
            text,
            color=colour,
            transform=axes.get_yaxis_transform(),
            fontsize=look.TICK,
            ha="left",
            va=side,
        )
