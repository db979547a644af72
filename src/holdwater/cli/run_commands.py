"""Commands that run the holding as it is through its weather; the work is done in the files beside this one."""

from __future__ import annotations

import datetime as dt
from pathlib import Path
from typing import Annotated

import typer

from holdwater.cli.options import (
    SAMPLES,
    Block,
    Change,
    Confidence,
    Folder,
    Json,
    Out,
    Quiet,
    Samples,
    ScenarioPath,
    Seed,
    Sets,
    UnitsOption,
    Variant,
    day,
    with_change,
)


def run(
    scenario: ScenarioPath,
    out: Folder = None,
    from_: Annotated[dt.datetime | None, day("--from", "First day.")] = None,
    to: Annotated[dt.datetime | None, day("--to", "Last day.")] = None,
    sets: Sets = None,
    variant: Variant = None,
    both_rules: Annotated[
        bool,
        typer.Option(
            "--both-rules",
            help="Run YAS and YBS. For draws that take what they want, the truth lies between the two; with"
            " backup, stop levels, saving steps or beds either may come out ahead.",
        ),
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
        lot=running.read_lot(confidence, samples, seed, block),
    )
    running.run(asked, json, quiet)


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
    on: Annotated[dt.datetime | None, day("--on", "The day it stands so; today without it.")] = None,
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
    out: Folder = None,
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
    out: Folder = None,
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
    out: Out = None,
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
