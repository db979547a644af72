"""`holdwater sweep`: all combinations of some quantities."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path
from typing import Any

from holdwater import words
from holdwater.charts import curve, designs_map
from holdwater.charts.files import picture, write
from holdwater.charts.swept import finding
from holdwater.cli import confidence
from holdwater.cli.running import Lot
from holdwater.cli.study import Asked, Records, closing, notes, period, progress, weather
from holdwater.cli.sweep_told import levels_moved, sure, table
from holdwater.cli.text import as_json
from holdwater.errors import InputError
from holdwater.report.files import staged
from holdwater.studies import sweep as study
from holdwater.studies.dials import Grid, dial
from holdwater.studies.engine import Site
from holdwater.studies.redrawn import NUMBERS, numbers
from holdwater.studies.sweep import Sweep, design, score_of
from holdwater.studies.sweep_confidence import SweepConfidence, sweep_confidence
from holdwater.studies.sweep_estimate import Estimate, estimate
from holdwater.studies.sweep_files import write_csv, write_nc
from holdwater.units import System

CHARTS = ("charts/sweep.png", "charts/sweep.svg")
MOST_TOLD = 1000


def run(asked: Asked, vary: list[str], yes: bool, json: bool, quiet: bool, lot: Lot | None = None) -> None:
    """Run the sweep, write dataset, table and chart, and print what it found."""
    file = asked.file
    grid = _grid(vary)
    grid.check(file)
    with progress(json or quiet) as bar:
        bar.doing("reading the weather")
        record = Records(file.path.parent)(file.scenario)
        site = Site.of(file.scenario, record, bar.doing)
        starts = file.scenario.run.year_starts
        drawing = None if lot is None else confidence.drawing(site.record, lot, starts)
        ask(estimate(file, site, grid, drawing), yes)
        bar.of(grid.size)
        bar.doing("running the designs")
        found = study.sweep(file, site, grid, bar.done)
        if lot is not None and drawing is not None:
            begun = replace(lot, bar=bar).begin((grid.size + 1) * lot.samples)
            found = replace(found, confidence=sweep_confidence(file, grid, drawing, begun))
        told = as_data(found)
        system = file.scenario.show_units
        with staged(asked.folder, owned=CHARTS) as stage:
            bar.doing("writing")
            write_nc(stage / "sweep.nc", found)
            write_csv(stage / "sweep.csv", found)
            (stage / "sweep.json").write_text(as_json(told) + "\n", "utf-8")
            _draw(found, stage, system)
    if json:
        print(as_json(told))
    elif not quiet:
        print(finding(found, system))
        print(f"\n{table(found, system)}")
        if found.confidence is not None:
            print(f"\n{sure(found, found.confidence, system)}")
        charts = ["charts/sweep"] if grid.dials[2:] == () else []
        said = [*told["notes"], *notes(file, record)]
        closing(said, asked.folder, ["sweep.nc", "sweep.csv", "sweep.json", *charts])


def _grid(vary: list[str]) -> Grid:
    dials, faults = [], []
    for each in vary:
        try:
            dials.append(dial(each))
        except InputError as fault:
            faults += fault.faults
    if faults:
        raise InputError(faults)
    return Grid(tuple(dials))


def ask(expected: Estimate | None, yes: bool) -> None:
    """Refuse what takes long or much memory unless it was said that it is meant.

    Raises
    ------
    InputError
        Says the time and the memory it will take.
    """
    if expected is None or yes or not expected.asks:
        return
    what = f"{expected.designs:,} designs"
    fewer = "take fewer values: LOW..HIGH:COUNT"
    if expected.samples:
        what += f" in this record and in {expected.samples:,} drawn by lot, {expected.runs:,} runs in all,"
        fewer += ", or fewer --samples"
    raise InputError(
        f"{what} will take about {lasting(expected.seconds)} and"
        f" {expected.megabytes / 1000:,.1f} GB of memory on this machine;"
        f" add --yes to run them all the same, or {fewer}"
    )


def lasting(seconds: float) -> str:
    """Write a length of time in the unit a person would use."""
    if seconds < 90:
        return words.count(max(1, round(seconds)), "second")
    minutes = seconds / 60
    return words.count(round(minutes), "minute") if minutes < 90 else f"{minutes / 60:,.1f} hours"


def _draw(found: Sweep, stage: Path, system: System) -> None:
    """A curve for one dial, a map for two, nothing for more."""
    if len(found.axes) > 2:
        return
    figure = (
        curve.curve_chart(curve.of_sweep(found, system), system)
        if len(found.axes) == 1
        else designs_map.designs_map(found, system)
    )
    write(picture(figure, "sweep"), stage / "charts")


def as_data(found: Sweep) -> dict[str, Any]:
    """The sweep as plain data: the dials, the present, the best, and every design where there are not many."""
    record = found.site.record
    every = list(range(found.grid.size)) if found.grid.size <= MOST_TOLD else None
    told: dict[str, Any] = {
        "scenario": found.base.scenario.title,
        "finding": finding(found, found.base.scenario.show_units),
        "rule": found.base.scenario.run.rule,
        "period": period(record),
        "weather": weather(record),
        "dials": [
            {
                "path": each.dial.path,
                "values": list(each.dial.texts),
                "inside": [float(v) for v in each.values] if each.numeric else None,
                "present": None if each.present != each.present else each.present,
            }
            for each in found.axes
        ],
        "designs": found.grid.size,
        "present": _scores(found, None),
        "best": [_design(found, i) for i in found.best(10)],
        "every": None if every is None else [_design(found, i) for i in every],
        "notes": levels_moved(found, found.base.scenario.show_units),
        "units": {name: units for name, (units, _) in study.SCORES.items()},
        "definitions": {name: meaning for name, (_, meaning) in study.SCORES.items()},
    }
    if found.confidence is not None:
        told["confidence"] = _confidence(found, found.confidence)
    return told


def _confidence(found: Sweep, drawn: SweepConfidence) -> dict[str, Any]:
    """How the records were drawn, and the bounds of the scenario as it is."""
    here = numbers(found.present)[:, 0].tolist()
    present = {
        name: {"here": value, "low": drawn.present_low[name], "high": drawn.present_high[name]}
        for name, value in zip(NUMBERS, here, strict=True)
        if value == value and drawn.present_low[name] == drawn.present_low[name]
    }
    return {
        **drawn.drawing.how,
        "numbers": present,
        "definitions": {name: meaning for name, (_, meaning) in NUMBERS.items()},
    }


def _bounds(drawn: SweepConfidence, i: int) -> dict[str, Any]:
    """Bounds of a design, and in how many of the drawn records it does better and worse than the present."""
    bounds: dict[str, Any] = {
        name: {"low": float(drawn.low[name][i]), "high": float(drawn.high[name][i])}
        for name in NUMBERS
        if drawn.low[name][i] == drawn.low[name][i]
    }
    counts = {
        "fewer_dry_days_than_present": int(drawn.fewer[i]),
        "more_dry_days_than_present": int(drawn.more[i]),
    }
    return bounds | counts


def _design(found: Sweep, i: int) -> dict[str, Any]:
    at = zip(found.grid.dials, design(found, i), strict=True)
    told = {each.path: each.texts[k] for each, k in at} | _scores(found, i)
    return told if found.confidence is None else {**told, "confidence": _bounds(found.confidence, i)}


def _scores(found: Sweep, i: int | None) -> dict[str, Any]:
    outcome, at = (found.present, 0) if i is None else (found.outcome, i)
    values = {name: float(score_of(outcome, name)[at]) for name in study.SCORES}
    return {name: None if value != value else value for name, value in values.items()}
