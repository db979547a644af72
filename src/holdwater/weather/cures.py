"""Where a cure is applied: the table of the scenario a key belongs to, and the option of the command."""

from __future__ import annotations

import re
from collections.abc import Iterator
from contextlib import contextmanager

from holdwater.errors import InputError

KEYS = (
    "format|station|date_column|rain_column|t_min_column|t_max_column|et0_column|rain_unit|temperature_unit|dates|"
    "decimal|separator|encoding|same_day|readings|absent_days|accept|missing_days|neighbour|missing_marks"
)
_VALUE = r'"[^"]*"|\[[^\]]*\]'
_CURE = re.compile(
    rf"\b(?:say|choose|with|or|needs|set|in(?= missing_marks)) ({KEYS}) = ({_VALUE})(?! ?(?:,|or) \")"
)
_CHOICE = re.compile(rf"\b(?:say|choose|with|or|needs|set|in(?= missing_marks)) ({KEYS}) = (?:{_VALUE})")


def placed(fault: str, table: str = "weather", file: str = "") -> str:
    """A fault whose cure is a key, with the place the key is written in.

    Parameters
    ----------
    fault : str
        A sentence such as '...; say rain_unit = "in"'. One without a key stays as it is.
    table : str
        "weather", or the record beside it: "diary", "neighbour".
    file : str
        File of a record beside it.
    """
    cure = min(
        filter(None, (_CURE.search(fault), _CHOICE.search(fault))), key=lambda m: m.start(), default=None
    )
    if cure is None or "--set" in fault:
        return fault
    key, value = cure[1], cure[2] if cure.re is _CURE else "..."
    if table != "weather":
        return f'{fault} (write it as {table} = {{ file = "{file}", {key} = {value} }} under [weather])'
    bare = value.strip('"')
    change = f"weather.{key}={bare}"
    if not re.fullmatch(r"[\w.=-]+", change):
        change = f"'{change}'" if '"' in change else f'"{change}"'
    several = len({found[1] for found in _CHOICE.finditer(fault)}) > 1
    return f"{fault} (write {'such a key' if several else 'it'} under [weather], or --set {change})"


@contextmanager
def placing(table: str = "weather", file: str = "") -> Iterator[None]:
    """Let every fault say where its cure is written."""
    try:
        yield
    except InputError as fault:
        raise InputError([placed(said, table, file) for said in fault.faults]) from None
