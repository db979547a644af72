"""The what-ifs of the file, each run through the weather of the plan."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from holdwater import words
from holdwater.errors import InputError, WeatherUnavailable
from holdwater.ledger import Ledger
from holdwater.plan.section import Matter
from holdwater.scenario.file import ScenarioFile, load, variant_names
from holdwater.scenario.schema import Scenario
from holdwater.scores import Scores, score
from holdwater.simulation import simulate
from holdwater.studies.compare import Compared, SetUp
from holdwater.studies.drawbacks import Days
from holdwater.studies.engine import Site, run_all
from holdwater.studies.offers import cost_of
from holdwater.studies.outcome import Outcome
from holdwater.weather import read_weather
from holdwater.weather.record import Record

AS_IT_IS = "the file as it is"


@dataclass(frozen=True)
class Fared:
    """How a set-up fared through the whole run.

    Attributes
    ----------
    set_up : SetUp
        What was run.
    days : Days
        Days by what was wanting.
    longest : int
        The longest dry spell [days].
    worst : tuple of int, or None
        Year of most dry days, the earlier of equals, and how many; None without a dry day.
    met : float or None
        Share of the water asked that the tanks gave; None where nothing was asked.
    backup_L, cost : float
        Backup water and its cost, in a year [L, currency].
    """

    set_up: SetUp
    days: Days
    longest: int
    worst: tuple[int, int] | None
    met: float | None
    backup_L: float
    cost: float


def set_ups_of(matter: Matter) -> tuple[list[SetUp], list[str]]:
    """The what-ifs of the file that hold together, and what is wrong with the others.

    Each stands on the file as it is, as in `holdwater compare`; where the plan itself is that of a
    what-if, the file as it is stands beside it.
    """
    file, set_ups, left_out = matter.file, [], []
    names = [name for name in variant_names(file) if name != file.variant]
    for name in [*([None] if file.variant else []), *names]:
        try:
            other = load(file.path, sets=matter.asked.changes, variant=name)
        except InputError as fault:
            own = [said.removeprefix(f"variant '{name}': ") for said in fault.faults]
            left_out += [f"{words.plain(name or AS_IT_IS)}: {said}" for said in own]
        else:
            set_ups.append(SetUp(name or AS_IT_IS, other, price(matter, other)))
    return set_ups, left_out


def price(matter: Matter, file: ScenarioFile) -> float | None:
    """What a what-if costs over the file as it is; None for that file itself, and where no price is known."""
    if file.variant is None:
        return None
    before = matter.scenario
    if matter.file.variant is not None:
        before = load(file.path, sets=matter.asked.changes).scenario
    return cost_of(before, file.scenario, file.raw.get("variant", {}).get(file.variant))


# -------------------------------------------------------------------------------------- running them


def run_each(matter: Matter, set_ups: list[SetUp], left_out: list[str]) -> list[Fared]:
    """Run the set-ups through the whole record; those that cannot be run are told and taken out."""
    site = Site.of(matter.scenario, matter.ledger.record)
    readies, fared = {}, {}
    for each in list(set_ups):
        try:
            if _same_weather(matter.scenario, each.file.scenario):
                readies[each.name] = site.ready(each.file.scenario)
            else:
                ledger = _whole(matter, each.file.scenario)
                fared[each.name] = of_scores(each, score(ledger), ledger)
        except (InputError, WeatherUnavailable) as fault:
            said = fault.faults if isinstance(fault, InputError) else [str(fault)]
            left_out += [f"{words.plain(each.name)}: {why}" for why in said]
            set_ups.remove(each)
    if readies:
        outcome = run_all(site, list(readies.values()), matter.scenario.run.year_starts)
        by_name = {each.name: each for each in set_ups}
        fared |= {name: _of_outcome(by_name[name], outcome, i) for i, name in enumerate(readies)}
    return [fared[each.name] for each in set_ups]


def _same_weather(one: Scenario, other: Scenario) -> bool:
    return _same_days(one, other) and all(
        getattr(one, part) == getattr(other, part) for part in ("weather", "place", "snow")
    )


def _same_days(one: Scenario, other: Scenario) -> bool:
    days = [(s.run.from_, s.run.to, s.run.year_starts) for s in (one, other)]
    return days[0] == days[1]


def record_of(matter: Matter, scenario: Scenario) -> Record:
    """Weather of a what-if: the plan's own, unless the what-if changes it."""
    if not _same_days(matter.scenario, scenario):
        raise InputError("it changes the days of the run, so its numbers stand beside no other")
    if (scenario.weather, scenario.place) == (matter.scenario.weather, matter.scenario.place):
        return matter.ledger.record
    first, last = matter.ledger.period
    return read_weather(
        scenario.weather, matter.file.path.parent, first=first, last=last, place=scenario.place
    )


def _whole(matter: Matter, scenario: Scenario) -> Ledger:
    ledger = simulate(scenario, record_of(matter, scenario))
    if ledger.period != matter.ledger.period:
        raise InputError("its weather does not cover the days of this plan")
    return ledger


def of_scores(set_up: SetUp, scores: Scores, ledger: Ledger) -> Fared:
    """How a set-up fared, from its own run."""
    years = ledger.days.size / 365.25
    by_year = [(row.year, row.dry_days) for row in scores.years]
    longest = scores.longest_dry_spell
    return Fared(
        set_up,
        Compared(set_up, ledger, scores).days,
        longest.days if longest else 0,
        _worst(by_year),
        scores.reliability_volume,
        scores.totals_L["backup"] / years,
        scores.cost / years,
    )


def _of_outcome(set_up: SetUp, outcome: Outcome, i: int) -> Fared:
    years, met = outcome.n_days / 365.25, float(outcome.reliability_volume[i])
    by_year = list(zip(outcome.years.tolist(), outcome.by_year["dry_days"][:, i].tolist(), strict=True))
    return Fared(
        set_up,
        Days(*(int(outcome.numbers[name][i]) for name in COUNTED)),
        int(outcome.longest[i]),
        _worst(by_year),
        None if np.isnan(met) else met,
        float(outcome.supplied[:, i].sum()) / years,
        float(outcome.cost[i]) / years,
    )


COUNTED = ("dry_days", "unserved_days", "stressed_days", "held_back_days")
"""Scores in the order of `Days`."""


def _worst(by_year: Sequence[tuple[int, int]]) -> tuple[int, int] | None:
    year = max(by_year, key=lambda row: (row[1], -row[0]))
    return year if year[1] else None
