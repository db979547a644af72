"""What a storm brings down a roof, and what gutter, leader and first flush make of it."""

from __future__ import annotations

import math

import numpy as np

from holdwater.site.pipes import area
from holdwater.site.sizes import GALLON, GPM, INCH, SQUARE_FOOT
from holdwater.site.tables import read_table

TEN_GALLONS_PER_THOUSAND_FT2 = 10 * GALLON / (1000 * SQUARE_FOOT)
"""Least published first flush, as a depth: 0.407 mm (Texas Water Development Board manual 2005, ch. 2, as quoted)."""
_HALF_ROUND, _SQUARE = 0.9 * 2.78e-5, 0.9 * 3.48e-5
"""Coefficients of EN 12056-3 for level gutters, L/s on mm2 to the power 1.25 (from memory)."""
_LONG_RUNS, _KEPT = (50.0, 100.0, 150.0, 200.0), (1.0, 0.93, 0.86, 0.80)
"""Length over depth of a gutter's run, and the share of its flow it keeps."""
LONGEST_RUN = _LONG_RUNS[-1]
"""Gutter depths beyond which the table of long runs says nothing."""


NOMINAL = 0.05
"""How far the bore of a pipe may be from the nominal size it goes by, part of that size."""


def roof_peak(plan_area: float, intensity: float) -> float:
    """Peak flow off a roof, nothing held back.

    Parameters
    ----------
    plan_area : float
        Plan area [m2].
    intensity : float
        Rain intensity [mm/h].

    Returns
    -------
    float
        Flow [L/s].

    Notes
    -----
    1 mm on 1 m2 is 1 L; in US units gal/min = 0.0104 x ft2 x in/h, the plumbing codes' rule.
    """
    return plan_area * intensity / 3600.0


def half_round_gutter(width: float) -> float:
    """Design flow of a level half-round gutter with a free outlet at one end, running brim-full.

    Parameters
    ----------
    width : float
        Width across the top, which is its diameter [mm].

    Returns
    -------
    float
        Flow [L/s].

    Notes
    -----
    EN 12056-3: 0.9 x 2.78e-5 x area^1.25, area in mm2 (from memory).
    """
    return _HALF_ROUND * float((math.pi * width**2 / 8.0) ** 1.25)


def half_round_width(flow: float) -> float:
    """Width of the half-round gutter that just carries a flow, the inverse of `half_round_gutter`.

    Parameters
    ----------
    flow : float
        Flow [L/s].

    Returns
    -------
    float
        Width across the top [mm].
    """
    return math.sqrt(8.0 / math.pi * float((flow / _HALF_ROUND) ** 0.8))


def box_gutter(width: float, depth: float) -> float:
    """Design flow of a level gutter of rectangular section with a free outlet at one end.

    Parameters
    ----------
    width, depth : float
        Mean width and the depth to the brim [mm].

    Returns
    -------
    float
        Flow [L/s].

    Notes
    -----
    EN 12056-3 gives a square section 0.9 x 3.48e-5 x area^1.25 (from memory). Other proportions
    follow from the depth at a free outlet, flow ~ width x depth^1.5 (Beij 1934, Flow in roof gutters).
    """
    return _SQUARE * width * float(depth**1.5)


def long_gutter_factor(length: float, depth: float) -> float:
    """Share of its flow a gutter keeps when its run to the outlet is long.

    Parameters
    ----------
    length : float
        From the far end to the outlet [mm].
    depth : float
        Depth of the gutter [mm].

    Returns
    -------
    float
        1 up to 50 depths, falling to 0.80 at 200.

    Raises
    ------
    ValueError
        The run is longer than 200 depths: the table ends there.

    Notes
    -----
    1.0, 0.93, 0.86, 0.80 at 50, 100, 150, 200 depths (EN 12056-3 as printed in gutter makers' tables).
    """
    ratio = length / depth
    if ratio > LONGEST_RUN:
        raise ValueError(f"a gutter run longer than {LONGEST_RUN:.0f} depths is beyond the table")
    return float(np.interp(ratio, _LONG_RUNS, _KEPT))


def leader_flow(inside: float, filled: float = 7.0 / 24.0, roughness: float = 0.25) -> float:
    """Flow of a vertical leader (downspout) that runs partly filled.

    Parameters
    ----------
    inside : float
        Inside diameter [mm].
    filled : float
        Share of the bore taken by water.
    roughness : float
        Height of the roughness [mm].

    Returns
    -------
    float
        Flow [L/s].

    Notes
    -----
    Wyly-Eaton, as in EN 12056-3: 2.5e-4 k^-0.167 d^2.667 f^1.667.
    """
    return float(2.5e-4 * roughness**-0.167 * inside**2.667 * filled**1.667)


def code_leader(size: float) -> tuple[float, float] | None:
    """What the plumbing code's table lets a pipe carry, standing and lying at 1/4 in per ft.

    Parameters
    ----------
    size : float
        Nominal diameter [mm].

    Returns
    -------
    tuple of float or None
        Flow standing and flow lying [L/s]; None where the table has no such size.
    """
    for row in read_table("leaders.csv"):
        if math.isclose(float(row["size_in"]) * INCH, size, rel_tol=NOMINAL):
            return float(row["vertical_gpm"]) * GPM, float(row["horizontal_gpm"]) * GPM
    return None


def standpipe(volume: float, inside: float) -> float:
    """Length of upright pipe that holds a first flush.

    Parameters
    ----------
    volume : float
        Volume [L].
    inside : float
        Inside diameter [mm].

    Returns
    -------
    float
        Length [mm].
    """
    return volume / area(inside)


def contamination_left(depth: float) -> float:
    """Share of the roof's dirt that still comes after a flush of this depth in mm.

    Notes
    -----
    Halves with every millimetre flushed (Martinson & Thomas 2005, abstract).
    """
    return float(0.5**depth)
