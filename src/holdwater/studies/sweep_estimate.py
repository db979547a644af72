"""What a sweep will take, told before it runs."""

from __future__ import annotations

import os
import time
from dataclasses import dataclass

import numpy as np

from holdwater.scenario import ScenarioFile
from holdwater.studies.batch import Batch, Site
from holdwater.studies.dials import Grid
from holdwater.studies.outcome import BY_YEAR
from holdwater.studies.redrawn import AT_ONCE, MOST_KEPT, NUMBERS, Drawing, of_grid
from holdwater.studies.specialise import WIDTH
from holdwater.studies.sweep import SCORES

MANY = 200_000
"""Runs from which on a sweep is estimated before it runs."""
MANY_DRAWN, MOST_TRIED = 20_000, 500
"""The same where records are drawn by lot; holdings built up to which one of those records is tried."""
TOO_MANY, TOO_LONG, TOO_LARGE = 2_000_000, 600.0, 2000.0
"""Runs, seconds and megabytes beyond which a sweep asks first."""
PROGRAM_MB = 300.0
"""Memory of the program itself with all it loads [MB]; measured."""
SCENARIO_MB = 0.035
"""Memory of a scenario that is kept from one record to the next [MB]; measured."""


@dataclass(frozen=True)
class Estimate:
    """What a sweep will take.

    Attributes
    ----------
    designs : int
        How many.
    seconds : float
        On this machine, everything included [s].
    megabytes : float
        Peak memory [MB].
    samples : int
        Drawn records that each of them is run through besides.
    """

    designs: int
    seconds: float
    megabytes: float
    samples: int = 0

    @property
    def runs(self) -> int:
        """Runs of a design through a record."""
        return self.designs * (1 + self.samples)

    @property
    def asks(self) -> bool:
        """Whether it is so much that the user is asked first."""
        return self.runs > TOO_MANY or self.seconds > TOO_LONG or self.megabytes > TOO_LARGE


def estimate(base: ScenarioFile, site: Site, grid: Grid, drawing: Drawing | None = None) -> Estimate | None:
    """Say what a sweep will take, from a few holdings built and one block run; None for a small one.

    Parameters
    ----------
    base, site, grid
        As for `sweep`.
    drawing : Drawing, optional
        How records are drawn for `sweep_confidence`.

    Raises
    ------
    InputError
        The record is too short to draw from.
    """
    holdings = sum(int(np.prod([grid.shape[d] for d in part])) for part in grid.parts())
    samples = 0 if drawing is None else drawing.samples
    if max(grid.size, 10 * holdings) * (1 + samples) < (MANY_DRAWN if samples else MANY):
        return None
    begun = time.perf_counter()
    for _ in range(5):
        ready = site.ready(base.vary([]).scenario)
    build = (time.perf_counter() - begun) / 5
    batch = Batch(site, ready, base.scenario.run.year_starts)
    use, compiled = batch.choose(grid.size * (1 + samples))
    columns = np.repeat(batch.program.column(ready)[:, None], WIDTH, axis=1)
    begun = time.perf_counter()
    (batch.run if compiled else batch.run_plainly)(use, columns if compiled else columns[:, 0])
    run = (time.perf_counter() - begun) / (WIDTH if compiled else 1)
    run /= (os.cpu_count() or 1) if compiled else 1
    seconds, megabytes = holdings * build + grid.size * run, _megabytes(site, grid, batch)
    if drawing is not None:
        seconds += samples * _one_sample(base, grid, drawing, holdings, build, run * WIDTH)
        megabytes += _drawn_megabytes(grid, batch, samples, holdings)
    return Estimate(grid.size, seconds, megabytes, samples)


def _one_sample(
    base: ScenarioFile, grid: Grid, drawing: Drawing, holdings: int, build: float, run: float
) -> float:
    """Time to draw a record, make the designs ready in it, and run them block by block [s]."""
    if holdings > MOST_TRIED or grid.size > MANY:
        return holdings * build + (grid.size / WIDTH + 1) * run
    blocks = of_grid(base, grid)
    sites = drawing.sites(base.scenario, last=2)
    sum(1 for _ in blocks(next(sites)))  # the scenarios are read
    begun = time.perf_counter()
    count = sum(1 for _ in blocks(next(sites)))
    return time.perf_counter() - begun + count * run


def _megabytes(site: Site, grid: Grid, batch: Batch) -> float:
    """Memory for the scores of all designs, with the sums made of them, and for finding each one's place."""
    return PROGRAM_MB + grid.size * (_scores(batch) + 8 * (len(grid.dials) + 4)) / 1e6


def _scores(batch: Batch) -> int:
    """Bytes of the scores of a design, with the sums made of them."""
    return 3 * 8 * len(SCORES) + 2 * len(BY_YEAR) * batch.years + 16 * batch.backups


def _drawn_megabytes(grid: Grid, batch: Batch, samples: int, holdings: int) -> float:
    """Memory for what is kept of every run in the drawn records, for sorting it, and for the runs at work."""
    designs = grid.size + 1
    kept = 8 * (len(NUMBERS) + 3) * samples * designs
    return (kept + _scores(batch) * min(max(AT_ONCE, designs), samples * designs)) / 1e6 + (
        SCENARIO_MB * min(holdings, MOST_KEPT)
    )
