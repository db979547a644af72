"""Water and the air above it: density, viscosity, vapour pressure, pressure of the atmosphere."""

from __future__ import annotations

import math

GRAVITY = 9.80665
"""Standard gravity [m/s2]."""

COLD = 5.0
"""Temperature at which friction is reckoned: cold water drags more [degC]."""

HEAVIEST_WATER = 0.999975
"""Density of water at 4 degC, its greatest [kg/L]; weights are reckoned with it."""


def density(temperature: float) -> float:
    """Density of water at atmospheric pressure.

    Parameters
    ----------
    temperature : float
        From 0 to 60 [degC].

    Returns
    -------
    float
        Density [kg/m3].

    Notes
    -----
    McCutcheon, Martin & Barnwell 1993, Water Quality, in Handbook of Hydrology (from memory).
    """
    t = _liquid(temperature)
    return 1000.0 * (1.0 - (t + 288.9414) / (508929.2 * (t + 68.12963)) * (t - 3.9863) ** 2)


def viscosity(temperature: float) -> float:
    """Kinematic viscosity of water.

    Parameters
    ----------
    temperature : float
        From 0 to 60 [degC].

    Returns
    -------
    float
        Kinematic viscosity [m2/s].

    Notes
    -----
    Vogel equation mu = 2.414e-5 x 10^(247.8 / (T - 140)) Pa s, T in kelvin (from memory).
    """
    kelvin = _liquid(temperature) + 273.15
    return 2.414e-5 * float(10.0 ** (247.8 / (kelvin - 140.0))) / density(temperature)


def vapour_pressure(temperature: float) -> float:
    """Pressure at which water boils at this temperature.

    Parameters
    ----------
    temperature : float
        From 0 to 60 [degC].

    Returns
    -------
    float
        Saturation pressure [kPa].

    Notes
    -----
    Wagner & Pruss 1993, J. Phys. Chem. Ref. Data 22(3):783, eq. 1 (coefficients from memory).
    """
    critical_kelvin, critical_kpa = 647.096, 22064.0
    kelvin = _liquid(temperature) + 273.15
    v = 1.0 - kelvin / critical_kelvin
    series = (
        -7.85951783 * v
        + 1.84408259 * v**1.5
        - 11.7866497 * v**3
        + 22.6807411 * v**3.5
        - 15.9618719 * v**4
        + 1.80122502 * v**7.5
    )
    return critical_kpa * math.exp(critical_kelvin / kelvin * series)


def atmosphere(altitude: float) -> float:
    """Mean pressure of the air.

    Parameters
    ----------
    altitude : float
        Height above sea level, from -500 to 9000 [m].

    Returns
    -------
    float
        Pressure [kPa].

    Raises
    ------
    ValueError
        No one keeps a holding at such an altitude.

    Notes
    -----
    U.S. Standard Atmosphere 1976, through `fluids`.
    """
    if not -500.0 <= altitude <= 9000.0:
        raise ValueError(f"altitude must lie between -500 and 9000 m, not {altitude:g} m")
    from fluids.atmosphere import ATMOSPHERE_1976

    return float(ATMOSPHERE_1976(altitude).P) / 1000.0


def head(pressure: float, temperature: float = 20.0) -> float:
    """Column of water that weighs as much as a pressure.

    Parameters
    ----------
    pressure : float
        Pressure [kPa].
    temperature : float
        Temperature of the water [degC].

    Returns
    -------
    float
        Height of the column [mm].
    """
    return pressure * 1e6 / (density(temperature) * GRAVITY)


def pressure(column: float, temperature: float = 20.0) -> float:
    """Pressure under a column of water.

    Parameters
    ----------
    column : float
        Height of the column [mm].
    temperature : float
        Temperature of the water [degC].

    Returns
    -------
    float
        Pressure [kPa].
    """
    return column * density(temperature) * GRAVITY / 1e6


def _liquid(temperature: float) -> float:
    """The temperature, if tank water can have it [degC]."""
    if not 0.0 <= temperature <= 60.0:
        raise ValueError(f"water temperature must lie between 0 and 60 degC, not {temperature:g} degC")
    return temperature
