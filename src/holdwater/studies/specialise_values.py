"""What the writing out of the daily loop deals in: values known beforehand, numbers met while running, places.

Memory of a block of designs is one flat array, `M[row * WIDTH + k]`; daily series are `D[row, day]`.
"""

from __future__ import annotations

import inspect
from collections.abc import Hashable
from dataclasses import dataclass, field
from functools import cache
from typing import Any, NamedTuple

WIDTH = 64
"""Designs side by side in a block."""


class Known(NamedTuple):
    """A value that depends on the holding alone."""

    value: Any


class Expr(NamedTuple):
    """A number of one design, known only while running: a name or a literal."""

    text: str


class Cell(NamedTuple):
    """A row of a table: one number per design."""

    space: str
    name: str
    row: int


class Series(NamedTuple):
    """A row of a table of days."""

    name: str
    row: int


class Columns(NamedTuple):
    """A table of which only the name and the number of rows are known."""

    space: str
    name: str
    rows: int
    daily: bool


class Bundle(NamedTuple):
    """One of the loop's named tuples, under the name its rows go by in memory."""

    space: str
    tables: Any


class Design:
    """Marks the index of the design."""


class Today:
    """Marks the index of the day."""


@dataclass
class Layout:
    """Where every row of a block stands in memory.

    Attributes
    ----------
    rows : dict
        Row of `M` by (space, name, row).
    series : dict
        Row of `D` by (name, row).
    """

    rows: dict[tuple[str, str, int], int] = field(default_factory=dict)
    series: dict[tuple[str, int], int] = field(default_factory=dict)

    def row(self, cell: Cell) -> int:
        """Row of `M` of a cell, a new one if it has none yet."""
        return self.rows.setdefault((cell.space, cell.name, cell.row), len(self.rows))

    def daily(self, series: Series) -> int:
        """Row of `D` of a series, a new one if it has none yet."""
        return self.series.setdefault((series.name, series.row), len(self.series))


def spaces(bundle: Bundle) -> tuple[tuple[str, str], ...]:
    """Names and kinds of the fields of a named tuple of the loop."""
    kind: Any = type(bundle.tables)
    return _kinds(kind)


@cache
def _kinds(tables: Hashable) -> tuple[tuple[str, str], ...]:
    return tuple(
        (name, str(getattr(hint, "__forward_arg__", hint)))
        for name, hint in inspect.get_annotations(tables).items()  # type: ignore[arg-type]
    )


def text(value: Any) -> str:
    """A number as it stands in the written code."""
    if isinstance(value, Today):
        return "day"
    if isinstance(value, Known):
        number = value.value
        return (
            "inf" if number == float("inf") else repr(float(number) if isinstance(number, bool) else number)
        )
    assert isinstance(value, Expr), value
    return value.text
