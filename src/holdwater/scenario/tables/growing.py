"""The tables of growing and using water: crops, soils, irrigation methods, household fixtures."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from difflib import get_close_matches
from functools import lru_cache
from typing import Literal, TypeAlias

from holdwater.scenario import tables

Stages: TypeAlias = tuple[int, int, int, int]
Habit: TypeAlias = Literal["annual", "perennial", "ground cover"]

MM_PER_M = 1000.0
TOP_LAYER = 100.0  # mm of soil that dries by evaporation; FAO-56 chapter 7 gives 100 to 150


@dataclass(frozen=True)
class Crop:
    """A row of the table of crops.

    Attributes
    ----------
    habit : str
        "annual", "perennial", or "ground cover", which covers the soil all year.
    kc_ini, kc_mid, kc_end : float
        Crop coefficients of the stages [-].
    stages : tuple of 4 int, or None
        Length of the initial, development, mid and late stage; None where none is tabulated [days].
    root_depth, deepest : float
        Smaller and larger maximum root depth; the smaller serves for timing irrigation [mm].
    p : float
        Share of the available water used up before the crop suffers, at 5 mm/day [-].
    how_known, source : str
        As in the table.
    """

    name: str
    habit: Habit
    kc_ini: float
    kc_mid: float
    kc_end: float
    stages: Stages | None
    root_depth: float
    deepest: float
    p: float
    how_known: str
    source: str


@dataclass(frozen=True)
class Soil:
    """A row of the table of soils; water contents as shares of the soil's volume [-].

    Attributes
    ----------
    field_capacity, wilting_point : tuple of 2 float
        Low and high end of the tabulated range.
    evaporates_freely : tuple of 2 float
        Range of the readily evaporable water REW of the top layer [mm].
    """

    name: str
    field_capacity: tuple[float, float]
    wilting_point: tuple[float, float]
    evaporates_freely: tuple[float, float]
    how_known: str
    source: str

    @property
    def holds(self) -> float:
        """Water between field capacity and wilting point, middles of the ranges [mm per mm of soil]."""
        return (sum(self.field_capacity) - sum(self.wilting_point)) / 2.0

    @property
    def evaporable(self) -> float:
        """Water that bare soil can lose from its top layer, TEW, eq. 73, middles of the ranges [mm]."""
        return (sum(self.field_capacity) - 0.5 * sum(self.wilting_point)) / 2.0 * TOP_LAYER

    @property
    def readily_evaporable(self) -> float:
        """Water that bare soil loses as fast as the weather takes it, REW, middle of the range [mm]."""
        return sum(self.evaporates_freely) / 2.0


@lru_cache(maxsize=1)
def crops() -> dict[str, Crop]:
    """Crops by name, FAO-56 Tables 11, 12 and 22."""
    return {row["crop"]: _crop(row) for row in tables.rows("crops")}


@lru_cache(maxsize=1)
def soils() -> dict[str, Soil]:
    """Soils by name, FAO-56 Table 19."""
    return {
        row["soil"]: Soil(
            row["soil"],
            (float(row["fc_low"]), float(row["fc_high"])),
            (float(row["wp_low"]), float(row["wp_high"])),
            (float(row["rew_low_mm"]), float(row["rew_high_mm"])),
            row["how_known"],
            row["source"],
        )
        for row in tables.rows("soils")
    }


@lru_cache(maxsize=1)
def methods() -> dict[str, float]:
    """Share of the water applied that reaches the root zone, by irrigation method [-]."""
    return {row["method"]: float(row["efficiency"]) for row in tables.rows("methods")}


@lru_cache(maxsize=1)
def fixtures() -> dict[str, float]:
    """Indoor water of an average US household by fixture, Residential End Uses of Water 2016 [L/day]."""
    return {row["fixture"]: float(row["L_per_day"]) for row in tables.rows("fixtures")}


def named(kind: str, name: str, known: Iterable[str]) -> str | None:
    """What is wrong with a name that a table does not have, with a did-you-mean; None if it has it."""
    names = list(known)
    if name in names:
        return None
    close = get_close_matches(name.casefold(), names, n=1, cutoff=0.6)
    hint = f"did you mean '{close[0]}'? " if close else ""
    cure = f"`holdwater tables {kind}s` lists them" if len(names) > 9 else f"known are {', '.join(names)}"
    return f"{kind} '{name}' is not in the table; {hint}{cure if not close else cure[0].upper() + cure[1:]}"


def _crop(row: dict[str, str]) -> Crop:
    lengths = [row[f"days_{stage}"] for stage in ("ini", "dev", "mid", "late")]
    ini, dev, mid, late = (int(length or 0) for length in lengths)
    habits: dict[str, Habit] = {h: h for h in ("annual", "perennial", "ground cover")}
    return Crop(
        row["crop"],
        habits[row["habit"]],
        float(row["kc_ini"]),
        float(row["kc_mid"]),
        float(row["kc_end"]),
        (ini, dev, mid, late) if all(lengths) else None,
        float(row["root_min_m"]) * MM_PER_M,
        float(row["root_max_m"]) * MM_PER_M,
        float(row["p"]),
        row["how_known"],
        row["source"],
    )
