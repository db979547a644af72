"""`holdwater calibrate`: what a log of measured levels says of roofs, first flush and leak."""

from __future__ import annotations

import csv
import io
import json
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from holdwater.charts.calibration import amount, calibration_chart, finding
from holdwater.charts.files import picture, write
from holdwater.cli.text import columns
from holdwater.errors import InputError
from holdwater.report.files import staged
from holdwater.scenario import load
from holdwater.scenario.schema import Refill
from holdwater.studies.calibrate import Calibration, calibrate, lines_to_paste
from holdwater.studies.level_log import read_levels
from holdwater.studies.level_model import NAMES, Name
from holdwater.units import System, quoted
from holdwater.weather import read_weather


@dataclass(frozen=True)
class Asked:
    """What the user typed."""

    scenario: Path
    levels: Path
    fit: str | None
    morning: bool
    sets: list[str]
    variant: str | None
    out: Path | None
    units: str | None


def run(asked: Asked, as_json: bool, quiet: bool) -> None:
    """Fit, write `calibration.json`, `calibration.csv` and the chart, and print the lines to paste."""
    file = load(asked.scenario, sets=asked.sets, variant=asked.variant)
    scenario = file.scenario
    system: System = asked.units or scenario.show_units  # type: ignore[assignment]
    fit = read_fit(asked.fit)
    log = read_levels(asked.levels, scenario)
    first, last = scenario.run.from_, scenario.run.to
    record = read_weather(
        scenario.weather,
        file.path.parent,
        first=first and min(first, log.readings[0].on),
        last=last and max(last, log.readings[-1].on),
        place=scenario.place,
    )
    found = calibrate(scenario, record, log, fit, asked.morning)
    notes = [*file.warnings, *record.provenance.notes, *remarks(found, system)]
    told = as_data(found, system, notes)
    folder = asked.out or Path("outputs") / asked.scenario.stem
    with staged(folder) as stage:
        (stage / "calibration.json").write_text(
            json.dumps(told, indent=2, ensure_ascii=False) + "\n", "utf-8"
        )
        (stage / "calibration.csv").write_text(as_table(found), "utf-8")
        write(picture(calibration_chart(found, system), "calibration"), stage / "charts")
    if as_json:
        print(json.dumps(told, indent=2, ensure_ascii=False))
    elif not quiet:
        print(finding(found, system))
        print(f"\n{table(found, system)}\n")
        print(f"To paste into {asked.scenario}:\n")
        print("\n".join(f"  {line}" for line in lines_to_paste(found, system)))
        for note in notes:
            print(f"\nNote: {note}.")
        print(f"\nWritten to {folder}/: calibration.json, calibration.csv, charts/calibration.png|svg")


def read_fit(text: str | None) -> tuple[Name, ...]:
    """Read which numbers to fit: "runoff,leak"; all of them without.

    Raises
    ------
    InputError
        A name that is none of them.
    """
    if text is None:
        return NAMES
    wanted = [" ".join(part.replace("_", " ").replace("-", " ").split()).lower() for part in text.split(",")]
    unknown = [part for part in wanted if part not in NAMES]
    if unknown or not wanted:
        raise InputError(f"--fit: {quoted(unknown[0])} cannot be fitted; choose among {', '.join(NAMES)}")
    return tuple(name for name in NAMES if name in wanted)


def table(found: Calibration, system: System) -> str:
    """The numbers before and after, with their intervals."""
    rows = [["number", "as written", "found", "between"]]
    for one in found.fitted:
        before = amount(found, one, one.before, system) if one.before > 0.0 else "none"
        low, high = (amount(found, one, value, system) for value in (one.low, one.high))
        rows.append([LABELS[one.name], before, amount(found, one, one.value, system), f"{low} and {high}"])
    return columns(rows)


LABELS = {"runoff": "runoff coefficient", "first flush": "first flush, mean depth", "leak": "leak"}


def remarks(found: Calibration, system: System) -> list[str]:
    """What to know before pasting the numbers."""
    said = ["a leak found this way is every loss or use that the scenario does not know"]
    coefficients = {roof.surface or roof.runoff_coefficient for roof in found.scenario.roof}
    names = {one.name for one in found.fitted}
    if "runoff" in names and len(coefficients) > 1:
        said.append(
            "one log cannot tell the roofs apart: all coefficients were changed by the same factor, and the first"
            f" roof's is shown ('{found.scenario.roof[0].name}')"
        )
    for one in found.fitted:
        if one.high - one.low > 0.5 * max(abs(one.value), 1e-9) and one.low <= one.before <= one.high:
            said.append(
                f"the log says little of the {one.name}: what is written lies within its interval; it may be left as"
                " it is"
            )
    refills = [backup.name for backup in found.scenario.backup if isinstance(backup, Refill)]
    if refills and not found.filled_L:
        said.append(
            f"the log names no water filled in, so none is taken to have come from {', '.join(refills)}; if some"
            ' came, add a column "filled [gal]" to the log'
        )
    return said


def as_table(found: Calibration) -> str:
    """One row a day: simulation as written and as fitted, and what was read [L]."""
    out = io.StringIO()
    rows = csv.writer(out, lineterminator="\n")
    rows.writerow(["date", "as_written_L", "as_fitted_L", "read_tank", "read_L", "misfit_L"])
    by_place: dict[int, list[int]] = {}
    for i, place in enumerate(found.places.tolist()):
        by_place.setdefault(place, []).append(i)
    for place, date in enumerate(found.days.astype(str).tolist()):
        line = [date, f"{found.before[place]:.1f}", f"{found.after[place]:.1f}"]
        for i in by_place.get(place, []):
            one = found.readings[i]
            rows.writerow([*line, one.tank or "all", f"{one.drawable_L:.1f}", f"{found.residuals[i]:.1f}"])
        if place not in by_place:
            rows.writerow([*line, "", "", ""])
    return out.getvalue()


def as_data(found: Calibration, system: System, notes: list[str]) -> dict[str, Any]:
    """The calibration as plain data; volumes in litres."""
    return {
        "scenario": found.scenario.title,
        "verdict": finding(found, system),
        "readings": len(found.readings),
        "period": {"from": str(found.days[0]), "to": str(found.days[-1])},
        "fitted": [
            {"name": one.name, "value": one.value, "low": one.low, "high": one.high, "before": one.before}
            for one in found.fitted
        ],
        "runoff_coefficients": {roof.name: roof.runoff_coefficient for roof in found.fitted_scenario.roof},
        "leaks_L_per_day": {tank.name: tank.leak for tank in found.fitted_scenario.tank},
        "misfit_L": {"before": found.misfit_before, "after": found.misfit_after},
        "condition": found.condition,
        "definitions": {
            "runoff": "factor on all runoff coefficients",
            "first flush": "factor on all first-flush depths; a depth in mm where the scenario has none",
            "leak": "of all tanks together, L/day",
            "interval": "holds all numbers together with 95 % confidence (linearised, Bonferroni)",
        },
        "lines": lines_to_paste(found, system),
        "notes": notes,
    }
