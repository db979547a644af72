"""Intervals of a run's scores through the compiled engine."""

from __future__ import annotations

import numpy as np
import pytest

from holdwater.errors import InputError
from holdwater.scores import score
from holdwater.simulation import simulate
from holdwater.studies.confidence import confidence, numbers_of
from holdwater.studies.resample import resample
from tests.charts.runs import wet_winters
from tests.holdings import holding, record

SCENARIO = holding(
    roof=[{"name": "barn", "area": "120 m2", "runoff_coefficient": 0.9, "feeds": "tank"}],
    tank=[{"name": "tank", "capacity": "12 m3", "diameter": "2.4 m"}],
    draw=[{"name": "house", "kind": "fixed", "per_day": "300 L/day"}],
    backup=[{"name": "well", "kind": "direct", "per_day": "100 L/day", "cost_per_volume": "2 per m3"}],
)
WEATHER = record(wet_winters("2001-01-01", "2012-12-31").tolist(), "2001-01-01")


def test_the_numbers_of_a_drawn_record_are_those_of_its_run() -> None:
    drawn = resample(WEATHER, (1, 0))
    told, scores = numbers_of(SCENARIO)(drawn), score(simulate(SCENARIO, drawn))
    assert told["dry_days_per_year"] == pytest.approx(scores.dry_days.per_year)
    assert told["unserved_days_per_year"] == pytest.approx(scores.unserved_days / (drawn.days.size / 365.25))
    assert told["reliability_volume"] == pytest.approx(scores.reliability_volume)
    assert told["backup_cost_per_year"] == pytest.approx(scores.cost / (drawn.days.size / 365.25))
    assert told["dry_years_share"] == np.mean([n > 0 for n in scores.dry_days.by_year.values()])


def test_intervals_hold_the_run_and_the_same_seed_gives_the_same() -> None:
    found = confidence(SCENARIO, WEATHER, samples=39, seed=2)
    assert found == confidence(SCENARIO, WEATHER, samples=39, seed=2)
    assert found != confidence(SCENARIO, WEATHER, samples=39, seed=3)
    days = found["dry_days_per_year"]
    assert days.here == pytest.approx(score(simulate(SCENARIO, WEATHER)).dry_days.per_year)
    assert days.interval.low < days.here < days.interval.high
    assert (days.interval.level, days.interval.samples) == (0.9, 39)


def test_the_period_of_the_run_is_what_is_drawn_from() -> None:
    late = SCENARIO.model_copy(
        update={"run": SCENARIO.run.model_copy(update={"from_": WEATHER.first.replace(year=2005)})}
    )
    with pytest.raises(InputError, match="this record has 8"):
        confidence(late, WEATHER, samples=20)
