"""Types of the site table that the rest of the scenario does not need: intensity, pressure, power, weight."""

from __future__ import annotations

import re
from collections.abc import Mapping
from difflib import get_close_matches
from typing import Annotated, Any

from pydantic import BeforeValidator, WithJsonSchema

from holdwater import units
from holdwater.errors import InputError
from holdwater.scenario.quantities import door
from holdwater.site.sizes import HORSEPOWER, INCH, POUND, PSF, PSI

_INTENSITY = {"mm/h": 1.0, "in/h": INCH, "cm/h": 10.0}
_PRESSURE = {"kPa": 1.0, "psi": PSI, "bar": 100.0, "mbar": 0.1, "Pa": 0.001, "MPa": 1000.0}
_BEARING = {"kPa": 1.0, "lb/ft2": PSF, "psf": PSF, "kN/m2": 1.0}
_POWER = {"kW": 1.0, "W": 0.001, "hp": HORSEPOWER}
_MASS = {"kg": 1.0, "lb": POUND, "t": 1000.0, "short ton": 2000.0 * POUND}
_SAME = {
    "mm per hour": "mm/h",
    "mm/hr": "mm/h",
    "mm/hour": "mm/h",
    "in/hr": "in/h",
    "inch/h": "in/h",
    "in per hour": "in/h",
    "inches per hour": "in/h",
    "in/hour": "in/h",
    "lbs": "lb",
    "pounds": "lb",
    "tonne": "t",
    "horsepower": "hp",
    "watt": "W",
    "watts": "W",
    "kilowatt": "kW",
    "lb/sq ft": "lb/ft2",
    "pounds per square foot": "lb/ft2",
}


def read(text: object, known: Mapping[str, float], what: str, examples: str) -> float:
    """Read one number with one of these units.

    Parameters
    ----------
    text : object
        As the owner writes it, "4 in/h" or "3/4 hp".
    known : mapping of str to float
        Size of each unit in the inside unit.
    what, examples : str
        What is needed and how it is written.

    Returns
    -------
    float
        In the inside unit.

    Raises
    ------
    InputError
        Not a text with a number and one of the units, or below zero.
    """
    number, unit = _parted(text, what, examples)
    unit = _known(unit, known)
    if unit not in known:
        near = get_close_matches(unit.lower(), [each.lower() for each in known], 1, 0.6)
        hint = f"did you mean '{near[0]}'? W" if near else "w"
        raise InputError(f"{units.quoted(text)}: '{unit}' is no unit for {what}; {hint}rite {examples}")
    if number < 0.0:
        raise InputError(f"{units.quoted(text)}: {what} cannot be negative")
    return number * known[unit]


def _parted(text: object, what: str, examples: str) -> tuple[float, str]:
    """Number and unit of a text; the number may be anything `units` reads."""
    if isinstance(text, int | float) and not isinstance(text, bool):
        raise InputError(f"{text:g} has no unit; write {examples}")
    parts = re.fullmatch(r"\s*([^A-Za-z°]*\d[^A-Za-z°]*|[½¼¾])(.*)", text) if isinstance(text, str) else None
    if parts is None:
        raise InputError(f"{units.quoted(text)}: not {what}; write {examples}")
    number, unit = parts[1].strip(), parts[2].strip()
    if not unit:
        raise InputError(f"{units.quoted(text)} has no unit; write {examples}")
    try:
        return units.read(f"{number} mm", "base"), unit
    except InputError:
        raise InputError(f"{units.quoted(text)}: not {what}; write {examples}") from None


def _known(unit: str, known: Mapping[str, float]) -> str:
    """The unit's one spelling."""
    plain = re.sub(r"\s+", " ", unit).replace(" / ", "/").rstrip(".")
    plain = _SAME.get(plain.lower(), plain)
    return {each.lower(): each for each in known}.get(plain.lower(), plain)


def _type(known: Mapping[str, float], what: str, us: str, metric: str) -> tuple[BeforeValidator, Any]:
    examples = f'"{us}" or "{metric}"'
    schema = {
        "type": "string",
        "description": f"{what[0].upper()}{what[1:]} with its unit.",
        "examples": [us, metric],
    }
    return door(lambda value: read(value, known, what, examples)), WithJsonSchema(schema)


def read_flow(text: object) -> float:
    """Read a flow as pipes and pumps have it, "8 gal/min" [L/day].

    Raises
    ------
    InputError
        Not a volume per time with its unit.
    """
    if isinstance(text, int | float) and not isinstance(text, bool) and text:
        raise InputError(f'{text:g} has no unit; write "{text:g} gal/min" or "30 L/min"')
    return units.read(text, "flow")


Intensity = Annotated[float, *_type(_INTENSITY, "a rain intensity", "4 in/h", "100 mm/h")]
Pressure = Annotated[float, *_type(_PRESSURE, "a pressure", "30 psi", "207 kPa")]
Bearing = Annotated[float, *_type(_BEARING, "a bearing pressure", "2000 lb/ft2", "96 kPa")]
PipeFlow = Annotated[
    float,
    door(read_flow),
    WithJsonSchema(
        {"type": "string", "description": "A flow with its unit.", "examples": ["8 gal/min", "30 L/min"]}
    ),
]
Power = Annotated[float, *_type(_POWER, "a power", "3/4 hp", "560 W")]
Mass = Annotated[float, *_type(_MASS, "a weight", "450 lb", "204 kg")]
