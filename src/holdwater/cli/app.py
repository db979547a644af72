"""Every command, its options and its help; the work is done in the files beside this one."""

from __future__ import annotations

import datetime as dt
from enum import StrEnum
from pathlib import Path
from typing import Annotated

import typer

from holdwater.cli import study_commands, weather
from holdwater.cli.options import (
    SAMPLES,
    Block,
    Change,
    Confidence,
    Json,
    Quiet,
    Samples,
    Seed,
    UnitsOption,
    with_change,
)

app = typer.Typer(
    name="holdwater",
    help="Does the plan hold water? Runs your own roofs, tanks and draws through real past weather, day by day.",
    no_args_is_help=True,
    add_completion=False,
    rich_markup_mode=None,
    pretty_exceptions_enable=False,
)
app.add_typer(weather.app, name="weather")


class TableName(StrEnum):
    """Tables that come with the program."""

    CROPS = "crops"
    SOILS = "soils"
    ANIMALS = "animals"
    SURFACES = "surfaces"
    METHODS = "methods"
    FIXTURES = "fixtures"


TABLES_HELP = f"One of {', '.join(TableName)}."
ScenarioPath = Annotated[
    Path, typer.Argument(metavar="SCENARIO", help="Scenario file (TOML).", show_default=False)
]
Sets = Annotated[
    list[str] | None,
    typer.Option("--set", metavar="PATH=VALUE", help='Change one value, such as "roof.barn.area=2200 ft2".'),
]
Variant = Annotated[str | None, typer.Option(metavar="NAME", help="Use a named what-if of the file.")]


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
    units: UnitsOption = None,
    json: Json = False,
    quiet: Quiet = False,
) -> None:
    """Write a commented starter scenario to edit. An existing file is never overwritten."""
    from holdwater.cli import files

    files.new(file, units.value if units else None, json, quiet)


@app.command()
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


@app.command()
def tables(
    table: Annotated[TableName, typer.Argument(metavar="TABLE", show_default=False, help=TABLES_HELP)],
    units: UnitsOption = None,
    json: Json = False,
    quiet: Quiet = False,
) -> None:
    """List what a scenario may name: crops, soils, animals and more, with the source of every row."""
    from holdwater.cli import tables

    tables.show(table.value, units.value if units else "us", json, quiet)


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
    pool: Annotated[
        str,
        typer.Option(metavar="DAYS", help="Dry spells with less than this between them are one drought."),
    ] = "30 days",
    change: Change = None,
    confidence: Confidence = False,
    samples: Samples = SAMPLES,
    seed: Seed = 1,
    block: Block = 1,
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
        sets=with_change(sets, change),
        variant=variant,
        both_rules=both_rules,
        units=units.value if units else None,
        pool=pool,
        lot=running.Lot(samples, seed, block) if confidence else None,
    )
    running.run(asked, json, quiet)


@app.command()
def outlook(
    scenario: ScenarioPath,
    holding: Annotated[
        list[str],
        typer.Option(
            "--holding",
            metavar="AMOUNT",
            help='Water above the outlets now: "1200 gal", "40 %", or tank by tank: "upper=31 in" of water.',
        ),
    ],
    on: Annotated[
        dt.datetime | None,
        typer.Option(
            "--on", formats=["%Y-%m-%d"], metavar="DATE", help="The day it stands so; today without it."
        ),
    ] = None,
    days: Annotated[
        int, typer.Option(min=1, max=3660, metavar="N", help="How many days to look ahead.")
    ] = 180,
    like_this_year: Annotated[
        bool,
        typer.Option("--like-this-year", help="Only years with about as much rain in the 90 days before."),
    ] = False,
    saving: Annotated[
        list[str] | None,
        typer.Option(
            "--saving",
            metavar="SHARE",
            help='What is saved once saving starts: "25 %" of all but the animals\', or "house=20 %" by draw.',
        ),
    ] = None,
    sets: Sets = None,
    variant: Variant = None,
    out: Annotated[Path | None, typer.Option(metavar="DIR", help="Folder to write into.")] = None,
    units: UnitsOption = None,
    json: Json = False,
    quiet: Quiet = False,
) -> None:
    """From today's water, what are the odds of running dry, and of being full again?"""
    from holdwater.cli import outlook as ahead

    asked = ahead.Asked(
        scenario=scenario,
        holding=holding,
        on=on.date() if on else None,
        days=days,
        like_this_year=like_this_year,
        saving=saving or [],
        sets=sets or [],
        variant=variant,
        out=out,
        units=units.value if units else None,
    )
    ahead.run(asked, json, quiet)


@app.command()
def site(
    scenario: ScenarioPath,
    out: Annotated[
        Path | None, typer.Option(metavar="DIR", help="Folder to write into; outputs/<scenario> without it.")
    ] = None,
    sets: Sets = None,
    variant: Variant = None,
    units: UnitsOption = None,
    json: Json = False,
    quiet: Quiet = False,
) -> None:
    """Check pipes, pump, storm and ground: will the piping carry what the sky gives?

    Reads the [site] table of the scenario, every key of it optional: what lacks input says what it needs and
    never passes. Runs the scenario for the water the pump moves and for the frost of its weather; without
    weather the other checks are made and the rest is named. Writes site.json and charts/levels into the folder.

    The exit code is 0 whether the checks hold or not: read the verdicts, or "verdicts" in site.json.
    """
    from holdwater.cli import site as checks

    asked = checks.Asked(scenario, out, sets or [], variant, units.value if units else None)
    checks.site(asked, json, quiet)


@app.command()
def plan(
    scenario: ScenarioPath,
    out: Annotated[
        Path | None,
        typer.Option(
            metavar="FILE|DIR", help="A file that ends in .html, or a folder; outputs/<scenario> without it."
        ),
    ] = None,
    holding: Annotated[
        list[str] | None,
        typer.Option(
            "--holding",
            metavar="AMOUNT",
            help='Water above the outlets now, for the outlook: "1200 gal", "40 %", or "upper=31 in" of water.',
        ),
    ] = None,
    on: Annotated[
        dt.datetime | None,
        typer.Option(
            "--on", formats=["%Y-%m-%d"], metavar="DATE", help="The day of the plan; today without it."
        ),
    ] = None,
    pdf: Annotated[
        bool, typer.Option("--pdf/--no-pdf", help="Print it to a PDF too, where a browser is at hand.")
    ] = True,
    sets: Sets = None,
    variant: Variant = None,
    units: UnitsOption = None,
    json: Json = False,
    quiet: Quiet = False,
) -> None:
    """Write the printable plan: one page with everything, for the family, the lender, the permit office.

    The page needs no network and nothing beside it. Where chromium, google-chrome or firefox is on the path it
    is printed to a PDF too; HOLDWATER_BROWSER names another browser, "none" stops it.
    """
    from holdwater.cli import plan as printable

    asked = printable.Asked(
        scenario=scenario,
        out=out,
        holding=holding or [],
        on=on.date() if on else None,
        sets=sets or [],
        variant=variant,
        units=units.value if units else None,
        pdf=pdf,
    )
    printable.plan(asked, json, quiet)


@app.command(name="open")
def open_(
    scenario: ScenarioPath,
    port: Annotated[
        int, typer.Option(min=0, max=65535, metavar="N", help="Port to serve on; a free one without it.")
    ] = 0,
    browser: Annotated[
        bool, typer.Option("--browser/--no-browser", help="Open it in the browser of this machine.")
    ] = True,
    units: UnitsOption = None,
    json: Json = False,
    quiet: Quiet = False,
) -> None:
    """Open a page to play with: turn roof, tank, people, garden, and see at once whether it would have held.

    The page is served to this machine alone, at an address with a secret token, until Ctrl-C. It writes nothing
    but variants, into the scenario file, where you save them.
    """
    from holdwater.cli import open as page

    page.serve(page.Asked(scenario, port, browser, units.value if units else None), json, quiet)


@app.command()
def calibrate(
    scenario: ScenarioPath,
    levels: Annotated[
        Path,
        typer.Option(
            "--levels",
            metavar="FILE",
            help='Your log, a CSV file with the header "date,upper [in],lower [in]" or "date,gallons".',
        ),
    ],
    fit: Annotated[
        str | None,
        typer.Option(
            metavar="NAMES", help='What to fit: "runoff", "first flush", "leak", or some: "runoff,leak".'
        ),
    ] = None,
    morning: Annotated[
        bool, typer.Option("--morning", help="The levels were read before the day's rain and use.")
    ] = False,
    sets: Sets = None,
    variant: Variant = None,
    out: Annotated[Path | None, typer.Option(metavar="DIR", help="Folder to write into.")] = None,
    units: UnitsOption = None,
    json: Json = False,
    quiet: Quiet = False,
) -> None:
    """Fit runoff, first flush and leak to levels you measured, and print the lines to paste."""
    from holdwater.cli import calibrate as fitting

    asked = fitting.Asked(
        scenario=scenario,
        levels=levels,
        fit=fit,
        morning=morning,
        sets=sets or [],
        variant=variant,
        out=out,
        units=units.value if units else None,
    )
    fitting.run(asked, json, quiet)


@app.command()
def region(
    grid: Annotated[
        Path,
        typer.Argument(
            metavar="GRID",
            help="Grid of daily weather (CF netCDF), or a folder with one station file each.",
            show_default=False,
        ),
    ],
    scenario: ScenarioPath,
    out: Annotated[
        Path | None, typer.Option(metavar="DIR", help="Folder to write into; outputs/<scenario> without it.")
    ] = None,
    vary: Annotated[
        list[str] | None,
        typer.Option(
            metavar="PATH=LOW..HIGH[:COUNT]", help="Run these designs too, in every place; may be repeated."
        ),
    ] = None,
    scheduler: Annotated[
        str | None,
        typer.Option(
            metavar="ADDRESS|local", help="Run on Dask: processes of this machine, or a cluster's scheduler."
        ),
    ] = None,
    workers: Annotated[
        int | None,
        typer.Option(
            min=1,
            max=1024,
            metavar="N",
            help="Threads, one without it; local Dask processes, one per core without it.",
        ),
    ] = None,
    sets: Sets = None,
    variant: Variant = None,
    units: UnitsOption = None,
    json: Json = False,
    quiet: Quiet = False,
) -> None:
    """Run the same holding in every cell of a weather grid, or at many stations: where would it hold?

    The scenario's own weather file is not used, and its place only marks the map. What to do with missing days
    (weather.missing_days) holds for every place: a place it refuses is counted and stays empty, never dry.
    Keys that say how to read a file hold where weather.file is the grid itself or a file of the folder.

    A folder of stations may hold places.csv with the columns file, latitude, longitude, elevation_m.

    Finished pieces are kept in the output folder: stopped by Ctrl-C or anything else, the same command goes on.
    Writes region.nc, region.json and charts/region.
    """
    from holdwater.cli import region as everywhere

    asked = everywhere.Asked(
        grid=grid,
        scenario=scenario,
        out=out,
        vary=vary or [],
        scheduler=scheduler,
        workers=workers,
        sets=sets or [],
        variant=variant,
        units=units.value if units else None,
    )
    everywhere.run(asked, json, quiet)


study_commands.register(app)
