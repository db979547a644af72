"""The years of a station: those in the store, those fetched now, and never one for the other.

A year that failed to come is no year without data. What cannot be had stops the run with the years by
name; what came before stays in the store, so that the next attempt asks only for the rest.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Callable, Iterable
from dataclasses import dataclass, field

from holdwater.errors import WeatherUnavailable
from holdwater.weather.stations.service import service, timeout_seconds
from holdwater.weather.stations.service_log import Failure
from holdwater.weather.stations.store import Damaged, StationYear, Store, absent

RECENT_DAYS = 7
"""Age at which a year that was not yet settled when it was fetched is fetched anew."""
ABSENT_DAYS = 90
"""Age at which a year the service did not have is asked for again."""
SETTLES_AFTER = 2
"""A year is settled once it was fetched in the second calendar year after it, or later."""
GIVE_UP_AFTER = 2
"""Failures of the network in a row after which no further year is tried."""
LEAST_KEPT = 0.98
"""A renewed year with fewer known days than this share of the stored one does not replace it."""

Progress = Callable[[int, int, int], None]
"""Called before each download: the year, how many are done, how many there are."""


@dataclass(frozen=True)
class Years:
    """The years of a station that were asked for.

    Attributes
    ----------
    years : tuple of StationYear
        One for each year, in order.
    fetched : tuple of int
        Those that came from the service now.
    aged : dict of int to str
        Those that should have been renewed and could not be, and why.
    left_out : dict of int to str
        Those whose file at the service is faulty, left out as the owner accepted; all their days are missing.
    """

    station: str
    years: tuple[StationYear, ...]
    fetched: tuple[int, ...] = ()
    aged: dict[int, str] = field(default_factory=dict)
    left_out: dict[int, str] = field(default_factory=dict)
    damaged: tuple[int, ...] = ()

    def notes(self, now: dt.datetime) -> list[str]:
        """What to know about where the years come from."""
        said = []
        stored = [y for y in self.years if y.year not in self.fetched and y.year not in self.left_out]
        if stored:
            oldest = min(stored, key=lambda y: y.fetched)
            age = oldest.age_days(now)
            said.append(
                f"{_count(len(stored))} of station {self.station} from the store, the oldest fetched "
                f"{oldest.fetched:%Y-%m-%d}, {ago(age)}"
            )
        for year, why in self.aged.items():
            kept = next(y for y in self.years if y.year == year)
            said.append(
                f"{year} was not renewed ({why}): used as fetched {kept.fetched:%Y-%m-%d}, "
                f"{ago(kept.age_days(now))}"
            )
        gone = [y.year for y in self.years if not y.there and y.year not in self.left_out]
        if gone:
            said.append(f"the service has no file of station {self.station} for {spans(gone)}")
        said += [
            f"{year} is left out as accepted (faulty-year): {why}; its days are missing"
            for year, why in self.left_out.items()
        ]
        return said


def collect(
    station: str,
    first_year: int,
    last_year: int,
    *,
    store: Store | None = None,
    refresh: bool = False,
    accept_faulty: bool = False,
    timeout: float | None = None,
    progress: Progress | None = None,
    now: dt.datetime | None = None,
) -> Years:
    """Have all years of a station from the first to the last, from the store where it has them.

    Parameters
    ----------
    station : str
        Checked id.
    first_year, last_year : int
        Calendar years, both included; years to come are left out.
    refresh : bool
        Fetch every year anew.
    accept_faulty : bool
        Leave a year whose file at the service is faulty out instead of stopping.
    timeout : float, optional
        Seconds the service may be silent.

    Raises
    ------
    WeatherUnavailable
        Years that are neither in the store nor could be fetched, by name; or a station the service
        does not know.
    InputError
        The store cannot be written.
    """
    store, now = store or Store(), now or dt.datetime.now(dt.UTC).replace(microsecond=0)
    years = range(first_year, min(last_year, now.year) + 1)
    if not years:
        raise WeatherUnavailable(
            f"station {station}: {first_year} to {last_year} is no span of years gone by"
        )
    have, damaged = _stored(store, station, years)
    wanted = [y for y in years if refresh or y not in have or _is_due(have[y], now)]
    failed: dict[int, Failure] = {}
    fetched: list[int] = []
    if wanted:
        answers = _ask(station, wanted, store, have, refresh, timeout_seconds(timeout), progress, now)
        for year, answer in answers.items():
            if isinstance(answer, Failure):
                failed[year] = answer
            else:
                have[year] = answer
                fetched.append(year)
    aged = {y: why.said for y, why in failed.items() if y in have}
    lost = {y: why for y, why in failed.items() if y not in have}
    left_out = {y: why.said for y, why in lost.items() if accept_faulty and why.why == "content"}
    lost = {y: why for y, why in lost.items() if y not in left_out}
    if lost:
        raise WeatherUnavailable(_not_had(station, lost, len(have)))
    if not any(year.there for year in have.values()):
        raise WeatherUnavailable(
            f"the service has no daily file of station {station} for {spans(years)}; "
            f"`holdwater weather near LATITUDE LONGITUDE` lists stations and the years they have"
        )
    have |= {y: absent(station, y, now) for y in left_out}
    return Years(station, tuple(have[y] for y in years), tuple(fetched), aged, left_out, tuple(damaged))


def _stored(store: Store, station: str, years: Iterable[int]) -> tuple[dict[int, StationYear], list[int]]:
    """Years in the store, and those whose file is damaged and counts for nothing."""
    have, damaged = {}, []
    for year in years:
        try:
            found = store.read(station, year)
        except Damaged:
            damaged.append(year)
        else:
            if found is not None:
                have[year] = found
    return have, damaged


def _is_due(year: StationYear, now: dt.datetime) -> bool:
    """Whether a stored year may have changed at the service since."""
    age = year.age_days(now)
    if year.fetched.year >= year.year + SETTLES_AFTER:
        return not year.there and age > ABSENT_DAYS
    return age > RECENT_DAYS


def _ask(
    station: str,
    wanted: list[int],
    store: Store,
    have: dict[int, StationYear],
    refresh: bool,
    timeout: float,
    progress: Progress | None,
    now: dt.datetime,
) -> dict[int, StationYear | Failure]:
    """Ask for each year and store it as soon as it is there; give up when nothing answers."""
    answers: dict[int, StationYear | Failure] = {}
    empty: list[StationYear] = []
    in_a_row = 0
    with service(timeout) as opened:
        for done, year in enumerate(wanted):
            if progress is not None:
                progress(year, done, len(wanted))
            answer = _judged(opened.year(station, year, now), have.get(year), refresh)
            answers[year] = answer
            if isinstance(answer, Failure):
                in_a_row = in_a_row + 1 if answer.why == "network" else 0
                if in_a_row >= GIVE_UP_AFTER:
                    answers |= {y: Failure("network", answer.said) for y in wanted[done + 1 :]}
                    break
                continue
            in_a_row = 0
            if answer.there:
                store.write(answer)
            else:
                empty.append(answer)
    # that every year is absent may as well be a slip in the id: nothing of it is kept
    if any(y.there for y in have.values()) or any(
        isinstance(a, StationYear) and a.there for a in answers.values()
    ):
        for each in empty:
            store.write(each)
    return answers


def _judged(
    answer: StationYear | Failure, stored: StationYear | None, refresh: bool
) -> StationYear | Failure:
    """Keep a stored year that knows more than what came, unless the owner asked for all anew."""
    if isinstance(answer, Failure) or stored is None or not stored.there:
        return answer
    if not answer.there:
        return Failure("content", "the service has no file any more")
    if not refresh and answer.known < LEAST_KEPT * stored.known:
        return Failure("content", f"what came knows {answer.known} days, the stored one {stored.known}")
    return answer


def _not_had(station: str, lost: dict[int, Failure], kept: int) -> str:
    """Which years failed, why, and what to do."""
    reasons: dict[str, list[int]] = {}
    for year, failure in lost.items():
        reasons.setdefault(failure.said, []).append(year)
    listed = "; ".join(f"{spans(years)}: {said}" for said, years in reasons.items())
    cures = ["try again, only these years are asked for"]
    cures.append("or keep to years that are there (run.from and run.to, or --from and --to)")
    if any(failure.why == "content" for failure in lost.values()):
        cures.append(
            'or, in a scenario, accept = ["faulty-year"] takes the days of a faulty year for missing'
        )
    rest = f"; {_count(kept)} {'is' if kept == 1 else 'are'} in the store" if kept else ""
    return (
        f"station {station}: {_count(len(lost))} could not be had ({listed}){rest}.\n"
        f"Half a record would mislead: {'; '.join(cures)}"
    )


def _count(years: int) -> str:
    return "1 year" if years == 1 else f"{years} years"


def ago(days: int) -> str:
    """An age in words: "today", "12 days ago"."""
    return {0: "today", 1: "yesterday"}.get(days, f"{days} days ago")


def spans(years: Iterable[int]) -> str:
    """Years as a phrase: "1998, 2003 to 2007"."""
    parts: list[list[int]] = []
    for year in sorted(years):
        if parts and year == parts[-1][-1] + 1:
            parts[-1].append(year)
        else:
            parts.append([year])
    return ", ".join(str(p[0]) if len(p) == 1 else f"{p[0]} to {p[-1]}" for p in parts)
