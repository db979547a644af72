"""The daily loop, written out for one holding: the same physics, straight down, ready to compile.

`holdwater.day` stays the only source. This file reads its functions and works out, before anything
runs, all that depends on the holding alone: which roofs feed which tanks, how many draws there are,
which branch a switch takes. What is left is arithmetic on one design, operation by operation in the
same order, so the compiled run gives the same bits. Choices that depend on the water itself become
"a if c else b", so that many designs side by side go through vector instructions.

Memory of a block of designs is one flat array, `M[row * WIDTH + k]`; daily series are `D[row, day]`.
"""

from __future__ import annotations

import ast
import inspect
import textwrap
from collections.abc import Callable, Hashable, Iterable, Sequence
from dataclasses import dataclass, field
from functools import cache
from types import FunctionType
from typing import Any, NamedTuple

from holdwater import day, soil_water

WIDTH = 64
"""Designs side by side in a block."""
INDENT = "            "


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


@cache
def _source(function: FunctionType) -> ast.FunctionDef:
    parsed = ast.parse(textwrap.dedent(inspect.getsource(function))).body[0]
    assert isinstance(parsed, ast.FunctionDef)
    return parsed


FUNCTIONS = {
    name: function
    for module in (soil_water, day)
    for name, function in vars(module).items()
    if isinstance(function, FunctionType)
}


class Writer:
    """Follows the loop with what is known of a holding, and writes down the arithmetic that is left.

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

    # ------------------------------------------------------------------------------------- memory

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

    # ---------------------------------------------------------------------------------- functions

    def call(self, function: FunctionType, arguments: Sequence[Any]) -> Any:
        """Follow a call; its names are its own."""
        names = [argument.arg for argument in _source(function).args.args]
        return self.block(_source(function).body, dict(zip(names, arguments, strict=True)))

    def block(self, statements: Sequence[ast.stmt], names: dict[str, Any]) -> Any:
        """Follow statements until one returns; what it returns, else None."""
        for i, statement in enumerate(statements):
            if isinstance(statement, ast.If):
                returned = self.branch(statement, statements[i + 1 :], names)
                if returned is not None:
                    return returned
            elif isinstance(statement, ast.Return):
                return Known(None) if statement.value is None else self.value(statement.value, names)
            else:
                self.follow(statement, names)
        return None

    def branch(self, statement: ast.If, rest: Sequence[ast.stmt], names: dict[str, Any]) -> Any:
        """Take the branch that is known; else follow both and choose number by number."""
        test = self.value(statement.test, names)
        if isinstance(test, Known):
            return self.block(statement.body if test.value else statement.orelse, names)
        before, memory = dict(names), dict(self.memory)
        returned = self.block(statement.body, names)
        if returned is not None:
            _restore(names, before)
            self.memory = memory
            return self.choose(test, returned, self.block([*statement.orelse, *rest], names))
        then_names, then_memory = dict(names), self.memory
        _restore(names, before)
        self.memory = dict(memory)
        self.block(statement.orelse, names)
        for name in [name for name in names if name in then_names]:
            names[name] = self.choose(test, then_names[name], names[name])
        for cell in list(then_memory):
            self.memory[cell] = self.choose(test, then_memory[cell], self.read(cell))
        return None

    def choose(self, test: Expr, one: Any, other: Any) -> Any:
        """One value or the other, by a test that is known only while running."""
        if one == other:
            return one
        if isinstance(one, tuple) and not isinstance(one, Known | Expr | Cell | Series | Columns | Bundle):
            return tuple(self.choose(test, a, b) for a, b in zip(one, other, strict=True))
        if other is None:
            return one
        return self.fresh(f"{text(one)} if {test.text} else {text(other)}")

    def follow(self, statement: ast.stmt, names: dict[str, Any]) -> None:
        """Follow one statement that does not branch."""
        if isinstance(statement, ast.Assign):
            self.assign(statement.targets[0], self.value(statement.value, names), names)
        elif isinstance(statement, ast.AugAssign):
            old = self.value(statement.target, names)
            new = self.operate(statement.op, old, self.value(statement.value, names))
            self.assign(statement.target, new, names)
        elif isinstance(statement, ast.For):
            assert isinstance(statement.target, ast.Name)
            for item in self.items(statement.iter, names):
                names[statement.target.id] = item
                self.block(statement.body, names)
        elif isinstance(statement, ast.Expr):
            if isinstance(statement.value, ast.Call):
                self.value(statement.value, names)
        else:
            raise NotImplementedError(ast.dump(statement))

    def items(self, iterable: ast.expr, names: dict[str, Any]) -> Iterable[Any]:
        """What a loop runs over: known numbers, or the designs, which are followed once."""
        if (
            isinstance(iterable, ast.Call)
            and isinstance(iterable.func, ast.Name)
            and iterable.func.id == "range"
        ):
            bounds = [self.value(argument, names) for argument in iterable.args]
            if isinstance(bounds[-1], Design):
                return [bounds[-1]]
            return [Known(i) for i in range(*(bound.value for bound in bounds))]
        return [Known(item) for item in self.value(iterable, names).value]

    def assign(self, target: ast.expr, value: Any, names: dict[str, Any]) -> None:
        """Bind a name, or put a number into a row."""
        if isinstance(target, ast.Name):
            names[target.id] = value
        elif isinstance(target, ast.Tuple):
            for part, item in zip(target.elts, value, strict=True):
                self.assign(part, item, names)
        elif isinstance(target, ast.Subscript):
            cell = self.value(target.value, names)
            assert isinstance(cell, Cell), ast.dump(target)
            self.memory[cell] = value
        else:
            raise NotImplementedError(ast.dump(target))

    # -------------------------------------------------------------------------------- expressions

    def value(self, node: ast.expr, names: dict[str, Any]) -> Any:
        """What an expression is: known, a place, or a number to be worked out while running."""
        match node:
            case ast.Constant():
                return Known(node.value)
            case ast.Name():
                return names[node.id] if node.id in names else Known(getattr(day, node.id))
            case ast.Attribute():
                return self.attribute(self.value(node.value, names), node.attr)
            case ast.Subscript():
                return self.item(self.value(node.value, names), self.value(node.slice, names))
            case ast.Tuple():
                return tuple(self.value(part, names) for part in node.elts)
            case ast.BinOp():
                return self.operate(node.op, self.value(node.left, names), self.value(node.right, names))
            case ast.UnaryOp(op=ast.USub()):
                operand = self.value(node.operand, names)
                return (
                    Known(-operand.value) if isinstance(operand, Known) else self.fresh(f"-{text(operand)}")
                )
            case ast.Compare():
                return self.compare(node, names)
            case ast.BoolOp(op=ast.And()):
                return self.both([self.value(part, names) for part in node.values])
            case ast.IfExp():
                test = self.value(node.test, names)
                if isinstance(test, Known):
                    return self.value(node.body if test.value else node.orelse, names)
                return self.choose(test, self.value(node.body, names), self.value(node.orelse, names))
            case ast.Call(func=ast.Name(id=name)):
                return self.invoke(name, node.args, names)
        raise NotImplementedError(ast.dump(node))

    def attribute(self, bundle: Any, name: str) -> Any:
        """Field of a named tuple of the loop."""
        kind = dict(spaces(bundle))[name]
        held = getattr(bundle.tables, name)
        if kind in ("Numbers", "int"):
            return Known(held)
        if kind == "Row":
            return Series(name, 0)
        return Columns(bundle.space, name, len(held), kind == "Daily")

    def item(self, held: Any, index: Any) -> Any:
        """Row of a table, number of a row, entry of a known list."""
        if isinstance(held, Known):
            return Known(held.value[index.value])
        if isinstance(held, Columns):
            return (Series if held.daily else _cell(held.space))(held.name, index.value)
        if isinstance(held, Series):
            assert isinstance(index, Today)
            return Expr(self.by_day.setdefault(held, f"d{self.layout.daily(held)}"))
        assert isinstance(held, Cell)
        assert isinstance(index, Design)
        return self.read(held)

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

    def compare(self, node: ast.Compare, names: dict[str, Any]) -> Any:
        """One comparison."""
        left, right = self.value(node.left, names), self.value(node.comparators[0], names)
        sign, known = _COMPARISONS[type(node.ops[0])]
        if isinstance(left, Known) and isinstance(right, Known):
            return Known(known(left.value, right.value))
        return self.fresh(f"{text(left)} {sign} {text(right)}")

    def both(self, parts: Sequence[Any]) -> Any:
        """All of several tests."""
        if any(isinstance(part, Known) and not part.value for part in parts):
            return Known(False)
        open_parts = [part for part in parts if not isinstance(part, Known)]
        return self.fresh(" & ".join(f"({part.text})" for part in open_parts)) if open_parts else Known(True)

    def invoke(self, name: str, arguments: Sequence[ast.expr], names: dict[str, Any]) -> Any:
        """A call of one of the loop's functions, or of a built-in one."""
        given = [self.value(argument, names) for argument in arguments]
        if name in FUNCTIONS:
            return self.call(FUNCTIONS[name], given)
        if name == "len":
            (held,) = given
            return Known(held.rows if isinstance(held, Columns) else len(held.value))
        if all(isinstance(value, Known) for value in given):
            return Known(_BUILT_IN[name](*(value.value for value in given)))
        if name in ("min", "max"):  # as Python does: the first unless a later one is strictly beyond it
            sign = "<" if name == "min" else ">"
            best = given[0]
            for value in given[1:]:
                best = self.fresh(f"{text(value)} if {text(value)} {sign} {text(best)} else {text(best)}")
            return best
        if name in ("float", "ceil"):
            return self.fresh(f"{name}({text(given[0])})")
        raise NotImplementedError(name)


def _restore(names: dict[str, Any], before: dict[str, Any]) -> None:
    """Forget what a branch has named."""
    names.clear()
    names.update(before)


def _cell(space: str) -> Any:
    return lambda name, row: Cell(space, name, row)


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


_BUILT_IN: dict[str, Callable[..., Any]] = {"min": min, "max": max, "float": float}
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


def written(name: str, calls: Sequence[tuple[str, Sequence[Any]]], layout: Layout, daily: bool) -> str:
    """Write a function that makes these calls of the loop, for a block of designs.

    Parameters
    ----------
    name : str
        What to call it.
    calls : sequence of (str, sequence)
        Functions of the loop and their arguments: `Bundle`, `Known`, `Design()` or `Today()`.
    layout : Layout
        Filled in as rows are met.
    daily : bool
        True for a loop over days `first` to `last - 1`; False for a single pass.

    Returns
    -------
    str
        Python source of `name(M, D, first, last)`, within what numba compiles.
    """
    writer = Writer(layout)
    for function, arguments in calls:
        writer.call(FUNCTIONS[function], arguments)
    body = [*writer.lines, *writer.stores()]
    lines = [f"def {name}(M, D, first, last):"]
    lines += ["    for day in range(first, last):" if daily else "    for _ in range(1):"]
    lines += [f"        {d} = D[{layout.daily(s)}, day]" for s, d in writer.by_day.items()]
    lines += [f"        for k in range({WIDTH}):", *(INDENT + line for line in body)]
    return "\n".join(lines) + "\n"
