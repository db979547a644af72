"""Where a well, a main or a hauler's hose meets rainwater: the air gap."""

from __future__ import annotations

from holdwater.site.sizes import INCH

LEAST_AIR_GAP = INCH
"""No air gap is smaller than this [mm] (local codes, ASME A112.1.2)."""


def air_gap(outlet: float) -> float:
    """Open height wanted between a filling outlet and the highest water it can meet.

    Parameters
    ----------
    outlet : float
        Inside diameter of the filling outlet [mm].

    Returns
    -------
    float
        Height [mm]: twice the diameter and at least 1 in.

    Notes
    -----
    Local codes, ASME A112.1.2.
    """
    return max(2.0 * outlet, LEAST_AIR_GAP)
