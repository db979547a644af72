"""The search for a size: which values are tried, and with which of them enough years hold.

The range is tried at a few values first. Where every value beyond some point holds and none before it does,
only the gap around that point is searched further; where it does not fall out so neatly (a hauler who comes
later to a larger tank makes dry days), every value is tried.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from holdwater.errors import InputError
from holdwater.scenario import ScenarioFile
from holdwater.scenario.schema import Refill
from holdwater.scores import year_labels
from holdwater.studies.dials import Dial, Grid, Span, dial, span
from holdwater.studies.engine import Outcome, Site, Told, run_all
from holdwater.studies.quantity import Axis, axis, more_helps

Flags = npt.NDArray[np.bool_]
Counts = npt.NDArray[np.int64]

FIRST_LOOK = 17
"""Values tried first."""
FINENESS = 200
"""Steps into which a range is divided at least, each of 1, 2 or 5 times a power of ten."""


@dataclass(frozen=True)
class Target:
    """When a holding gets through.

    Attributes
    ----------
    dry_days : int
        Most dry days in a year that holds [days].
    held, of : int
        So many years of so many hold; 0 of 0 for every year on record.
    stress_days : int or None
        Most days in a year that holds on which a garden bed is short of water [days].
    """

    dry_days: int = 0
    held: int = 0
    of: int = 0
    stress_days: int | None = None

    def may_fail(self, whole_years: int) -> int:
        """Years on record that need not hold.

        A part of a year at either end is no year, but where it does not hold it takes the place of one of these.
        """
        return whole_years * (self.of - self.held) // self.of if self.of else 0

    def fails(self, outcome: Outcome) -> Flags:
        """Years and parts of years that do not hold, of every design, shape (y, d)."""
        fails = outcome.by_year["dry_days"] > self.dry_days
        if self.stress_days is not None:
            fails = fails | (outcome.by_year["stressed_days"] > self.stress_days)
        return np.asarray(fails)


@dataclass(frozen=True)
class Tried:
    """Values tried, in order of size, and what came of them.

    Attributes
    ----------
    axis : Axis
        The values.
    outcome : Outcome
        Scores of the holding with each.
    failing : ndarray of int
        Whole years that do not hold.
    parts_failing : ndarray of int
        Parts of years at the ends of the record that do not hold.
    holds : ndarray of bool
        Whether few enough fail, years and parts of years.
    """

    axis: Axis
    outcome: Outcome
    failing: Counts
    parts_failing: Counts
    holds: Flags


def candidates(asked: str) -> Dial:
    """All values that could be the answer: round steps of a range, or those named."""
    found = span(asked)
    if found is None or found.count is not None:
        return dial(asked)
    step = round_step(found)
    first, last = math.ceil(found.low / step - 1e-9), math.floor(found.high / step + 1e-9)
    inner = [round(i * step, 12) for i in range(first, last + 1)]
    values = sorted({found.low, *inner, found.high})
    return Dial(found.path, tuple(dict.fromkeys(found.text(v) for v in values)))


def round_step(found: Span) -> float:
    """Largest of 1, 2 or 5 times a power of ten that divides the range finely enough; 1 for whole numbers."""
    fine = (found.high - found.low) / FINENESS
    power = 10.0 ** math.floor(math.log10(fine))
    step = next(power * m for m in (5.0, 2.0, 1.0) if power * m <= fine * (1 + 1e-9))
    return max(1.0, step) if found.whole else step


class Search:
    """Values of a dial, run when they are asked for."""

    def __init__(
        self,
        base: ScenarioFile,
        site: Site,
        values: Dial,
        target: Target,
        told: Told | None,
        files: Files | None = None,
    ) -> None:
        self.base, self.site, self.target, self.told = base, site, target, told
        self.grid = Grid((values,))
        self.grid.check(base)
        self.known: dict[int, int] = {}
        self.outcomes: list[Outcome] = []
        self.whole = whole_years(site, base.scenario.run.year_starts)
        self.may_fail = target.may_fail(int(self.whole.sum()))
        self.files = Files(base, self.grid) if files is None else files

    def run(self) -> tuple[Tried, str]:
        """Look, then search the gap or try every value; the reason for the latter."""
        n = self.grid.size
        every = list(range(n))
        hauled = any(isinstance(backup, Refill) for backup in self.base.scenario.backup)
        if n <= FIRST_LOOK or hauled:
            scanned = (
                "water brought into the tanks can make dry days of more storage" if n > FIRST_LOOK else ""
            )
            return self.tried(every), scanned
        look = np.unique(np.linspace(0, n - 1, FIRST_LOOK).round().astype(int)).tolist()
        first = self.tried(look)
        turns = np.flatnonzero(np.diff(first.holds.astype(int)))
        if turns.size > 1 or (turns.size == 1 and first.holds[-1] != grows(first)):
            return self.tried(every), "the values tried first do not hold from one point on"
        if turns.size == 0:
            return first, ""
        gap = list(range(look[turns[0]] + 1, look[turns[0] + 1]))
        found = self.tried(sorted({*look, *gap}))
        if np.flatnonzero(np.diff(found.holds.astype(int))).size > 1:
            return self.tried(every), "the values around the answer do not hold from one point on"
        return found, ""

    def tried(self, places: list[int]) -> Tried:
        """Scores of the holding with the values at these places, run if they have not been yet."""
        new = [place for place in places if place not in self.known]
        readies = [self.site.ready(self.files[place].scenario) for place in new]
        if new:
            outcome = run_all(self.site, readies, self.base.scenario.run.year_starts, self.told)
            start = sum(each.cost.size for each in self.outcomes)
            self.outcomes.append(outcome)
            self.known |= {place: start + i for i, place in enumerate(new)}
        outcome = chosen(self.outcomes, [self.known[place] for place in places])
        values = Dial(self.grid.dials[0].path, tuple(self.grid.dials[0].texts[place] for place in places))
        made = axis(values, self.base, [self.files[place] for place in places])
        if not made.numeric or not (np.diff(made.values) > 0).all():
            raise InputError(f"{values.path}: only numbers in rising order can be searched; write LOW..HIGH")
        years, parts = failing(self.target, outcome, self.whole)
        return Tried(made, outcome, years, parts, years + parts <= self.may_fail)


class Files(dict[int, ScenarioFile]):
    """The scenario with the dial at each place, made when first asked for."""

    def __init__(self, base: ScenarioFile, grid: Grid) -> None:
        super().__init__()
        self.base, self.grid = base, grid

    def __missing__(self, place: int) -> ScenarioFile:
        self[place] = self.grid.file(self.base, [0], [place])
        return self[place]


def chosen(outcomes: list[Outcome], designs: list[int]) -> Outcome:
    """Some designs of several runs, counted through, as one."""
    first = outcomes[0]
    return Outcome(
        first.years,
        first.n_days,
        {name: np.concatenate([o.numbers[name] for o in outcomes])[designs] for name in first.numbers},
        {
            name: np.concatenate([o.by_year[name] for o in outcomes], axis=1)[:, designs]
            for name in first.by_year
        },
        np.concatenate([o.supplied for o in outcomes], axis=1)[:, designs],
        np.concatenate([o.loads for o in outcomes], axis=1)[:, designs],
        np.concatenate([o.cost for o in outcomes])[designs],
    )


def whole_years(site: Site, year_starts: int) -> Flags:
    """Which years of the run are on record from their first to their last day, shape (y,)."""
    counts = np.unique(year_labels(site.record.days, year_starts), return_counts=True)[1]
    return np.asarray(counts >= 365)


def failing(target: Target, outcome: Outcome, whole: Flags) -> tuple[Counts, Counts]:
    """Whole years, and parts of years, that do not hold, of every design."""
    fails = target.fails(outcome)
    return fails[whole].sum(axis=0), fails[~whole].sum(axis=0)


def grows(tried: Tried) -> bool:
    """Whether more of it helps, by the ends of the range, and by what it is where they are alike."""
    failing, outcome = tried.failing + tried.parts_failing, tried.outcome
    low, high = (
        (int(failing[end]), float(outcome.dry_days[end]), -float(outcome.delivered[end])) for end in (0, -1)
    )
    return low[:2] > high[:2] if low[:2] != high[:2] else more_helps(tried.axis.dial.path)
