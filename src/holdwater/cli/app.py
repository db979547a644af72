"""Every command, its options and its help; the work is done in the files beside this one."""

from __future__ import annotations

import datetime as dt
from enum import StrEnum
from pathlib import Path
from typing import Annotated

import typer

from holdwater.cli import weather

app = typer.Typer(
    name="holdwater",
    help="Does the plan hold water? Runs your own roofs, tanks and draws through real past weather, day by day.",
    no_args_is_help=True,
    add_completion=False,
    rich_markup_mode=None,
    pretty_exceptions_enable=False,
)
app.add_typer(weather.app, name="weather")


class Units(StrEnum):
    """Units of what is shown."""

    US = "us"
    METRIC = "metric"


ScenarioPath = Annotated[
    Path, typer.Argument(metavar="SCENARIO", help="Scenario file (TOML).", show_default=False)
]
Sets = Annotated[
    list[str] | None,
    typer.Option("--set", metavar="PATH=VALUE", help='Change one value, such as "roof.barn.area=2200 ft2".'),
]
Variant = Annotated[str | None, typer.Option(metavar="NAME", help="Use a named what-if of the file.")]
Json = Annotated[bool, typer.Option("--json", help="Print the result as JSON on standard output.")]
Quiet = Annotated[bool, typer.Option("--quiet", help="Print nothing but faults.")]
UnitsOption = Annotated[
    Units | None, typer.Option("--units", help="Units shown; the file decides otherwise.")
]
Day = Annotated[dt.datetime | None, typer.Option(formats=["%Y-%m-%d"], metavar="DATE")]


@app.callback(invoke_without_command=True)
def root(
    version: Annotated[bool, typer.Option("--version", help="Print the version and stop.")] = False,
) -> None:
    """Say which version this is."""
    if version:
        from holdwater import __version__

        print(f"holdwater {__version__}")
        raise typer.Exit


@app.command()
def new(
    file: Annotated[Path, typer.Argument(metavar="FILE", help="Where to write it.")] = Path("holding.toml"),
    quiet: Quiet = False,
) -> None:
    """Write a commented starter scenario to edit. An existing file is never overwritten."""
    from holdwater.cli import files

    files.new(file, quiet)


@app.command()
def check(
    scenario: ScenarioPath,
    sets: Sets = None,
    variant: Variant = None,
    json: Json = False,
    quiet: Quiet = False,
) -> None:
    """Read and validate the scenario, its variants and its weather; run nothing."""
    from holdwater.cli import files

    files.check(scenario, sets or [], variant, json, quiet)


@app.command()
def run(
    scenario: ScenarioPath,
    out: Annotated[Path | None, typer.Option(metavar="DIR", help="Folder to write into.")] = None,
    from_: Annotated[
        dt.datetime | None, typer.Option("--from", formats=["%Y-%m-%d"], metavar="DATE", help="First day.")
    ] = None,
    to: Annotated[
        dt.datetime | None, typer.Option("--to", formats=["%Y-%m-%d"], metavar="DATE", help="Last day.")
    ] = None,
    sets: Sets = None,
    variant: Variant = None,
    both_rules: Annotated[
        bool, typer.Option("--both-rules", help="Run YAS and YBS: the truth lies between them.")
    ] = False,
    units: UnitsOption = None,
    json: Json = False,
    quiet: Quiet = False,
) -> None:
    """Run the holding through its weather: when would it have been dry?"""
    from holdwater.cli import running

    asked = running.Asked(
        scenario=scenario,
        out=out,
        first=from_.date() if from_ else None,
        last=to.date() if to else None,
        sets=sets or [],
        variant=variant,
        both_rules=both_rules,
        units=units.value if units else None,
    )
    running.run(asked, json, quiet)
