"""Sweep: every combination of some dials through the same weather."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from holdwater.phases import cuts
from holdwater.scenario import ScenarioFile
from holdwater.scenario.schema import Scenario
from holdwater.studies.batch import Site
from holdwater.studies.dials import Grid
from holdwater.studies.engine import Told, run_all
from holdwater.studies.grid import run_grid
from holdwater.studies.outcome import Outcome
from holdwater.studies.program import Floats
from holdwater.studies.quantity import Axis, axis
from holdwater.studies.sweep_confidence import SweepConfidence

SCORES: dict[str, tuple[str, str]] = {
    "dry_days": ("day", "days on which the tanks could not give a draw all it asked for"),
    "dry_days_per_year": ("day", "dry days in a year of 365.25 days"),
    "unserved_days": ("day", "dry days on which backup could not cover the rest either"),
    "held_back_days": ("day", "days on which a draw took less by its own rule"),
    "stressed_days": ("day", "days on which a garden bed was short of water"),
    "longest_dry_spell": ("day", "longest run of dry days"),
    "dry_days_of_worst_year": ("day", "dry days of the year that has most of them"),
    "reliability_volume": ("1", "water delivered by the tanks / water asked of them"),
    "asked": ("L", "water asked of the tanks"),
    "delivered": ("L", "water delivered by the tanks"),
    "inflow": ("L", "inflow from roofs"),
    "overflow": ("L", "overflow to the ground"),
    "lowest_storage": ("L", "lowest drawable storage"),
    "backup": ("L", "backup water"),
    "loads": ("1", "loads brought by haulers"),
    "cost": ("1", "price of the backup water"),
}
"""Units and meaning of what is told of every design, sums over the run."""


@dataclass(frozen=True)
class Sweep:
    """All combinations of some dials and what each would have done.

    Attributes
    ----------
    base : ScenarioFile
        The scenario as it is.
    site : Site
        The weather.
    grid : Grid
        The dials; the last turns fastest.
    axes : list of Axis
        The dials with their values as numbers.
    outcome : Outcome
        Scores of every design.
    present : Outcome
        Scores of the scenario as it is.
    confidence : SweepConfidence or None
        How far off they may be, where that was asked.
    """

    base: ScenarioFile
    site: Site
    grid: Grid
    axes: list[Axis]
    outcome: Outcome
    present: Outcome
    confidence: SweepConfidence | None = None

    def score(self, name: str) -> Floats:
        """One of `SCORES` for every design, shape of the grid."""
        return score_of(self.outcome, name).reshape(self.grid.shape)

    @property
    def nothing_worse(self) -> npt.NDArray[np.bool_]:
        """Designs that make nothing worse than at present, dry days apart, shape (designs,)."""
        counts = ("unserved_days", "stressed_days", "held_back_days")
        no_more = [self.outcome.numbers[name] <= self.present.numbers[name][0] for name in counts]
        return np.asarray(np.all(no_more, axis=0))

    def best(self, most: int = 10, among: npt.NDArray[np.bool_] | None = None) -> list[int]:
        """Designs with the fewest dry days; of equals those that make nothing else worse than at present.

        Of these the ones that meet most of the water asked, then those nearest to the present; on demand the
        best among some.
        """
        far = np.zeros(self.grid.shape)
        for d, each in enumerate(self.axes):
            width = np.ptp(each.values) if each.numeric else 0.0
            if width > 0.0 and not np.isnan(each.present):
                shape = [-1 if i == d else 1 for i in range(len(self.axes))]
                far = far + np.reshape(np.abs(each.values - each.present) / width, shape)
        worse = ~self.nothing_worse
        keys = (far.ravel(), -self.outcome.reliability_volume, worse, self.outcome.dry_days)
        order = np.lexsort(keys)
        return [int(i) for i in (order if among is None else order[among[order]])[:most]]


def rationed(scenario: Scenario, outcome: Outcome) -> bool:
    """Whether a draw has a rule of its own that may hold it back, in the scenario or in a design of it."""
    return any(cuts(draw) for draw in scenario.draw) or bool(outcome.held_back_days.any())


def score_of(outcome: Outcome, name: str) -> Floats:
    """One of `SCORES` for every design, shape (d,)."""
    match name:
        case "longest_dry_spell":
            return outcome.longest
        case "lowest_storage":
            return outcome.lowest
        case "dry_days_of_worst_year":
            return np.asarray(outcome.by_year["dry_days"].max(axis=0), dtype=float)
        case "backup":
            return np.asarray(outcome.supplied.sum(axis=0))
        case "loads":
            return np.asarray(outcome.loads.sum(axis=0))
    values: Floats = getattr(outcome, name)
    return values


def sweep(
    base: ScenarioFile, site: Site, grid: Grid, told: Told | None = None, threads: int | None = None
) -> Sweep:
    """Run every combination of the dials.

    Parameters
    ----------
    base : ScenarioFile
        The scenario the dials are turned in.
    site : Site
        Its weather.
    grid : Grid
        The dials.
    told : callable, optional
        Called with the number of designs done since the last call.

    Raises
    ------
    InputError
        A path or a value does not fit the scenario.
    """
    grid.check(base)
    axes = axes_of(base, grid)
    outcome = run_grid(base, site, grid, told, threads)
    present = run_all(site, [site.ready(base.scenario)], base.scenario.run.year_starts)
    return Sweep(base, site, grid, axes, outcome, present)


def axes_of(base: ScenarioFile, grid: Grid) -> list[Axis]:
    """The dials of a grid with their values as numbers."""
    return [
        axis(each, base, [grid.file(base, [d], [i]) for i in range(len(each.texts))])
        for d, each in enumerate(grid.dials)
    ]


def design(found: Sweep, i: int) -> tuple[int, ...]:
    """Places on the dials of a design."""
    return tuple(int(place) for place in np.unravel_index(i, found.grid.shape))
