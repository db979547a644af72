"""How far off every design of a sweep may be, because the record is only so long.

All designs run through the same drawn records, so that two of them can be compared record by record: what
is luck of the years drawn is the same for both.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np
import numpy.typing as npt

from holdwater.scenario import ScenarioFile
from holdwater.studies.dials import Grid
from holdwater.studies.engine import Told
from holdwater.studies.program import Floats
from holdwater.studies.redrawn import NUMBERS, Drawing, of_grid, run_redrawn
from holdwater.studies.resample import intervals

FEWER = "fewer_dry_days_share"
FEWER_MEANING = "share of the drawn records in which it has fewer dry days than the present set-up"


@dataclass(frozen=True)
class SweepConfidence:
    """What the numbers of every design may be with another draw from the same climate.

    Attributes
    ----------
    drawing : Drawing
        How the records were drawn.
    low, high : dict of str to ndarray, shape (designs,)
        Bounds of `redrawn.NUMBERS`, NaN where nothing is asked.
    present_low, present_high : dict of str to float
        The same of the scenario as it is.
    fewer, more : ndarray of int, shape (designs,)
        Drawn records in which a design has fewer dry days than the scenario as it is, and more.
    """

    drawing: Drawing
    low: dict[str, Floats]
    high: dict[str, Floats]
    present_low: dict[str, float]
    present_high: dict[str, float]
    fewer: npt.NDArray[np.int64]
    more: npt.NDArray[np.int64]


def sweep_confidence(
    base: ScenarioFile, grid: Grid, drawing: Drawing, told: Told | None = None
) -> SweepConfidence:
    """Run every combination of the dials, and the scenario as it is, through records drawn by lot.

    Parameters
    ----------
    base, grid
        As for `sweep`.
    drawing : Drawing
        How the records are drawn.
    told : callable, optional
        Called with the number of runs done since the last call.
    """
    drawn = run_redrawn(base.scenario, drawing, of_grid(base, grid), grid.size + 1, told)
    low, high = {}, {}
    for values, name in zip(drawn, NUMBERS, strict=True):
        low[name], high[name] = intervals(values, drawing.level)
    dry = drawn[list(NUMBERS).index("dry_days_per_year")]
    return SweepConfidence(
        drawing,
        {name: bounds[:-1] for name, bounds in low.items()},
        {name: bounds[:-1] for name, bounds in high.items()},
        {name: float(bounds[-1]) for name, bounds in low.items()},
        {name: float(bounds[-1]) for name, bounds in high.items()},
        (dry[:, :-1] < dry[:, -1:]).sum(axis=0),
        (dry[:, :-1] > dry[:, -1:]).sum(axis=0),
    )


def columns(found: SweepConfidence) -> dict[str, tuple[Floats, dict[str, Any]]]:
    """Bounds of every design by name, with units and meaning, in the order of the files."""
    told: dict[str, tuple[Floats, dict[str, Any]]] = {}
    how = found.drawing.how
    share = f"{100 * found.drawing.level:.0f} % of the records drawn by lot"
    for name, (units, meaning) in NUMBERS.items():
        for end, word, values in (("low", "lower", found.low[name]), ("high", "upper", found.high[name])):
            about = {"long_name": f"{meaning}: {word} bound of {share}", "units": units, **how}
            told[f"{name}_{end}"] = values, about
    better = found.fewer / found.drawing.samples
    told[FEWER] = better, {"long_name": FEWER_MEANING, "units": "1", **how}
    return told
