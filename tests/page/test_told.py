"""What the page shows of a trial: the curve, the droughts to choose from, the window."""

from __future__ import annotations

import datetime as dt
from pathlib import Path

import numpy as np
import pytest

from holdwater.page import told
from holdwater.page.trial import Trial
from holdwater.scenario import load
from holdwater.weather.record import Provenance

SCENARIO = (
    load(Path(__file__).parents[2] / "scenarios" / "larkfield.toml")
    .vary([("title", "Test holding: invented")])
    .scenario
)


def _trial(level: np.ndarray, dry: list[int], first: str = "2001-01-01") -> Trial:
    n = level.size
    flags = np.zeros(n, dtype=bool)
    flags[dry] = True
    days = np.datetime64(first) + np.arange(n)
    rain = np.where(np.arange(n) % 5 == 0, 4.0, 0.0)
    return Trial(
        days,
        rain,
        level,
        np.where(flags, 10.0, 0.0),
        flags,
        flags.copy(),
        ~(flags | True),
        5000.0,
        100.0,
        0.0,
        0,
        0.0,
    )


def test_the_curve_keeps_every_low_and_every_high() -> None:
    level = 2500 + 2400 * np.sin(np.arange(11_000) / 17.3)
    level[5431], level[777] = 3.0, 4999.0
    found = told.curve(_trial(level, [5431]), told.Window(0, level.size), "metric")
    assert len(found["low"]) == len(found["high"]) <= told.MOST_POINTS
    assert found["width"] == 13
    assert min(found["low"]) == pytest.approx(0.0, abs=0.005)  # 3 L, in m3
    assert max(found["high"]) == pytest.approx(5.0, abs=0.005)
    assert found["low"][5431 // 13] == min(found["low"])
    assert found["unserved"] == [[5431, 5432]]
    assert found["covered"] == []
    assert (found["full"], found["reserve"], found["unit"]) == (5.0, 0.1, "m3")


def test_a_short_window_is_drawn_day_by_day() -> None:
    level = np.linspace(0, 5000, 3000)
    run = _trial(level, [1000, 1001])
    shown = told.window(run, dt.date(2003, 9, 1), dt.date(2003, 10, 30))
    assert run.days[shown.first].item() == dt.date(2003, 9, 1)
    assert run.days[shown.stop - 1].item() == dt.date(2003, 10, 30)
    found = told.curve(run, shown, "us")
    assert (found["days"], found["width"], found["rain_every"]) == (60, 1, "day")
    assert found["dry_days"] == 2
    assert found["first"] == "2003-09-01"
    assert "2 dry days" in told.caption(run, shown)


def test_rain_by_month_keeps_the_sum() -> None:
    run = _trial(np.full(3000, 100.0), [])
    found = told.curve(run, told.Window(0, 3000), "metric")
    assert found["rain_every"] == "month"
    assert sum(bar[2] for bar in found["rain"]) == pytest.approx(run.rain.sum(), rel=1e-3)
    assert found["rain"][0][:2] == [0, 31]


@pytest.mark.parametrize(
    ("first", "last"),
    [(None, None), (dt.date(1990, 1, 1), dt.date(1990, 2, 1)), (dt.date(2001, 5, 1), dt.date(2001, 4, 1))],
)
def test_a_window_outside_the_run_shows_all_of_it(first: dt.date | None, last: dt.date | None) -> None:
    assert told.window(_trial(np.ones(500), []), first, last) == told.Window(0, 500)


def test_the_droughts_are_ranked_by_what_was_short() -> None:
    run = _trial(np.full(1200, 100.0), [100, 101, 120, 900])
    listed = told.droughts(run)
    assert listed[0] == {
        "name": "worst drought, 11 Apr 2001 to 1 May 2001",
        "from": "2001-04-11",
        "to": "2001-05-01",
        "around": told.AROUND,
    }
    assert listed[1]["name"].startswith("last 365 days")
    assert listed[2]["name"] == "drought no. 2, 20 Jun 2003"
    assert "longest without rain" in listed[-1]["name"]


def test_the_weather_and_what_was_filled_in_are_told() -> None:
    assert told.weather(Provenance("a.csv")) == "a.csv; licence: not stated"
    assert told.weather(Provenance("a.csv", licence="free")) == "a.csv; licence: free"
    assert told.filled(Provenance("a.csv")) == []
    assert told.filled(Provenance("a.csv", filled=1200)) == [
        "1,200 days of rain were filled in: any claim about the driest year rests on them"
    ]


def test_without_a_dry_day_the_lowest_water_is_offered() -> None:
    level = np.full(400, 100.0)
    level[55] = 1.0
    run = _trial(level, [])
    assert told.droughts(run)[0]["name"] == "lowest water, 25 Feb 2001"
    assert told.verdict(run, SCENARIO, Provenance("a.csv")) == (
        "Test holding would not have run dry on any day in 1.1 years. Last year (2002, 35 days of it): no dry days."
    )
