"""Runs to draw and ways to read a drawing; all weather here is invented."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

import numpy as np
from matplotlib.backends.backend_agg import FigureCanvasAgg
from matplotlib.collections import PolyCollection
from matplotlib.figure import Figure
from matplotlib.text import Text

from holdwater.charts import look
from holdwater.ledger import Ledger
from holdwater.scores import Scores, score
from holdwater.simulation import simulate
from holdwater.weather.record import Origin, Provenance, Record, daily_dataset
from tests.holdings import holding

Result = tuple[Ledger, Scores]
TANK_1000 = {"name": "tank", "capacity": "1000 L", "diameter": "1 m"}
HOUSE_100 = {"name": "house", "kind": "fixed", "per_day": "100 L/day"}


def result(
    rain: Any,
    first_day: str = "2001-01-01",
    filled: slice | None = None,
    source: str = "invented",
    **parts: Any,
) -> Result:
    """Run a holding through this rain [mm] and score it; `filled` days count as filled from climatology."""
    rain = np.asarray(rain, dtype=float)
    origin = np.full(rain.size, Origin.OBSERVED, dtype=np.int8)
    if filled is not None:
        origin[filled] = Origin.CLIMATE
    start = np.datetime64(first_day)
    data = daily_dataset(np.arange(start, start + rain.size), rain, origin)
    record = Record(data, Provenance(source=source, licence="none needed, invented"))
    ledger = simulate(holding(**parts), record)
    return ledger, score(ledger)


def wet_winters(first_day: str, last_day: str, seed: int = 3) -> Any:
    """Rain of wet winters and dry summers [mm]."""
    days = np.arange(np.datetime64(first_day), np.datetime64(last_day) + 1)
    into_year = (days - days.astype("datetime64[Y]")).astype(int)
    drawn = np.random.default_rng(seed)
    chance = 0.06 + 0.15 * (1 + np.cos(2 * np.pi * (into_year - 10) / 365.25))
    return np.where(drawn.random(days.size) < chance, drawn.exponential(8.0, days.size).round(1), 0.0)


def dry_from(dry: int, days: int, first_day: str = "2001-01-01", **parts: Any) -> Result:
    """Run a record that ends in exactly `dry` dry days.

    It never rains; the tank starts full with 1000 L and gives 100 L a day for as long as it lasts.
    """
    wanted = {"name": "house", "kind": "fixed", "per_day": f"{1000 / (days - dry)!r} L/day"}
    whole: dict[str, Any] = {"tank": [TANK_1000], "draw": [wanted], "run": {"start_full": 1.0}}
    return result(np.zeros(days), first_day, **(whole | parts))


def title(figure: Figure) -> str:
    """The finding, its lines joined."""
    (found,) = [t for t in figure.texts if t.get_fontsize() == look.TITLE]
    return found.get_text().replace("\n", " ")


def foot(figure: Figure) -> str:
    """The source lines, joined."""
    found = [t for t in figure.texts if t.get_fontsize() == look.NOTE]
    return found[-1].get_text().replace("\n", " ")


def legend(figure: Figure) -> list[str]:
    """Every entry of every legend."""
    return [t.get_text() for made in figure.legends for t in made.get_texts()]


def shown(figure: Figure) -> list[Text]:
    """Every text that is drawn."""
    return [t for t in _texts(figure) if t.get_visible() and t.get_text().strip()]


def _texts(figure: Figure) -> Iterator[Text]:
    yield from figure.texts
    for made in figure.legends:
        yield from made.get_texts()
    for axes in figure.axes:
        yield from axes.texts
        for axis in (axes.xaxis, axes.yaxis):
            low, high = sorted(axis.get_view_interval())
            yield axis.label
            for minor in (False, True):
                ticks = axis.get_minor_ticks() if minor else axis.get_major_ticks()
                for tick in ticks:
                    if low <= tick.get_loc() <= high:
                        yield from (label for label in (tick.label1, tick.label2))


def boxes(figure: Figure) -> list[tuple[str, Any]]:
    """Every text that is drawn, with its place [px]."""
    with look.style():
        canvas = FigureCanvasAgg(figure)
        canvas.draw()
        return [(t.get_text(), t.get_window_extent(canvas.get_renderer())) for t in shown(figure)]


def ticks(axis: Any) -> list[str]:
    """What is written along an axis, the minor ticks where they carry the words."""
    low, high = sorted(axis.get_view_interval())
    axis.get_ticklabels(which="both")
    made = [*axis.get_major_ticks(), *axis.get_minor_ticks()]
    return [t.label1.get_text() for t in made if low <= t.get_loc() <= high and t.label1.get_text()]


def stacked(figure: Figure) -> dict[str, list[tuple[float, float]]]:
    """Where the bars of each part of a stack stand and where they end, in shown units."""
    found = {}
    for made in figure.axes[0].collections:
        if isinstance(made, PolyCollection):
            corners = [path.vertices[:, 1] for path in made.get_paths()]
            found[str(made.get_label())] = [(float(y[0]), float(y[1])) for y in corners]
    return found


def bars(figure: Figure) -> dict[str, list[float]]:
    """Heights of the bars of each part of a stack, in shown units, negative for those that hang."""
    return {label: [end - start for start, end in ends] for label, ends in stacked(figure).items()}
