"""Tables that ship with the site checks; every row names its source."""

from __future__ import annotations

import csv
from functools import cache
from importlib.resources import files


@cache
def read_table(name: str) -> tuple[dict[str, str], ...]:
    """Rows of one table, by its file name."""
    text = files(__name__).joinpath(name).read_text(encoding="utf-8")
    return tuple(csv.DictReader(text.splitlines()))
