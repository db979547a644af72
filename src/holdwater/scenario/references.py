"""Whether every name that a part of the file mentions exists: tanks, draws, surfaces, animals, crops.

This looks at the file as written, so that a fault elsewhere in a part hides no misspelt name in it.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Mapping
from typing import Any

from holdwater.scenario import tables
from holdwater.scenario.faults import did_you_mean
from holdwater.scenario.parts import KINDS, Parts, name_of
from holdwater.scenario.tables import growing

GROUND = "ground"
_MENTIONS: dict[str, dict[str, str]] = {  # part, key, what the key names
    "run": {"start_full": "tank"},
    "roof": {"feeds": "tank", "surface": "surface", "first_flush.to": "draw"},
    "tank": {"overflow_to": "tank"},
    "link": {"tanks": "tank"},
    "transfer": {"from_tank": "tank", "to_tank": "tank"},
    "draw": {
        "from_tanks": "tank",
        "animals": "animal",
        "also.animals": "animal",
        "fixtures": "fixture",
        "crop": "crop",
        "soil": "soil",
        "method": "method",
    },
    "reserve": {"in_tanks": "tank"},
    "backup": {"into": "tank", "serves": "draw"},
}
_BY_NAME = {"start_full"}  # names tanks only where it is a table; else it is one share for all
_TABLES: dict[str, Callable[[], Iterable[str]]] = {
    "surface": tables.surfaces,
    "animal": tables.animals,
    "fixture": growing.fixtures,
    "crop": growing.crops,
    "soil": growing.soils,
    "method": growing.methods,
}
_LISTED = 12  # names in a message; a longer table has a command of its own
_CURES = {
    "overflow_to": f'or write overflow_to = "{GROUND}"',
    "surface": "or write runoff_coefficient instead",
    "animals": "or give the amount as a fixed draw",
}


def unknown_names(raw: Mapping[str, Any], parts: Parts) -> Iterator[str]:
    """Say which names of the file lead nowhere, and which are listed twice.

    Parameters
    ----------
    raw : mapping
        The file as TOML gives it.
    parts : Parts
        For the names the file gives.
    """
    for section, where, table in _written(raw):
        for key, what in _MENTIONS[section].items():
            values = [
                value
                for value in _under(table, key.split("."))
                if key not in _BY_NAME or isinstance(value, dict)
            ]
            known = list(_TABLES[what]()) if values and what in _TABLES else parts.names.get(what, [])
            for value in values if known else ():
                yield from _unknown_in(value, key, what, where, known)


def _written(raw: Mapping[str, Any]) -> Iterator[tuple[str, str, dict[str, Any]]]:
    for section in _MENTIONS:
        written = raw.get(section)
        for place, table in enumerate(written if isinstance(written, list) else [written]):
            if isinstance(table, dict):
                yield section, name_of(section, table, place) if section in KINDS else section, table


def _under(table: object, keys: list[str]) -> Iterator[object]:
    """Whatever stands under a key of a table, or of each table of a list."""
    if not keys:
        yield table
    elif isinstance(table, list):
        for each in table:
            yield from _under(each, keys)
    elif isinstance(table, dict) and keys[0] in table:
        yield from _under(table[keys[0]], keys[1:])


def _hint(name: str, known: list[str], what: str) -> str:
    hint = did_you_mean(name, known, what, meant=tables.meant_by(what, name) if what in _TABLES else ())
    return hint if len(known) <= _LISTED or hint.endswith("?") else f"`holdwater tables {what}s` lists them"


def _unknown_in(value: object, key: str, what: str, where: str, known: list[str]) -> Iterator[str]:
    if isinstance(value, str):
        value = [value]
    names = (
        [name.strip() for name in value if isinstance(name, str)] if isinstance(value, list | dict) else []
    )
    said = key.replace(".", ", ")
    for name in dict.fromkeys(names):
        if name not in known and not (key == "overflow_to" and name == GROUND):
            hint, cure = _hint(name, known, what), _CURES.get(key)
            ending = "" if cure is None else f" ({cure})" if hint.endswith("?") else f", {cure}"
            yield f"{where}: {said}: there is no {what} '{name}'; {hint}{ending}"
        if names.count(name) > 1:
            yield f"{where}: {said} names '{name}' more than once"
