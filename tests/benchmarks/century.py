"""A hundred years of the demo's invented weather."""

from __future__ import annotations

import numpy as np

from holdwater.scenario.schema import Scenario
from holdwater.weather.record import Record, daily_dataset


def repeated(scenario: Scenario, record: Record, years: int) -> tuple[Scenario, Record]:
    """The record laid end to end until it fills so many years from 1926 on."""
    days = np.arange(np.datetime64("1926-01-01"), np.datetime64(f"{1926 + years}-01-01"))
    columns = {name: np.resize(record.data[name].values, days.size) for name in record.data.data_vars}
    rain, origin = columns.pop("rain"), columns.pop("origin")
    longer = Record(daily_dataset(days, rain, origin, **columns), record.provenance)
    return scenario.model_copy(update={"run": type(scenario.run)(rule=scenario.run.rule)}), longer
