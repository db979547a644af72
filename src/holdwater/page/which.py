"""Which quantities of a holding have a dial, in the order the water takes; the finer ones after the others."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from typing import Any

from holdwater import units
from holdwater.demand import per_person
from holdwater.holding import flush_volume
from holdwater.page.dials import Dial, number, quantity, rounded, share, step_of
from holdwater.scenario import tables
from holdwater.scenario.schema import (
    Direct,
    Draw,
    Fixed,
    Garden,
    Household,
    Livestock,
    Refill,
    Scenario,
    Tank,
)
from holdwater.scenario.variants import Change
from holdwater.tanks import vessel
from holdwater.units import Level, System

MOST_PEOPLE, MOST_HEAD, MOST_LEAD = 8.0, 20.0, 30.0
MOST_LEAK, MOST_RESERVE = 80.0, 4000.0
"""Upper ends of sliders of what the file has none of [L/day, L]."""
FACTOR_MOST = 3.0
DEEPEST = 1e5
"""A pad stands at most so much below the common mark [shown unit]."""


def dials(scenario: Scenario, system: System) -> list[Dial]:
    """The dials of a holding.

    Parameters
    ----------
    scenario : Scenario
        Checked holding.
    system : str
        "us" or "metric".
    """
    found = [
        *_roofs(scenario, system),
        *_flushes(scenario, system),
        *_tanks(scenario, system),
        *_pumps(scenario, system),
        *_draws(scenario, system),
        *_reserve(scenario, system),
        *_backups(scenario, system),
        *_start(scenario),
    ]
    return sorted(found, key=lambda dial: dial.fine)


def without_dials(scenario: Scenario) -> list[str]:
    """Parts that no dial can turn, because no path can carry their names."""
    named = [("roof", scenario.roof), ("tank", scenario.tank), ("draw", scenario.draw)]
    parts = [(kind, part.name) for kind, held in named for part in held]  # type: ignore[attr-defined]
    return [
        f"{kind} {name}: a name with both kinds of quotation marks has no dials; rename it in the file"
        for kind, name in parts
        if step_of(name) is None
    ]


def _whose(name: str, part: str) -> str:
    return name if part in name.lower() else f"{name} {part}"


def _roofs(scenario: Scenario, system: System) -> Iterator[Dial]:
    for roof in scenario.roof:
        step, group, whose = step_of(roof.name), "Roofs", _whose(roof.name, "roof")
        if step is None:
            continue
        at = f"roof.{step}"
        yield quantity(f"{at}.area", group, f"{whose}, area", roof.area, "area", system, buys="size")
        said: tuple[Change, ...] = ((f"{at}-", "surface"),) if roof.surface is not None else ()
        caught = tables.runoff_coefficient(roof)
        fine: dict[str, Any] = {"fine": True, "buys": "works"}
        yield share(f"{at}.runoff_coefficient", group, f"{whose}, runoff", caught, with_it=said, **fine)
        passes = roof.filter_efficiency
        yield share(f"{at}.filter_efficiency", group, f"{whose}, share past the filter", passes, **fine)
        if roof.wetting_loss > 0.0:
            wets = roof.wetting_loss
            yield quantity(
                f"{at}.wetting_loss", group, f"{whose}, wetting loss", wets, "depth", system, fine=True
            )


def _flushes(scenario: Scenario, system: System) -> Iterator[Dial]:
    for roof in scenario.roof:
        step, group = step_of(roof.name), "First flush"
        if step is None:
            continue
        flush, label = roof.first_flush, f"{_whose(roof.name, 'roof')}, first flush"
        at = f"roof.{step}.first_flush"
        if flush is not None and not flush.volume and flush.depth:  # it stays a depth on a roof of any size
            yield quantity(f"{at}.depth", group, label, flush.depth, "depth", system, buys="works")
        else:
            said: tuple[Change, ...] = ()
            if flush is not None and flush.depth is not None:  # a depth of 0: the volume is said in its place
                said = ((f"{at}-", "depth"),)
            held = flush_volume(roof)
            yield quantity(f"{at}.volume", group, label, held, "volume", system, buys="works", with_it=said)
        if flush is not None and flush_volume(roof) > 0.0:
            about: dict[str, Any] = {"least": 0.01, "never_nothing": True, "fine": True, "buys": "works"}
            drained = quantity(
                f"{at}.drains_in", group, f"{label}, drains in", flush.drains_in, "duration", system, **about
            )
            yield drained


def _tanks(scenario: Scenario, system: System) -> Iterator[Dial]:
    for tank in scenario.tank:
        step = step_of(tank.name)
        if step is not None:
            whose = _whose(tank.name, "tank")
            linked = any(tank.name in link.tanks for link in scenario.link)
            yield _capacity(tank, f"tank.{step}", f"{whose}, capacity", linked, system)
            yield from _fittings(tank, f"tank.{step}", whose, linked, system)


def _fittings(tank: Tank, at: str, whose: str, linked: bool, system: System) -> Iterator[Dial]:
    """Finer dials of a tank: heights and losses."""
    group, works = "Tanks", {"fine": True, "buys": "works"}
    per_mm, _ = units.scale("height", system)
    low: dict[str, Any] = {"most": rounded(vessel(tank).lip * per_mm), **works}
    yield quantity(f"{at}.outlet", group, f"{whose}, outlet height", tank.outlet, "height", system, **low)
    if linked:
        pad: dict[str, Any] = {"least": -DEEPEST, **works}
        yield quantity(f"{at}.base", group, f"{whose}, height of its pad", tank.base, "base", system, **pad)
    drip: dict[str, Any] = {"up_to": MOST_LEAK, **works}
    yield quantity(f"{at}.leak", group, f"{whose}, leak", tank.leak, "flow", system, **drip)
    if tank.evaporation_factor > 0.0:
        label, factor = f"{whose}, evaporation factor", rounded(tank.evaporation_factor)
        ends: dict[str, Any] = {"low": 0.0, "high": FACTOR_MOST, "step": 0.05, "most": FACTOR_MOST}
        yield Dial(f"{at}.evaporation_factor", group, label, "", factor, bare=True, fine=True, **ends)


def _capacity(tank: Tank, at: str, label: str, linked: bool, system: System) -> Dial:
    """Dial of a tank's capacity: a table of levels is scaled; a linked tank stays as high as it is.

    The water of linked tanks never stands higher than the lowest lip of them, so one that grew
    in height would hold no more.
    """
    shape = vessel(tank)
    about: dict[str, Any] = {"buys": "size", "never_nothing": True}
    if tank.levels is not None:
        factor, _ = units.scale("volume", system)
        rows: dict[str, Any] = {
            "levels": tuple(row.level for row in tank.levels),
            "parts": tuple(row.volume * factor for row in tank.levels),
        }
        note = "Given by a table of levels: its volumes turn together, at the same heights."
        dial = quantity(
            f"{at}.levels", "Tanks", label, shape.capacity, "volume", system, note=note, **about, **rows
        )
        return _exact(dial, shape.capacity * factor)
    said: list[Change] = []
    note = ""
    if linked and tank.diameter is not None:
        held = [] if tank.overflow is not None else [(f"{at}.overflow", f"{shape.lip!r} mm")]
        said, note = (
            [*held, (f"{at}-", "diameter")],
            "Linked, so it stays as high as it is and changes in width.",
        )
    elif tank.diameter is not None and tank.overflow is not None:
        said = [(f"{at}-", "overflow")]
    return quantity(
        f"{at}.capacity",
        "Tanks",
        label,
        shape.capacity,
        "volume",
        system,
        note=note,
        with_it=tuple(said),
        **about,
    )


def _exact(dial: Dial, whole: float) -> Dial:
    """A dial that scales a table, its parts in proportion to the rounded value it shows."""
    return replace(dial, parts=tuple(part * dial.value / whole for part in dial.parts))


def _pumps(scenario: Scenario, system: System) -> Iterator[Dial]:
    for pump in scenario.transfer:
        step, group, whose = step_of(pump.name), "Pumps between tanks", _whose(pump.name, "pump")
        if step is not None:
            at = f"transfer.{step}"
            about: dict[str, Any] = {"never_nothing": True, "buys": "works"}
            yield quantity(f"{at}.per_day", group, f"{whose}, per day", pump.per_day, "flow", system, **about)
            yield _level(f"{at}.starts_below", group, f"{whose}, starts below", pump.starts_below, system)


def _level(path: str, group: str, label: str, level: Level | None, system: System) -> Dial:
    """A level as the file gives it: a share of what can be drawn when full, or a volume."""
    if level is not None and level.share is None:
        return quantity(path, group, label, level.volume or 0.0, "volume", system, fine=True)
    return share(path, group, label, 0.0 if level is None else level.share or 0.0, fine=True)


def _draws(scenario: Scenario, system: System) -> Iterator[Dial]:
    for draw in scenario.draw:
        step = step_of(draw.name)
        if step is not None:
            at = f"draw.{step}"
            yield from _amounts(draw, at, system)
            if not (isinstance(draw, Garden) and draw.rain_fed):
                yield _level(
                    f"{at}.stops_below", "Draws", f"{draw.name}, stops below", draw.stops_below, system
                )


def _amounts(draw: Draw, at: str, system: System) -> Iterator[Dial]:
    group = "Draws"
    if isinstance(draw, Household):
        yield from _household(draw, at, system)
    elif isinstance(draw, Livestock):
        for kind, head in draw.animals.items():
            step = step_of(kind)
            if step is not None:
                yield number(f"{at}.animals.{step}", group, f"{draw.name}: {kind}", head, MOST_HEAD, "head")
    elif isinstance(draw, Garden):
        yield quantity(f"{at}.area", group, f"{draw.name}, bed area", draw.area, "area", system)
        yield share(f"{at}.mulch", group, f"{draw.name}, soil under mulch", draw.mulch, fine=True)
    elif isinstance(draw, Fixed) and draw.per_day is not None:
        yield quantity(f"{at}.per_day", group, f"{draw.name}, per day", draw.per_day, "flow", system)
    elif isinstance(draw, Fixed) and draw.monthly is not None and any(draw.monthly):
        yield _monthly(draw.name, at, draw.monthly, system)


def _household(draw: Household, at: str, system: System) -> Iterator[Dial]:
    """People and what one uses; where the file gives the fixtures of the whole house, people count for nothing."""
    label, uses = f"{draw.name}, per person", per_person(draw)
    if draw.fixtures is None:
        yield number(f"{at}.people", "Draws", f"{draw.name}, people", draw.people, MOST_PEOPLE)
        yield quantity(f"{at}.per_person", "Draws", label, uses, "flow", system)
    else:
        said: tuple[Change, ...] = ((f"{at}-", "fixtures"),)
        note = "The file gives the fixtures of the house; turned, this takes their place."
        yield quantity(f"{at}.per_person", "Draws", label, uses, "flow", system, with_it=said, note=note)


def _monthly(name: str, at: str, months: list[float], system: System) -> Dial:
    factor, _ = units.scale("flow", system)
    mean = sum(months) / len(months)
    parts = tuple(amount * factor for amount in months)
    note = "The twelve months of the file turn together."
    label = f"{name}, per day (mean of the months)"
    dial = quantity(f"{at}.monthly", "Draws", label, mean, "flow", system, parts=parts, note=note)
    return _exact(dial, mean * factor)


def _reserve(scenario: Scenario, system: System) -> Iterator[Dial]:
    kept = scenario.reserve.volume if scenario.reserve else 0.0
    yield quantity(
        "reserve.volume", "Reserve and backup", "reserve", kept, "volume", system, up_to=MOST_RESERVE
    )


def _backups(scenario: Scenario, system: System) -> Iterator[Dial]:
    group = "Reserve and backup"
    for backup in scenario.backup:
        step, name = step_of(backup.name), backup.name
        if step is None:
            continue
        at = f"backup.{step}"
        if isinstance(backup, Refill):
            yield _level(f"{at}.starts_below", group, f"{name}, called below", backup.starts_below, system)
            if backup.fills_to is not None:
                yield _level(f"{at}.fills_to", group, f"{name}, fills to", backup.fills_to, system)
            if backup.load is not None:
                about: dict[str, Any] = {"never_nothing": True, "fine": True}
                yield quantity(
                    f"{at}.load", group, f"{name}, one load", backup.load, "volume", system, **about
                )
            lead: dict[str, Any] = {"fine": True, "most": 60.0}
            yield number(
                f"{at}.lead_days", group, f"{name}, comes after", backup.lead_days, MOST_LEAD, "days", **lead
            )
            if backup.cost_per_load is not None:
                dear = backup.cost_per_load
                yield number(f"{at}.cost_per_load", group, f"{name}, price", dear, 1.0, "per load", fine=True)
        if backup.per_day is not None:
            yield quantity(
                f"{at}.per_day", group, f"{name}, most in a day", backup.per_day, "flow", system, fine=True
            )
        if backup.cost_per_volume is not None and (
            backup.cost_per_volume > 0.0 or isinstance(backup, Direct)
        ):
            dear = backup.cost_per_volume
            yield quantity(f"{at}.cost_per_volume", group, f"{name}, price", dear, "price", system, fine=True)


def _start(scenario: Scenario) -> Iterator[Dial]:
    start = scenario.run.start_full
    if not isinstance(start, dict):
        yield share(
            "run.start_full", "First morning", "tanks full on the first morning", start, bare=True, fine=True
        )
        return
    for name, full in start.items():
        step = step_of(name)
        if step is not None:
            label = f"{_whose(name, 'tank')}, full on the first morning"
            yield share(f"run.start_full.{step}", "First morning", label, full, bare=True, fine=True)
