"""How far off a run may be because its record is only so long: intervals as data and as words."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from holdwater.cli.running import Lot
from holdwater.cli.text import columns
from holdwater.scenario.schema import Scenario
from holdwater.units import System
from holdwater.weather.record import Record

if TYPE_CHECKING:
    from holdwater.studies.redrawn import Drawing
    from holdwater.studies.size import Size
    from holdwater.studies.sweep_confidence import SweepConfidence

CAUTION = "Years never seen can be worse than any drawn."
_NUMBERS = {
    "dry_days_per_year": ("dry days a year", 1.0, ""),
    "unserved_days_per_year": ("unserved days a year", 1.0, ""),
    "dry_years_share": ("years with a dry day", 100.0, " %"),
    "reliability_volume": ("water met", 100.0, " %"),
    "backup_cost_per_year": ("cost of backup a year", 1.0, ""),
}


def drawing(record: Record, lot: Lot, year_starts: int) -> Drawing:
    """How records are drawn from the one of a study; made before anything long is begun.

    Raises
    ------
    InputError
        The record has too few years, or the samples are too few.
    """
    from holdwater.studies.redrawn import Drawing

    return Drawing(record, lot.samples, lot.seed, year_starts, lot.block)


def of_run(scenario: Scenario, record: Record, lot: Lot) -> dict[str, Any]:
    """Intervals of a run's scores as plain data.

    Raises
    ------
    InputError
        The record has too few years, or the samples are too few.
    """
    from holdwater.studies.confidence import confidence

    found = confidence(scenario, record, lot.samples, lot.seed, lot.block, told=lot.begin(lot.samples))
    first = next(iter(found.values())).interval
    numbers = {
        name: {"here": each.here, "low": each.interval.low, "high": each.interval.high}
        for name, each in found.items()
    }
    return {"level": first.level, **lot.how, "numbers": numbers}


def drawn(told: dict[str, Any]) -> str:
    """Say how the intervals were made: "200 records made of whole years of this one, drawn by lot (seed 1)"."""
    from holdwater.studies.redrawn import drawn_words

    return drawn_words(told["samples"], told["seed"], told["block"])


def run_table(told: dict[str, Any]) -> str:
    """The intervals of a run for the terminal."""
    rows = [["", "on this record", f"{100 * told['level']:.0f} % of those drawn"]]
    for name, (label, factor, unit) in _NUMBERS.items():
        if name in told["numbers"]:
            here, low, high = (factor * told["numbers"][name][key] for key in ("here", "low", "high"))
            if high > 0.0:
                rows.append([label, f"{here:,.1f}{unit}", f"{low:,.1f} to {high:,.1f}{unit}"])
    return f"How sure is that? {drawn(told)}:\n{columns(rows)}\n  {CAUTION}"


def of_size(found: Size, asked: str, lot: Lot) -> dict[str, Any]:
    """Interval of the size found as plain data; a bound that is null lies beyond what was tried.

    Raises
    ------
    InputError
        The record has too few years, or the samples are too few.
    """
    from holdwater.studies.size_confidence import size_interval

    told = lot.begin(lot.samples)
    interval = size_interval(found, asked, lot.samples, lot.seed, lot.block, told=told)
    return {
        "level": interval.level,
        **lot.how,
        "low": interval.low,
        "high": interval.high,
        "enough": interval.enough,
    }


def size_words(told: dict[str, Any], found: Size, system: System) -> str:
    """The interval of a size in a few lines."""
    from holdwater.studies.quantity import say

    if not told["enough"]:
        return f"How sure is that? In none of {drawn(told)}, is anything that was tried enough. {CAUTION}"
    beyond = f"{'more' if found.grows else 'less'} than was tried"
    kind = found.tried.axis.kind
    low, high = (beyond if told[end] is None else say(told[end], kind, system) for end in ("low", "high"))
    said = f"{100 * told['level']:.0f} % of {drawn(told)}, want {low} to {high}."
    if told["enough"] < told["samples"]:
        said += f" In {told['samples'] - told['enough']:,} of them nothing that was tried is enough."
    return f"How sure is that? {said} {CAUTION}"


def better(drawn: SweepConfidence, i: int) -> str:
    """In how many of the drawn records a design has fewer dry days than the present, and more."""
    fewer, more, n = int(drawn.fewer[i]), int(drawn.more[i]), drawn.drawing.samples
    if not fewer and not more:
        return f"as many dry days in every one of the {n:,}"
    worse = f", more in {more:,}" if more else ""
    return f"fewer dry days in {fewer:,} of the {n:,}{worse}"


def between(drawn: SweepConfidence, name: str, i: int, factor: float) -> str:
    """Bounds of a number of a design: "2.5 to 8.1"."""
    return f"{factor * drawn.low[name][i]:,.1f} to {factor * drawn.high[name][i]:,.1f}"
