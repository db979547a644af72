"""Levels given as a share of what the tanks hold: they move when the tanks change. And where linked tanks spill."""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import Any

from holdwater import words
from holdwater.phases import cuts
from holdwater.scenario import ScenarioFile
from holdwater.scenario.schema import Refill, Scenario
from holdwater.studies.paths import split
from holdwater.tanks import Group, group, partition, vessel
from holdwater.units import Level, System, show

LEAST_MOVED = 0.005
"""A level moves when it means more or less water by this share."""
MOST_NAMED = 3


@dataclass(frozen=True)
class Standing:
    """A level of the file and the water it stands for.

    Attributes
    ----------
    key : str
        The key of the file: `stops_below`, `steps`, `starts_below`, `fills_to`.
    owner : str
        The draw, backup or pump it belongs to.
    level : Level
        As written.
    volume : float
        Water above the outlets it stands for [L].
    """

    key: str
    owner: str
    level: Level
    volume: float


def groups_of(scenario: Scenario) -> list[Group]:
    """Tanks by common water surface, every valve open."""
    vessels = [vessel(tank) for tank in scenario.tank]
    position = {tank.name: t for t, tank in enumerate(scenario.tank)}
    links = [[position[name] for name in link.tanks] for link in scenario.link]
    return [group(vessels, members) for members in partition(len(vessels), links)]


def standing(scenario: Scenario) -> list[Standing]:
    """Every level that draws, backups and pumps of a scenario act on, and what it stands for."""
    groups = groups_of(scenario)
    home = {scenario.tank[t].name: joined for joined in groups for t in joined.tanks}

    def of(key: str, owner: str, level: Level | None, tanks: Iterable[str]) -> list[Standing]:
        if level is None:
            return []
        joined = {id(home[name]): home[name].capacity for name in tanks}
        return [Standing(key, owner, level, level.of(math.fsum(joined.values())))]

    found: list[Standing] = []
    for draw in scenario.draw:
        for level, keeps in cuts(draw):
            found += of("steps" if keeps else "stops_below", draw.name, level, draw.from_tanks or home)
    for backup in scenario.backup:
        if isinstance(backup, Refill):
            into = [backup.into or scenario.tank[0].name]
            found += of("starts_below", backup.name, backup.starts_below, into)
            found += of("fills_to", backup.name, backup.fills_to, into)
    for pump in scenario.transfer:
        found += of("starts_below", pump.name, pump.starts_below, [pump.to_tank])
    return found


def moving(now: Scenario, changed: Sequence[tuple[str, Scenario]], system: System) -> list[str]:
    """Say which levels given as a share mean other amounts of water once the tanks change.

    Parameters
    ----------
    now : Scenario
        The present.
    changed : sequence of (str, Scenario)
        What it is held against, by name.
    system : str
        "us" or "metric".

    Returns
    -------
    list of str
        A sentence without its full stop; none where no level moves.
    """
    before = {(s.key, s.owner, s.level): s for s in standing(now) if s.level.share}
    moved: dict[tuple[str, str, Level], list[tuple[str, float]]] = {}
    for name, scenario in changed:
        for then in standing(scenario):
            key = (then.key, then.owner, then.level)
            if key in before and abs(then.volume - before[key].volume) > LEAST_MOVED * before[key].volume:
                moved.setdefault(key, []).append((name, then.volume))
    if not moved:
        return []
    first = max(moved, key=lambda key: max(abs(v - before[key].volume) for _, v in moved[key]))
    name, volume = max(moved[first], key=lambda each: abs(each[1] - before[first].volume))
    was = show(before[first].volume, "bulk", system, 2)
    unit = "gallons" if system == "us" else "litres"
    return [
        f"a level given as a share moves with the tanks: {_key(first)} means {was} now and"
        f" {show(volume, 'bulk', system, 2)} with \u201c{words.plain(name)}\u201d{_more(moved, first)};"
        f" to compare tanks, give it in {unit}, such as {first[0] if first[0] != 'steps' else 'below'}"
        f' = "{show(before[first].volume, "volume", system, 2)}"'
    ]


def _key(key: tuple[str, str, Level]) -> str:
    what, owner, level = key
    share = f"{100 * (level.share or 0.0):.3g} %"
    return f'{what if what != "steps" else "the saving step below"} = "{share}" of {words.plain(owner)}'


def _more(moved: dict[tuple[str, str, Level], list[tuple[str, float]]], first: tuple[str, str, Level]) -> str:
    """The other levels that move, by the keys of the file."""
    rest = [f"{key} of {words.plain(owner)}" for key, owner, _ in moved if (key, owner) != first[:2]]
    if not rest:
        return ""
    named = rest[:MOST_NAMED]
    more = f" and {words.count(len(rest) - len(named), 'more level')}" if len(rest) > len(named) else ""
    return f" ({', '.join(named)}{more} move likewise)"


def wider_instead(base: ScenarioFile, change: tuple[str, Any]) -> str:
    """Say what to vary where a larger linked tank gives no more, as all of them spill at the lowest overflow.

    Parameters
    ----------
    base : ScenarioFile
        The present.
    change : (str, object)
        Path and value that give no more.

    Returns
    -------
    str
        Two sentences; empty where the path is of no linked tank.
    """
    path = split(base.scenario, change[0])
    linked = {name for link in base.scenario.link for name in link.tanks}
    if path[0] != "tank" or path[1] not in linked:
        return ""
    scenario = base.vary([change]).scenario
    tanks = scenario.tank
    lowest = tanks[lowest_of(scenario, path[1])]
    said = f"linked tanks spill at the lowest overflow, that of '{lowest.name}'."
    tank = next(each for each in tanks if each.name == path[1])
    if lowest is tank or tank.levels or path[2:] != ["overflow"]:
        return f"{said} Vary the size of another of them, or add a tank."
    wider = "capacity" if tank.capacity is not None else "diameter"
    return f"{said} Vary tank.{tank.name}.{wider} instead: a wider tank holds more below it."


def lowest_of(scenario: Scenario, tank: str) -> int:
    """Position of the tank over whose lip the tanks joined with this one spill."""
    place = next(t for t, each in enumerate(scenario.tank) if each.name == tank)
    return next(joined.spills_from for joined in groups_of(scenario) if place in joined.tanks)
