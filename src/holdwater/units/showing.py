"""Quantities for people: "2,500 gal", "11.4 m3", "58 %"."""

from __future__ import annotations

import math
from typing import Literal

from holdwater.units.kinds import SPECS, Kind, Level, System

CUBIC_METRES_FROM = 10_000.0  # L; a metric volume is shown in m3 from here on


def scale(kind: Kind, system: System) -> tuple[float, str]:
    """Factor from the inside unit to the shown unit, and the shown unit's label.

    Parameters
    ----------
    kind : str
        As for `read`; "bulk" is a volume on a chart: gal or m3.
    system : str
        "us" or "metric".
    """
    spec = SPECS[kind]
    return spec.us if system == "us" else spec.metric


def show(
    value: float | Level, kind: Kind | Literal["level"], system: System, digits: int | None = None
) -> str:
    """Write a quantity for people: "2,500 gal", "11.4 m3", "1.5 in", "58 %".

    Parameters
    ----------
    value : float or Level
        In the inside unit of the kind.
    kind : str
        As for `read`. A metric "volume" is in L below 10,000 L and in m3 from there on.
    system : str
        "us" or "metric".
    digits : int, optional
        Significant digits, 3 if not given; whole units are never rounded away.

    Raises
    ------
    ValueError
        The value is infinite or not a number.
    """
    if isinstance(value, Level):
        if value.share is not None:
            return show(value.share, "share", system, digits)
        return show(value.volume or 0.0, "volume", system, digits)
    if kind == "level":
        kind = "share"
    if kind == "volume" and system == "metric" and abs(value) >= CUBIC_METRES_FROM:
        kind = "bulk"
    factor, label = scale(kind, system)
    number = figures(value * factor, 3 if digits is None else digits)
    return f"{number} {'day' if label == 'days' and number == '1' else label}"


def figures(number: float, digits: int = 3) -> str:
    """Write a bare number with thousands separators and at least `digits` significant digits.

    Parameters
    ----------
    number : float
        What to write.
    digits : int
        Significant digits; whole units are never rounded away, and six decimals are the most.

    Raises
    ------
    ValueError
        The number is infinite or not a number.
    """
    if not math.isfinite(number):
        raise ValueError(f"{number} cannot be shown")
    lead = math.floor(math.log10(abs(number))) if number else 0
    decimals = min(max(digits - 1 - lead, 0), 6)
    text = f"{number:,.{decimals}f}"
    text = text.rstrip("0").rstrip(".") if "." in text else text
    return "0" if text == "-0" else text


def quoted(value: object) -> str:
    """Show what was found as it stands in the file, cut when it is long."""
    if isinstance(value, bool):
        return str(value).lower()
    text = "".join(c if c.isprintable() else "?" for c in str(value))
    text = text if len(text) <= 60 else text[:57] + "..."
    return f'"{text}"' if isinstance(value, str) else text
