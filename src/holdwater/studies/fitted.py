"""Numbers found by calibration, and the scenario that carries them."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from holdwater.scenario import tables
from holdwater.scenario.schema import FirstFlush, Roof, Scenario
from holdwater.studies.level_numbers import FLUSH_WITHOUT, Name, has_flush, leak_shares


@dataclass(frozen=True)
class Fitted:
    """One number found.

    Attributes
    ----------
    name : str
        "runoff" (factor on all coefficients), "first flush" (factor on all depths) or "leak" [L/day].
    value : float
        The number.
    low, high : float or None
        Its interval; None where none can be claimed.
    before : float
        What the scenario says.
    """

    name: Name
    value: float
    low: float | None
    high: float | None
    before: float


def with_numbers(scenario: Scenario, fitted: Sequence[Fitted]) -> Scenario:
    """The scenario with the numbers found."""
    values = {one.name: one.value for one in fitted}
    roofs = [_roof(roof, values, has_flush(scenario)) for roof in scenario.roof]
    tanks = scenario.tank
    if "leak" in values:
        tanks = [
            tank.model_copy(update={"leak": values["leak"] * share})
            for tank, share in zip(scenario.tank, leak_shares(scenario), strict=True)
        ]
    return scenario.model_copy(update={"roof": roofs, "tank": tanks})


def _roof(roof: Roof, values: Mapping[Name, float], flushes: bool) -> Roof:
    changes: dict[str, object] = {}
    if "runoff" in values:
        changes |= {"surface": None, "runoff_coefficient": values["runoff"] * tables.runoff_coefficient(roof)}
    if "first flush" in values:
        chamber, factor = roof.first_flush, values["first flush"]
        if chamber is not None:
            sizes = {"volume": chamber.volume, "depth": chamber.depth}
            new = {key: None if size is None else factor * size for key, size in sizes.items()}
            changes["first_flush"] = chamber.model_copy(update=new)
        elif not flushes:
            changes["first_flush"] = FirstFlush.model_construct(depth=factor * FLUSH_WITHOUT)
    return roof.model_copy(update=changes)
