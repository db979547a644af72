"""Options that many commands share."""

from __future__ import annotations

import json
from enum import StrEnum
from typing import Annotated

import typer


class Units(StrEnum):
    """Units of what is shown."""

    US = "us"
    METRIC = "metric"


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


def with_change(sets: list[str] | None, change: str | None) -> list[str]:
    """Changes of the scenario, that of --change included."""
    return [*(sets or []), *([f"weather.change={json.dumps(change)}"] if change is not None else [])]


Json = Annotated[bool, typer.Option("--json", help="Print the result as JSON on standard output.")]
Quiet = Annotated[bool, typer.Option("--quiet", help="Print nothing but faults.")]
UnitsOption = Annotated[
    Units | None, typer.Option("--units", help="Units shown; the file decides otherwise.")
]
