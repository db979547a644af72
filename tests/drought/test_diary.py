"""The owner's own log on top of a station's record."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest

from holdwater.errors import InputError
from holdwater.scenario.schema import Weather, WeatherFile
from holdwater.weather.diary import top_up
from holdwater.weather.reader import complete, read_checked
from holdwater.weather.reading import Reading
from holdwater.weather.record import Origin


def reading(tmp_path: Path, name: str, text: str, **keys: object) -> Reading:
    (tmp_path / name).write_text(text, "utf-8")
    return read_checked(WeatherFile.model_validate({"file": name, **keys}), tmp_path)


STATION = "date,rain_mm,tmin_c,tmax_c\n2024-01-01,1,0,9\n2024-01-02,,1,9\n2024-01-03,3,2,9\n"


def test_the_days_after_the_end_and_the_missing_ones_come_from_the_diary(tmp_path: Path) -> None:
    station = reading(tmp_path, "station.csv", STATION)
    diary = reading(
        tmp_path, "log.csv", "date,rain_in\n2024-01-02,0.2\n2024-01-03,1\n2024-01-04,0\n2024-01-05,1\n"
    )
    joined = top_up(station, diary)
    assert joined.days.astype(str).tolist() == [f"2024-01-0{d}" for d in range(1, 6)]
    np.testing.assert_allclose(joined.rain, [1.0, 5.08, 3.0, 0.0, 25.4])  # the station's own 3 January stays
    assert (joined.origin != Origin.MISSING).all()
    assert np.isnan(joined.others["t_min"]).tolist() == [False, False, False, True, True]
    assert joined.notes[-1] == "3 days from 2024-01-02 to 2024-01-05 come from the owner's own log 'log.csv'"


def test_days_that_neither_knows_stay_missing_and_stop_a_run(tmp_path: Path) -> None:
    station = reading(tmp_path, "station.csv", STATION)
    joined = top_up(station, reading(tmp_path, "log.csv", "date,rain_mm\n2024-01-06,4\n2024-01-07,0\n"))
    assert joined.days.size == 7
    assert np.isnan(joined.rain).tolist() == [False, True, False, True, True, False, False]
    weather = Weather(file="station.csv")
    with pytest.raises(InputError, match="3 days have no rain value"):
        complete(joined, weather, None, None)


def test_temperatures_of_the_diarys_days_are_filled_like_other_gaps(tmp_path: Path) -> None:
    days = np.arange(np.datetime64("2022-01-01"), np.datetime64("2024-01-01"))
    rows = "".join(f"{d},{i % 5},{i % 7},{10 + i % 7}\n" for i, d in enumerate(days))
    station = reading(tmp_path, "station.csv", "date,rain_mm,tmin_c,tmax_c\n" + rows)
    more = "".join(f"2024-01-{d:02d},{d % 3}\n" for d in range(1, 21))
    record = complete(
        top_up(station, reading(tmp_path, "log.csv", "date,rain_mm\n" + more)), Weather(file="x"), None, None
    )
    assert str(record.last) == "2024-01-20"
    low = record.data["t_min"].values
    assert not np.isnan(low).any()
    assert 0.0 < low[-1] < 6.0
    assert any("t_min was missing on 20 days" in note for note in record.provenance.notes)


def test_a_log_of_rainy_days_only_tops_up_as_declared(tmp_path: Path) -> None:
    station = reading(tmp_path, "station.csv", STATION)
    log = reading(tmp_path, "log.csv", "date,rain_mm\n2024-01-04,4\n2024-01-08,6\n", absent_days="dry")
    joined = top_up(station, log)
    np.testing.assert_allclose(joined.rain[3:], [4.0, 0.0, 0.0, 0.0, 6.0])
    assert joined.origin[4] == Origin.DECLARED_DRY


def test_a_diary_that_adds_nothing_says_so_and_changes_nothing(tmp_path: Path) -> None:
    station = reading(tmp_path, "station.csv", "date,rain_mm\n2024-01-01,1\n2024-01-02,2\n")
    joined = top_up(station, reading(tmp_path, "log.csv", "date,rain_mm\n2023-12-30,9\n2024-01-01,8\n"))
    np.testing.assert_allclose(joined.rain, station.rain)
    assert joined.notes[-1] == "the diary 'log.csv' has no day that 'station.csv' lacks"
