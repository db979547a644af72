"""Years of a station: stored, fetched, absent, failed, renewed; through the real library."""

from __future__ import annotations

import datetime as dt
import logging
import re
import socket
import threading
from dataclasses import replace

import numpy as np
import pytest

from holdwater.errors import InputError, WeatherUnavailable
from holdwater.weather.stations import service as stations
from holdwater.weather.stations import station_years
from holdwater.weather.stations.service import checked_id, service, timeout_seconds
from holdwater.weather.stations.station_years import Years, collect, spans
from holdwater.weather.stations.store import Kind, Store
from tests.weather_stations.service import DRY_GULCH, THIS_YEAR, Service, year_rows

NOW = dt.datetime(2026, 3, 1, 12, tzinfo=dt.UTC)


def test_what_comes_is_what_was_measured_with_its_sources(here: Service, store: Store) -> None:
    years = collect("X0001", 2010, 2014, store=store)
    assert years.fetched == (2010, 2011, 2012, 2013, 2014)
    assert here.asked_years() == [2010, 2011, 2012, 2013, 2014]
    for year in years.years:
        expected = np.array(list(year_rows(DRY_GULCH, year.year).values()))
        if year.year == 2013:
            expected[[61, 62]] = np.nan  # 3 March blank, 4 March absent
        np.testing.assert_array_equal(year.rain, expected)
        assert not np.isnan(np.delete(year.t_max, 62)).any()
    again = collect("X0001", 2010, 2014, store=store)
    assert again.fetched == ()
    assert len(here.asked) == 5
    for stored, fetched in zip(again.years, years.years, strict=True):
        np.testing.assert_array_equal(stored.rain, fetched.rain)
        np.testing.assert_array_equal(stored.t_min, fetched.t_min)
        assert (stored.rain_source, stored.kinds) == (fetched.rain_source, fetched.kinds)
        assert (stored.providers, stored.fetched) == (fetched.providers, fetched.fetched)


def test_rain_of_models_mixed_sources_and_unknown_providers_is_told_apart(
    here: Service, store: Store
) -> None:
    years = {y.year: y for y in collect("X0001", 2012, 2014, store=store).years}
    assert years[2012].kinds == {
        "ghcnd": Kind.OBSERVED,
        "isd_lite dwd_mosmix": Kind.MODEL,
        "metno_forecast": Kind.MODEL,  # in the provider table of the library, but not among its defaults
    }
    np.testing.assert_array_equal(np.flatnonzero(years[2012].of_kind(Kind.MODEL)), [364, 365])
    assert years[2014].kinds["somebody_new"] is Kind.UNSTATED
    assert years[2012].known == 364
    assert years[2014].known == 364


def test_every_provider_the_library_grades_as_forecast_or_analysis_is_a_model(here: Service) -> None:
    from meteostat.enumerations import Grade
    from meteostat.providers import index
    from meteostat.typing import ProviderSpec

    specs = [spec for spec in vars(index).values() if isinstance(spec, ProviderSpec)]
    with service(1) as opened:
        for spec in specs:
            model = spec.grade in (Grade.FORECAST, Grade.ANALYSIS)
            assert (opened.kind(str(spec.id)) is Kind.MODEL) == model
            assert opened.kind(f"ghcnd {spec.id}") is not Kind.OBSERVED or spec.grade in (3, 4)
        assert {str(s.id) for s in specs if s.grade == Grade.FORECAST} == {"dwd_mosmix", "metno_forecast"}
        assert opened.kind("") is Kind.UNSTATED


def test_a_value_without_a_source_is_kept_in_the_store_but_not_observed(here: Service, store: Store) -> None:
    here.shapes["/daily/2011/X0001.csv.gz"] = "blank-source"
    year = collect("X0001", 2011, 2011, store=store).years[0]
    assert int(year.of_kind(Kind.UNSTATED).sum()) == 30  # June
    assert not np.isnan(year.rain[151:181]).any()
    assert year.known == 335


def test_an_absent_year_is_no_failed_year(here: Service, store: Store) -> None:
    years = collect("X0002", 2009, 2012, store=store)
    assert [y.there for y in years.years] == [False, False, True, True]
    assert "the service has no file of station X0002 for 2009 to 2010" in years.notes(NOW)
    assert np.isnan(years.years[0].rain).all()
    here.asked.clear()
    collect("X0002", 2009, 2012, store=store)
    assert here.asked == []


@pytest.mark.parametrize(
    ("fault", "said"),
    [
        (500, "the service answered 500"),
        (403, "the service answered 403"),
        ("garbage", "what came is no weather file"),
        ("cut", "what came is cut short"),
        ("half", "the connection broke off"),
        ("hang", "no answer within 1 s"),
    ],
)
def test_a_failed_year_is_no_absent_year(fault: int | str, said: str, here: Service, store: Store) -> None:
    here.faults["/daily/2012/X0001.csv.gz"] = fault
    with pytest.raises(
        WeatherUnavailable, match=f"1 year could not be had .2012: {said}.*2 years are in the store"
    ):
        collect("X0001", 2011, 2013, store=store)
    assert store.years("X0001") == [2011, 2013]
    here.faults.clear()
    here.asked.clear()
    assert collect("X0001", 2011, 2013, store=store).fetched == (2012,)
    assert here.asked_years() == [2012]


@pytest.mark.parametrize(
    ("shape", "said"),
    [
        ("twice", "what came names a day twice"),
        ("no-source", "what came holds no value beside its source"),
        ("words", "what came holds values that are no numbers"),
    ],
)
def test_a_faulty_file_stops_unless_the_owner_leaves_its_year_out(
    shape: str, said: str, here: Service, store: Store
) -> None:
    here.shapes["/daily/2012/X0001.csv.gz"] = shape
    with pytest.raises(WeatherUnavailable, match=f'{said}[^|]*accept = ."faulty-year"'):
        collect("X0001", 2011, 2013, store=store)
    years = collect("X0001", 2011, 2013, store=store, accept_faulty=True)
    assert years.left_out == {2012: said}
    assert np.isnan(years.years[1].rain).all()
    assert f"2012 is left out as accepted (faulty-year): {said}; its days are missing" in years.notes(NOW)
    assert store.years("X0001") == [2011, 2013]


def test_a_network_fault_is_never_left_out_as_a_faulty_file(here: Service, store: Store) -> None:
    here.faults["/daily/2012/X0001.csv.gz"] = 500
    with pytest.raises(WeatherUnavailable, match="2012"):
        collect("X0001", 2011, 2013, store=store, accept_faulty=True)


def test_when_nothing_answers_the_rest_is_not_waited_for(here: Service, store: Store) -> None:
    here.faults[""] = 500
    with pytest.raises(
        WeatherUnavailable, match=r"25 years could not be had .1990 to 2014: the service answered 500"
    ):
        collect("X0001", 1990, 2014, store=store)
    assert len(here.asked) == station_years.GIVE_UP_AFTER
    assert store.years("X0001") == []


def test_nothing_at_all_is_told_as_no_connection(
    here: Service, store: Store, monkeypatch: pytest.MonkeyPatch
) -> None:
    from meteostat.providers.meteostat import daily

    with socket.socket() as closed:  # a port at which nobody listens
        closed.bind(("127.0.0.1", 0))
        monkeypatch.setattr(
            daily, "ENDPOINT", f"http://127.0.0.1:{closed.getsockname()[1]}/{{year}}/{{station}}"
        )
    with pytest.raises(WeatherUnavailable, match="no connection: connection refused"):
        collect("X0001", 2011, 2012, store=store)


def test_a_station_that_does_not_exist_leaves_no_absent_years_behind(here: Service, store: Store) -> None:
    with pytest.raises(WeatherUnavailable, match="no daily file of station X0009 for 2011 to 2012"):
        collect("X0009", 2011, 2012, store=store)
    assert store.years("X0009") == []


def aged(store: Store, station: str, year: int, days: int) -> None:
    """Let a stored year be fetched so many days ago."""
    found = store.read(station, year)
    assert found is not None
    store.write(replace(found, fetched=found.fetched - dt.timedelta(days)))


def test_recent_years_are_renewed_when_they_are_old_and_only_those(here: Service, store: Store) -> None:
    collect("X0004", THIS_YEAR - 3, THIS_YEAR, store=store)
    here.asked.clear()
    for year in range(THIS_YEAR - 3, THIS_YEAR + 1):
        aged(store, "X0004", year, 5)
    collect("X0004", THIS_YEAR - 3, THIS_YEAR, store=store)
    assert here.asked == []
    for year in range(THIS_YEAR - 3, THIS_YEAR + 1):
        aged(store, "X0004", year, 5)
    renewed = collect("X0004", THIS_YEAR - 3, THIS_YEAR, store=store)
    assert here.asked_years() == [THIS_YEAR - 1, THIS_YEAR]
    assert renewed.fetched == (THIS_YEAR - 1, THIS_YEAR)
    assert "from the store, the oldest fetched" in renewed.notes(dt.datetime.now(dt.UTC))[0]


def test_a_half_year_fetched_long_ago_is_not_taken_for_the_whole_one(here: Service, store: Store) -> None:
    here.today = dt.date(THIS_YEAR - 3, 6, 1)
    early = dt.datetime(THIS_YEAR - 3, 6, 1, tzinfo=dt.UTC)
    half = collect("X0004", THIS_YEAR - 3, THIS_YEAR - 3, store=store, now=early).years[0]
    assert half.known < 160
    here.today = dt.date.today()
    whole = collect("X0004", THIS_YEAR - 3, THIS_YEAR - 3, store=store).years[0]
    assert whole.known >= 365


def test_without_a_network_the_stored_year_serves_and_its_age_is_said(here: Service, store: Store) -> None:
    collect("X0004", THIS_YEAR, THIS_YEAR, store=store)
    aged(store, "X0004", THIS_YEAR, 12)
    before = store.path("X0004", THIS_YEAR).read_bytes()
    here.faults[""] = "hang"
    years = collect("X0004", THIS_YEAR, THIS_YEAR, store=store)
    assert years.aged == {THIS_YEAR: "no answer within 1 s"}
    notes = " ".join(years.notes(dt.datetime.now(dt.UTC)))
    assert f"{THIS_YEAR} was not renewed (no answer within 1 s): used as fetched" in notes
    assert "12 days ago" in notes
    assert store.path("X0004", THIS_YEAR).read_bytes() == before


def test_a_renewal_that_has_lost_days_or_the_file_does_not_replace_the_stored_year(
    here: Service, store: Store
) -> None:
    path = f"/daily/{THIS_YEAR - 1}/X0004.csv.gz"
    collect("X0004", THIS_YEAR - 1, THIS_YEAR - 1, store=store)
    for shape, fault, said in (("fewer", 0, r"what came knows 18\d days"), ("", 404, "no file any more")):
        aged(store, "X0004", THIS_YEAR - 1, 30)
        before = store.path("X0004", THIS_YEAR - 1).read_bytes()
        here.shapes[path], here.faults[path] = shape, fault
        years = collect("X0004", THIS_YEAR - 1, THIS_YEAR - 1, store=store)
        assert years.years[0].known >= 365
        assert re.search(said, years.aged[THIS_YEAR - 1])
        assert store.path("X0004", THIS_YEAR - 1).read_bytes() == before
    here.shapes[path], here.faults[path] = "fewer", 0
    forced = collect("X0004", THIS_YEAR - 1, THIS_YEAR - 1, store=store, refresh=True)
    assert forced.years[0].known < 190


def test_a_damaged_file_of_the_store_is_fetched_again_and_told(here: Service, store: Store) -> None:
    collect("X0001", 2011, 2012, store=store)
    whole = store.path("X0001", 2011).read_bytes()
    store.path("X0001", 2011).write_bytes(whole[:1000])
    here.asked.clear()
    years = collect("X0001", 2011, 2012, store=store)
    assert years.damaged == (2011,)
    assert here.asked_years() == [2011]
    store.path("X0001", 2011).write_bytes(whole[:1000])
    here.faults[""] = 500
    with pytest.raises(WeatherUnavailable, match="2011: the service answered 500"):
        collect("X0001", 2011, 2012, store=store)


def test_a_current_year_without_a_value_yet_is_no_fault(here: Service, store: Store) -> None:
    here.today = dt.date(THIS_YEAR, 1, 1)
    year = collect("X0004", THIS_YEAR, THIS_YEAR, store=store).years[0]
    assert year.there
    assert year.known == 0


def test_years_to_come_are_not_asked_for(here: Service, store: Store) -> None:
    years = collect("X0004", THIS_YEAR, THIS_YEAR + 5, store=store)
    assert [y.year for y in years.years] == [THIS_YEAR]
    with pytest.raises(WeatherUnavailable, match="is no span of years gone by"):
        collect("X0004", THIS_YEAR + 1, THIS_YEAR + 5, store=store)


def test_the_library_is_left_as_it_was_found_and_its_cache_is_not_used(here: Service, store: Store) -> None:
    import meteostat

    logger = logging.getLogger(stations.LIBRARY_LOG)
    before = (vars(meteostat.config).copy(), logger.level, logger.propagate, list(logger.handlers))
    socket.setdefaulttimeout(77.0)
    try:
        here.faults["/daily/2012/X0001.csv.gz"] = "cut"
        with pytest.raises(WeatherUnavailable):
            collect("X0001", 2011, 2012, store=store)
        assert socket.getdefaulttimeout() == 77.0
    finally:
        socket.setdefaulttimeout(None)
    after = {k: v for k, v in vars(meteostat.config).items() if k in before[0]}
    assert after == before[0]
    assert (logger.level, logger.propagate, logger.handlers) == before[1:]
    assert not (store.folder.parent / "library-cache").exists()
    assert not (store.folder.parent / "library-stations.db").exists()


def test_threads_take_turns(here: Service, store: Store) -> None:
    got: dict[str, Years] = {}

    def fetch(station: str) -> None:
        got[station] = collect(station, 2011, 2013, store=store)

    threads = [threading.Thread(target=fetch, args=(station,)) for station in ("X0001", "X0002")]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join(30)
    assert sorted(got) == ["X0001", "X0002"]
    for station, years in got.items():
        assert [(y.station, y.year, y.there) for y in years.years] == [
            (station, y, True) for y in (2011, 2012, 2013)
        ]
    np.testing.assert_array_equal(got["X0001"].years[0].rain, list(year_rows(DRY_GULCH, 2011).values()))


def test_progress_is_told_year_by_year(here: Service, store: Store) -> None:
    steps: list[tuple[int, int, int]] = []
    collect("X0001", 2012, 2014, store=store, progress=lambda *step: steps.append(step))
    assert steps == [(2012, 0, 3), (2013, 1, 3), (2014, 2, 3)]


@pytest.mark.parametrize("text", ["%", "X___1", "72306 OR 1=1", "../..", "", "123456", "ÄÖÜ12", "1234\n5"])
def test_nothing_but_an_id_reaches_the_library(text: str) -> None:
    with pytest.raises(InputError, match="a station id is five letters and digits"):
        checked_id(text)


def test_ids_may_be_typed_in_small_letters() -> None:
    assert checked_id(" klax0 ") == "KLAX0"


def test_the_timeout_is_as_given_then_from_the_environment(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.delenv(stations.TIMEOUT_ENVIRONMENT, raising=False)
    assert timeout_seconds() == 20.0
    monkeypatch.setenv(stations.TIMEOUT_ENVIRONMENT, "7")
    assert timeout_seconds() == 7.0
    assert timeout_seconds(3.0) == 3.0
    for wrong in ("soon", "0", "-1", "601", "nan"):
        monkeypatch.setenv(stations.TIMEOUT_ENVIRONMENT, wrong)
        with pytest.raises(InputError, match=f"HOLDWATER_TIMEOUT = {wrong}: a number of seconds is needed"):
            timeout_seconds()


def test_years_are_listed_as_spans() -> None:
    assert spans([2003, 1998, 2004, 2005]) == "1998, 2003 to 2005"
