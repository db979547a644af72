"""What could be bought or changed: the variants of the file, and one more unit of what the holding has."""

from __future__ import annotations

import copy
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import Any

from holdwater.errors import InputError
from holdwater.scenario import ScenarioFile, variant_names
from holdwater.scenario.schema import Garden, Household, Roof, Scenario, Tank
from holdwater.scenario.variants import variant_changes
from holdwater.tanks import vessel

MORE, LESS = 1.1, 0.9
"""A tenth more, a tenth less."""
Change = tuple[str, Any]


@dataclass(frozen=True)
class Offer:
    """Something that could be bought or changed.

    Attributes
    ----------
    name : str
        What it is called.
    file : ScenarioFile
        The scenario with it.
    cost : float or None
        Its price in the scenario's currency; None where none is known.
    priced_by : str
        Where the price is from.
    """

    name: str
    file: ScenarioFile
    cost: float | None
    priced_by: str


def offered(base: ScenarioFile) -> tuple[list[Offer], list[str]]:
    """Every variant of the file and one more unit of what the holding has; and what cannot be offered, and why."""
    offers: list[Offer] = []
    left_out: list[str] = []
    variants = base.raw.get("variant", {})
    for name, changes, price in [*_variants(base), *_one_more(base.scenario, base.raw)]:
        try:
            file = base.vary(changes())
        except InputError as fault:
            left_out += [f"{name}: {said}" for said in fault.faults]
            continue
        if not _same_weather(base.scenario, file.scenario):
            left_out.append(f"{name}: it changes the weather or the days of the run, not the holding")
            continue
        cost = price if price is not None else cost_of(base.scenario, file.scenario, variants.get(name))
        offers.append(Offer(name, file, cost, "the file" if cost is not None else ""))
    return offers, left_out


Made = tuple[str, Callable[[], Sequence[Change]], float | None]


def _variants(base: ScenarioFile) -> list[Made]:
    return [(name, _changes(base, name), None) for name in variant_names(base)]


def _changes(base: ScenarioFile, name: str) -> Callable[[], Sequence[Change]]:
    return lambda: variant_changes(base.raw, name)


def _one_more(scenario: Scenario, raw: dict[str, Any]) -> list[Made]:
    """One more unit of what the holding has."""
    made: list[Made] = []
    tank = max(scenario.tank, key=lambda each: vessel(each).capacity)
    made.append((f"one more tank like {tank.name}", lambda: _another(scenario, raw, tank), tank.cost))
    for roof in scenario.roof:
        area = f"{roof.area * MORE!r} m2"
        price = None if roof.cost is None else round(roof.cost * (MORE - 1.0), 2)
        called = roof.name if roof.name.lower().endswith("roof") else f"{roof.name} roof"
        made.append((f"10 % more {called}", _only(f"roof.{quote(roof.name)}.area", area), price))
    for draw in scenario.draw:
        path = f"draw.{quote(draw.name)}"
        if isinstance(draw, Household):
            made.append((f"10 % less per person ({draw.name})", _only(*_less(draw, path)), None))
        elif isinstance(draw, Garden) and draw.method != "drip" and not draw.rain_fed:
            drop = [(f"{path}-", "efficiency")] if draw.efficiency is not None else []
            made.append((f"drip lines for {draw.name}", _all([*drop, (f"{path}.method", "drip")]), None))
    flushed = [roof for roof in scenario.roof if roof.first_flush is not None]
    if flushed:
        drops = [(f"roof.{quote(roof.name)}-", "first_flush") for roof in flushed]
        made.append(("no first flush", _all(drops), None))
    return made


def _only(path: str, value: object) -> Callable[[], Sequence[Change]]:
    return lambda: [(path, value)]


def _all(changes: Sequence[Change]) -> Callable[[], Sequence[Change]]:
    return lambda: changes


def _less(draw: Household, path: str) -> Change:
    """Path and value of a tenth less use in a household."""
    if draw.per_person is not None:
        return f"{path}.per_person", f"{draw.per_person * LESS!r} L/day"
    return f"{path}.fixtures", {name: multiple * LESS for name, multiple in (draw.fixtures or {}).items()}


def _another(scenario: Scenario, raw: dict[str, Any], tank: Tank) -> list[Change]:
    """A second tank like one there is, joined to it at the bottom."""
    table = next(each for each in raw["tank"] if str(each.get("name", "")).strip() == tank.name)
    names = {each.name for each in scenario.tank}
    name = next(n for i in range(2, 100) if (n := f"{tank.name} {i}") not in names)
    new = copy.deepcopy(table) | {"name": name}
    linked = any(tank.name in link.tanks for link in scenario.link)
    join = (f"link.{quote(tank.name)}.tanks+", name) if linked else ("link+", {"tanks": [tank.name, name]})
    return [("tank+", new), join]


def quote(name: str) -> str:
    """Write a name as one step of a path."""
    return f"'{name}'" if '"' in name else f'"{name}"'


def _same_weather(one: Scenario, other: Scenario) -> bool:
    days = [(s.run.from_, s.run.to, s.run.year_starts) for s in (one, other)]
    return days[0] == days[1] and all(
        getattr(one, part) == getattr(other, part) for part in ("weather", "place", "snow")
    )


# ------------------------------------------------------------------------------------------- costs


def cost_of(before: Scenario, after: Scenario, variant: object = None) -> float | None:
    """What a change costs: the `cost` of the variant itself, else that of its roofs and tanks.

    None where a larger or new roof or tank has no price, or nothing has.
    """
    own = variant.get("cost") if isinstance(variant, dict) else None
    if isinstance(own, int | float) and not isinstance(own, bool):
        return float(own)
    total, priced, unpriced = 0.0, False, False
    for old, new in (*_pairs(before.roof, after.roof), *_pairs(before.tank, after.tank)):
        dearer = (new.cost or 0.0) - (old.cost or 0.0 if old is not None else 0.0)
        total += dearer
        priced = priced or dearer != 0.0
        unpriced = unpriced or (dearer == 0.0 and (old is None or _larger(old, new)))
    return total if priced and not unpriced else None


def _pairs(before: Sequence[Any], after: Sequence[Any]) -> list[tuple[Any, Any]]:
    known = {part.name: part for part in before}
    return [(known.get(part.name), part) for part in after]


def _larger(old: Roof | Tank, new: Roof | Tank) -> bool:
    if isinstance(old, Roof) and isinstance(new, Roof):
        return new.area > old.area
    if isinstance(old, Tank) and isinstance(new, Tank):
        return vessel(new).capacity > vessel(old).capacity
    return False
