"""Arithmetic on one design, written down line by line; what is known beforehand is worked out at once.

Choices that depend on the water itself become "a if c else b", so that many designs side by side go through
vector instructions.
"""

from __future__ import annotations

import ast
from collections.abc import Sequence
from typing import Any

from holdwater.studies.specialise_values import (
    WIDTH,
    Bundle,
    Cell,
    Columns,
    Expr,
    Known,
    Layout,
    Series,
    text,
)

_OPERATIONS: dict[type[ast.operator], tuple[str, Any]] = {
    ast.Add: ("+", lambda a, b: a + b),
    ast.Sub: ("-", lambda a, b: a - b),
    ast.Mult: ("*", lambda a, b: a * b),
    ast.Div: ("/", lambda a, b: a / b),
}
_IDLE: dict[type[ast.operator], tuple[float | None, float | None]] = {
    ast.Add: (0.0, 0.0),  # 0 + x and x + 0 are x
    ast.Sub: (None, 0.0),
    ast.Mult: (1.0, 1.0),
    ast.Div: (None, 1.0),
}
_COMPARISONS: dict[type[ast.cmpop], tuple[str, Any]] = {
    ast.Lt: ("<", lambda a, b: a < b),
    ast.LtE: ("<=", lambda a, b: a <= b),
    ast.Gt: (">", lambda a, b: a > b),
    ast.GtE: (">=", lambda a, b: a >= b),
    ast.Eq: ("==", lambda a, b: a == b),
    ast.NotEq: ("!=", lambda a, b: a != b),
}


class Lines:
    """The arithmetic written down so far, and what stands in memory at this point of it.

    Parameters
    ----------
    layout : Layout
        Shared by all functions written for one holding.
    """

    def __init__(self, layout: Layout) -> None:
        self.layout = layout
        self.lines: list[str] = []
        self.by_day: dict[Series, str] = {}
        self.memory: dict[Cell, Any] = {}
        self.loaded: dict[Cell, Expr] = {}
        self.known: dict[str, Expr] = {}

    def fresh(self, text: str) -> Expr:
        """Write down an operation and give its result a name; the same operation is written once."""
        if text not in self.known:
            self.known[text] = Expr(f"v{len(self.known)}")
            self.lines.append(f"{self.known[text].text} = {text}")
        return self.known[text]

    def read(self, cell: Cell) -> Any:
        """Number in a row, loaded once."""
        if cell in self.memory:
            return self.memory[cell]
        if cell.space == "today":
            return Known(0.0)  # a flux this holding does not have
        if cell not in self.loaded:
            self.loaded[cell] = self.fresh(f"M[{self.layout.row(cell) * WIDTH} + k]")
        return self.loaded[cell]

    def stores(self) -> list[str]:
        """Lines that put what changed back into memory; the fluxes of the day are let go."""
        return [
            f"M[{self.layout.row(cell) * WIDTH} + k] = {text(value)}"
            for cell, value in self.memory.items()
            if cell.space != "today" and value != self.loaded.get(cell)
        ]

    def choose(self, test: Expr, one: Any, other: Any) -> Any:
        """One value or the other, by a test that is known only while running."""
        if one == other:
            return one
        if isinstance(one, tuple) and not isinstance(one, Known | Expr | Cell | Series | Columns | Bundle):
            return tuple(self.choose(test, a, b) for a, b in zip(one, other, strict=True))
        if other is None:
            return one
        return self.fresh(f"{text(one)} if {test.text} else {text(other)}")

    def operate(self, op: ast.operator, left: Any, right: Any) -> Any:
        """One operation; what is known of both sides is worked out now."""
        if isinstance(left, Known) and isinstance(right, Known):
            return Known(_OPERATIONS[type(op)][1](left.value, right.value))
        idle = _IDLE.get(type(op), (None, None))
        if isinstance(left, Known) and left.value == idle[0] and idle[0] is not None:
            return right
        if isinstance(right, Known) and right.value == idle[1] and idle[1] is not None:
            return left
        return self.fresh(f"{text(left)} {_OPERATIONS[type(op)][0]} {text(right)}")

    def compare(self, op: ast.cmpop, left: Any, right: Any) -> Any:
        """One comparison; of two known numbers its outcome is known."""
        sign, known = _COMPARISONS[type(op)]
        if isinstance(left, Known) and isinstance(right, Known):
            return Known(known(left.value, right.value))
        return self.fresh(f"{text(left)} {sign} {text(right)}")

    def both(self, parts: Sequence[Any]) -> Any:
        """All of several tests."""
        if any(isinstance(part, Known) and not part.value for part in parts):
            return Known(False)
        open_parts = [part for part in parts if not isinstance(part, Known)]
        return self.fresh(" & ".join(f"({part.text})" for part in open_parts)) if open_parts else Known(True)

    def end_of(self, name: str, given: Sequence[Any]) -> Any:
        """The "min" or "max" of several, as Python does: the first unless a later one is strictly beyond it."""
        sign = "<" if name == "min" else ">"
        best = given[0]
        for value in given[1:]:
            best = self.fresh(f"{text(value)} if {text(value)} {sign} {text(best)} else {text(best)}")
        return best
