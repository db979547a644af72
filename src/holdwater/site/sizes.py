"""US units in the inside units of the site checks; exact by definition but for the last digits of the horsepower."""

from __future__ import annotations

from holdwater.units.kinds import GALLON, INCH, SQUARE_FOOT

__all__ = ["FOOT", "GALLON", "GPM", "HORSEPOWER", "INCH", "POUND", "PSF", "PSI", "SQUARE_FOOT", "ft"]

FOOT = 12.0 * INCH
"""mm"""
GPM = GALLON / 60.0
"""US gallon a minute [L/s]"""
POUND = 0.45359237
"""kg"""
PSI = 6.894757293168
"""Pound-force on a square inch [kPa]"""
PSF = PSI / 144.0
"""Pound-force on a square foot [kPa]"""
HORSEPOWER = 0.745699872
"""550 ft lbf/s [kW]"""


def ft(metres: float) -> float:
    """An altitude in feet."""
    return metres * 1000.0 / FOOT
