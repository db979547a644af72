"""How big a tank is: the lip, the capacity and what lies below the outlet, from what the owner measured."""

from __future__ import annotations

import math
from collections.abc import Iterator
from itertools import pairwise

from holdwater.scenario.schema import Tank
from holdwater.units import System, show

WITHIN = 0.01  # three measures of a cylinder may disagree by this share


def size_of(tank: Tank) -> tuple[float, float]:
    """Height of the overflow lip [mm] and capacity [L] of a tank whose shape is without fault."""
    if tank.levels:
        lip = tank.overflow if tank.overflow is not None else tank.levels[-1].level
        return lip, _volume_at(lip, tank)
    floor = math.pi * (tank.diameter / 2000) ** 2 if tank.diameter else 0.0
    if tank.capacity is None:
        return tank.overflow or 0.0, (tank.overflow or 0.0) * floor
    return (tank.capacity / floor if floor else tank.overflow or 0.0), tank.capacity


def drawable(tank: Tank) -> float:
    """Volume between outlet and overflow lip of a tank whose shape is without fault. [L]"""
    lip, capacity = size_of(tank)
    return capacity - (_volume_at(tank.outlet, tank) if tank.levels else capacity * tank.outlet / lip)


def volume_at(level: float, tank: Tank) -> float:
    """Water in a tank whose shape is without fault when it stands so high above its base, up to the lip [L].

    Parameters
    ----------
    level : float
        Height of the water above the tank's own base [mm].
    """
    lip, capacity = size_of(tank)
    level = min(max(level, 0.0), lip)
    return _volume_at(level, tank) if tank.levels else capacity * level / lip


def surface_of(tank: Tank) -> float:
    """Water surface at the lip of a tank whose shape is without fault [m2]."""
    lip, capacity = size_of(tank)
    below = max((row.level for row in tank.levels or [] if row.level < lip), default=0.0)
    return (capacity - volume_at(below, tank)) / (lip - below)


def _volume_at(level: float, tank: Tank) -> float:
    for low, high in pairwise(tank.levels or []):
        if level <= high.level:
            return low.volume + (high.volume - low.volume) * (level - low.level) / (high.level - low.level)
    return tank.levels[-1].volume if tank.levels else 0.0


def shape_faults(tank: Tank, system: System) -> list[str]:
    """Faults of a tank's shape; `size_of` and `drawable` hold only when there is none."""
    where = f"tank '{tank.name}'"
    faults = list(_table(tank, where) if tank.levels is not None else _cylinder(tank, where, system))
    if faults:
        return faults
    lip, _ = size_of(tank)
    if tank.outlet >= lip:
        outlet, top = show(tank.outlet, "height", system), show(lip, "height", system)
        faults.append(f"{where}: outlet = {outlet} must be lower than the overflow lip at {top}")
    return faults


def _cylinder(tank: Tank, where: str, system: System) -> Iterator[str]:
    given = {"capacity": tank.capacity, "diameter": tank.diameter, "overflow": tank.overflow}
    nothing = [key for key, value in given.items() if value == 0]
    if nothing:
        yield f"{where}: {nothing[0]} must be more than nothing"
        return
    present = [key for key, value in given.items() if value is not None]
    if len(present) < 2:
        has = f"only {present[0]} is given" if present else "nothing says how big it is"
        yield f"{where}: {has}; give two of capacity, diameter and overflow (height of the lip), or levels"
    if tank.capacity is not None and tank.diameter is not None and tank.overflow is not None:
        made = math.pi * (tank.diameter / 2000) ** 2 * tank.overflow
        if abs(made / tank.capacity - 1) > WITHIN:
            yield (
                f"{where}: capacity = {show(tank.capacity, 'volume', system)}, but diameter and overflow make"
                f" {show(made, 'volume', system)}; drop one of the three"
            )


def _table(tank: Tank, where: str) -> Iterator[str]:
    rows = tank.levels or []
    for key in ("capacity", "diameter"):
        if getattr(tank, key) is not None:
            yield f"{where}: levels already says how big it is; drop {key}"
    if len(rows) < 2:
        yield f"{where}: levels needs at least two entries, the floor and the lip"
        return
    if rows[0].level != 0 or rows[0].volume != 0:
        yield f'{where}: levels must start at the floor: {{ level = "0 in", volume = "0 gal" }}'
    if any(two.level <= one.level for one, two in pairwise(rows)):
        yield f"{where}: levels: each level must be higher than the one before"
    elif tank.overflow is not None and not 0 < tank.overflow <= rows[-1].level:
        yield f"{where}: overflow must be within levels: above the floor, not above the last entry"
    if any(two.volume < one.volume for one, two in pairwise(rows)):
        yield f"{where}: levels: a higher level cannot hold less"
    elif rows[-1].volume == 0:
        yield f"{where}: levels: the tank holds nothing; the last volume must be more than 0"
