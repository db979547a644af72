"""Whether the parts of a holding fit together: shares, shapes, links, overflows, dates."""

from __future__ import annotations

import datetime as dt
import math
from collections import Counter
from collections.abc import Iterable, Iterator, Sequence
from itertools import pairwise

from holdwater.scenario.faults import listed
from holdwater.scenario.parts import Parts
from holdwater.scenario.paths import shown_step
from holdwater.scenario.references import GROUND
from holdwater.scenario.schema import (
    Direct,
    DrawBase,
    Fixed,
    Garden,
    Guests,
    Household,
    Link,
    Livestock,
    MoreHead,
    Period,
    Refill,
    Reserve,
    Roof,
    Run,
    Snow,
    Tank,
    Transfer,
    Weather,
)
from holdwater.scenario.shapes import drawable, shape_faults
from holdwater.units import Level, System, show

SUM_WITHIN = 1e-6


def cross_checks(parts: Parts) -> list[str]:
    """Every fault between the parts of a holding.

    Parameters
    ----------
    parts : Parts
        What could be read; a part that could not be read still lends its name.

    Returns
    -------
    list of str
        One sentence per fault, by name.
    """
    tanks = parts.all_of("tank", Tank)
    return [
        *_names_given_once(parts),
        *_weather(parts),
        *_run(parts),
        *_snow(parts),
        *(fault for roof in parts.all_of("roof", Roof) for fault in _roof(roof, parts)),
        *(fault for tank in tanks for fault in _tank(tank, parts)),
        *_links(parts.all_of("link", Link), parts),
        *_overflow_loops(tanks, parts.all_of("link", Link)),
        *(fault for pump in parts.all_of("transfer", Transfer) for fault in _transfer(pump, parts)),
        *_draws(parts),
        *_reserve(parts),
        *_backups(parts),
    ]


def linked_with(name: str, links: Iterable[Link]) -> set[str]:
    """Names of the tanks joined with a tank at the bottom, itself included."""
    return {name}.union(*(link.tanks for link in links if name in link.tanks))


def units_of(parts: Parts) -> System:
    """Units in which a message shows what it computed."""
    return "metric" if parts.read.get("show_units") == "metric" else "us"


def _names_given_once(parts: Parts) -> Iterator[str]:
    for section, names in parts.names.items():
        for name, count in Counter(names).items():
            if count > 1:
                yield f"{count} {section}s are named '{name}'; every {section} needs a name of its own"
    if GROUND in parts.names["tank"]:
        yield f"tank '{GROUND}': this name is taken: it says that an overflow is lost; choose another"


def _weather(parts: Parts) -> Iterator[str]:
    weather = parts.one("weather", Weather)
    if weather is None:
        return
    if weather.near and (weather.file or weather.station):
        other = "file" if weather.file else "station"
        yield f"weather: near = true and {other} each name a record; drop one of the two"
    elif not (weather.file or weather.station or weather.near):
        yield 'weather: file is missing; write file = "weather.csv", station = "ID" or near = true'
    if weather.near and "place" not in parts.read:
        yield "weather: near = true needs to know where you are; add [place] with latitude and longitude"
    if weather.neighbour is not None and not (weather.neighbour.file or weather.neighbour.station):
        yield 'weather: neighbour: file is missing; write file = "weather.csv" or station = "ID"'
    if weather.diary is not None and not weather.diary.file:
        yield 'weather: diary: file is missing; write diary = "log.csv", your own readings'


def _run(parts: Parts) -> Iterator[str]:
    run = parts.one("run", Run)
    if run and run.from_ and run.to and run.from_ > run.to:
        yield f"run: from {run.from_} is after to {run.to}; swap them"


def _periods(periods: Sequence[Period], where: str, key: str) -> Iterator[str]:
    for period in periods:
        if period.from_ > period.to:
            yield f"{where}: {key}: from {period.from_} is after to {period.to}; swap them"
    for one, two in pairwise(periods):
        if two.to < one.from_:
            yield f"{where}: {key}: {two.from_} stands after {one.from_}; put the periods in order"
        elif two.from_ <= one.to:
            yield f"{where}: {key}: the period from {two.from_} overlaps the one that ends {one.to}"


def _spans(spans: Sequence[Guests | MoreHead], where: str, key: str) -> Iterator[str]:
    for span in spans:
        if isinstance(span.from_, dt.date) != isinstance(span.to, dt.date):
            yield f"{where}: {key}: from {span.from_} to {span.to}: give both a year, or neither for every year"
        elif isinstance(span.from_, dt.date) and isinstance(span.to, dt.date) and span.from_ > span.to:
            yield f"{where}: {key}: from {span.from_} is after to {span.to}; swap them"


def _snow(parts: Parts) -> Iterator[str]:
    snow = parts.one("snow", Snow)
    if snow and snow.all_snow_at >= snow.all_rain_at:
        yield "snow: all_snow_at must be colder than all_rain_at"


def _roof(roof: Roof, parts: Parts) -> Iterator[str]:
    where = f"roof '{roof.name}'"
    if roof.surface is None and roof.runoff_coefficient is None:
        yield f'{where}: surface is missing; write surface = "metal", or runoff_coefficient = 0.9'
    if roof.surface is not None and roof.runoff_coefficient is not None:
        path = f"roof.{shown_step(roof.name)}-=surface"
        drop = f"'{path}'" if '"' in path else path
        yield (
            f"{where}: surface and runoff_coefficient say the same thing; drop one of them"
            f" (on the command line: --set {drop})"
        )
    if roof.first_flush and (roof.first_flush.volume is None) == (roof.first_flush.depth is None):
        yield f"{where}: first_flush needs a volume or a depth, one of the two"
    gardens = [bed.name for bed in parts.all_of("draw", Garden)]
    others = {draw.name for draw in parts.all_of("draw", DrawBase)} - set(gardens)
    if roof.first_flush and roof.first_flush.to in others:
        bed = f"; write {listed(gardens, 'or')}" if gardens else ""
        yield f"{where}: first_flush, to: draw '{roof.first_flush.to}' is no garden{bed}"
    if roof.first_flush and roof.first_flush.drains_in == 0:
        yield f'{where}: first_flush, drains_in must be more than nothing, such as "1 day"'
    if isinstance(roof.feeds, str):
        return
    total = math.fsum(roof.feeds.values())
    if abs(total - 1) > SUM_WITHIN:
        each = ", ".join(f"{name} {show(share, 'share', 'us', 4)}" for name, share in roof.feeds.items())
        yield f"{where}: feeds: {each or 'no tank'}, together {show(total, 'share', 'us', 4)}; make it 100 %"


def _tank(tank: Tank, parts: Parts) -> Iterator[str]:
    where = f"tank '{tank.name}'"
    yield from shape_faults(tank, units_of(parts))
    if tank.overflow_to == tank.name:
        yield f'{where}: overflow_to names the tank itself; write another tank or "{GROUND}"'
    elif tank.overflow_to in linked_with(tank.name, parts.all_of("link", Link)):
        yield (
            f"{where}: overflow_to = '{tank.overflow_to}' makes no sense: the two are linked and fill together;"
            f' write a tank outside the link or "{GROUND}"'
        )


def _links(links: Sequence[Link], parts: Parts) -> Iterator[str]:
    joined: set[str] = set()
    for link in links:
        where = f"link of {listed(link.tanks)}"
        yield from _periods(link.closed, where, "closed")
        for name in dict.fromkeys(link.tanks):
            if name in joined:
                yield f"{where}: tank '{name}' is in another link already; name all joined tanks in one link"
        joined |= set(link.tanks)


def _overflow_loops(tanks: Sequence[Tank], links: Sequence[Link]) -> Iterator[str]:
    """Loops of overflows; tanks joined by a link count as one, since they spill as one."""
    home = {tank.name: frozenset(linked_with(tank.name, links)) for tank in tanks}
    out: dict[frozenset[str], list[Tank]] = {}
    for tank in tanks:
        if home.get(tank.overflow_to, home[tank.name]) != home[tank.name]:
            out.setdefault(home[tank.name], []).append(tank)
    told: set[frozenset[frozenset[str]]] = set()
    for start in out:
        trail = _way_back(start, out, home)
        passed = frozenset(home[name] for name in trail)
        if trail and passed not in told:
            told.add(passed)
            joined = (
                " (tanks joined by a link count as one)" if any(len(group) > 1 for group in passed) else ""
            )
            yield f'the overflows run in a loop: {" -> ".join(trail)}{joined}; let one of them go to "{GROUND}"'


def _way_back(
    start: frozenset[str], out: dict[frozenset[str], list[Tank]], home: dict[str, frozenset[str]]
) -> list[str]:
    """Names of the tanks on a way of overflows that leads back to its start, or none."""
    ways: list[tuple[frozenset[str], list[str]]] = [(start, [])]
    seen = {start}
    while ways:
        group, trail = ways.pop()
        for tank in out.get(group, []):
            after = home[tank.overflow_to]
            if after == start:
                return [*trail, tank.name, tank.overflow_to]
            if after not in seen:
                seen.add(after)
                ways.append((after, [*trail, tank.name]))
    return []


def _transfer(pump: Transfer, parts: Parts) -> Iterator[str]:
    where = f"transfer '{pump.name}'"
    if pump.from_tank == pump.to_tank:
        yield f"{where}: from_tank and to_tank are both '{pump.from_tank}'; it needs two different tanks"
    elif pump.to_tank in linked_with(pump.from_tank, parts.all_of("link", Link)):
        yield f"{where}: '{pump.from_tank}' and '{pump.to_tank}' are linked and share one water surface already"
    if pump.per_day == 0:
        yield f"{where}: per_day must be more than nothing"


def _draws(parts: Parts) -> Iterator[str]:
    for draw in parts.all_of("draw", DrawBase):
        where = f"draw '{draw.name}'"
        if draw.from_tanks == []:
            yield f"{where}: from_tanks is empty; name the tanks it takes from, or drop the key for all tanks"
        if isinstance(draw, Household):
            yield from _periods(draw.away, where, "away")
            yield from _spans(draw.guests, where, "guests")
            if (draw.per_person is None) == (draw.fixtures is None):
                yield f"{where}: a household needs per_person or fixtures, one of the two"
        if isinstance(draw, Fixed) and (draw.per_day is None) == (draw.monthly is None):
            yield f"{where}: a fixed draw needs per_day or monthly, one of the two"
        if isinstance(draw, Livestock):
            yield from _spans(draw.also, where, "also")
            if not draw.animals and not draw.also:
                yield f'{where}: animals is empty; write {{ "hen, laying" = 20 }}'


def _reserve(parts: Parts) -> Iterator[str]:
    reserve = parts.one("reserve", Reserve)
    if reserve is None:
        return
    if reserve.in_tanks == []:
        yield "reserve: in_tanks is empty; name the tanks that keep it, or drop the key for all tanks"
    system = units_of(parts)
    tanks = parts.all_of("tank", Tank)
    if len(tanks) < len(parts.names["tank"]) or any(shape_faults(tank, system) for tank in tanks):
        return
    keep = [tank for tank in tanks if reserve.in_tanks is None or tank.name in reserve.in_tanks]
    room = math.fsum(drawable(tank) for tank in keep)
    if keep and reserve.volume >= room:
        yield (
            f"reserve: volume = {show(reserve.volume, 'volume', system)} is not below the"
            f" {show(room, 'volume', system)} that {listed(tank.name for tank in keep)} can give when full"
        )


def _backups(parts: Parts) -> Iterator[str]:
    for direct in parts.all_of("backup", Direct):
        where = f"backup '{direct.name}'"
        if direct.serves == []:
            yield f"{where}: serves is empty; name the draws it serves, or drop the key for all of them"
    for refill in parts.all_of("backup", Refill):
        where = f"backup '{refill.name}'"
        if refill.fills_to is None and refill.load is None:
            yield f'{where}: say how much it brings: fills_to = "80 %", or load = "2000 gal" for a hauler'
        if refill.load == 0:
            yield f"{where}: load must be more than nothing"
        if refill.load is not None and refill.per_day is not None:
            yield (
                f"{where}: per_day does not hold back loads; drop per_day for a hauler, or drop load for a well that"
                " runs so much a day"
            )
        if refill.cost_per_load is not None and refill.load is None:
            yield f'{where}: cost_per_load needs the size of a load, such as load = "2000 gal"'
        if refill.fills_to is not None and _below(refill.fills_to, refill.starts_below):
            yield f"{where}: fills_to must be higher than starts_below"


def _below(one: Level, two: Level) -> bool:
    """Whether a level is certainly not above another."""
    if one.share is not None and two.share is not None:
        return one.share <= two.share
    if one.volume is not None and two.volume is not None:
        return one.volume <= two.volume
    return False
