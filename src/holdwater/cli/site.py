"""`holdwater site`: the checks on pipes, pump, storm and ground, beside the daily water."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Any

from holdwater.scenario import load

if TYPE_CHECKING:
    from holdwater.scenario import ScenarioFile
    from holdwater.site.checks import Check
    from holdwater.site.inputs import Site
    from holdwater.site.seen import Seen

CHART = "levels"


@dataclass(frozen=True)
class Asked:
    """What the user typed."""

    scenario: Path
    out: Path | None
    sets: list[str]
    variant: str | None
    units: str | None

    @property
    def changes(self) -> list[str]:
        """Changes of the scenario, that of --units included."""
        return [*self.sets, *([f"show_units={self.units}"] if self.units else [])]


def site(asked: Asked, as_json: bool, quiet: bool) -> None:
    """Make every check the scenario has input for, draw the levels, and write and print both.

    Raises
    ------
    InputError
        The scenario or its `[site]` table is at fault, or the output folder cannot be written.
    """
    file = load(asked.scenario, asked.changes, asked.variant)
    from holdwater.site.reading import read_site

    table = read_site(file.scenario.site, file.scenario)
    folder = asked.out or Path("outputs") / asked.scenario.stem
    seen, why = _seen(file, table)
    from holdwater.site.adapter import site_checks

    checks = site_checks(file.scenario, table, seen)
    told = _write(file, checks, why, folder)
    if as_json:
        from holdwater.cli.text import as_json as written

        print(written(told))
    elif not quiet:
        from holdwater.report import site_text

        scenario = file.scenario
        print(site_text.text(scenario.title, checks, scenario.show_units, _notes(file, checks, why)))
        for warning in file.warnings:
            print(f"\nNote: {warning}.")
        print(f"\nWritten to {folder}/: site.json, charts/{CHART}.png, charts/{CHART}.svg")


def must_read(file: ScenarioFile) -> None:
    """Read the `[site]` table of a scenario, where it has one.

    Raises
    ------
    InputError
        With every fault of the table.
    """
    if file.scenario.site:
        from holdwater.site.reading import read_site

        read_site(file.scenario.site, file.scenario)


def variant_notes(file: ScenarioFile, sets: list[str], names: Iterable[str]) -> list[str]:
    """What keeps the `[site]` table from being read under variants; they run all the same."""
    from holdwater.errors import InputError

    notes = []
    for name in names:
        try:
            must_read(load(file.path, sets, name))
        except InputError as error:
            notes += [
                f"variant '{name}': {fault}; a run does not mind, `holdwater site` does"
                for fault in error.faults
            ]
    return notes


def _seen(file: ScenarioFile, table: Site) -> tuple[Seen, str]:
    """What the weather and a run tell, and why they tell less than they could; "" where they tell all."""
    from holdwater.errors import HoldwaterError
    from holdwater.simulation import simulate
    from holdwater.site.seen import Seen, frost_in, seen_in
    from holdwater.weather import read_weather

    scenario, run = file.scenario, file.scenario.run
    found = Seen()
    try:
        record = read_weather(
            scenario.weather, file.path.parent, first=run.from_, last=run.to, place=scenario.place
        )
        found = Seen(frost=frost_in(record, scenario.place.latitude if scenario.place else None))
        return seen_in(simulate(scenario, record), table.pump.serves if table.pump else None), ""
    except HoldwaterError as fault:
        return found, "; ".join(str(fault).splitlines())


def _notes(file: ScenarioFile, checks: list[Check], why: str) -> list[str]:
    """What to know before reading the checks: no table, no run."""
    from holdwater.site.checks import needs_weather

    notes = []
    if not file.scenario.site:
        notes.append(
            "The file has no [site] table, so little can be checked: the starter of `holdwater new` shows its keys."
        )
    if why:
        names = "; ".join(check.name for check in checks if needs_weather(check))
        left_out = f" Left out for want of one: {names}." if names else ""
        notes.append(f"No run could be made: {why.rstrip('.')}{'' if why.endswith('?') else '.'}{left_out}")
    return notes


def _write(file: ScenarioFile, checks: list[Check], why: str, folder: Path) -> dict[str, Any]:
    """Put site.json and the drawing of the levels into the folder, both or none."""
    from holdwater.charts.files import save
    from holdwater.charts.levels import levels_chart
    from holdwater.cli.text import as_json
    from holdwater.report.files import staged
    from holdwater.report.site_data import site_data

    told = site_data(file.scenario, checks, why)
    with staged(folder) as stage:
        (stage / "site.json").write_text(as_json(told) + "\n", "utf-8")
        save(levels_chart(file.scenario, file.scenario.show_units), stage / "charts", CHART)
    return told
