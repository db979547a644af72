"""The numbers a log of levels may tell, and the scenario that lets them be changed."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import Literal

from holdwater.holding import flush_volume
from holdwater.scenario.schema import FirstFlush, Refill, Scenario
from holdwater.units import Level

Name = Literal["runoff", "first flush", "leak"]

NAMES: tuple[Name, ...] = ("runoff", "first flush", "leak")
START = len(NAMES)
"""Place of the number that is always found with them: the water at the start."""
FLUSH_WITHOUT = 1.0
"""Depth the factor on the first flush stands for where no roof has a chamber [mm]."""


def has_flush(scenario: Scenario) -> bool:
    """Whether any roof has a first-flush chamber."""
    return any(flush_volume(roof) > 0.0 for roof in scenario.roof)


def mean_flush(scenario: Scenario) -> float:
    """First flush as written, as a depth over all roofs; `FLUSH_WITHOUT` where there is none [mm]."""
    volume = math.fsum(flush_volume(roof) for roof in scenario.roof)
    return volume / math.fsum(roof.area for roof in scenario.roof) or FLUSH_WITHOUT


def leak_shares(scenario: Scenario) -> list[float]:
    """Share of the leak that every tank takes: as the leaks written, or alike where none is."""
    whole = math.fsum(tank.leak for tank in scenario.tank)
    if whole > 0.0:
        return [tank.leak / whole for tank in scenario.tank]
    return [1.0 / len(scenario.tank)] * len(scenario.tank)


def open_to_all(scenario: Scenario, brought: Sequence[tuple[int, float]]) -> Scenario:
    """The scenario as the loop must know it: a leak and a first flush wherever one may be fitted, and
    one load of its own for every time water was filled in, in place of the refills by rule."""
    tanks = [
        tank.model_copy(update={"leak": tank.leak or share})
        for tank, share in zip(scenario.tank, leak_shares(scenario), strict=True)
    ]
    roofs = scenario.roof
    if not has_flush(scenario):
        chamber = FirstFlush.model_construct(volume=None, depth=FLUSH_WITHOUT, drains_in=1.0, to=None)
        roofs = [roof.model_copy(update={"first_flush": chamber}) for roof in scenario.roof]
    into = next((b.into for b in scenario.backup if isinstance(b, Refill) and b.into), scenario.tank[0].name)
    loads = [
        Refill.model_construct(
            name=f"filled {i}", kind="refill", into=into, starts_below=Level(volume=0.0), fills_to=None,
            load=volume, per_day=None, lead_days=0, cost_per_load=None, cost_per_volume=None,
        )
        for i, (_, volume) in enumerate(brought)
    ]  # fmt: skip
    backup = [b for b in scenario.backup if not isinstance(b, Refill)] + loads
    return scenario.model_copy(update={"tank": tanks, "roof": roofs, "backup": backup})
