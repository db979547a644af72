"""What is wanted each day by draws that do not depend on the weather or on the tanks."""

from __future__ import annotations

from collections.abc import Iterable

import numpy as np
import numpy.typing as npt

from holdwater.animals import herd_litres
from holdwater.scenario import tables
from holdwater.scenario.quantities import MonthDayValue
from holdwater.scenario.schema import Draw, Garden, Guests, Household, Livestock, MoreHead, Period, Season
from holdwater.scenario.tables import growing

Days = npt.NDArray[np.datetime64]
Floats = npt.NDArray[np.float64]


def months(days: Days) -> npt.NDArray[np.int64]:
    """Calendar month of each day, 0 for January."""
    return days.astype("datetime64[M]").astype(np.int64) % 12


def in_season(days: Days, season: Season | None) -> npt.NDArray[np.bool_]:
    """Which days lie in a season, both ends included; a season may cross the year end.

    29 February belongs to a season that ends on 28 February only if the season names the 29th.
    """
    return np.ones(days.shape, dtype=bool) if season is None else _every_year(days, season.from_, season.to)


def _every_year(days: Days, from_: MonthDayValue, to: MonthDayValue) -> npt.NDArray[np.bool_]:
    of_month = (days - days.astype("datetime64[M]")).astype(np.int64) + 1
    key = (months(days) + 1) * 100 + of_month
    first = from_.month * 100 + from_.day
    last = to.month * 100 + to.day
    after, before = key >= first, key <= last
    return np.asarray(after & before if first <= last else after | before)


def in_spans(days: Days, spans: Iterable[Season | Period | Guests | MoreHead]) -> npt.NDArray[np.bool_]:
    """Which days lie in any of the spans, dated or of every year, both ends included."""
    inside = np.zeros(days.shape, dtype=bool)
    for span in spans:
        inside |= in_span(days, span)
    return inside


def in_span(days: Days, span: Season | Period | Guests | MoreHead) -> npt.NDArray[np.bool_]:
    """Which days lie in a span, both ends included."""
    first, last = span.from_, span.to
    if isinstance(first, MonthDayValue) and isinstance(last, MonthDayValue):
        return _every_year(days, first, last)
    return np.asarray((days >= np.datetime64(str(first))) & (days <= np.datetime64(str(last))))


def per_person(draw: Household) -> float:
    """What one person uses in a day, as given or shared out of the fixtures of the house [L]."""
    if draw.per_person is not None:
        return draw.per_person
    known = growing.fixtures()
    house = sum(share * known[name] for name, share in (draw.fixtures or {}).items())
    return house / draw.people if draw.people > 0.0 else 0.0


def _household(draw: Household, days: Days) -> Floats:
    people = np.where(in_spans(days, draw.away), 0.0, draw.people)
    for guests in draw.guests:
        people = people + guests.people * in_span(days, guests)
    return people * per_person(draw)


def _livestock(draw: Livestock, days: Days, t_mean: Floats | None) -> Floats:
    """What the animals drink at the day's mean air temperature, at 20 degC where it is not known."""
    warm = np.full(days.shape, tables.ROOM_TEMPERATURE) if t_mean is None else t_mean
    where = f"draw '{draw.name}'"
    drunk = herd_litres(where, draw.animals, warm)
    for more in draw.also:
        drunk = drunk + herd_litres(where, more.animals, warm) * in_span(days, more)
    return drunk


def per_day(draw: Draw, days: Days, t_mean: Floats | None = None) -> Floats:
    """Water a draw wants, before season and monthly factor, shape (n,) [L/day].

    What a garden wants depends on its soil and is worked out day by day: 0 here.
    """
    if isinstance(draw, Household):
        return _household(draw, days)
    if isinstance(draw, Livestock):
        return _livestock(draw, days, t_mean)
    if isinstance(draw, Garden):
        return np.zeros(days.shape)
    if draw.monthly is not None:
        return np.asarray(draw.monthly, dtype=float)[months(days)]
    return np.full(days.shape, float(draw.per_day or 0.0))


def wanted(draw: Draw, days: Days, t_mean: Floats | None = None) -> Floats:
    """Water a draw wants every day, season and monthly factor included, shape (n,) [L].

    Parameters
    ----------
    t_mean : ndarray, shape (n,), optional
        Mean air temperature, for animals [degC].
    """
    return per_day(draw, days, t_mean) * share_of_day(draw, days)


def share_of_day(draw: Draw, days: Days) -> Floats:
    """Season and monthly factor of a draw, shape (n,): what its amount of the day is multiplied by."""
    share = in_season(days, draw.season).astype(float)
    if draw.monthly_factor is not None:
        share *= np.asarray(draw.monthly_factor, dtype=float)[months(days)]
    return share
