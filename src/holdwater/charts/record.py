"""A weather record at a glance: the rain of every year, and every day that is missing or filled."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import numpy.typing as npt
from matplotlib.artist import Artist
from matplotlib.axes import Axes
from matplotlib.figure import Figure
from matplotlib.lines import Line2D

from holdwater import words
from holdwater.charts import look
from holdwater.charts.reading import Box, amounts, boxes, name_places, runs
from holdwater.charts.sheet import LEFT, RIGHT, WIDTH, page
from holdwater.units import System, scale, show
from holdwater.weather.indices import YearIndices, by_year
from holdwater.weather.record import FILLED, Origin, Provenance, Record

OBSERVED = look.Role("a day with its own reading", "#e6ecf1")
MISSING = look.Role("missing", "#560a24")
SPREAD = look.Role("spread from a reading of several days", "#7fb1cf")
DECLARED = look.Role("absent from the log, declared dry", look.PAPER, hatch="...")
DOUBTFUL = look.Role("a value that cannot be: left out of the bars", "#a85a12")
PART = look.Role("a year known in part: rain of its known days", look.PAPER, hatch="////")
MEAN = look.Role("mean of the complete years", look.INK, line="--")
BARS, DAYS = 1.9, 2.3
"""Height of the two parts [in]."""
ROWS = 366
LEAST_COLUMNS = 8
"""Years that the picture has room for at least, so that one year does not fill it all."""
BESIDE = 1.005
"""Where words to the right of the axes begin [share of their width]."""
MOST_COUNTED = 45
LEAST_SEEN = 2.5
"""A stretch of days is drawn at least this long, so that a single missing day can be seen [days]."""

Flags = npt.NDArray[np.bool_]


def record_chart(record: Record, system: System, subject: str = "") -> Figure:
    """Draw the rain of every calendar year and, below each, its days by where their rain comes from.

    Parameters
    ----------
    record : Record
        Gaps may be open.
    system : str
        "us" or "metric".
    subject : str, optional
        What stands above the title; the source of the record if not given.

    Returns
    -------
    matplotlib.figure.Figure
        Years from left to right; above rain [in or mm], below the days from January at the top to
        December, missing and filled ones marked, the missing ones of each year counted. Days whose rain
        cannot be (`Provenance.doubtful`) are marked and left out of the sums.
    """
    with look.style():
        doubtful = _doubtful(record)
        rain = record.data["rain"].values.astype(float)
        years = by_year(record.days, np.where(doubtful, np.nan, rain))
        origin = record.data["origin"].values
        known = record.provenance
        made = page(
            subject or known.source,
            finding(record, years, system),
            source(record),
            0.6 + BARS + 0.45 + DAYS + 0.32,
        )
        top = made.key(_entries(years, origin, doubtful), made.top) - 0.12
        wide = WIDTH - LEFT - RIGHT
        above = made.axes(LEFT, top - BARS, wide, BARS)
        below = made.axes(LEFT, top - BARS - 0.45 - DAYS, wide, DAYS)
        _bars(above, years, system)
        _days(below, record, years, doubtful)
        spare = max(0.0, (LEAST_COLUMNS - len(years)) / 2)
        for axes in (above, below):
            axes.set_xlim(-0.6 - spare, len(years) - 0.4 + spare)
        _name_years(below, years)
        above.set_xticks([])
        return made.figure


def finding(record: Record, years: Sequence[YearIndices], system: System) -> str:
    """Say how much rain a year has, over how many years, and how much of the record is missing or filled."""
    whole = [year for year in years if year.complete and year.total is not None]
    if len(whole) > 1:
        totals = {year.year: year.total or 0.0 for year in whole}
        driest, wettest = min(totals, key=totals.__getitem__), max(totals, key=totals.__getitem__)
        mean = show(float(np.mean(list(totals.values()))), "depth", system)
        some = f"{len(whole)} of {len(years)} years are complete: " if len(whole) < len(years) else ""
        said = f"{some}{mean} of rain in a mean year, from {show(totals[driest], 'depth', system)} ({driest}) to "
        said += f"{show(totals[wettest], 'depth', system)} ({wettest})"
    else:
        rain = np.where(_doubtful(record), np.nan, record.data["rain"].values)
        total = show(float(np.nansum(rain)), "depth", system)
        said = f"{total} of rain on the {words.count(int((~np.isnan(rain)).sum()), 'day')} known"
    return f"{said}; {_holes(record)}."


def _holes(record: Record) -> str:
    """How many days are missing or filled, and where most of them lie."""
    origin = record.data["origin"].values
    missing, filled = origin == Origin.MISSING, np.isin(origin, FILLED)
    parts = []
    cannot_be = "left out, with a value that cannot be"
    for flags, what in ((missing, "missing"), (filled, "filled in"), (_doubtful(record), cannot_be)):
        number = int(flags.sum())
        if number:
            first, stop = max(runs(flags), key=lambda run: run[1] - run[0])
            part = f"{words.count(number, 'day')} {'is' if number == 1 else 'are'} {what}"
            if stop - first > 1:
                together = "all" if stop - first == number else f"{stop - first:,} of them"
                part += f", {together} together from {words.on(record.days[first].item())}"
            else:
                part += f", {'' if number == 1 else 'the first '}on {words.on(record.days[flags][0].item())}"
            parts.append(part)
    return "; ".join(parts) or f"no day of {words.span(record.first, record.last)} is missing"


def source(record: Record) -> list[str]:
    """Say where the record comes from, in which units it was read, and when its day ends."""
    known: Provenance = record.provenance
    named = [known.source, known.station, known.place]
    where = ", ".join(dict.fromkeys(words.plain(part) for part in named if part.strip()))
    licence = words.plain(known.licence)
    period = f"{words.briefly(record.first)} to {words.briefly(record.last)}"
    read = f" Read as {words.plain(known.units_as_read)}." if known.units_as_read else ""
    return [
        f"Weather: {where or 'source not stated'}." + (f" Licence: {licence}." if licence else ""),
        f"Period: {period} ({words.count(record.days.size, 'day')}).{read} "
        f"Day ends: {words.plain(known.day_ends)}.",
    ]


def _doubtful(record: Record) -> Flags:
    """Days whose rain cannot be."""
    return np.asarray(np.isin(record.days, np.array(record.provenance.doubtful, dtype="datetime64[D]")))


def _entries(years: Sequence[YearIndices], origin: npt.NDArray[np.int8], doubtful: Flags) -> list[Artist]:
    """Legend: only what is in the picture."""
    entries: list[Artist] = []
    if any(year.complete for year in years):
        entries.append(look.RAIN.patch("rain of a complete year"))
    if any(not year.complete for year in years):
        entries.append(PART.patch())
    if sum(year.complete for year in years) > 1:
        entries.append(Line2D([], [], color=MEAN.colour, linestyle=MEAN.line, linewidth=1, label=MEAN.label))
    kinds = (
        (OBSERVED, (Origin.OBSERVED, Origin.TRACE)),
        (MISSING, (Origin.MISSING,)),
        (look.FILLED, FILLED),
        (SPREAD, (Origin.SPREAD,)),
        (DECLARED, (Origin.DECLARED_DRY,)),
    )
    entries += [role.patch() for role, codes in kinds if np.isin(origin, codes).any()]
    return entries + ([DOUBTFUL.patch()] if doubtful.any() else [])


def _bars(axes: Axes, years: Sequence[YearIndices], system: System) -> None:
    """A bar for each year; years with missing days are hatched, since the rest of their rain is not known."""
    factor, unit = scale("depth", system)
    at, totals = np.arange(len(years)), np.array([(year.total or 0.0) * factor for year in years])
    whole = np.array([year.complete for year in years])
    axes.bar(at[whole], totals[whole], width=0.8, color=look.RAIN.colour, zorder=2)
    axes.bar(
        at[~whole],
        totals[~whole],
        width=0.8,
        facecolor=PART.colour,
        edgecolor=look.RAIN.colour,
        hatch=PART.hatch,
        linewidth=0.6,
        zorder=2,
    )
    top = max(float(totals.max(initial=0.0)), 1.0 * factor) * 1.05
    if whole.sum() > 1:
        mean = float(totals[whole].mean())
        axes.axhline(mean, color=MEAN.colour, linestyle=MEAN.line, linewidth=1, zorder=3)
        axes.text(
            BESIDE,
            mean,
            f"{mean:.3g} {unit}",
            fontsize=look.TICK,
            va="center",
            transform=axes.get_yaxis_transform(),
        )
    axes.set_ylim(0, top)
    amounts(axes, 0, top)
    axes.yaxis.grid(visible=True, color=look.GRID)
    axes.set_ylabel(f"rain in the year [{unit}]")


def _days(axes: Axes, record: Record, years: Sequence[YearIndices], doubtful: Flags) -> None:
    """A column for each year, January at the top; what is no reading of its own day is marked."""
    column = record.days.astype("datetime64[Y]").astype(np.int64) + 1970 - years[0].year
    months = record.days.astype("datetime64[M]")
    day = (record.days - months.astype("datetime64[D]")).astype(np.int64)
    row = _month_rows()[months.astype(np.int64) % 12] + day
    origin = record.data["origin"].values

    def stretches(flags: Flags, least: float = 0.0) -> list[Box]:
        found: list[Box] = []
        for i in np.unique(column[flags]):
            for first, stop in runs(flags & (column == i)):
                low, high = float(row[first]), float(row[stop - 1]) + 1
                spare = max(0.0, least - (high - low)) / 2
                low, high = max(0.0, low - spare), min(float(ROWS), high + spare)
                found.append((i - 0.4, i + 0.4, low, high))
        return found

    every = np.ones(len(origin), dtype=bool)
    axes.add_collection(boxes(stretches(every), OBSERVED, zorder=1), autolim=False)
    missing = origin == Origin.MISSING
    for role, flags in (
        (SPREAD, origin == Origin.SPREAD),
        (DECLARED, origin == Origin.DECLARED_DRY),
        (look.FILLED, np.isin(origin, FILLED)),
        (MISSING, missing),
        (DOUBTFUL, doubtful),
    ):
        if flags.any():
            axes.add_collection(boxes(stretches(flags, LEAST_SEEN), role, zorder=3), autolim=False)
    edges = np.append(_month_rows(), ROWS)
    axes.set_ylim(ROWS, 0)
    axes.set_yticks((edges[:-1] + edges[1:]) / 2, [month[:3] for month in words.MONTHS])
    axes.tick_params(axis="y", length=0)
    axes.hlines(edges, -0.5, len(years) - 0.5, color=look.PAPER, linewidth=0.8, zorder=2)
    for side in ("left", "bottom"):
        axes.spines[side].set_visible(False)
    _count_missing(axes, np.bincount(column[missing], minlength=len(years)))


def _count_missing(axes: Axes, missing: npt.NDArray[np.int64]) -> None:
    """Missing days of each year above its column, where there is room for figures."""
    if not missing.any() or len(missing) > MOST_COUNTED:
        return
    axes.text(
        BESIDE,
        -4,
        "days\nmissing",
        fontsize=look.NOTE,
        va="bottom",
        color=look.FAINT,
        transform=axes.get_yaxis_transform(),
    )
    size = look.TICK if len(missing) <= 25 else look.NOTE
    for i, days in enumerate(missing.tolist()):
        if days:
            axes.text(i, -6, f"{days}", fontsize=size, va="bottom", ha="center", color=look.INK)


def _name_years(axes: Axes, years: Sequence[YearIndices]) -> None:
    """Every year, or as many as there is room for, under the columns."""
    every = next(step for step in (1, 2, 5, 10, 20, 50) if len(years) / step <= 17)
    shown = [i for i, year in enumerate(years) if year.year % every == 0 or every == 1]
    places = np.array(shown, dtype=float)
    name_places(axes, np.array([]), places, [str(years[i].year) for i in shown])


def _month_rows() -> npt.NDArray[np.int64]:
    """Row in which each month begins; the 29 February has its row in every year."""
    lengths = np.array([31, 29, 31, 30, 31, 30, 31, 31, 30, 31, 30])
    return np.concatenate([[0], np.cumsum(lengths)])
