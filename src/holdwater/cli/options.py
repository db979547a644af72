"""Options that many commands share."""

from __future__ import annotations

from enum import StrEnum
from typing import Annotated

import typer


class Units(StrEnum):
    """Units of what is shown."""

    US = "us"
    METRIC = "metric"


Json = Annotated[bool, typer.Option("--json", help="Print the result as JSON on standard output.")]
Quiet = Annotated[bool, typer.Option("--quiet", help="Print nothing but faults.")]
UnitsOption = Annotated[
    Units | None, typer.Option("--units", help="Units shown; the file decides otherwise.")
]
