"""`holdwater weather near` and `holdwater weather fetch`."""

from __future__ import annotations

import datetime as dt
import json
import re
import sys
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from holdwater.cli.text import columns, count
from holdwater.errors import InputError, WeatherUnavailable
from holdwater.units import System, read, scale
from holdwater.weather.stations.station_list import Nearby, Station
from holdwater.weather.stations.station_list import near as stations_near
from holdwater.weather.stations.station_record import FORM, LICENCE, StationReading, read_station
from holdwater.weather.stations.station_years import Progress, ago
from holdwater.weather.stations.store import Store

MILE = 1609.344
_DISTANCE = re.compile(r"\s*(\d+(?:\.\d+)?)\s*(mi|miles?|km|kilomet(?:er|re)s?)\s*", re.IGNORECASE)


@dataclass(frozen=True)
class Place:
    """The place as typed."""

    latitude: float | None
    longitude: float | None
    scenario: Path | None
    elevation: str | None
    within: str


@dataclass(frozen=True)
class Span:
    """The station and days as typed."""

    station: str
    first: dt.date | None
    last: dt.date | None
    refresh: bool
    timeout: float | None


# ------------------------------------------------------------------------------------------------- near


def near(
    asked: Place, limit: int, timeout: float | None, units: str | None, as_json: bool, quiet: bool
) -> None:
    """List stations around a place.

    Raises
    ------
    InputError
        The place or a distance is not understood.
    WeatherUnavailable
        No list of stations could be had, or no station with a rain record is near.
    """
    latitude, longitude, elevation, system = _place(asked, units)
    within = _distance(asked.within)
    found = stations_near(latitude, longitude, elevation, within=within, timeout=timeout)
    if not found.stations:
        more = f" ({found.without_rain} without one)" if found.without_rain else ""
        raise WeatherUnavailable(
            f"no station with a rain record within {asked.within} of {latitude:g}, {longitude:g}{more}; "
            "look further with --within"
        )
    shown = found.stations[:limit]
    if as_json:
        told = {
            "latitude": latitude,
            "longitude": longitude,
            "elevation_m": elevation,
            "within_km": within / 1000,
            "stations": [_station(each) for each in shown],
            "stations_without_rain": found.without_rain,
            "list_age_days": found.list_age,
            "notes": list(found.notes),
            "licence": _source(),
        }
        print(json.dumps(told, indent=2, ensure_ascii=False))
    elif not quiet:
        _print_near(found, shown, (latitude, longitude), asked.within, system)


def _place(asked: Place, units: str | None) -> tuple[float, float, float | None, System]:
    """Where to look: as typed, else as the scenario says."""
    system: System = "metric" if units == "metric" else "us"
    elevation = read(asked.elevation, "altitude") if asked.elevation is not None else None
    if asked.latitude is not None and asked.longitude is not None:
        return asked.latitude, asked.longitude, elevation, system
    if asked.latitude is not None or asked.scenario is None:
        raise InputError(
            "say where: `holdwater weather near 38.4 -109.2` (degrees north and east, west is negative), "
            "or --scenario FILE"
        )
    from holdwater.scenario import load

    scenario = load(asked.scenario).scenario
    if scenario.place is None:
        raise InputError(
            f"{asked.scenario} does not say where it is; add [place] with latitude and longitude"
        )
    place = scenario.place
    if units is None:
        system = scenario.show_units
    return place.latitude, place.longitude, place.elevation if elevation is None else elevation, system


def _distance(text: str) -> float:
    """A distance in metres."""
    found = _DISTANCE.fullmatch(text)
    metres = float(found[1]) * (MILE if found[2].lower().startswith("mi") else 1000.0) if found else 0.0
    if not 0 < metres <= 2_000_000:
        raise InputError(
            f'--within "{text}": write a distance with its unit, "50 mi" or "80 km", 2000 km at most'
        )
    return metres


def _station(each: Station) -> dict[str, Any]:
    def km(metres: float | None) -> float | None:
        return None if metres is None else round(metres / 1000, 2)

    return {
        "id": each.id,
        "name": each.name,
        "country": each.country,
        "region": each.region,
        "latitude": each.latitude,
        "longitude": each.longitude,
        "elevation_m": each.elevation,
        "distance_km": km(each.distance),
        "higher_by_m": each.higher_by,
        "rain": {
            "from": str(each.rain_from),
            "to": str(each.rain_to),
            "completeness": None if each.completeness is None else round(each.completeness, 4),
        },
    }


def _print_near(
    found: Nearby, shown: list[Station], at: tuple[float, float], within: str, system: System
) -> None:
    print(f"Stations with a rain record within {within} of {at[0]:g}, {at[1]:g}, nearest first:\n")
    rows = [["id", "distance", "elevation", "difference", "rain from", "to", "complete", "name"]]
    for each in shown:
        rows.append(
            [
                each.id,
                _far(each.distance, system),
                "" if each.elevation is None else _height(each.elevation, system),
                "" if each.higher_by is None else _height(each.higher_by, system, "+"),
                str(each.rain_from),
                str(each.rain_to),
                "" if each.completeness is None else f"{100 * each.completeness:.1f} %",
                "  ".join(filter(None, [each.name, each.country])),
            ]
        )
    print(columns(rows, left=(0, 7)))
    left = len(found.stations) - len(shown)
    if left:
        print(f"\n{count(left, 'station')} more further away: --limit lists more")
    if found.without_rain:
        print(f"\n{count(found.without_rain, 'station')} without a rain record left out")
    for note in found.notes:
        print(f"\nNote: {note}")
    print(
        "\nCompleteness is the service's figure and counts values of forecast models too; "
        "fetch tells what was observed."
    )
    print(f"Next: holdwater weather fetch {shown[0].id}")
    print(_source())


def _height(metres: float, system: System, sign: str = "") -> str:
    """Write a height or, with a sign, a difference of heights in whole units."""
    factor, label = scale("altitude", system)
    return f"{metres * factor:{sign},.0f} {label}"


def _far(metres: float | None, system: System) -> str:
    if metres is None:
        return ""
    return f"{metres / MILE:.1f} mi" if system == "us" else f"{metres / 1000:.1f} km"


def _source() -> str:
    return f"Source: Meteostat, {LICENCE}"


# ------------------------------------------------------------------------------------------------ fetch


def fetch(asked: Span, out: Path | None, units: str | None, as_json: bool, quiet: bool) -> None:
    """Fetch a station into the store, and say what came.

    Raises
    ------
    InputError
        The id is none, or a file cannot be written.
    WeatherUnavailable
        Years could not be had.
    """
    store = Store()
    with progress(hidden=quiet or as_json) as step:
        found = read_station(
            asked.station,
            asked.first,
            asked.last,
            store=store,
            refresh=asked.refresh,
            timeout=asked.timeout,
            progress=step,
        )
    if out is not None:
        _write(found, out)
    if as_json:
        print(json.dumps(_told(found, store, out), indent=2, ensure_ascii=False))
    elif not quiet:
        _print_fetched(found, store, out, "metric" if units == "metric" else "us")


@contextmanager
def progress(hidden: bool) -> Iterator[Progress | None]:
    """Show a bar while years are fetched; only to a person at a terminal."""
    if hidden or not sys.stderr.isatty():
        yield None
        return
    from rich.console import Console
    from rich.progress import BarColumn, MofNCompleteColumn, Progress, TextColumn, TimeRemainingColumn

    columns = (TextColumn("{task.description}"), BarColumn(), MofNCompleteColumn(), TimeRemainingColumn())
    with Progress(*columns, console=Console(stderr=True), transient=True) as bar:
        task = bar.add_task("looking up the station", total=None)

        def step(year: int, done: int, total: int) -> None:
            bar.update(task, description=f"fetching {year}", completed=done, total=total)

        yield step


def _write(found: StationReading, out: Path) -> None:
    from holdwater.weather.conversion import write
    from holdwater.weather.reader import to_record
    from holdwater.weather.reading import to_daily
    from holdwater.weather.record import Origin

    daily = to_daily(found.reading)
    write(to_record(daily, missing=int((daily.origin == Origin.MISSING).sum())), out)


def _told(found: StationReading, store: Store, out: Path | None) -> dict[str, Any]:
    reading, counts = found.reading, found.counts
    now = dt.datetime.now(dt.UTC)
    years = {
        str(year.year): {
            "there": year.there,
            "fetched": year.fetched.isoformat(timespec="seconds"),
            "age_days": year.age_days(now),
            "fetched_now": year.year in found.years.fetched,
            "days_observed": year.known,
        }
        for year in found.years.years
    }
    return {
        "station": reading.station,
        "place": reading.place,
        "period": {"from": str(reading.days[0]), "to": str(reading.days[-1]), "days": counts.days},
        "days_observed": counts.observed,
        "days_missing": counts.missing,
        "days_of_models_taken_out": counts.model,
        "days_without_source_taken_out": counts.unstated,
        "days_with_model_temperatures": counts.model_temperatures,
        "years": years,
        "store": str(store.folder),
        "written": None if out is None else str(out),
        "form": FORM,
        "licence": reading.licence,
        "notes": list(reading.notes),
    }


def _print_fetched(found: StationReading, store: Store, out: Path | None, system: System) -> None:
    reading, counts, now = found.reading, found.counts, dt.datetime.now(dt.UTC)
    station = found.station
    where = "" if station is None else f", {station.name} ({station.country}), {station.latitude:.3f}, "
    if station is not None:
        where += f"{station.longitude:.3f}"
        if station.elevation is not None:
            where += f", {_height(station.elevation, system)}"
    print(f"Station {reading.station}{where}")
    share = 100 * counts.observed / counts.days
    print(
        f"{reading.days[0]} to {reading.days[-1]}: {count(counts.days, 'day')}, "
        f"rain observed on {counts.observed:,} of them ({share:.1f} %), missing on {counts.missing:,}"
    )
    now_here = [year for year in found.years.years if year.year in found.years.fetched]
    stored = [year for year in found.years.years if year.year not in found.years.fetched]
    absent = sum(not year.there for year in now_here)
    said = f"{count(len(now_here) - absent, 'year')} fetched now, {len(stored)} from the store"
    if stored:
        said += f" (the oldest fetched {ago(max(year.age_days(now) for year in stored))})"
    print(said + (f", {absent} that the service does not have" if absent else ""))
    for note in reading.notes:
        print(f"Note: {note}")
    print(f"Stored in {store.folder}" + (f"; written to {out}" if out else ""))
    print(f'Use it:  [weather]  station = "{reading.station}"')
    print(reading.licence)
