"""The scenario file part by part: each table held against its class, so that one fault hides no other."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, field
from typing import Any, TypeVar

from pydantic import BaseModel, ValidationError

from holdwater.scenario import schema
from holdwater.scenario.faults import did_you_mean, faults_of, keys_of, kinds_of, listed, ordinal, unknown_key
from holdwater.units import quoted

KINDS: dict[str, dict[str, type[BaseModel]]] = {  # classes of each repeated table, by `kind` where it has one
    "roof": {"": schema.Roof},
    "tank": {"": schema.Tank},
    "link": {"": schema.Link},
    "transfer": {"": schema.Transfer},
    "draw": kinds_of(schema.Draw),
    "backup": kinds_of(schema.Backup),
}
SINGLE: dict[str, type[BaseModel]] = {
    "place": schema.Place,
    "weather": schema.Weather,
    "run": schema.Run,
    "snow": schema.Snow,
    "reserve": schema.Reserve,
}
UNREAD = "site"  # handed on as written; the site checks read it
_NEEDED = {
    "weather": 'add [weather] with file = "weather.csv"',
    "roof": "add a [[roof]] with name, area, surface and feeds",
    "tank": "add a [[tank]] with name, capacity and diameter",
    "draw": "add a [[draw]] with name and kind",
}
_ESCAPED = str.maketrans({"\b": "\\b", "\t": "\\t", "\n": "\\n", "\f": "\\f", "\r": "\\r"})
Model = TypeVar("Model", bound=BaseModel)


@dataclass
class Parts:
    """What could be read of a scenario file.

    Attributes
    ----------
    read : dict
        Checked tables: a list for each repeated table, one object for each single one.
    names : dict
        Every name the file gives in a repeated table, whether that table could be read or not.
    faults : list of str
        What could not be read.
    """

    read: dict[str, Any] = field(default_factory=dict)
    names: dict[str, list[str]] = field(default_factory=dict)
    faults: list[str] = field(default_factory=list)

    def all_of(self, section: str, kind: type[Model]) -> list[Model]:
        """Readable tables of one class."""
        return [part for part in self.read.get(section, []) if isinstance(part, kind)]

    def one(self, section: str, kind: type[Model]) -> Model | None:
        """Return a single table, if it is there and readable."""
        part = self.read.get(section)
        return part if isinstance(part, kind) else None


def name_of(section: str, table: object, place: int) -> str:
    """Name a table of the file for a message: "roof 'barn'", "the second roof (no name)"."""
    if section == "link":
        joined = table.get("tanks") if isinstance(table, dict) else None
        words = [name for name in joined if isinstance(name, str)] if isinstance(joined, list) else []
        return f"link of {listed(words)}" if words else f"the {ordinal(place)} link"
    name = table.get("name") if isinstance(table, dict) else None
    if isinstance(name, str) and name.strip():
        return f"{section} {quoted(name.strip())}".replace('"', "'")
    return f"the {ordinal(place)} {section} (no name)"


def take_apart(raw: dict[str, Any]) -> Parts:
    """Read every table of the file by itself and gather what is at fault.

    Parameters
    ----------
    raw : dict
        The file as TOML gives it.
    """
    parts = Parts(names={part: [] if part == "link" else names_in(raw.get(part)) for part in KINDS})
    top = keys_of(schema.Scenario)
    parts.faults += [unknown_key(key, top) for key in raw if key not in top]
    heading = {key: raw[key] for key in keys_of(schema.Heading) if key in raw}
    read = _held_against(schema.Heading, heading, "", parts)
    if read is not None:
        parts.read |= {key: getattr(read, key) for key in keys_of(schema.Heading)}
    parts.faults += _backslashes(raw.get("weather"))
    for section, model in SINGLE.items():
        _single(raw, section, model, parts)
    for section in KINDS:
        _repeated(raw, section, parts)
    if _is_single_table(raw.get(UNREAD, {}), UNREAD, parts):
        parts.read[UNREAD] = raw.get(UNREAD, {})
    return parts


def sound(raw: dict[str, Any]) -> bool:
    """Whether a file has every part it needs and gives no name twice, so that its variants can be judged."""
    names = [names_in(raw.get(part)) for part in KINDS if part != "link"]
    return all(raw.get(part) for part in _NEEDED) and all(len(set(each)) == len(each) for each in names)


def _backslashes(weather: object) -> Iterator[str]:
    """Files whose name a backslash in double quotes has turned into something else: "D:\\rain.csv"."""
    table = weather if isinstance(weather, dict) else {}
    files = {"file": table.get("file")}
    for other in ("neighbour", "diary"):
        files[other] = table[other].get("file") if isinstance(table.get(other), dict) else table.get(other)
    for key, name in files.items():
        if isinstance(name, str) and name.translate(_ESCAPED) != name:
            path = name.translate(_ESCAPED).replace("\\", "/")
            yield (
                f"weather: {key}: a backslash in double quotes begins a special sign;"
                f' write a slash: {key} = "{path}"'
            )


def _held_against(model: type[Model], table: object, where: str, parts: Parts) -> Model | None:
    try:
        return model.model_validate(table)
    except ValidationError as error:
        parts.faults += faults_of(error, where, model, parts.names)
        return None


def _single(raw: dict[str, Any], section: str, model: type[BaseModel], parts: Parts) -> None:
    if section not in raw:
        if section in _NEEDED:
            parts.faults.append(f"{section} is missing; {_NEEDED[section]}")
        return
    if _is_single_table(raw[section], section, parts):
        parts.read[section] = _held_against(model, raw[section], section, parts)


def _is_single_table(table: object, section: str, parts: Parts) -> bool:
    if isinstance(table, list):
        parts.faults.append(f"{section} stands once in the file: write [{section}], not [[{section}]]")
    elif not isinstance(table, dict):
        parts.faults.append(_no_table(section, table, f"[{section}]"))
    return isinstance(table, dict)


def _no_table(where: str, found: object, heading: str) -> str:
    return f"{where} = {quoted(found)}: a table is needed; write its keys under {heading}"


def _repeated(raw: dict[str, Any], section: str, parts: Parts) -> None:
    tables = raw.get(section, [])
    parts.read[section] = []
    if isinstance(tables, dict):
        parts.faults.append(f"{section}: there may be several, so write [[{section}]], not [{section}]")
        return
    if not isinstance(tables, list):
        parts.faults.append(_no_table(section, tables, f"[[{section}]]"))
        return
    if not tables and section in _NEEDED:
        parts.faults.append(f"there is no {section}; {_NEEDED[section]}")
    for place, table in enumerate(tables):
        where = name_of(section, table, place)
        if not isinstance(table, dict):
            parts.faults.append(_no_table(where, table, f"[[{section}]]"))
            continue
        model = _class_of(section, table, where, parts)
        read = _held_against(model, table, where, parts) if model else None
        if read is not None:
            parts.read[section].append(read)


def names_in(tables: object) -> list[str]:
    """Names given in a repeated table of the file."""
    rows = tables if isinstance(tables, list) else []
    names = [row.get("name") for row in rows if isinstance(row, dict)]
    return [name.strip() for name in names if isinstance(name, str) and name.strip()]


def _class_of(section: str, table: dict[str, Any], where: str, parts: Parts) -> type[BaseModel] | None:
    """Class of a table by its `kind`; keys of another kind are told here, with the kind they belong to."""
    kinds = KINDS[section]
    if "" in kinds:
        return kinds[""]
    choice = " or ".join(f'"{kind}"' for kind in kinds)
    kind = table.get("kind")
    if kind is None:
        parts.faults.append(f"{where}: kind is missing; write kind = {choice}")
        return None
    model = kinds.get(kind) if isinstance(kind, str) else None
    if model is None:
        hint = did_you_mean(str(kind), kinds, "kinds", "or")
        parts.faults.append(f"{where}: kind = {quoted(kind)} is not known; {hint}")
    return model
