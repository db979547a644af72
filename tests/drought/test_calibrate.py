"""Calibration: known parameters come back, and a log that cannot tell is refused."""

from __future__ import annotations

import datetime as dt
import math
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from holdwater.errors import InputError
from holdwater.scenario.schema import Scenario
from holdwater.scenario.toml_text import parse
from holdwater.simulation import simulate
from holdwater.studies.calibrate import Calibration, calibrate, lines_to_paste
from holdwater.studies.level_log import Filled, LevelLog, Measured, read_levels
from holdwater.studies.level_model import NAMES, Model
from holdwater.weather.record import Record
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
    water = simulate(true, weather).flux("drawable").sum(axis=0)
    places = np.arange(0, water.size, every)
    scatter = np.random.default_rng(seed).normal(0.0, noise, places.size)
    values = np.maximum(water[places] + scatter, 0.0)
    eve = weather.first - dt.timedelta(days=1)
    tank = true.tank[0].name
    return LevelLog(
        [
            Measured(eve + dt.timedelta(days=int(i)), tank, None, float(v))
            for i, v in zip(places, values, strict=True)
        ],
        [],
    )


def found_in(result: Calibration) -> dict[str, tuple[float, float, float]]:
    return {one.name: (one.low, one.value, one.high) for one in result.fitted}


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


def test_with_scatter_the_numbers_lie_in_their_intervals_in_ninety_of_a_hundred_logs() -> None:
    """The intervals claim to hold all three numbers together with 95 % confidence."""
    weather = rain(30)
    held = dict.fromkeys(NAMES, 0)
    together = 0
    for seed in range(100):
        found = found_in(calibrate(WRITTEN, weather, log_of(TRUE, weather, 1, 40.0, seed)))
        inside = {name: found[name][0] <= TRUTH[name] <= found[name][2] for name in NAMES}
        held = {name: held[name] + inside[name] for name in NAMES}
        together += all(inside.values())
    assert together >= 90
    assert min(held.values()) >= 93


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
    brought = ledger.flux("supplied")[0]
    assert brought.sum() > 0.0
    fills = [Filled(day.item(), float(v)) for day, v in zip(ledger.days, brought, strict=True) if v > 0.0]
    readings = log_of(true, weather, 2, 0.0, 0).readings
    result = calibrate(written, weather, LevelLog(readings, fills))
    for name, (_, value, _) in found_in(result).items():
        assert value == pytest.approx(TRUTH[name], rel=1e-2)
    assert result.filled_L == pytest.approx(brought.sum())


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
    with pytest.raises(InputError, match="does not feel runoff and first flush: too little rain fell"):
        calibrate(WRITTEN, weather, log_of(TRUE, weather, 2, 0.0, 0))
    leak = calibrate(WRITTEN, weather, log_of(barn(0.9, 60.0, 9.0), weather, 2, 0.0, 0), fit=["leak"])
    assert leak.fitted[0].value == pytest.approx(9.0, rel=1e-3)


def test_storms_all_alike_cannot_tell_runoff_from_first_flush() -> None:
    weather = record(([0.0] * 5 + [8.0]) * 8, FIRST)
    with pytest.raises(InputError, match=r'cannot tell runoff and first flush apart.* --fit "runoff,leak"'):
        calibrate(WRITTEN, weather, log_of(TRUE, weather, 1, 0.0, 0))
    found = calibrate(barn(0.9, 90.0, 0.0), weather, log_of(TRUE, weather, 1, 0.0, 0), fit=["runoff", "leak"])
    assert found.fitted[0].value == pytest.approx(TRUTH["runoff"], rel=1e-3)


def test_a_tank_that_stays_full_tells_nothing() -> None:
    weather = record([30.0] * 40, FIRST)
    scenario = barn(0.9, 60.0, 0.0, run={"start_full": 1.0})
    with pytest.raises(InputError, match="does not feel"):
        calibrate(scenario, weather, log_of(scenario, weather, 2, 0.0, 0))


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
    model = Model(WRITTEN, weather, log, NAMES, False)
    water = simulate(WRITTEN, weather).flux("drawable").sum(axis=0)
    np.testing.assert_allclose(model.drawable(model.written).sum(axis=0), water, rtol=0, atol=1e-9)
    assert np.abs(model.residuals(model.written)).max() < 1e-9


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
        ("date,upper [in]\n03/01/2024,4\n", "line 2: .*03/01/2024"),
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


def test_all_bad_lines_are_told_up_to_a_few(tmp_path: Path) -> None:
    with pytest.raises(InputError) as error:
        read(tmp_path, "date,upper [in]\n" + "2024-03-01,deep\n" * 9)
    assert len(error.value.faults) == 7
    assert error.value.faults[-1] == "... and 3 more lines like these"


def test_a_missing_file_is_told(tmp_path: Path) -> None:
    with pytest.raises(InputError, match=r"cannot read the levels in .*nothing.csv: No such file"):
        read_levels(tmp_path / "nothing.csv", two_tanks())
