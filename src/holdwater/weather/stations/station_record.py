"""The days of a station: observed rain only, gaps left open, every day taken out counted and named."""

from __future__ import annotations

import datetime as dt
from dataclasses import dataclass

import numpy as np

from holdwater.errors import InputError, WeatherUnavailable
from holdwater.weather.reading import Mask, Reading, origins
from holdwater.weather.stations.service import checked_id, is_station_list
from holdwater.weather.stations.station_list import Station, describe
from holdwater.weather.stations.station_years import Progress, Years, collect
from holdwater.weather.stations.store import Kind, Store

FORM = "daily station data of Meteostat"
LICENCE = "CC BY 4.0"
DAY_ENDS = "not stated by the service; it differs with the source"


@dataclass(frozen=True)
class Counts:
    """Days of a station record by what their rain rests on.

    Attributes
    ----------
    days : int
        Days of the span.
    observed : int
        Days with an observed rain value.
    model : int
        Days whose rain came from a forecast or analysis model and was taken out.
    unstated : int
        Days whose rain had no source that proves an observation and was taken out.
    model_temperatures : int
        Days whose temperatures have a model in their source; they are kept.
    """

    days: int
    observed: int
    model: int
    unstated: int
    model_temperatures: int

    @property
    def missing(self) -> int:
        """Days without an observed rain value."""
        return self.days - self.observed


@dataclass(frozen=True)
class StationReading:
    """A station's days as read, and what is known about them."""

    reading: Reading
    counts: Counts
    years: Years
    station: Station | None


def read_station(
    station: str,
    first: dt.date | None = None,
    last: dt.date | None = None,
    *,
    store: Store | None = None,
    refresh: bool = False,
    accept_faulty: bool = False,
    timeout: float | None = None,
    progress: Progress | None = None,
) -> StationReading:
    """Have the days of a station from the store or the service, observed rain only, gaps left open.

    Parameters
    ----------
    station : str
        Id of the station.
    first, last : date or None
        Span; without them the rain record of the station as the list of stations has it.
    refresh, accept_faulty, timeout, progress
        See `station_years.collect`.

    Returns
    -------
    StationReading
        Rain [mm] on consecutive days from `first` to `last`; days whose rain is not shown to be
        observed are missing.

    Raises
    ------
    InputError
        The id is none, or the span is turned round.
    WeatherUnavailable
        Years could not be had.
    """
    station = checked_id(station)
    store = store or Store()
    now = dt.datetime.now(dt.UTC).replace(microsecond=0)
    listed = _listed(station, store, timeout, needed=first is None or last is None)
    first, last = _span(station, first, last, listed, store)
    years = collect(
        station,
        first.year,
        last.year,
        store=store,
        refresh=refresh,
        accept_faulty=accept_faulty,
        timeout=timeout,
        progress=progress,
        now=now,
    )
    return _assembled(years, first, min(last, now.date()), listed, now)


def _listed(station: str, store: Store, timeout: float | None, *, needed: bool) -> Station | None:
    """What the list of stations knows; it is fetched only where the span cannot be told without it."""
    if not needed and not is_station_list(store.station_list):
        return None
    try:
        found = describe(station, store=store, timeout=timeout)
    except WeatherUnavailable:
        if store.years(station):
            return None
        raise
    if found is None and needed and not store.years(station):
        raise WeatherUnavailable(
            f"there is no station {station}; `holdwater weather near LATITUDE LONGITUDE` lists those near you"
        )
    return found


def _span(
    station: str, first: dt.date | None, last: dt.date | None, listed: Station | None, store: Store
) -> tuple[dt.date, dt.date]:
    """The days to read: as asked, else as listed, else as far as the store goes."""
    stored = store.years(station)
    if first is None:
        first = (listed and listed.rain_from) or (dt.date(stored[0], 1, 1) if stored else None)
    if last is None:
        last = (listed and listed.rain_to) or (dt.date(stored[-1], 12, 31) if stored else None)
    if first is None or last is None:
        raise WeatherUnavailable(
            f"station {station} has no daily rain record that the list of stations knows of; say which days "
            "to try (run.from and run.to, or --from and --to), or take another station"
        )
    if first > last:
        raise InputError(f"station {station}: {first} to {last} is turned round")
    return first, last


def _assembled(
    years: Years, first: dt.date, last: dt.date, listed: Station | None, now: dt.datetime
) -> StationReading:
    """Put the years end to end, take out rain that is not shown to be observed, and count."""
    dates = np.arange(
        np.datetime64(f"{years.years[0].year}-01-01"), np.datetime64(f"{years.years[-1].year + 1}-01-01")
    )
    within = (dates >= np.datetime64(first)) & (dates <= np.datetime64(last))
    rain = np.concatenate([y.rain for y in years.years])
    there = ~np.isnan(rain)
    observed = _of_kind(years, Kind.OBSERVED) & there
    model = _of_kind(years, Kind.MODEL) & there
    warm = {name: np.concatenate([getattr(y, name) for y in years.years]) for name in ("t_min", "t_max")}
    by_model = np.concatenate(
        [np.array([y.kinds.get(s) is Kind.MODEL for s in y.t_source]) for y in years.years]
    )
    counts = Counts(
        days=int(within.sum()),
        observed=int((observed & within).sum()),
        model=int((model & within).sum()),
        unstated=int((there & ~observed & ~model & within).sum()),
        model_temperatures=int((by_model & within).sum()),
    )
    rain = np.where(observed, rain, np.nan)
    name = f" {listed.name}" if listed and listed.name else ""
    reading = Reading(
        source=f"Meteostat station {years.station}{name}",
        form=FORM,
        days=dates[within],
        rain=rain[within],
        origin=origins(~observed[within]),
        others={k: v[within] for k, v in warm.items() if not np.isnan(v[within]).all()},
        unit="mm",
        units_as_read="rain in mm, t_min in degC, t_max in degC",
        station=years.station,
        place=listed.place if listed else "",
        latitude=listed.latitude if listed else None,
        longitude=listed.longitude if listed else None,
        elevation=listed.elevation if listed else None,
        licence=_licence(years, counts, within),
        day_ends=DAY_ENDS,
        notes=(*_counted(counts, years), *years.notes(now)),
    )
    return StationReading(reading, counts, years, listed)


def _of_kind(years: Years, kind: Kind) -> Mask:
    return np.concatenate([y.of_kind(kind) for y in years.years])


def _counted(counts: Counts, years: Years) -> list[str]:
    """Sentences on days that were taken out, and on temperatures of models that were kept."""
    said = []
    if counts.model:
        said.append(
            f"rain of {days(counts.model)} came from a forecast or analysis model and counts as missing: only "
            "observed rain is used"
        )
    if counts.unstated:
        unknown = sorted({s for y in years.years for s in y.rain_source if s and y.kinds[s] is Kind.UNSTATED})
        which = f" (unknown: {', '.join(unknown[:4])})" if unknown else ""
        said.append(
            f"rain of {days(counts.unstated)} has no source that shows an observation{which} and counts as missing"
        )
    if counts.model_temperatures:
        said.append(
            f"on {days(counts.model_temperatures)} a model has a part in the temperatures; they are kept"
        )
    if years.damaged:
        said.append(f"damaged in the store and fetched again: {', '.join(map(str, years.damaged))}")
    return said


def days(number: int) -> str:
    """A number of days: "1 day", "12 days"."""
    return "1 day" if number == 1 else f"{number:,} days"


def _licence(years: Years, counts: Counts, within: Mask) -> str:
    """The line that names the service, those who measured, the licence, and what was changed."""
    used: set[str] = set()
    names: dict[str, str] = {}
    for year in years.years:
        names |= year.providers
        rain = {s for s in year.rain_source if year.kinds.get(s) is Kind.OBSERVED}
        used |= {name for source in (rain | set(year.t_source)) for name in source.split()}
    providers = ", ".join(sorted({names.get(name, name) for name in used}))
    changes = []
    if counts.model:
        changes.append(f"model rain of {days(counts.model)} taken out")
    if counts.unstated:
        changes.append(f"rain without a source of {days(counts.unstated)} taken out")
    by = f" and {providers}" if providers else ""
    return f"Source: Meteostat{by}, {LICENCE}; changes: {', '.join(changes) or 'none'}"
