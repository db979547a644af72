"""What the garden chart reads from a ledger: the beds day by day, their seasons, and what to say of them."""

from __future__ import annotations

import datetime as dt
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise

import numpy as np

from holdwater import words
from holdwater.charts.reading import Flags, Numbers, runs
from holdwater.day import SHORT
from holdwater.garden_scores import BedScore, stressed, watered_by
from holdwater.ledger import Ledger
from holdwater.scores import Scores

MOST_NAMED = 3
AROUND = 14  # days shown before planting and after the harvest
LONGEST_SEASON = 400  # days; a cover that stands all year is split by years

Span = tuple[int, int]


@dataclass(frozen=True)
class Bed:
    """One bed, day by day, in shown units."""

    score: BedScore
    depletion: Numbers
    available: float
    ready: Numbers
    rain: Numbers
    tanks: Numbers
    backup: Numbers
    growing: Flags
    stress: Flags
    held_back: Flags
    short: Flags

    def planted(self, span: Span) -> list[int]:
        """Days of a span on which the crop was planted; none for a cover that stands all year."""
        begun = np.flatnonzero(np.diff(self.growing.astype(int)) > 0) + 1
        return [int(day) for day in begun if span[0] <= day < span[1]]


def finding(scores: Scores) -> str:
    """Say on how many of its growing days each crop was short of water, and in which year most."""
    beds = [bed for bed in scores.beds if bed.growing_days]
    short = sorted((bed for bed in beds if bed.stress_days), key=lambda bed: -bed.stress_days)
    if not beds:
        return "Nothing grew in the garden on these days."
    if not short:
        return f"Never short of water: {_listed([words.plain(bed.name) for bed in beds])}."
    said = []
    for bed in short:
        worst = bed.worst_year
        most = f" (most in {worst.year}: {worst.stress_days:,})" if worst and len(bed.years) > 1 else ""
        grew = words.count(bed.growing_days, "growing day")
        said.append(f"{words.plain(bed.name)} on {bed.stress_days:,} of {grew}{most}")
    return f"Short of water: {_listed(said)}."


def _listed(said: Sequence[str]) -> str:
    """The first few, and how many more there are."""
    more = len(said) - MOST_NAMED
    rest = f", and {words.count(more, 'more bed')}" if more > 0 else ""
    return ", ".join(said[:MOST_NAMED]) + rest


def seasons(growing: Flags, year_of: Sequence[int] | Numbers) -> list[Span]:
    """First day of every growing season and the day after its last; a year-round cover by its years."""
    found: list[Span] = []
    for start, end in runs(growing):
        if end - start <= LONGEST_SEASON:
            found.append((start, end))
            continue
        years = np.asarray(year_of)[start:end]
        cuts = [start, *(start + np.flatnonzero(np.diff(years)) + 1).tolist(), end]
        found += list(pairwise(cuts))
    return found


def read_beds(ledger: Ledger, scores: Scores, factor: float) -> list[Bed]:
    """Take the beds out of a ledger, in shown units."""
    names = ledger.data["draw"].values.tolist()
    stress, watered = stressed(ledger), watered_by(ledger)
    rain = ledger.flux("rain_kept") + ledger.flux("rain_ignored")
    beds = []
    for b, score in enumerate(scores.beds):
        draw = names.index(score.name)
        asked, delivered = ledger.flux("asked")[draw], ledger.flux("delivered")[draw]
        beds.append(
            Bed(
                score,
                ledger.flux("depletion")[b] * factor,
                float(ledger.flux("available")[b]) * factor,
                ledger.flux("ready")[b] * factor,
                rain[b] * factor,
                watered["tanks"][b] * factor,
                watered["backup"][b] * factor,
                ledger.flux("growing")[b] > 0.0,
                stress[b],
                ledger.flux("held_back")[draw] > 0.0,
                asked - delivered > SHORT * asked,
            )
        )
    return beds


def spans(ledger: Ledger, b: int, span: tuple[dt.date, dt.date] | None) -> list[Span]:
    """Days to show of a bed: those asked for, else its worst season and its last one, earlier first."""
    n = ledger.days.size
    if span is not None:
        inside = np.flatnonzero(
            (ledger.days >= np.datetime64(span[0])) & (ledger.days <= np.datetime64(span[1]))
        )
        if not inside.size:
            raise ValueError(f"the run has no day from {span[0]} to {span[1]}")
        return [(int(inside[0]), int(inside[-1]) + 1)]
    growing = ledger.flux("growing")[b] > 0.0
    found = seasons(growing, ledger.days.astype("datetime64[Y]").astype(int))
    if not found:
        return [(0, min(n, 366))]
    stress = stressed(ledger)[b]
    worst = max(found, key=lambda season: int(stress[slice(*season)].sum()))
    chosen = {worst, found[-1]} if stress.any() else {found[-1]}
    before = [AROUND if a and not growing[a - 1] else 0 for a, _ in sorted(chosen)]
    after = [AROUND if e < n and not growing[e] else 0 for _, e in sorted(chosen)]
    return [
        (max(a - early, 0), min(e + late, n))
        for (a, e), early, late in zip(sorted(chosen), before, after, strict=True)
    ]


def when(ledger: Ledger, a: int, e: int) -> str:
    """The year of a season, or both where it crosses the turn of the year."""
    middle = (a + e) // 2
    first, last = (
        int(str(ledger.days[i])[:4]) for i in (min(a + AROUND, middle), max(e - 1 - AROUND, middle))
    )
    return str(first) if first == last else f"{first}/{last % 100:02d}"
