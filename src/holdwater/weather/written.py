"""Values said as they stand in the file, in its own unit, with the unit used inside after them."""

from __future__ import annotations

from holdwater.weather.formats.headers import TO_MM

_TENTHS = "tenths of degC"


def rain(depth: float, unit: str) -> str:
    """Say a depth of rain as the file has it: "94 in, that is 2388 mm"; "12.5 mm".

    Parameters
    ----------
    depth : float
        The depth [mm].
    unit : str
        Unit of the rain in the file: "mm", "in" or "tenths of mm".
    """
    own = as_read(depth, unit)
    return own if unit == "mm" else f"{own}, that is {depth:.4g} mm"


def as_read(depth: float, unit: str) -> str:
    """Say a depth of rain in the unit of the file alone: "94 in"; the arguments are those of `rain`."""
    return f"{depth / TO_MM[unit]:.6g} {unit}"


def rain_alone(depth: float, unit: str) -> str:
    """Say a sum or a mean of rain in the unit of the file, tenths of a millimetre as mm: "47.2 in", "840 mm".

    Parameters
    ----------
    depth : float
        The depth [mm].
    unit : str
        Unit of the rain in the file.
    """
    return f"{depth / TO_MM['in']:.3g} in" if unit == "in" else f"{depth:.0f} mm"


def degrees(value: float, unit: str) -> float:
    """A temperature in the unit of the file.

    Parameters
    ----------
    value : float
        The temperature [degC].
    unit : str
        Unit of the temperatures in the file: "degC", "degF" or "tenths of degC".
    """
    if unit == "degF":
        return value * 1.8 + 32.0
    return value * 10.0 if unit == _TENTHS else value


def temperature(value: float, unit: str) -> str:
    """Say a temperature as the file has it: "500 degF, that is 260 degC"; "-3.5 degC"."""
    inside = f"{value:.4g} degC"
    return inside if unit == "degC" else f"{degrees(value, unit):.4g} {unit}, that is {inside}"


def below(high: float, low: float, unit: str) -> str:
    """Say a maximum below its minimum: "26 below 50 degF, that is -3.3 below 10 degC"."""
    inside = f"{high:.3g} below {low:.3g} degC"
    if unit == "degC":
        return inside
    return f"{degrees(high, unit):.4g} below {degrees(low, unit):.4g} {unit}, that is {inside}"
