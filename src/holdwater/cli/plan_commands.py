"""Commands that check, print and show the whole holding; the work is done in the files beside this one."""

from __future__ import annotations

import datetime as dt
from pathlib import Path
from typing import Annotated

import typer

from holdwater.cli.options import Json, Out, Quiet, ScenarioPath, Sets, UnitsOption, Variant, day


def site(
    scenario: ScenarioPath,
    out: Out = None,
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
    on: Annotated[dt.datetime | None, day("--on", "The day of the plan; today without it.")] = None,
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
