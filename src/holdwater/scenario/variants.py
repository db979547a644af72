"""What-ifs: dotted paths by name ("roof.barn.area") put new values into the scenario as written.

Changes go into the file's own words, before any checking, so every check runs on the changed scenario.
A path ends in "+" to add a table to a part or an entry to a list, and in "-" to take one out by its name.
A tank whose capacity is changed and whose diameter is not stands as high as before (`heights`).
"""

from __future__ import annotations

import copy
import math
from collections.abc import Iterable, Iterator, Mapping
from typing import Any

from holdwater.errors import InputError
from holdwater.scenario import heights, schema
from holdwater.scenario.faults import did_you_mean, inner_model, keys_of, listed, shown_key
from holdwater.scenario.parts import KINDS, SINGLE, UNREAD
from holdwater.scenario.paths import Step, loosely, read_change, shown_step, step, steps_of
from holdwater.units import quoted

Change = tuple[str, object]
COST = "cost"
"""Key of a variant that is no change: what it costs, in the scenario's currency."""


def changed(raw: Mapping[str, Any], changes: Iterable[str | Change]) -> dict[str, Any]:
    """Apply changes to a scenario as written.

    Parameters
    ----------
    raw : dict
        The scenario as TOML gives it; it stays as it is.
    changes : iterable of str or (str, object)
        "roof.barn.area=2200 ft2" as on the command line, or a path and a value as in a variant.

    Returns
    -------
    dict
        A changed copy, not yet checked.

    Raises
    ------
    InputError
        With every change whose path leads nowhere.
    """
    new, faults = copy.deepcopy(dict(raw)), []
    heights.mark(new)
    for change in changes:
        try:
            path, value = read_change(change) if isinstance(change, str) else change
            _apply(new, path.strip(), copy.deepcopy(value))
        except InputError as error:
            faults += error.faults
    if faults:
        raise InputError(faults)
    heights.follow(new)
    return new


def variant_changes(raw: Mapping[str, Any], name: str) -> list[Change]:
    """Changes that a variant of the file makes, as paths and values.

    Raises
    ------
    InputError
        There is no such variant, or it is not a table.
    """
    variants = raw.get("variant", {})
    if not isinstance(variants, dict) or name not in variants:
        known = variants if isinstance(variants, dict) else {}
        raise InputError(f"there is no variant '{name}'; {did_you_mean(name, known, 'variant')}")
    table = variants[name]
    if not isinstance(table, dict):
        raise InputError(
            f"variant '{name}' = {quoted(table)}: a table is needed, such as [variant.{shown_key(name)}]"
        )
    cost = table.get(COST, 0)
    if isinstance(cost, bool) or not isinstance(cost, int | float) or not 0 <= cost < math.inf:
        raise InputError(
            f"variant '{name}': {COST} = {quoted(cost)}: a price is needed, such as {COST} = 2900"
        )
    return [change for change in _flat(table) if change[0] != COST]


def _flat(table: Mapping[str, Any]) -> Iterator[Change]:
    """Read roof.barn.area = ... without quotes, which TOML takes for tables in tables, as a path too."""
    for key, value in table.items():
        if key in KINDS and isinstance(value, dict):
            for name, part in value.items():
                yield from _flat_part(f"{key}.{step(name)}", part)
        elif key == UNREAD and isinstance(value, dict):
            yield from _flat_unread(key, value)
        else:
            yield key, value


def _flat_part(path: str, part: object) -> Iterator[Change]:
    if not isinstance(part, dict):
        yield path, part
        return
    for key, value in part.items():
        if isinstance(value, dict) and _is_table(path, key):  # first_flush.volume keeps first_flush.drains_in
            yield from ((f"{path}.{key}.{step(inner)}", each) for inner, each in value.items())
        else:
            yield f"{path}.{step(key)}", value


def _flat_unread(path: str, table: dict[str, Any]) -> Iterator[Change]:
    """Every value of a table that is handed on as written, by its whole path."""
    for key, value in table.items():
        ends = key[-1:] if key[-1:] in ("+", "-") else ""
        inner = f"{path}.{step(key[: len(key) - len(ends)])}{ends}"
        if isinstance(value, dict) and not ends:
            yield from _flat_unread(inner, value)
        else:
            yield inner, value


def _is_table(path: str, key: str) -> bool:
    """Whether the keys under a key are the program's own, not names that the owner gave."""
    return any(inner_model(model, key) for model in KINDS[path.split(".")[0]].values())


def _apply(raw: dict[str, Any], path: str, value: object) -> None:
    steps, ends = steps_of(path)
    section = steps[0].name
    known = [key for key in keys_of(schema.Scenario) if key != "variant"]
    if section not in known:
        hint = did_you_mean(section, known, "part")
        raise InputError(f"{path}: there is no '{section}' to change; {hint}")
    if section in (*SINGLE, UNREAD) and len(steps) == 1 and not ends and not isinstance(value, dict):
        raise InputError(f"{path} is a whole table; name the key too, such as {_such_as(section)}")
    if section in KINDS:
        _in_repeated(raw, path, steps, ends, value)
    elif section == UNREAD:
        table, inner = _table(raw, section, path), steps[1:]
        if inner and isinstance(table.get(inner[0].name), list):
            _in_repeated(table, path, inner, ends, value, f"{UNREAD}.")
        else:
            _in_table(table, path, inner, ends, value)
    elif section in SINGLE:
        _in_table(_table(raw, section, path), path, steps[1:], ends, value)
    else:
        _in_table(raw, path, steps, ends, value)


def _such_as(section: str) -> str:
    usual = {"run": "rule", "weather": "file", UNREAD: "soil"}
    return f"{section}.{usual.get(section) or keys_of(SINGLE[section])[0]}"


def _in_repeated(
    holder: dict[str, Any], path: str, steps: list[Step], ends: str, value: object, under: str = ""
) -> None:
    """Change one table of several, which goes by its name or by what it belongs to."""
    section = under + steps[0].name
    tables = holder.setdefault(steps[0].name, [])
    if not isinstance(tables, list):
        raise InputError(f"{path}: {section} is not written as [[{section}]] in the file")
    if len(steps) > 1:
        table, rest = _find(tables, section, steps[1:], path)
        if not rest and not ends and not isinstance(value, dict):
            example = f"{path}.{_first_key(section)}"
            raise InputError(f"{path} is a whole {section}; name the key too, such as {example}")
        _in_table(table, path, rest, ends, value)
    elif ends == "+":
        new = value if isinstance(value, list) else [value]
        if not all(isinstance(each, dict) for each in new):
            raise InputError(f"{path} = {quoted(value)}: a new {section} is a table, {{ name = ... }}")
        tables += new
    elif ends == "-":
        for name in value if isinstance(value, list) else [value]:
            table, _ = _find(tables, section, [Step(str(name), whole=True)], path)
            tables[:] = [each for each in tables if each is not table]
    else:
        raise InputError(f"{path}: say which {section}; {_there_are(tables, section)}")


def _first_key(section: str) -> str:
    keys = {"roof": "area", "tank": "capacity", "link": "closed", "backup": "starts_below"}
    keys |= {"site.line": "flow", "site.stand": "pad_area", "site.filling": "air_gap", "site.gutter": "width"}
    return keys.get(section, "size" if section.startswith(UNREAD) else "per_day")


def _find(tables: list[Any], section: str, steps: list[Step], path: str) -> tuple[dict[str, Any], list[Step]]:
    """Return the table of this name and the steps that lead on inside it; without quotes a name may take several."""
    known = [(table, name) for table in tables for name in _called(table, section)]
    for length in (1,) if steps[0].whole else range(len(steps), 0, -1):
        name = ".".join(each.name for each in steps[:length])
        alike = [each for each in known if loosely(each[1]) == loosely(name)]
        if alike:
            table, _ = next((each for each in alike if each[1] == name), alike[0])
            return table, steps[length:]
    linked = section.endswith("link")
    what = f"{section} with tank" if linked else section
    hint = did_you_mean(steps[0].name, _names(tables, section), "linked tank" if linked else section)
    raise InputError(f"{path}: there is no {what} '{steps[0].name}'; {hint}")


def _called(table: object, section: str) -> list[str]:
    """What a table goes by: its name, that of what it belongs to, or those of the tanks it links."""
    if not isinstance(table, dict):
        return []
    if section.endswith("link"):
        given = table.get("tanks")
    else:
        given = [next((table[key] for key in ("name", "roof", "tank", "backup") if key in table), None)]
    names = [each.strip() for each in given if isinstance(each, str)] if isinstance(given, list) else []
    return [name for name in names if name]


def _names(tables: list[Any], section: str) -> list[str]:
    return [name for table in tables for name in _called(table, section)]


def _there_are(tables: list[Any], section: str) -> str:
    names = _names(tables, section)
    if not names:
        return f"there is no {section} in the file; add one with {section}+"
    several = f"the {section}s are" if len(names) > 1 else f"the {section} is"
    example = f"{section}.{shown_step(names[0])}.{_first_key(section)}"
    return f"{several} {listed(names)}: write {example}, or {section}+ to add one"


def _table(raw: dict[str, Any], key: str, path: str) -> dict[str, Any]:
    table = raw.setdefault(key, {})
    if not isinstance(table, dict):
        raise InputError(f"{path}: {key} = {quoted(table)} in the file is no table to change anything in")
    return table


def _in_table(table: dict[str, Any], path: str, keys: list[Step], ends: str, value: object) -> None:
    """Set, add to or take from what a table holds; new keys are checked with the whole scenario."""
    for key in keys[:-1]:
        table = _table(table, key.name, path)
    last = keys[-1].name if keys else ""
    if ends == "-":
        _take_out(table.get(last) if keys else table, path, value)
    elif ends == "+":
        entries = table.setdefault(last, []) if keys else None
        if not isinstance(entries, list):
            raise InputError(f'{path}: "+" adds an entry to a list, and this is none')
        entries += value if isinstance(value, list) else [value]
    elif keys:
        table[last] = value
    elif isinstance(value, dict):
        table |= value


def _take_out(holder: object, path: str, value: object) -> None:
    """Take entries out of a list, or keys out of a table."""
    if not isinstance(holder, list | dict):
        raise InputError(
            f'{path}: "-" takes an entry out of a list or a key out of a table, and this is neither'
        )
    for each in value if isinstance(value, list) else [value]:
        there = [str(entry) for entry in holder]
        if str(each) not in there:
            hint = did_you_mean(str(each), there, "key" if isinstance(holder, dict) else "name")
            raise InputError(f"{path}: there is no {quoted(each)} in it; {hint}")
        if isinstance(holder, list):
            del holder[there.index(str(each))]
        else:
            del holder[str(each)]
