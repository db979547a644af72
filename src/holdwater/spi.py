"""Standardised precipitation index (SPI): how unusual the rain of the last months was for the season.

The rain of the last 1, 3, 6 or 12 months is compared with the same months of every year on record:
the positive sums of each calendar month follow a gamma distribution, the share of rainless ones is
kept apart, and the probability of the sum is written as the standard normal variate that has it.

References
----------
McKee, Doesken & Kleist 1993, 8th Conference on Applied Climatology, 179-184; classes as in
WMO-No. 1090, Standardized Precipitation Index User Guide (2012). Fit: Thom 1958, Monthly Weather
Review 86(4):117-122.
"""

from __future__ import annotations

import math
from statistics import NormalDist
from typing import NamedTuple

import numpy as np
import numpy.typing as npt

from holdwater.errors import InputError

Days = npt.NDArray[np.datetime64]
Floats = npt.NDArray[np.float64]

SPANS = (1, 3, 6, 12)
"""Months summed: SPI-1, SPI-3, SPI-6, SPI-12."""
LEAST_YEARS = 30
"""Years a record must have before the index says anything (WMO-No. 1090)."""
LIMIT = 3.09
"""The index is cut here: one chance in a thousand, farther than any record can tell."""
CLOSE = 4e-15
"""Terms smaller than this share of the sum no longer count."""
CLASSES = (
    (2.0, "extremely wet"),
    (1.5, "very wet"),
    (1.0, "moderately wet"),
    (-1.0, "near normal"),
    (-1.5, "moderately dry"),
    (-2.0, "severely dry"),
    (-math.inf, "extremely dry"),
)
"""Class names with the value where each begins, from the wet end; a bound belongs to the rarer class."""


class Gamma(NamedTuple):
    """Distribution of the sums of one calendar month: `shape`, `scale` [mm] and the share of `zeros`."""

    shape: float
    scale: float
    zeros: float


class Index(NamedTuple):
    """SPI month by month.

    Attributes
    ----------
    months : ndarray of datetime64[M], shape (n,)
        Whole calendar months of the record.
    values : dict of int to ndarray, shape (n,)
        For each number of months summed, the index of the sum that ends with the month; NaN where
        it is not defined.
    """

    months: Days
    values: dict[int, Floats]


def class_of(value: float) -> str:
    """Name the class of one value: "near normal", "severely dry".

    Raises
    ------
    ValueError
        The value is not a number.
    """
    if math.isnan(value):
        raise ValueError("an index that is not defined has no class")
    return next(
        name
        for bound, name in CLASSES
        if value > bound or (value == bound and bound > 0) or bound == -math.inf
    )


def monthly_sums(days: Days, rain: Floats) -> tuple[Days, Floats]:
    """Rain of every calendar month from the first whole one to the last whole one.

    Parameters
    ----------
    days : ndarray of datetime64[D], shape (n,)
        Consecutive days.
    rain : ndarray, shape (n,)
        NaN where missing [mm].

    Returns
    -------
    months : ndarray of datetime64[M]
        The months.
    sums : ndarray
        NaN where a day of the month is missing [mm].
    """
    of_day = days.astype("datetime64[M]")
    months = np.arange(of_day[0], of_day[-1] + 1)
    begins = np.searchsorted(days, months.astype("datetime64[D]"))
    ends = np.searchsorted(days, (months + 1).astype("datetime64[D]"))
    whole = ends - begins == ((months + 1).astype("datetime64[D]") - months.astype("datetime64[D]")).astype(
        int
    )
    sums = np.add.reduceat(rain, begins) if rain.size else np.zeros(0)
    return months[whole], sums[whole]


def accumulated(sums: Floats, months: int) -> Floats:
    """Sum over the months up to and including each one; NaN where one of them is not known [mm]."""
    found = np.full(sums.size, np.nan)
    if sums.size >= months:
        found[months - 1 :] = np.lib.stride_tricks.sliding_window_view(sums, months).sum(axis=1)
    return found


def fit(sums: Floats) -> Gamma | None:
    """Fit the sums of one calendar month by Thom's estimate.

    A = ln(mean) - mean(ln), shape = (1 + sqrt(1 + 4 A / 3)) / (4 A), scale = mean / shape, all over
    the positive sums.

    Parameters
    ----------
    sums : ndarray
        One sum a year, all known [mm].

    Returns
    -------
    Gamma or None
        None where fewer than two different positive sums leave nothing to fit.
    """
    wet = sums[sums > 0.0]
    if np.unique(wet).size < 2:
        return None
    mean = float(wet.mean())
    a = math.log(mean) - float(np.log(wet).mean())
    shape = (1.0 + math.sqrt(1.0 + 4.0 * a / 3.0)) / (4.0 * a)
    return Gamma(shape, mean / shape, 1.0 - wet.size / sums.size)


def standardised(sums: Floats) -> Floats:
    """SPI of the sums of one calendar month, fitted to themselves.

    H = q + (1 - q) G(sum) with q the share of rainless sums and G the gamma distribution of the
    others; the index is the standard normal variate of probability H, cut at +-3.09.

    Parameters
    ----------
    sums : ndarray, shape (n,)
        NaN where not known [mm].

    Returns
    -------
    ndarray, shape (n,)
        NaN where not known or where nothing could be fitted.
    """
    known = ~np.isnan(sums)
    gamma = fit(sums[known])
    found = np.full(sums.size, np.nan)
    if gamma is not None:
        share = gamma.zeros + (1.0 - gamma.zeros) * below(gamma.shape, sums[known] / gamma.scale)
        found[known] = [_variate(each) for each in share.tolist()]
    return found


def _variate(share: float) -> float:
    """Standard normal variate of a probability, cut at +-3.09."""
    if not 0.0 < share < 1.0:
        return LIMIT if share >= 1.0 else -LIMIT
    return min(LIMIT, max(-LIMIT, NormalDist().inv_cdf(share)))


def below(shape: float, x: Floats) -> Floats:
    """Share of a gamma distribution of scale 1 that lies below x: P(shape, x), to about 1e-13.

    The series of DLMF 8.7.1 up to x = shape + 1, the continued fraction of DLMF 8.9.2 beyond (both
    from memory, tested against scipy, whose special functions alone take 0.2 s to load).

    Parameters
    ----------
    shape : float
        Above 0.
    x : ndarray
        0 or more.
    """
    with np.errstate(divide="ignore"):
        front = np.exp(shape * np.log(x) - x - math.lgamma(shape))  # x^a e^-x / Gamma(a), 0 at 0
    near = x < shape + 1.0
    found = np.empty_like(x)
    found[near] = front[near] * _series(shape, x[near])
    found[~near] = 1.0 - front[~near] * _fraction(shape, x[~near])
    return found


def _series(a: float, x: Floats) -> Floats:
    """Sum over n of x^n / (a (a + 1) ... (a + n))."""
    term = np.full_like(x, 1.0 / a)
    total, n = term.copy(), a
    while (term > CLOSE * total).any():
        n += 1.0
        term = term * x / n
        total += term
    return total


def _fraction(a: float, x: Floats) -> Floats:
    """1/(x+1-a - 1(1-a)/(x+3-a - 2(2-a)/(x+5-a - ...))), by the method of Lentz."""
    b = x + 1.0 - a
    d = 1.0 / b
    c, total, moved, n = np.full_like(x, np.inf), d.copy(), np.full_like(x, 2.0), 0
    while (np.abs(moved - 1.0) > CLOSE).any():
        n += 1
        step = -n * (n - a)
        b = b + 2.0
        d = 1.0 / (step * d + b)
        c = b + step / c
        moved = c * d
        total = total * moved
    return total


def by_calendar_month(months: Days, sums: Floats, span: int) -> Floats:
    """SPI of a series of monthly sums, each calendar month fitted apart.

    Parameters
    ----------
    months : ndarray of datetime64[M], shape (n,)
        Consecutive months.
    sums : ndarray, shape (n,)
        Rain of each month [mm].
    span : int
        Months summed before fitting.
    """
    totals = accumulated(sums, span)
    of_year = months.astype(np.int64) % 12
    found = np.full(sums.size, np.nan)
    for month in range(12):
        found[of_year == month] = standardised(totals[of_year == month])
    return found


def too_short(days: Days) -> str:
    """Say why a record is too short for the index; "" if it is long enough."""
    years = days.size / 365.25
    if years >= LEAST_YEARS - 0.01:
        return ""
    return (
        f"the standardised precipitation index (SPI) needs {LEAST_YEARS} years of daily rain; this record has"
        f" {years:.1f}"
    )


def spi(days: Days, rain: Floats, spans: tuple[int, ...] = SPANS) -> Index:
    """SPI of a daily record.

    Parameters
    ----------
    days : ndarray of datetime64[D], shape (n,)
        Consecutive days.
    rain : ndarray, shape (n,)
        NaN where missing [mm].
    spans : tuple of int
        Numbers of months to sum.

    Raises
    ------
    InputError
        The record has less than 30 years.
    """
    short = too_short(days)
    if short:
        raise InputError(f"{short}; bring a longer record")
    months, sums = monthly_sums(days, rain)
    return Index(months, {span: by_calendar_month(months, sums, span) for span in spans})
