"""The commonest slips in a TOML file, each with the user's own line as it should stand.

A line is only ever proposed where TOML reads it; what is not known here is told by `toml_text`.
"""

from __future__ import annotations

import re
import tomllib
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

from holdwater import words
from holdwater.errors import InputError
from holdwater.scenario import toml_text
from holdwater.units import quoted, read_money

_QUOTED = r""""(?:[^"\\]|\\.)*"|'[^']*'"""
_COMMENT = re.compile(rf"((?:{_QUOTED}|[^\"'#])*)#.*")
_BARE = re.compile(
    r"((?:=|\[|,)\s*)([^\s\"'\[\]{}=,][^\"'\[\]{}=,]*?)(?=\s*[,\]}])"
)  # a value without quotes
_KEY = rf"(?:[\w-]+|{_QUOTED})(?:\.(?:[\w-]+|{_QUOTED}))*"
_YES, _NO = ("true", "yes", "on"), ("false", "no", "off")
_LONGEST = 100  # characters of a line shown


def parse(text: str, path: Path) -> dict[str, Any]:
    """Read TOML; a slip known here is told with the line as it should stand.

    Parameters
    ----------
    text : str
        Text of the file.
    path : Path
        The file, for the message.

    Raises
    ------
    InputError
        It is not TOML: on which line, and the cure.
    """
    try:
        return tomllib.loads(text)
    except RecursionError:
        pass
    except ValueError as error:
        at = re.search(r"\(at line (\d+), column (\d+)\)", str(error))
        found = at and _slip(text.split("\n"), int(at[1]), int(at[2]), str(error))
        if found:
            number, line, said = found
            raise InputError(f"{path}, line {number}: {quoted(line)}: {said}") from None
    return toml_text.parse(text, path)


def _slip(lines: list[str], number: int, column: int, what: str) -> tuple[int, str, str] | None:
    """Number and text of the line with the slip, and what is wrong with it."""
    number = min(number, len(lines))
    line, code = lines[number - 1], _code(lines[number - 1])
    for why, better in _proposals(code):
        if better != code and _reads(better):
            return number, code, f"{why}: {_code(better)}" if len(better) <= _LONGEST else why
    if re.search(r"[\"']", re.sub(_QUOTED, "", code)):
        return None  # a quote is open: what the reader says of the rest is beside the point
    if what.startswith(("Unclosed array", "Unclosed inline table")):
        return _unclosed(lines, number, line[: column - 1], line[column - 1 :])
    if "Expected '='" in what and "{" in code:
        return number, code, 'a name with a blank or a comma stands in quotes, such as "hen, laying" = 20'
    return None


def _unclosed(lines: list[str], number: int, before: str, after: str) -> tuple[int, str, str] | None:
    """A list or table that TOML holds to be open: a comma is missing in it, or the bracket at its end."""
    if after.strip() and before.strip() and after[0] != "#":
        one = re.search(rf"({_QUOTED}|[\w.+-]+|[\]}}])\s*$", before)
        two = re.match(rf"({_QUOTED}|[\w.+-]+|[\[{{])", after)
        said = f"a comma is missing: write {one[1]}, {two[1]}" if one and two else ""
        return (number, _code(before + after), said) if said else None
    if not before.strip():
        number = next((n for n in range(number - 1, 0, -1) if _code(lines[n - 1])), 0)
    code = _code(lines[number - 1]) if number else ""
    if code and _is_entry(after) and not code.endswith(("[", "{", ",")):
        return number, code, "a comma is missing at the end of this line"
    better = next((code + end for end in ("]", " }", "] }") if _reads(code + end)), "")
    return (number, code, f"a closing bracket is missing: {better}") if better else None


def _code(line: str) -> str:
    """A line without its comment and the blanks around it."""
    found = _COMMENT.fullmatch(line)
    return (found[1] if found else re.sub(r"\s#.*", "", line)).strip()


def _reads(line: str) -> bool:
    try:
        tomllib.loads(line)
    except (ValueError, RecursionError):
        return False
    return True


def _is_entry(text: str) -> bool:
    """Whether a list goes on here: a text, number or table, and no key of the next line."""
    return re.match(rf"(?:{_QUOTED}|[-+.\d]+)\s*(?:[,\]#]|$)|\{{", text) is not None


def _proposals(code: str) -> Iterator[tuple[str, str]]:
    """What may be wrong with a line, and the line without it."""
    if "“" in code or "”" in code:
        yield "plain quotes are needed, not curly ones", re.sub("[“”]", '"', code)
    if code.endswith((",", ";")):
        yield "no comma stands at the end of a line", code.rstrip(",; ")
    colon = re.fullmatch(rf"({_KEY})\s*:\s*(.+)", code)
    if colon:
        yield from _with_value("an equals sign is needed, not a colon", colon[1], colon[2])
    gap = re.fullmatch(rf"({_KEY})\s+([{{\[].*|[^=\s][^=]*)", code)
    if gap:
        yield from _with_value("an equals sign is missing", gap[1], gap[2])
    pair = re.fullmatch(rf"({_KEY})\s*=\s*(.+)", code)
    if not pair:
        return
    key, value = pair[1], pair[2]
    if re.fullmatch(r"[-+]?[1-9]\d{0,2}(,\d{3})+(\.\d+)?", value):
        yield "no comma stands in a number", f"{key} = {value.replace(',', '')}"
    if re.fullmatch(r"[-+]?\d+,\d+", value):
        yield "a number has a decimal point, not a comma", f"{key} = {value.replace(',', '.')}"
    if "\\" in value:
        yield "a backslash in double quotes begins a special sign; write a slash", code.replace("\\", "/")
    if value.startswith("{"):
        yield "an equals sign is needed, not a colon", re.sub(rf"({_QUOTED}|[\w-]+)\s*:", r"\1 =", code)
    yield from _with_value("", key, value)


def _with_value(why: str, key: str, value: str) -> Iterator[tuple[str, str]]:
    """The pair as it stands, then with every value without quotes mended."""
    if why:
        yield why, f"{key} = {value}"
    if value[0] in "\"'":
        return
    if value[0] not in "[{":
        said, better = _mended(value)
        yield why or said, f"{key} = {better}"
        return
    told: list[tuple[str, str]] = []
    parts = re.split(rf"({_QUOTED})", value)
    for place in range(0, len(parts), 2):
        parts[place] = _BARE.sub(_mender(told), parts[place])
    if told:
        better = f"{key} = {''.join(parts)}"
        piece = f", such as {told[0][1]}" if len(better) > _LONGEST else ""
        yield why or f"{told[0][0]}{piece}", better


def _mender(told: list[tuple[str, str]]) -> Callable[[re.Match[str]], str]:
    """What mends one value without quotes in a list or table, and keeps what it said."""

    def mend(found: re.Match[str]) -> str:
        value = found[2].strip()
        if _reads(f"value = {value}") or re.fullmatch(r"[\d. ]+", value):
            return found[0]
        why, better = _mended(value)
        told.append((why, better))
        return found[1] + better

    return mend


def _number(value: str) -> float | None:
    """Number of a sum of money with its currency, or of ".5" and "007", which TOML does not read."""
    try:
        return read_money(value)
    except InputError:
        return None


def _mended(value: str) -> tuple[str, str]:
    """What is wrong with a value without quotes, and how it stands in the file."""
    small = value.lower()
    if small in (*_YES, *_NO):
        return "true and false are written in small letters", "true" if small in _YES else "false"
    compass = re.fullmatch(r"([-+]?\d+(?:\.\d+)?) ?°? ?([NSEWnsew])", value)
    if compass:
        south_or_west = compass[2] in "SWsw" and compass[1][0] != "-"
        return "degrees are a number, south and west below zero", "-" * south_or_west + compass[1]
    days = words.days_meant(value)
    if days:
        ways = f" ({value} may be {' or '.join(map(words.on, days))})" if days[1:] else ""
        return f"a date is written year-month-day{ways}", str(days[0])
    if re.fullmatch(r"\d{1,2}[-/]\d{1,2}", value):
        day = words.days_meant(f"{value}/2000")
        return (
            "a day of the year is written month-day, in quotes",
            f'"{day[0]:%m-%d}"' if day else f'"{value}"',
        )
    number = _number(value)
    if number is not None:
        return "write the bare number", f"{number:.12g}"
    value = value.replace("\\", "/")
    text = f"'{value}'" if '"' in value else f'"{value}"'
    quantity = re.match(r"[-+.\d]", value)
    return "a quantity with its unit stands in quotes" if quantity else "text stands in quotes", text
