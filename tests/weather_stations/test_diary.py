"""The owner's own log on top of a fetched station: the days the station does not have yet, and its holes."""

from __future__ import annotations

import datetime as dt
import json
from pathlib import Path

import numpy as np
import pytest

from holdwater.errors import WeatherUnavailable
from holdwater.scenario.schema import Place, Weather
from holdwater.weather import read_weather
from holdwater.weather.diary import needed_until
from holdwater.weather.reader import read_checked
from holdwater.weather.record import Record
from tests.weather_stations.conftest import Command, scenario, squeezed
from tests.weather_stations.service import DRY_GULCH, Service, year_rows

HERE = Place(latitude=38.4, longitude=-109.2)
FIRST, LAST = dt.date(2010, 1, 1), dt.date(2015, 1, 20)
HOLES = [
    dt.date(2012, 12, 30),
    dt.date(2012, 12, 31),
    dt.date(2013, 3, 3),
    dt.date(2013, 3, 4),
    dt.date(2014, 2, 2),
]


def log(folder: Path, first: dt.date, last: dt.date, without: tuple[dt.date, ...] = ()) -> Path:
    """An invented log: 4.5 mm on every third day."""
    days = [first + dt.timedelta(i) for i in range((last - first).days + 1)]
    rows = [f"{day},{4.5 if i % 3 == 0 else 0}" for i, day in enumerate(days) if day not in without]
    path = folder / "log.csv"
    path.write_text("date,rain_mm\n" + "\n".join(rows) + "\n", "utf-8")
    return path


def read(folder: Path, first: dt.date | None = FIRST, last: dt.date | None = LAST, **keys: object) -> Record:
    weather = Weather.model_validate({"diary": "log.csv", **keys})
    return read_weather(weather, folder, first=first, last=last, place=HERE)


def rain(record: Record, day: dt.date) -> float:
    return float(record.data["rain"].sel(time=np.datetime64(day)))


@pytest.mark.parametrize("keys", [{"station": "X0001"}, {"near": True}], ids=["station", "near"])
def test_the_log_goes_on_where_the_station_ends_and_fills_its_holes(
    keys: dict[str, object], here: Service, home: Path
) -> None:
    log(home, HOLES[0], LAST)
    record = read(home, **keys)
    assert (record.first, record.last) == (FIRST, LAST)
    for i, day in enumerate(HOLES):
        assert rain(record, day) == (4.5 if (day - HOLES[0]).days % 3 == 0 else 0.0), i
    assert rain(record, LAST) == (4.5 if (LAST - HOLES[0]).days % 3 == 0 else 0.0)
    observed = year_rows(DRY_GULCH, 2014)
    kept = [day for day in observed if day not in HOLES]
    assert [rain(record, day) for day in kept[:40]] == pytest.approx([observed[day] for day in kept[:40]])
    notes = record.provenance.notes
    assert "25 days from 2012-12-30 to 2015-01-20 come from the owner's own log 'log.csv'" in notes
    assert record.provenance.licence.endswith("25 days from the owner's own log")
    assert any("near = true took station X0001" in note for note in notes) == ("near" in keys)


def test_without_days_of_a_run_the_record_goes_to_the_end_of_the_log(here: Service, home: Path) -> None:
    log(home, dt.date(2014, 12, 1), LAST)
    record = read(home, None, None, station="X0001", missing_days="zero")
    assert (record.first, record.last) == (FIRST, LAST)
    assert record.provenance.filled == len(HOLES)


def test_near_takes_no_station_that_ends_before_the_log_begins(here: Service, home: Path) -> None:
    log(home, dt.date(2015, 1, 3), LAST)
    with pytest.raises(WeatherUnavailable, match="has a rain record from 2010-01-01 to 2015-01-02"):
        read(home, near=True, missing_days="zero")
    log(home, dt.date(2014, 12, 20), LAST, without=(dt.date(2015, 1, 10),))
    with pytest.raises(WeatherUnavailable, match="has a rain record from 2010-01-01 to 2015-01-10"):
        read(home, near=True, missing_days="zero")


def test_a_station_must_reach_to_where_the_log_goes_on_without_a_gap(tmp_path: Path) -> None:
    gap = dt.date(2015, 1, 10)
    diary = read_checked(
        Weather.model_validate({"file": log(tmp_path, dt.date(2014, 12, 20), LAST, (gap,)).name}), tmp_path
    )
    assert needed_until(diary, FIRST, LAST) == gap
    assert needed_until(diary, FIRST, dt.date(2015, 1, 9)) == dt.date(2014, 12, 19)
    assert needed_until(diary, FIRST, gap) == gap, "the log does not know the last day itself"
    assert needed_until(diary, FIRST, dt.date(2015, 2, 1)) == dt.date(2015, 2, 1), "the log ends before"
    assert needed_until(diary, dt.date(2015, 1, 15), LAST) == dt.date(2015, 1, 15)
    assert needed_until(diary, FIRST, None) is None
    assert needed_until(None, FIRST, LAST) == LAST


def test_a_run_tells_which_days_are_the_owners(command: Command, home: Path) -> None:
    log(home, HOLES[0], LAST)
    file = scenario(home, 'near = true\ndiary = "log.csv"', last=str(LAST))
    done = command("run", file, "--json")
    assert done.code == 0, done.err
    assert done.json["period"]["to"] == "2015-01-20"
    assert (
        "25 days from 2012-12-30 to 2015-01-20 come from the owner's own log 'log.csv'"
        in done.json["warnings"]
    )
    assert done.json["weather"]["licence"].endswith("25 days from the owner's own log")
    ledger = (home / "outputs" / "holding" / "ledger.csv").read_text("utf-8").splitlines()
    column = next(i for i, name in enumerate(ledger[0].split(",")) if name.startswith("rain [mm]"))
    own = [float(row.split(",")[column]) for row in ledger[1:] if row.startswith("2015")]
    assert len(own) == 20
    assert set(own) == {0.0, 4.5}
    (home / "log.csv").unlink()
    gone = command("run", file)
    assert gone.code == 2
    assert "'log.csv' was not found" in squeezed(gone.err)
    assert json.loads((home / "outputs" / "holding" / "summary.json").read_text("utf-8")) == done.json
