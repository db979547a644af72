"""How far dry days, reliability and cost of a run may be off, because the record is only so long."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

from holdwater.scenario.schema import Scenario
from holdwater.simulation import covering
from holdwater.studies.engine import Site, Told, run_all
from holdwater.studies.redrawn import NUMBERS, Drawing, numbers, of_holdings, run_redrawn
from holdwater.studies.resample import LEVEL, SAMPLES, Interval, interval
from holdwater.weather.record import Record


@dataclass(frozen=True)
class Confidence:
    """A number on this record, and what it may be with another draw from the same climate.

    Attributes
    ----------
    here : float
        On the record itself.
    interval : Interval
        From its complete years, drawn by lot.
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
        return dict(zip(NUMBERS, numbers(found)[:, 0].tolist(), strict=True))

    return tell


def confidence(
    scenario: Scenario,
    record: Record,
    samples: int = SAMPLES,
    seed: int = 1,
    block: int = 1,
    level: float = LEVEL,
    told: Told | None = None,
) -> dict[str, Confidence]:
    """Intervals for the scores of a run from records of whole years drawn by lot.

    Parameters
    ----------
    scenario : Scenario
        The holding; years start in its `run.year_starts`.
    record : Record
        Covers the run; its complete years are drawn from.
    samples, seed, block
        As for `resample.records`.
    level : float
        Share of the samples within an interval.
    told : callable, optional
        Called with the number of records done since the last call.

    Raises
    ------
    InputError
        The record does not cover the run, has fewer than 10 complete years, or the samples are too few.
    """
    cut, starts = covering(scenario, record), scenario.run.year_starts
    drawing = Drawing(cut, samples, seed, starts, block, level)
    drawn = run_redrawn(scenario, drawing, of_holdings([scenario], starts), 1, told)
    here = numbers_of(scenario)(cut)
    return {
        name: Confidence(here[name], interval(drawn[i, :, 0], level))
        for i, name in enumerate(NUMBERS)
        if here[name] == here[name]  # not where nothing was asked
    }
