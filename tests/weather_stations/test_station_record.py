"""From station years to the record of a run: observed rain only, every other day counted and told."""

from __future__ import annotations

import datetime as dt
from pathlib import Path

import numpy as np
import pytest

from holdwater.errors import InputError, WeatherUnavailable
from holdwater.scenario import load
from holdwater.scenario.schema import Place, Weather, WeatherFile
from holdwater.simulation import covering
from holdwater.weather import Origin, Record, read_weather
from holdwater.weather.stations.station_record import read_station
from holdwater.weather.stations.store import Store
from tests.weather_stations.conftest import scenario
from tests.weather_stations.service import DRY_GULCH, MILL_CREEK, Service, year_rows

HERE = Place(latitude=38.4, longitude=-109.2, elevation="1600 m")  # type: ignore[arg-type]
FIRST, LAST = dt.date(2010, 1, 1), dt.date(2014, 12, 31)
HOLES = ["2012-12-30", "2012-12-31", "2013-03-03", "2013-03-04", "2014-02-02"]


def record(weather: Weather, first: dt.date = FIRST, last: dt.date = LAST) -> Record:
    """The record of an invented holding's [weather]."""
    return read_weather(weather, Path(), first=first, last=last, place=HERE)


def test_every_day_whose_rain_is_not_shown_to_be_observed_is_missing_and_counted(here: Service) -> None:
    found = read_station("X0001", FIRST, LAST)
    reading, counts = found.reading, found.counts
    assert reading.days[np.isnan(reading.rain)].astype(str).tolist() == HOLES
    assert (counts.days, counts.observed, counts.model, counts.unstated, counts.missing) == (
        1826,
        1821,
        2,
        1,
        5,
    )
    assert counts.model_temperatures == 0
    assert reading.unit == "mm"
    assert set(reading.others) == {"t_min", "t_max"}
    assert reading.day_ends == "not stated by the service; it differs with the source"
    notes = " ".join(reading.notes)
    assert "rain of 2 days came from a forecast or analysis model and counts as missing" in notes
    assert "rain of 1 day has no source that shows an observation (unknown: somebody_new)" in notes


def test_counts_are_of_the_days_asked_for(here: Service) -> None:
    counts = read_station("X0001", dt.date(2012, 6, 1), dt.date(2012, 12, 30)).counts
    assert (counts.days, counts.model, counts.unstated) == (213, 1, 0)


def test_missing_days_are_refused_by_name_unless_a_policy_fills_them(here: Service) -> None:
    with pytest.raises(InputError) as told:
        record(Weather(station="X0001"))
    assert str(told.value).startswith(
        "Meteostat station X0001: 5 days have no rain value (2012: 2, 2013: 2, 2014: 1)"
    )
    filled = record(Weather(station="X0001", missing_days="zero"))
    origin = filled.data["origin"].values
    assert filled.days[origin == Origin.ZERO].astype(str).tolist() == HOLES
    assert (origin == Origin.OBSERVED).sum() == 1821
    told_of = filled.provenance
    assert (told_of.missing, told_of.filled, told_of.longest_gap) == (5, 5, 2)
    assert told_of.licence.startswith(
        "Source: Meteostat and NOAA GHCN-Daily, CC BY 4.0; changes: model rain of 2 days"
    )
    assert told_of.licence.endswith("5 days without rain filled (zero)")


def test_a_record_that_was_not_changed_says_so(here: Service) -> None:
    clean = record(Weather(station="X0001"), dt.date(2010, 1, 1), dt.date(2011, 12, 31))
    assert clean.provenance.licence == "Source: Meteostat and NOAA GHCN-Daily, CC BY 4.0; changes: none"
    expected = [v for year in (2010, 2011) for v in year_rows(DRY_GULCH, year).values()]
    np.testing.assert_array_equal(clean.data["rain"].values, expected)


def test_a_station_may_fill_the_gaps_of_another(here: Service) -> None:
    weather = Weather(
        station="X0002",
        missing_days="neighbour",
        neighbour=WeatherFile(station="X0001", accept=[]),
    )
    here.shapes["/daily/2011/X0002.csv.gz"] = "blank-source"  # June 2011 is not shown to be observed
    filled = record(weather, dt.date(2011, 1, 1), dt.date(2012, 12, 29))
    june = (filled.days >= np.datetime64("2011-06-01")) & (filled.days <= np.datetime64("2011-06-30"))
    assert (filled.data["origin"].values[june] == Origin.NEIGHBOUR).all()
    assert filled.provenance.filled == 30
    own, other = (
        np.array([v for year in (2011, 2012) for v in year_rows(s, year).values()])[: filled.days.size]
        for s in (MILL_CREEK, DRY_GULCH)
    )
    ratio = own[~june].mean() / other[~june].mean()
    np.testing.assert_allclose(filled.data["rain"].values[june], other[june] * ratio, rtol=0.02, atol=0.06)


def test_absent_years_before_the_record_stop_the_run(here: Service, tmp_path: Path) -> None:
    file = load(scenario(tmp_path, 'station = "X0002"', "2009-01-01", "2012-12-29"))
    begins = record(file.scenario.weather, dt.date(2009, 1, 1), dt.date(2012, 12, 29))
    assert begins.first == dt.date(2011, 1, 1)
    assert "the service has no file of station X0002 for 2009 to 2010" in begins.provenance.notes
    with pytest.raises(
        InputError, match="asks for 2009-01-01 to 2012-12-29, but the weather covers 2011-01-01"
    ):
        covering(file.scenario, begins)


def test_an_absent_year_inside_the_run_is_missing_not_dry(here: Service) -> None:
    here.faults["/daily/2012/X0001.csv.gz"] = 404
    with pytest.raises(
        InputError, match=r"Meteostat station X0001: 369 days have no rain value .2012: 366, 2013: 2"
    ):
        record(Weather(station="X0001"))


def test_near_needs_a_place_and_says_what_it_took(here: Service) -> None:
    with pytest.raises(InputError, match="near = true needs to know where the holding stands"):
        read_weather(Weather(near=True), Path(), first=FIRST, last=LAST)
    took = record(Weather(near=True, missing_days="zero"))
    assert took.provenance.station == "X0001"
    assert any(
        "took station X0001 (Dry Gulch (invented)), 6 km away and 30 m lower" in n
        for n in took.provenance.notes
    )
    took = (
        record(Weather(near=True, missing_days="zero"), dt.date(2000, 1, 1), dt.date(2000, 12, 31))
        if False
        else took
    )
    with pytest.raises(
        WeatherUnavailable, match="near = true: no station nearby has a rain record from 1990-01-01"
    ):
        record(Weather(near=True), dt.date(1990, 1, 1))


def test_without_days_asked_for_the_whole_record_of_the_station_is_read(here: Service) -> None:
    found = read_station("x0001")
    assert (str(found.reading.days[0]), str(found.reading.days[-1])) == ("2010-01-01", "2014-12-31")
    assert found.reading.place == "Dry Gulch (invented), US, 38.4100, -109.1300, 1570 m"
    here.faults[""] = 500
    Store().station_list.unlink()
    again = read_station("X0001")  # neither network nor list: as far as the store goes
    assert again.counts == found.counts
    with pytest.raises(WeatherUnavailable, match="list of stations could not be fetched"):
        read_station("X0002")


def test_with_the_days_asked_for_no_list_of_stations_is_fetched(here: Service) -> None:
    found = read_station("X0001", FIRST, LAST)
    assert "/stations.db" not in here.asked
    assert found.station is None
    assert found.reading.source == "Meteostat station X0001"


def test_a_station_without_rain_or_unknown_is_told(here: Service) -> None:
    with pytest.raises(
        WeatherUnavailable, match="X0003 has no daily rain record that the list of stations knows of"
    ):
        read_station("X0003")
    with pytest.raises(WeatherUnavailable, match="there is no station X0009"):
        read_station("X0009")
    with pytest.raises(InputError, match="turned round"):
        read_station("X0001", LAST, FIRST)


def test_temperatures_of_a_model_are_kept_and_told(here: Service, monkeypatch: pytest.MonkeyPatch) -> None:
    from tests.weather_stations import service as invented

    plain = invented._cell

    def cell(station: invented.Invented, day: dt.date, rain: float, parameter: str) -> tuple[object, str]:
        value, source = plain(station, day, rain, parameter)
        return value, "dwd_mosmix" if parameter == "tmax" and day.month == 1 and source else source

    monkeypatch.setattr(invented, "_cell", cell)
    found = read_station("X0001", dt.date(2010, 1, 1), dt.date(2010, 12, 31))
    assert found.counts.model_temperatures == 31
    assert found.counts.missing == 0
    assert not np.isnan(found.reading.others["t_max"]).any()
    assert "on 31 days a model has a part in the temperatures; they are kept" in found.reading.notes


def test_a_faulty_year_can_be_accepted_in_the_scenario(here: Service) -> None:
    here.shapes["/daily/2012/X0001.csv.gz"] = "twice"
    weather = Weather(station="X0001", missing_days="zero", accept=["faulty-year"])
    filled = record(weather)
    assert filled.provenance.missing == 366 + 3
    assert any("2012 is left out as accepted" in note for note in filled.provenance.notes)


@pytest.mark.parametrize(
    ("weather", "said"),
    [
        ('missing_days = "zero"', "weather: file is missing"),
        ('near = true\nfile = "rain.csv"', "weather: near = true and file each name a record"),
        ('near = true\nstation = "X0001"', "weather: near = true and station each name a record"),
        ('station = "X0001"\nneighbour = { rain_unit = "mm" }', "weather: neighbour: file is missing"),
    ],
)
def test_a_scenario_names_exactly_one_record(weather: str, said: str, tmp_path: Path) -> None:
    with pytest.raises(InputError, match=said):
        load(scenario(tmp_path, weather))


def test_near_without_a_place_is_told_when_the_scenario_is_read(tmp_path: Path) -> None:
    path = scenario(tmp_path, "near = true")
    text = path.read_text("utf-8")
    path.write_text(text[: text.index("[place]")] + text[text.index("[weather]") :], "utf-8")
    with pytest.raises(InputError, match=r"near = true needs to know where you are; add \[place\]"):
        load(path)
