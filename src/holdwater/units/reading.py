"""Reading one quantity as a person writes it."""

from __future__ import annotations

import math
import re
import unicodedata
from collections.abc import Iterator
from typing import Literal, overload

from holdwater.errors import InputError
from holdwater.units.kinds import SPECS, Kind, Level
from holdwater.units.money import CURRENCY
from holdwater.units.showing import quoted, show
from holdwater.units.words import unit

LARGEST = 1e12  # in the inside unit; nothing on a holding comes near it
_LONGEST = 80  # characters of one quantity
_A = {
    "length": "a length",
    "area": "an area",
    "volume": "a volume",
    "time": "a time",
    "flow": "a volume per time",
    "share": "a share",
    "other": "a quantity of another kind",
}


@overload
def read(text: object, kind: Kind) -> float: ...
@overload
def read(text: object, kind: Literal["level"]) -> Level: ...
def read(text: object, kind: Kind | Literal["level"]) -> float | Level:
    """Read one quantity as a person writes it.

    Parameters
    ----------
    text : object
        "2500 gal", "2,500 gal", "1 1/2 in", "6 ft 3 in", "38 gal per day", "20 %", "12 per 1000 gal".
        A bare number is accepted for a share (0 to 1) and where it is zero; elsewhere a unit is required.
        "gallon" is the US gallon.
    kind : str
        What is needed: "volume" [L], "area" [m2], "height", "base" or "depth" [mm], "flow" [L/day],
        "share" [0..1], "duration" [days], "altitude" [m], "price" [per L], or "level" (a `Level`).

    Returns
    -------
    float or Level
        The value in the inside unit of the kind.

    Raises
    ------
    InputError
        With what was found, what is required, and how to write it.
    """
    if kind == "level":
        return _read_level(text)
    spec = SPECS[kind]
    if isinstance(text, bool) or not isinstance(text, str | int | float):
        raise InputError(f"{quoted(text)}: not {spec.need}; {_write(kind)}")
    if isinstance(text, str):
        value = _read_price(text) if kind == "price" else _read_text(text, kind)
    elif text == 0 or kind == "share":
        value = _as_float(text)
    else:
        raise InputError(f"{quoted(text)} has no unit; {_write(kind, _as_float(text))}")
    return _in_bounds(value, quoted(text), kind)


def _as_float(number: float) -> float:
    try:
        return float(number)
    except OverflowError:
        return math.inf


def _in_bounds(value: float, found: str, kind: Kind) -> float:
    spec = SPECS[kind]
    if not math.isfinite(value):
        raise InputError(f"{found}: not a finite number; {_write(kind)}")
    if value < 0 and not spec.may_be_negative:
        raise InputError(f"{found}: {spec.need} cannot be negative")
    if kind == "share" and value > 1:
        raise InputError(f'{found} is more than the whole; a share runs from 0 to 1, or "0 %" to "100 %"')
    if abs(value) > LARGEST:
        raise InputError(f"{found}: too large to be meant; {_write(kind)}")
    return value


def _read_level(text: object) -> Level:
    how = 'write it as a share of what the tanks can give, "20 %", or as a volume, "300 gal" or "1100 L"'
    if isinstance(text, int | float) and not isinstance(text, bool):
        if not 0 <= text <= 1:
            raise InputError(f"{quoted(text)} has no unit; {how}")
        return Level(share=float(text))
    if not isinstance(text, str):
        raise InputError(f"{quoted(text)}: not a level; {how}")
    try:
        dimension, value = _parse(text)
    except InputError as error:
        raise InputError(_then(error.faults[0], how)) from None
    if dimension == "volume":
        return Level(volume=_in_bounds(value, quoted(text), "volume"))
    if dimension == "share" or (dimension == "number" and value <= 1):
        return Level(share=_in_bounds(value, quoted(text), "share"))
    if dimension == "number":
        raise InputError(f"{quoted(text)} has no unit; {how}")
    raise InputError(f"{quoted(text)}: {_A[dimension]}, but a level is needed; {how}")


_SIGNS = str.maketrans({"−": "-", "–": "-", "’": "'", "′": "'", "”": '"', "″": '"', "·": "*", "×": "*"})
_MIXED = r"\d+(?: |-| - )\d+/\d+"
_PLAIN = r"(?:[1-9]\d{0,2}(?:,\d{3})+|[1-9]\d{0,2}(?: \d{3})+|\d+)(?:\.\d*)?|\.\d+"
_NUMBER = rf"{_MIXED}|\d+ ?/ ?\d+|(?:{_PLAIN})(?:[eE][+-]?\d+)?"
_TERM = re.compile(rf"({_NUMBER})(?![\d,.]) *([^\W\d%][^\d ]*[^ ]*(?: (?![\d.])[^ ]+)*|%)? *", re.ASCII)
_SIDES = re.compile(
    r" ?(?:(?<![A-Za-z])[xX]|\bby\b|(?<!\*)\*(?!\*)) ?(?=\.?\d)"
)  # between the sides of "30 ft x 48 ft"
_DECIMALS = re.compile(r"([1-9]\d{0,2}(?:\.\d{3})+|\d+),(\d+)(?![\d,])")  # "2,5", "0,500", "1.500,5"
_COMMA = "a comma separates thousands here, a point decimals"
_BOX = {2: "area", 3: "volume"}
_PRICE = re.compile(
    rf"([-+]?)(?:{CURRENCY})? ?({_NUMBER}) ?(?:{CURRENCY})? ?(?:/| per | a |per |a ) ?({_NUMBER})? ?([^\d].*)",
    re.ASCII | re.IGNORECASE,
)


def _tidy(text: str) -> str:
    """Plain characters, single blanks, feet and inches as words: "1½ in" becomes "1 1/2 in"."""
    if len(text) > _LONGEST:
        raise InputError(f"{quoted(text)}: too long for one quantity")
    text = re.sub(r"(?<=\d)(?=[¼-¾⅐-⅞])", " ", text).translate(_SIGNS)
    text = unicodedata.normalize("NFKC", text).replace("⁄", "/")
    text = re.sub(r"(?<=\d) ?'-? ?", " ft ", text)
    text = re.sub(r'(?<=\d) ?" ?', " in ", text)
    return re.sub(r"\s+", " ", text).strip()


def _read_text(text: str, kind: Kind) -> float:
    spec = SPECS[kind]
    try:
        dimension, value = _parse(text)
    except InputError as error:
        raise InputError(_then(error.faults[0], _write(kind))) from None
    if dimension == spec.dimension:
        return value / 1000 if kind == "altitude" else value
    if dimension == "number":
        if value == 0 or kind == "share":
            return value
        raise InputError(f"{quoted(text)} has no unit; {_write(kind, value)}")
    numbers = [] if dimension == "share" else [_number(term[1]) for term in _TERM.finditer(_tidy(text))]
    such_as = _write(kind, *numbers[:1]).removeprefix("write ")
    raise InputError(f"{quoted(text)}: {_A[dimension]}, but {spec.need} is needed, such as {such_as}")


def _parse(text: str) -> tuple[str, float]:
    """Dimension and value in its inside unit of "6 ft 3 in"; lengths in mm; "number" without a unit."""
    tidy = _tidy(text)
    sides = _SIDES.split(tidy)
    return _product(sides, text) if len(sides) > 1 and all(sides) else _sum(tidy, text)


def _product(sides: list[str], text: str) -> tuple[str, float]:
    """Area of "30 ft x 48 ft" or "30 x 48 ft", volume of three such sides."""
    read = [_sum(side, text) for side in sides]
    found = {dimension for dimension, _ in read}
    if len(read) not in _BOX or not found <= {"length", "number"}:
        raise InputError(f'{quoted(text)}: only lengths are multiplied ("30 ft x 48 ft")')
    last = _TERM.findall(sides[-1])
    if "number" in found and (read[-1][0] == "number" or last[1:]):
        raise InputError(f'{quoted(text)}: give each side its unit, such as "30 ft x 48 ft"')
    size = unit(last[0][1].strip(), text)[1] if "number" in found else 1.0
    lengths = [value * size if dimension == "number" else value for dimension, value in read]
    return _BOX[len(read)], math.prod(lengths) * 1e-6


def _sum(tidy: str, text: str) -> tuple[str, float]:
    """Sum of the parts of "6 ft 3 in"."""
    signed = tidy[:1] in ("+", "-")
    sign, rest = (-1.0 if tidy[:1] == "-" else 1.0), tidy[1:].strip() if signed else tidy
    total, dimension, last = 0.0, "", math.inf
    for number, words in _terms(rest, text):
        if not words and not dimension and len(rest) == len(number):
            return "number", sign * _number(number)
        if not words:
            raise InputError(f"{quoted(text)}: not understood")
        found, size = unit(words, text)
        if dimension and (found != dimension or size >= last):
            raise InputError(f"{quoted(text)}: the parts do not add up to one quantity")
        dimension, last = found, size
        total += _number(number) * size
    return dimension, sign * total


def _terms(rest: str, text: str) -> Iterator[tuple[str, str]]:
    """Numbers with the words after them, one pair at a time."""
    at = 0
    while at < len(rest) or at == 0:
        term = _TERM.match(rest, at)
        if not term:
            raise InputError(f"{quoted(text)}: {_why_not(rest, rest[at:], _tidy(text))}")
        yield term[1], (term[2] or "").strip()
        at = term.end()


def _why_not(whole: str, rest: str, tidy: str) -> str:
    comma = _DECIMALS.match(rest)
    if comma:
        meant = tidy.replace(comma[0], f"{comma[1].replace('.', '')}.{comma[2]}")
        return f"{_COMMA}; write {quoted(meant)}"
    if not re.search(r"\d", whole):
        return "no number in it"
    return "a second sign in front of it" if rest[:1] in ("+", "-") else "not understood"


def _number(text: str) -> float:
    """Value of "2,500", "2 500", "1/2", "1 1/2", "1-1/2" or "1e3"."""
    if "/" not in text:
        return float(text.replace(",", "").replace(" ", ""))
    upper, under = text.split("/")
    whole, over = re.findall(r"\d+", f"0 {upper}")[-2:]
    if int(under) == 0:
        raise InputError(f"{quoted(text)}: a fraction over zero")
    return float(whole) + float(over) / float(under)


def _read_price(text: str) -> float:
    need = SPECS["price"].need
    tidy = _tidy(text)
    found = _PRICE.fullmatch(tidy)
    pointed = tidy.replace(",", ".", 1)
    if not found and _PRICE.fullmatch(pointed):
        raise InputError(f"{quoted(text)}: {_COMMA}; write {quoted(pointed)}")
    if not found:
        raise InputError(f"{quoted(text)}: not {need}; {_write('price')}")
    sign, amount, count, words = found.groups()
    try:
        dimension, size = unit(words.strip(), text)
    except InputError as error:
        raise InputError(_then(error.faults[0], _write("price"))) from None
    volume = size * (_number(count) if count else 1.0)
    if dimension != "volume" or volume == 0:
        raise InputError(f"{quoted(text)}: a price per {words}, but {need} is needed; {_write('price')}")
    return (-1.0 if sign == "-" else 1.0) * _number(amount) / volume


def _then(said: str, cure: str) -> str:
    """What is wrong and the cure, unless it names one itself."""
    if said.endswith('"'):
        return said
    return f"{said} {cure[0].upper()}{cure[1:]}" if said.endswith("?") else f"{said}; {cure}"


def _write(kind: Kind, number: float = 0.0) -> str:
    """Say how to write it, with the number found: write "1480 ft2" or "137 m2"."""
    spec = SPECS[kind]
    us, metric = spec.examples
    if 0.001 <= abs(number) <= 1e7 and kind not in ("share", "price"):
        if kind == "duration":
            us, metric = f"{number:.10g} h", f"{number:.10g} days"
        else:
            us, metric = f"{number:.10g} {spec.us[1]}", show(number / spec.us[0], kind, "metric")
    return f'write "{us}" or "{metric}"'.replace(",", "")
