"""What tanks joined at their outlets can and cannot do: who spills, what a draw reaches, what a hauler waits for."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from functools import cached_property

from holdwater.scenario.checks import linked_with
from holdwater.scenario.faults import listed
from holdwater.scenario.references import GROUND
from holdwater.scenario.schema import Draw, Garden, Refill, Scenario, Tank
from holdwater.scenario.shapes import size_of, volume_at
from holdwater.units import show

LEVELLED = 10.0
"""Height within which two lips count as one: pads cannot be levelled better (common practice) [mm]."""
ROUNDING = 1e-9
"""Share of a level below which a difference is rounding."""
LEAST_TOLD = 0.01
"""Share of what linked tanks can give below which a higher outlet is not worth a word."""


class Joined:
    """Tanks that share one water surface, or one that stands alone.

    Parameters
    ----------
    tanks : sequence of Tank
        In the order of the file, every shape without fault.
    """

    def __init__(self, tanks: Sequence[Tank]) -> None:
        self.tanks = list(tanks)
        self.names = [tank.name for tank in tanks]
        self.spills = min(tanks, key=self.lip_of)

    @staticmethod
    def lip_of(tank: Tank) -> float:
        """Height of a tank's lip above the datum of the pads [mm]."""
        return tank.base + size_of(tank)[0]

    @property
    def called(self) -> str:
        """Name the tanks for a sentence, as the subject of "stand" or "stands"."""
        names = listed(self.names)
        return f"tanks {names} stand" if len(self.names) > 1 else f"tank {names} stands"

    def gives(self, tank: Tank, surface: float) -> float:
        """Water of one tank above its outlet when the surface stands so high above the datum [L]."""
        level = min(surface, self.lip_of(self.spills)) - tank.base
        return volume_at(max(level, tank.outlet), tank) - volume_at(tank.outlet, tank)

    def above(self, surface: float) -> float:
        """Water of all tanks above their outlets when the surface stands so high above the datum [L]."""
        return math.fsum(self.gives(tank, surface) for tank in self.tanks)

    @cached_property
    def capacity(self) -> float:
        """Water above the outlets when the tanks spill [L]."""
        return self.above(math.inf)

    def lowest(self, names: Sequence[str]) -> Tank:
        """The tank with the lowest outlet among some of them."""
        named = [tank for tank in self.tanks if tank.name in names]
        return min(named, key=lambda tank: tank.base + tank.outlet)


def groups_of(scenario: Scenario) -> list[Joined]:
    """Tanks by common water surface, every valve open."""
    homes = dict.fromkeys(frozenset(linked_with(tank.name, scenario.link)) for tank in scenario.tank)
    return [Joined([tank for tank in scenario.tank if tank.name in home]) for home in homes]


def joined_cautions(scenario: Scenario) -> Iterator[str]:
    """Sentences about overflows that never act, outlets that reach less, and calls that never come."""
    groups = groups_of(scenario)
    for joined in groups:
        yield from _spilling(joined, scenario)
    for draw in scenario.draw:
        for joined in groups:
            yield from _higher_outlet(draw, joined, scenario)
    for backup in scenario.backup:
        if isinstance(backup, Refill):
            home = next(j for j in groups if (backup.into or scenario.tank[0].name) in j.names)
            yield from _never_called(backup, home, groups, scenario)


def _spilling(joined: Joined, scenario: Scenario) -> Iterator[str]:
    """Overflows of linked tanks that lead elsewhere than that of the tank that spills for all."""
    spills = joined.spills
    for tank in joined.tanks:
        higher = joined.lip_of(tank) - joined.lip_of(spills)
        if tank.overflow_to == spills.overflow_to:
            continue
        if higher <= LEVELLED:
            yield (
                f"tanks {listed([spills.name, tank.name])} are linked and their lips stand at one height, but their"
                f" overflows lead to {listed([spills.overflow_to, tank.overflow_to])}: all of it is taken to spill"
                f" from '{spills.name}'; give both the same overflow_to, or set one lip higher"
            )
        elif tank.overflow_to != GROUND:
            above = show(higher, "height", scenario.show_units)
            yield (
                f"tank '{tank.name}': overflow_to = '{tank.overflow_to}' never acts while the link is open: the linked"
                f" tanks spill over the lip of '{spills.name}', which is {above} lower"
            )


def _higher_outlet(draw: Draw, joined: Joined, scenario: Scenario) -> Iterator[str]:
    """A draw that names none but the higher outlets of linked tanks."""
    named = [name for name in draw.from_tanks or joined.names if name in joined.names]
    if not named:
        return
    mine, lowest = joined.lowest(named), joined.lowest(joined.names)
    lost = joined.above(mine.base + mine.outlet)
    if lost > LEAST_TOLD * joined.capacity:
        system = scenario.show_units
        higher = show(mine.base + mine.outlet - lowest.base - lowest.outlet, "height", system)
        yield (
            f"draw '{draw.name}' takes from tank '{mine.name}', whose outlet stands {higher} above that of"
            f" '{lowest.name}' in the same link: the last {show(lost, 'volume', system)} are out of its reach;"
            f" name '{lowest.name}' in from_tanks too if its pipe starts there"
        )


def _never_called(
    refill: Refill, joined: Joined, groups: Sequence[Joined], scenario: Scenario
) -> Iterator[str]:
    """A refill whose trigger lies where no draw ever takes the water."""
    trigger = refill.starts_below.of(joined.capacity)
    leaky = any(tank.leak > 0 or tank.evaporation_factor > 0 for tank in joined.tanks)
    takers = [_floor(draw, joined, groups, scenario) for draw in scenario.draw if _takes(draw, joined)]
    for pump in scenario.transfer:
        if pump.from_tank in joined.names and pump.to_tank not in joined.names:
            takers.append(_held(joined.lowest([pump.from_tank]), False, joined, groups, scenario))
    if leaky or not takers or min(takers)[0] < trigger * (1 - ROUNDING):
        return
    floor, why = min(takers)
    system = scenario.show_units
    stops, starts = show(floor, "volume", system), show(trigger, "volume", system)
    yield (
        f"backup '{refill.name}' is called when {joined.called} below {starts}, but nothing takes the water below"
        f" {stops} ({why}), so it never comes; write starts_below higher than that"
    )


def _takes(draw: Draw, joined: Joined) -> bool:
    if isinstance(draw, Garden) and draw.rain_fed:
        return False
    return draw.from_tanks is None or any(name in joined.names for name in draw.from_tanks)


def _floor(draw: Draw, joined: Joined, groups: Sequence[Joined], scenario: Scenario) -> tuple[float, str]:
    """How low a draw can take the tanks, as water above the outlets, and what stops it there [L]."""
    named = [name for name in draw.from_tanks or joined.names if name in joined.names]
    floor = _held(joined.lowest(named), draw.may_use_reserve, joined, groups, scenario)
    alone = all(name in joined.names for name in draw.from_tanks or [t.name for t in scenario.tank])
    if draw.stops_below is not None and alone:  # over several groups the level is that of them all
        stop = draw.stops_below.of(joined.capacity)
        return max(floor, (stop, f"where draw '{draw.name}' stops"))
    return floor


def _held(
    outlet: Tank, may_use_reserve: bool, joined: Joined, groups: Sequence[Joined], scenario: Scenario
) -> tuple[float, str]:
    """What stays for whoever takes from this outlet: the water below it, or the reserve [L]."""
    below = (joined.above(outlet.base + outlet.outlet), f"the outlet of tank '{outlet.name}'")
    kept = 0.0 if may_use_reserve else _reserve(joined, groups, scenario)
    return max(below, (kept, "the reserve"))


def _reserve(joined: Joined, groups: Sequence[Joined], scenario: Scenario) -> float:
    """Part of the reserve that these tanks keep: in proportion to what the keepers can give [L]."""
    if scenario.reserve is None:
        return 0.0
    keepers = scenario.reserve.in_tanks or [tank.name for tank in scenario.tank]
    room = {
        id(each): math.fsum(each.gives(t, math.inf) for t in each.tanks if t.name in keepers)
        for each in groups
    }
    whole = math.fsum(room.values())
    return scenario.reserve.volume * room[id(joined)] / whole if whole > 0 else 0.0
