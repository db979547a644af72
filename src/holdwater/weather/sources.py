"""The record a scenario names: from a file, from a station, or from the nearest station that covers the run."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING

from holdwater.errors import InputError
from holdwater.weather.change import as_written
from holdwater.weather.checks import plausibility
from holdwater.weather.cures import placing
from holdwater.weather.diary import needed_until, top_up
from holdwater.weather.reader import NotPlausible, complete, drop_impossible, open_days, read_checked
from holdwater.weather.reading import Reading, to_daily
from holdwater.weather.record import Record
from holdwater.weather.stations.station_list import Station, near, nearest
from holdwater.weather.stations.station_record import days, read_station
from holdwater.weather.stations.station_years import Progress

if TYPE_CHECKING:
    from holdwater.scenario.schema import Place, Weather, WeatherFile

FAULTY_YEAR = "faulty-year"
"""Name for `accept`: take the days of a year whose file at the service is faulty for missing."""


def read_weather(
    weather: Weather,
    folder: Path,
    *,
    first: dt.date | None = None,
    last: dt.date | None = None,
    place: Place | None = None,
    progress: Progress | None = None,
) -> Record:
    """Read, check and complete the daily record a scenario names, its diary and its changes included.

    Parameters
    ----------
    weather : Weather
        The `[weather]` table of the scenario.
    folder : Path
        Folder the file's path counts from.
    first, last : date or None
        The days a run needs, both included: only gaps within them stop a run, and the record is
        cut to them. The whole file still serves as climatology; of a station only the calendar
        years of the run are asked for, or without them its whole rain record.
    place : Place or None
        Where the holding stands; a grid and `near = true` need it, and it says when summer is.
    progress : callable, optional
        Called before each year of a station is fetched.

    Returns
    -------
    Record
        Consecutive days without a missing rain value; filled days are marked in `origin`,
        warnings stand in `provenance.notes`.

    Raises
    ------
    InputError
        The record cannot be read, its data are not plausible, or days are missing and no policy
        fills them.
    WeatherUnavailable
        Years of a station could not be had, or no station covers the run.
    """
    notes: list[str] = []
    diary = _diary(weather, folder, place)
    if weather.near:
        chosen, notes = _nearest(place, first, needed_until(diary, first, last))
        weather = weather.model_copy(update={"station": chosen.id})
    with placing():
        try:
            daily = _checked(weather, folder, place, first, last, progress).noting(*notes)
        except NotPlausible as fault:  # its gaps are known as well
            raise InputError([*fault.faults, *open_days(fault.daily, weather, first, last)]) from None
    if diary is not None:
        daily = top_up(daily, diary)
    other = None
    if weather.missing_days == "neighbour" and weather.neighbour is not None:
        begin, end = first or daily.days[0].item(), last or daily.days[-1].item()
        with placing("neighbour", weather.neighbour.file):
            other = _checked(weather.neighbour, folder, place, begin, end, progress)
    with placing(), _named(daily.source, weather):
        record = complete(daily, weather, first, last, other)
    return as_written(_told(record, weather.missing_days), weather, place)


def _diary(weather: Weather, folder: Path, place: Place | None) -> Reading | None:
    """The owner's own log beside the record, where there is one."""
    if weather.diary is None:
        return None
    with placing("diary", weather.diary.file):
        return read_checked(weather.diary, folder, place)


def _checked(
    weather: WeatherFile,
    folder: Path,
    place: Place | None,
    first: dt.date | None,
    last: dt.date | None,
    progress: Progress | None,
) -> Reading:
    """Read a file or a station and pass it through the plausibility gate; gaps are left open."""
    if weather.file:
        return read_checked(weather, folder, place)
    faulty = FAULTY_YEAR in weather.accept
    found = read_station(weather.station or "", first, last, accept_faulty=faulty, progress=progress)
    daily = to_daily(found.reading)
    accept = [name for name in weather.accept if name != FAULTY_YEAR]
    with _named(daily.source, weather):
        notes = plausibility.gate(plausibility.examine(daily), daily.source, accept)
    return drop_impossible(daily).noting(*notes)


@contextmanager
def _named(source: str, weather: WeatherFile) -> Iterator[None]:
    """Let no message call a station a file."""
    try:
        yield
    except InputError as fault:
        if weather.file:
            raise
        raise InputError(
            [said.replace(f"weather file '{source}'", source) for said in fault.faults]
        ) from None


def _nearest(place: Place | None, first: dt.date | None, last: dt.date | None) -> tuple[Station, list[str]]:
    """The station that `near = true` takes, and the sentence that says so."""
    if place is None:
        raise InputError(
            "weather: near = true needs to know where the holding stands; add [place] with latitude and longitude"
        )
    found = near(place.latitude, place.longitude, place.elevation)
    chosen = nearest(found, first, last, dt.date.today())
    said = (
        f"near = true took station {chosen.id} ({chosen.name}), {(chosen.distance or 0) / 1000:.0f} km away"
    )
    if chosen.higher_by is not None:
        said += f" and {abs(chosen.higher_by):.0f} m {'lower' if chosen.higher_by < 0 else 'higher'}"
    return chosen, [*found.notes, f'{said}; station = "{chosen.id}" keeps to it']


def _told(record: Record, policy: str) -> Record:
    """Name the filling of days among the changes in the licence line."""
    provenance = record.provenance
    if not provenance.filled:
        return record
    line = provenance.licence_after(f"{days(provenance.filled)} without rain filled ({policy})")
    return Record(record.data, replace(provenance, licence=line))
