"""`holdwater calibrate`: what a log of measured levels says of roofs, first flush and leak."""

from __future__ import annotations

import csv
import io
import json
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from holdwater import words
from holdwater.charts.calibration import amount, between, calibration_chart, finding, listed
from holdwater.charts.files import picture, write
from holdwater.cli.study import progress
from holdwater.cli.text import columns
from holdwater.errors import InputError
from holdwater.report.files import staged
from holdwater.scenario import load
from holdwater.scenario.schema import Refill
from holdwater.studies.calibrate import Calibration, calibrate, lines_to_paste
from holdwater.studies.level_doubts import Rise
from holdwater.studies.level_log import read_levels
from holdwater.studies.level_numbers import NAMES, Name
from holdwater.units import System, quoted, show
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
    with progress(as_json or quiet) as bar:
        found = calibrate(scenario, record, log, fit, asked.morning, bar.doing)
    notes = [*remarks(found, system), *log.notes, *file.warnings, *record.provenance.notes]
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
        for line in answer(found, asked.scenario, system):
            print(line)
        for note in notes:
            print(f"\nNote: {note}.")
        print(f"\nWritten to {folder}/: calibration.json, calibration.csv, charts/calibration.png|svg")


def answer(found: Calibration, scenario: Path, system: System) -> list[str]:
    """What was found and what to paste; or why nothing was, the likeliest cause first."""
    said = [finding(found, system)]
    if found.outcome == "does not fit":
        said += ["", "What may be behind it, the likeliest first:"]
        said += [f"  {i}. {cause}." for i, cause in enumerate(causes(found, system), 1)]
    elif found.outcome == "fits":
        said += ["", table(found, system), "", f"To paste into {scenario}:", ""]
        said += [f"  {line}" for line in lines_to_paste(found, system)]
    if found.untold and found.outcome != "does not fit":
        said += ["", "Left as written, because the log does not tell it:"]
        said += [f"  {LABELS[one.name]}: {one.why}." for one in found.untold]
    return said


def read_fit(text: str | None) -> tuple[Name, ...] | None:
    """Read which numbers to fit: "runoff,leak"; without it those that the log tells.

    Raises
    ------
    InputError
        A name that is none of them.
    """
    if text is None:
        return None
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
        value = amount(found, one, one.value, system)
        rows.append([LABELS[one.name], before, value, between(found, one, system)])
    return columns(rows)


LABELS = {"runoff": "runoff coefficient", "first flush": "first flush, mean depth", "leak": "leak"}


FAR = 0.05
"""A misfit that is left and larger than this share of the capacity deserves a word."""
MOST_RISES = 3


def causes(found: Calibration, system: System) -> list[str]:
    """What may keep a log from fitting, the likeliest first."""
    filled = 'water filled in that the log does not name: write it into a column "filled [gal]"'
    if found.rises:
        shown = [_rise(rise, system) for rise in found.rises[:MOST_RISES]]
        more = len(found.rises) - MOST_RISES
        filled += f"; the water rose {listed(shown)}" + (
            f", and {words.count(more, 'time')} more" if more > 0 else ""
        )
        filled += ", beyond what came off the roofs or was filled in. Or the level was misread there"
    own = [backup.name for backup in found.scenario.backup if isinstance(backup, Refill)]
    if own and not found.filled_L:
        filled += f" ({listed(own)} fills the tanks in the scenario, but the log has no such column)"
    return [
        filled,
        "readings of another hour: say --morning if they were taken before the day's rain and use",
        "more or less use than is written: guests, days away, beds watered by hand",
        "rain that fell elsewhere, or a roof of another size than is written",
    ]


def _rise(rise: Rise, system: System) -> str:
    """One rise without a source, in words."""
    more = show(rise.volume_L, "volume", system, digits=2)
    return f"by {more} between {words.briefly(rise.first)} and {words.briefly(rise.last)}"


def remarks(found: Calibration, system: System) -> list[str]:
    """What to know before pasting the numbers."""
    if found.outcome != "fits":
        return []
    said = _no_fills(found)
    if found.misfit_after > FAR * found.capacity_L:
        said.append(
            f"the simulation still misses the readings by {show(found.misfit_after, 'volume', system, digits=2)}, more"
            f" than a gauge does: {'; '.join(causes(found, system)[-3:])}"
        )
    names = {one.name for one in found.fitted}
    if "leak" in names:
        said.append("a leak found this way is every loss or use that the scenario does not know")
        tanks = found.scenario.tank
        if len(tanks) > 1 and not any(tank.leak for tank in tanks):
            said.append("one log cannot tell which tank leaks: the leak is shared by all of them alike")
    coefficients = {roof.surface or roof.runoff_coefficient for roof in found.scenario.roof}
    if "runoff" in names and len(coefficients) > 1:
        said.append(
            "one log cannot tell the roofs apart: all coefficients were changed by the same factor, and the first"
            f" roof's is shown ('{found.scenario.roof[0].name}')"
        )
    for one in found.fitted:
        if one.low is None or one.high is None:
            continue
        if one.high - one.low > 0.5 * max(abs(one.value), 1e-9) and one.low <= one.before <= one.high:
            said.append(
                f"the log says little of the {one.name}: what is written lies within its interval; it may be left as"
                " it is"
            )
    return said


def _no_fills(found: Calibration) -> list[str]:
    """That backup which fills tanks was left out, where the log names nothing filled in."""
    refills = [backup.name for backup in found.scenario.backup if isinstance(backup, Refill)]
    if not refills or found.filled_L:
        return []
    return [
        f"the log names no water filled in, so none is taken to have come from {', '.join(refills)}; if some"
        ' came, add a column "filled [gal]" to the log'
    ]


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
        "outcome": found.outcome,
        "readings": len(found.readings),
        "period": {"from": str(found.days[0]), "to": str(found.days[-1])},
        "fitted": [
            {"name": one.name, "value": one.value, "low": one.low, "high": one.high, "before": one.before}
            for one in found.fitted
        ],
        "left_as_written": [{"name": one.name, "why": one.why} for one in found.untold],
        "at_their_limit": found.limits,
        "rises_without_source": [
            {"from": str(rise.first), "to": str(rise.last), "volume_L": rise.volume_L} for rise in found.rises
        ],
        "causes": causes(found, system) if found.outcome == "does not fit" else [],
        "runoff_coefficients": {roof.name: roof.runoff_coefficient for roof in found.fitted_scenario.roof},
        "leaks_L_per_day": {tank.name: tank.leak for tank in found.fitted_scenario.tank},
        "misfit_L": {"before": found.misfit_before, "after": found.misfit_after},
        "correlation_of_misfits": found.correlation,
        "definitions": {
            "runoff": "factor on all runoff coefficients",
            "first flush": "factor on all first-flush depths; a depth in mm where the scenario has none",
            "leak": "of all tanks together, L/day",
            "outcome": "fits; as written, where no other numbers come much nearer; does not fit, and then no"
            " interval is claimed",
            "interval": "holds all numbers together with 95 % confidence (profile of the misfit, Bonferroni;"
            " Bates & Watts 1988)",
        },
        "lines": lines_to_paste(found, system) if found.outcome == "fits" else [],
        "notes": notes,
    }
