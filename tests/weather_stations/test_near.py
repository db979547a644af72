"""Stations near a place: the list of stations, fetched, kept, renewed, and what it says."""

from __future__ import annotations

import datetime as dt
import math
import os
import sqlite3
import time
from contextlib import closing
from dataclasses import replace

import pytest

from holdwater.errors import InputError, WeatherUnavailable
from holdwater.weather.stations.station_list import Nearby, Station, describe, near, nearest
from holdwater.weather.stations.store import Store
from tests.weather_stations.service import DRY_GULCH, MILL_CREEK, Service

TODAY = dt.date(2026, 3, 1)
AT = (38.4, -109.2)


def great_circle(one: tuple[float, float], two: tuple[float, float]) -> float:
    """Distance on a sphere of 6371 km by the haversine formula [m]."""
    (a, b), (c, d) = (map(math.radians, point) for point in (one, two))
    h = math.sin((c - a) / 2) ** 2 + math.cos(a) * math.cos(c) * math.sin((d - b) / 2) ** 2
    return 2 * 6_371_000 * math.asin(math.sqrt(h))


def test_stations_come_nearest_first_with_distance_height_and_rain_record(
    here: Service, store: Store
) -> None:
    found = near(*AT, 1600.0, store=store)
    assert [s.id for s in found.stations] == ["X0001", "X0002", "X0004"]
    first, second, _ = found.stations
    assert first.distance == pytest.approx(
        great_circle(AT, (DRY_GULCH.latitude, DRY_GULCH.longitude)), abs=0.1
    )
    assert second.distance == pytest.approx(
        great_circle(AT, (MILL_CREEK.latitude, MILL_CREEK.longitude)), abs=0.1
    )
    assert (first.higher_by, second.higher_by) == (-30.0, 220.0)
    assert (first.rain_from, first.rain_to) == (dt.date(2010, 1, 1), dt.date(2014, 12, 31))
    assert first.completeness == pytest.approx(0.975)
    assert found.without_rain == 1  # Windy Top measures no rain
    assert found.list_age == 0
    assert first.place == "Dry Gulch (invented), US, 38.4100, -109.1300, 1570 m"


def test_completeness_may_be_a_share_or_per_cent(here: Service, store: Store) -> None:
    here.whole = 1.0
    assert near(*AT, store=store).stations[0].completeness == pytest.approx(0.975)


def test_further_away_are_more_and_nearer_are_fewer(here: Service, store: Store) -> None:
    assert [s.id for s in near(*AT, within=10_000.0, store=store).stations] == ["X0001"]
    assert near(0.0, 0.0, store=store).stations == []


def test_a_list_without_an_inventory_knows_of_no_rain(here: Service, store: Store) -> None:
    here.inventory = False
    found = near(*AT, store=store)
    assert found.stations == []
    assert found.without_rain == 4


def test_the_list_is_fetched_once_and_serves_without_a_network(here: Service, store: Store) -> None:
    near(*AT, store=store)
    here.faults[""] = 500
    assert len(near(*AT, store=store).stations) == 3
    assert here.asked == ["/stations.db"]
    station = describe("X0002", store=store)
    assert station is not None
    assert (station.name, station.elevation, station.rain_from) == (
        "Mill Creek (invented)",
        1820.0,
        dt.date(2011, 1, 1),
    )
    assert describe("X0009", store=store) is None


def test_an_old_list_is_renewed_and_used_where_it_cannot_be(here: Service, store: Store) -> None:
    near(*AT, store=store)
    old = time.time() - 45.5 * 86400
    os.utime(store.station_list, (old, old))
    here.faults[""] = "hang"
    found = near(*AT, store=store)
    assert len(found.stations) == 3
    assert "the list of stations is 45 days old and could not be renewed" in found.notes[0]
    assert "no answer within 1 s" in found.notes[0]
    here.faults.clear()
    assert near(*AT, store=store).notes == ()
    assert store.station_list_age() == 0


@pytest.mark.parametrize(
    ("fault", "said"),
    [
        (500, "the service answered 500"),
        (404, "no server gave it out"),
        ("garbage", "what came is no list of stations"),
        ("cut", "what came is no list of stations"),
        ("half", "the connection broke off"),
        ("hang", "no answer within 1 s"),
    ],
)
def test_no_list_at_all_is_told_and_nothing_of_it_is_kept(
    fault: int | str, said: str, here: Service, store: Store
) -> None:
    here.faults["/stations.db"] = fault
    with pytest.raises(WeatherUnavailable, match=f"could not be fetched: {said}.*try again with a network"):
        near(*AT, store=store)
    assert not store.station_list.exists()


def test_a_damaged_list_in_the_store_is_fetched_again(here: Service, store: Store) -> None:
    near(*AT, store=store)
    store.station_list.write_bytes(b"not a database")
    assert len(near(*AT, store=store).stations) == 3


def test_an_id_with_a_wildcard_in_the_list_does_no_harm(here: Service, store: Store) -> None:
    near(*AT, store=store)
    with closing(sqlite3.connect(store.station_list)) as db, db:
        db.execute("UPDATE names SET name = 'Bell\x07 \x1b[31mred' WHERE station = 'X0001'")
    assert near(*AT, store=store).stations[0].name == "Bell [31mred"


@pytest.mark.parametrize("place", [(91.0, 0.0), (0.0, 181.0), (math.nan, 0.0)])
def test_a_place_off_the_earth_is_refused(place: tuple[float, float]) -> None:
    with pytest.raises(InputError, match="is no place on Earth"):
        near(*place)


def station(name: str, first: int, last: int, completeness: float | None = 0.99) -> Station:
    """A station with a rain record over whole years."""
    return Station(
        name, f"{name} (invented)", "US", "UT", 38.0, -109.0, 1500.0,
        dt.date(first, 1, 1), dt.date(last, 12, 31), completeness,
    )  # fmt: skip


def test_the_nearest_station_that_covers_the_run_is_taken() -> None:
    found = Nearby(
        [station("A0001", 1990, 2005), station("A0002", 1980, 2025, 0.6), station("A0003", 1980, 2025)],
        0,
        0,
        (),
    )
    run = dt.date(1995, 1, 1), dt.date(2004, 12, 31)
    assert nearest(found, *run, TODAY).id == "A0001"
    assert nearest(found, run[0], dt.date(2020, 12, 31), TODAY).id == "A0003"
    assert nearest(found, None, None, TODAY).id == "A0001"


def test_a_record_that_goes_on_covers_the_last_weeks() -> None:
    going = replace(station("A0001", 2000, 2025), rain_to=dt.date(2026, 2, 10))
    assert going.covers(dt.date(2001, 1, 1), dt.date(2026, 2, 27), TODAY)
    assert not station("A0002", 2000, 2024).covers(dt.date(2001, 1, 1), dt.date(2025, 1, 5), TODAY)


def test_where_no_station_covers_the_run_the_nearest_are_listed() -> None:
    found = Nearby([station("A0001", 1990, 2005), station("A0002", 2010, 2025, None)], 0, 0, ())
    with pytest.raises(WeatherUnavailable) as told:
        nearest(found, dt.date(1980, 1, 1), dt.date(2020, 12, 31), TODAY)
    said = str(told.value)
    assert "no station nearby has a rain record from 1980-01-01 to 2020-12-31" in said
    assert "A0001 A0001 (invented) (1990-01-01 to 2005-12-31, 99 % complete)" in said
    assert "A0002 A0002 (invented) (2010-01-01 to 2025-12-31)" in said
    assert "fit run.from and run.to to it" in said
    with pytest.raises(WeatherUnavailable, match="10 years at least"):
        nearest(Nearby([station("A0001", 2019, 2022)], 0, 0, ()), None, None, TODAY)
    with pytest.raises(WeatherUnavailable, match="no station with a rain record around the place"):
        nearest(Nearby([], 3, 0, ()), None, None, TODAY)
