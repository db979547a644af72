"""Small holdings and records for the tests; everything here is invented."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

import numpy as np

from holdwater.ledger import Ledger
from holdwater.scenario.schema import Scenario
from holdwater.simulation import simulate
from holdwater.weather.record import Provenance, Record, daily_dataset

FIRST_DAY = "2001-01-01"


def record(rain: Sequence[float], first_day: str = FIRST_DAY, **others: Sequence[float]) -> Record:
    """Rain of consecutive days [mm] as an observed record, with `t_min`, `t_max` [degC] or `et0` [mm]."""
    start = np.datetime64(first_day)
    days = np.arange(start, start + len(rain))
    columns = {name: np.asarray(values, dtype=float) for name, values in others.items()}
    data = daily_dataset(days, np.asarray(rain, dtype=float), np.ones(len(rain), dtype=np.int8), **columns)
    return Record(data, Provenance(source="invented for a test"))


def holding(**parts: Any) -> Scenario:
    """A scenario from parts; what is left out is one roof of 1000 m2, one 5 m3 tank, 1 m3 a day.

    With 1000 m2 and a runoff coefficient of 1, one millimetre of rain is one cubic metre of inflow.
    """
    roof = {"name": "roof", "area": "1000 m2", "runoff_coefficient": 1.0, "feeds": "tank"}
    tank = {"name": "tank", "capacity": "5 m3", "diameter": "2 m"}
    draw = {"name": "house", "kind": "fixed", "per_day": "1 m3/day"}
    whole = {
        "title": "Test holding (invented)",
        "weather": {"file": "none.csv"},
        "roof": [roof],
        "tank": [tank],
        "draw": [draw],
    }
    return Scenario.model_validate(whole | parts)


def run(rain: Sequence[float], **parts: Any) -> Ledger:
    """Run a holding through this rain [mm]."""
    return simulate(holding(**parts), record(rain))


def live(weather: Mapping[str, Sequence[float]], first_day: str = FIRST_DAY, **parts: Any) -> Ledger:
    """Run a holding through weather with more than rain: columns as `record` takes them."""
    return simulate(holding(**parts), record(first_day=first_day, **weather))


def m3(ledger: Ledger, name: str, row: int = 0) -> list[float]:
    """One row of an entry in cubic metres, rounded to the litre's millionth."""
    values: list[float] = (ledger.flux(name)[row] / 1000.0).round(9).tolist()
    return values
