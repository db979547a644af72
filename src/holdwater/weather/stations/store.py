"""Our own store of fetched weather: one file per station and year, written whole or not at all.

It lies in the user's data folder, or where the environment variable HOLDWATER_STORE says. A run that
has once been fetched works from it without a network. A file is JSON with the values as the service
gave them, the source of every value and the time of fetching; a damaged file is never half used.
"""

from __future__ import annotations

import datetime as dt
import json
import math
import os
import shutil
import tempfile
import time
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from dataclasses import dataclass, field
from enum import StrEnum
from pathlib import Path
from typing import Any

import numpy as np
import numpy.typing as npt

from holdwater.errors import InputError

ENVIRONMENT = "HOLDWATER_STORE"
FORMAT = 1
_NEW = ".new-"
_LEFT_OVER = 3600.0  # s; a temporary file older than this belongs to no writer any more

Floats = npt.NDArray[np.float64]


class Kind(StrEnum):
    """What a value's source says about it."""

    OBSERVED = "observed"
    MODEL = "model"
    """A forecast or analysis model had a part in it."""
    UNSTATED = "unstated"
    """No source, or one that nobody graded."""


class Damaged(Exception):
    """A file of the store cannot be used; it has to be fetched again."""


@dataclass(frozen=True)
class StationYear:
    """One calendar year of one station, as the service gave it.

    Attributes
    ----------
    there : bool
        False where the service has no file for this year; then every value is NaN.
    fetched : datetime
        When it was fetched, in UTC.
    rain, t_min, t_max : ndarray, shape (365 or 366,)
        One value per civil day, NaN where the service has none [mm], [degC].
    rain_source, t_source : tuple of str
        Source of each day's rain and temperatures; "" where none is stated.
    kinds : dict of str to Kind
        What each source says about its values.
    providers : dict of str to str
        Whom to name for each provider in the sources.
    """

    station: str
    year: int
    there: bool
    fetched: dt.datetime
    rain: Floats
    rain_source: tuple[str, ...]
    t_min: Floats
    t_max: Floats
    t_source: tuple[str, ...]
    kinds: dict[str, Kind] = field(default_factory=dict)
    providers: dict[str, str] = field(default_factory=dict)

    @property
    def known(self) -> int:
        """Days with an observed rain value."""
        return int((~np.isnan(self.rain) & self.of_kind(Kind.OBSERVED)).sum())

    def of_kind(self, kind: Kind) -> npt.NDArray[np.bool_]:
        """Days whose rain has a source of this kind, shape (365 or 366,)."""
        return np.array([self.kinds.get(source, Kind.UNSTATED) is kind for source in self.rain_source])

    def age_days(self, now: dt.datetime) -> int:
        """Whole days since it was fetched."""
        return max(0, (now - self.fetched).days)


def days_in(year: int) -> int:
    """Length of a calendar year [days]."""
    return (dt.date(year + 1, 1, 1) - dt.date(year, 1, 1)).days


def absent(station: str, year: int, fetched: dt.datetime) -> StationYear:
    """A year of which the service said that it has no file."""
    n = days_in(year)
    nothing, blank = np.full(n, np.nan), ("",) * n
    return StationYear(station, year, False, fetched, nothing, blank, nothing, nothing, blank)


def default_folder() -> Path:
    """Where the store lies: HOLDWATER_STORE, else the user's data folder."""
    said = os.environ.get(ENVIRONMENT, "").strip()
    if said:
        return Path(said).expanduser().absolute()
    from platformdirs import user_data_path

    return user_data_path("holdwater", appauthor=False) / "stations"


class Store:
    """Station years and the list of stations on disk.

    Parameters
    ----------
    folder : Path, optional
        Where it lies; `default_folder` if not given. It is made when something is first written.
    """

    def __init__(self, folder: Path | None = None) -> None:
        self.folder = folder or default_folder()

    @property
    def station_list(self) -> Path:
        """Where the list of stations lies (SQLite), whether it is there or not."""
        return self.folder / "stations.db"

    def path(self, station: str, year: int) -> Path:
        """Where one station year lies, whether it is there or not."""
        return self.folder / station / f"{year}.json"

    def years(self, station: str) -> list[int]:
        """Years on disk, in order."""
        folder = self.folder / station
        found = [p.stem for p in folder.glob("*.json")] if folder.is_dir() else []
        return sorted(int(stem) for stem in found if stem.isdecimal() and len(stem) == 4)

    def read(self, station: str, year: int) -> StationYear | None:
        """One station year, or None if it is not in the store.

        Raises
        ------
        Damaged
            The file is there, but is not what was once written.
        """
        path = self.path(station, year)
        try:
            text = path.read_bytes()
        except FileNotFoundError:
            return None
        except OSError as fault:
            raise Damaged(f"{path} cannot be read ({fault.strerror or fault})") from None
        try:
            found = _from_json(json.loads(text))
        except (ValueError, KeyError, TypeError, AttributeError, OverflowError, RecursionError):
            raise Damaged(f"{path} is damaged") from None
        if (found.station, found.year) != (station, year):
            raise Damaged(f"{path} holds another station or year")
        return found

    def write(self, year: StationYear) -> None:
        """Put one station year into the store, in place of an older one.

        Raises
        ------
        InputError
            The store cannot be written.
        """
        with self.placing(self.path(year.station, year.year)) as beside:
            beside.write_text(json.dumps(_to_json(year), allow_nan=False), "utf-8")

    def put_station_list(self, file: Path) -> None:
        """Put a fetched list of stations into the store, in place of an older one.

        Raises
        ------
        InputError
            The store cannot be written.
        """
        with self.placing(self.station_list) as beside:
            shutil.copyfile(file, beside)

    def station_list_age(self) -> int | None:
        """Whole days since the list of stations was fetched, or None if there is none."""
        try:
            return max(0, int((time.time() - self.station_list.stat().st_mtime) // 86400))
        except OSError:
            return None

    @contextmanager
    def placing(self, target: Path) -> Iterator[Path]:
        """Give a path beside `target` to write to; it takes the target's name once it is whole on disk.

        Raises
        ------
        InputError
            The store cannot be written.
        """
        beside: Path | None = None
        try:
            target.parent.mkdir(parents=True, exist_ok=True)
            _sweep(target.parent)
            number, name = tempfile.mkstemp(prefix=_NEW, dir=target.parent)
            os.close(number)
            beside = Path(name)
            yield beside
            with beside.open("rb+") as written:
                os.fsync(written.fileno())
            os.replace(beside, target)
        except OSError as fault:
            raise InputError(
                f"cannot write into the weather store {self.folder}: {fault.strerror or fault}; "
                f"free or permit it, or name another folder in the environment variable {ENVIRONMENT}"
            ) from None
        finally:
            if beside is not None:
                beside.unlink(missing_ok=True)


def _sweep(folder: Path) -> None:
    """Take away what a writer that was killed has left behind."""
    for left in folder.glob(f"{_NEW}*"):
        with suppress(OSError):
            if time.time() - left.stat().st_mtime > _LEFT_OVER:
                left.unlink()


def _to_json(year: StationYear) -> dict[str, Any]:
    def numbers(values: Floats) -> list[float | None]:
        return [None if math.isnan(v) else v for v in values.tolist()]

    return {
        "holdwater_station_year": FORMAT,
        "station": year.station,
        "year": year.year,
        "fetched": year.fetched.isoformat(timespec="seconds"),
        "there": year.there,
        "kinds": dict(year.kinds),
        "providers": year.providers,
        "rain_mm": numbers(year.rain),
        "rain_source": list(year.rain_source),
        "t_min_degC": numbers(year.t_min),
        "t_max_degC": numbers(year.t_max),
        "t_source": list(year.t_source),
    }


def _from_json(said: dict[str, Any]) -> StationYear:
    """Read a station year back, trusting nothing; any surprise is a ValueError, KeyError or TypeError."""
    if said["holdwater_station_year"] != FORMAT:
        raise ValueError("another format")
    year, fetched = int(said["year"]), dt.datetime.fromisoformat(said["fetched"])
    n = days_in(year)

    def numbers(key: str) -> Floats:
        values = np.array([np.nan if v is None else v for v in said[key]], dtype=np.float64)
        if values.shape != (n,) or np.isinf(values).any():
            raise ValueError(key)
        return values

    def texts(key: str) -> tuple[str, ...]:
        values = tuple(said[key])
        if len(values) != n or not all(isinstance(v, str) for v in values):
            raise ValueError(key)
        return values

    if fetched.tzinfo is None or not isinstance(said["there"], bool):
        raise ValueError("fetched, there")
    return StationYear(
        station=str(said["station"]),
        year=year,
        there=said["there"],
        fetched=fetched,
        rain=numbers("rain_mm"),
        rain_source=texts("rain_source"),
        t_min=numbers("t_min_degC"),
        t_max=numbers("t_max_degC"),
        t_source=texts("t_source"),
        kinds={str(k): Kind(v) for k, v in said["kinds"].items()},
        providers={str(k): str(v) for k, v in said["providers"].items()},
    )
