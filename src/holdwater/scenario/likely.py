"""Whether what was written is likely: sizes, an open tank, a season that ends a day early, a tank not named."""

from __future__ import annotations

from collections.abc import Iterator

from holdwater.scenario.checks import linked_with
from holdwater.scenario.quantities import MonthDayValue
from holdwater.scenario.schema import Draw, Fixed, Household, Livestock, Refill, Roof, Scenario, Tank
from holdwater.scenario.shapes import size_of, surface_of
from holdwater.units import System, show

HIGHEST_LIP = 10_000.0
"""A lip higher than this is taken for a slip: tanks on a holding stand lower (common practice) [mm]."""
SMALLEST_TANK = 100.0
"""A tank smaller than this is taken for a slip [L]."""
LARGEST_DRAW = 50_000.0
"""A fixed draw larger than this is taken for a slip [L/day]."""
LIKE_IT = 1.5
"""A roof that sheds all its rain and is smaller than this many times an open tank's surface is that surface."""
FEBRUARY_28 = MonthDayValue(2, 28)
LOOK_AGAIN = "look at its digits, its comma and its unit again"


def likely_cautions(scenario: Scenario) -> Iterator[str]:
    """Sentences about what a holding seldom has."""
    system = scenario.show_units
    for tank in scenario.tank:
        yield from _sizes(tank, system)
        yield from _open(tank, scenario.roof, system)
    for draw in scenario.draw:
        yield from _amount(draw, system)
        yield from _steps(draw, system)
    for where, ends in _ends(scenario):
        if ends == FEBRUARY_28:
            yield f'{where} ends on 02-28, so 29 February is left out; write to = "02-29" for the end of February'
    for backup in scenario.backup:
        if isinstance(backup, Refill):
            yield from _into(backup, scenario)


def _sizes(tank: Tank, system: System) -> Iterator[str]:
    lip, capacity = size_of(tank)
    if lip > HIGHEST_LIP:
        high = show(lip / 1000.0, "altitude", system)  # a height in feet, where inches would say little
        across = f", {show(tank.diameter, 'height', system)} across" if tank.diameter else ""
        yield (
            f"tank '{tank.name}': {show(capacity, 'volume', system)}{across}: its lip would stand {high} high;"
            f" {LOOK_AGAIN}"
        )
    if capacity < SMALLEST_TANK:
        yield f"tank '{tank.name}' holds only {show(capacity, 'volume', system)}; {LOOK_AGAIN}"


def _open(tank: Tank, roofs: list[Roof], system: System) -> Iterator[str]:
    """An open tank catches rain on its own surface, which nobody counts unless it is written as a roof."""
    if tank.evaporation_factor == 0:
        return
    surface = surface_of(tank)
    counted = (r for r in roofs if r.runoff_coefficient == 1 and r.area < LIKE_IT * surface)
    if not any(tank.name in _fed(roof) for roof in counted):
        area = show(surface, "area", system)
        yield (
            f"tank '{tank.name}' is open and loses water to the sun, but the rain that falls into it is not counted;"
            f" add a roof of {area} with runoff_coefficient = 1 that feeds it"
        )


def _fed(roof: Roof) -> list[str]:
    return [roof.feeds] if isinstance(roof.feeds, str) else list(roof.feeds)


def _amount(draw: Draw, system: System) -> Iterator[str]:
    if isinstance(draw, Fixed):
        most = max([draw.per_day or 0.0, *(draw.monthly or [])])
        if most > LARGEST_DRAW:
            yield f"draw '{draw.name}' takes {show(most, 'flow', system)}; {LOOK_AGAIN}"


def _steps(draw: Draw, system: System) -> Iterator[str]:
    """A saving step that saves nothing."""
    if not isinstance(draw, Household) or draw.per_person is None:
        return
    for step in draw.steps:
        if step.per_person >= draw.per_person:
            below, flow = show(step.below, "level", system), show(step.per_person, "flow", system)
            yield (
                f"draw '{draw.name}': the saving step below {below} saves nothing: it allows {flow} a person, who uses"
                f" {show(draw.per_person, 'flow', system)} anyway"
            )


def _ends(scenario: Scenario) -> Iterator[tuple[str, object]]:
    """Last day of everything that holds in a part of every year."""
    for roof in scenario.roof:
        if roof.collects is not None:
            yield f"roof '{roof.name}': collects", roof.collects.to
    for draw in scenario.draw:
        where = f"draw '{draw.name}'"
        if draw.season is not None:
            yield f"{where}: season", draw.season.to
        spans = (
            draw.guests if isinstance(draw, Household) else draw.also if isinstance(draw, Livestock) else []
        )
        key = "guests" if isinstance(draw, Household) else "also"
        yield from ((f"{where}: {key}", span.to) for span in spans)


def _into(refill: Refill, scenario: Scenario) -> Iterator[str]:
    first = scenario.tank[0].name
    if refill.into is None and len(linked_with(first, scenario.link)) < len(scenario.tank):
        yield (
            f"backup '{refill.name}' does not name its tank: it fills the first of the file, '{first}'; write"
            f' into = "{first}", or another'
        )
