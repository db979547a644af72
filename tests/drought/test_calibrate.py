"""Calibration: known parameters come back, and a log that cannot tell is refused."""

from __future__ import annotations

import datetime as dt
import math
from collections.abc import Sequence
from dataclasses import replace
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from holdwater.errors import InputError
from holdwater.ledger import Ledger
from holdwater.scenario.schema import Scenario
from holdwater.scenario.toml_text import parse
from holdwater.simulation import simulate
from holdwater.studies.calibrate import Calibration, calibrate, lines_to_paste
from holdwater.studies.level_log import Filled, LevelLog, Measured, read_levels
from holdwater.studies.level_model import Model
from holdwater.studies.level_numbers import NAMES
from holdwater.studies.level_profile import correlation
from holdwater.studies.level_runs import Trials
from holdwater.weather.record import Record
from tests.drought.test_outlook import weathered
from tests.holdings import holding, record

FIRST = "2024-03-01"


def rain(days: int, seed: int = 7) -> Record:
    """Invented showers."""
    drawn = np.random.default_rng(seed)
    fell = np.where(drawn.random(days) < 0.25, drawn.gamma(0.6, 9.0, days), 0.0)
    return record(fell.round(1).tolist(), FIRST)


def barn(coefficient: float, flush: float, leak: float, **parts: Any) -> Scenario:
    roof = {
        "name": "barn",
        "area": "150 m2",
        "runoff_coefficient": coefficient,
        "first_flush": {"volume": f"{flush} L"},
        "feeds": "tank",
    }
    tank = {
        "name": "tank",
        "capacity": "15 m3",
        "diameter": "2.6 m",
        "outlet": "8 cm",
        "leak": f"{leak} L/day",
    }
    draw = {"name": "house", "kind": "fixed", "per_day": "110 L/day"}
    return holding(**({"roof": [roof], "tank": [tank], "draw": [draw], "run": {"start_full": 0.5}} | parts))


TRUE = barn(0.80, 90.0, 12.0)
WRITTEN = barn(0.90, 60.0, 0.0)
TRUTH = {"runoff": 0.80 / 0.90, "first flush": 90.0 / 60.0, "leak": 12.0}


def log_of(true: Scenario, weather: Record, every: int, noise: float, seed: int) -> LevelLog:
    """What a gauge with this much scatter [L] would have shown every so many evenings, from the eve on."""
    return log_between(simulate(true, weather), 0, None, every, noise, seed)


def log_between(
    ledger: Ledger, first: int, last: int | None, every: int, noise: float, seed: int
) -> LevelLog:
    """The same from one state of a run to another, the water of all tanks together, and what was filled in."""
    water = ledger.flux("drawable").sum(axis=0)
    places = np.arange(water.size)[first:last:every]
    scatter = np.random.default_rng(seed).normal(0.0, noise, places.size)
    values = np.maximum(water[places] + scatter, 0.0)
    eve = ledger.days[0].item() - dt.timedelta(days=1)
    dates = [eve + dt.timedelta(days=i) for i in places.tolist()]
    tank = ledger.scenario.tank[0].name if len(ledger.scenario.tank) == 1 else None
    brought = ledger.flux("refill").sum(axis=0)
    return LevelLog(
        [Measured(on, tank, None, float(v)) for on, v in zip(dates, values, strict=True)],
        [Filled(on.item(), float(v)) for on, v in zip(ledger.days, brought, strict=True) if v > 0.0],
    )


def found_in(result: Calibration) -> dict[str, tuple[float, float, float]]:
    found: dict[str, tuple[float, float, float]] = {}
    for one in result.fitted:
        assert one.low is not None
        assert one.high is not None
        found[one.name] = (one.low, one.value, one.high)
    return found


def test_without_scatter_the_numbers_come_back() -> None:
    weather = rain(60)
    result = calibrate(WRITTEN, weather, log_of(TRUE, weather, 2, 0.0, 0))
    for name, (_, value, _) in found_in(result).items():
        assert value == pytest.approx(TRUTH[name], rel=1e-3)
    assert result.misfit_after < 1.0 < result.misfit_before
    roof, tank = result.fitted_scenario.roof[0], result.fitted_scenario.tank[0]
    assert roof.runoff_coefficient == pytest.approx(0.80, rel=1e-3)
    assert roof.first_flush is not None
    assert roof.first_flush.volume == pytest.approx(90.0, rel=1e-3)
    assert tank.leak == pytest.approx(12.0, rel=1e-3)


def coverage(written: Scenario, weathers: Sequence[Record], logs: Sequence[LevelLog]) -> tuple[int, int]:
    """In how many logs all numbers lie within their intervals, and in how many the worst of them does."""
    held = dict.fromkeys(NAMES, 0)
    together = 0
    for weather, log in zip(weathers, logs, strict=True):
        found = found_in(calibrate(written, weather, log))
        assert list(found) == list(NAMES)
        inside = {name: found[name][0] <= TRUTH[name] <= found[name][2] for name in NAMES}
        held = {name: held[name] + inside[name] for name in NAMES}
        together += all(inside.values())
    return together, min(held.values())


def test_with_scatter_the_numbers_lie_in_their_intervals_in_ninety_of_a_hundred_logs() -> None:
    """The intervals claim to hold all three numbers together with 95 % confidence; measured: 97, the worst 97."""
    weather = rain(30)
    logs = [log_of(TRUE, weather, 1, 40.0, seed) for seed in range(100)]
    together, worst = coverage(WRITTEN, [weather] * 100, logs)
    assert together >= 90
    assert worst >= 93


def with_beds(coefficient: float, flush: float, leak: float, **parts: Any) -> Scenario:
    """Two beds that stop at different levels: the simulation switches, and the misfit has steps."""
    beds = [
        {"name": name, "kind": "garden", "area": area, "crop": crop, "planted": planted, "soil": soil,
         "stops_below": stop, "priority": 2 + i}
        for i, (name, area, crop, planted, soil, stop) in enumerate(
            [("tomatoes", "50 m2", "tomato", "05-01", "sandy loam", "25 %"),
             ("beans", "30 m2", "green bean", "05-10", "loam", "40 %")]
        )
    ]  # fmt: skip
    house = {"name": "house", "kind": "fixed", "per_day": "60 L/day", "priority": 1}
    place = {"latitude": 40.0, "longitude": -100.0, "elevation": "500 m"}
    return barn(coefficient, flush, leak, draw=[house, *beds], place=place, run={"start_full": 0.8}, **parts)


def test_beds_that_stop_at_a_level_do_not_spoil_the_intervals() -> None:
    """Other weather for every log, gauge and numbers as above; measured: 96, the worst 98."""
    weathers = [weathered("2023-05-01", 520, seed=100 + seed) for seed in range(100)]
    true = with_beds(0.80, 90.0, 12.0)
    ledgers = [simulate(true, weather) for weather in weathers]
    logs = [log_between(ledger, 381, 501, 3, 40.0, seed) for seed, ledger in enumerate(ledgers)]
    held_back = [ledger.flux("held_back")[1:, 380:500].sum() > 0.0 for ledger in ledgers]
    assert sum(held_back) > 50
    together, worst = coverage(with_beds(0.90, 60.0, 0.0), weathers, logs)
    assert together >= 90
    assert worst >= 93


def test_intervals_narrow_with_a_better_gauge() -> None:
    weather = rain(60)
    rough, fine = (
        found_in(calibrate(WRITTEN, weather, log_of(TRUE, weather, 2, s, 3))) for s in (60.0, 15.0)
    )
    for name in NAMES:
        assert fine[name][2] - fine[name][0] < 0.5 * (rough[name][2] - rough[name][0])


def test_some_numbers_alone_and_the_others_as_written() -> None:
    weather = rain(60)
    true = barn(0.90, 60.0, 20.0)
    result = calibrate(WRITTEN, weather, log_of(true, weather, 2, 0.0, 0), fit=["leak"])
    assert [one.name for one in result.fitted] == ["leak"]
    assert result.fitted[0].value == pytest.approx(20.0, rel=1e-3)
    assert result.fitted_scenario.roof == WRITTEN.roof


def test_a_first_flush_is_found_where_none_was_written() -> None:
    weather = rain(60)
    none = barn(0.90, 60.0, 0.0)
    bare = none.model_copy(update={"roof": [none.roof[0].model_copy(update={"first_flush": None})]})
    result = calibrate(bare, weather, log_of(none, weather, 1, 0.0, 0), fit=["runoff", "first flush"])
    chamber = result.fitted_scenario.roof[0].first_flush
    assert chamber is not None
    assert chamber.depth == pytest.approx(60.0 / 150.0, rel=1e-2)
    assert any('depth = "0.4' in line for line in lines_to_paste(result, "metric"))


def test_readings_of_a_morning_stand_before_the_day() -> None:
    weather = rain(60)
    evening = log_of(TRUE, weather, 2, 0.0, 0)
    morning = LevelLog(
        [Measured(one.on + dt.timedelta(days=1), one.tank, None, one.drawable_L) for one in evening.readings],
        [],
    )
    early = calibrate(WRITTEN, weather, morning, morning=True)
    late = calibrate(WRITTEN, weather, evening)
    assert [one.value for one in early.fitted] == [one.value for one in late.fitted]
    assert str(early.days[0]) == FIRST
    assert str(late.days[0]) == "2024-02-29"


def test_water_filled_in_is_taken_from_the_log_and_not_from_the_rule() -> None:
    hauler = {"name": "hauler", "kind": "refill", "starts_below": "49 %", "load": "3 m3", "lead_days": 2}
    true, written = barn(0.80, 90.0, 12.0, backup=[hauler]), barn(0.90, 60.0, 0.0, backup=[hauler])
    weather = rain(60)
    ledger = simulate(true, weather)
    brought = float(ledger.flux("supplied")[0].sum())
    assert brought > 0.0
    result = calibrate(written, weather, log_between(ledger, 0, None, 2, 0.0, 0))
    for name, (_, value, _) in found_in(result).items():
        assert value == pytest.approx(TRUTH[name], rel=1e-2)
    assert result.filled_L == pytest.approx(brought)


def test_leaks_written_keep_their_proportions() -> None:
    two = [
        {"name": n, "capacity": "8 m3", "diameter": "2 m", "leak": f"{leak} L/day"}
        for n, leak in (("upper", 3.0), ("lower", 1.0))
    ]
    parts: dict[str, Any] = {"tank": two, "link": [{"tanks": ["upper", "lower"]}]}
    written = barn(0.9, 60.0, 0.0, **parts).model_copy(
        update={"roof": [WRITTEN.roof[0].model_copy(update={"feeds": "upper"})]}
    )
    true = written.model_copy(
        update={
            "tank": [
                t.model_copy(update={"leak": leak}) for t, leak in zip(written.tank, (12.0, 4.0), strict=True)
            ]
        }
    )
    weather = rain(60)
    water = simulate(true, weather).flux("drawable").sum(axis=0)
    eve = weather.first - dt.timedelta(days=1)
    log = LevelLog(
        [Measured(eve + dt.timedelta(days=i), None, None, float(water[i])) for i in range(0, 61, 2)], []
    )
    result = calibrate(written, weather, log, fit=["leak"])
    assert result.fitted[0].value == pytest.approx(16.0, rel=1e-3)
    assert [tank.leak for tank in result.fitted_scenario.tank] == [
        pytest.approx(12.0, rel=1e-3),
        pytest.approx(4.0, rel=1e-3),
    ]


# Logs that cannot tell


def test_three_readings_are_refused_kindly() -> None:
    weather = rain(60)
    log = LevelLog(log_of(TRUE, weather, 20, 0.0, 0).readings[:3], [])
    with pytest.raises(
        InputError, match=r"3 days of readings are too few .* 7 or more are needed.* --fit leak"
    ):
        calibrate(WRITTEN, weather, log)


def test_a_log_without_rain_does_not_feel_the_roof() -> None:
    weather = record([0.0] * 40, FIRST)
    log = log_of(TRUE, weather, 2, 0.0, 0)
    with pytest.raises(InputError) as refused:
        calibrate(WRITTEN, weather, log, fit=NAMES)
    assert len(refused.value.faults) == 2
    assert "the log does not feel the first flush: too little rain fell" in refused.value.faults[0]
    assert "the log does not feel the runoff: too little rain fell" in refused.value.faults[1]
    assert refused.value.faults[1].endswith('trust the scenario for first flush and runoff: --fit "leak"')
    result = calibrate(WRITTEN, weather, log)
    assert [one.name for one in result.fitted] == ["leak"]
    assert result.fitted[0].value == pytest.approx(12.0, rel=1e-3)
    assert [(one.name, one.twin) for one in result.untold] == [("first flush", None), ("runoff", None)]
    assert result.fitted_scenario.roof == WRITTEN.roof


def test_storms_all_alike_cannot_tell_runoff_from_first_flush() -> None:
    weather = record(([0.0] * 5 + [8.0]) * 8, FIRST)
    log = log_of(TRUE, weather, 1, 0.0, 0)
    with pytest.raises(InputError, match=r'cannot tell runoff and first flush apart.* --fit "runoff,leak"'):
        calibrate(WRITTEN, weather, log, fit=NAMES)
    result = calibrate(barn(0.9, 90.0, 0.0), weather, log)
    assert [(one.name, one.twin) for one in result.untold] == [("first flush", "runoff")]
    assert [one.name for one in result.fitted] == ["runoff", "leak"]
    assert result.fitted[0].value == pytest.approx(TRUTH["runoff"], rel=1e-3)


def test_a_tank_that_stays_full_tells_nothing_of_the_roof() -> None:
    weather = record([30.0] * 40, FIRST)
    scenario = barn(0.9, 60.0, 0.0, run={"start_full": 1.0})
    log = log_of(scenario, weather, 2, 0.0, 0)
    with pytest.raises(InputError, match="does not feel the") as refused:
        calibrate(scenario, weather, log, fit=["runoff", "first flush"])
    assert len(refused.value.faults) == 2
    assert "--fit" not in str(refused.value)
    result = calibrate(scenario, weather, log)
    assert result.outcome == "as written"
    assert {one.name for one in result.untold} == {"runoff", "first flush"}


# Logs that do not fit


def test_water_that_nobody_wrote_down_is_named_and_no_interval_claimed() -> None:
    hauler = {"name": "hauler", "kind": "refill", "starts_below": "30 %", "load": "4 m3", "lead_days": 1}
    draw = [{"name": "house", "kind": "fixed", "per_day": "400 L/day"}]
    true = barn(0.80, 90.0, 12.0, backup=[hauler], draw=draw)
    weather = rain(120)
    ledger = simulate(true, weather)
    whole = log_between(ledger, 0, None, 2, 20.0, 0)
    assert len(whole.filled) >= 3
    for fit in (None, ["runoff"]):
        result = calibrate(true, weather, LevelLog(whole.readings, []), fit=fit)  # type: ignore[arg-type]
        assert result.outcome == "does not fit"
        assert all(one.low is None and one.high is None for one in result.fitted)
    brought = [one.on for one in whole.filled]
    named = [[on for on in brought if rise.first < on <= rise.last] for rise in result.rises]
    assert all(len(on) == 1 for on in named)
    for rise in result.rises:
        assert 0.3 * 4000.0 < rise.volume_L < 4100.0
    told = calibrate(barn(0.9, 60.0, 0.0, backup=[hauler], draw=draw), weather, whole)
    assert told.outcome == "fits"
    assert told.rises == []


def test_a_log_of_something_else_does_not_fit() -> None:
    """Levels drawn by lot, on a roof that would have filled the tank: no numbers explain them."""
    weather = rain(60)
    drawn = np.random.default_rng(8).uniform(6000.0, 6500.0, 60)
    drawn[::7] -= 3000.0
    eve = weather.first - dt.timedelta(days=1)
    log = LevelLog(
        [Measured(eve + dt.timedelta(days=2 * i), "tank", None, float(v)) for i, v in enumerate(drawn[:30])],
        [],
    )
    result = calibrate(WRITTEN, weather, log)
    assert result.outcome == "does not fit"
    assert all(one.low is None for one in result.fitted)


def test_a_number_at_the_end_of_what_it_can_be_does_not_fit() -> None:
    """A roof of twice the size that is written gives more water than a coefficient of 1 can explain."""
    weather = rain(60)
    wide = TRUE.roof[0].model_copy(update={"area": 2.0 * TRUE.roof[0].area})
    log = log_of(TRUE.model_copy(update={"roof": [wide]}), weather, 1, 10.0, 0)
    result = calibrate(WRITTEN, weather, LevelLog(log.readings, []), fit=["runoff"])
    assert result.outcome == "does not fit"
    assert result.fitted[0].low is None
    assert result.limits == ["runoff"]


def test_a_scenario_that_is_right_is_left_as_written() -> None:
    weather = rain(60)
    result = calibrate(TRUE, weather, log_of(TRUE, weather, 1, 40.0, 2))
    assert result.outcome == "as written"
    assert result.misfit_before == pytest.approx(40.0, rel=0.3)
    assert all(one.low is None for one in result.fitted)


def test_a_first_reading_a_little_above_full_is_taken_for_full() -> None:
    weather = rain(60)
    true = barn(0.80, 90.0, 12.0, run={"start_full": 1.0})
    log = log_of(true, weather, 2, 10.0, 0)
    full = log.readings[0].drawable_L
    high = replace(log.readings[0], drawable_L=1.015 * simulate(true, weather).flux("drawable")[0, 0])
    result = calibrate(WRITTEN, weather, LevelLog([high, *log.readings[1:]], []))
    assert result.outcome == "fits"
    assert result.before[0] == pytest.approx(full, rel=0.01)
    far = replace(high, drawable_L=1.2 * full)
    with pytest.raises(InputError, match=r"the first day of the log, 2024-02-29: .* there is room for"):
        calibrate(WRITTEN, weather, LevelLog([far, *log.readings[1:]], []))


# The search


def two_linked(leak: float) -> Scenario:
    """Two linked tanks, a fifth of the water kept from the beds: the leak must be looked for far from none."""
    tanks = [
        {"name": n, "capacity": "8 m3", "diameter": "2 m", "outlet": "8 cm", "leak": f"{leak / 2} L/day"}
        for n in ("upper", "lower")
    ]
    return with_beds(0.90, 60.0, 0.0, tank=tanks, link=[{"tanks": ["upper", "lower"]}], roof=[
        {"name": "barn", "area": "150 m2", "runoff_coefficient": 0.9, "feeds": "upper"}
    ])  # fmt: skip


@pytest.mark.parametrize("start", [0.05, 0.8, 1.0])
@pytest.mark.parametrize("leak", [3.0, 30.0, 90.0])
def test_a_leak_is_found_wherever_the_log_begins(leak: float, start: float) -> None:
    """From empty tanks, and from full ones that run over at once, where the water at the start has no slope."""
    weather = weathered("2023-05-01", 520, seed=7)
    true = two_linked(leak).model_copy(
        update={"run": two_linked(leak).run.model_copy(update={"start_full": start})}
    )
    ledger = simulate(true, weather)
    log = log_between(ledger, 0, 200, 2, 5.0, 0)
    result = calibrate(two_linked(0.0), weather, log, fit=["leak"])
    low, value, high = found_in(result)["leak"]
    assert low <= leak <= high
    assert value == pytest.approx(leak, abs=1.5)
    assert result.outcome == "fits"


def test_trials_side_by_side_are_the_model_one_by_one(monkeypatch: pytest.MonkeyPatch) -> None:
    """Plain and compiled, with fills on some days, a valve that turns, and readings of single tanks."""
    tanks = [
        {"name": n, "capacity": "8 m3", "diameter": "2 m", "outlet": "8 cm", "base": base}
        for n, base in (("upper", "30 cm"), ("lower", "0 cm"))
    ]
    link = {
        "tanks": ["upper", "lower"],
        "closed": [{"from": dt.date(2024, 3, 20), "to": dt.date(2024, 4, 2)}],
    }
    hauler = {"name": "hauler", "kind": "refill", "into": "lower", "starts_below": "10 %", "load": "1 m3"}
    roof = [dict(WRITTEN.roof[0].model_dump(include={"name"}), area="150 m2", runoff_coefficient=0.9,
                 feeds={"upper": 0.5, "lower": 0.5})]  # fmt: skip
    scenario = barn(0.9, 60.0, 0.0, tank=tanks, link=[link], roof=roof, backup=[hauler])
    weather = rain(60)
    ledger = simulate(scenario, weather)
    water = ledger.flux("drawable")
    eve = weather.first - dt.timedelta(days=1)
    readings = [
        Measured(eve + dt.timedelta(days=i), name, None, float(water[t, i]))
        for i in range(0, 61, 4)
        for t, name in enumerate(("upper", "lower"))
    ]
    fills = [Filled(eve + dt.timedelta(days=on), 700.0) for on in (3, 21, 22, 40)]
    model = Model(scenario, weather, LevelLog(readings, fills), False)
    drawn = np.random.default_rng(1).random((20, 4))
    numbers = drawn * [1.1, 4.0, 60.0, 500.0]
    one_by_one = np.array([model.residuals(row) for row in numbers])
    assert np.ptp(one_by_one, axis=0).min() > 0.0 or np.ptp(one_by_one, axis=0).max() > 1000.0
    for expected, compiled in ((1, False), (10_000_000, True)):
        trials = Trials(model, expected, lambda words: None)
        assert trials.compiled is compiled
        np.testing.assert_allclose(trials.residuals(numbers), one_by_one, rtol=0, atol=1e-8)


def test_readings_that_follow_each_other_count_for_less() -> None:
    """First autocorrelation of 1, 1, -1, -1, 1, 1: products 1, -1, 1, -1, 1 over squares of 6, two tanks a day."""
    left = np.repeat([1.0, 1.0, -1.0, -1.0, 1.0, 1.0], 2)
    assert correlation(left, np.repeat(np.arange(6), 2)) == pytest.approx(1.0 / 6.0)
    assert correlation(np.array([1.0, -1.0, 1.0]), np.arange(3)) == 0.0


def test_the_weather_must_cover_the_log() -> None:
    weather = rain(60)
    log = log_of(TRUE, weather, 2, 0.0, 0)
    with pytest.raises(
        InputError, match=r"the log runs from 2024-03-01 to .* but the weather covers .* to 2024-04-09"
    ):
        calibrate(WRITTEN, rain(40), log)
    gap = rain(60)
    gap.data["rain"].values[10] = math.nan
    with pytest.raises(InputError, match="rain is missing on days of the log"):
        calibrate(WRITTEN, gap, log)


def test_the_model_at_the_numbers_written_is_the_simulation() -> None:
    weather = rain(60)
    log = log_of(WRITTEN, weather, 2, 0.0, 0)
    model = Model(WRITTEN, weather, log, False)
    water = simulate(WRITTEN, weather).flux("drawable").sum(axis=0)
    written = np.array([1.0, 1.0, 0.0, 0.0])
    np.testing.assert_allclose(model.drawable(written).sum(axis=0), water, rtol=0, atol=1e-9)
    assert np.abs(model.residuals(written)).max() < 1e-9


def test_the_lines_to_paste_are_valid_and_say_what_they_replace() -> None:
    weather = rain(60)
    metal = WRITTEN.roof[0].model_copy(update={"surface": "metal", "runoff_coefficient": None})
    written = WRITTEN.model_copy(update={"roof": [metal]})
    lines = lines_to_paste(calibrate(written, weather, log_of(TRUE, weather, 2, 0.0, 0)), "us")
    assert lines[0] == '# [[roof]] name = "barn"'
    assert lines[1] == 'runoff_coefficient = 0.800  # in place of surface = "metal"'
    assert lines[2] == 'first_flush = { volume = "23.8 gal", drains_in = "1 day" }'
    assert lines[3:] == ['# [[tank]] name = "tank"', 'leak = "3.17 gal/day"']
    pasted = parse("\n".join(lines), Path("pasted.toml"))
    assert set(pasted) == {"runoff_coefficient", "first_flush", "leak"}


# The log as a file

UPPER = {"name": "upper", "capacity": "6 m3", "diameter": "2 m", "outlet": "8 cm"}
LOWER = {"name": "lower tank", "capacity": "8 m3", "diameter": "2.4 m", "outlet": "8 cm"}


def two_tanks() -> Scenario:
    roof = {"name": "barn", "area": "150 m2", "runoff_coefficient": 0.9, "feeds": "upper"}
    return holding(roof=[roof], tank=[UPPER, LOWER])


def read(tmp_path: Path, text: str, scenario: Scenario | None = None) -> LevelLog:
    path = tmp_path / "levels.csv"
    path.write_text(text, "utf-8")
    return read_levels(path, scenario or two_tanks())


def test_heights_volumes_and_fills_are_read(tmp_path: Path) -> None:
    log = read(
        tmp_path,
        "# my log\nDate,upper [cm],lower tank (L),filled [gal],notes\n"
        "2024-03-05,108,2000,,fine\n2024-03-01,,1500,,\n2024-03-06,8,,500,load\n",
    )
    assert [(one.on.day, one.tank) for one in log.readings] == [
        (1, "lower tank"),
        (5, "upper"),
        (5, "lower tank"),
        (6, "upper"),
    ]
    assert log.readings[1].height == pytest.approx(1080.0)
    assert log.readings[1].drawable_L == pytest.approx(math.pi * 1000.0)  # a metre above the outlet
    assert log.readings[2].drawable_L == 2000.0
    assert log.readings[3].drawable_L == 0.0
    assert [(one.on.day, round(one.volume_L)) for one in log.filled] == [(6, 1893)]


@pytest.mark.parametrize(
    ("header", "value", "litres"),
    [
        ("gallons", "1,000", 3785.4),
        ("all_gal", "100", 378.5),
        ("total [m3]", "2", 2000.0),
        ("level (%)", "50", 6693.4),
        ("liters", "9", 9.0),
    ],
)
def test_the_water_of_all_tanks_is_read(tmp_path: Path, header: str, value: str, litres: float) -> None:
    log = read(tmp_path, f'date,"{header}"\n2024-03-01,"{value}"\n')
    assert log.readings[0].tank is None
    assert log.readings[0].drawable_L == pytest.approx(litres, abs=0.1)


def test_with_one_tank_a_height_needs_no_name(tmp_path: Path) -> None:
    log = read(tmp_path, "date,inches\n2024-03-01,40\n", WRITTEN)
    assert log.readings[0].tank == "tank"
    assert log.readings[0].height == pytest.approx(1016.0)


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("", "holds no levels; the header names the date"),
        ("date,upper [in]\n", "holds no levels"),
        ("date,upper [in]\n2024-03-01,\n", "holds no levels"),
        ("upper [in]\n4\n", "found no column of dates"),
        ("date,upper\n2024-03-01,4\n", 'column "upper": no unit'),
        ("date,main\n2024-03-01,4\n", 'column "main": no unit'),
        ("date,top [in]\n2024-03-01,4\n", 'there is no tank "top"; the tanks are upper, lower tank'),
        ("date,level [in]\n2024-03-01,4\n", "say in which tank the height was measured"),
        ("date,filled [gal]\n2024-03-01,4\n", "found no column of levels"),
        (
            "date,upper [in]\n03/01/2024,4\n",
            r"is '03/01/2024' \(line 2\) day or month first\? .* head the column \"date \[mdy\]\" or \"date \[dmy\]\"",
        ),
        ("date,upper [in]\n3/13/2024,4\n13/3/2024,4\n", "mixes two orders: day before month on line 3"),
        ("date [mdy],upper [in]\n13/3/2024,4\n", "is no day of the calendar"),
        ("date,upper [in]\n,4\n2024-03-01,4\n", r"line 2\) is no date"),
        ("date,upper [in]\n2024-03-01,deep\n", 'line 2: "deep" is no number'),
        ("date,upper [in]\n2024-03-01,99\n", "line 2: tank 'upper': 99 in is above the overflow at 75 in"),
        (
            "date,upper [gal]\n2024-03-01,9000\n",
            "line 2: tank 'upper': 9000 gal is more than fits above the outlets",
        ),
    ],
)
def test_what_cannot_be_read_is_told_with_its_line(tmp_path: Path, text: str, said: str) -> None:
    with pytest.raises(InputError, match=said):
        read(tmp_path, text)


@pytest.mark.parametrize(
    ("header", "days", "noted"),
    [
        ("date", ["2024-03-05", "2024-03-15"], False),
        ("Date", ["3/5/2024", "3/15/2024"], True),
        ("day", ["5.3.2024", "15.3.2024"], True),
        ("date [mdy]", ["3/5/2024", "3/6/2024"], False),
        ("Date (DMY)", ["5/3/2024", "6/3/2024"], False),
        ("date", ["March 5, 2024", "6 Mar 2024"], False),
    ],
)
def test_dates_are_read_as_those_of_a_weather_file(
    tmp_path: Path, header: str, days: list[str], noted: bool
) -> None:
    rows = "".join(f'"{day}",40\n' for day in days)
    log = read(tmp_path, f"{header},upper [in]\n{rows},,\n")
    assert log.readings[0].on == dt.date(2024, 3, 5)
    assert log.readings[1].on in (dt.date(2024, 3, 15), dt.date(2024, 3, 6))
    assert bool(log.notes) is noted
    if noted:
        assert "as line 3 can only be read that way" in log.notes[0]


def test_the_order_of_dates_may_be_that_of_the_weather_file(tmp_path: Path) -> None:
    scenario = two_tanks()
    same = scenario.model_copy(update={"weather": scenario.weather.model_copy(update={"dates": "dmy"})})
    log = read(tmp_path, "date,upper [in]\n5/3/2024,40\n6/3/2024,41\n", same)
    assert [one.on for one in log.readings] == [dt.date(2024, 3, 5), dt.date(2024, 3, 6)]


def test_all_bad_lines_are_told_up_to_a_few(tmp_path: Path) -> None:
    with pytest.raises(InputError) as error:
        read(tmp_path, "date,upper [in]\n" + "2024-03-01,deep\n" * 9)
    assert len(error.value.faults) == 7
    assert error.value.faults[-1] == "... and 3 more lines like these"


def test_a_missing_file_is_told(tmp_path: Path) -> None:
    with pytest.raises(InputError, match=r"cannot read the levels in .*nothing.csv: No such file"):
        read_levels(tmp_path / "nothing.csv", two_tanks())
