"""Commands that run many holdings: their options and their help; the work is done in the files beside this one."""

from __future__ import annotations

import datetime as dt
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from holdwater.cli.options import (
    SAMPLES,
    Block,
    Change,
    Confidence,
    Json,
    Out,
    Quiet,
    Samples,
    ScenarioPath,
    Seed,
    Sets,
    StartVariant,
    Units,
    UnitsOption,
    Yes,
    day,
    with_change,
)

if TYPE_CHECKING:
    from holdwater.cli.study import Asked


def register(app: typer.Typer) -> None:
    """Add the commands to the program."""
    app.command("compare")(compare)
    app.command("sweep")(sweep)
    app.command("size")(size)
    app.command("next")(next_)


def _read(
    scenario: Path, sets: list[str], variant: str | None, out: Path | None, units: Units | None
) -> Asked:
    """What was typed, the scenario read: a fault in it is told before anything slow is loaded."""
    from holdwater.cli.study import Asked

    asked = Asked(scenario, sets, variant, out, units.value if units else None)
    assert asked.file
    return asked


def compare(
    scenario: ScenarioPath,
    names: Annotated[
        list[str] | None,
        typer.Argument(metavar="[NAME]...", show_default=False, help="What-ifs of the file; all without it."),
    ] = None,
    roof_areas: Annotated[
        str | None,
        typer.Option(
            "--roof-areas",
            metavar="AREAS",
            help='Compare areas of one roof: "1000 ft2, 1500 ft2" or "1000 ft2..3000 ft2:5".',
        ),
    ] = None,
    roof: Annotated[
        str | None,
        typer.Option(
            metavar="NAME", help="The roof --roof-areas is about; the first of the file without it."
        ),
    ] = None,
    from_: Annotated[dt.datetime | None, day("--from", "First day to look at.")] = None,
    to: Annotated[dt.datetime | None, day("--to", "Last day to look at.")] = None,
    worst: Annotated[
        int | None,
        typer.Option(metavar="N", min=1, help="Look at the present set-up's worst drought (1), or the N-th."),
    ] = None,
    last_year: Annotated[bool, typer.Option("--last-year", help="Look at the last year on record.")] = False,
    starting: Annotated[
        str | None,
        typer.Option(
            metavar="LEVEL",
            help='Water in every set-up on the first day looked at: "50 %" or "1200 gal"; simulated without it.',
        ),
    ] = None,
    sets: Sets = None,
    out: Out = None,
    units: UnitsOption = None,
    json: Json = False,
    quiet: Quiet = False,
) -> None:
    """Set the what-ifs of the file side by side, over the whole record or through one drought.

    Every set-up is run from the first day of the record, so that it comes into the drought as its own roofs,
    tanks and draws left it; --starting sets the water of all on the first day looked at instead.
    Writes compare.json, compare.csv and charts/compare-*.
    """
    asked = _read(scenario, sets or [], None, out, units)
    from holdwater.cli import compare as study

    window = study.WindowAsked(
        from_.date() if from_ else None, to.date() if to else None, worst, last_year, starting
    )
    study.run(asked, names or [], roof_areas, roof, window, json, quiet)


def sweep(
    scenario: ScenarioPath,
    vary: Annotated[
        list[str],
        typer.Option(
            metavar="PATH=VALUES",
            help='A quantity and its values: "roof.barn.area=1000 ft2..3000 ft2:9" or'
            ' "tank.upper.capacity=2500 gal,5000 gal". Give it once for a curve, twice for a map.',
        ),
    ],
    confidence: Confidence = False,
    samples: Samples = SAMPLES,
    seed: Seed = 1,
    block: Block = 1,
    change: Change = None,
    sets: Sets = None,
    variant: StartVariant = None,
    out: Out = None,
    yes: Yes = False,
    units: UnitsOption = None,
    json: Json = False,
    quiet: Quiet = False,
) -> None:
    """Turn one, two or more quantities through all their values at once: how many dry days would there be?

    --confidence runs every design through records drawn by lot, all through the same, so that they can be
    compared: 200 times the work, and said before it begins where it takes long.
    Writes sweep.nc (CF netCDF), sweep.csv (one row per design) and sweep.json; a curve for one quantity,
    a map for two.
    """
    from holdwater.cli.running import read_lot

    lot = read_lot(confidence, samples, seed, block)
    asked = _read(scenario, with_change(sets, change), variant, out, units)
    from holdwater.cli import sweep as study

    study.run(asked, vary, yes, json, quiet, lot)


def size(
    scenario: ScenarioPath,
    vary: Annotated[
        str,
        typer.Option(
            metavar="PATH=LOW..HIGH",
            help='The quantity and where to search: "tank.upper.capacity=2000 gal..12000 gal"; LOW..HIGH:COUNT or'
            " A,B,C tries these values alone, such as the sizes for sale.",
        ),
    ],
    dry_days: Annotated[
        int, typer.Option(min=0, max=366, metavar="N", help="Dry days that a year which holds may have.")
    ] = 0,
    years: Annotated[
        str | None, typer.Option(metavar="K/N", help="So many years of so many must hold; all without it.")
    ] = None,
    stress_days: Annotated[
        int | None,
        typer.Option(min=0, max=366, metavar="N", help="Days its beds may be short of water, too."),
    ] = None,
    confidence: Confidence = False,
    samples: Samples = SAMPLES,
    seed: Seed = 1,
    block: Block = 1,
    change: Change = None,
    sets: Sets = None,
    variant: StartVariant = None,
    out: Out = None,
    units: UnitsOption = None,
    json: Json = False,
    quiet: Quiet = False,
) -> None:
    """How big must it be? The smallest value with which the holding gets through, the largest where less is more.

    A search in round steps between LOW and HIGH, checked to hold from one point on; else, and always where
    backup water is brought into the tanks, every step is tried and that is said.
    --confidence asks the same of records drawn by lot, which takes a while: start with --samples 40.
    Writes size.json, size.csv and charts/size.
    """
    from holdwater.cli.running import read_lot

    lot = read_lot(confidence, samples, seed, block)
    asked = _read(scenario, with_change(sets, change), variant, out, units)
    from holdwater.cli import size as study

    study.run(asked, vary, study.TargetAsked(dry_days, years, stress_days), json, quiet, lot)


def next_(
    scenario: ScenarioPath,
    cost: Annotated[
        list[str] | None,
        typer.Option(
            metavar="NAME=AMOUNT", help='Price of an offer, before that of the file: "third tank=4900".'
        ),
    ] = None,
    sets: Sets = None,
    variant: StartVariant = None,
    out: Out = None,
    units: UnitsOption = None,
    json: Json = False,
    quiet: Quiet = False,
) -> None:
    """What does the next purchase buy? Dry days bought back and backup water saved, for the price.

    Offers are the what-ifs of the file and one more unit of what the holding has. Prices are those of the
    file (cost of a tank or roof, or of the what-if itself) or of --cost; none is made up.
    Writes next.json, next.csv and charts/next.
    """
    asked = _read(scenario, sets or [], variant, out, units)
    from holdwater.cli import next as study

    study.run(asked, cost or [], json, quiet)
