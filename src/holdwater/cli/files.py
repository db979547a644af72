"""`holdwater new` and `holdwater check`: the scenario file itself."""

from __future__ import annotations

from importlib import resources
from pathlib import Path

from holdwater import scenario as scenarios
from holdwater.cli import site
from holdwater.cli.text import as_json
from holdwater.errors import InputError


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
        print(f"then: holdwater check {file}")


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
    for name in [] if variant else names:
        trial.check(scenarios.load(path, sets, name))
    trial.raise_faults()
    scenario, cut, et0 = file.scenario, trial.cut, trial.et0_from
    known = cut.provenance
    warnings = [*file.warnings, *known.notes]
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
        if names:
            print(f"  variants: {', '.join(names)}")
        for warning in warnings:
            print(f"\nNote: {warning}.")
