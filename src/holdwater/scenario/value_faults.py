"""What is wrong with one value of the file, and how it is written: with the user's own words where they can stay."""

from __future__ import annotations

import re
from collections.abc import Mapping
from difflib import get_close_matches
from typing import Any

from pydantic_core import ErrorDetails

from holdwater.errors import InputError
from holdwater.units import Kind, quoted, read

_PLAIN = {
    "float_type": "a number is needed",
    "float_parsing": "a number is needed",
    "finite_number": "a finite number is needed",
    "int_type": "a whole number is needed",
    "int_from_float": "a whole number is needed",
    "int_parsing_size": "a smaller number is needed",
    "string_too_short": "it is empty",
}
_YES_NO = {"true": "true", "yes": "true", "on": "true", "false": "false", "no": "false", "off": "false"}
_COMPASS = re.compile(r"([-+]?\d+(?:\.\d+)?) ?\N{DEGREE SIGN}? ?([NSEW])", re.ASCII | re.IGNORECASE)


def said(
    error: ErrorDetails, key: str, found: Any, ctx: Mapping[str, Any], examples: Mapping[str, str]
) -> str:
    """What is wrong with a value, and how it is written.

    Parameters
    ----------
    error : ErrorDetails
        What pydantic found.
    key : str
        The key of the value.
    found : object
        The value.
    ctx : mapping
        What was required.
    examples : mapping
        How keys are written.
    """
    kind = error["type"]
    example = f": {key} = {examples[key]}" if key in examples else ""
    if kind in _PLAIN:
        return _PLAIN[kind] + (_bare(key, found) if kind.startswith(("float_", "int_")) else "")
    if kind == "bool_type":
        return f"write {_YES_NO.get(str(found).strip().lower(), 'true or false')}, without quotes"
    if kind == "literal_error":
        return _choices(found, str(ctx["expected"]).replace("'", '"'))
    if kind == "string_type":
        plain = isinstance(found, int | float) and not isinstance(found, bool)
        return f'text in quotes is needed, such as "{found}"' if plain else "text in quotes is needed"
    if kind in ("list_type", "tuple_type"):
        return f"a list is needed, in square brackets{_in_list(key, found) or example}"
    if kind in ("model_type", "dict_type", "model_attributes_type"):
        return f"a table is needed, in curly braces{_in_table(key, found) or example}"
    if kind == "string_too_long":
        return f"longer than {ctx['max_length']} characters"
    if kind in ("greater_than_equal", "less_than_equal"):
        return f"it must be {'at least' if 'ge' in ctx else 'at most'} {ctx.get('ge', ctx.get('le')):g}"
    return error["msg"][:1].lower() + error["msg"][1:]


def _bare(key: str, found: Any) -> str:
    """What to write for a number in quotes: the number, where the text begins with one."""
    if not isinstance(found, str):
        return ""
    compass = _COMPASS.fullmatch(found.strip())
    if compass and key in ("latitude", "longitude"):
        below = "-" * (compass[2] in "SWsw" and compass[1][0] not in "-+")
        return f"; write {key} = {below}{compass[1]} (south and west are below zero)"
    number = re.match(r"\s*([-+]?\d+(?:\.\d+)?)(?![\d.,])", found, re.ASCII)
    return (f"; write {key} = {number[1]}" if number and key.isidentifier() else "") + ", without quotes"


def _in_list(key: str, found: Any) -> str:
    """One text as a list of one."""
    return f": {key} = [{quoted(found)}]" if isinstance(found, str) and len(found) <= 60 else ""


def _in_table(key: str, found: Any) -> str:
    """A volume or a depth as a first flush of it."""
    if key != "first_flush" or not isinstance(found, str):
        return ""
    kinds: dict[str, Kind] = {"volume": "volume", "depth": "depth"}
    for inner, kind in kinds.items():
        try:
            read(found, kind)
        except InputError:
            continue
        return f": {key} = {{ {inner} = {quoted(found)} }}"
    return ""


def how_many(ctx: Mapping[str, Any], key: str, examples: Mapping[str, str]) -> str:
    """Say how many values a list needs and how many there are; the parameters as for `said`."""
    here = ctx["actual_length"]
    are = f"here {'is' if here == 1 else 'are'} {here}"
    if 12 in (ctx.get("min_length"), ctx.get("max_length")):
        return f"twelve values are needed, January to December, and {are}"
    if "min_length" not in ctx:
        return f"at most {ctx['max_length']} are needed, and {are}"
    return f"at least {ctx['min_length']} are needed, and {are}; write {key} = {examples.get(key, '[...]')}"


def _choices(found: Any, expected: str) -> str:
    choices = [choice.strip('" ') for choice in expected.replace(" or ", ", ").split(", ")]
    close = get_close_matches(str(found)[:40], choices, 1, 0.6) if isinstance(found, str) else []
    hint = f'; did you mean "{close[0]}"?' if close else ""
    return f"it is one of {expected}{hint}"
