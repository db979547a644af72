"""Dotted paths into the scenario as written: roof.barn.area, tank."north end".outlet, tank+.

A name that holds a dot may stand in quotes or without: tank."No. 2".outlet and tank.No. 2.outlet are one path.
"""

from __future__ import annotations

import re
import tomllib
from typing import NamedTuple

from holdwater.errors import InputError
from holdwater.scenario.faults import shown_key
from holdwater.units import quoted

_STEP = re.compile(r"""\s*(?:"([^"]*)"|'([^']*)'|([^\s."'][^.]*))\s*(\.|$)""")
_CHANGE = re.compile(r"""((?:\.|\s|"[^"]*"|'[^']*'|[^\s."'=][^.=]*+)*+)=(.*)""", re.DOTALL)


class Step(NamedTuple):
    """One step of a path.

    Attributes
    ----------
    name : str
        A part, a name or a key.
    whole : bool
        Whether it stood in quotes: then it is a whole name, else a name with dots takes several steps.
    """

    name: str
    whole: bool = False


def read_change(change: str) -> tuple[str, object]:
    """Path and value of a change written in one line; the value as TOML where it parses, else as text.

    Raises
    ------
    InputError
        There is no path, or no value.
    """
    found = _CHANGE.match(change)
    if not found or not found[1].strip():
        raise InputError(f"{quoted(change)}: write a path and a value, such as roof.barn.area=2200 ft2")
    text = found[2].strip()
    try:
        read = tomllib.loads(f"value = {text}")
    except (ValueError, RecursionError):
        read = {}
    return found[1], read["value"] if list(read) == ["value"] else text


def steps_of(path: str) -> tuple[list[Step], str]:
    """Steps of a dotted path, and "+", "-" or "" for its end.

    Raises
    ------
    InputError
        It is no path.
    """
    ends = path[-1:] if path[-1:] in ("+", "-") else ""
    rest, at = path[: len(path) - len(ends)], 0
    steps: list[Step] = []
    while at < len(rest) or not steps:
        found = _STEP.match(rest, at)
        name = (found[1] or found[2] or found[3] or "").strip() if found else ""
        if not found or not name:
            raise InputError(f'{quoted(path)}: not a path such as roof.barn.area or tank."north end".outlet')
        steps.append(Step(name, whole=found[3] is None))
        at = found.end()
        if found[4] == "." and at == len(rest):
            raise InputError(f"{quoted(path)}: the path ends with a dot")
    return steps, ends


def step(name: str) -> str:
    """Write a name as one step of a path: in quotes, but for a name that holds both kinds of them."""
    sign = next((sign for sign in ('"', "'") if sign not in name), "")
    return f"{sign}{name}{sign}"


def shown_step(name: str) -> str:
    """Write a name as a step of a path that a user may type: in quotes only where it needs them."""
    return name if shown_key(name) == name else step(name)


def loosely(name: str) -> str:
    """A name without the spaces around its dots, which a path without quotes does not keep."""
    return re.sub(r"\s*\.\s*", ".", name.strip())
