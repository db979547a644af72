"""The words for units: one table, looked up for a plain unit and given to pint for any product of its words.

"gal", "sq ft" and "gal/day" are in the table; "acre in" or "m3/s" is worked out by pint, in a small
registry built from the same table and loaded only then.
"""

from __future__ import annotations

import re
from difflib import get_close_matches
from functools import lru_cache
from typing import TYPE_CHECKING, Any, NamedTuple

from holdwater.errors import InputError
from holdwater.units.kinds import GALLON, INCH
from holdwater.units.showing import quoted

if TYPE_CHECKING:
    from pint import UnitRegistry


class Unit(NamedTuple):
    """A unit: what it measures, its size in the inside unit (mm, m2, L, day, L/day), its name for pint."""

    dimension: str
    size: float
    name: str


# name, dimension, size in the inside unit, further words. Sizes are exact by definition:
# international inch, US gallon of 231 cubic inches, imperial gallon of 4.54609 L.
UNITS: tuple[tuple[str, str, float, str], ...] = (
    ("mm", "length", 1.0, "millimetre|millimeter"),
    ("cm", "length", 10.0, "centimetre|centimeter"),
    ("m", "length", 1000.0, "metre|meter"),
    ("km", "length", 1e6, "kilometre|kilometer"),
    ("inch", "length", INCH, "in|inches"),
    ("ft", "length", 12 * INCH, "foot|feet"),
    ("yd", "length", 36 * INCH, "yard"),
    ("acre", "area", 4046.8564224, "ac"),
    ("ha", "area", 10_000.0, "hectare"),
    ("L", "volume", 1.0, "l|litre|liter"),
    ("mL", "volume", 0.001, "ml|millilitre|milliliter"),
    ("kL", "volume", 1000.0, "kl|kilolitre|kiloliter"),
    ("ML", "volume", 1e6, "megalitre|megaliter"),
    ("gal", "volume", GALLON, "gallon|us gal|us gallon|u.s. gallon"),
    ("imperial_gallon", "volume", 4.54609, "imperial gallon|imperial gal|imp gal|uk gallon|uk gal"),
    ("kgal", "volume", 1000 * GALLON, ""),
    ("qt", "volume", GALLON / 4, "quart"),
    ("ccf", "volume", 2831.6846592, "hcf"),
    ("acre_foot", "volume", 1233481.83754752, "acre foot|acre-foot|acre feet|acre-feet|acre ft|acre-ft"),
    ("acre_inch", "volume", 102790.15312896, "acre inch|acre-inch|acre inches|acre-inches|acre-in"),
    ("s", "time", 1 / 86400, "sec|second"),
    ("min", "time", 1 / 1440, "minute"),
    ("h", "time", 1 / 24, "hr|hour"),
    ("day", "time", 1.0, "d"),
    ("week", "time", 7.0, "wk"),
    ("gpd", "flow", GALLON, ""),
    ("gph", "flow", GALLON * 24, ""),
    ("gpm", "flow", GALLON * 1440, ""),
    ("cfs", "flow", 28.316846592 * 86400, "cusec"),
    ("lpm", "flow", 1440.0, ""),
    ("lps", "flow", 86400.0, ""),
    ("percent", "share", 0.01, "%|per cent|pct"),
)
_INSIDE = {  # the inside unit of each dimension, in the registry's millimetres and days
    "length": "mm",
    "area": "1e6 * mm ** 2",
    "volume": "1e6 * mm ** 3",
    "time": "day",
    "flow": "1e6 * mm ** 3 / day",
}
_POWERS: dict[tuple[Any, Any], tuple[str, float]] = {  # of length and time: dimension, mm and days to inside
    (1, 0): ("length", 1.0),
    (2, 0): ("area", 1e-6),
    (3, 0): ("volume", 1e-6),
    (0, 1): ("time", 1.0),
    (3, -1): ("flow", 1e-6),
}
_NO_FIXED_LENGTH = {"month", "months", "mo", "year", "years", "yr", "yrs"}
_FOR_ONE = {"person", "people", "capita", "head", "animal", "hen", "bird"}
_A_TIME = re.compile(r" (?:per|a|an|each|every) ")  # "38 gal a day"
_EVERY = {"daily": "/day", "weekly": "/week", "hourly": "/hour"}


@lru_cache(maxsize=1)
def words() -> dict[str, Unit]:
    """Every word for a unit, squares and cubes of lengths included."""
    known: dict[str, Unit] = {}
    for name, dimension, size, others in UNITS:
        spelled = [name, *(word for word in others.split("|") if word)]
        spelled += [word + "s" for word in spelled if len(word) > 2 and word[-1] not in "s%h"]
        for word in spelled:
            known[word] = Unit(dimension, size, name)
            if dimension == "length":
                square = Unit("area", size**2 * 1e-6, f"{name}**2")
                cube = Unit("volume", size**3 * 1e-6, f"{name}**3")
                known |= dict.fromkeys((f"{word}2", f"{word}^2"), square)
                known |= dict.fromkeys((f"{word}3", f"{word}^3"), cube)
                known |= {before + word: square for before in ("sq ", "sq. ", "sq", "square ")}
                known |= {before + word: cube for before in ("cu ", "cu. ", "cu", "cubic ")}
    return known


def unit(phrase: str, text: str) -> tuple[str, float]:
    """Dimension, and size in the inside unit, of "gal", "sq ft", "gal per day", "acre in".

    Parameters
    ----------
    phrase : str
        The words after the number.
    text : str
        All that was written, for the message.

    Raises
    ------
    InputError
        A word is no unit known here, or the words make no unit.
    """
    found = _look_up(phrase)
    if found:
        return found.dimension, found.size
    phrase = _per(phrase)
    upper, slash, lower = re.sub(r" ?/ ?", "/", phrase).partition("/")
    over, under = _look_up(upper), _look_up(lower)
    if slash and over and under and over.dimension == "volume" and under.dimension == "time":
        return "flow", over.size / under.size
    return _by_pint(phrase, text)


def _per(phrase: str) -> str:
    """Write "gal a day" and "gal daily" as "gal/day"."""
    upper, _, last = phrase.rpartition(" ")
    if upper and last.lower() in _EVERY:
        return upper + _EVERY[last.lower()]
    return _A_TIME.sub("/", phrase)


def _look_up(phrase: str) -> Unit | None:
    known = words()
    plain = phrase.replace("**", "^").strip()
    return known.get(plain) or known.get(plain.lower()) or known.get(plain.lower().rstrip("."))


def _by_pint(phrase: str, text: str) -> tuple[str, float]:
    """Check every word against the table, so that pint only multiplies, then let it multiply."""
    expression = []
    for token in re.split(r"( ?[*/] ?| )", phrase.replace("**", "^")):
        if token.strip() in ("*", "/", ""):
            expression.append(token.strip() or ("*" if token else ""))
            continue
        found = _look_up(token)
        if not found or found.dimension == "share":
            raise InputError(_unknown(token, text))
        expression.append(f"({found.name})")
    try:
        product = _registry().Quantity(1.0, "".join(expression)).to_root_units()
    except Exception:  # pint's parser raises many types; all mean that the words make no unit
        raise InputError(f"{quoted(text)}: {quoted(phrase)} makes no unit") from None
    powers = {str(name): power for name, power in product.dimensionality.items()}
    dimension, to_inside = _POWERS.get((powers.get("[length]", 0), powers.get("[time]", 0)), ("other", 1.0))
    return dimension, float(product.magnitude) * to_inside


def _unknown(word: str, text: str) -> str:
    if word.lower() in _NO_FIXED_LENGTH:
        what = "year" if word.lower().startswith("y") else "month"
        return f"{quoted(text)}: a {what} has no fixed length; give it per day or per week"
    if word.lower() in _FOR_ONE:
        return f"{quoted(text)}: {quoted(word)} is no unit; leave it out"
    close = get_close_matches(word.lower(), list(words()), 1, 0.7) if len(word) < 30 else []
    hint = f"; did you mean {quoted(close[0])}?" if close else ""
    return f"{quoted(text)}: {quoted(word)} is no unit known here{hint}"


@lru_cache(maxsize=1)
def _registry() -> UnitRegistry[Any]:
    import pint

    registry: UnitRegistry[Any] = pint.UnitRegistry(None)
    registry.define("mm = [length]")
    registry.define("day = [time]")
    for name, dimension, size, _ in UNITS:
        if name not in ("mm", "day") and dimension in _INSIDE:
            registry.define(f"{name} = {size!r} * {_INSIDE[dimension]}")
    return registry
