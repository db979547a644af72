"""Sequent peak: the storage that would never have run dry, from inflow and demand alone.

References
----------
Thomas & Burden 1963, Operations research in water quality management, Harvard University (from memory).
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from holdwater.scenario.schema import Direct, Household, Scenario
from holdwater.simulation import simulate
from holdwater.studies.engine import Site

Floats = npt.NDArray[np.float64]


@dataclass(frozen=True)
class Peak:
    """Storage by the sequent peak, beside what the tanks can give now.

    Attributes
    ----------
    capacity_L : float or None
        Least drawable storage without a dry day under YBS; None where more is asked than comes in [L].
    margin_L : float
        What YAS may need on top: twice the largest demand of a day [L].
    present_L : float
        What the tanks can give from full, the reserve left in them [L].
    asked_L, came_L : float
        Demand and inflow over the run [L].
    """

    capacity_L: float | None
    margin_L: float
    present_L: float
    asked_L: float
    came_L: float


def sequent_peak(inflow: Sequence[float] | Floats, demand: Sequence[float] | Floats) -> float | None:
    """Largest deficit that builds up between inflow and demand over two cycles of a record.

    K_t = max(0, K_{t-1} + R_t - Q_t); the record runs twice, so that a drought may lie across its end.

    Parameters
    ----------
    inflow, demand : sequence of float, shape (n,)
        Q and R of every day, in one unit [L].

    Returns
    -------
    float or None
        max K, the least storage that meets every demand when it starts full and draws come after the
        day's inflow (YBS); None if demand is larger than inflow in all, for then no storage is enough [L].
    """
    inflow, demand = np.asarray(inflow, dtype=float), np.asarray(demand, dtype=float)
    total = float(inflow.sum())
    if float(demand.sum()) > total * (1.0 + 1e-12):
        return None
    deficit = largest = 0.0
    for lacking in (demand - inflow).tolist() * 2:
        deficit = max(0.0, deficit + lacking)
        largest = max(largest, deficit)
    return largest


def peak(scenario: Scenario, site: Site) -> Peak:
    """Sequent peak of a holding: what its roofs send, against what its draws want when they never lack.

    Beds that are always watered want less than beds run dry and watered late, and stop levels and saving
    steps hold water back: so the holding is run once with a backup that serves every want at once. Leaks,
    evaporation and the parting of tanks by closed valves are left out.
    """
    plenty = Direct(name="plenty", kind="direct")
    draws = [
        draw.model_copy(update={"stops_below": None} | ({"steps": []} if isinstance(draw, Household) else {}))
        for draw in scenario.draw
    ]
    ledger = simulate(scenario.model_copy(update={"draw": draws, "backup": [plenty]}), site.record)
    demand = ledger.flux("wanted").sum(axis=0)
    inflow = ledger.flux("inflow").sum(axis=0)
    reserve = scenario.reserve.volume if scenario.reserve else 0.0
    return Peak(
        capacity_L=sequent_peak(inflow, demand),
        margin_L=2.0 * float(demand.max(initial=0.0)),
        present_L=float(ledger.flux("drawable_capacity").sum()) - reserve,
        asked_L=float(demand.sum()),
        came_L=float(inflow.sum()),
    )
