"""What `holdwater run` makes of a holding and its weather: files, JSON, words."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from pathlib import Path
from typing import Any, Literal, NamedTuple

from holdwater import charts
from holdwater.cli import confidence
from holdwater.cli.running import Lot
from holdwater.cli.text import as_json
from holdwater.ledger import Ledger
from holdwater.report import droughts as drought_words
from holdwater.report import files, show, summary, verdict
from holdwater.scenario import heights
from holdwater.scenario.file import ScenarioFile
from holdwater.scenario.schema import Scenario
from holdwater.scenario.toml_text import parse
from holdwater.scores import Scores, score
from holdwater.simulation import simulate
from holdwater.studies import droughts
from holdwater.weather.record import Record


class Result(NamedTuple):
    """One run and its scores."""

    ledger: Ledger
    scores: Scores


class Outcome(NamedTuple):
    """The run, the same under the other operating rule if asked for, both as plain data, and what they replaced."""

    result: Result
    other: Result | None
    summary: dict[str, Any]
    replaced: str = ""


def write(
    file: ScenarioFile,
    record: Record,
    folder: Path,
    both_rules: bool,
    step: Callable[[str], None],
    apart: int = droughts.APART,
    lot: Lot | None = None,
    changes: Sequence[str] = (),
) -> Outcome:
    """Simulate, score, and put the files of the run into a folder.

    Parameters
    ----------
    apart : int
        Dry spells with fewer days than this between them are one drought [days].
    lot : Lot or None
        How years are drawn for confidence intervals; None for none.
    changes : sequence of str
        Changes of the scenario as typed, told beside the results.

    Raises
    ------
    InputError
        The weather does not serve the run, or the folder cannot be written; the old files are whole then.
    """
    step("running the days")
    ledger = simulate(file.scenario, record)
    turned = heights.told(parse(file.text, file.path), file.raw)
    ledger.warnings.extend([*file.warnings, *turned, *record.provenance.notes])
    result = Result(ledger, score(ledger))
    other = _other_rule(file.scenario, result) if both_rules else None
    system = file.scenario.show_units
    found = droughts.all_droughts(*result, apart)
    told = summary.summary(*result) | {"variant": file.variant, "changes": list(changes)}
    told |= drought_words.as_data(*result, found, system, apart)
    if lot is not None:
        step("drawing years by lot")
        told["confidence"] = confidence.of_run(file.scenario, record, lot)
    if other is not None:
        told["both_rules"] = {r.ledger.scenario.run.rule: _spread(r) for r in (result, other)}
    before = files.replaced(folder / "summary.json", told)
    known = charts.CHARTS | charts.GARDEN_CHARTS
    pictures = [f"charts/{name}.{form}" for name in known for form in ("png", "svg")]
    with files.staged(folder, owned=pictures) as stage:
        step("writing the tables")
        files.write_tables(stage, *result, told)
        files.write_droughts(stage / "droughts.csv", found)
        charts.save_all(*result, system, stage / "charts", lambda name: step(f"drew {name}"))
        step("putting the files in place")
    return Outcome(result, other, told, before)


def print_json(outcome: Outcome) -> None:
    """Print what `summary.json` holds."""
    print(as_json(outcome.summary))


def print_text(outcome: Outcome, folder: Path) -> None:
    """Print the plain sentence, the table, what to know, and where the files are."""
    result, other, told, before = outcome
    system = result.ledger.scenario.show_units
    print(verdict.verdict(*result))
    print()
    for said in told["drought_sentences"]:
        print(said)
    print()
    print(show.table(*result, system))
    if other is not None:
        print()
        print(show.rules([result, other], system))
        if turned := show.rules_turned([result, other]):
            print(f"\nNote: {turned}.")
    if "confidence" in told:
        print(f"\n{confidence.run_table(told['confidence'])}")
    for warning in verdict.warnings(*result):
        print(f"\nNote: {warning}.")
    print()
    for caution in summary.CAUTIONS:
        print(f"Caution: {caution}")
    print(
        f"\nWritten to {folder}/: summary.json, ledger.csv, ledger.nc, years.csv, spells.csv,"
        " droughts.csv, charts/"
    )
    if before:
        print(before)


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
