"""Charts: each a function of a ledger and its scores, each titled with what it found.

`CHARTS` names them in the order in which a report shows them; `save_all` draws and writes every one.
"""

from __future__ import annotations

from collections.abc import Callable
from functools import partial
from pathlib import Path

from matplotlib.figure import Figure

from holdwater.charts.budget import budget_chart
from holdwater.charts.calendar import calendar_chart
from holdwater.charts.drought import drought_chart
from holdwater.charts.files import picture, save, write
from holdwater.charts.gallons import gallons_chart
from holdwater.charts.garden import garden_chart
from holdwater.charts.storage import storage_chart
from holdwater.charts.supply import supply_chart
from holdwater.charts.together import draw_all
from holdwater.ledger import Ledger
from holdwater.scores import Scores
from holdwater.units import System

__all__ = [
    "CHARTS",
    "GARDEN_CHARTS",
    "Chart",
    "budget_chart",
    "calendar_chart",
    "charts_of",
    "drought_chart",
    "gallons_chart",
    "garden_chart",
    "save",
    "save_all",
    "storage_chart",
    "supply_chart",
]

Chart = Callable[[Ledger, Scores, System], Figure]

CHARTS: dict[str, Chart] = {
    "storage": storage_chart,
    "dry-days": calendar_chart,
    "budget": budget_chart,
    "gallons": gallons_chart,
    "supply": supply_chart,
    "drought": drought_chart,
}
GARDEN_CHARTS: dict[str, Chart] = {"garden": garden_chart}
"""Drawn only where there is a garden."""


def charts_of(ledger: Ledger) -> dict[str, Chart]:
    """Name the charts that a run has something to show in."""
    return CHARTS | (GARDEN_CHARTS if ledger.data.sizes["bed"] else {})


def save_all(
    ledger: Ledger,
    scores: Scores,
    system: System,
    folder: Path,
    told: Callable[[str], None] | None = None,
) -> list[Path]:
    """Draw every chart of a run and write it as PNG and SVG; one figure at a time is held.

    Parameters
    ----------
    ledger : Ledger
        The run.
    scores : Scores
        What it says.
    system : str
        "us" or "metric".
    folder : Path
        Where `storage.png`, `storage.svg` and the others go; made if it is not there. Its old
        pictures stay whole until every new one is drawn.
    told : callable, optional
        Called with a chart's name when it is drawn, for a progress bar.

    Returns
    -------
    list of Path
        The files written.

    Raises
    ------
    OSError
        The folder cannot be made or written to.
    """
    jobs = [
        (name, partial(_picture, chart, name, ledger, scores, system))
        for name, chart in charts_of(ledger).items()
    ]
    return write(draw_all(jobs, told), folder)


def _picture(chart: Chart, name: str, ledger: Ledger, scores: Scores, system: System) -> dict[str, bytes]:
    return picture(chart(ledger, scores, system), name)
