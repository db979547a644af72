"""What charts of studies share: the foot with weather, rule and days, and axes of quantities."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import numpy.typing as npt
from matplotlib.axes import Axes
from matplotlib.axis import Axis as Ruler
from matplotlib.ticker import FixedLocator, FuncFormatter, MaxNLocator

from holdwater import words
from holdwater.charts import look
from holdwater.charts.reading import amount
from holdwater.charts.sheet import RULES, width
from holdwater.scenario.schema import Scenario
from holdwater.studies.quantity import Axis
from holdwater.units import System
from holdwater.weather.record import FILLED, Record

Floats = npt.NDArray[np.float64]


def foot(scenario: Scenario, record: Record, *more: str) -> list[str]:
    """Say where the weather comes from, under which rule and for which days the designs were run."""
    known, days = record.provenance, record.days
    named = [known.source, known.station, known.place]
    where = ", ".join(dict.fromkeys(words.plain(part) for part in named if part and part.strip()))
    licence, rule = words.plain(known.licence), scenario.run.rule
    period = f"{words.briefly(record.first)} to {words.briefly(record.last)}"
    number = int(np.isin(record.data["origin"].values, [int(o) for o in FILLED]).sum())
    filled = f" Rain of {words.count(number, 'day')} was filled in." if number else ""
    return [
        f"Weather: {where or 'source not stated'}." + (f" Licence: {licence}." if licence else ""),
        f"Rule: {rule} ({RULES[rule]}). Period: {period} ({words.count(days.size, 'day')}).{filled}",
        *more,
    ]


def years_of(record: Record) -> str:
    """Length of the record after "in": "30 years"."""
    return words.span(record.first, record.last)


def quantity_axis(
    axes: Axes, which: str, each: Axis, system: System, room: float, listed: bool | None = None
) -> None:
    """Mark the values of a dial along one axis of a chart: a list at its own values, a range at round ones.

    Parameters
    ----------
    axes : Axes
        The chart.
    which : str
        "x" or "y".
    each : Axis
        The dial, all its values numbers.
    system : str
        "us" or "metric".
    room : float
        Length of the axis [in].
    listed : bool, optional
        Whether each value is to be named; by default where they are few or stand at uneven steps.
    """
    ruler: Ruler = axes.xaxis if which == "x" else axes.yaxis
    values, _ = each.shown(system)
    (axes.set_xlim if which == "x" else axes.set_ylim)(float(values.min()), float(values.max()))
    if is_list(values) if listed is None else listed:
        places = spread(values, [amount(round(v, 1)) for v in values], room, which)
    else:
        ticks = MaxNLocator(nbins=7, steps=[1, 2, 2.5, 5, 10]).tick_values(values.min(), values.max())
        slack = 1e-6 * float(np.ptp(values))
        places = [float(t) for t in ticks if values.min() - slack <= t <= values.max() + slack]
    ruler.set_major_locator(FixedLocator(places))
    ruler.set_major_formatter(
        FuncFormatter(lambda value, position: amount(round(value, 1 if value >= 10 else 4)))
    )
    ruler.set_label_text(each.titled(system))


def is_list(values: Floats) -> bool:
    """Whether values stand at uneven steps, or are so few that each is named."""
    steps = np.diff(values)
    return len(values) <= 6 or not np.allclose(steps, steps.mean(), rtol=0.02)


def spread(values: Floats, labels: Sequence[str], room: float, which: str) -> list[float]:
    """Values whose labels have room side by side, the ends first."""
    low, high = float(values.min()), float(values.max())
    per = room / (high - low) if high > low else 0.0
    wide = [width(text, look.TICK) + 0.12 if which == "x" else 0.2 for text in labels]
    order = [0, len(values) - 1, *range(1, len(values) - 1)]
    kept: list[int] = []
    for i in dict.fromkeys(order):
        if all(abs(values[i] - values[j]) * per >= (wide[i] + wide[j]) / 2 for j in kept):
            kept.append(i)
    return [float(values[i]) for i in sorted(kept)]
