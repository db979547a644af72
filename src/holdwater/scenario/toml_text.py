"""The scenario file as text and as TOML: what cannot be read, on which line, and what to look for there."""

from __future__ import annotations

import re
import tomllib
from difflib import get_close_matches
from pathlib import Path
from typing import Any

from holdwater.errors import InputError
from holdwater.scenario.parts import KINDS
from holdwater.units import quoted

LARGEST = 2_000_000  # bytes; a scenario is a few thousand


def read_text(path: Path) -> str:
    """Text of a scenario file.

    Parameters
    ----------
    path : Path
        The file.

    Raises
    ------
    InputError
        No such file, a folder, no right to read it, not UTF-8 text, far too large, or empty.
    """
    try:
        if path.is_dir():
            raise InputError(_is_folder(path))
        if not path.exists():
            raise InputError(f"there is no file {path}; {_instead(path)}")
        if path.stat().st_size > LARGEST or not path.is_file():
            raise InputError(f"{path} is far too large for a scenario; is it the weather record?")
        content = path.read_bytes()
    except (OSError, ValueError) as error:
        why = getattr(error, "strerror", None) or error
        raise InputError(f"{path} cannot be read: {why}; check its name and permissions") from None
    if content[:2] in (b"\xff\xfe", b"\xfe\xff"):
        raise InputError(f"{path} is UTF-16 text; save it as UTF-8 in your editor")
    try:
        text = content.decode("utf-8-sig").replace("\r\n", "\n")
    except UnicodeDecodeError as error:
        line = content[: error.start].count(b"\n") + 1
        raise InputError(f"{path}, line {line}: a character is not UTF-8; save the file as UTF-8") from None
    if not text.strip():
        raise InputError(f"{path} is empty; `holdwater new` writes a starter to edit")
    return text


def _is_folder(path: Path) -> str:
    inside = sorted(each.name for each in path.glob("*.toml"))
    hint = f", such as {path / inside[0]}" if inside else "; it holds no .toml file"
    return f"{path} is a folder; name the scenario file in it{hint}"


def _instead(path: Path) -> str:
    near = [each.name for each in path.parent.glob("*.toml")] if path.parent.is_dir() else []
    close = get_close_matches(path.name, near, 1, 0.6)
    if close:
        return f"did you mean {path.parent / close[0]}?"
    return f"`holdwater new {path}` writes a starter to edit"


def parse(text: str, path: Path) -> dict[str, Any]:
    """Read TOML.

    Parameters
    ----------
    text : str
        Text of the file.
    path : Path
        The file, for the message.

    Raises
    ------
    InputError
        It is not TOML: on which line, and what to look for.
    """
    try:
        return tomllib.loads(text)
    except RecursionError:
        raise InputError(f"{path}: brackets in brackets without end; this is no scenario file") from None
    except ValueError as error:
        what = str(error)
        number, line = _place(text, what)
        raise InputError(f"{path}, line {number}: {quoted(line)}: {_look_for(line, what)}") from None


def _place(text: str, what: str) -> tuple[int, str]:
    """Line that a fault stands on; where the reader ran to the end, the line on which it began."""
    lines = text.rstrip().split("\n")
    at = re.search(r"\(at line (\d+), column (\d+)\)", what)
    number = int(at[1]) if at else len(lines)
    if at and at[2] == "1" and "Unclosed" in what:
        number -= 1
    if not at:
        open_quote = [n for n, line in enumerate(lines, 1) if _open_quote(line)]
        number = open_quote[-1] if open_quote else number
    return number, lines[number - 1].strip() if 0 < number <= len(lines) else ""


def _open_quote(line: str) -> bool:
    """Whether a string begins on a line and does not end there."""
    return re.search(r"[\"']", re.sub(r"\"(?:[^\"\\]|\\.)*\"|'[^']*'|#[^\"']*$", "", line)) is not None


def _look_for(line: str, what: str) -> str:
    """Say what is wrong with a line that TOML cannot read."""
    head = re.match(r"\[\[?\s*([^\]]*)(\]*)", line)
    if head:
        return _wrong_header(head[1].strip(), line, what)
    if "“" in line or "”" in line:
        return "plain quotes are needed, not curly ones"
    if "Unescaped" in what:
        return "a backslash cannot stand in double quotes; write a slash, or use single quotes"
    if _open_quote(line):
        return "a closing quote is missing"
    if "overwrite" in what or "mutate" in what or "twice" in what:
        return "this key is there already; keep one of the two"
    if "date or datetime" in what:
        return "there is no such day; a date is written year-month-day, such as 1996-01-31"
    if "Unclosed" in what or line.count("[") > line.count("]") or line.count("{") > line.count("}"):
        return "a closing bracket is missing (what stands in curly braces must stand on one line)"
    return _wrong_value(line, what)


def _wrong_header(name: str, line: str, what: str) -> str:
    if line.count("[") > line.count("]"):
        return "a closing bracket is missing"
    if re.fullmatch(r"[^\"']*\S \S[^\"']*", name):
        return 'a name with a space stands in quotes, such as [variant."third tank"]'
    if line.startswith("[["):
        return f"[{name}] stands in the file too; a table that may come several times is always [[{name}]]"
    if "twice" in what or "overwrite" in what:
        if name.split(".")[0] in KINDS:
            return f"[{name}] is there already; where there are several, each is written [[{name}]]"
        several = f", or write [[{name}]] where there are several" if "." in name else ""
        return f"[{name}] is there already; put all its keys under one{several}"
    return f"not a table of the file: {_lower(what)}"


def _wrong_value(line: str, what: str) -> str:
    key, equals, value = (part.strip() for part in re.sub(r"\s#.*", "", line).partition("="))
    if not equals or not key:
        return 'a key, an equals sign and a value are needed, such as name = "upper"'
    if re.search(r"\s", key) and not re.search(r"[\"'.]", key):
        return "a key with a space in it stands in quotes"
    if not value:
        return "a value is missing after the equals sign"
    if re.match(r"[-+.\d]", value):
        return 'a quantity with its unit stands in quotes, such as "1480 ft2"; so does "05-10" for 10 May'
    if re.match(r"[^\"'\[{=]", value):
        return 'text stands in quotes, such as surface = "metal"'
    return f"not TOML: {_lower(what)}"


def _lower(what: str) -> str:
    return what[:1].lower() + what[1:].partition(" (at ")[0]
