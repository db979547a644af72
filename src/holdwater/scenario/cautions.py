"""What in a faultless scenario deserves a second look."""

from __future__ import annotations

from collections.abc import Iterator

from holdwater.scenario.checks import linked_with
from holdwater.scenario.faults import listed
from holdwater.scenario.joined import joined_cautions
from holdwater.scenario.likely import likely_cautions
from holdwater.scenario.schema import Direct, Draw, Refill, Roof, Scenario
from holdwater.scenario.shapes import size_of
from holdwater.units import show


def cautions(scenario: Scenario) -> list[str]:
    """Sentences about what is allowed but seldom meant.

    Parameters
    ----------
    scenario : Scenario
        Without a fault.
    """
    dry = _unfed(scenario)
    return [
        *(said for roof in scenario.roof for said in _roof(roof)),
        *(
            f"nothing fills tank '{name}': no roof, overflow, transfer, link or backup leads to it"
            for name in dry
        ),
        *_start(scenario),
        *(said for draw in scenario.draw for said in _draw(draw, set(dry), scenario)),
        *(said for b in scenario.backup if isinstance(b, Refill) for said in _refill(b, scenario)),
        *joined_cautions(scenario),
        *likely_cautions(scenario),
    ]


def _unfed(scenario: Scenario) -> list[str]:
    """Tanks to which no water finds its way."""
    fed = {backup.into or scenario.tank[0].name for backup in scenario.backup if isinstance(backup, Refill)}
    for roof in scenario.roof:
        feeds = {roof.feeds: 1.0} if isinstance(roof.feeds, str) else roof.feeds
        fed |= {name for name, share in feeds.items() if share > 0}
    ways = [(tank.name, tank.overflow_to) for tank in scenario.tank]
    ways += [(pump.from_tank, pump.to_tank) for pump in scenario.transfer]
    ways += [(one, two) for link in scenario.link for one in link.tanks for two in link.tanks]
    while more := {after for before, after in ways if before in fed} - fed:
        fed |= more
    return [tank.name for tank in scenario.tank if tank.name not in fed]


def _roof(roof: Roof) -> Iterator[str]:
    if roof.area == 0:
        yield f"roof '{roof.name}' has no area and catches nothing"
    if roof.wetting_loss > 0:
        which = "surface" if roof.surface is not None else "runoff_coefficient"
        yield (
            f"roof '{roof.name}' has both {which} and wetting_loss: handbook coefficients already contain the"
            " wetting loss, so it is counted twice unless yours does not"
        )


def _start(scenario: Scenario) -> Iterator[str]:
    start = scenario.run.start_full
    if isinstance(start, dict):
        left_out = [tank.name for tank in scenario.tank if tank.name not in start]
        if left_out:
            yield f"start_full does not name {listed(left_out)}: half full is assumed"


def _draw(draw: Draw, dry: set[str], scenario: Scenario) -> Iterator[str]:
    tanks = set(draw.from_tanks or [tank.name for tank in scenario.tank])
    if tanks <= dry:
        helped = any(
            isinstance(b, Direct) and (b.serves is None or draw.name in b.serves) for b in scenario.backup
        )
        only = "only backup will serve it" if helped else "nothing will serve it for long"
        yield f"draw '{draw.name}' takes only from {listed(sorted(tanks))}, which nothing fills: {only}"


def _refill(refill: Refill, scenario: Scenario) -> Iterator[str]:
    into = refill.into or scenario.tank[0].name
    names = linked_with(into, scenario.link)
    room = sum(size_of(tank)[1] for tank in scenario.tank if tank.name in names)
    if refill.load is not None and refill.load > room:
        system = scenario.show_units
        what = f"tank '{into}'" + (" and the tanks linked with it" if len(names) > 1 else "")
        holds = "hold" if len(names) > 1 else "holds"
        yield (
            f"backup '{refill.name}': a load of {show(refill.load, 'volume', system)} is more than {what} {holds}"
            f" ({show(room, 'volume', system)})"
        )
