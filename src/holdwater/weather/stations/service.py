"""The door to Meteostat, and the only file that loads its library.

The library keeps one set of settings, one cache and one socket timeout for the whole program, and says
only in its log whether a year is absent or a download failed. So everything happens inside `service`,
one thread at a time: its cache is off, its settings are put back, its log is read. Years are asked for
one by one: each is stored as soon as it has come, and each answer is told apart.
"""

from __future__ import annotations

import datetime as dt
import logging
import math
import os
import re
import socket
import sqlite3
import tempfile
import threading
import warnings
from collections.abc import Iterator
from contextlib import closing, contextmanager
from dataclasses import dataclass, field, replace
from pathlib import Path
from typing import TYPE_CHECKING, Any

import numpy as np

from holdwater.errors import InputError, WeatherUnavailable
from holdwater.weather.stations.service_log import Failure, Log, reason_of
from holdwater.weather.stations.store import Floats, Kind, StationYear, absent, days_in

if TYPE_CHECKING:
    import pandas as pd

TIMEOUT_ENVIRONMENT = "HOLDWATER_TIMEOUT"
TIMEOUT = 20.0
"""Seconds the service may be silent."""
LONGEST_TIMEOUT = 600.0
LIBRARY_LOG = "meteostat"
_ID = re.compile(r"[0-9A-Z]{5}")
_LOCK = threading.Lock()
_SETTINGS = (
    "cache_enable",
    "cache_autoclean",
    "cache_directory",
    "network_timeout",
    "network_max_retries",
    "stations_db_file",
    "stations_db_ttl",
    "block_large_requests",
)
_NEVER_STALE = 10**10


def checked_id(text: str) -> str:
    """A station id in the form the service uses.

    The library looks ids up with SQL LIKE and puts them into an address, so nothing else may pass.

    Raises
    ------
    InputError
        It is not five letters and digits.
    """
    station = text.strip().upper()
    if not _ID.fullmatch(station):
        raise InputError(
            f'station = "{text.strip()[:40]}": a station id is five letters and digits, such as "72306"; '
            "`holdwater weather near LATITUDE LONGITUDE` lists them"
        )
    return station


def timeout_seconds(given: float | None = None) -> float:
    """Seconds the service may be silent: as given, else HOLDWATER_TIMEOUT, else 20.

    Raises
    ------
    InputError
        It is no number of seconds between 0 and 600.
    """
    said = f"{given:g}" if given is not None else os.environ.get(TIMEOUT_ENVIRONMENT, "").strip()
    if not said:
        return TIMEOUT
    try:
        seconds = float(said)
    except ValueError:
        seconds = math.nan
    if not 0 < seconds <= LONGEST_TIMEOUT:
        where = "--timeout" if given is not None else TIMEOUT_ENVIRONMENT
        raise InputError(f"{where} = {said[:40]}: a number of seconds is needed, {LONGEST_TIMEOUT:g} at most")
    return seconds


@dataclass
class Service:
    """The library, opened; made by `service`."""

    library: Any
    scratch: Path
    log: Log
    grades: dict[str, Any] = field(default_factory=dict)

    def year(self, station: str, year: int, now: dt.datetime) -> StationYear | Failure:
        """Ask for one calendar year of a station.

        Parameters
        ----------
        station : str
            Checked id.
        year : int
            Calendar year.
        now : datetime
            What to note as the time of fetching, UTC.

        Returns
        -------
        StationYear or Failure
            The year; one that is not `there` only where the service said so (404), never for a
            download that failed.
        """
        ms = self.library
        wanted = [ms.Parameter.PRCP, ms.Parameter.TMIN, ms.Parameter.TMAX]
        self.log.clear()
        try:
            series = ms.daily(
                ms.Station(id=station), dt.date(year, 1, 1), dt.date(year, 12, 31), parameters=wanted
            )
            # not squashed: the library stumbles over a value without a source; not cleaned: the
            # plausibility gate shall see what came
            table = series.fetch(squash=False, clean=False)
        except Exception as error:  # whatever a download makes of the library is a failure
            return reason_of(error, str(error), self.log.timeout)
        if self.log.failure is not None:
            return self.log.failure
        if self.log.not_found:
            return absent(station, year, now)
        if table is None and year < now.year:
            return Failure("content", "what came holds no value beside its source")
        if table is None:  # the year has just begun
            return replace(absent(station, year, now), there=True)
        try:
            return self._station_year(table, station, year, now)
        except (ValueError, TypeError, KeyError) as error:
            said = str(error) if type(error) is ValueError else "what came is no weather file"
            return Failure("content", said)

    def _station_year(self, table: pd.DataFrame, station: str, year: int, now: dt.datetime) -> StationYear:
        rain, rain_source = _column(table, "prcp", year)
        t_min, low_source = _column(table, "tmin", year)
        t_max, high_source = _column(table, "tmax", year)
        t_source = [
            " ".join(dict.fromkeys(f"{a} {b}".split())) for a, b in zip(low_source, high_source, strict=True)
        ]
        stated = sorted({*rain_source, *t_source} - {""})
        names = sorted({name for source in stated for name in source.split()})
        return StationYear(
            station=station,
            year=year,
            there=True,
            fetched=now,
            rain=rain,
            rain_source=tuple(rain_source),
            t_min=t_min,
            t_max=t_max,
            t_source=tuple(t_source),
            kinds={source: self.kind(source) for source in stated},
            providers={name: self.attribution(name) for name in names},
        )

    def kind(self, source: str) -> Kind:
        """What a source says about its values: mixed sources ("isd_lite dwd_mosmix") count by their worst part.

        An id that the library's table of providers does not know, or does not grade, is no proof of
        an observation.
        """
        from meteostat.enumerations import Grade

        grades = [getattr(self._provider(name), "grade", None) for name in source.split()]
        if any(grade in (Grade.FORECAST, Grade.ANALYSIS) for grade in grades):
            return Kind.MODEL
        observed = bool(grades) and all(grade in (Grade.OBSERVATION, Grade.RECORD) for grade in grades)
        return Kind.OBSERVED if observed else Kind.UNSTATED

    def attribution(self, name: str) -> str:
        """Whom to name for a provider: as its licence asks, else its name."""
        spec = self._provider(name)
        if spec is None:
            return name
        licence = spec.license
        return str((licence and licence.attribution) or spec.name)

    def _provider(self, name: str) -> Any:
        """The library's entry of a provider; some are defined there, but not listed as its defaults."""
        if not self.grades:
            from meteostat.providers import index
            from meteostat.typing import ProviderSpec

            self.grades = {str(s.id): s for s in vars(index).values() if isinstance(s, ProviderSpec)}
        return self.grades.get(name)

    def fetch_station_list(self) -> Path:
        """Fetch the list of stations into the scratch folder and prove it whole.

        Raises
        ------
        WeatherUnavailable
            It could not be had, or what came is no list of stations.
        """
        file = self.scratch / "stations.db"
        self.library.config.stations_db_file = str(file)
        self.log.clear()
        try:
            self.library.stations.connect(in_memory=False).close()
        except Exception as error:  # the library raises bare exceptions and those of its own libraries
            broken = "the connection broke off" if isinstance(error, OSError) else "no server gave it out"
            said = self.log.failure.said if self.log.failure else broken
            raise WeatherUnavailable(f"the list of stations could not be fetched: {said}") from None
        if not is_station_list(file, every_page=True):
            raise WeatherUnavailable(
                "the list of stations could not be fetched: what came is no list of stations"
            )
        return file

    def use_station_list(self, file: Path) -> None:
        """Let the library's look-ups work on a list we hold, however old."""
        self.library.config.stations_db_file = str(file)
        self.library.config.stations_db_ttl = _NEVER_STALE


def is_station_list(file: Path, *, every_page: bool = False) -> bool:
    """Whether a file is a list of stations that can be worked with; `every_page` looks at all of it."""
    if not file.is_file():
        return False
    try:
        with closing(sqlite3.connect(file)) as opened:
            whole = not every_page or opened.execute("PRAGMA quick_check").fetchall() == [("ok",)]
            opened.execute("SELECT station, language, name FROM names LIMIT 1").fetchall()
            return whole and opened.execute("SELECT id FROM stations LIMIT 1").fetchone() is not None
    except sqlite3.Error:
        return False


@contextmanager
def service(timeout: float) -> Iterator[Service]:
    """Open the library for one piece of work and leave no trace of it.

    Parameters
    ----------
    timeout : float
        Seconds the service may be silent.
    """
    with _LOCK, tempfile.TemporaryDirectory(prefix="holdwater-") as scratch, warnings.catch_warnings():
        warnings.simplefilter("ignore")  # of the library and of pandas about it; nothing a user can mend
        import meteostat

        log = Log(timeout)
        config: Any = meteostat.config
        logger = logging.getLogger(LIBRARY_LOG)
        before = {name: getattr(config, name) for name in _SETTINGS}
        logged = logger.level, logger.propagate, socket.getdefaulttimeout()
        try:
            config.cache_enable = config.cache_autoclean = False
            config.cache_directory = scratch
            config.network_timeout, config.network_max_retries = timeout, 0
            config.block_large_requests = True
            logger.setLevel(logging.INFO)
            logger.propagate = False
            logger.addHandler(log)
            socket.setdefaulttimeout(timeout)
            yield Service(meteostat, Path(scratch), log)
        finally:
            socket.setdefaulttimeout(logged[2])
            logger.removeHandler(log)
            logger.setLevel(logged[0])
            logger.propagate = logged[1]
            for name, value in before.items():
                setattr(config, name, value)


def _column(table: pd.DataFrame, name: str, year: int) -> tuple[Floats, list[str]]:
    """One quantity by day of the year, and the source of each value, "" where none is stated.

    Raises
    ------
    ValueError
        A day with two values, a value that is no number, a time that is no day.
    """
    n = days_in(year)
    values, sources = np.full(n, np.nan), [""] * n
    if name not in table.columns:
        return values, sources
    there = table[name].dropna()
    try:
        found = there.to_numpy(dtype=np.float64, na_value=np.nan)
    except (ValueError, TypeError):
        raise ValueError("what came holds values that are no numbers") from None
    times = there.index.get_level_values("time").to_numpy().astype("datetime64[s]")
    days = times.astype("datetime64[D]")
    place = (days - np.datetime64(f"{year}-01-01")).astype(np.int64)
    if not np.isfinite(found).all() or (days != times).any() or ((place < 0) | (place >= n)).any():
        raise ValueError("what came holds values or times that make no sense")
    if len(np.unique(place)) < len(place):
        raise ValueError("what came names a day twice")
    values[place] = found
    for at, source in zip(place.tolist(), there.index.get_level_values("source"), strict=True):
        sources[at] = " ".join(source.split()) if isinstance(source, str) else ""
    return values, sources
