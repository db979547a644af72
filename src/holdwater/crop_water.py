"""What a crop needs that no yesterday decides: its curve, its root zone, and the rain that counts.

Equation and table numbers are those of Allen, Pereira, Raes & Smith (1998), Crop evapotranspiration,
FAO Irrigation and Drainage Paper 56, the 1998 edition. The tabulated Kc hold for a sub-humid climate with
moderate wind; FAO-56 eq. 62 would raise them in dry wind, which is not done here.
The soil's day by day is in `holdwater.soil_water`, whole beds are in `holdwater.garden`.
"""

from __future__ import annotations

from typing import TypeAlias

import numpy as np
import numpy.typing as npt

from holdwater.scenario.quantities import MonthDayValue
from holdwater.scenario.tables.growing import Crop, Stages

Floats: TypeAlias = npt.NDArray[np.float64]
Days: TypeAlias = npt.NDArray[np.datetime64]

LEAST_RAIN = 0.2  # of ET0: less rain than this is ignored, FAO-56 chapter 8
MULCH_SAVES = 0.5  # of Kc ini and TEW under a full organic mulch: 5 % for each 10 % covered, chapter 11
KC_BARE = 1.15  # of wet bare soil, FAO-56 annex 7; from memory


def total_available(holds: float, root_depth: float) -> float:
    """Total available water TAW of a root zone, eq. 82.

    Parameters
    ----------
    holds : float
        Field capacity less wilting point [mm per mm of soil].
    root_depth : float
        Depth of the root zone [mm].

    Returns
    -------
    float
        TAW [mm].
    """
    return holds * root_depth


def readily_available(p: npt.ArrayLike, taw: float) -> Floats:
    """Water RAW a crop can draw without suffering [mm], eq. 83, from its fraction p [-] and TAW [mm]."""
    return np.asarray(p, dtype=np.float64) * taw


def adjusted_fraction(p: float, etc: npt.ArrayLike) -> Floats:
    """Depletion fraction for each day's crop water use, FAO-56 Table 22 footnote.

    Parameters
    ----------
    p : float
        Tabulated fraction, for a crop that uses 5 mm/day [-].
    etc : array_like
        Crop evapotranspiration without stress [mm/day].

    Returns
    -------
    ndarray
        p + 0.04 (5 - ETc), held between 0.1 and 0.8 [-].
    """
    return np.clip(p + 0.04 * (5.0 - np.asarray(etc, dtype=np.float64)), 0.1, 0.8)


def effective_rain(rain: npt.ArrayLike, et0: npt.ArrayLike) -> tuple[Floats, Floats]:
    """Rain that counts for the root zone, and rain that is ignored, FAO-56 chapter 8.

    Parameters
    ----------
    rain, et0 : array_like
        Rain and melt on the bed, and reference evapotranspiration, of each day [mm].

    Returns
    -------
    kept, ignored : ndarray
        A day's rain below 0.2 ET0 is ignored: it evaporates from leaves and crust the same day.
        The two add up to the rain [mm].
    """
    fallen = np.asarray(rain, dtype=np.float64)
    counts = fallen >= LEAST_RAIN * np.asarray(et0, dtype=np.float64)
    return np.where(counts, fallen, 0.0), np.where(counts, 0.0, fallen)


def season_curve(crop: Crop, stages: Stages, mulched: float = 0.0) -> Floats:
    """Crop coefficient Kc of every day of one season, eq. 66 and figure 34.

    Parameters
    ----------
    crop : Crop
        Kc of the stages.
    stages : tuple of 4 int
        Length of the initial, development, mid and late stage, each 1 or more [days].
    mulched : float
        Share of the soil under organic mulch, 0 to 1. It lowers Kc ini by 5 % for each 10 %; the later
        stages, in which the leaves shade the soil, are left as they are.

    Returns
    -------
    ndarray, shape (sum of stages,)
        Kc from the day of planting, which is day 1 [-].
    """
    first = crop.kc_ini * (1.0 - MULCH_SAVES * mulched)
    ends = np.cumsum(stages)
    knots = np.concatenate(([0], ends))
    return np.interp(np.arange(1, ends[-1] + 1), knots, [first, first, crop.kc_mid, crop.kc_mid, crop.kc_end])


def crop_calendar(
    days: Days,
    crop: Crop,
    planted: MonthDayValue | None,
    stages: Stages | None = None,
    mulched: float = 0.0,
) -> tuple[Floats, npt.NDArray[np.bool_]]:
    """Crop coefficient of every day of a run, and the days on which the crop stands.

    The crop is planted (a perennial wakes) on the same date every year, the year before the run included,
    so a season may cross the year end and the start of the run. Between seasons the soil is bare: 1.15 while
    its top is wet, see `soil_water.dry_down`. A ground cover without stages stands all year at Kc mid.

    Parameters
    ----------
    days : ndarray of datetime64, shape (n,)
        Consecutive days.
    crop : Crop
        The crop.
    planted : MonthDayValue or None
        Day of every year; None only for a ground cover.
    stages : tuple of 4 int, optional
        Lengths of the stages in place of the tabulated ones [days].
    mulched : float
        Share of the soil under organic mulch, 0 to 1.

    Returns
    -------
    kc : ndarray, shape (n,)
        Crop coefficient [-].
    growing : ndarray of bool, shape (n,)
        Whether the crop stands, from planting to the end of its late stage.
    """
    lengths = stages or crop.stages
    if planted is None or lengths is None:
        return np.full(days.shape, crop.kc_mid), np.ones(days.shape, dtype=bool)
    curve = season_curve(crop, lengths, mulched)
    kc, growing = np.full(days.shape, KC_BARE), np.zeros(days.shape, dtype=bool)
    run = days.astype("datetime64[D]")
    first, last = run[0].item().year, run[-1].item().year
    for year in range(first - 1, last + 1):
        start = int((np.datetime64(planted.in_year(year)) - run[0]).astype(np.int64))
        begin, end = max(start, 0), min(start + curve.size, run.size)
        if begin < end:
            kc[begin:end] = curve[begin - start : end - start]
            growing[begin:end] = True
    return kc, growing
