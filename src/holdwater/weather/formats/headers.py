"""Column names to quantities and units; nothing is guessed, two candidates are a fault."""

from __future__ import annotations

import re
from dataclasses import dataclass


def _words_of(text: str) -> frozenset[str]:
    return frozenset(text.split())


RAIN, T_MIN, T_MAX, ET0, DATE, ORIGIN = "rain", "t_min", "t_max", "et0", "date", "origin"

NAMES: dict[str, frozenset[str]] = {
    RAIN: _words_of(
        "rain rainfall rainmeasurement precip precipitation prcp prec pcp ppt pr precipitationamount "
        "rainamount rainfallamount totalrain totalrainfall totalprecip totalprecipitation niederschlag "
        "pluie lluvia raingauge"
    ),
    T_MIN: _words_of(
        "tmin mint tn tempmin mintemp lowtemp templow temperaturemin mintemperature minimumtemperature "
        "minimumtemp airtempmin tasmin lotemp templo lowtemperature temperaturelow lowesttemp lowesttemperature"
    ),
    T_MAX: _words_of(
        "tmax maxt tx tempmax maxtemp hightemp temphigh temperaturemax maxtemperature maximumtemperature "
        "maximumtemp airtempmax tasmax hitemp temphi hightemperature temperaturehigh highesttemp "
        "highesttemperature"
    ),
    ET0: _words_of("et0 eto referenceet referenceevapotranspiration refet"),
    DATE: _words_of(
        "date day datetime time timestamp datum fecha dates observationdate obsdate datelocal localdate "
        "readingdate yyyymmdd yyyymmddhhmm dateyyyymmdd dateyyyymmddlst"
    ),
    ORIGIN: frozenset({"origin"}),
}
SHORT_NAMES = {
    **dict.fromkeys(("low", "lo", "min", "minimum", "lowest", "coldest"), T_MIN),
    **dict.fromkeys(("high", "hi", "max", "maximum", "highest", "warmest"), T_MAX),
}
"""Names that mean a temperature only beside a unit of temperature: "High (F)", never a bare "High"."""
PART_NAMES = {
    "year": frozenset({"year", "yyyy", "yr", "yea"}),
    "month": frozenset({"month", "mm", "mo", "mon", "mnth"}),
    "day": frozenset({"day", "dd", "dy"}),
}
_FLUFF = _words_of("daily total amount depth sum 24h 24hr 24hrs measured observed in24h at station")

LENGTH_UNITS = {
    "mm": "mm",
    "millimetre": "mm",
    "millimetres": "mm",
    "millimeter": "mm",
    "millimeters": "mm",
    "mmday": "mm",
    "mmd": "mm",
    "mmperday": "mm",
    "inperday": "in",
    "in": "in",
    "inch": "in",
    "inches": "in",
    "ininches": "in",
    "inmm": "mm",
    "inmillimetres": "mm",
    "inmillimeters": "mm",
    "tenthsofmm": "tenths of mm",
    "tenthsmm": "tenths of mm",
    "tenthmm": "tenths of mm",
    "01mm": "tenths of mm",
    "mm10": "tenths of mm",
}
TEMPERATURE_UNITS = {
    "c": "degC",
    "degc": "degC",
    "celsius": "degC",
    "degreesc": "degC",
    "degreescelsius": "degC",
    "f": "degF",
    "degf": "degF",
    "fahrenheit": "degF",
    "degreesf": "degF",
    "degreesfahrenheit": "degF",
    "tenthsofdegc": "tenths of degC",
    "tenthsdegc": "tenths of degC",
    "01degc": "tenths of degC",
    "tenthsofc": "tenths of degC",
}
UNITS = {
    RAIN: LENGTH_UNITS,
    ET0: LENGTH_UNITS,
    T_MIN: TEMPERATURE_UNITS,
    T_MAX: TEMPERATURE_UNITS,
}
WORDS = {"in": "inches"}
"""Units in words where the abbreviation reads badly."""
TO_MM = {"mm": 1.0, "in": 25.4, "tenths of mm": 0.1}


@dataclass(frozen=True)
class Heading:
    """What a column name says: quantity (None: none we use), unit (None: not said), odd unit text.

    `short` is a name such as "High (F)", which gives way to a column that names the temperature in full.
    """

    quantity: str | None
    unit: str | None
    odd_unit: str | None = None
    short: bool = False


def understand(name: str) -> Heading:
    """Read a column name such as "rain_in", "prcp (mm)", "t_max_f" or "Date/Time".

    A unit stands in brackets or as the last words of the name; the rest must be a known name of
    a quantity, give or take words like "daily" or "total".
    """
    bracket = re.search(r"[\[(]([^\])]*)[\])]\s*$", name)
    if bracket:
        before = _words(name[: bracket.start()])
        whole, short = _quantity(before), _short(before, bracket[1])
        quantity = whole or short
        unit, odd = _unit_in(bracket[1], quantity)
        return Heading(quantity, unit, odd, short=not whole and short is not None)
    words = _words(name)
    whole = _quantity(words)
    if whole:
        return Heading(whole, None)
    for cut in range(1, min(len(words), 5)):
        quantity = _quantity(words[:cut])
        if quantity in UNITS:
            unit = UNITS[quantity].get("".join(words[cut:]))
            if unit:
                return Heading(quantity, unit)
        short = _short(words[:cut], " ".join(words[cut:]))
        if short:
            return Heading(short, _unit_in(" ".join(words[cut:]), short)[0], short=True)
    return Heading(None, None)


def could_be(name: str) -> str | None:
    """The temperature a name may mean that has no unit: "High", "Lo", "Daily max"."""
    return SHORT_NAMES.get(_bare(_words(name)))


def _short(words: list[str], unit: str) -> str | None:
    """A temperature from a short name, where a unit of temperature stands beside it."""
    return SHORT_NAMES.get(_bare(words)) if "".join(_words(unit)) in TEMPERATURE_UNITS else None


def unit_of(name: str, quantity: str) -> tuple[str | None, str | None]:
    """The unit in a column name the user picked, whatever the rest of it says; and an odd one."""
    bracket = re.search(r"[\[(]([^\])]*)[\])]\s*$", name)
    if bracket:
        return _unit_in(bracket[1], quantity)
    words = _words(name)
    for cut in range(max(1, len(words) - 4), len(words)):
        unit = UNITS[quantity].get("".join(words[cut:]))
        if unit:
            return unit, None
    return None, None


def _unit_in(text: str, quantity: str | None) -> tuple[str | None, str | None]:
    if quantity not in UNITS:
        return None, None
    unit = UNITS[quantity].get("".join(_words(text)))
    return unit, None if unit or not text.strip() else text.strip()


def _words(text: str) -> list[str]:
    spaced = re.sub(r"([a-z])([A-Z])", r"\1 \2", text.replace("°", "deg").replace("º", "deg"))
    return re.findall(r"[a-z]+|[0-9]+h?(?:rs?)?", spaced.lower().replace("0.1", "01").replace('"', " in "))


def _bare(words: list[str]) -> str:
    return "".join(w for w in words if w not in _FLUFF)


def _quantity(words: list[str]) -> str | None:
    whole = "".join(words)
    for quantity, names in NAMES.items():
        if whole in names:
            return quantity
    bare = _bare(words)
    for quantity in (RAIN, T_MIN, T_MAX, ET0):
        if bare in NAMES[quantity]:
            return quantity
    return None
