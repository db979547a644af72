"""Tables that come with the program: roof surfaces and animals, every row with its source."""

from __future__ import annotations

import csv
from bisect import bisect_right
from dataclasses import dataclass
from functools import lru_cache
from importlib.resources import files
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from holdwater.scenario.schema import Roof

ROOM_TEMPERATURE = 20.0  # degC = 68 degF, where the poultry table stands
_LITRES = {  # per head and day, by the unit a source prints
    "gal/head/day": 3.785411784,
    "gal/100 head/day": 3.785411784 / 100,
    "L/head/day": 1.0,
    "L/100 head/day": 0.01,
}


@dataclass(frozen=True)
class Surface:
    """A roof surface and the share of the rain on its plan area that reaches the gutter.

    Attributes
    ----------
    low, high : float
        Range of the published runoff coefficients. [-]
    used : float
        The value a scenario gets that names this surface. [-]
    how_known : str
        "read", "read second-hand", "read in part" or "from memory".
    source : str
        Where the values come from.
    """

    name: str
    low: float
    high: float
    used: float
    how_known: str
    source: str


@dataclass(frozen=True)
class Drinking:
    """One published row: what an animal drinks, at an air temperature where one is given.

    Attributes
    ----------
    temperature : float or None
        Air temperature. [degC]
    low, high : float
        Range as published; equal where one value is. [L/head/day]
    how_known, source, note : str
        As in the table.
    """

    temperature: float | None
    low: float
    high: float
    how_known: str
    source: str
    note: str

    @property
    def used(self) -> float:
        """Middle of the published range. [L/head/day]"""
        return (self.low + self.high) / 2


@dataclass(frozen=True)
class Animal:
    """What one kind of animal drinks, as published."""

    name: str
    rows: tuple[Drinking, ...]

    def litres_at(self, temperature: float = ROOM_TEMPERATURE) -> float:
        """Water one head drinks in a day, straight lines between the published temperatures.

        Parameters
        ----------
        temperature : float
            Air temperature; beyond the published ones the nearest holds. [degC]

        Returns
        -------
        float
            [L/head/day]
        """
        known = [(row.temperature, row.used) for row in self.rows if row.temperature is not None]
        if not known or temperature <= known[0][0]:
            return self.rows[0].used
        if temperature >= known[-1][0]:
            return known[-1][1]
        above = bisect_right([t for t, _ in known], temperature)
        (t0, low), (t1, high) = known[above - 1], known[above]
        return low + (high - low) * (temperature - t0) / (t1 - t0)

    @property
    def source(self) -> str:
        """Where the rows come from."""
        return "; ".join(dict.fromkeys(row.source for row in self.rows))


def rows(table: str) -> list[dict[str, str]]:
    """Every row of one of the tables of this folder, as text by column.

    Parameters
    ----------
    table : str
        Name of the table: "surfaces", "animals".
    """
    text = files(__name__).joinpath(f"{table}.csv").read_text(encoding="utf-8")
    return list(csv.DictReader(text.splitlines(), strict=True))


@lru_cache(maxsize=1)
def surfaces() -> dict[str, Surface]:
    """Roof surfaces by name, with their runoff coefficients [-]."""
    return {
        row["surface"]: Surface(
            row["surface"],
            float(row["low"]),
            float(row["high"]),
            float(row["used"]),
            row["how_known"],
            row["source"],
        )
        for row in rows("surfaces")
    }


@lru_cache(maxsize=1)
def animals() -> dict[str, Animal]:
    """Animals by name, with what they drink by air temperature [L/head/day]."""
    found: dict[str, list[Drinking]] = {}
    for row in rows("animals"):
        litres = _LITRES[row["unit"]]
        temperature = (float(row["t_degF"]) - 32) / 1.8 if row["t_degF"] else None
        found.setdefault(row["animal"], []).append(
            Drinking(
                temperature,
                float(row["low"]) * litres,
                float(row["high"]) * litres,
                row["how_known"],
                row["source"],
                row["note"],
            )
        )
    return {name: Animal(name, tuple(published)) for name, published in found.items()}


@lru_cache(maxsize=1)
def _hints() -> dict[tuple[str, str], list[str]]:
    return {(row["table"], row["word"]): row["names"].split("|") for row in rows("hints")}


def meant_by(table: str, word: str) -> list[str]:
    """Names of a table that a word may stand for: "doe", "doe, milking" and "doe, dry" for "goats".

    They are questions to the owner; nothing is ever chosen by them.

    Parameters
    ----------
    table : str
        "animal", "crop", "soil", "surface", "method" or "fixture".
    word : str
        What was written.
    """
    said = word.lower().split()
    for phrase in (" ".join(said), said[-1] if said else ""):
        tries = (
            phrase,
            phrase.removesuffix("s"),
            phrase.removesuffix("es"),
            phrase.removesuffix("ies") + "y",
        )
        for each in tries:
            if (table, each) in _hints():
                return _hints()[table, each]
    return []


def runoff_coefficient(roof: Roof) -> float:
    """Share of the rain on a roof's plan area that reaches the gutter [-].

    Parameters
    ----------
    roof : Roof
        Its own `runoff_coefficient` counts, else the one of its `surface`.
    """
    if roof.runoff_coefficient is not None:
        return roof.runoff_coefficient
    return surfaces()[roof.surface or ""].used
