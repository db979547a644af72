"""`holdwater new` and `holdwater check`: the scenario file itself."""

from __future__ import annotations

from importlib import resources
from pathlib import Path
from textwrap import fill
from typing import Any

from holdwater import scenario as scenarios
from holdwater.cli import site
from holdwater.cli.text import argument, as_json
from holdwater.errors import InputError
from holdwater.scenario import ScenarioFile, heights
from holdwater.scenario.toml_text import parse
from holdwater.units import show

WIDTH = 100
"""Longest line [letters]."""


def new(file: Path, units: str | None, json: bool, quiet: bool) -> None:
    """Write the starter scenario; never over an existing file.

    Raises
    ------
    InputError
        The file exists already or cannot be written.
    """
    starter = resources.files("holdwater.scenario").joinpath("starter.toml").read_text("utf-8")
    if units is not None:
        starter = starter.replace('show_units = "us" ', f'show_units = "{units}" ', 1)
    if file.is_dir():
        raise InputError(f"{file} is a folder; name a file in it, such as {file / 'holding.toml'}")
    try:
        with file.open("x", encoding="utf-8", newline="\n") as out:
            out.write(starter)
    except FileExistsError:
        raise InputError(f"{file} exists already and is left as it is; choose another name") from None
    except OSError as fault:
        raise InputError(f"cannot write {file}: {fault.strerror or fault}; choose another place") from None
    if json:
        print(as_json({"written": str(file)}))
    elif not quiet:
        print(
            f"Wrote {file}. Put your roofs, tanks and draws into it, point [weather] at your own daily record,"
        )
        print(f"then: holdwater check {argument(file)}")


def check(path: Path, sets: list[str], variant: str | None, json: bool, quiet: bool) -> None:
    """Read and validate everything a run would read, every variant included; run nothing.

    Raises
    ------
    InputError
        With all faults of the scenario, or with those of its weather.
    """
    file = scenarios.load(path, sets, variant) if variant else scenarios.check(path, sets)
    site.must_read(file)
    from holdwater.cli.trial import Trial

    names = scenarios.variant_names(file)
    trial = Trial(file)
    turned = heights.told(parse(file.text, file.path), file.raw)
    for name in [] if variant else names:
        other = scenarios.load(path, sets, name)
        trial.check(other)
        turned += [f"variant '{name}': {said}" for said in heights.told(file.raw, other.raw)]
    trial.raise_faults()
    from holdwater.report import stranded
    from holdwater.report.verdict import without_temperatures

    scenario, cut, et0 = file.scenario, trial.cut, trial.et0_from
    known = cut.provenance
    system = scenario.show_units
    warnings = [*file.warnings, *turned, *known.notes, *without_temperatures(scenario, cut)]
    warnings += stranded.warnings(scenario, system)
    if file.scenario.site and variant is None:
        warnings += site.variant_notes(file, sets, names)
    if json:
        told = {
            "scenario": scenario.title,
            "fine": True,
            "variants": names,
            "period": {"from": str(cut.first), "to": str(cut.last), "days": int(cut.days.size)},
            "weather": {
                "source": known.source,
                "missing": known.missing,
                "filled": known.filled,
                "licence": known.licence,
                "et0": et0,
            },
            "tanks": _tanks(file),
            "warnings": warnings,
        }
        print(as_json(told))
    elif not quiet:
        print(f"{path} is fine: {scenario.title}")
        print(f"  weather: {known.source}, {cut.first} to {cut.last}, {cut.days.size:,} days")
        if known.licence:
            print(f"  licence: {known.licence}")
        if et0:
            print(f"  evapotranspiration: {et0}")
        for said in _tanks_in_words(file):
            print(f"  {said}")
        for said in stranded.in_words(scenario, system):
            print(fill(said, WIDTH, initial_indent="  ", subsequent_indent="  "))
        if names:
            print(f"  variants: {', '.join(names)}")
        for warning in warnings:
            print(f"\nNote: {warning}.")


def _tanks(file: ScenarioFile) -> list[dict[str, Any]]:
    """Capacity of every tank [L], and the height of its lip above its floor and above the pads' datum [mm]."""
    from holdwater.tanks import vessel

    vessels = [vessel(tank) for tank in file.scenario.tank]
    return [
        {"name": v.name, "capacity_L": v.capacity, "lip_mm": v.lip, "lip_above_datum_mm": v.base + v.lip}
        for v in vessels
    ]


def _tanks_in_words(file: ScenarioFile) -> list[str]:
    """How high every tank comes out, for the owner to hold against the tank in the yard."""
    scenario, lines = file.scenario, []
    linked = {name for link in scenario.link for name in link.tanks}
    for tank in _tanks(file):
        holds = show(tank["capacity_L"], "volume", scenario.show_units)
        lip, above = (
            show(tank[key], "height", scenario.show_units) for key in ("lip_mm", "lip_above_datum_mm")
        )
        told = f", {above} above the mark of the pads" if tank["name"] in linked else ""
        lines.append(f"tank {tank['name']}: {holds}, its lip {lip} above its floor{told}")
    return lines
