"""Reference evapotranspiration after FAO-56, in plain numpy.

Every formula carries its equation number in Allen, Pereira, Raes & Smith (1998), Crop
evapotranspiration, FAO Irrigation and Drainage Paper 56 (the 1998 edition). Temperatures are in
degC, pressures in kPa, radiation in MJ/m2/day, ET0 in mm/day, latitude in degrees (south negative),
and `day` is the day of the year, 1 for 1 January. Numbers and arrays of days do equally well.
"""

from __future__ import annotations

import math

import numpy as np
import numpy.typing as npt

from holdwater.errors import InputError

Floats = npt.NDArray[np.float64]
Days = npt.NDArray[np.datetime64]

SOLAR_CONSTANT = 0.0820  # MJ/m2/min, with eq. 21
STEFAN_BOLTZMANN = 4.903e-9  # MJ/K4/m2/day, with eq. 39
ALBEDO = 0.23  # of the grass reference crop, with eq. 38
TO_MM = 0.408  # mm of water evaporated by 1 MJ/m2, eq. 20


def _floats(values: npt.ArrayLike) -> Floats:
    return np.asarray(values, dtype=np.float64)


def atmospheric_pressure(altitude: npt.ArrayLike) -> Floats:
    """Mean air pressure [kPa] at an altitude [m], eq. 7."""
    return 101.3 * ((293.0 - 0.0065 * _floats(altitude)) / 293.0) ** 5.26


def psychrometric_constant(pressure: npt.ArrayLike) -> Floats:
    """Psychrometric constant gamma [kPa/degC] at an air pressure [kPa], eq. 8."""
    return 0.665e-3 * _floats(pressure)


def saturation_vapour_pressure(temperature: npt.ArrayLike) -> Floats:
    """Vapour pressure of saturated air [kPa] at a temperature [degC], eq. 11."""
    t = _floats(temperature)
    return 0.6108 * np.exp(17.27 * t / (t + 237.3))


def mean_saturation_vapour_pressure(t_min: npt.ArrayLike, t_max: npt.ArrayLike) -> Floats:
    """Mean saturation vapour pressure of a day [kPa] from its extremes [degC], eq. 12."""
    return (saturation_vapour_pressure(t_min) + saturation_vapour_pressure(t_max)) / 2.0


def slope_vapour_pressure(temperature: npt.ArrayLike) -> Floats:
    """Slope Delta of the saturation curve [kPa/degC] at a temperature [degC], eq. 13."""
    return 4098.0 * saturation_vapour_pressure(temperature) / (_floats(temperature) + 237.3) ** 2


def vapour_pressure_from_humidity(
    t_min: npt.ArrayLike, t_max: npt.ArrayLike, rh_min: npt.ArrayLike, rh_max: npt.ArrayLike
) -> Floats:
    """Actual vapour pressure [kPa] from the extremes of temperature [degC] and humidity [%], eq. 17."""
    cold = saturation_vapour_pressure(t_min) * _floats(rh_max)
    warm = saturation_vapour_pressure(t_max) * _floats(rh_min)
    return (cold + warm) / 200.0


def vapour_pressure_from_dew_point(dew_point: npt.ArrayLike) -> Floats:
    """Actual vapour pressure [kPa] from the dew point [degC], eq. 14."""
    return saturation_vapour_pressure(dew_point)


def inverse_distance(day: npt.ArrayLike) -> Floats:
    """Inverse relative distance earth to sun, squared, of a day of the year, eq. 23 [-]."""
    return 1.0 + 0.033 * np.cos(2.0 * np.pi / 365.0 * _floats(day))


def declination(day: npt.ArrayLike) -> Floats:
    """Solar declination [rad] of a day of the year, eq. 24."""
    return 0.409 * np.sin(2.0 * np.pi / 365.0 * _floats(day) - 1.39)


def sunset_hour_angle(latitude: float, day: npt.ArrayLike) -> Floats:
    """Hour angle of sunset, eq. 25 [rad]; 0 where the sun stays down, pi where it stays up.

    Raises
    ------
    InputError
        The latitude is beyond a pole.
    """
    cosine = -np.tan(_radians(latitude)) * np.tan(declination(day))
    return np.asarray(np.arccos(np.clip(cosine, -1.0, 1.0)))


def daylight_hours(latitude: float, day: npt.ArrayLike) -> Floats:
    """Hours N from sunrise to sunset, eq. 34 [h]; 0 in the polar night, 24 in the polar day."""
    return 24.0 / np.pi * sunset_hour_angle(latitude, day)


def extraterrestrial_radiation(latitude: float, day: npt.ArrayLike) -> Floats:
    """Radiation Ra on a level surface above the air, eq. 21 with 22 to 25 [MJ/m2/day]."""
    phi, delta = _radians(latitude), declination(day)
    sunset = sunset_hour_angle(latitude, day)
    high: Floats = sunset * np.sin(phi) * np.sin(delta) + np.cos(phi) * np.cos(delta) * np.sin(sunset)
    return 24.0 * 60.0 / np.pi * SOLAR_CONSTANT * inverse_distance(day) * high


def solar_radiation(
    sunshine: npt.ArrayLike, daylight: npt.ArrayLike, extraterrestrial: npt.ArrayLike
) -> Floats:
    """Solar radiation Rs [MJ/m2/day] from sunshine hours n of N [h], eq. 35 (a = 0.25, b = 0.50).

    n/N is at most 1 (a recorder may see the sun a little longer than N) and 0 where the sun stays down.
    """
    n, full = np.broadcast_arrays(_floats(sunshine), _floats(daylight))
    share = np.divide(n, full, out=np.where(np.isnan(n), np.nan, 0.0), where=full > 0.0)
    clear: Floats = 0.25 + 0.50 * np.minimum(share, 1.0)
    return clear * _floats(extraterrestrial)


def clear_sky_radiation(extraterrestrial: npt.ArrayLike, altitude: npt.ArrayLike) -> Floats:
    """Solar radiation Rso of a cloudless day [MJ/m2/day] at an altitude [m], eq. 37."""
    return (0.75 + 2e-5 * _floats(altitude)) * _floats(extraterrestrial)


def net_shortwave(solar: npt.ArrayLike) -> Floats:
    """Solar radiation Rns kept by the grass reference crop, eq. 38 [MJ/m2/day]."""
    return (1.0 - ALBEDO) * _floats(solar)


def net_longwave(
    t_min: npt.ArrayLike,
    t_max: npt.ArrayLike,
    vapour_pressure: npt.ArrayLike,
    solar: npt.ArrayLike,
    clear_sky: npt.ArrayLike,
) -> Floats:
    """Heat radiation Rnl lost by the ground, eq. 39 [MJ/m2/day].

    Rs/Rso is held between 0.3 and 1 (the upper bound is FAO-56's, the lower one that of the ASCE-EWRI
    2005 standardised equation), and taken as 1 where the sun stays down.
    """
    rs, rso = np.broadcast_arrays(_floats(solar), _floats(clear_sky))
    share = np.divide(rs, rso, out=np.where(np.isnan(rs), np.nan, 1.0), where=rso > 0.0)
    cloud: Floats = 1.35 * np.clip(share, 0.3, 1.0) - 0.35
    heat = ((_floats(t_max) + 273.16) ** 4 + (_floats(t_min) + 273.16) ** 4) / 2.0
    return STEFAN_BOLTZMANN * heat * (0.34 - 0.14 * np.sqrt(_floats(vapour_pressure))) * cloud


def wind_at_2m(wind: npt.ArrayLike, height: float) -> Floats:
    """Wind at 2 m [m/s] from wind [m/s] measured at another height [m] over grass, eq. 47."""
    if height == 2.0:
        return _floats(wind)
    if not height > 0.2:
        raise InputError(f"wind height: found {height:g} m, required above 0.2 m; 10 m is usual")
    return _floats(wind) * 4.87 / math.log(67.8 * height - 5.42)


def hargreaves(t_min: npt.ArrayLike, t_max: npt.ArrayLike, latitude: float, day: npt.ArrayLike) -> Floats:
    """Reference evapotranspiration from temperatures alone, eq. 52.

    Parameters
    ----------
    t_min, t_max : array_like
        Lowest and highest air temperature of the day [degC].
    latitude : float
        South negative [degrees].
    day : array_like
        Day of the year, 1 for 1 January.

    Returns
    -------
    ndarray
        ET0, not below 0, NaN where a temperature is NaN [mm/day].

    Raises
    ------
    InputError
        Tmax below Tmin, or a latitude beyond a pole.
    """
    low, high = _floats(t_min), _floats(t_max)
    check_temperatures(low, high)
    evaporable = TO_MM * extraterrestrial_radiation(latitude, day)
    return np.maximum(0.0023 * ((low + high) / 2.0 + 17.8) * np.sqrt(high - low) * evaporable, 0.0)


def penman_monteith(
    t_min: npt.ArrayLike,
    t_max: npt.ArrayLike,
    vapour_pressure: npt.ArrayLike,
    wind_2m: npt.ArrayLike,
    solar: npt.ArrayLike,
    latitude: float,
    altitude: float,
    day: npt.ArrayLike,
) -> Floats:
    """Reference evapotranspiration of a 0.12 m grass crop, eq. 6 with soil heat flux 0 (eq. 42).

    Parameters
    ----------
    t_min, t_max : array_like
        Lowest and highest air temperature of the day [degC].
    vapour_pressure : array_like
        Actual vapour pressure ea [kPa].
    wind_2m : array_like
        Mean wind at 2 m [m/s].
    solar : array_like
        Solar radiation Rs [MJ/m2/day].
    latitude : float
        South negative [degrees].
    altitude : float
        Above sea level [m].
    day : array_like
        Day of the year, 1 for 1 January.

    Returns
    -------
    ndarray
        ET0 as the equation gives it; slightly negative on cold, humid, dark days [mm/day].

    Raises
    ------
    InputError
        Tmax below Tmin, or a latitude beyond a pole.
    """
    low, high = _floats(t_min), _floats(t_max)
    check_temperatures(low, high)
    ea, u2, mean = _floats(vapour_pressure), _floats(wind_2m), (low + high) / 2.0
    clear = clear_sky_radiation(extraterrestrial_radiation(latitude, day), altitude)
    net = net_shortwave(solar) - net_longwave(low, high, ea, solar, clear)
    gamma = psychrometric_constant(atmospheric_pressure(altitude))
    delta = slope_vapour_pressure(mean)
    drying = gamma * 900.0 / (mean + 273.0) * u2 * (mean_saturation_vapour_pressure(low, high) - ea)
    return (TO_MM * delta * net + drying) / (delta + gamma * (1.0 + 0.34 * u2))


def day_of_year(days: Days) -> npt.NDArray[np.int64]:
    """Day of the year of each day, 1 for 1 January."""
    whole = days.astype("datetime64[D]")
    since: npt.NDArray[np.int64] = (whole - whole.astype("datetime64[Y]")).astype(np.int64)
    return since + 1


def _radians(latitude: float) -> float:
    if not -90.0 <= latitude <= 90.0:
        raise InputError(
            f"latitude: found {latitude:g} degrees, required -90 (south pole) to 90 (north pole); "
            "check the sign and that latitude and longitude are not exchanged"
        )
    return float(np.radians(latitude))


def check_temperatures(t_min: Floats, t_max: Floats, days: Days | None = None) -> None:
    """Refuse days on which Tmax is below Tmin [degC], by their dates where `days` are given.

    Raises
    ------
    InputError
        How many such days, and the first of them.
    """
    low, high = (np.atleast_1d(values) for values in np.broadcast_arrays(t_min, t_max))
    wrong = np.flatnonzero(high < low)
    if wrong.size:
        first = int(wrong[0])
        where = f"day {first + 1} of the series" if days is None else str(days.astype("datetime64[D]")[first])
        raise InputError(
            f"temperatures: Tmax is below Tmin on {wrong.size} of {high.size} {'day' if high.size == 1 else 'days'},"
            f" the first {where} (Tmin {low[first]:g}, Tmax {high[first]:g} degC); correct these days or leave"
            " both blank"
        )
