"""Small pieces of text for the terminal, without loading what draws charts."""

from __future__ import annotations

import json
import re
from collections.abc import Sequence


def count(number: int, noun: str) -> str:
    """Write a count with its noun: "1 day", "1,204 days", "no days"."""
    if number == 0:
        return f"no {noun}s"
    return f"{number:,} {noun}" if number == 1 else f"{number:,} {noun}s"


def argument(word: object) -> str:
    """Write a word as it is typed on a command line: in quotes where it holds a blank or a sign of the shell."""
    text = str(word)
    return text if re.fullmatch(r"[\w@%+=:,./\\~-]+", text) else f'"{text}"'


def columns(rows: Sequence[Sequence[str]], left: Sequence[int] = (0,)) -> str:
    """Rows as columns of text, those in `left` to the left, the rest to the right."""
    widths = [max(len(row[i]) for row in rows) for i in range(len(rows[0]))]
    lines = []
    for row in rows:
        cells = [
            c.ljust(w) if i in left else c.rjust(w) for i, (c, w) in enumerate(zip(row, widths, strict=True))
        ]
        lines.append("  " + "   ".join(cells).rstrip())
    return "\n".join(lines)


def as_json(told: object) -> str:
    """Write plain data as JSON that every reader takes: ASCII only, and no number that is not one.

    Raises
    ------
    ValueError
        A number is infinite or not a number: a bug.
    """
    return json.dumps(told, indent=2, allow_nan=False)
