"""The daily loop, written out for one holding: the same physics, straight down, ready to compile.

`holdwater.day` stays the only source. This file reads its functions and works out, before anything
runs, all that depends on the holding alone: which roofs feed which tanks, how many draws there are,
which branch a switch takes. What is left is arithmetic on one design, operation by operation in the
same order, so the compiled run gives the same bits. `specialise_values` says what it deals in,
`specialise_lines` writes the arithmetic down.
"""

from __future__ import annotations

import ast
import inspect
import textwrap
from collections.abc import Callable, Iterable, Sequence
from functools import cache
from types import FunctionType
from typing import Any

from holdwater import day, soil_water
from holdwater.studies.specialise_lines import Lines
from holdwater.studies.specialise_values import (
    WIDTH,
    Bundle,
    Cell,
    Columns,
    Design,
    Expr,
    Known,
    Layout,
    Series,
    Today,
    spaces,
    text,
)

__all__ = ["WIDTH", "Bundle", "Design", "Known", "Layout", "Today", "spaces", "written"]

INDENT = "            "


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
_BUILT_IN: dict[str, Callable[..., Any]] = {"min": min, "max": max, "float": float}


class Writer(Lines):
    """Follows the loop with what is known of a holding, and writes down the arithmetic that is left."""

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
                left, right = self.value(node.left, names), self.value(node.comparators[0], names)
                return self.compare(node.ops[0], left, right)
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
        if name in ("min", "max"):
            return self.end_of(name, given)
        if name in ("float", "ceil"):
            return self.fresh(f"{name}({text(given[0])})")
        raise NotImplementedError(name)


def _restore(names: dict[str, Any], before: dict[str, Any]) -> None:
    """Forget what a branch has named."""
    names.clear()
    names.update(before)


def _cell(space: str) -> Any:
    return lambda name, row: Cell(space, name, row)


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
