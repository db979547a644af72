"""The ground: how deep frost goes, which days freeze, what a full tank weighs and what soil carries."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from holdwater.site.sizes import PSF
from holdwater.site.tables import read_table
from holdwater.site.water import GRAVITY, HEAVIEST_WATER

LATENT_HEAT_PER_LITRE = 333.6e3
"""Heat set free when a litre of water freezes [J/L] (from memory)."""
FROZEN_CONDUCTIVITY = 2.0
"""Heat conduction of frozen moist mineral soil [W/(m K)], a middling value (from memory)."""
SOIL_WATER = 0.20
"""Water in the soil, part of its volume, a middling value (common practice)."""
CONCRETE = 2400.0
"""Density of concrete [kg/m3] (common practice)."""


@dataclass(frozen=True)
class Frost:
    """What a daily temperature record says of frost.

    Attributes
    ----------
    days_per_year : float
        Days with a minimum below freezing, mean of the winters counted.
    mean_index, worst_index : float
        Freezing index of the mean and of the coldest winter [degC-days].
    coldest, warmest : float
        Lowest minimum and highest maximum of the record [degC].
    winters : int
        Winters with no day missing from the half-year around them.
    """

    days_per_year: float
    mean_index: float
    worst_index: float
    coldest: float
    warmest: float
    winters: int


def frost(
    days: npt.NDArray[np.datetime64],
    t_min: npt.NDArray[np.float64],
    t_max: npt.NDArray[np.float64],
    *,
    southern: bool = False,
) -> Frost | None:
    """Read frost from a record.

    Parameters
    ----------
    days : ndarray of datetime64, shape (n,)
        Consecutive days.
    t_min, t_max : ndarray, shape (n,)
        Daily extremes, NaN where missing [degC].
    southern : bool
        Whether the holding lies south of the equator.

    Returns
    -------
    Frost or None
        None where no year from midsummer to midsummer is whole.

    Notes
    -----
    The freezing index of a winter is the fall of the running sum of daily means from its peak to the
    lowest point after it, as in frost engineering, so an early thaw does not cancel later cold.
    """
    months = days.astype("datetime64[M]").astype(int)
    winter = (months - (0 if southern else 6)) // 12
    mean = (t_min + t_max) / 2.0
    found: list[tuple[float, int]] = []
    for label in np.unique(winter):
        part = winter == label
        if part.sum() >= 365 and np.isfinite(mean[part]).all():
            found.append((freezing_index(mean[part]), int((t_min[part] < 0.0).sum())))
    if not found:
        return None
    indices = [index for index, _ in found]
    return Frost(
        days_per_year=float(np.mean([count for _, count in found])),
        mean_index=float(np.mean(indices)),
        worst_index=max(indices),
        coldest=float(np.nanmin(t_min)),
        warmest=float(np.nanmax(t_max)),
        winters=len(found),
    )


def freezing_index(mean: npt.NDArray[np.float64]) -> float:
    """Largest fall of the running sum of daily mean temperatures [degC-days]."""
    running = np.concatenate(([0.0], np.cumsum(mean)))
    return float((np.maximum.accumulate(running) - running).max())


def frost_depth(index: float) -> float:
    """Depth frost is likely to reach.

    Parameters
    ----------
    index : float
        Freezing index [degC-days].

    Returns
    -------
    float
        Depth [mm].

    Notes
    -----
    55.18 FI^0.468, Fair, Geyer & Okun, eq. 5.41b.
    """
    return 55.18 * float(index**0.468)


def stefan_depth(index: float, conductivity: float = FROZEN_CONDUCTIVITY, water: float = SOIL_WATER) -> float:
    """Depth frost cannot pass: all the cold goes into freezing the soil's water, none into cooling soil.

    Parameters
    ----------
    index : float
        Freezing index of the ground surface, here taken as that of the air [degC-days].
    conductivity : float
        Of the frozen soil [W/(m K)].
    water : float
        Water in the soil, part of its volume.

    Returns
    -------
    float
        Depth [mm].

    Notes
    -----
    Stefan 1889: sqrt(2 k FI / L).
    """
    heat = water * 1000.0 * LATENT_HEAT_PER_LITRE
    return 1000.0 * math.sqrt(2.0 * conductivity * index * 86400.0 / heat)


def water_mass(volume: float) -> float:
    """Mass of water at its heaviest: 8.34 lb per gal.

    Parameters
    ----------
    volume : float
        Volume [L].

    Returns
    -------
    float
        Mass [kg].
    """
    return volume * HEAVIEST_WATER


def bearing(mass: float, area: float, slab: float = 0.0) -> float:
    """Pressure a full tank puts on the soil.

    Parameters
    ----------
    mass : float
        Water and tank together [kg].
    area : float
        Ground it stands on, or its pad's [m2].
    slab : float
        Thickness of a concrete pad [mm].

    Returns
    -------
    float
        Pressure [kPa].
    """
    return (mass / area + CONCRETE * slab / 1000.0) * GRAVITY / 1000.0


def presumptive_bearing(soil: str) -> float:
    """Pressure a building code lets this soil carry without a test.

    Parameters
    ----------
    soil : str
        "gravel", "sand" or "clay or silt".

    Returns
    -------
    float
        Pressure [kPa].

    Raises
    ------
    KeyError
        The table has no such soil.
    """
    return soils()[soil] * PSF


def soils() -> dict[str, float]:
    """Presumptive bearing by soil [lb/ft2]."""
    return {row["soil"]: float(row["pounds_per_ft2"]) for row in read_table("bearing.csv")}
