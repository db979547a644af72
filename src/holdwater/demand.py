"""What is wanted each day by draws that do not depend on the weather or on the tanks."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

import numpy as np
import numpy.typing as npt

from holdwater.scenario import tables
from holdwater.scenario.schema import Draw, Household, Livestock, Period, Season

Days = npt.NDArray[np.datetime64]
Floats = npt.NDArray[np.float64]


def months(days: Days) -> npt.NDArray[np.int64]:
    """Calendar month of each day, 0 for January."""
    return days.astype("datetime64[M]").astype(np.int64) % 12


def in_season(days: Days, season: Season | None) -> npt.NDArray[np.bool_]:
    """Which days lie in a season, both ends included; a season may cross the year end.

    29 February belongs to a season that ends on 28 February only if the season names the 29th.
    """
    if season is None:
        return np.ones(days.shape, dtype=bool)
    of_month = (days - days.astype("datetime64[M]")).astype(np.int64) + 1
    key = (months(days) + 1) * 100 + of_month
    first = season.from_.month * 100 + season.from_.day
    last = season.to.month * 100 + season.to.day
    after, before = key >= first, key <= last
    return np.asarray(after & before if first <= last else after | before)


def in_periods(days: Days, periods: Iterable[Period]) -> npt.NDArray[np.bool_]:
    """Which days lie in any of the dated periods, both ends included."""
    inside = np.zeros(days.shape, dtype=bool)
    for period in periods:
        inside |= (days >= np.datetime64(period.from_)) & (days <= np.datetime64(period.to))
    return inside


def per_day(draw: Draw, days: Days) -> Floats:
    """Water a draw wants, before season and monthly factor, shape (n,) [L/day]."""
    if isinstance(draw, Household):
        return np.where(in_periods(days, draw.away), 0.0, draw.people * draw.per_person)
    if isinstance(draw, Livestock):
        head = tables.animals()
        return np.full(days.shape, sum(head[kind].litres_at(20.0) * n for kind, n in draw.animals.items()))
    if draw.monthly is not None:
        return np.asarray(draw.monthly, dtype=float)[months(days)]
    return np.full(days.shape, float(draw.per_day or 0.0))


def wanted(draws: Sequence[Draw], days: Days) -> Floats:
    """Water every draw wants every day, shape (draws, n) [L]."""
    rows = np.empty((len(draws), days.size))
    for row, draw in zip(rows, draws, strict=True):
        row[:] = per_day(draw, days)
        if draw.monthly_factor is not None:
            row *= np.asarray(draw.monthly_factor, dtype=float)[months(days)]
        row *= in_season(days, draw.season)
    return rows
