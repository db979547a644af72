"""Many holdings through many records drawn by lot, every one of them through the same.

Water in the tanks, in the soil and in the snow carries over from year to year, so each drawn record is a run
of its own from its first to its last day. Records are made ready one after the other while others run; only
the numbers asked for are kept of a run.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, field
from itertools import chain

import numpy as np

from holdwater.scenario import ScenarioFile
from holdwater.scenario.schema import Scenario
from holdwater.studies.dials import Grid
from holdwater.studies.engine import Block, Outcome, Site, Told, gather, one_by_one
from holdwater.studies.grid import blocks_of
from holdwater.studies.program import Floats
from holdwater.studies.resample import LEVEL, SAMPLES, Lot, enough, records
from holdwater.weather.record import Record

NUMBERS: dict[str, tuple[str, str]] = {
    "dry_days_per_year": ("day", "dry days in a year of 365.25 days"),
    "unserved_days_per_year": ("day", "unserved days in a year of 365.25 days"),
    "dry_years_share": ("1", "share of the years that have a dry day"),
    "reliability_volume": ("1", "water delivered by the tanks / water asked of them"),
    "backup_cost_per_year": ("1", "price of the backup water in a year of 365.25 days"),
}
"""Units and meaning of what is kept of a run."""
AT_ONCE = 200_000
"""Runs whose scores are in memory together."""
MOST_KEPT = 4096
"""Scenarios kept from one record to the next."""

Blocks = Callable[[Site], Iterator[Block]]
"""Makes the blocks of all designs of a study ready in some weather."""


def numbers(found: Outcome) -> Floats:
    """`NUMBERS` of every design, in their order, shape (numbers, designs); NaN where nothing was asked."""
    years = found.n_days / 365.25
    told = {
        "dry_days_per_year": found.numbers["dry_days"] / years,
        "unserved_days_per_year": found.numbers["unserved_days"] / years,
        "dry_years_share": (found.by_year["dry_days"] > 0).mean(axis=0),
        "reliability_volume": found.reliability_volume,
        "backup_cost_per_year": found.cost / years,
    }
    return np.stack([told[name] for name in NUMBERS])


def drawn_words(samples: int, seed: int, block: int) -> str:
    """Say how records were drawn: "200 records made of whole years of this one, drawn by lot (seed 1)"."""
    years = "whole years" if block == 1 else f"whole years in blocks of {block}"
    return f"{samples:,} records made of {years} of this one, drawn by lot (seed {seed})"


@dataclass(frozen=True)
class Drawing:
    """How years are drawn by lot.

    Attributes
    ----------
    record : Record
        Its complete years are drawn from.
    samples : int
        Records to draw.
    seed : int
        The same seed draws the same years.
    starts : int
        Month in which a year starts.
    block : int
        Years drawn together.
    level : float
        Share of the drawn records within an interval [0..1].

    Raises
    ------
    InputError
        The record has fewer than 10 complete years, the blocks are longer than it, or the samples are too few.
    """

    record: Record
    samples: int = SAMPLES
    seed: int = 1
    starts: int = 1
    block: int = 1
    level: float = LEVEL

    def __post_init__(self) -> None:
        enough(self.samples, self.level)
        Lot(self.record.days, self.starts, self.block)

    @property
    def how(self) -> dict[str, float]:
        """How the records are drawn, as plain data."""
        return {"level": self.level, "samples": self.samples, "seed": self.seed, "block": self.block}

    @property
    def words(self) -> str:
        """How the records are drawn, in words."""
        return drawn_words(self.samples, self.seed, self.block)

    @property
    def years(self) -> int:
        """Years of every drawn record."""
        return len(Lot(self.record.days, self.starts, self.block).years)

    def sites(self, scenario: Scenario, first: int = 0, last: int | None = None) -> Iterator[Site]:
        """The drawn records from the first to before the last, as weather of studies."""
        run = scenario.run.model_copy(update={"from_": None, "to": None})
        whole = scenario.model_copy(update={"run": run})
        count = (self.samples if last is None else last) - first
        drawn = records(self.record, count, self.seed, self.starts, self.block, first)
        return (Site.of(whole, record) for record in drawn)


def run_redrawn(
    scenario: Scenario,
    drawing: Drawing,
    blocks: Blocks,
    count: int,
    told: Told | None = None,
    threads: int | None = None,
) -> Floats:
    """Run some designs through records drawn by lot, all through the same.

    Parameters
    ----------
    scenario : Scenario
        The holding the designs are changes of; its period does not matter.
    drawing : Drawing
        How the records are drawn.
    blocks : callable
        The designs, for one record.
    count : int
        How many designs there are.
    told : callable, optional
        Called with the number of runs done since the last call.

    Returns
    -------
    ndarray, shape (numbers, samples, designs)
        `NUMBERS` of every run.
    """
    samples = drawing.samples
    kept = np.empty((len(NUMBERS), samples, count))
    step = max(1, AT_ONCE // count)
    for first in range(0, samples, step):
        last = min(first + step, samples)
        sites = drawing.sites(scenario, first, last)
        here = next(sites)
        runs = _all_runs(chain([here], sites), blocks, count, samples)
        found = gather(here, (last - first) * count, runs, drawing.starts, told, threads)
        kept[:, first:last] = numbers(found).reshape(len(NUMBERS), last - first, count)
    return kept


def _all_runs(sites: Iterator[Site], blocks: Blocks, count: int, samples: int) -> Iterator[Block]:
    """Blocks of every record; it is known of each how often it comes again, so that compiling pays at once."""
    for sample, site in enumerate(sites):
        for batch, where, columns, known in blocks(site):
            yield batch, where + sample * count, columns, known * samples


def of_holdings(scenarios: Sequence[Scenario], year_starts: int) -> Blocks:
    """Blocks of holdings that are given one by one."""
    return lambda site: one_by_one(site, [site.ready(each) for each in scenarios], year_starts)


def of_grid(base: ScenarioFile, grid: Grid) -> Blocks:
    """Blocks of every combination of the dials of a grid, the last turning fastest; then the scenario as it is."""
    kept, starts = _Kept(grid.dials), base.scenario.run.year_starts

    def blocks(site: Site) -> Iterator[Block]:
        yield from blocks_of(base, site, kept)
        for batch, where, columns, known in of_holdings([base.scenario], starts)(site):
            yield batch, where + grid.size, columns, known

    return blocks


@dataclass(frozen=True)
class _Kept(Grid):
    """A grid that makes its scenarios once for all records."""

    known: dict[tuple[object, ...], tuple[ScenarioFile, ScenarioFile]] = field(
        default_factory=dict, compare=False
    )

    def file(self, base: ScenarioFile, dials: Sequence[int], at: Sequence[int]) -> ScenarioFile:
        """The scenario with some of the dials turned, as the last time."""
        key = (id(base), *dials, *at)
        if key in self.known:
            return self.known[key][1]
        made = super().file(base, dials, at)
        if len(self.known) < MOST_KEPT:
            self.known[key] = (base, made)  # with its base, so that no other takes its place in memory
        return made
