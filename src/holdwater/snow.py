"""One day of snow on a roof or a bed: floats in, floats out, nothing remembered.

Precipitation, pack, melt and loss are depths of water [mm], temperatures are means of the day [degC].
Plain arithmetic only, so that every function also compiles. A day, in order::

    snow  = precipitation * snow_share(t_mean)      rain = precipitation - snow
    lost  = loss_share * snow                       slides or blows off as it falls
    melt  = melted(pack + snow - lost, t_mean)      the day's snow melts with the rest
    pack  = pack + snow - lost - melt               rain + melt reach the gutter

Sources: half of the precipitation is snow at 1.0 degC (Jennings et al. 2018), in a line from all snow at
-1 to all rain at 3 degC (US Army Corps of Engineers 1956, as used in research codes); melt 3 to
8 mm/degC/day on hard urban surfaces (EPA stormwater reference manual, volume I). No published value for
roofs was found, so all of them are parameters.
"""

from __future__ import annotations

ALL_SNOW_AT = -1.0  # degC
ALL_RAIN_AT = 3.0  # degC
MELT_PER_DEGREE = 3.0  # mm/degC/day


def mean_temperature(t_min: float, t_max: float) -> float:
    """Mean temperature of a day from its extremes [degC]."""
    return (t_min + t_max) / 2.0


def snow_share(t_mean: float, all_snow_at: float = ALL_SNOW_AT, all_rain_at: float = ALL_RAIN_AT) -> float:
    """Share of a day's precipitation that falls as snow.

    Parameters
    ----------
    t_mean : float
        Mean temperature [degC].
    all_snow_at, all_rain_at : float
        All of it is snow at or below the first, rain at or above the second, in a line between;
        equal values make a step [degC].

    Returns
    -------
    float
        Snow, as a share of the precipitation [0 to 1].
    """
    if t_mean <= all_snow_at:
        return 1.0
    if t_mean >= all_rain_at:
        return 0.0
    return (all_rain_at - t_mean) / (all_rain_at - all_snow_at)


def melted(pack: float, t_mean: float, melt_per_degree: float = MELT_PER_DEGREE) -> float:
    """Melt of a day by degree-days above 0 degC, at most the pack.

    Parameters
    ----------
    pack : float
        Water in the pack, the day's snow included [mm].
    t_mean : float
        Mean temperature [degC].
    melt_per_degree : float
        Degree-day factor [mm/degC/day].

    Returns
    -------
    float
        Melt water [mm].
    """
    return min(pack, melt_per_degree * max(t_mean, 0.0))


def snow_day(
    pack: float,
    precipitation: float,
    t_mean: float,
    loss_share: float = 0.0,
    all_snow_at: float = ALL_SNOW_AT,
    all_rain_at: float = ALL_RAIN_AT,
    melt_per_degree: float = MELT_PER_DEGREE,
) -> tuple[float, float, float, float, float]:
    """One day of the pack, from evening to evening.

    Parameters
    ----------
    pack : float
        Water in the pack at the end of the day before [mm].
    precipitation : float
        Rain and snow together [mm].
    t_mean : float
        Mean temperature [degC].
    loss_share : float
        Share of the snow that slides or blows off as it falls, 0 to 1.
    all_snow_at, all_rain_at : float
        Bounds of mixed precipitation [degC].
    melt_per_degree : float
        Degree-day factor [mm/degC/day].

    Returns
    -------
    pack, rain, snow, melt, lost : float
        Pack at the end of this day; rain; snow that fell, the lost share included; melt; what
        slid or blew off. Old pack + snow = new pack + melt + lost [mm].
    """
    snow = precipitation * snow_share(t_mean, all_snow_at, all_rain_at)
    lost = loss_share * snow
    lying = pack + (snow - lost)
    melt = melted(lying, t_mean, melt_per_degree)
    return lying - melt, precipitation - snow, snow, melt, lost
