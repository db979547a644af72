"""`holdwater run`: read, simulate, score, write, show."""

from __future__ import annotations

import datetime as dt
import json
import sys
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path
from typing import Any, Literal, NamedTuple

from holdwater.ledger import Ledger
from holdwater.report import files, show, summary, verdict
from holdwater.scenario import load
from holdwater.scenario.schema import Scenario
from holdwater.scores import Scores, score
from holdwater.simulate import simulate
from holdwater.weather import read_weather

System = Literal["us", "metric"]


@dataclass(frozen=True)
class Asked:
    """What the user typed."""

    scenario: Path
    out: Path | None
    first: dt.date | None
    last: dt.date | None
    sets: list[str]
    variant: str | None
    both_rules: bool
    units: str | None


class Result(NamedTuple):
    """One run and its scores."""

    ledger: Ledger
    scores: Scores


def run(asked: Asked, as_json: bool, quiet: bool) -> None:
    """Run a scenario, write its files, and print the verdict."""
    file = load(asked.scenario, sets=_sets(asked), variant=asked.variant)
    scenario = file.scenario
    system: System = asked.units or scenario.show_units  # type: ignore[assignment]
    folder = asked.out or Path("outputs") / asked.scenario.stem
    with _progress(quiet or as_json) as step:
        step("reading the weather")
        record = read_weather(
            scenario.weather,
            file.path.parent,
            first=scenario.run.from_,
            last=scenario.run.to,
            place=scenario.place,
        )
        step("running the days")
        ledger = simulate(scenario, record)
        ledger.warnings.extend([*file.warnings, *record.provenance.notes])
        result = Result(ledger, score(ledger))
        other = _other_rule(scenario, result) if asked.both_rules else None
        told = summary.summary(*result)
        if other is not None:
            told["both_rules"] = {r.ledger.scenario.run.rule: _spread(r) for r in (result, other)}
        with files.staged(folder) as stage:
            step("writing the tables")
            files.write_tables(stage, ledger, result.scores, told)
            from holdwater.charts import save_all

            save_all(ledger, result.scores, system, stage / "charts", lambda name: step(f"drew {name}"))
    if as_json:
        print(json.dumps(told, indent=2, ensure_ascii=False))
    elif not quiet:
        _print(result, other, folder, system)


def _sets(asked: Asked) -> list[str]:
    days = [f"run.{key}={day}" for key, day in (("from", asked.first), ("to", asked.last)) if day]
    return [*asked.sets, *days]


def _other_rule(scenario: Scenario, result: Result) -> Result:
    """The same run under the other operating rule."""
    rule: Literal["YAS", "YBS"] = "YBS" if scenario.run.rule == "YAS" else "YAS"
    other = scenario.model_copy(update={"run": scenario.run.model_copy(update={"rule": rule})})
    ledger = simulate(other, result.ledger.record)
    return Result(ledger, score(ledger))


def _spread(result: Result) -> dict[str, Any]:
    scores = result.scores
    return {
        "dry_days": scores.dry_days.total,
        "unserved_days": scores.unserved_days,
        "delivered_L": scores.totals_L["delivered"],
        "overflow_L": scores.totals_L["overflow"],
        "reliability_volume": scores.reliability_volume,
    }


@contextmanager
def _progress(hidden: bool) -> Iterator[Any]:
    """Give a function that names the step under way; shown only to a person at a terminal."""
    if hidden or not sys.stderr.isatty():
        yield lambda step: None
        return
    from rich.console import Console
    from rich.progress import BarColumn, Progress, TextColumn, TimeElapsedColumn

    from holdwater.charts import CHARTS

    columns = (TextColumn("{task.description}"), BarColumn(), TimeElapsedColumn())
    with Progress(*columns, console=Console(stderr=True), transient=True) as bar:
        task = bar.add_task("reading", total=4 + len(CHARTS))
        yield lambda step: bar.update(task, description=step, advance=1)


def _print(result: Result, other: Result | None, folder: Path, system: System) -> None:
    print(verdict.verdict(*result))
    print()
    print(show.table(*result, system))
    if other is not None:
        print()
        print(show.rules([result, other], system))
    for warning in verdict.warnings(*result):
        print(f"\nNote: {warning}.")
    for caution in summary.CAUTIONS:
        print(f"\nCaution: {caution}" if caution == summary.CAUTIONS[0] else f"Caution: {caution}")
    print(f"\nWritten to {folder}/: summary.json, ledger.csv, ledger.nc, years.csv, spells.csv, charts/")
