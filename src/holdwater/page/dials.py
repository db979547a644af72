"""A dial of the page: one quantity of a holding, from where to where it turns, and what the file says then."""

from __future__ import annotations

import math
import re
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from typing import Any, Literal

from holdwater.errors import InputError
from holdwater.scenario.variants import Change
from holdwater.units import Kind, System, scale
from holdwater.units.showing import figures

LARGEST = 1e9
SHOWN_DIGITS = 4
REACH = 2.5
"""A slider runs up to this many times the present value."""
FROM_NOTHING: dict[str, dict[str, float]] = {
    "us": {
        "volume": 100.0,
        "area": 2000.0,
        "flow": 100.0,
        "depth": 0.1,
        "height": 20.0,
        "base": 20.0,
        "price": 50.0,
    },
    "metric": {
        "volume": 400.0,
        "area": 200.0,
        "flow": 400.0,
        "depth": 2.0,
        "height": 50.0,
        "base": 50.0,
        "price": 10.0,
    },
}
"""Upper end of a slider whose quantity is 0 or absent in the file [shown unit]."""

Buys = Literal["size", "works", ""]
"""What turning a dial costs: by its size, at a price the file cannot say, or nothing that is bought."""


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
        "barn roof, area".
    unit : str
        The unit shown; empty for a bare number.
    value : float
        What the scenario has [unit].
    low, high, step : float
        Ends and step of the slider [unit].
    least, most : float
        What the number field takes [unit].
    fine : bool
        Whether it stands behind "finer dials".
    note : str
        What to know before turning it; empty for most.
    bare : bool
        The file takes a bare number, whatever unit is shown; for "%" a share of 1.
    buys : str
        "size" for what is bought by its size, "works" for work without a price in the file, else empty.
    with_it : tuple of (str, object)
        Changes that go before it: a key said in another way is dropped, a height is held.
    parts : tuple of float
        A table that the dial scales as a whole: its values [unit].
    levels : tuple of float
        Heights of that table where it is a tank's [mm].
    """

    path: str
    group: str
    label: str
    unit: str
    value: float
    low: float
    high: float
    step: float
    least: float = 0.0
    most: float = LARGEST
    fine: bool = False
    note: str = ""
    bare: bool = False
    buys: Buys = ""
    with_it: tuple[Change, ...] = ()
    parts: tuple[float, ...] = ()
    levels: tuple[float, ...] = ()

    def told(self) -> dict[str, Any]:
        """For the page."""
        keys = (
            "path",
            "group",
            "label",
            "unit",
            "value",
            "low",
            "high",
            "step",
            "least",
            "most",
            "fine",
            "note",
        )
        return {key: getattr(self, key) for key in keys}

    def turns(self, value: float) -> bool:
        """Whether a value is another than the present one."""
        return not math.isclose(value, self.value, rel_tol=1e-9, abs_tol=1e-9)

    def changes(self, value: float) -> list[Change]:
        """Changes of the scenario that turn it to a value; none where it stands there already."""
        return [*self.with_it, (self.path, self._written(value))] if self.turns(value) else []

    def amount(self, value: float) -> str:
        """A value with its unit, for people."""
        return f"{figures(value, 6)} {self.unit}".strip()

    def _written(self, value: float) -> Any:
        """What the file says for a value."""
        if self.levels:
            filled = zip(self.levels, self._parts(value), strict=True)
            return [{"level": f"{level!r} mm", "volume": text} for level, text in filled]
        if self.parts:
            return self._parts(value)
        if self.unit and not self.bare:
            return self._text(value)
        if self.unit == "%":
            return value / 100.0
        return int(value) if value.is_integer() else value

    def _parts(self, value: float) -> list[str]:
        return [self._text(part * value / self.value) for part in self.parts]

    def _text(self, value: float) -> str:
        return f"{value:.12g} {self.unit}"


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
        dial = by_path.get(path)
        if dial is None:
            faults.append("the page turns a dial that this scenario does not have; reload the page")
        elif not math.isfinite(value) or not dial.least <= value <= dial.most:
            ends = f"an amount from {dial.least:,.10g} to {dial.amount(dial.most)} is needed"
            faults.append(f"{dial.label}: {ends}")
        else:
            changes += dial.changes(value)
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


def quantity(
    path: str,
    group: str,
    label: str,
    amount: float,
    kind: Kind,
    system: System,
    up_to: float | None = None,
    never_nothing: bool = False,
    **about: Any,
) -> Dial:
    """A dial of a quantity given in its inside unit; the slider's steps meet the present value.

    Parameters
    ----------
    up_to : float, optional
        Upper end of the slider where the quantity is 0 in the file [inside unit].
    never_nothing : bool
        Whether 0 makes no sense: the slider ends one step above it.
    """
    factor, unit = scale(kind, system)
    value = rounded(amount * factor)
    most = about.get("most", LARGEST)
    if value <= 0.0:
        reach = FROM_NOTHING[system][kind] if up_to is None else rounded(up_to * factor, 1)
        high = min(reach, most)
        return Dial(path, group, label, unit, value, min(0.0, value), high, round(high / 50, 9), **about)
    low, step = slider(value)
    high = round(low + math.ceil((REACH * value - low) / step) * step, 6)
    low = step if never_nothing and low == 0.0 else low
    return Dial(path, group, label, unit, value, low, min(high, most), step, **about)


def rounded(value: float, digits: int = SHOWN_DIGITS) -> float:
    """A value as the page shows it."""
    return float(figures(value, digits).replace(",", "")) if digits > 1 else float(f"{value:.1g}")


def share(path: str, group: str, label: str, amount: float, **about: Any) -> Dial:
    """A dial of a share, in per cent."""
    value = round(100.0 * amount, 6)
    step = 1.0 if value.is_integer() else 0.1
    return Dial(
        path, group, label, "%", value, round(value % step, 9) % step, 100.0, step, most=100.0, **about
    )


def number(
    path: str, group: str, label: str, value: float, high: float, unit: str = "", **about: Any
) -> Dial:
    """A dial of a bare number: people, head, whole days; halves where it is none that is whole."""
    step = 1.0 if float(value).is_integer() else 0.5
    reach = float(max(high, math.ceil(2 * value)))
    start = round(value % step, 9)
    return Dial(path, group, label, unit, float(value), start, reach, step, bare=True, **about)


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
