"""What the owner reads off the tanks today, as water above the outlets."""

from __future__ import annotations

import math
import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from holdwater.errors import InputError
from holdwater.holding import Holding
from holdwater.phases import holds
from holdwater.scenario.schema import Scenario
from holdwater.tanks import Group, Vessel
from holdwater.units import Level, System, quoted, read, show

SURFACES_DIFFER = 25.0
"""Heights of one surface read in two tanks may differ by this much [mm]."""


@dataclass(frozen=True)
class Held:
    """Water in the tanks as the owner says it.

    Attributes
    ----------
    together : Level or None
        Above the outlets of all tanks together.
    volumes : dict of str to Level
        Above the outlet of each tank named.
    heights : dict of str to float
        Of the water above the floor of each tank named [mm].
    """

    together: Level | None
    volumes: dict[str, Level]
    heights: dict[str, float]


def read_held(texts: Sequence[str], scenario: Scenario) -> Held:
    """Read what the tanks hold.

    Parameters
    ----------
    texts : sequence of str
        One amount for all tanks, "1200 gal" or "40 %", above the outlets; or one for each tank by
        its name, "upper=800 gal" above its outlet, "upper=31 in" of water above its floor; several
        in one text with commas, "upper=31 in, lower=29 in". With one tank a height needs no name.
    scenario : Scenario
        Knows the tanks.

    Raises
    ------
    InputError
        Nothing given, an unknown tank, amounts for all and for one mixed, or an amount that cannot be read.
    """
    names = [tank.name for tank in scenario.tank]
    parts = [part for text in texts for part in _parts(text, names)]
    named = [part.rpartition("=") for part in parts if "=" in part]
    if not parts or (named and len(named) < len(parts)) or (not named and len(parts) > 1):
        raise InputError(
            'say what the tanks hold: one amount for all, "1200 gal" or "40 %", or one for each tank by name,'
            f" {_each(names, '800 gal')} above the outlet or {_each(names, '31 in')} of water"
        )
    if not named:
        return _of_all(parts[0], names)
    faults: list[str] = []
    volumes: dict[str, Level] = {}
    heights: dict[str, float] = {}
    for name, _, amount in ((name.strip(), sign, amount.strip()) for name, sign, amount in named):
        if name not in names:
            faults.append(f"there is no tank {quoted(name)}; the tanks are {', '.join(names)}")
        elif name in volumes or name in heights:
            faults.append(f"tank '{name}' is given twice; give it once")
        else:
            faults += _take(name, amount, volumes, heights)
    if faults:
        raise InputError(faults)
    return Held(None, volumes, heights)


def _parts(text: str, names: Sequence[str]) -> list[str]:
    """Amounts of several tanks written in one: "upper=31 in, lower=29 in"; the comma in "1,200 gal" parts nothing."""
    if any(set(name) & set(",;") for name in names):
        after = "(?:" + "|".join(re.escape(name) for name in names) + r")\s*="
    else:
        after = "[^,;=]+="
    return [part.strip() for part in re.split(rf"[,;]\s*(?={after})", text)]


def _each(names: Sequence[str], amount: str) -> str:
    """What to write for every tank: "upper=31 in, lower=31 in"."""
    return '"' + ", ".join(f"{name}={amount}" for name in names) + '"'


def _of_all(amount: str, names: Sequence[str]) -> Held:
    """One amount for all tanks; a height of water where there is one tank.

    Raises
    ------
    InputError
        A height that may be in any of several tanks, or no amount.
    """
    try:
        return Held(read(amount, "level"), {}, {})
    except InputError:
        try:
            height = read(amount, "height")
        except InputError:
            height = None
        if height is None:
            raise
    if len(names) == 1:
        return Held(None, {}, {names[0]: height})
    raise InputError(
        f"{quoted(amount)} is a height of water: say in which tank, {_each(names, amount.strip())};"
        " of tanks that are linked one will do"
    )


def _take(name: str, amount: str, volumes: dict[str, Level], heights: dict[str, float]) -> list[str]:
    """Read one tank's amount as a height where it is a length, else as a level; return the fault found."""
    try:
        heights[name] = read(amount, "height")
    except InputError:
        try:
            volumes[name] = read(amount, "level")
        except InputError as fault:
            return [f"tank '{name}': {said}" for said in fault.faults]
    return []


def drawable(held: Held, holding: Holding, system: System) -> list[float]:
    """Water above the outlets of every group of tanks on the first day of a run [L].

    Tanks joined by an open link share one surface, so one height tells the water in all of them; a
    volume of one of them is the volume in that tank alone.

    Parameters
    ----------
    held : Held
        What the owner says.
    holding : Holding
        Built for a run that starts that day.
    system : str
        Units of what a message says.

    Raises
    ------
    InputError
        A tank is not told of, two heights of linked tanks contradict each other, or more is held
        than the tanks can give.
    """
    groups = holding.phases[0].groups
    if held.together is not None:
        room = math.fsum(joined.capacity for joined in groups)
        volume = held.together.of(room)
        _check_room(volume, room, "the tanks together", system)
        return [volume * joined.capacity / room for joined in groups]
    return [_of_group(held, joined, holding.vessels, system) for joined in groups]


def _of_group(held: Held, joined: Group, vessels: Sequence[Vessel], system: System) -> float:
    """Water above the outlets of one group [L]."""
    names = [vessels[t].name for t in joined.tanks]
    measured = {name: held.heights[name] for name in names if name in held.heights}
    told = {name: held.volumes[name] for name in names if name in held.volumes}
    if measured and told:
        raise InputError(
            f"the tanks {', '.join(names)} are linked: give heights of water or volumes, not both"
        )
    if measured:
        return _by_height(measured, joined, vessels, system)
    unknown = [name for name in names if name not in told]
    if unknown:
        linked = f", linked with {', '.join(n for n in names if n not in unknown)}," if told else ""
        raise InputError(
            f"say what tank '{unknown[0]}'{linked} holds too: \"{unknown[0]}=... gal\""
            + (", or give the height of water in one of them" if told else "")
        )
    total = 0.0
    for t in joined.tanks:
        room = holds(joined, t)
        volume = told[vessels[t].name].of(room)
        _check_room(volume, room, f"tank '{vessels[t].name}'", system)
        total += volume
    return min(total, joined.capacity)


def _by_height(
    measured: Mapping[str, float], joined: Group, vessels: Sequence[Vessel], system: System
) -> float:
    """Volume of a group whose common surface was measured in one of its tanks or more [L]."""
    of_name = {vessels[t].name: vessels[t] for t in joined.tanks}
    surfaces = {name: of_name[name].base + height for name, height in measured.items()}
    lowest, highest = min(surfaces.values()), max(surfaces.values())
    if highest - lowest > SURFACES_DIFFER:
        raise InputError(
            f"the tanks {', '.join(measured)} are linked and share one surface, but the heights given differ by"
            f" {show(highest - lowest, 'height', system)} once the heights of the pads are counted;"
            " read them again, or give one"
        )
    surface = math.fsum(surfaces.values()) / len(surfaces)
    lip = vessels[joined.spills_from].base + vessels[joined.spills_from].lip
    if surface > lip + 1.0:
        raise InputError(
            f"tank '{next(iter(measured))}': the water cannot stand {show(surface - lip, 'height', system)}"
            " above the lowest overflow; read the height again"
        )
    return standing(joined, vessels, surface)


def standing(joined: Group, vessels: Sequence[Vessel], surface: float) -> float:
    """Water above the outlets of a group whose surface stands at a height above the datum [mm -> L]."""
    lip = vessels[joined.spills_from].base + vessels[joined.spills_from].lip
    surface = min(surface, lip)
    return math.fsum(
        vessels[t].volume_at(max(surface - vessels[t].base, vessels[t].outlet)) - vessels[t].dead
        for t in joined.tanks
    )


def _check_room(volume: float, room: float, what: str, system: System) -> None:
    if volume > room * (1.0 + 1e-9):
        raise InputError(
            f"{what}: found {show(volume, 'volume', system)} above the outlets, but there is room for"
            f' {show(room, "volume", system)}; give the water above the outlets only, or a share such as "40 %"'
        )
