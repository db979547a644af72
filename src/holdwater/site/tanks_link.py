"""Water finding its level: draining through a hole, flow through a bottom link, time until two tanks stand level."""

from __future__ import annotations

import math
from itertools import pairwise

from holdwater.site.pipes import Pipe, flow_under_head
from holdwater.site.water import GRAVITY

STEPS = 100
"""Slices of head in the time to stand level; sixteen times as many change it by less than 0.1 %."""


def drain_time(surface: float, hole: float, head: float, coefficient: float = 0.62) -> float:
    """Time to empty an upright tank through a hole in its floor or foot.

    Parameters
    ----------
    surface : float
        Water surface of the tank [m2].
    hole : float
        Area of the hole [m2].
    head : float
        Height of the water above the hole at the start [mm].
    coefficient : float
        Discharge coefficient, 0.62 for a sharp edge.

    Returns
    -------
    float
        Time [s].

    Notes
    -----
    Torricelli integrated: t = 2 A sqrt(h) / (Cd a sqrt(2 g)).
    """
    return 2.0 * surface * math.sqrt(head / 1000.0) / (coefficient * hole * math.sqrt(2.0 * GRAVITY))


def equalise_time(
    surfaces: tuple[float, float],
    pipe: Pipe,
    length: float,
    loss: float,
    *,
    start: float,
    end: float,
    temperature: float = 20.0,
) -> float:
    """Time until the difference in level of two linked tanks has shrunk so far.

    Parameters
    ----------
    surfaces : tuple of float
        Water surfaces of the two tanks [m2].
    pipe : Pipe
        The link.
    length : float
        Its length, fittings in equivalent length included [mm].
    loss : float
        Loss coefficients of entrance, exit and fittings not counted as length, in speed heads.
    start, end : float
        Difference in level at the start and at the end [mm].
    temperature : float
        Temperature of the water [degC].

    Returns
    -------
    float
        Time [s].

    Raises
    ------
    ValueError
        The end is not a smaller difference above zero: levels meet exactly only after endless time.

    Notes
    -----
    Quasi-steady: dh/dt = -Q(h) (1/A1 + 1/A2), Q from Darcy-Weisbach; summed over slices in the
    square root of the head, in which the flow is nearly straight.
    """
    if not 0.0 < end <= start:
        raise ValueError("the end difference must lie above zero and not above the start")
    shrink = 1.0 / surfaces[0] + 1.0 / surfaces[1]
    roots = [math.sqrt(start) + (math.sqrt(end) - math.sqrt(start)) * i / STEPS for i in range(STEPS + 1)]
    total = 0.0
    for high, low in pairwise(roots):
        middle = (0.5 * (high + low)) ** 2
        flow = flow_under_head(middle, pipe, length, loss, temperature)
        total += (high**2 - low**2) / (flow * shrink)
    return total
