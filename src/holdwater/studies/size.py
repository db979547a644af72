"""Size: the smallest value of one quantity with which the holding gets through, the largest where less is more.

References
----------
Thomas & Burden 1963 (sequent peak), for the bound beside it.
"""

from __future__ import annotations

import re
from collections.abc import Callable
from dataclasses import dataclass
from functools import cached_property

import numpy as np

from holdwater.errors import InputError
from holdwater.scenario import ScenarioFile
from holdwater.scenario.schema import Scenario
from holdwater.scores import score
from holdwater.simulation import simulate
from holdwater.studies.dials import Grid, span
from holdwater.studies.engine import Outcome, Site, Told, run_all
from holdwater.studies.sequent_peak import Peak, peak
from holdwater.studies.size_search import (
    Files,
    Flags,
    Search,
    Target,
    Tried,
    candidates,
    failing,
    grows,
    round_step,
)

__all__ = ["Size", "Target", "Tried", "candidates", "read_years", "round_step", "seeker", "size"]


def read_years(text: str | None) -> tuple[int, int]:
    """Read "9/10", "9 of 10" or "90 %" of the years; (0, 0) for every year on record, where nothing or "all" is said.

    Raises
    ------
    InputError
        It is not K/N, or K is more than N.
    """
    if text is None or text.strip().lower() in ("all", "every"):
        return 0, 0
    percent = re.fullmatch(r"\s*(\d{1,3}) ?(?:%|percent|per cent)\s*", text, re.ASCII)
    text = f"{percent[1]}/100" if percent else text
    held, slash, of = re.sub(r" (?:out )?of ", "/", text).partition("/")
    numbers = [part.strip() for part in (held, of)]
    if not slash or not all(part.isdecimal() and part.isascii() for part in numbers):
        raise InputError(f'--years "{text}": write years that hold of years, such as 90 %, 9/10, or all')
    k, n = (int(part) for part in numbers)
    if not 0 < k <= n:
        raise InputError(f'--years "{text}": {k} of {n} years cannot hold; write 9/10, or all')
    return k, n


@dataclass(frozen=True)
class Size:
    """The answer.

    Attributes
    ----------
    base : ScenarioFile
        The scenario as it is.
    site : Site
        Its weather.
    target : Target
        What is asked.
    whole : ndarray of bool
        Which years of the run are on record from their first to their last day.
    may_fail : int
        How many of these need not hold.
    tried : Tried
        Every value tried.
    grows : bool
        Whether more of it helps.
    answer : int or None
        Place of the answer among the values tried: it holds, and so does every one beyond it.
    stray : int or None
        Place of a value on the near side of the answer, or without one, that holds too, by chance of the weather.
    scanned : str
        Why every value was tried; empty where that was not needed.
    present : Outcome
        The scenario as it is.
    peak : Peak
        Sequent-peak bound.
    listed : bool
        Whether the values were named one by one.
    """

    base: ScenarioFile
    site: Site
    target: Target
    whole: Flags
    may_fail: int
    tried: Tried
    grows: bool
    answer: int | None
    stray: int | None
    scanned: str
    present: Outcome
    peak: Peak
    listed: bool

    @property
    def years(self) -> int:
        """Whole years on record."""
        return int(self.whole.sum())

    @property
    def present_failing(self) -> tuple[int, int]:
        """Whole years, and parts of years, that do not hold with the scenario as it is."""
        years, parts = failing(self.target, self.present, self.whole)
        return int(years[0]), int(parts[0])

    @property
    def place(self) -> int:
        """Place of the answer among the values tried; without one, of the value that helps most."""
        return self.answer if self.answer is not None else self.tried.holds.size - 1 if self.grows else 0

    @property
    def at_place(self) -> Scenario:
        """The scenario with the value at `place`."""
        return Grid((self.tried.axis.dial,)).file(self.base, [0], [self.place]).scenario

    @cached_property
    def held_back(self) -> dict[str, tuple[int, int]]:
        """Days on which each draw is held back by its own rule with the answer, and at present; those that are."""
        if self.answer is None or not self.tried.outcome.held_back_days[self.answer]:
            return {}
        then, now = (
            score(simulate(scenario, self.site.record)).held_back.by_draw
            for scenario in (self.at_place, self.base.scenario)
        )
        return {name: (days, now.get(name, 0)) for name, days in then.items() if days}


def size(base: ScenarioFile, site: Site, asked: str, target: Target, told: Told | None = None) -> Size:
    """Find the smallest value (the largest where less is more) with which the holding gets through.

    Parameters
    ----------
    base : ScenarioFile
        The scenario as it is.
    site : Site
        Its weather.
    asked : str
        "PATH=LOW..HIGH", searched in round steps; "PATH=LOW..HIGH:COUNT" or "PATH=A,B,C" tries these alone.
    target : Target
        When it gets through.
    told : callable, optional
        Called with the number of values tried since the last call.

    Raises
    ------
    InputError
        The path or a value does not fit the scenario, or the values are no numbers.
    """
    search = Search(base, site, candidates(asked), target, told)
    tried, scanned = search.run()
    more_is_better, answer, stray = _placed(tried)
    present = run_all(site, [site.ready(base.scenario)], base.scenario.run.year_starts)
    return Size(
        base,
        site,
        target,
        search.whole,
        search.may_fail,
        tried,
        more_is_better,
        answer,
        stray,
        scanned,
        present,
        peak(base.scenario, site),
        span(asked) is None,
    )


def seeker(base: ScenarioFile, asked: str, target: Target) -> Callable[[Site], float | None]:
    """Make a function that finds the answer alone, in the units inside, in weather after weather.

    It gives None where nothing that was asked for is enough.
    """
    dial = candidates(asked)
    files = Files(base, Grid((dial,)))

    def answer_in(site: Site) -> float | None:
        tried, _ = Search(base, site, dial, target, None, files).run()
        _, answer, _ = _placed(tried)
        return None if answer is None else float(tried.axis.values[answer])

    return answer_in


def _placed(tried: Tried) -> tuple[bool, int | None, int | None]:
    """Whether more helps, and the places of the answer and of a value that holds by chance."""
    more_is_better = grows(tried)
    order = np.arange(tried.holds.size) if more_is_better else np.arange(tried.holds.size)[::-1]
    answer, stray = _answer(tried.holds[order])
    return (
        more_is_better,
        None if answer is None else int(order[answer]),
        None if stray is None else int(order[stray]),
    )


def _answer(holds: Flags) -> tuple[int | None, int | None]:
    """First place from which on all hold, and an earlier one that holds too; in the order that helps."""
    fails = np.flatnonzero(~holds)
    first = int(fails[-1]) + 1 if fails.size else 0
    answer = first if first < holds.size else None
    before = np.flatnonzero(holds[:first])
    return answer, int(before[0]) if before.size else None
