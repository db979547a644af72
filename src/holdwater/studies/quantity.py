"""What a path of the scenario is called, and what kind of quantity it leads to."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Any, Literal, get_args

import numpy as np
import numpy.typing as npt
from pydantic import BaseModel

from holdwater.scenario import ScenarioFile, quantities, tables
from holdwater.scenario.faults import inner_model
from holdwater.scenario.schema import Scenario
from holdwater.studies.dials import Dial
from holdwater.studies.paths import number_at, split, value_at
from holdwater.units import Kind, Level, System, scale, show
from holdwater.units.showing import figures

Floats = npt.NDArray[np.float64]

_READERS: tuple[tuple[Any, Kind | Literal["level"]], ...] = (
    (quantities.Altitude, "altitude"),
    (quantities.Area, "area"),
    (quantities.Base, "base"),
    (quantities.Depth, "depth"),
    (quantities.Duration, "duration"),
    (quantities.Flow, "flow"),
    (quantities.Height, "height"),
    (quantities.Level, "level"),
    (quantities.Price, "price"),
    (quantities.Share, "share"),
    (quantities.Volume, "volume"),
)
_KINDS = {id(reader.__metadata__[0]): kind for reader, kind in _READERS}
LESS_IS_MORE = ("draw.", "reserve.")
LOSSES = ("first_flush", "wetting_loss", "leak", "outlet", "evaporation_factor", "snow_lost")
SI = {
    "altitude": "m",
    "area": "m2",
    "base": "mm",
    "bulk": "L",
    "depth": "mm",
    "duration": "day",
    "flow": "L day-1",
    "height": "mm",
    "price": "L-1",
    "share": "1",
    "volume": "L",
}
"""Units of the inside, as CF writes them."""


@dataclass(frozen=True)
class Axis:
    """A dial with its values as numbers, ready for tables and charts.

    Attributes
    ----------
    dial : Dial
        The path and the values as written.
    label : str
        "barn roof area".
    kind : str or None
        Kind of quantity; None for a bare number or a word.
    values : ndarray
        In the inside unit; NaN for words.
    present : float
        What it is in the scenario itself; NaN where it is no number there.
    word : str
        The same where it is a word.
    """

    dial: Dial
    label: str
    kind: Kind | None
    values: Floats
    present: float
    word: str = ""

    @property
    def numeric(self) -> bool:
        """Whether every value is a number."""
        return not any(math.isnan(value) for value in self.values)

    @property
    def present_place(self) -> int | None:
        """Which of the values the scenario has itself, where it is among them."""
        if not self.numeric:
            return self.dial.texts.index(self.word) if self.word in self.dial.texts else None
        found = np.flatnonzero(np.isclose(self.values, self.present, rtol=1e-9, atol=0.0))
        return int(found[0]) if found.size else None

    @property
    def name(self) -> str:
        """The path as a name that CF allows."""
        return "".join(c if c.isalnum() else "_" for c in self.dial.path.replace('"', "")).strip("_")

    def shown(self, system: System) -> tuple[Floats, str]:
        """The values in the unit shown, and its label; "" for a bare number."""
        factor, unit = (
            scale("bulk" if self.kind == "volume" else self.kind, system) if self.kind else (1.0, "")
        )
        return self.values * factor, unit

    def titled(self, system: System) -> str:
        """The label with its unit: "Barn roof area [ft2]"."""
        unit = self.shown(system)[1]
        return self.label[:1].upper() + self.label[1:] + (f" [{unit}]" if unit else "")

    def say(self, i: int, system: System) -> str:
        """One value for people: "2,200 ft2"."""
        return say(self.values[i], self.kind, system) if self.numeric else self.dial.texts[i]


def say(value: float, kind: Kind | None, system: System) -> str:
    """Write a value of some kind for people; a bare number without a unit."""
    return show(value, kind, system) if kind else figures(value)


def axis(dial: Dial, base: ScenarioFile, turned: list[ScenarioFile]) -> Axis:
    """Read the values of a dial off the scenarios it makes.

    Parameters
    ----------
    dial : Dial
        The dial.
    base : ScenarioFile
        The scenario as it is.
    turned : list of ScenarioFile
        The same with the dial at each of its values.
    """
    values = np.array([number_at(file.scenario, dial.path) for file in turned])
    present = _present(base.scenario, dial.path)
    word = value_at(base.scenario, dial.path)
    return Axis(
        dial,
        label(dial.path, base.scenario),
        kind_at(turned[0].scenario, dial.path),
        values,
        present,
        word if isinstance(word, str) else "",
    )


def _present(scenario: Scenario, path: str) -> float:
    """What a path leads to now; a coefficient that the surface sets comes from the table."""
    section, *keys = split(scenario, path)
    if section == "roof" and keys[1:] == ["runoff_coefficient"]:
        return next(tables.runoff_coefficient(roof) for roof in scenario.roof if roof.name == keys[0])
    return number_at(scenario, path)


def label(path: str, scenario: Scenario) -> str:
    """What a path is called in words: "barn roof area", "house people", "hauler starts below"."""
    section, *rest = split(scenario, path)
    named = isinstance(getattr(scenario, section, None), list)
    name, keys = (rest[0], rest[1:]) if named else ("", rest)
    told = section if section in ("roof", "tank", "reserve") and not name.lower().endswith(section) else ""
    return " ".join(part.replace("_", " ") for part in (name, told, *keys) if part)


def kind_at(scenario: Scenario, path: str) -> Kind | None:
    """Kind of quantity a path leads to in a checked scenario; None for a bare number, a word, a table."""
    section, *keys = split(scenario, path)
    here: Any = scenario
    for key in [section, *keys[:-1]]:
        here = _inside(here, key)
    if not keys or not isinstance(here, BaseModel):
        return None
    name = keys[-1] if keys[-1] in type(here).model_fields else f"{keys[-1]}_"
    info = type(here).model_fields.get(name)
    marks = [] if info is None else [*info.metadata, *_marks(info.annotation)]
    kind = next((_KINDS[id(mark)] for mark in marks if id(mark) in _KINDS), None)
    if kind != "level":
        return kind
    held = getattr(here, name)
    return "volume" if isinstance(held, Level) and held.share is None else "share"


def _marks(annotation: Any) -> list[Any]:
    """What stands beside the types of an annotation, inside unions too."""
    found = list(getattr(annotation, "__metadata__", ()))
    for part in get_args(annotation):
        found += _marks(part) if part is not annotation else []
    return found


def _inside(here: Any, key: str) -> Any:
    if isinstance(here, list):
        return next((part for part in here if getattr(part, "name", None) == key), None)
    held = getattr(here, key, None)
    if held is None and isinstance(here, BaseModel):
        return inner_model(type(here), key)
    return held


def more_helps(path: str) -> bool:
    """Whether a larger value is expected to mean fewer dry days, by what the path is."""
    return not path.startswith(LESS_IS_MORE) and not any(loss in path for loss in LOSSES)
