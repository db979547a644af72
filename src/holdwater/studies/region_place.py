"""One place of a region: its weather, checked as for a single run, and how the holding would fare there."""

from __future__ import annotations

import datetime as dt
import math
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from enum import IntEnum

import numpy as np
import numpy.typing as npt

from holdwater.errors import InputError
from holdwater.scenario.schema import Place, Scenario
from holdwater.simulation import covering
from holdwater.studies.engine import Outcome, Site, run_all
from holdwater.weather.change import as_written
from holdwater.weather.checks import plausibility
from holdwater.weather.reader import complete, drop_impossible
from holdwater.weather.reading import Reading, prepare
from holdwater.weather.record import Origin

Floats = npt.NDArray[np.float64]
DAYS_A_YEAR = 365.25

SCORES: dict[str, tuple[str, str]] = {
    "dry_days": ("day", "days on which the tanks could not give a draw all it asked for"),
    "dry_days_per_year": ("day", "dry days in a year of 365.25 days"),
    "longest_dry_spell": ("day", "longest run of dry days"),
    "worst_year": ("1", "year with the most dry days, the earlier of equals"),
    "dry_days_of_worst_year": ("day", "dry days of the worst year"),
    "unserved_days": ("day", "dry days on which backup could not cover the rest either"),
    "unserved_days_per_year": ("day", "unserved days in a year of 365.25 days"),
    "held_back_days": ("day", "days on which a draw took less by its own rule"),
    "reliability_volume": ("1", "water delivered by the tanks / water asked of them"),
    "backup_per_year": ("L", "backup water in a year of 365.25 days"),
    "loads_per_year": ("1", "loads of backup water in a year of 365.25 days"),
    "cost_per_year": ("1", "price of the backup water in a year of 365.25 days"),
    "lowest_storage": ("L", "lowest drawable storage"),
}
"""Unit and meaning of what is told of every place and design; NaN where the holding was not run."""


class State(IntEnum):
    """Whether the holding was run in a place, and if not, why not; the order is the code stored."""

    RUN = 0
    NO_DATA = 1
    MISSING_DAYS = 2
    IMPLAUSIBLE = 3
    NOT_COVERED = 4
    LACKS_WEATHER = 5
    UNREADABLE = 6

    @property
    def label(self) -> str:
        """Words for tables and legends."""
        return _LABELS[self]


_LABELS = {
    State.RUN: "run",
    State.NO_DATA: "no value at all (sea, or masked)",
    State.MISSING_DAYS: "rain missing on days that nothing fills",
    State.IMPLAUSIBLE: "values that cannot be daily rain",
    State.NOT_COVERED: "days of the run not covered",
    State.LACKS_WEATHER: "a temperature or evapotranspiration lacking",
    State.UNREADABLE: "weather that cannot be read",
}


@dataclass
class Found:
    """What one place gives.

    Attributes
    ----------
    scores : ndarray, shape (len(SCORES), designs)
        In the order of `SCORES`, NaN if it was not run.
    state : State
        Whether it was run.
    fault : str
        Why not, in words; empty if it was.
    days, missing, filled : int
        Days of the run; those without a rain value in the file; those filled by the policy.
    rain : float
        Rain in a year of 365.25 days, filled days included [mm].
    latitude, longitude : float
        Where it is, NaN if not known [degrees].
    """

    scores: Floats
    state: State = State.RUN
    fault: str = ""
    days: int = 0
    missing: int = 0
    filled: int = 0
    rain: float = math.nan
    latitude: float = math.nan
    longitude: float = math.nan


class _Refused(Exception):
    """The holding cannot be run in this place."""

    def __init__(self, state: State, fault: str) -> None:
        super().__init__(fault)
        self.state, self.fault = state, fault


@contextmanager
def _refusing(state: State) -> Iterator[None]:
    """What is wrong with the weather in this step refuses the place, not the region."""
    try:
        yield
    except InputError as fault:
        raise _Refused(state, fault.faults[0]) from None


def try_place(
    read: Callable[[], Reading],
    scenarios: tuple[Scenario, ...],
    neighbour: Reading | None,
    place: Place | None,
    is_cell: bool,
) -> Found:
    """Run the holding in one place, step by step as a single run does, or say why it cannot be run.

    Parameters
    ----------
    read : callable
        Reads the weather of the place.
    scenarios : tuple of Scenario
        The designs; they share days, weather and place.
    neighbour : Reading or None
        Record that fills missing days under the policy "neighbour".
    place : Place or None
        Where it is; without it where the reading says, else where the scenario says.
    is_cell : bool
        A cell without any value is sea or masked, and no fault.
    """
    found = Found(np.full((len(SCORES), len(scenarios)), np.nan))
    try:
        _run(found, read, scenarios, neighbour, place, is_cell)
    except _Refused as refused:
        found.state, found.fault = refused.state, refused.fault
    return found


def _run(
    found: Found,
    read: Callable[[], Reading],
    scenarios: tuple[Scenario, ...],
    neighbour: Reading | None,
    place: Place | None,
    is_cell: bool,
) -> None:
    weather, span = scenarios[0].weather, scenarios[0].run
    with _refusing(State.UNREADABLE):
        reading = read()
        place = place or _place_of(reading)
        if place is not None:
            found.latitude, found.longitude = place.latitude, place.longitude
            scenarios = tuple(s.model_copy(update={"place": _raised(place, s.place)}) for s in scenarios)
        if is_cell and np.isnan(reading.rain).all():
            raise _Refused(State.NO_DATA, "")
        daily = prepare(reading, weather)
    with _refusing(State.IMPLAUSIBLE):
        plausibility.gate(plausibility.examine(daily), daily.source, weather.accept)
        daily = drop_impossible(daily)
    found.days, found.missing = _days_missing(daily, scenarios[0])
    if found.missing == found.days:
        raise _Refused(State.NOT_COVERED, f"'{daily.source}' has no rain value on any day of the run")
    with _refusing(State.MISSING_DAYS):
        record = complete(daily, weather, span.from_, span.to, neighbour)
    with _refusing(State.NOT_COVERED):
        covering(scenarios[0], record)
    with _refusing(State.LACKS_WEATHER):
        record = as_written(record, weather, scenarios[0].place)
        site = Site.of(scenarios[0], record)
        readies = [site.ready(scenario) for scenario in scenarios]
    outcome = run_all(site, readies, span.year_starts, threads=1)
    found.scores = _scores(outcome)
    found.filled = record.provenance.filled
    found.rain = float(record.data["rain"].values.sum()) / found.days * DAYS_A_YEAR


def _place_of(reading: Reading) -> Place | None:
    """Where the weather was measured, if the file says so."""
    if reading.latitude is None or reading.longitude is None:
        return None
    place = Place(latitude=reading.latitude, longitude=reading.longitude)
    return place.model_copy(update={"elevation": reading.elevation})


def _raised(place: Place, holding: Place | None) -> Place:
    """The place with the holding's altitude where its own is not known."""
    if place.elevation is not None or holding is None:
        return place
    return place.model_copy(update={"elevation": holding.elevation})


def _days_missing(daily: Reading, scenario: Scenario) -> tuple[int, int]:
    """Days of the run, and how many of them have no rain value."""
    first: dt.date = scenario.run.from_ or daily.days[0].item()
    last: dt.date = scenario.run.to or daily.days[-1].item()
    days = (last - first).days + 1
    within = (daily.days >= np.datetime64(first)) & (daily.days <= np.datetime64(last))
    return days, days - int((within & (daily.origin != Origin.MISSING)).sum())


def _scores(outcome: Outcome) -> Floats:
    """What is told of every design, in the order of `SCORES`."""
    years = outcome.n_days / DAYS_A_YEAR
    by_year = outcome.by_year["dry_days"]
    most = by_year.max(axis=0).astype(float)
    worst = np.where(most > 0.0, outcome.years[by_year.argmax(axis=0)], np.nan)
    numbers = outcome.numbers
    told = {
        "dry_days": numbers["dry_days"],
        "dry_days_per_year": numbers["dry_days"] / years,
        "longest_dry_spell": numbers["longest"],
        "worst_year": worst,
        "dry_days_of_worst_year": most,
        "unserved_days": numbers["unserved_days"],
        "unserved_days_per_year": numbers["unserved_days"] / years,
        "held_back_days": numbers["held_back_days"],
        "reliability_volume": outcome.reliability_volume,
        "backup_per_year": outcome.supplied.sum(axis=0) / years,
        "loads_per_year": outcome.loads.sum(axis=0) / years,
        "cost_per_year": outcome.cost / years,
        "lowest_storage": numbers["lowest"],
    }
    return np.stack([told[name] for name in SCORES])
