"""Pump and pressure tank: suction, lift, drawdown, starts, power, energy, and where a pump curve meets its work."""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np

from holdwater.site.sizes import FOOT, HORSEPOWER, ft
from holdwater.site.tables import read_table
from holdwater.site.water import GRAVITY, atmosphere, density, head, vapour_pressure

_ALTITUDES, _LIFTS = (
    [float(row[column]) for row in read_table("suction_lift.csv")] for column in ("altitude_ft", "lift_ft")
)
LIFT_TABLE_ENDS = _ALTITUDES[-1]
"""Altitude at which the table of suction lifts ends [ft]."""
_SMALL_MOTOR, _LARGEST_MOTOR = 0.75 * HORSEPOWER, 5.5 * HORSEPOWER
_AS_PRINTED = 1.005
"""Motors are plated in rounded watts: half a per cent more is still the same size."""


def npsh_available(altitude: float, temperature: float, above: float, friction: float) -> float:
    """Net positive suction head the site gives the pump.

    Parameters
    ----------
    altitude : float
        Height above sea level [m].
    temperature : float
        Temperature of the water [degC].
    above : float
        Height of the lowest water surface above the pump, negative where the pump must lift [mm].
    friction : float
        Head lost in the suction pipe [mm].

    Returns
    -------
    float
        Head of water at that temperature [mm].
    """
    air = head(atmosphere(altitude), temperature)
    return air - head(vapour_pressure(temperature), temperature) + above - friction


def practical_lift(altitude: float) -> float:
    """Greatest suction lift a pump maker allows for, by altitude.

    Parameters
    ----------
    altitude : float
        Height above sea level; below it counts as sea level [m].

    Returns
    -------
    float
        Lift, friction included [mm].

    Raises
    ------
    ValueError
        Above the end of the table, 7,920 ft.
    """
    if ft(altitude) > LIFT_TABLE_ENDS + 1e-9:
        raise ValueError(f"the table of suction lifts ends at {LIFT_TABLE_ENDS:,.0f} ft")
    return FOOT * float(np.interp(ft(altitude), _ALTITUDES, _LIFTS))


def drawdown(volume: float, precharge: float, cut_in: float, cut_out: float, air: float = 101.325) -> float:
    """Water a pressure tank gives between the stop and the next start of the pump.

    Parameters
    ----------
    volume : float
        Whole volume of the pressure tank [L].
    precharge, cut_in, cut_out : float
        Gauge pressures: of the air in the empty tank, at which the pump starts, at which it stops [kPa].
    air : float
        Pressure of the atmosphere [kPa].

    Returns
    -------
    float
        Volume [L].

    Raises
    ------
    ValueError
        The switch stops the pump no higher than it starts it.

    Notes
    -----
    Boyle. With a pre-charge above the cut-in the tank is empty before the pump starts.
    """
    if cut_out <= cut_in:
        raise ValueError("the pump must stop at a higher pressure than it starts at")
    gas = volume * (precharge + air)
    held_at_start = max(0.0, volume - gas / (cut_in + air))
    held_at_stop = max(0.0, volume - gas / (cut_out + air))
    return held_at_stop - held_at_start


def starts_limit(power: float, single_phase: bool = True) -> int | None:
    """Starts per day a motor of this power stands.

    Parameters
    ----------
    power : float
        Rated power [kW].
    single_phase : bool
        Whether the motor runs on single-phase current.

    Returns
    -------
    int or None
        300 up to 0.75 hp, 100 for single-phase motors of 1 to 5.5 hp (and in between, on the safe
        side); None where no figure is at hand.

    Notes
    -----
    Pump maker's manual.
    """
    if power <= _SMALL_MOTOR * _AS_PRINTED:
        return 300
    return 100 if single_phase and power <= _LARGEST_MOTOR * _AS_PRINTED else None


def water_power(flow: float, lift: float, temperature: float = 20.0) -> float:
    """Power that ends up in the water.

    Parameters
    ----------
    flow : float
        Flow [L/s].
    lift : float
        Head the pump adds [mm].
    temperature : float
        Temperature of the water [degC].

    Returns
    -------
    float
        Power [kW]; gal/min x ft / 3960 in horsepower.
    """
    return density(temperature) * GRAVITY * flow * lift / 1e9


def pump_hours(volume: float, flow: float) -> float:
    """Hours a pump of so many L/s takes for a volume in L [h]."""
    return volume / flow / 3600.0


def curve_head(points: Sequence[tuple[float, float]], flow: float) -> float | None:
    """Head of a pump at a flow, straight lines between the points its owner gave.

    Parameters
    ----------
    points : sequence of tuple of float
        Flow [L/s] and head [mm].
    flow : float
        Flow asked for [L/s].

    Returns
    -------
    float or None
        Head [mm]. Below the first point the first point's head stands (real pumps give more). Beyond the
        last point, or with no points, None: the curve says nothing there.
    """
    rows = sorted(points)
    if not rows or flow > rows[-1][0] * (1.0 + 1e-9):
        return None
    return float(np.interp(flow, [at for at, _ in rows], [head for _, head in rows]))


def worst_starts(volume: float, given: float) -> float:
    """Most starts a day's water can cause: every start followed by no more use than the drawdown.

    Parameters
    ----------
    volume : float
        Water used on the day [L].
    given : float
        Drawdown of the pressure tank [L].
    """
    return math.ceil(volume / given - 1e-9)
