"""From a checked scenario and its `[site]` table to the list of checks."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence

from holdwater.holding import flush_volume
from holdwater.scenario.schema import Direct, Scenario
from holdwater.site import (
    ground,
    link_checks,
    overflow_checks,
    pressure_tank_checks,
    pump_checks,
    roof_checks,
    suction_checks,
    supply_checks,
    tank_checks,
)
from holdwater.site.checks import in_order
from holdwater.site.inputs import Line, Overflow, Site, Stand
from holdwater.site.layout import Layout, layout
from holdwater.site.link_checks import LinkRun
from holdwater.site.overflow_checks import Stub
from holdwater.site.pump_set import PressureTank, Pump
from holdwater.site.result import Check
from holdwater.site.roof_checks import Gutter, Storm
from holdwater.site.seen import Seen

SECONDS = 86400.0
"""Seconds in a day: flows are L/day in the scenario and L/s here."""


def site_checks(scenario: Scenario, site: Site, seen: Seen | None = None) -> list[Check]:
    """Every check of a holding, in the order of printing.

    Parameters
    ----------
    scenario : Scenario
        The checked scenario.
    site : Site
        Its checked `[site]` table.
    seen : Seen, optional
        What a run of it tells; without it the checks that need a run say so.
    """
    seen = seen or Seen()
    rain = Storm(site.storm.in_5_minutes, site.storm.in_60_minutes, site.storm.source or "")
    plan = layout(scenario)
    altitude = scenario.place.elevation if scenario.place else None
    return in_order(
        [
            *_roofs(scenario, site, rain),
            *_groups(plan, site, rain),
            *_cascade(scenario, plan),
            *_links(scenario, plan, site, rain),
            *_stands(plan, site),
            *_backups(scenario, site),
            *_pumping(site, plan, altitude, seen),
            *_lines(site, plan, seen),
        ]
    )


def _roofs(scenario: Scenario, site: Site, rain: Storm) -> Iterator[Check]:
    """First flush, gutter and leaders of every roof."""
    gutters, leaders = {g.roof: g for g in site.gutter}, {e.roof: e for e in site.leader}
    for roof in scenario.roof:
        yield roof_checks.first_flush(roof.name, flush_volume(roof), roof.area)
        g, down = gutters.get(roof.name), leaders.get(roof.name)
        trough = Gutter(g.shape == "box", g.width, g.depth, g.length, g.runs) if g else Gutter()
        yield roof_checks.gutter(roof.name, roof.area, trough, rain)
        bore = down.chosen() if down else None
        yield roof_checks.leader(
            roof.name, roof.area, bore.inside if bore else None, down.count if down else 1, rain
        )


def _groups(plan: Layout, site: Site, rain: Storm) -> Iterator[Check]:
    """Levels and overflow of every group of tanks that share one surface."""
    for members, group in zip(plan.groups, plan.joined, strict=True):
        names = [plan.vessels[t].name for t in members]
        yield tank_checks.levels(
            names,
            plan.vessels[group.spills_from].name,
            math.fsum(plan.vessels[t].capacity for t in members),
            math.fsum(group.stranded_top.values()),
            math.fsum(group.stranded_bottom.values()),
            max(plan.lip(t) for t in members) - plan.lip(group.spills_from),
        )
        stubs = _stubs(plan, members, {row.tank: row for row in site.overflow})
        yield overflow_checks.overflow(math.fsum(plan.catchments[t] for t in members), stubs, rain)
        yield overflow_checks.inlets(names, overflow_checks.bore(stubs), _inlet_bore(plan, names, site))


def _cascade(scenario: Scenario, plan: Layout) -> Iterator[Check]:
    """Every overflow that leads into another tank."""
    position = {tank.name: t for t, tank in enumerate(scenario.tank)}
    for group in plan.joined:
        tank = scenario.tank[group.spills_from]
        if tank.overflow_to not in position:
            continue
        target = position[tank.overflow_to]
        given = any("base" in each.model_fields_set for each in (tank, scenario.tank[target]))
        drop = plan.lip(group.spills_from) - plan.full(target)
        yield tank_checks.cascade(tank.name, tank.overflow_to, drop if given else None)


def _stubs(plan: Layout, members: Sequence[int], given: dict[str, Overflow]) -> list[Stub]:
    """Overflow pipes of a group, each with the room the lowest rim of the group leaves above its bottom.

    A tank without a pipe of its own spills at its lip, so its lip is a rim.
    """
    rows = {t: given.get(plan.vessels[t].name) for t in members}
    rooms = {
        t: None if row is None else 0.0 if row.count == 0 else row.water_above for t, row in rows.items()
    }
    rims = [plan.lip(t) + room for t, room in rooms.items() if room is not None]
    rim = min(rims) if len(rims) == len(members) else None
    stubs = []
    for t, row in rows.items():
        if row is not None and row.count == 0:
            continue
        bore = row.chosen() if row else None
        stubs.append(
            Stub(
                plan.vessels[t].name,
                bore.inside if bore else None,
                None if rim is None or rooms[t] is None else max(rim - plan.lip(t), 0.0),
                (row.size or "") if row else "",
                row.count if row else 1,
                bore.kind if bore else "",
            )
        )
    return stubs or [Stub(plan.vessels[members[0]].name)]


def _inlet_bore(plan: Layout, names: Sequence[str], site: Site) -> float | None:
    """Area of all leaders that feed these tanks, None where one is unknown [mm2]."""
    leaders = {row.roof: row for row in site.leader}
    total = 0.0
    for roof, tanks in plan.feeds.items():
        if not set(tanks) & set(names):
            continue
        row = leaders.get(roof)
        bore = row.chosen() if row else None
        if row is None or bore is None:
            return None
        total += row.count * bore.bore
    return total or None


def _links(scenario: Scenario, plan: Layout, site: Site, rain: Storm) -> Iterator[Check]:
    """Time to stand level and flow of every link, between the tanks on its sides."""
    given = {frozenset(row.tanks): row for row in site.link}
    for link in scenario.link:
        row = given.get(frozenset(link.tanks))
        run = LinkRun(row.chosen(), row.length, dict(row.fittings)) if row else LinkRun()
        sides = plan.sides(link.tanks)
        surfaces = [math.fsum(plan.surface(t) for t in side) for side in sides]
        catchments = [math.fsum(plan.catchments[t] for t in side) for side in sides]
        yield link_checks.equalise(link.tanks, surfaces, run)
        yield link_checks.link_flow(link.tanks, surfaces, catchments, run, rain)


def _stands(plan: Layout, site: Site) -> Iterator[Check]:
    """Weight of every full tank on its ground."""
    stands = {row.tank: row for row in site.stand}
    allowed = site.allowed_bearing
    if allowed is None and site.soil is not None:
        allowed = ground.presumptive_bearing(site.soil)
    for t, shape in enumerate(plan.vessels):
        row = stands.get(shape.name, Stand(tank=shape.name))
        on = row.pad_area if row.pad_area is not None else plan.footprint(t)
        soil = site.soil if site.soil and site.allowed_bearing is None else "the soil"
        yield tank_checks.weight(
            shape.name,
            shape.capacity,
            tank_checks.Stand(on, row.pad_thickness, row.empty_weight, soil, allowed),
        )


def _backups(scenario: Scenario, site: Site) -> Iterator[Check]:
    """Where a well, main or hauler meets the rainwater."""
    given = {row.backup: row for row in site.filling}
    for backup in scenario.backup:
        if isinstance(backup, Direct) and backup.name not in given:
            yield tank_checks.crossing(backup.name)
        else:
            row = given.get(backup.name)
            yield tank_checks.air_gap(backup.name, row.outlet if row else None, row.air_gap if row else None)


def _pumping(site: Site, plan: Layout, altitude: float | None, seen: Seen) -> Iterator[Check]:
    """Pump and pressure tank, unless every line runs by gravity."""
    if site.pump is None and site.line and all(line.fed_by == "gravity" for line in site.line):
        return
    machine, tank = _pump(site, plan), _pressure_tank(site)
    yield suction_checks.lift(machine, altitude)
    yield suction_checks.npsh(machine, altitude, site.warmest_water)
    yield pump_checks.duty(machine, tank.cut_in)
    yield pump_checks.cut_out(machine, tank.cut_out)
    yield pressure_tank_checks.precharge(tank)
    yield pressure_tank_checks.run_time(machine, tank, altitude)
    yield pressure_tank_checks.starts(machine, tank, altitude, seen.busiest_day)
    yield pump_checks.energy(machine, seen.mean_year)


def _pump(site: Site, plan: Layout) -> Pump:
    """The pump as the checks take it."""
    row, suction = site.pump, site.suction
    if row is None:
        return Pump(suction=suction.chosen(), suction_length=suction.length, fittings=dict(suction.fittings))
    lowest = row.lowest_water if row.lowest_water is not None else plan.lowest_outlet
    return Pump(
        above=lowest - row.height if row.height is not None else None,
        flow=row.flow / SECONDS if row.flow is not None else None,
        curve=tuple((point.flow / SECONDS, point.head) for point in row.curve),
        npsh_required=row.npsh_required,
        power=row.power,
        draws=row.draws,
        single_phase=row.single_phase,
        suction=suction.chosen(),
        suction_length=suction.length,
        fittings=dict(suction.fittings),
    )


def _pressure_tank(site: Site) -> PressureTank:
    row = site.pressure_tank
    return PressureTank(row.volume, row.precharge, row.cut_in, row.cut_out)


def _lines(site: Site, plan: Layout, seen: Seen) -> Iterator[Check]:
    """Every supply line; without one, what a supply line needs."""
    pump_height = site.pump.height if site.pump else None
    lowest = (
        site.pump.lowest_water if site.pump and site.pump.lowest_water is not None else plan.lowest_outlet
    )
    for row in site.line:
        begins = lowest if row.fed_by == "gravity" else pump_height
        line = _line(row, begins, 0.0 if row.fed_by == "gravity" else site.pressure_tank.cut_in)
        yield from _line_checks(line, site, seen)
    if not site.line:
        yield from _line_checks(supply_checks.Line(""), site, seen)


def _line(row: Line, begins: float | None, start: float | None) -> supply_checks.Line:
    """A line as the checks take it, from the height it begins at [mm] and the pressure there [kPa]."""
    return supply_checks.Line(
        row.name,
        row.chosen(),
        row.length,
        dict(row.fittings),
        flow=row.flow / SECONDS if row.flow is not None else None,
        rise=row.height - begins if row.height is not None and begins is not None else None,
        start=start,
        wanted=row.pressure,
        buried=row.buried,
        drained=row.drained,
        gravity=row.fed_by == "gravity",
    )


def _line_checks(line: supply_checks.Line, site: Site, seen: Seen) -> Iterator[Check]:
    yield supply_checks.pressure(line)
    yield supply_checks.speed(line)
    yield supply_checks.frost(line, seen.frost, site.frost_depth)
    yield supply_checks.movement(line, seen.frost)
