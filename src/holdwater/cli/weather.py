"""`holdwater weather ...`: every sub-command, its options and its help."""

from __future__ import annotations

import datetime as dt
from pathlib import Path
from typing import Annotated

import typer

from holdwater.cli.options import Json, Quiet, UnitsOption, day

app = typer.Typer(
    help="Find, fetch, look at and convert daily weather records.",
    no_args_is_help=True,
    rich_markup_mode=None,
)
Timeout = Annotated[
    float | None,
    typer.Option("--timeout", metavar="SECONDS", help="How long the service may be silent; 20 without it."),
]
Keys = Annotated[
    list[str] | None,
    typer.Option(
        "--set", metavar="KEY=VALUE", help='A key of [weather] that reads the file, such as "rain_unit=in".'
    ),
]
PlaceOf = Annotated[
    Path | None,
    typer.Option(
        "--scenario", metavar="FILE", help="Take the place and the keys of [weather] from a scenario."
    ),
]


@app.command(context_settings={"ignore_unknown_options": True})  # so that -109.2 is a number
def near(
    latitude: Annotated[float | None, typer.Argument(help="Degrees north.", show_default=False)] = None,
    longitude: Annotated[
        float | None, typer.Argument(help="Degrees east; west is negative.", show_default=False)
    ] = None,
    scenario: Annotated[
        Path | None, typer.Option("--scenario", metavar="FILE", help="Take the place from a scenario.")
    ] = None,
    elevation: Annotated[
        str | None, typer.Option(metavar="HEIGHT", help='Of the place, such as "5200 ft".')
    ] = None,
    within: Annotated[str, typer.Option(metavar="DISTANCE", help="How far to look.")] = "50 mi",
    limit: Annotated[int, typer.Option(min=1, max=300, metavar="N", help="How many to list.")] = 10,
    timeout: Timeout = None,
    units: UnitsOption = None,
    json: Json = False,
    quiet: Quiet = False,
) -> None:
    """List the stations around a place: how far, how high, since when they measure rain, how completely."""
    from holdwater.cli import stations

    asked = stations.Place(latitude, longitude, scenario, elevation, within)
    stations.near(asked, limit, timeout, units.value if units else None, json, quiet)


@app.command()
def fetch(
    station: Annotated[str, typer.Argument(metavar="STATION", help="Id, as `weather near` lists it.")],
    from_: Annotated[
        dt.datetime | None,
        day("--from", "First day; else all there is."),
    ] = None,
    to: Annotated[
        dt.datetime | None,
        day("--to", "Last day; else all there is."),
    ] = None,
    out: Annotated[
        Path | None, typer.Option(metavar="FILE", help="Write the record too: .csv, .csv.gz or .nc.")
    ] = None,
    refresh: Annotated[
        bool, typer.Option("--refresh", help="Fetch years anew that are in the store.")
    ] = False,
    timeout: Timeout = None,
    units: UnitsOption = None,
    json: Json = False,
    quiet: Quiet = False,
) -> None:
    """Fetch a station's daily record into the store, so that runs need no network afterwards.

    The store lies in your data folder, or where the environment variable HOLDWATER_STORE says. Years that are
    in it are not fetched again, but for the current and the last one when they are older than a week.
    HOLDWATER_TIMEOUT sets for every command how many seconds the service may be silent.
    """
    from holdwater.cli import stations

    asked = stations.Span(
        station, from_.date() if from_ else None, to.date() if to else None, refresh, timeout
    )
    stations.fetch(asked, out, units.value if units else None, json, quiet)


@app.command()
def inspect(
    file: Annotated[Path, typer.Argument(metavar="FILE", help="A weather file of any known kind.")],
    keys: Keys = None,
    scenario: PlaceOf = None,
    out: Annotated[
        Path | None,
        typer.Option(metavar="DIR", help="Folder for the record chart; outputs/<file> without it."),
    ] = None,
    chart: Annotated[bool, typer.Option("--chart/--no-chart", help="Draw the record chart.")] = True,
    units: UnitsOption = None,
    json: Json = False,
    quiet: Quiet = False,
) -> None:
    """Tell what a weather file is and holds: units, span, gaps, suspicious days; and draw it."""
    from holdwater.cli import records

    asked = records.File(file, keys or [], scenario)
    records.inspect(asked, out, chart, units.value if units else None, json, quiet)


@app.command()
def convert(
    file: Annotated[Path, typer.Argument(metavar="FILE", help="A weather file of any known kind.")],
    out: Annotated[Path, typer.Option(metavar="FILE", help="Where to write: .csv, .csv.gz or .nc.")],
    keys: Keys = None,
    scenario: PlaceOf = None,
    json: Json = False,
    quiet: Quiet = False,
) -> None:
    """Write any weather file as a tidy CSV or a CF netCDF; gaps stay open."""
    from holdwater.cli import records

    records.convert(records.File(file, keys or [], scenario), out, json, quiet)
