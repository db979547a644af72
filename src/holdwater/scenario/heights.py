"""A tank of another capacity stands as high as before: its diameter follows.

A bigger tank that one buys beside another is wider, not taller, and only so does a what-if about linked tanks
compare like with like: their lips stay where they are.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping, Sequence
from typing import Any

from holdwater import units
from holdwater.errors import InputError
from holdwater.scenario.paths import shown_step
from holdwater.units import System, show

SAME = 1e-9
"""Share by which two measures may differ by rounding."""
KEEPS_HEIGHT = "a tank whose capacity is turned keeps its height; its diameter follows"
KEEPS_VOLUME = "a tank whose diameter is turned keeps its capacity; its height follows"


class _Untouched(str):
    """A diameter that no change has set yet, with the capacity and the lip it was written beside."""

    capacity: object
    overflow: object


def mark(raw: dict[str, Any]) -> None:
    """Mark the diameter of every tank that gives capacity and diameter, before changes are applied."""
    for tank in _tanks(raw):
        if isinstance(tank.get("diameter"), str) and "capacity" in tank and "levels" not in tank:
            marked = _Untouched(tank["diameter"])
            marked.capacity, marked.overflow = tank["capacity"], tank.get("overflow")
            tank["diameter"] = marked


def follow(raw: dict[str, Any]) -> None:
    """Let the diameters still marked follow the capacities that were changed, and take the marks off."""
    for tank in _tanks(raw):
        diameter = tank.get("diameter")
        if isinstance(diameter, _Untouched):
            tank["diameter"] = _followed(tank, diameter)


def _followed(tank: Mapping[str, Any], diameter: _Untouched) -> str:
    """Diameter with which the tank holds its new capacity at its old height; as it was where it gives none."""
    as_it_was, lip = str(diameter), tank.get("overflow")
    old, new = _read(diameter.capacity, "volume"), _read(tank.get("capacity"), "volume")
    across = _read(as_it_was, "height")
    other_shape = "levels" in tank or lip not in (None, diameter.overflow)
    if other_shape or not old or not new or not across or old == new:
        return as_it_was
    return f"{across * math.sqrt(new / old)!r} mm"


def _read(text: object, kind: units.Kind) -> float | None:
    """A quantity of the file in its inside unit; None where it cannot be read, which is told with the other faults."""
    try:
        return units.read(text, kind)
    except InputError:
        return None


def told(before: Mapping[str, Any], after: Mapping[str, Any]) -> list[str]:
    """Say how wide or how high a what-if makes the tanks whose other measure it turns.

    Parameters
    ----------
    before, after : dict
        The scenario in the file's own words, without and with the what-if.

    Returns
    -------
    list of str
        One sentence for every tank of which capacity or diameter was turned and the other was not given.
    """
    system: System = "metric" if after.get("show_units") == "metric" else "us"
    return [said for one, two in _turned(before, after) if (said := _said(one, two, system))]


def in_general(before: Mapping[str, Any], after: Sequence[Mapping[str, Any]]) -> list[str]:
    """Say once for many what-ifs what becomes of a tank of which only capacity or diameter is turned.

    Parameters
    ----------
    before : dict
        The scenario in the file's own words.
    after : sequence of dict
        The same with each what-if.
    """
    pairs = [pair for each in after for pair in _turned(before, each)]
    kept = {
        KEEPS_HEIGHT: any(_as_high(one, two) for one, two in pairs),
        KEEPS_VOLUME: any(_as_big(one, two) for one, two in pairs),
    }
    return [said for said, holds in kept.items() if holds]


class _Cylinder:
    """A tank given by capacity and diameter."""

    def __init__(self, tank: Mapping[str, Any], capacity: float, diameter: float) -> None:
        self.name = str(tank["name"]).strip()
        self.capacity, self.diameter = capacity, diameter
        self.height = capacity / (math.pi * (diameter / 2000.0) ** 2)


def _turned(before: Mapping[str, Any], after: Mapping[str, Any]) -> Iterator[tuple[_Cylinder, _Cylinder]]:
    """Every tank given by capacity and diameter before and after, as it was and as it is."""
    known = {tank.name: tank for tank in _cylinders(before)}
    yield from ((known[tank.name], tank) for tank in _cylinders(after) if tank.name in known)


def _cylinders(raw: Mapping[str, Any]) -> Iterator[_Cylinder]:
    for tank in _tanks(raw):
        capacity, diameter = _read(tank.get("capacity"), "volume"), _read(tank.get("diameter"), "height")
        if isinstance(tank.get("name"), str) and "levels" not in tank and capacity and diameter:
            yield _Cylinder(tank, capacity, diameter)


def _as_high(one: _Cylinder, two: _Cylinder) -> bool:
    """Whether the capacity was turned and the diameter followed."""
    return not _alike(one.capacity, two.capacity) and _alike(one.height, two.height)


def _as_big(one: _Cylinder, two: _Cylinder) -> bool:
    """Whether the diameter was turned at the same capacity."""
    return not _alike(one.diameter, two.diameter) and _alike(one.capacity, two.capacity)


def _said(one: _Cylinder, two: _Cylinder, system: System) -> str:
    where, holds = f"tank '{two.name}'", show(two.capacity, "volume", system)
    across, path = show(two.diameter, "height", system), f"tank.{shown_step(two.name)}"
    if _as_high(one, two):
        return f"{where}: {holds} as high as now is {across} across; set {path}.diameter too if yours differs"
    if _as_big(one, two):
        high, was = (show(each.height, "height", system) for each in (two, one))
        return (
            f"{where}: {across} across it still holds {holds}, so its lip stands {high} high in place of {was};"
            f" set {path}.capacity too if yours differs"
        )
    return ""


def _alike(one: float, other: float) -> bool:
    return math.isclose(one, other, rel_tol=SAME)


def _tanks(raw: Mapping[str, Any]) -> Iterator[dict[str, Any]]:
    tanks = raw.get("tank")
    yield from (tank for tank in (tanks if isinstance(tanks, list) else []) if isinstance(tank, dict))
