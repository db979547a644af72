"""Gap filling from the nearest good station, in the ratio of normals.

One neighbour fills a day whole; days are never averaged over stations, which would turn two
stations' storms into twice as many days of drizzle.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

import numpy as np

from holdwater.errors import InputError
from holdwater.weather import written
from holdwater.weather.formats.picking import beside
from holdwater.weather.reading import Floats, Mask, Reading
from holdwater.weather.record import FILLED, Origin

LEAST_COMMON = 365
"""Days both records must know before their ratio means anything; common practice, set low."""
RATIO_BOUNDS = (0.2, 5.0)


def normal_ratio(values: Sequence[float], normals: Sequence[float], own_normal: float) -> float:
    """Rain of a place from stations around it, each scaled by the ratio of normals, then averaged.

    P = (1/m) * sum(N / N_i * P_i). With one station it is that station's value times the ratio of
    normals, which is how single days are filled here.

    Parameters
    ----------
    values : sequence of float
        Rain at the stations [mm].
    normals : sequence of float
        Their mean rain over a common period [mm].
    own_normal : float
        Mean rain of the place over the same period [mm].

    Returns
    -------
    float
        Rain of the place [mm].
    """
    return sum(own_normal / normal * value for value, normal in zip(values, normals, strict=True)) / len(
        values
    )


def fill(reading: Reading, other: Reading, within: Mask) -> Reading:
    """Fill missing days from a neighbour's record, times the ratio of the two normals.

    The normals are the means over all days that both records know. Days the neighbour does not
    know either stay missing.

    Parameters
    ----------
    reading, other : Reading
        Both on consecutive days.
    within : ndarray of bool
        The days of the run; gaps elsewhere stay open.

    Raises
    ------
    InputError
        Fewer than 365 days in common, or a ratio outside 0.2 to 5.
    """
    usable = np.where(np.isin(other.origin, (Origin.MISSING, *FILLED)), np.nan, other.rain)
    theirs = beside(reading.days, other.days, usable)
    missing = (reading.origin == Origin.MISSING) & within
    own = np.where(np.isin(reading.origin, (Origin.MISSING, *FILLED)), np.nan, reading.rain)
    common = ~np.isnan(own) & ~np.isnan(theirs)
    where = f"weather: neighbour '{other.source}'"
    if common.sum() < LEAST_COMMON:
        raise InputError(
            f"{where} shares {int(common.sum())} days with '{reading.source}'; at least {LEAST_COMMON} are needed "
            "for the ratio of their normals"
        )
    own_normal, normal = float(own[common].mean()), float(theirs[common].mean())

    def a_year(daily: float) -> str:
        return written.rain_alone(daily * 365.25, reading.unit)

    ratio = normal_ratio([1.0], [normal], own_normal) if normal > 0 else np.inf
    if not RATIO_BOUNDS[0] <= ratio <= RATIO_BOUNDS[1]:
        raise InputError(
            f"{where} has {a_year(normal)} a year where '{reading.source}' has "
            f"{a_year(own_normal)}; that is no neighbour, or one of the units is wrong"
        )
    take = missing & ~np.isnan(theirs)
    rain, origin = reading.rain.copy(), reading.origin.copy()
    rain[take], origin[take] = theirs[take] * ratio, Origin.NEIGHBOUR
    left = int((missing & ~take).sum())
    notes = [
        f"{int(take.sum())} days filled from the neighbour '{other.source}' times {ratio:.3f}, the ratio of the "
        f"means of {int(common.sum())} common days ({a_year(own_normal)} and {a_year(normal)} a year)"
    ]
    if left:
        notes.append(f"{left} missing days are missing at the neighbour too")
    shifted = _day_apart(own, theirs)
    if shifted:
        notes.append(
            f"the neighbour's rain agrees better with this record one day {shifted}; its day may end at another hour"
        )
    return replace(reading, rain=rain, origin=origin).noting(*notes)


def _day_apart(own: Floats, theirs: Floats) -> str | None:
    """Whether the neighbour's rain fits clearly better a day earlier or later."""

    def fit(a: Floats, b: Floats) -> float:
        both = ~np.isnan(a) & ~np.isnan(b)
        x, y = np.sqrt(a[both]), np.sqrt(b[both])
        if len(x) < LEAST_COMMON // 2 or x.std() == 0 or y.std() == 0:
            return 0.0
        return float(np.corrcoef(x, y)[0, 1])

    same, later, earlier = fit(own, theirs), fit(own[:-1], theirs[1:]), fit(own[1:], theirs[:-1])
    if max(later, earlier) <= same + 0.05:
        return None
    return "earlier" if later > earlier else "later"
