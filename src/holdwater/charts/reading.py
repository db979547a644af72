"""What the charts read from a ledger, as plain arrays, and the axes that need the calendar."""

from __future__ import annotations

import datetime as dt
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
from matplotlib.axes import Axes
from matplotlib.collections import PolyCollection
from matplotlib.lines import Line2D
from matplotlib.ticker import FixedLocator, FuncFormatter, MaxNLocator

from holdwater import spells, words
from holdwater.charts import look
from holdwater.ledger import Ledger
from holdwater.scores import Scores
from holdwater.weather.record import FILLED

Days = npt.NDArray[np.datetime64]
Numbers = npt.NDArray[np.float64]
Flags = npt.NDArray[np.bool_]
Box = tuple[float, float, float, float]


@dataclass(frozen=True)
class Reading:
    """Daily flags of a run.

    Attributes
    ----------
    days : ndarray of datetime64[D], shape (n,)
        The days.
    dry : ndarray of bool, shape (n,)
        The tanks could not give a draw all it asked for.
    unserved : ndarray of bool, shape (n,)
        Dry, and backup could not cover the rest either.
    filled : ndarray of bool, shape (n,)
        The rain was filled in, not observed.
    """

    days: Days
    dry: Flags
    unserved: Flags
    filled: Flags

    @property
    def number(self) -> Numbers:
        """The days as numbers, the first of January 1970 being 0, shape (n,)."""
        return numbers(self.days)

    @property
    def covered(self) -> Flags:
        """Dry days whose shortfall backup covered, shape (n,)."""
        return self.dry & ~self.unserved


def read(ledger: Ledger, scores: Scores) -> Reading:
    """Take the daily flags out of a ledger and its scores."""
    filled = np.isin(ledger.record.data["origin"].values, [int(o) for o in FILLED])
    return Reading(ledger.days, scores.dry_day, scores.unserved_day, filled)


def daily(ledger: Ledger, name: str) -> Numbers:
    """Sum one of the ledger's quantities over roofs, tanks, draws or backups, day by day [L].

    Parameters
    ----------
    ledger : Ledger
        The run.
    name : str
        An entry or state of the ledger; one this run has no place for gives zeros.

    Returns
    -------
    ndarray, shape (n,) or (n + 1,)
        Fluxes of the days or states at the midnights between them [L].
    """
    if name not in ledger.data:
        return np.zeros(ledger.days.size)
    values: Numbers = ledger.flux(name).sum(axis=0)
    return values


def numbers(days: Days) -> Numbers:
    """Days as numbers, the first of January 1970 being 0."""
    return days.astype("datetime64[D]").astype(np.int64).astype(float)


def number(day: dt.date) -> float:
    """One day as a number, the first of January 1970 being 0."""
    return float((day - dt.date(1970, 1, 1)).days)


def day_of(day: np.datetime64) -> dt.date:
    """Turn a day, month or year into a date, the first day of it."""
    date: dt.date = day.astype("datetime64[D]").item()
    return date


def runs(flags: Flags) -> list[tuple[int, int]]:
    """First index and the index after the last of every run of true flags."""
    return [(int(a), int(b)) for a, b in spells.runs(flags)]


def boxes(places: Sequence[Box], role: look.Role, zorder: float = 3.0) -> PolyCollection:
    """Rectangles in the look of a role; a hatch leaves what is below in sight.

    Parameters
    ----------
    places : sequence of Box
        Left, right, lower and upper edge of each, in the units of the axes.
    role : look.Role
        What they stand for.
    zorder : float, optional
        Higher lies on top.
    """
    return PolyCollection(
        [((a, low), (a, high), (b, high), (b, low)) for a, b, low, high in places],
        facecolor="none" if role.hatch else role.colour,
        edgecolor=look.FAINT if role.hatch else "none",
        hatch=role.hatch or None,
        linewidth=0,
        zorder=zorder,
        label=role.label,
    )


def widened(spans: list[tuple[float, float]], least: float) -> list[tuple[float, float]]:
    """Widen spans about their middle to a least width that can be seen."""
    return [(min(a, (a + b - least) / 2), max(b, (a + b + least) / 2)) for a, b in spans]


def amounts(axes: Axes, low: float, high: float, steps: int = 5, whole: bool = False) -> None:
    """Mark round amounts from `low` to `high` on the vertical axis, with thousands marks and without a sign."""
    ticks = MaxNLocator(nbins=steps, steps=[1, 2, 2.5, 5, 10], integer=whole).tick_values(low, high)
    room = 1e-9 * (high - low)
    axes.yaxis.set_major_locator(FixedLocator([t for t in ticks if low - room <= t <= high + room]))
    axes.yaxis.set_major_formatter(FuncFormatter(amount))


def amount(value: float, _position: int | None = None) -> str:
    """Write an amount on an axis: "12,500", "0.5"."""
    return f"{abs(value):,.10g}"


def time_axis(axes: Axes, first: float, last: float) -> None:
    """Mark days, months or years below an axis, as the span of time has room for.

    Parameters
    ----------
    axes : Axes
        With days as numbers along its horizontal axis.
    first, last : float
        Ends of the axis [days since 1970].
    """
    start, stop = (np.datetime64(int(n), "D") for n in (first, last))
    axes.set_xlim(first, last)
    length = last - first
    if length <= 75:
        step = 1 if length <= 14 else 7
        days = np.arange(start, stop, step)
        name_places(axes, numbers(days), numbers(days) + 0.5, [_day_label(d, i) for i, d in enumerate(days)])
    elif length <= 3.1 * 366:
        step = 1 if length <= 1.6 * 366 else 3
        months = _aligned(start, stop, step)
        middle = (numbers(months) + numbers(months + 1)) / 2 if step == 1 else numbers(months)
        inside = (middle >= first) & (middle <= last)
        labels = [_month_label(m, i) for i, m in enumerate(months[inside])]
        name_places(axes, numbers(months), middle[inside], labels)
    else:
        every = next(n for n in (1, 2, 5, 10, 20, 50, 100) if length / 366 <= 16 * n or n == 100)
        years = np.arange(start.astype("datetime64[Y]"), stop.astype("datetime64[Y]") + 1)
        chosen = years[(years.astype(int) + 1970) % every == 0]
        middle = numbers(chosen) if every > 2 else (numbers(chosen) + numbers(chosen + 1)) / 2
        inside = (middle >= first) & (middle <= last)
        name_places(
            axes, numbers(chosen if every > 2 else years), middle[inside], [str(y) for y in chosen[inside]]
        )


def _aligned(start: np.datetime64, stop: np.datetime64, step: int) -> Days:
    """First days of months from `start` to `stop`, every `step` months of the calendar."""
    months = np.arange(start.astype("datetime64[M]"), stop.astype("datetime64[M]") + 1)
    chosen: Days = months[months.astype(int) % step == 0]
    return chosen


def _day_label(day: np.datetime64, position: int) -> str:
    """Day and month, with the year under the first one and under the first of January's."""
    date = day_of(day)
    year = f"\n{date.year}" if position == 0 or (date.month == 1 and date.day <= 7) else ""
    return f"{date.day} {words.MONTHS[date.month - 1][:3]}{year}"


def _month_label(month: np.datetime64, position: int) -> str:
    """Month, with the year under the first one and under every January."""
    date = day_of(month)
    year = f"\n{date.year}" if position == 0 or date.month == 1 else ""
    return f"{words.MONTHS[date.month - 1][:3]}{year}"


def name_places(axes: Axes, starts: Numbers, middles: Numbers, labels: list[str]) -> None:
    """Mark where days, months or years start below an axis and write their names under the middle.

    Parameters
    ----------
    axes : Axes
        With its horizontal limits set.
    starts, middles : ndarray
        Places on the horizontal axis.
    labels : list of str
        One for each of `middles`.
    """
    low, high = axes.get_xlim()
    stood = starts[(starts >= low) & (starts <= high)]
    axes.add_artist(
        Line2D(
            stood,
            np.zeros(stood.size),
            linestyle="none",
            marker=3,  # a tick downwards
            markersize=3,
            color=look.FAINT,
            transform=axes.get_xaxis_transform(),
            clip_on=False,
        )
    )
    axes.xaxis.set_major_locator(FixedLocator(middles.tolist()))
    axes.xaxis.set_major_formatter(FuncFormatter(lambda _value, position: labels[position or 0]))
    axes.tick_params(axis="x", length=0, pad=5)


def stack(axes: Axes, base: Numbers, heights: Numbers, width: float, role: look.Role, label: str) -> Numbers:
    """Stand one part of stacked bars on the parts before it and return where the next one stands.

    Parameters
    ----------
    axes : Axes
        With the bars at 0, 1, 2 and so on.
    base : ndarray, shape (n,)
        Where the bars stand, in shown units.
    heights : ndarray, shape (n,)
        How high they are, in shown units, negative for bars that hang.
    width : float
        Width of a bar as a share of its place.
    role : look.Role
        How they look.
    label : str
        What a reader of the figure finds them by.

    Returns
    -------
    ndarray, shape (n,)
        Ends of the bars.
    """
    ends = base + heights
    shapes = [
        ((i - width / 2, a), (i - width / 2, b), (i + width / 2, b), (i + width / 2, a))
        for i, (a, b) in enumerate(zip(base.tolist(), ends.tolist(), strict=True))
    ]
    bars = PolyCollection(
        shapes,
        facecolor=role.colour,
        edgecolor=look.INK if role.hatch else look.PAPER,
        hatch=role.hatch or None,
        linewidth=0.4,
        zorder=3,
        label=label,
    )
    axes.add_collection(bars, autolim=False)
    return ends
