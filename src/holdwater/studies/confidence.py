"""How far dry days, reliability and cost of a run may be off, because the record is only so long."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

from holdwater.scenario.schema import Scenario
from holdwater.simulation import covering
from holdwater.studies.engine import Site, run_all
from holdwater.studies.resample import LEVEL, SAMPLES, Interval, bootstrap, interval
from holdwater.weather.record import Record


@dataclass(frozen=True)
class Confidence:
    """A number on this record, and what it may be with another draw from the same climate.

    Attributes
    ----------
    here : float
        On the complete years of the record itself.
    interval : Interval
        From whole years drawn by lot.
    """

    here: float
    interval: Interval


def numbers_of(scenario: Scenario) -> Callable[[Record], dict[str, float]]:
    """Make a function that runs a holding through a record and tells its scores.

    Parameters
    ----------
    scenario : Scenario
        Its period does not matter: the whole record is run.

    Returns
    -------
    callable
        Record to "dry_days_per_year", "unserved_days_per_year", "dry_years_share" (years with a dry
        day), "reliability_volume" (NaN where nothing was asked) and "backup_cost_per_year".
    """
    whole = scenario.model_copy(update={"run": scenario.run.model_copy(update={"from_": None, "to": None})})

    def tell(record: Record) -> dict[str, float]:
        site = Site.of(whole, record)
        found = run_all(site, [site.ready(whole)], scenario.run.year_starts)
        years = found.n_days / 365.25
        return {
            "dry_days_per_year": float(found.numbers["dry_days"][0]) / years,
            "unserved_days_per_year": float(found.numbers["unserved_days"][0]) / years,
            "dry_years_share": float((found.by_year["dry_days"][:, 0] > 0).mean()),
            "reliability_volume": float(found.reliability_volume[0]),
            "backup_cost_per_year": float(found.cost[0]) / years,
        }

    return tell


def confidence(
    scenario: Scenario,
    record: Record,
    samples: int = SAMPLES,
    seed: int = 1,
    block: int = 1,
    level: float = LEVEL,
) -> dict[str, Confidence]:
    """Intervals for the scores of a run from records of whole years drawn by lot.

    Parameters
    ----------
    scenario : Scenario
        The holding; years start in its `run.year_starts`.
    record : Record
        Covers the run; its complete years are drawn from.
    samples, seed, block
        As for `bootstrap`.
    level : float
        Share of the samples within an interval.

    Raises
    ------
    InputError
        The record does not cover the run, has fewer than 10 complete years, or the samples are too few.
    """
    cut, starts = covering(scenario, record), scenario.run.year_starts
    tell = numbers_of(scenario)
    drawn = bootstrap(cut, tell, samples, seed, starts, block)
    here = tell(cut)
    return {
        name: Confidence(here[name], interval(values, level))
        for name, values in drawn.items()
        if here[name] == here[name]  # not where nothing was asked
    }
