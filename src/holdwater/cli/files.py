"""`holdwater new` and `holdwater check`: the scenario file itself."""

from __future__ import annotations

import json
from importlib import resources
from pathlib import Path

from holdwater import scenario as scenarios
from holdwater.errors import InputError


def new(file: Path, quiet: bool) -> None:
    """Write the starter scenario; never over an existing file.

    Raises
    ------
    InputError
        The file exists already or cannot be written.
    """
    starter = resources.files("holdwater.scenario").joinpath("starter.toml").read_text("utf-8")
    if file.is_dir():
        raise InputError(f"{file} is a folder; name a file in it, such as {file / 'holding.toml'}")
    try:
        with file.open("x", encoding="utf-8", newline="\n") as out:
            out.write(starter)
    except FileExistsError:
        raise InputError(f"{file} exists already and is left as it is; choose another name") from None
    except OSError as fault:
        raise InputError(f"cannot write {file}: {fault.strerror or fault}") from None
    if not quiet:
        print(f"Wrote {file}. Put your roofs, tanks and draws into it, point [weather] at your daily record,")
        print(f"then: holdwater check {file}")


def check(path: Path, sets: list[str], variant: str | None, as_json: bool, quiet: bool) -> None:
    """Read and validate everything a run would read, every variant included; run nothing."""
    file = scenarios.load(path, sets, variant) if variant else scenarios.check(path, sets)
    from holdwater.simulate import covering
    from holdwater.weather import read_weather

    scenario, run = file.scenario, file.scenario.run
    record = read_weather(
        scenario.weather, file.path.parent, first=run.from_, last=run.to, place=scenario.place
    )
    days = covering(file.scenario, record).days
    names = scenarios.variant_names(file)
    warnings = [*file.warnings, *record.provenance.notes]
    if as_json:
        told = {
            "scenario": file.scenario.title,
            "fine": True,
            "variants": names,
            "period": {"from": str(days[0]), "to": str(days[-1]), "days": int(days.size)},
            "weather": {"source": record.provenance.source, "filled": record.provenance.filled},
            "warnings": warnings,
        }
        print(json.dumps(told, indent=2, ensure_ascii=False))
    elif not quiet:
        print(f"{path} is fine: {file.scenario.title}")
        print(f"  weather: {record.provenance.source}, {days[0]} to {days[-1]}, {days.size:,} days")
        if names:
            print(f"  variants: {', '.join(names)}")
        for warning in warnings:
            print(f"\nNote: {warning}.")
