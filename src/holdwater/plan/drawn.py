"""The holding: the drawing of it, its tanks to scale, and a table of every part."""

from __future__ import annotations

import math

from holdwater import words
from holdwater.charts.levels import levels_chart
from holdwater.plan import facts
from holdwater.plan.drawing import picture
from holdwater.plan.schematic import in_order, schematic
from holdwater.plan.section import Matter, Section, section
from holdwater.scenario.schema import Direct, Scenario
from holdwater.scenario.tables import runoff_coefficient
from holdwater.site.cautions import AIR_GAP, BASE, ENTRY, MOSQUITOES, ROOFS
from holdwater.site.layout import Layout, layout
from holdwater.units import System, figures, show

Rows = list[list[str]]


def holding(matter: Matter) -> Section:
    """Draw the holding and list its parts."""
    scenario, system = matter.scenario, matter.system
    plan = layout(scenario)
    drawn = [
        schematic(scenario, system),
        picture(levels_chart(scenario, system), "levels", "The tanks side by side, heights to scale"),
    ]
    return section(
        "holding",
        "What is the holding?",
        *drawn,
        answer=_briefly(scenario, plan, system),
        roofs=_roofs(scenario, system),
        tanks=_tanks(scenario, plan, system),
        joins=_joins(scenario, system),
        draws=_draws(scenario, system),
        backups=_backups(scenario, system),
        cautions={"roofs": [ROOFS], "tanks": [BASE, ENTRY, MOSQUITOES], "backups": [AIR_GAP]},
    )


def _briefly(scenario: Scenario, plan: Layout, system: System) -> str:
    """Roof, tanks, draws and backup in one line."""
    area = show(math.fsum(roof.area for roof in scenario.roof), "area", system)
    room = show(math.fsum(vessel.capacity for vessel in plan.vessels), "volume", system)
    said = [
        f"{area} of {'roof' if len(scenario.roof) == 1 else words.count(len(scenario.roof), 'roof')}",
        f"{room} in {words.count(len(scenario.tank), 'tank')}",
        words.count(len(scenario.draw), "draw"),
    ]
    if scenario.backup:
        said.append(f"backup: {facts.listed([words.plain(each.name) for each in scenario.backup])}")
    return f"{', '.join(said)}."


def _roofs(scenario: Scenario, system: System) -> Rows:
    return [
        [
            roof.name,
            show(roof.area, "area", system),
            roof.surface if roof.surface and roof.runoff_coefficient is None else "as given",
            f"{runoff_coefficient(roof):.2f}",
            facts.first_flush(roof, system) or "none",
            facts.feeds(roof),
        ]
        for roof in scenario.roof
    ]


def _tanks(scenario: Scenario, plan: Layout, system: System) -> Rows:
    joined = {t: group for group in plan.joined for t in group.tanks}
    rows = []
    for t, (tank, vessel) in enumerate(zip(scenario.tank, plan.vessels, strict=True)):
        top, bottom = joined[t].stranded_top[t], joined[t].stranded_bottom[t]
        rows.append(
            [
                tank.name,
                show(vessel.capacity, "volume", system),
                show(vessel.capacity - top - bottom, "volume", system, 2),
                show(plan.diameters[t] or 0.0, "height", system) if plan.diameters[t] else "as its table",
                show(vessel.base, "base", system),
                show(vessel.outlet, "height", system),
                show(vessel.lip, "height", system),
                tank.overflow_to,
            ]
        )
    return rows


def _joins(scenario: Scenario, system: System) -> list[str]:
    """Links, pumps, reserve, leaks: what hangs on the tanks, in sentences."""
    said = []
    for link in scenario.link:
        names = facts.listed([words.plain(name) for name in link.tanks])
        shut = [f"{words.briefly(p.from_)} to {words.briefly(p.to)}" for p in link.closed]
        closed = f"; the valve was shut from {facts.listed(shut)}" if shut else ""
        said.append(f"Joined at the bottom, one water surface: {names}{closed}.")
    for pump in scenario.transfer:
        rate, level = show(pump.per_day, "flow", system), show(pump.starts_below, "level", system)
        said.append(
            f"{words.plain(pump.name)} lifts up to {rate} from {words.plain(pump.from_tank)} to"
            f" {words.plain(pump.to_tank)} while that stands below {level}."
        )
    if scenario.reserve:
        kept = show(scenario.reserve.volume, "volume", system)
        may = [words.plain(d.name) for d in scenario.draw if d.may_use_reserve]
        but = f" but {facts.listed(may)}" if may else ""
        said.append(f"Reserve: {kept} that no draw{but} may take.")
    for tank in scenario.tank:
        if tank.leak > 0.0:
            said.append(f"{words.plain(tank.name)} leaks {show(tank.leak, 'flow', system)}.")
        if tank.evaporation_factor > 0.0:
            factor = figures(tank.evaporation_factor)
            said.append(
                f"{words.plain(tank.name)} is open: it loses {factor} times the reference evapotranspiration."
            )
    return said


def _draws(scenario: Scenario, system: System) -> Rows:
    rows = []
    for i, draw in enumerate(in_order(scenario), 1):
        use, *rules = facts.draw(draw, system)
        tanks = "all tanks" if draw.from_tanks is None else facts.listed(draw.from_tanks)
        rows.append([f"{i}", draw.name, draw.kind, use, tanks, "; ".join(rules) or "-"])
    return rows


def _backups(scenario: Scenario, system: System) -> Rows:
    rows = []
    for backup in scenario.backup:
        if isinstance(backup, Direct):
            to = "all draws" if backup.serves is None else facts.listed(backup.serves)
        else:
            to = backup.into or scenario.tank[0].name
        price = facts.cost(backup, system) or "not given"
        rows.append([backup.name, to, "; ".join(facts.backup(backup, system)), price])
    return rows
