"""`holdwater sweep`: all combinations of some quantities."""

from __future__ import annotations

from pathlib import Path
from typing import Any

from holdwater import words
from holdwater.charts import curve, designs_map
from holdwater.charts.files import picture, write
from holdwater.cli.study import Asked, Records, closing, notes, period, progress, weather
from holdwater.cli.text import as_json, columns
from holdwater.errors import InputError
from holdwater.report.files import staged
from holdwater.studies import sweep as study
from holdwater.studies.dials import Grid, dial
from holdwater.studies.engine import Site
from holdwater.studies.sweep import Estimate, Sweep, design, score_of
from holdwater.units import System

CHARTS = ("charts/sweep.png", "charts/sweep.svg")
MOST_CELLS, MOST_ROWS, MOST_TOLD = 11, 15, 1000
SHOWN = ("dry_days", "unserved_days", "longest_dry_spell", "dry_days_of_worst_year")


def run(asked: Asked, vary: list[str], yes: bool, json: bool, quiet: bool) -> None:
    """Run the sweep, write dataset, table and chart, and print what it found."""
    file = asked.file
    grid = _grid(vary)
    grid.check(file)
    with progress(json or quiet) as bar:
        bar.doing("reading the weather")
        record = Records(file.path.parent)(file.scenario)
        site = Site.of(file.scenario, record, bar.doing)
        ask(study.estimate(file, site, grid), yes)
        bar.of(grid.size)
        bar.doing("running the designs")
        found = study.sweep(file, site, grid, bar.done)
        told = as_data(found)
        system = file.scenario.show_units
        with staged(asked.folder, owned=CHARTS) as stage:
            bar.doing("writing")
            study.write_nc(stage / "sweep.nc", found)
            study.write_csv(stage / "sweep.csv", found)
            (stage / "sweep.json").write_text(as_json(told) + "\n", "utf-8")
            _draw(found, stage, system)
    if json:
        print(as_json(told))
    elif not quiet:
        print(finding(found, system))
        print(f"\n{table(found, system)}")
        charts = ["charts/sweep"] if grid.dials[2:] == () else []
        closing(notes(file, record), asked.folder, ["sweep.nc", "sweep.csv", "sweep.json", *charts])


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
    raise InputError(
        f"{expected.designs:,} designs will take about {lasting(expected.seconds)} and"
        f" {expected.megabytes / 1000:,.1f} GB of memory on this machine;"
        " add --yes to run them all the same, or take fewer values: LOW..HIGH:COUNT"
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


def finding(found: Sweep, system: System) -> str:
    """The finding as the chart's title tells it."""
    return curve.of_sweep(found, system).title if len(found.axes) == 1 else designs_map.finding(found, system)


def table(found: Sweep, system: System) -> str:
    """All designs of a short curve or a small map; else the best."""
    if len(found.axes) == 2 and max(found.grid.shape) <= MOST_CELLS:
        return _cells(found, system)
    if len(found.axes) == 1 and found.grid.size <= MOST_ROWS:
        return columns(_rows(found, list(range(found.grid.size)), system), left=())
    few = min(10, found.grid.size)
    head = (
        f"The {few} with the fewest dry days, of {found.grid.size:,}; of equals those nearest to the present:"
    )
    return f"{head}\n\n{columns(_rows(found, found.best(few), system), left=())}"


def _rows(found: Sweep, designs: list[int], system: System) -> list[list[str]]:
    head = [each.label for each in found.axes] + [name.replace("_", " ") for name in SHOWN] + ["water met"]
    rows = [head]
    met = found.outcome.reliability_volume
    for i in designs:
        values = [each.say(k, system) for each, k in zip(found.axes, design(found, i), strict=True)]
        counts = [f"{int(score_of(found.outcome, name)[i]):,}" for name in SHOWN]
        rows.append([*values, *counts, "" if met[i] != met[i] else f"{100 * met[i]:.1f} %"])
    return rows


def _cells(found: Sweep, system: System) -> str:
    """Dry days over two dials."""
    down, across = found.axes
    rows = [["", *(across.say(j, system) for j in range(found.grid.shape[1]))]]
    dry = found.score("dry_days")
    for i in range(found.grid.shape[0]):
        rows.append([down.say(i, system), *(f"{int(value):,}" for value in dry[i])])
    return f"Dry days, {down.label} down, {across.label} across:\n\n{columns(rows)}"


def as_data(found: Sweep) -> dict[str, Any]:
    """The sweep as plain data: the dials, the present, the best, and every design where there are not many."""
    record = found.site.record
    every = list(range(found.grid.size)) if found.grid.size <= MOST_TOLD else None
    return {
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
        "units": {name: units for name, (units, _) in study.SCORES.items()},
        "definitions": {name: meaning for name, (_, meaning) in study.SCORES.items()},
    }


def _design(found: Sweep, i: int) -> dict[str, Any]:
    at = zip(found.grid.dials, design(found, i), strict=True)
    return {each.path: each.texts[k] for each, k in at} | _scores(found, i)


def _scores(found: Sweep, i: int | None) -> dict[str, Any]:
    outcome, at = (found.present, 0) if i is None else (found.outcome, i)
    values = {name: float(score_of(outcome, name)[at]) for name in study.SCORES}
    return {name: None if value != value else value for name, value in values.items()}
