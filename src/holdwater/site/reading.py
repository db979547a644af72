"""Reading the scenario's `[site]` table: every fault at once, by name."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any, TypeVar

from pydantic import ValidationError

from holdwater.errors import InputError
from holdwater.scenario.faults import did_you_mean, faults_of, keys_of, ordinal, unknown_key
from holdwater.scenario.schema import Part, Scenario
from holdwater.site import ground, pipes
from holdwater.site.inputs import (
    Filling,
    Gutter,
    Leader,
    Line,
    LinkPipe,
    LongRun,
    Overflow,
    PipeRun,
    PressureTank,
    Pump,
    Site,
    Stand,
    Storm,
)
from holdwater.site.pipes import Pipe
from holdwater.units import quoted

_SINGLE: dict[str, type[Part]] = {
    "storm": Storm,
    "suction": LongRun,
    "pump": Pump,
    "pressure_tank": PressureTank,
}
_REPEATED: dict[str, tuple[type[Part], str]] = {
    "gutter": (Gutter, "roof"),
    "leader": (Leader, "roof"),
    "overflow": (Overflow, "tank"),
    "link": (LinkPipe, "tanks"),
    "stand": (Stand, "tank"),
    "line": (Line, "name"),
    "filling": (Filling, "backup"),
}
_Part = TypeVar("_Part", bound=Part)


def read_site(table: Mapping[str, Any], scenario: Scenario) -> Site:
    """Check the `[site]` table of a scenario.

    Parameters
    ----------
    table : mapping
        As TOML gives it; empty where the file has none.
    scenario : Scenario
        The checked rest, for the names of roofs, tanks, links, draws and backups.

    Returns
    -------
    Site

    Raises
    ------
    InputError
        With every fault.
    """
    faults = [f"site: {unknown_key(key, keys_of(Site))}" for key in table if key not in Site.model_fields]
    plain = {k: v for k, v in table.items() if k in Site.model_fields and k not in {*_SINGLE, *_REPEATED}}
    site = _held_against(Site, plain, "site", faults)
    found: dict[str, Any] = {}
    for key, model in _SINGLE.items():
        if key in table:
            found[key] = _held_against(model, table[key], f"site.{key}", faults)
    for key, (model, naming) in _REPEATED.items():
        rows = table.get(key, [])
        if isinstance(rows, dict):
            faults.append(f"site.{key}: there may be several, so write [[site.{key}]], not [site.{key}]")
            continue
        rows = rows if isinstance(rows, list) else [rows]
        wheres = [_where(key, naming, row, place) for place, row in enumerate(rows)]
        found[key] = [
            _held_against(model, row, where, faults) for row, where in zip(rows, wheres, strict=True)
        ]
        faults += [
            f for row, where in zip(found[key], wheres, strict=True) if row for f in _pipe_faults(row, where)
        ]
    if site is not None and site.soil is not None and site.soil not in ground.soils():
        faults.append(f"site: soil = '{site.soil}'; {did_you_mean(site.soil, ground.soils(), 'soil', 'or')}")
    if found.get("suction"):
        faults += _pipe_faults(found["suction"], "site.suction")
    faults += _name_faults(found, scenario)
    high = scenario.place.elevation if scenario.place else None
    if high is not None and not -500.0 <= high <= 9000.0:
        faults.append(
            f'place: elevation = {high:g} m; no holding lies there, write it as "5200 ft" or "1585 m"'
        )
    if faults or site is None:
        raise InputError(faults)
    return site.model_copy(update=found)


def _held_against(model: type[_Part], table: object, where: str, faults: list[str]) -> _Part | None:
    """One table, or None and its faults."""
    if not isinstance(table, Mapping):
        faults.append(f"{where} = {quoted(table)}: a table is needed, with its keys")
        return None
    try:
        return model.model_validate(table)
    except ValidationError as error:
        faults += faults_of(error, where, model)
        return None


def _where(key: str, naming: str, row: object, place: int) -> str:
    """Name a row by what it belongs to: "site.leader of roof 'barn'"."""
    name = row.get(naming) if isinstance(row, Mapping) else None
    if isinstance(name, str) and name:
        return f"site.{key} '{name}'" if naming == "name" else f"site.{key} of {naming} '{name}'"
    if isinstance(name, list):
        return f"site.{key} of tanks " + ", ".join(f"'{each}'" for each in name)
    return f"the {ordinal(place)} site.{key}"


def _pipe_faults(row: Part, where: str) -> list[str]:
    """What the tables of pipes and fittings do not know."""
    if not isinstance(row, PipeRun):
        return []
    faults: list[str] = []
    try:
        row.chosen()
    except InputError as error:
        faults += [f"{where}: {fault}" for fault in error.faults]
    for name in row.fittings if isinstance(row, LongRun) else ():
        try:
            pipes.equivalent_length(name, Pipe("", "", 25.4))
        except InputError as error:
            faults += [f"{where}: {fault}" for fault in error.faults]
    return faults


def _name_faults(found: Mapping[str, Any], scenario: Scenario) -> list[str]:
    """Roofs, tanks, links, draws and backups the scenario does not have, and things said twice."""
    names = {
        "roof": [roof.name for roof in scenario.roof],
        "tank": [tank.name for tank in scenario.tank],
        "backup": [backup.name for backup in scenario.backup],
    }
    faults: list[str] = []
    for key, (_, naming) in _REPEATED.items():
        rows = [row for row in found.get(key, []) if row]
        if naming in names:
            given = [getattr(row, naming) for row in rows]
            faults += [
                f"site.{key}: there is no {naming} '{name}'; {did_you_mean(name, names[naming], naming)}"
                for name in dict.fromkeys(given)
                if name not in names[naming]
            ]
            twice = sorted({name for name in given if given.count(name) > 1})
            faults += [
                f"site.{key}: {naming} '{name}' is given twice; use `count` for several alike"
                for name in twice
            ]
    links = [set(link.tanks) for link in scenario.link]
    faults += [
        f"{_where('link', 'tanks', row.model_dump(), 0)}: the scenario has no such [[link]]"
        for row in found.get("link", [])
        if row and set(row.tanks) not in links
    ]
    pump, draws = found.get("pump"), [draw.name for draw in scenario.draw]
    for name in (pump.serves or []) if pump else []:
        if name not in draws:
            faults.append(f"site.pump: there is no draw '{name}'; {did_you_mean(name, draws, 'draw')}")
    tank = found.get("pressure_tank")
    if tank and tank.cut_in is not None and tank.cut_out is not None and tank.cut_out <= tank.cut_in:
        faults.append("site.pressure_tank: cut_out must be higher than cut_in")
    return faults
