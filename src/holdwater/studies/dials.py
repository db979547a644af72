"""Dials: a path into the scenario and the values it is turned to."""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
import numpy.typing as npt

from holdwater.errors import InputError
from holdwater.scenario import ScenarioFile
from holdwater.scenario.schema import Scenario
from holdwater.units import Level

USUAL_COUNT = 11
MOST_STEPS = 30
_RANGE = re.compile(r"(?P<low>.+?)\s*\.\.\s*(?P<high>[^:]+?)\s*(?::\s*(?P<count>\d+))?\s*")
_ENDS = re.compile(r"([-+]?[\d.,]+(?:[eE][-+]?\d+)?)\s*(.*)")
STORAGE = ("stops_below", "steps", "from_tanks", "priority", "may_use_reserve")


@dataclass(frozen=True)
class Dial:
    """One quantity of the holding and the values it takes in a study.

    Attributes
    ----------
    path : str
        "roof.barn.area".
    texts : tuple of str
        The values as they would stand in the file.
    """

    path: str
    texts: tuple[str, ...]

    def changes(self, i: int) -> tuple[str, Any]:
        """Path and value, as `ScenarioFile.vary` takes them; a bare number is a number."""
        text = self.texts[i]
        try:
            number = float(text)
        except ValueError:
            return self.path, text
        return self.path, int(number) if number.is_integer() and "." not in text else number


def dial(asked: str) -> Dial:
    """Read "PATH=LOW..HIGH", "PATH=LOW..HIGH:COUNT" or "PATH=A, B, C".

    Raises
    ------
    InputError
        No path, an empty range, ends in different units.
    """
    path, equals, values = asked.partition("=")
    if not equals or not path.strip() or not values.strip():
        raise InputError(
            f"'{asked}': write PATH=LOW..HIGH[:COUNT], such as \"roof.barn.area=1000 ft2..3000 ft2:9\""
        )
    found = _RANGE.fullmatch(values.strip())
    texts = _steps(asked, found) if found else [part.strip() for part in _parts(values)]
    if len(set(texts)) < len(texts):
        raise InputError(f"'{asked}': a value is named twice; name each once")
    return Dial(path.strip(), tuple(texts))


def _parts(values: str) -> list[str]:
    """Values between commas; a comma between digits separates thousands."""
    return [part for part in re.split(r",(?!\d{3}(?!\d))|,\s+", values) if part.strip()]


def _steps(asked: str, found: re.Match[str]) -> list[str]:
    """Values from the low to the high end."""
    low, high = (_ENDS.fullmatch(found[end].strip()) for end in ("low", "high"))
    if low is None or high is None:
        raise InputError(f"'{asked}': a range runs between two numbers, such as 1000 ft2..3000 ft2")
    units = {unit for unit in (low[2].strip(), high[2].strip()) if unit}
    if len(units) > 1:
        raise InputError(f"'{asked}': the ends are in {' and '.join(sorted(units))}; write both in one unit")
    first, last = (float(end[1].replace(",", "")) for end in (low, high))
    if not first < last:
        raise InputError(f"'{asked}': the range is empty, {first:g} is not below {last:g}; swap the ends")
    count = int(found["count"]) if found["count"] else _usual_count(first, last, bool(units))
    if count < 2:
        raise InputError(f"'{asked}': a range has 2 values or more, found {count}")
    unit = f" {units.pop()}" if units else ""
    return [f"{round(value, 9):.12g}{unit}" for value in np.linspace(first, last, count)]


def _usual_count(first: float, last: float, has_unit: bool) -> int:
    """Every whole number of a short range without a unit, else eleven values."""
    whole = first.is_integer() and last.is_integer() and not has_unit
    return int(last - first) + 1 if whole and last - first <= MOST_STEPS else USUAL_COUNT


def part_of(path: str) -> tuple[str, ...]:
    """Part of the holding a dial turns: dials of different parts never change the same number.

    All that touches storage is one part, because linked tanks, reserve and levels depend on each other.
    """
    section, _, rest = path.partition(".")
    name, _, key = rest.rpartition(".")
    if section == "roof" or (section == "draw" and not key.startswith(STORAGE)):
        return section, name.split(".first_flush")[0]
    return ("storage",)


def number_at(scenario: Scenario, path: str) -> float:
    """Number a path leads to in a checked scenario, in the inside unit; NaN for what is no number."""
    here: Any = scenario
    keys = _split(scenario, path)
    for key in keys:
        here = _step(here, key)
    if isinstance(here, Level):
        here = here.share if here.share is not None else here.volume
    return float(here) if isinstance(here, int | float) and not isinstance(here, bool) else float("nan")


def _split(scenario: Scenario, path: str) -> list[str]:
    """Section, name and keys of a path; names may hold dots and spaces."""
    section, _, rest = path.partition(".")
    held = getattr(scenario, section, None)
    if isinstance(held, list):
        rest = rest.strip()
        for part in sorted(held, key=lambda p: -len(getattr(p, "name", ""))):
            for name in (f'"{part.name}"', part.name) if hasattr(part, "name") else ():
                if rest == name or rest.startswith(name + "."):
                    return [section, part.name, *[k for k in rest[len(name) + 1 :].split(".") if k]]
    return [section, *[key for key in rest.split(".") if key]]


def _step(here: Any, key: str) -> Any:
    if isinstance(here, list):
        return next((part for part in here if getattr(part, "name", None) == key), None)
    if isinstance(here, Mapping):
        return here.get(key)
    return getattr(here, key, getattr(here, f"{key}_", None))


@dataclass(frozen=True)
class Grid:
    """All combinations of the values of some dials, the last dial turning fastest."""

    dials: tuple[Dial, ...]

    @property
    def shape(self) -> tuple[int, ...]:
        """How many values each dial has."""
        return tuple(len(d.texts) for d in self.dials)

    @property
    def size(self) -> int:
        """How many designs there are."""
        return int(np.prod(self.shape, dtype=np.int64))

    def parts(self) -> list[list[int]]:
        """Dials (by place) that turn the same part of the holding."""
        found: dict[tuple[str, ...], list[int]] = {}
        for i, each in enumerate(self.dials):
            found.setdefault(part_of(each.path), []).append(i)
        return list(found.values())

    def file(self, base: ScenarioFile, dials: Sequence[int], at: Sequence[int]) -> ScenarioFile:
        """The scenario with some of the dials turned to their values at these places.

        Raises
        ------
        InputError
            The path or value does not fit the scenario.
        """
        return base.vary([self.dials[d].changes(i) for d, i in zip(dials, at, strict=True)])

    def coordinates(self, base: ScenarioFile) -> list[npt.NDArray[np.float64]]:
        """Values of each dial in the inside unit."""
        return [
            np.array(
                [number_at(self.file(base, [d], [i]).scenario, each.path) for i in range(len(each.texts))]
            )
            for d, each in enumerate(self.dials)
        ]
