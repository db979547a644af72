"""Commands about the scenario file itself and what it may name; the work is done in the files beside this one."""

from __future__ import annotations

from enum import StrEnum
from pathlib import Path
from typing import Annotated

import typer

from holdwater.cli.options import Json, Quiet, ScenarioPath, Sets, UnitsOption, Variant


class TableName(StrEnum):
    """Tables that come with the program."""

    CROPS = "crops"
    SOILS = "soils"
    ANIMALS = "animals"
    SURFACES = "surfaces"
    METHODS = "methods"
    FIXTURES = "fixtures"


TABLES_HELP = f"One of {', '.join(TableName)}."


def new(
    file: Annotated[Path, typer.Argument(metavar="FILE", help="Where to write it.")] = Path("holding.toml"),
    units: UnitsOption = None,
    json: Json = False,
    quiet: Quiet = False,
) -> None:
    """Write a commented starter scenario to edit. An existing file is never overwritten."""
    from holdwater.cli import files

    files.new(file, units.value if units else None, json, quiet)


def check(
    scenario: ScenarioPath,
    sets: Sets = None,
    variant: Variant = None,
    units: UnitsOption = None,
    json: Json = False,
    quiet: Quiet = False,
) -> None:
    """Read and validate the scenario, its variants and its weather; run nothing."""
    from holdwater.cli import files

    shown = [f"show_units={units.value}"] if units else []
    files.check(scenario, [*(sets or []), *shown], variant, json, quiet)


def tables(
    table: Annotated[TableName, typer.Argument(metavar="TABLE", show_default=False, help=TABLES_HELP)],
    units: UnitsOption = None,
    json: Json = False,
    quiet: Quiet = False,
) -> None:
    """List what a scenario may name: crops, soils, animals and more, with the source of every row."""
    from holdwater.cli import tables

    tables.show(table.value, units.value if units else "us", json, quiet)
