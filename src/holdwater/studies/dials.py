"""Dials: a path into the scenario and the values it is turned to."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
import numpy.typing as npt

from holdwater.errors import InputError
from holdwater.scenario import ScenarioFile
from holdwater.studies.paths import in_place_of, not_the_holding, number_at, part_of

USUAL_COUNT = 11
MOST_STEPS = 30
MOST_VALUES = 100_000
_RANGE = re.compile(r"(?P<low>.+?)\s*\.\.\s*(?P<high>[^:]+?)\s*(?::\s*(?P<count>\d+))?\s*")
_GROUPED = r"[-+]?[1-9]\d{0,2}(?:,\d{3})+(?!\d)(?:\.\d+)?"  # 2,500
_VALUE, _UNGROUPED = re.compile(rf"(?:\s*{_GROUPED})?([^,]*)(?:,|\Z)"), re.compile(r"([^,]*)(?:,|\Z)")
_ENDS = re.compile(r"([-+]?[\d.,]+(?:[eE][-+]?\d+)?)\s*(.*)")


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


@dataclass(frozen=True)
class Span:
    """A range of one quantity as the user wrote it: "tank.upper.capacity=2000 gal..9000 gal:15".

    Attributes
    ----------
    path : str
        "tank.upper.capacity".
    low, high : float
        Its ends, in `unit`.
    unit : str
        Empty for bare numbers.
    count : int or None
        How many values were asked for.
    whole : bool
        Bare whole numbers, such as people.
    """

    path: str
    low: float
    high: float
    unit: str
    count: int | None
    whole: bool

    def text(self, value: float) -> str:
        """A value as it would stand in the file."""
        return f"{round(value, 9):.12g}" + (f" {self.unit}" if self.unit else "")


def dial(asked: str) -> Dial:
    """Read "PATH=LOW..HIGH", "PATH=LOW..HIGH:COUNT" or "PATH=A, B, C".

    Raises
    ------
    InputError
        No path, an empty range, ends in different units.
    """
    path, values = _path_and_values(asked)
    found = span(asked)
    texts = _listed(asked, values) if found is None else _steps(asked, found)
    if not texts:
        raise InputError(f"'{asked}': no value stands between the commas; write A,B,C")
    if len(set(texts)) < len(texts):
        raise InputError(f"'{asked}': a value is named twice; name each once")
    return Dial(path, tuple(texts))


def span(asked: str) -> Span | None:
    """Read the range of "PATH=LOW..HIGH[:COUNT]"; None for a list of values.

    Raises
    ------
    InputError
        No path, an empty range, ends in different units.
    """
    path, values = _path_and_values(asked)
    found = _RANGE.fullmatch(values)
    if found is None and ".." in values:
        raise InputError(
            f"'{asked}': not understood; a range is LOW..HIGH or LOW..HIGH:COUNT, COUNT a whole number"
        )
    if found is None:
        return None
    low, high = (_ENDS.fullmatch(found[end].strip()) for end in ("low", "high"))
    if low is None or high is None:
        raise InputError(f"'{asked}': a range runs between two numbers, such as 1000 ft2..3000 ft2")
    units = {unit for unit in (low[2].strip(), high[2].strip()) if unit}
    if len(units) > 1:
        raise InputError(f"'{asked}': the ends are in {' and '.join(sorted(units))}; write both in one unit")
    for end in (low, high):
        if "," in end[1] and not re.fullmatch(_GROUPED, end[1]):
            raise InputError(
                f"'{asked}': in {end[1]} a comma would separate thousands; write {end[1].replace(',', '.')}"
            )
    first, last = (float(end[1].replace(",", "")) for end in (low, high))
    if not first < last:
        raise InputError(f"'{asked}': the range is empty, {first:g} is not below {last:g}; swap the ends")
    count = int(found["count"]) if found["count"] else None
    if count is not None and not 2 <= count <= MOST_VALUES:
        raise InputError(f"'{asked}': a range has 2 to {MOST_VALUES:,} values, found {count:,}")
    whole = not units and "." not in low[1] + high[1] and (first, last) != (0.0, 1.0)
    return Span(path, first, last, units.pop() if units else "", count, whole)


def _path_and_values(asked: str) -> tuple[str, str]:
    path, equals, values = asked.partition("=")
    if not equals or not path.strip() or not values.strip():
        raise InputError(
            f"'{asked}': write PATH=LOW..HIGH[:COUNT] or PATH=A,B,C, such as"
            ' "roof.barn.area=1000 ft2..3000 ft2:9"'
        )
    return path.strip(), values.strip()


def _listed(asked: str, values: str) -> list[str]:
    """Values between commas; bare numbers take the unit of the last one."""
    texts = [part.strip() for part in _parts(asked, values)]
    last = _ENDS.fullmatch(texts[-1]) if texts else None
    unit = f" {last[2]}" if last is not None and last[2] else ""
    return [f"{text}{unit}" if unit and re.fullmatch(r"[-+]?[\d.,]+", text) else text for text in texts]


def _parts(asked: str, values: str) -> list[str]:
    """Values between commas; a comma inside a number separates thousands, but not in bare numbers.

    After a bare number of four digits or more, "1000,500 gal", no comma is inside a number.
    """
    if re.fullmatch(r"[-+\d.,\s]+", values):
        return [part for part in values.split(",") if part.strip()]
    parts, at, kind = [], 0, _VALUE
    while at < len(values):
        found = kind.match(values, at)
        assert found
        parts.append(found[0].removesuffix(","))
        kind = _UNGROUPED if re.fullmatch(r"\s*[-+]?\d{4,}\s*", parts[-1]) else _VALUE
        at = found.end()
    if len(parts) == 1 and re.match(r"\s*[-+]?\d+,\d{3},", values):
        listed = values.replace(",", ", ")
        one = re.sub(r"(?<=\d),", "", values)
        raise InputError(f'\'{asked}\': one number or several? Write "{listed}" for several, "{one}" for one')
    return [part for part in parts if part.strip()]


def _steps(asked: str, found: Span) -> list[str]:
    """Values from the low to the high end: every whole number of a short range, else eleven."""
    every = found.whole and found.high - found.low <= MOST_STEPS
    count = found.count or (int(found.high - found.low) + 1 if every else USUAL_COUNT)
    if found.whole and count > found.high - found.low + 1:
        raise InputError(
            f"'{asked}': there are not {count} whole numbers in the range; write 1.0 for parts of one"
        )
    values = np.linspace(found.low, found.high, count)
    return list(dict.fromkeys(found.text(round(v) if found.whole else v) for v in values))


def _told(fault: str, changes: Sequence[tuple[str, Any]]) -> str:
    """A fault with the change that made it, where it does not name it itself."""
    if any(path in fault or str(value) in fault for path, value in changes):
        return fault
    return f"with {' and '.join(f'{path} = {value}' for path, value in changes)}: {fault}"


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

    def check(self, base: ScenarioFile) -> None:
        """Try the ends of every dial alone.

        Raises
        ------
        InputError
            With all that does not fit the scenario.
        """
        paths = [each.path for each in self.dials]
        faults = [
            f"{path} is varied twice; give all its values in one --vary"
            for path in dict.fromkeys(paths)
            if paths.count(path) > 1
        ]
        for d, each in enumerate(self.dials):
            for i in dict.fromkeys((0, len(each.texts) - 1)):
                try:
                    self.file(base, [d], [i])
                except InputError as error:
                    faults += error.faults
                    break
            else:
                faults += not_the_holding(each.path)
        if faults:
            raise InputError(list(dict.fromkeys(faults)))

    def file(self, base: ScenarioFile, dials: Sequence[int], at: Sequence[int]) -> ScenarioFile:
        """The scenario with some of the dials turned to their values at these places.

        Raises
        ------
        InputError
            The path or value does not fit the scenario.
        """
        turned = [self.dials[d].changes(i) for d, i in zip(dials, at, strict=True)]
        changes = [*(drop for path, _ in turned for drop in in_place_of(base.scenario, path)), *turned]
        try:
            return base.vary(changes)
        except InputError as error:
            raise InputError([_told(fault, turned) for fault in error.faults]) from None

    def coordinates(self, base: ScenarioFile) -> list[npt.NDArray[np.float64]]:
        """Values of each dial in the inside unit."""
        return [
            np.array(
                [number_at(self.file(base, [d], [i]).scenario, each.path) for i in range(len(each.texts))]
            )
            for d, each in enumerate(self.dials)
        ]
