"""Which stations there are: near a place, how far, how high, and since when they measure rain."""

from __future__ import annotations

import datetime as dt
import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Any

from holdwater.errors import InputError, WeatherUnavailable
from holdwater.weather.stations.service import Service, is_station_list, service, timeout_seconds
from holdwater.weather.stations.store import Store

if TYPE_CHECKING:
    import pandas as pd

REFRESH_DAYS = 30
"""Age at which the list of stations is fetched anew."""
MOST = 300
"""Stations looked at around a place."""
WITHIN_M = 80_000.0
"""Distance within which stations are looked for [m]."""
GOOD = 0.9
"""Completeness from which a station may be chosen by itself; common practice, set low."""
STILL_RUNNING_DAYS = 60
"""A record that ends this short before today counts as going on: the list is not renewed every day."""
LEAST_YEARS = 10


@dataclass(frozen=True)
class Station:
    """A station and its rain record, as the list of stations has them.

    Attributes
    ----------
    latitude, longitude : float
        Degrees north and east.
    elevation : float or None
        Above sea level [m].
    rain_from, rain_to : date or None
        Span of its daily rain record, None where the list knows of none.
    completeness : float or None
        Share of the days of that span with a value [0..1]; values of models count there too.
    distance : float or None
        From the place asked about [m].
    higher_by : float or None
        Its elevation less that of the place asked about [m].
    """

    id: str
    name: str
    country: str
    region: str
    latitude: float
    longitude: float
    elevation: float | None
    rain_from: dt.date | None = None
    rain_to: dt.date | None = None
    completeness: float | None = None
    distance: float | None = None
    higher_by: float | None = None

    @property
    def place(self) -> str:
        """The station in words: "Mill Creek, US, 30.2500, -97.7500, 180 m"."""
        parts = [self.name, self.country, f"{self.latitude:.4f}", f"{self.longitude:.4f}"]
        if self.elevation is not None:
            parts.append(f"{self.elevation:.0f} m")
        return ", ".join(part for part in parts if part)

    def covers(self, first: dt.date, last: dt.date, today: dt.date) -> bool:
        """Whether the rain record spans these days, as far as the list can know."""
        if self.rain_from is None or self.rain_to is None:
            return False
        running = (today - self.rain_to).days <= STILL_RUNNING_DAYS
        return self.rain_from <= first and (self.rain_to >= last or running)


@dataclass(frozen=True)
class Nearby:
    """Stations around a place, nearest first.

    Attributes
    ----------
    stations : list of Station
        Those with a rain record.
    without_rain : int
        How many more there are that have none.
    list_age : int or None
        Age of the list of stations [days].
    notes : tuple of str
        What to know about it.
    """

    stations: list[Station]
    without_rain: int
    list_age: int | None
    notes: tuple[str, ...]


def near(
    latitude: float,
    longitude: float,
    elevation: float | None = None,
    *,
    within: float = WITHIN_M,
    store: Store | None = None,
    timeout: float | None = None,
) -> Nearby:
    """Stations with a rain record around a place.

    Parameters
    ----------
    latitude, longitude : float
        Degrees north and east.
    elevation : float, optional
        Above sea level [m].
    within : float
        How far to look [m].

    Raises
    ------
    InputError
        No such place on Earth.
    WeatherUnavailable
        There is no list of stations in the store and none could be fetched.
    """
    if not (-90 <= latitude <= 90 and -180 <= longitude <= 180):
        raise InputError(
            f"{latitude:g}, {longitude:g} is no place on Earth: latitude runs from -90 to 90, longitude "
            "from -180 to 180, west is negative"
        )
    store = store or Store()
    with service(timeout_seconds(timeout)) as opened:
        notes = _open_list(opened, store)
        ms = opened.library
        point = ms.Point(latitude, longitude)
        found = ms.stations.nearby(point, radius=within, limit=MOST)
        rain = _rain_records(opened, [str(name) for name in found.index])
    stations = [_station(str(name), row, elevation) for name, row in found.iterrows()]
    known = [replace(each, **rain[each.id]) for each in stations if each.id in rain]
    return Nearby(known, len(stations) - len(known), store.station_list_age(), notes)


def describe(station: str, *, store: Store | None = None, timeout: float | None = None) -> Station | None:
    """One station of the list, fetching the list if there is none; None if it does not name the station.

    Raises
    ------
    WeatherUnavailable
        There is no list of stations in the store and none could be fetched.
    """
    store = store or Store()
    with service(timeout_seconds(timeout)) as opened:
        _open_list(opened, store)
        meta = opened.library.stations.meta(station)
        rain = _rain_records(opened, [station]) if meta is not None else {}
    if meta is None:
        return None
    return replace(_station(station, vars(meta), None), **rain.get(station, {}))


def nearest(found: Nearby, first: dt.date | None, last: dt.date | None, today: dt.date) -> Station:
    """The nearest station whose rain record covers a run and is at least 90 % complete.

    Parameters
    ----------
    found : Nearby
        Stations around the place.
    first, last : date or None
        The run; without them a record of ten years is asked for.

    Raises
    ------
    WeatherUnavailable
        There is none; the message lists the nearest ones and their records.
    """
    for each in found.stations:
        if each.completeness is not None and each.completeness < GOOD:
            continue
        start, end = first or each.rain_from, last or each.rain_to
        if start is None or end is None or not each.covers(start, end, today):
            continue
        if (first and last) or (end - start).days >= LEAST_YEARS * 365:
            return each
    need = f"from {first or 'its start'} to {last or 'its end'}"
    if not (first and last):
        need += f", {LEAST_YEARS} years at least"
    if not found.stations:
        raise WeatherUnavailable(
            "near = true: there is no station with a rain record around the place; bring a file"
        )
    listed = "; ".join(_brief(each) for each in found.stations[:3])
    raise WeatherUnavailable(
        f"near = true: no station nearby has a rain record {need}, at least {100 * GOOD:.0f} % complete. "
        f"The nearest are {listed}. "
        'Choose one with station = "ID" and fit run.from and run.to to it'
    )


def _brief(each: Station) -> str:
    share = "" if each.completeness is None else f", {100 * each.completeness:.0f} % complete"
    return f"{each.id} {each.name} ({each.rain_from} to {each.rain_to}{share})"


def _open_list(opened: Service, store: Store) -> tuple[str, ...]:
    """Have a list of stations at hand: ours while it is young, a fetched one, or ours after all."""
    age = store.station_list_age() if is_station_list(store.station_list) else None
    notes: tuple[str, ...] = ()
    if age is None or age > REFRESH_DAYS:
        try:
            store.put_station_list(opened.fetch_station_list())
        except WeatherUnavailable as fault:
            if age is None:
                raise WeatherUnavailable(
                    f"{fault}. It is needed once to find stations: try again with a network"
                ) from None
            notes = (f"the list of stations is {age} days old and could not be renewed ({fault})",)
    opened.use_station_list(store.station_list)
    return notes


def _rain_records(opened: Service, ids: Sequence[str]) -> dict[str, dict[str, Any]]:
    """Span and completeness of the daily rain record of each station that has one."""
    import pandas as pd

    ms = opened.library
    if not ids:
        return {}
    try:
        rows = ms.stations.inventory(list(ids), providers=[ms.Provider.DAILY]).df
        top = ms.stations.query("SELECT max(completeness) AS top FROM inventory")["top"].iloc[0]
    except pd.errors.DatabaseError:  # a list without an inventory
        return {}
    if rows is None:
        return {}
    whole = 100.0 if top is not None and float(top) > 1 else 1.0  # in per cent, or a share
    records: dict[str, dict[str, Any]] = {}
    for (name, _, parameter), row in rows.iterrows():
        first, last = _date(row["start"]), _date(row["end"])
        if str(parameter) == "prcp" and first and last:
            share = _number(row["completeness"])
            records[str(name)] = {
                "rain_from": first,
                "rain_to": last,
                "completeness": None if share is None else min(share / whole, 1.0),
            }
    return records


def _station(name: str, row: dict[str, Any] | pd.Series[Any], elevation: float | None) -> Station:
    height = _number(row["elevation"])
    return Station(
        id=name,
        name=_text(row["name"]),
        country=_text(row["country"]),
        region=_text(row["region"]),
        latitude=float(row["latitude"]),
        longitude=float(row["longitude"]),
        elevation=height,
        distance=_number(row.get("distance")),
        higher_by=None if height is None or elevation is None else height - elevation,
    )


def _text(value: object) -> str:
    """Text of a cell, without anything that could steer a terminal."""
    return "".join(c for c in value if c.isprintable()) if isinstance(value, str) else ""


def _number(value: Any) -> float | None:
    try:
        number = float(value)
    except (TypeError, ValueError):
        return None
    return number if math.isfinite(number) else None


def _date(value: object) -> dt.date | None:
    try:
        return dt.date.fromisoformat(str(value)[:10])
    except ValueError:
        return None
