"""Runs with garden beds; the weather is invented and its evapotranspiration known."""

from __future__ import annotations

from typing import Any

import numpy as np

from holdwater.scores import score
from holdwater.simulation import simulate
from holdwater.weather.record import Provenance, Record, daily_dataset
from tests.charts.runs import Result
from tests.holdings import holding

TANK = {"name": "tank", "capacity": "3000 gal", "diameter": "102 in"}
ROOF = {"name": "barn", "area": "600 ft2", "runoff_coefficient": 0.9, "feeds": "tank"}


def bed(name: str = "tomatoes", **more: Any) -> dict[str, Any]:
    """A garden draw; a bed of green beans has one season of 90 days."""
    plain = {"crop": "green bean", "planted": "05-10", "soil": "loam", "area": "200 ft2", "method": "drip"}
    return {"name": name, "kind": "garden", **plain, **more}


def garden_run(
    rain: Any, first_day: str, beds: list[dict[str, Any]], et0: float = 5.0, **parts: Any
) -> Result:
    """Run beds through this rain [mm] under the same evapotranspiration every day [mm]."""
    rain = np.asarray(rain, dtype=float)
    days = np.arange(np.datetime64(first_day), np.datetime64(first_day) + rain.size)
    data = daily_dataset(days, rain, np.ones(rain.size, dtype=np.int8), et0=np.full(rain.size, et0))
    record = Record(data, Provenance(source="invented", licence="none needed, invented"))
    whole = {
        "title": "Larkfield: a test garden (invented)",
        "tank": [TANK],
        "roof": [ROOF],
        "draw": beds,
    } | parts
    ledger = simulate(holding(**whole), record)
    return ledger, score(ledger)
