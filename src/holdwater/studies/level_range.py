"""How far the numbers of a log of levels can go, and which change of each matters."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from holdwater.scenario import tables
from holdwater.studies.level_model import Model
from holdwater.studies.level_numbers import mean_flush

Floats = npt.NDArray[np.float64]

MOST_FLUSH = 8.0
"""Largest first flush that is tried, over all roofs [mm]; chambers are built for 0.5 to 2 mm (common practice)."""
STEPS = {"runoff": 0.05, "flush": 0.2, "leak": 0.05, "start": 0.02}
"""A change that would matter: a factor, a depth [mm], a share of the day's use, a share of the capacity."""
WIDEST = {"runoff": 0.5, "flush": 3.0, "leak": 0.5}
"""A wider interval tells nothing: a factor, a depth [mm], a share of the day's use."""
FIRST_LOOK = 0.05
"""The first reading is taken to be this near, as a share of the capacity, until the search knows better."""


@dataclass(frozen=True)
class Range:
    """Of the four numbers of a model.

    Attributes
    ----------
    written : ndarray
        As the scenario has them.
    low, high : ndarray
        Lowest and highest value.
    steps : ndarray
        A change that would matter.
    widest : ndarray
        The widest interval that tells something.
    wide : ndarray, shape (4, 3)
        Where to look first: from, to, and the power that crowds the places towards the first.
    most_in : ndarray, shape (n + 1,)
        All that can have come off the roofs since the first state, at every state [L].
    """

    written: Floats
    low: Floats
    high: Floats
    steps: Floats
    widest: Floats
    wide: Floats
    most_in: Floats


def range_of(model: Model) -> Range:
    """The range of the numbers of a model."""
    scenario = model.scenario
    written = np.array([1.0, float(model.flushes), math.fsum(tank.leak for tank in scenario.tank), 0.0])
    coefficients = [tables.runoff_coefficient(roof) for roof in scenario.roof]
    runoff = 1.0 / max(coefficients) if max(coefficients) > 0.0 else 1.0
    off_roofs, drawn = _flows(model, np.array([runoff, 0.0, written[2], 0.0]))
    days, depth = max(1, off_roofs.size), mean_flush(scenario)
    use = max(drawn, 0.1 * float(off_roofs.sum()), 0.1 * model.room) / days
    filled = math.fsum(volume for _, volume in model.brought)
    most_leak = max((model.room + float(off_roofs.sum()) + filled) / days, 2.0 * written[2])
    most_flush = max(3.0 * written[1], MOST_FLUSH / depth)
    held = math.fsum(row[0] for row in model.start.drawable)
    low = np.array([0.0, 0.0, 0.0, -held - 1e-6])
    high = np.array([runoff, most_flush, most_leak, model.room - held + 1e-6])
    near = np.clip(np.array([-FIRST_LOOK, FIRST_LOOK]) * model.room, low[3], high[3])
    areas = [roof.area for roof in scenario.roof]
    lossless = sum(areas) / math.fsum(a * c * runoff for a, c in zip(areas, coefficients, strict=True))
    return Range(
        written=written,
        low=low,
        high=high,
        steps=np.array(
            [STEPS["runoff"], STEPS["flush"] / depth, STEPS["leak"] * use, STEPS["start"] * model.room]
        ),
        widest=np.array([WIDEST["runoff"], WIDEST["flush"] / depth, WIDEST["leak"] * use, math.inf]),
        wide=np.array([[0.3 * runoff, runoff, 1], [0, most_flush, 2], [0, most_leak, 3], [*near, 1]]),
        most_in=np.concatenate([[0.0], np.cumsum(off_roofs)]) * lossless,
    )


def _flows(model: Model, numbers: Floats) -> tuple[Floats, float]:
    """What comes off the roofs every day, and what all draws take during the log [L]."""
    kept, _ = model.run(numbers)
    return np.array(kept.roof_inflow).sum(axis=0), float(np.array(kept.drawn).sum())
