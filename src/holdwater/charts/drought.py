"""Drought timeline: spells without rain, months of unusual dryness and spells of dry tanks on one axis of time."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from matplotlib.artist import Artist
from matplotlib.axes import Axes
from matplotlib.figure import Figure

from holdwater import spi, units, words
from holdwater.charts import filled, look
from holdwater.charts.reading import Reading, amounts, boxes, number, numbers, read, runs, time_axis, widened
from holdwater.charts.sheet import LEFT, MARGIN, WIDTH, sheet, width
from holdwater.ledger import Ledger
from holdwater.scores import Scores
from holdwater.spells import DRY_DAY_RAIN, Spell

LANE = 1.75  # height of a lane [in]
GAP = 0.32
WEEK = 7  # days
ALL_SPELLS_UP_TO = 3 * 366  # days
LEAST_MARK = 0.02
NAMED = 3  # spells named in each lane
LARGEST_DRAWN = 3000  # bars drawn as shapes; more become a picture inside the drawing
HEADROOM = 1.18
ROW = 0.17  # height of a row of months [in]
SPI_LANE = ROW * len(spi.SPANS)
SPI_CLASSES = (
    (-1.0, -1.5, look.Role("moderately dry", "#e3b778")),
    (-1.5, -2.0, look.Role("severely dry", "#b0641f")),
    (-2.0, -np.inf, look.Role("extremely dry", "#45200b")),
)
NOT_DRY = look.Role("near normal or wet", "#eef1f3")


@dataclass(frozen=True)
class Lane:
    """One strip of the timeline.

    Attributes
    ----------
    heading : str
        What its bars are.
    spells : list of Spell
        One bar each, as wide as it lasted and as high as it was long.
    role : look.Role
        How a bar looks.
    darker : list of bool
        The bars that look like an unserved day instead.
    """

    heading: str
    spells: list[Spell]
    role: look.Role
    darker: list[bool]


def drought_chart(ledger: Ledger, scores: Scores, system: units.System) -> Figure:
    """Draw rainless spells above dry spells, so that cause and effect stand one over the other.

    Between them stands the standardised precipitation index (SPI) where the record has its 30 years.

    Parameters
    ----------
    ledger : Ledger
        The run.
    scores : Scores
        Gives the spells.
    system : str
        "us" or "metric".

    Returns
    -------
    matplotlib.figure.Figure
        Lanes on one axis of time, lengths of spells upwards [days]; months of the SPI by class.
    """
    with look.style():
        reading = read(ledger, scores)
        lanes = _lanes(ledger, scores, reading, system)
        span = (float(reading.number[0]), float(reading.number[-1]) + 1)
        short = spi.too_short(ledger.days)
        between = 0.3 if short else SPI_LANE + GAP
        made = sheet(ledger, finding(ledger, scores), 0.75 + len(lanes) * (LANE + GAP) + between)
        top = made.key(_entries(lanes, reading), made.top) + 0.04
        places = [top - (LANE + GAP), top - 2 * (LANE + GAP) - between]
        for i, (lane, bottom) in enumerate(zip(lanes, places, strict=True)):
            axes = made.axes(LEFT, bottom, WIDTH - LEFT - MARGIN, LANE)
            _ground(axes, reading)
            _bars(axes, lane, span)
            _mark_time(axes, span, lowest=i == len(lanes) - 1)
            _name_longest(axes, lane, span)
            if i == 0:
                _mark_filled(axes, reading)
        if short:
            made.words(f"Not shown: {short}.", LEFT, places[0] - 0.14, look.TICK, colour=look.FAINT)
        else:
            rows = made.axes(LEFT, places[0] - GAP - SPI_LANE, WIDTH - LEFT - MARGIN, SPI_LANE)
            _index(rows, ledger, span)
        return made.figure


def finding(ledger: Ledger, scores: Scores) -> str:
    """Say how long the longest rainless spell was, what it did to the tanks, and when they were dry longest."""
    rainless, dry = scores.longest_rainless_spell, scores.longest_dry_spell
    record = words.span(*ledger.period)
    if rainless is None:
        start = f"No day without rain in {record}"
        return f"{start}, and the tanks never ran dry." if dry is None else f"{start}; {_longest_dry(dry)}."
    longest = words.spell(rainless.days, rainless.first)
    if dry is None:
        return f"The tanks never ran dry in {record}, not even in the longest rainless spell, {longest}."
    first = int((np.datetime64(rainless.first) - ledger.days[0]).astype(int))
    brought = int(scores.dry_day[first : first + rainless.days].sum())
    counted = words.count(brought, "dry day") if brought else "no dry day"
    return f"The longest rainless spell, {longest}, brought {counted}; {_longest_dry(dry)}."


def _longest_dry(dry: Spell) -> str:
    """Name the longest dry spell."""
    return f"the longest dry spell was {words.spell(dry.days, dry.first)}"


def _lanes(ledger: Ledger, scores: Scores, reading: Reading, system: units.System) -> list[Lane]:
    """The lanes from the top; a long record shows only rainless spells of a week or more."""
    depth = units.show(DRY_DAY_RAIN, "depth", system, digits=1)
    least = WEEK if ledger.days.size > ALL_SPELLS_UP_TO else 1
    rainless = [spell for spell in scores.rainless_spells if spell.days >= least]
    which = f"Rainless spells of {least} days or more" if least > 1 else "Rainless spells"
    unserved = [bool(reading.unserved[a:b].any()) for a, b in runs(reading.dry)]
    return [
        Lane(f"{which} (less than {depth} a day)", rainless, look.RAINLESS, [False] * len(rainless)),
        Lane(
            "Dry spells (the tanks could not give all that was asked)",
            scores.dry_spells,
            look.COVERED,
            unserved,
        ),
    ]


def _entries(lanes: list[Lane], reading: Reading) -> list[Artist]:
    """Legend: only what is in the picture."""
    known: list[Artist] = [look.RAINLESS.patch()]
    if not all(lanes[-1].darker):
        known.append(look.COVERED.patch("dry spell, backup covered the rest"))
    if any(lanes[-1].darker):
        known.append(look.UNSERVED.patch("dry spell with unserved days"))
    if reading.dry.any():
        known.append(look.SHADE.patch())
    if reading.filled.any():
        known.append(filled.entry())
    return known


def _index(axes: Axes, ledger: Ledger, span: tuple[float, float]) -> None:
    """Draw a row of months for each number of months summed, the drier the darker, with its own key."""
    index = spi.spi(ledger.days, ledger.flux("rain"))
    starts, ends = numbers(index.months), numbers(index.months + 1)
    for row, values in enumerate(index.values.values()):
        known = ~np.isnan(values)
        for low, high, role in ((np.inf, SPI_CLASSES[0][0], NOT_DRY), *SPI_CLASSES):
            inside = known & (values <= low) & (values > high)
            months = [(starts[a], ends[b - 1], row + 0.06, row + 0.94) for a, b in runs(inside)]
            if months:
                axes.add_collection(boxes(months, role, zorder=2), autolim=False)
    axes.set_ylim(len(index.values), 0)
    axes.set_yticks(np.arange(len(index.values)) + 0.5, [f"{span_}" for span_ in index.values])
    axes.tick_params(axis="y", length=0)
    axes.set_ylabel("months")
    for side in axes.spines.values():
        side.set_visible(False)
    _mark_time(axes, span, lowest=False)
    axes.text(
        0,
        1.07,
        "Dryness of the last 1, 3, 6 and 12 months for the season (SPI)",
        transform=axes.transAxes,
        fontsize=look.TICK,
        fontweight="bold",
        va="bottom",
    )
    axes.legend(
        handles=[role.patch() for _, _, role in SPI_CLASSES],
        loc="lower right",
        bbox_to_anchor=(1.0, 1.0),
        ncols=len(SPI_CLASSES),
        borderpad=0,
        borderaxespad=0.25,
        handlelength=1.4,
        handleheight=0.8,
        columnspacing=1.2,
    )


def _ground(axes: Axes, reading: Reading) -> None:
    """Shade the dry days through a lane."""
    x = reading.number
    least = LEAST_MARK * float(x[-1] + 1 - x[0]) / (WIDTH - LEFT - MARGIN)
    spans = [(float(x[a]), float(x[b - 1]) + 1) for a, b in runs(reading.dry)]
    if spans:
        shade = boxes([(a, b, 0, 1) for a, b in widened(spans, least)], look.SHADE, zorder=0.5)
        shade.set_transform(axes.get_xaxis_transform())
        axes.add_collection(shade, autolim=False)


def _mark_filled(axes: Axes, reading: Reading) -> None:
    """Mark the days whose rain was filled in along the upper edge of the rainless spells."""
    x = reading.number
    spans = [(float(x[a]), float(x[b - 1]) + 1) for a, b in runs(reading.filled)]
    filled.mark_above(axes, spans, -2.5)


def _bars(axes: Axes, lane: Lane, span: tuple[float, float]) -> None:
    """Draw every spell as wide as it lasted and as high as it was long."""
    least = LEAST_MARK * (span[1] - span[0]) / (WIDTH - LEFT - MARGIN)
    for role, dark in ((lane.role, False), (look.UNSERVED, True)):
        chosen = [s for s, d in zip(lane.spells, lane.darker, strict=True) if d is dark]
        if not chosen:
            continue
        spans = widened([(number(s.first), number(s.last) + 1) for s in chosen], least)
        places = [(a, b, 0.0, float(s.days)) for (a, b), s in zip(spans, chosen, strict=True)]
        bars = boxes(places, role, zorder=2)
        bars.set_rasterized(len(chosen) > LARGEST_DRAWN)
        axes.add_collection(bars, autolim=False)
    longest = max((s.days for s in lane.spells), default=0)
    axes.set_ylim(0, max(longest, 4) * HEADROOM)
    amounts(axes, 0, max(longest, 4), steps=4, whole=True)
    axes.grid(axis="y")
    axes.set_ylabel("days in a row")
    axes.text(
        0, 1.03, lane.heading, transform=axes.transAxes, fontsize=look.TICK, fontweight="bold", va="bottom"
    )
    if not lane.spells:
        axes.text(
            0.5,
            0.45,
            "none in this record",
            transform=axes.transAxes,
            fontsize=look.LABEL,
            ha="center",
            color=look.FAINT,
        )


def _mark_time(axes: Axes, span: tuple[float, float], lowest: bool) -> None:
    """Mark the time under every lane and write it under the lowest."""
    time_axis(axes, *span)
    if not lowest:
        axes.tick_params(axis="x", which="both", labelbottom=False)


def _name_longest(axes: Axes, lane: Lane, span: tuple[float, float]) -> None:
    """Write length and first day over the longest spells, where no higher bar and no other words stand."""
    per_inch = (span[1] - span[0]) / (WIDTH - LEFT - MARGIN)
    line = axes.get_ylim()[1] * 0.16 / LANE
    bars = np.array([(number(s.first), number(s.last) + 1, s.days) for s in lane.spells]).reshape(-1, 3)
    taken: list[tuple[float, float, float]] = []
    for spell in sorted(lane.spells, key=lambda s: -s.days)[:NAMED]:
        text = f"{words.count(spell.days, 'day')} from {words.briefly(spell.first)}"
        half = width(text, look.TICK) / 2 * per_inch
        middle = (number(spell.first) + number(spell.last) + 1) / 2
        middle = min(max(middle, span[0] + half), span[1] - half)
        low = spell.days + 0.15 * line
        across = (bars[:, 0] < middle + half) & (bars[:, 1] > middle - half)
        if (bars[across, 2] > low).any() or any(
            abs(low - y) < line and abs(middle - x) < half + h for x, h, y in taken
        ):
            continue
        taken.append((middle, half, low))
        axes.text(middle, low, text, fontsize=look.TICK, ha="center", va="bottom", zorder=6, bbox=look.LIFTED)
