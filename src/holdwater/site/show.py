"""Numbers of the site checks in words: the kinds a storm and a pipe need, in US and in metric units."""

from __future__ import annotations

from typing import Literal, NamedTuple

from holdwater import units
from holdwater.site.sizes import FOOT, GPM, HORSEPOWER, INCH, POUND, PSF, PSI


class _Scale(NamedTuple):
    """The inside unit, how many shown units one of it makes, and the names of the shown units."""

    inside: str
    us: float
    us_unit: str
    metric: float
    metric_unit: str


_SCALES = {
    "flow": _Scale("L/s", 1 / GPM, "gal/min", 60.0, "L/min"),
    "size": _Scale("mm", 1 / INCH, "in", 1.0, "mm"),
    "height": _Scale("mm", 1 / INCH, "in", 0.1, "cm"),
    "rain": _Scale("mm", 1 / INCH, "in", 1.0, "mm"),
    "length": _Scale("mm", 1 / FOOT, "ft", 0.001, "m"),
    "bore": _Scale("mm2", 1 / INCH**2, "in2", 0.01, "cm2"),
    "intensity": _Scale("mm/h", 1 / INCH, "in/h", 1.0, "mm/h"),
    "speed": _Scale("m/s", 1000 / FOOT, "ft/s", 1.0, "m/s"),
    "pressure": _Scale("kPa", 1 / PSI, "psi", 1.0, "kPa"),
    "bearing": _Scale("kPa", 1 / PSF, "lb/ft2", 1.0, "kPa"),
    "mass": _Scale("kg", 1 / POUND, "lb", 1.0, "kg"),
    "power": _Scale("kW", 1 / HORSEPOWER, "hp", 1.0, "kW"),
    "electric": _Scale("kW", 1000.0, "W", 1000.0, "W"),
    "energy": _Scale("kWh", 1.0, "kWh", 1.0, "kWh"),
    "hours": _Scale("h", 1.0, "h", 1.0, "h"),
    "degree days": _Scale("degC-days", 1.8, "degF-days", 1.0, "degC-days"),
    "warming": _Scale("degC", 1.8, "degF", 1.0, "degC"),
}
_SHOWN_BY_UNITS: dict[str, tuple[units.Kind, str]] = {
    "volume": ("volume", "L"),
    "area": ("area", "m2"),
    "altitude": ("altitude", "m"),
    "share": ("share", "1"),
}
_OTHERS = {"time": "s", "count": "1", "temperature": "degC"}


def unit(kind: str) -> str:
    """Unit in which the numbers of a kind are kept; "1" where they have none.

    Raises
    ------
    KeyError
        The kind is unknown.
    """
    if kind in _SCALES:
        return _SCALES[kind].inside
    return _SHOWN_BY_UNITS[kind][1] if kind in _SHOWN_BY_UNITS else _OTHERS[kind]


def show(number: float, kind: str, system: Literal["us", "metric"], digits: int = 2) -> str:
    """A number with its unit.

    Parameters
    ----------
    number : float
        In the inside unit of its kind.
    kind : str
        A key of the tables above.
    system : str
        "us" or "metric".
    digits : int
        Significant figures where the number has fewer before its point.

    Returns
    -------
    str
        "14 gal/min", "2,500 gal", "5.1 in".

    Raises
    ------
    KeyError
        The kind is unknown.
    """
    if kind in _SHOWN_BY_UNITS:
        bulk = kind == "volume" and system == "metric" and abs(number) >= units.CUBIC_METRES_FROM
        return units.show(number, _SHOWN_BY_UNITS[kind][0], system, max(digits, 3) if bulk else digits)
    if kind == "time":
        return _duration(number, digits)
    if kind == "count":
        return units.figures(number, digits)
    if kind == "temperature":
        shown = number * 1.8 + 32.0 if system == "us" else number
        return f"{units.figures(shown, digits)} {'degF' if system == 'us' else 'degC'}"
    scale = _SCALES[kind]
    factor, name = (scale.us, scale.us_unit) if system == "us" else (scale.metric, scale.metric_unit)
    return f"{units.figures(number * factor, digits)} {name}"


def _duration(seconds: float, digits: int) -> str:
    """A time in the unit that gives it the handiest number."""
    for length, name in ((86400.0, "days"), (3600.0, "h"), (60.0, "min")):
        if seconds >= 2 * length:
            return f"{units.figures(seconds / length, digits)} {name}"
    return f"{units.figures(seconds, digits)} s"
