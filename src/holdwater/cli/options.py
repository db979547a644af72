"""Options that many commands share."""

from __future__ import annotations

import datetime as dt
import json
from enum import StrEnum
from pathlib import Path
from typing import Annotated, Literal

import typer

from holdwater.errors import InputError
from holdwater.words import read_day


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
StartVariant = Annotated[
    str | None, typer.Option("--variant", metavar="NAME", help="Start from a named what-if of the file.")
]
Folder = Annotated[Path | None, typer.Option(metavar="DIR", help="Folder to write into.")]
Out = Annotated[
    Path | None, typer.Option(metavar="DIR", help="Folder to write into; outputs/<scenario> without it.")
]
Yes = Annotated[bool, typer.Option("--yes", help="Run it, however long it takes.")]
Change = Annotated[
    str | None,
    typer.Option(
        "--change",
        metavar="HOW",
        help='Other weather on purpose: "rain x 0.9 in summer, +2 degC"; shows how far it bends, not the climate.',
    ),
]
Confidence = Annotated[
    bool,
    typer.Option("--confidence", help="How far off for so short a record: whole years drawn by lot."),
]
Samples = Annotated[
    int, typer.Option("--samples", min=1, max=100_000, metavar="N", help="Records drawn for --confidence.")
]
Seed = Annotated[
    int, typer.Option("--seed", min=0, metavar="S", help="Another seed draws others; the same, the same.")
]
Block = Annotated[
    int, typer.Option("--block", min=1, metavar="B", help="Years drawn together, where droughts last longer.")
]
SAMPLES = 200
"""Records drawn where nothing is said; as `holdwater.studies.resample`, which is slow to load."""


def day(option: str, words: str) -> typer.models.OptionInfo:
    """An option that takes a date; a year or a month alone is its first day, and its last one for --to."""

    ends: dict[str, Literal["first", "last"]] = {"--from": "first", "--to": "last"}

    def read(text: str) -> dt.datetime:
        try:
            return dt.datetime.combine(read_day(text, ends.get(option)), dt.time())
        except InputError as fault:
            raise typer.BadParameter(str(fault)) from None

    made: typer.models.OptionInfo = typer.Option(option, parser=read, metavar="DATE", help=words)
    return made


def with_change(sets: list[str] | None, change: str | None) -> list[str]:
    """Changes of the scenario, that of --change included."""
    return [*(sets or []), *([f"weather.change={json.dumps(change)}"] if change is not None else [])]


Json = Annotated[bool, typer.Option("--json", help="Print the result as JSON on standard output.")]
Quiet = Annotated[bool, typer.Option("--quiet", help="Print nothing but faults.")]
UnitsOption = Annotated[
    Units | None, typer.Option("--units", help="Units shown; the file decides otherwise.")
]
