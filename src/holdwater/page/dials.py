"""The dials of the page: which quantities of a holding can be turned, from where to where, in which unit."""

from __future__ import annotations

import math
import re
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import asdict, dataclass
from typing import Any

from holdwater.errors import InputError
from holdwater.holding import flush_volume
from holdwater.scenario.schema import Fixed, Garden, Household, Roof, Scenario, Tank
from holdwater.scenario.variants import Change
from holdwater.tanks import vessel
from holdwater.units import Kind, System, scale
from holdwater.units.showing import figures

LARGEST = 1e9
SHOWN_DIGITS = 4
REACH = 2.5
"""A slider runs up to this many times the present value."""
FROM_NOTHING: dict[str, dict[str, float]] = {
    "us": {"volume": 100.0, "area": 2000.0, "flow": 100.0},
    "metric": {"volume": 400.0, "area": 200.0, "flow": 400.0},
}
"""Upper end of a slider whose quantity is 0 or absent in the file [shown unit]."""
MOST_PEOPLE = 8.0


@dataclass(frozen=True)
class Dial:
    """One quantity that can be turned.

    Attributes
    ----------
    path : str
        Where it stands in the scenario: "roof.barn.area".
    group : str
        The heading it stands under: "Roofs".
    label : str
        "barn: roof area".
    unit : str
        The unit shown, as the scenario file takes it; empty for a bare number.
    value : float
        What the scenario has [unit].
    low, high, step : float
        Ends and step of the slider [unit]; the number field takes more.
    drops : str
        A key the file has in place of this one, dropped when the dial is turned.
    """

    path: str
    group: str
    label: str
    unit: str
    value: float
    low: float
    high: float
    step: float
    drops: str = ""

    def told(self) -> dict[str, Any]:
        """For the page."""
        said = asdict(self)
        del said["drops"]
        return said

    def changes(self, value: float) -> list[Change]:
        """Changes of the scenario that turn it to a value; none where it stands there already."""
        if math.isclose(value, self.value, rel_tol=1e-9, abs_tol=1e-9):
            return []
        number = f"{value:.12g}"
        part = self.path.rpartition(".")[0]
        drop: list[Change] = [(f"{part}-", self.drops)] if self.drops else []
        if self.unit:
            return [*drop, (self.path, f"{number} {self.unit}")]
        return [*drop, (self.path, int(value) if value.is_integer() else value)]


def dials(scenario: Scenario, system: System) -> list[Dial]:
    """The dials of a holding, in the order the water takes.

    Parameters
    ----------
    scenario : Scenario
        Checked holding.
    system : str
        "us" or "metric".
    """
    return [*_roofs(scenario.roof, system), *_tanks(scenario.tank, system), *_draws(scenario, system)]


def turned(known: Iterable[Dial], values: Mapping[str, float]) -> list[Change]:
    """Changes of the scenario that turn these dials to these values.

    Raises
    ------
    InputError
        There is no such dial, or a value is no amount.
    """
    by_path = {dial.path: dial for dial in known}
    faults, changes = [], []
    for path, value in values.items():
        if path not in by_path:
            faults.append("the page turns a dial that this scenario does not have; reload the page")
        elif not math.isfinite(value) or not 0.0 <= value <= LARGEST:
            faults.append(f"{by_path[path].label}: an amount from 0 to {LARGEST:,.0f} is needed")
        else:
            changes += by_path[path].changes(value)
    if faults:
        raise InputError(faults)
    return changes


def step_of(name: str) -> str | None:
    """A name as one step of a path; None for a name that no path can carry."""
    name = re.sub(r"\s*\.\s*", ".", name.strip())  # as paths are compared with names
    if re.fullmatch(r"[^\W\d_][\w-]*", name, re.ASCII):
        return name
    if '"' not in name:
        return f'"{name}"'
    return f"'{name}'" if "'" not in name else None


def _roofs(roofs: list[Roof], system: System) -> Iterator[Dial]:
    for roof in roofs:
        name = step_of(roof.name)
        if name is None:
            continue
        whose = _whose(roof.name, "roof")
        yield _dial(f"roof.{name}.area", "Roofs", f"{whose}, area", roof.area, "area", system)
        flush, label = roof.first_flush, f"{whose}, first flush"
        if (
            flush is not None and not flush.volume and flush.depth
        ):  # a depth stays a depth on a roof of any size
            yield _dial(f"roof.{name}.first_flush.depth", "First flush", label, flush.depth, "depth", system)
        else:
            held = flush_volume(roof)
            yield _dial(f"roof.{name}.first_flush.volume", "First flush", label, held, "volume", system)


def _tanks(tanks: list[Tank], system: System) -> Iterator[Dial]:
    for tank in tanks:
        name = step_of(tank.name)
        if name is None or tank.levels is not None:  # a shape drawn level by level has no single size to turn
            continue
        drops = "overflow" if tank.capacity is None else ""
        label = f"{_whose(tank.name, 'tank')}, capacity"
        yield _dial(
            f"tank.{name}.capacity", "Tanks", label, vessel(tank).capacity, "volume", system, drops=drops
        )


def _draws(scenario: Scenario, system: System) -> Iterator[Dial]:
    for draw in scenario.draw:
        name = step_of(draw.name)
        if name is None:
            continue
        if isinstance(draw, Household):
            high = max(MOST_PEOPLE, math.ceil(2 * draw.people))
            step = 1.0 if float(draw.people).is_integer() else 0.5
            value = float(draw.people)
            yield Dial(f"draw.{name}.people", "Draws", f"{draw.name}, people", "", value, 0.0, high, step)
        elif isinstance(draw, Garden):
            yield _dial(f"draw.{name}.area", "Draws", f"{draw.name}, bed area", draw.area, "area", system)
        elif isinstance(draw, Fixed) and draw.per_day is not None:
            yield _dial(
                f"draw.{name}.per_day", "Draws", f"{draw.name}, per day", draw.per_day, "flow", system
            )


def _whose(name: str, part: str) -> str:
    return name if part in name.lower() else f"{name} {part}"


def _dial(
    path: str, group: str, label: str, amount: float, kind: Kind, system: System, drops: str = ""
) -> Dial:
    """A dial of a quantity given in its inside unit; the slider's steps meet the present value."""
    factor, unit = scale(kind, system)
    value = float(figures(amount * factor, SHOWN_DIGITS).replace(",", ""))
    if value == 0.0:
        high = FROM_NOTHING[system][kind]
        return Dial(path, group, label, unit, 0.0, 0.0, high, high / 50, drops)
    low, step = slider(value)
    high = round(low + math.ceil((REACH * value - low) / step) * step, 6)
    return Dial(path, group, label, unit, value, low, high, step, drops)


def slider(value: float) -> tuple[float, float]:
    """Lower end and step of a slider that meets a value exactly.

    A slider whose steps pass beside the present value would move it when it is drawn. The step is 1, 2 or 5
    times a power of ten; the slider starts at 0 where such a step divides the value, else just above.
    """
    power = math.floor(math.log10(value))
    steps = [lead * 10.0**e for e in range(power, power - 4, -1) for lead in (5, 2, 1)]
    fine = [step for step in steps if value / 200 <= step <= value / 15]
    for step in fine:
        if math.isclose(round(value / step) * step, value, rel_tol=1e-9):
            return 0.0, round(step, 9)
    middle = min(fine, key=lambda step: abs(math.log(value / step / 50)))
    return round(value - math.floor(value / middle) * middle, 6), round(middle, 9)
