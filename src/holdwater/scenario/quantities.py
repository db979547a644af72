"""The types of the scenario file: text with a unit in the file, a bare number in the inside unit after reading."""

from __future__ import annotations

import datetime as dt
import re
from collections.abc import Callable
from dataclasses import dataclass
from typing import Annotated, Any

from pydantic import AfterValidator, BeforeValidator, WithJsonSchema
from pydantic_core import PydanticCustomError

from holdwater import units, words
from holdwater.errors import InputError
from holdwater.units import Level as LevelValue

MONTHS = words.MONTHS
_DAYS = (31, 29, 31, 30, 31, 30, 31, 31, 30, 31, 30, 31)


@dataclass(frozen=True, order=True)
class MonthDayValue:
    """A day of every year. 29 February is allowed; in other years it means 1 March.

    Attributes
    ----------
    month : int
        Month. [1..12]
    day : int
        Day of the month. [1..31]
    """

    month: int
    day: int

    def in_year(self, year: int) -> dt.date:
        """Return this day in a year; 29 February becomes 1 March in a year without one."""
        try:
            return dt.date(year, self.month, self.day)
        except ValueError:
            return dt.date(year, 3, 1)

    def __str__(self) -> str:
        return f"{self.month:02d}-{self.day:02d}"


def read_month_day(text: object) -> MonthDayValue:
    """Read "05-10" (month first), "May 10" or "10 May".

    Raises
    ------
    InputError
        When it is no day of any year, or carries a year.
    """
    if isinstance(text, MonthDayValue):
        return text
    how = 'write month and day, "05-10" for 10 May'
    if isinstance(text, dt.date):
        raise InputError(f'{text} carries a year, but this holds every year; write "{text:%m-%d}"')
    if not isinstance(text, str):
        raise InputError(f"{units.quoted(text)}: not a day of the year; {how}")
    month, day = _month_and_day(text.strip())
    if not month:
        raise InputError(f"{units.quoted(text)}: {_not_of_the_year(text, how)}")
    if not 1 <= month <= 12:
        raise InputError(f"{units.quoted(text)}: there is no month {month}; {how}")
    if not 1 <= day <= _DAYS[month - 1]:
        raise InputError(f"{units.quoted(text)}: {MONTHS[month - 1]} has no day {day}; {how}")
    return MonthDayValue(month, day)


def _not_of_the_year(text: str, how: str) -> str:
    """Why a text is no day of the year, with the day or days that it can mean."""
    meant = words.days_meant(text) or words.days_meant(f"{text.strip()}/2000")  # a leap year: 2/29 is a day
    choices = " or ".join(f'"{day:%m-%d}" for {day.day} {MONTHS[day.month - 1]}' for day in meant)
    if words.days_meant(text):
        return f"it carries a year, but this holds every year; write {choices}"
    return f"not a day of the year; {f'write {choices}' if choices else how}"


def _month_and_day(text: str) -> tuple[int, int]:
    numbers = re.fullmatch(r"(\d{1,2})-(\d{1,2})", text, re.ASCII)
    if numbers:
        return int(numbers[1]), int(numbers[2])
    named = re.fullmatch(r"([A-Za-z]{3,9})\.? (\d{1,2})|(\d{1,2})\.? ([A-Za-z]{3,9})\.?", text, re.ASCII)
    month = words.month(named[1] or named[4]) if named else 0
    return month, int(named[2] or named[3]) if named else 0


def read_date(text: object) -> dt.date:
    """Read a calendar day: a TOML date, or the same as text.

    Raises
    ------
    InputError
        When it is no calendar day.
    """
    if isinstance(text, dt.date) and not isinstance(text, dt.datetime):
        return text
    if isinstance(text, str) and re.fullmatch(r"\d{4}-\d{2}-\d{2}", text.strip(), re.ASCII):
        try:
            return dt.date.fromisoformat(text.strip())
        except ValueError:
            raise InputError(f"{units.quoted(text)}: there is no such day in the calendar") from None
    how = words.year_first(text if isinstance(text, str) else "")
    raise InputError(f"{units.quoted(text)}: not a date; {how}")


def read_days(text: object) -> int:
    """Read a number of whole days: 4, "4", "4 days" or "1 week" [days].

    Raises
    ------
    InputError
        It is no length of time, or no whole number of days.
    """
    bare = isinstance(text, int) and not isinstance(text, bool)
    if isinstance(text, str) and re.fullmatch(r"\s*\d{1,9}\s*", text, re.ASCII):
        text, bare = int(text), True
    if isinstance(text, int) and bare:
        days = float(max(min(text, 10**9), -1))
    elif isinstance(text, str):
        days = units.read(text, "duration")
    else:
        raise InputError(f'{units.quoted(text)}: not a number of days; write 4 or "4 days"')
    if days < 0:
        raise InputError(f"{units.quoted(text)}: a number of days cannot be negative")
    if not days.is_integer():
        raise InputError(f'{units.quoted(text)}: a whole number of days is needed; write 4 or "4 days"')
    return int(days)


def door(reader: Callable[[object], Any]) -> BeforeValidator:
    """Turn what a reader says into a fault of the file."""

    def enter(value: object) -> Any:
        try:
            return reader(value)
        except InputError as error:
            raise PydanticCustomError("quantity", "{said}", {"said": "; ".join(error.faults)}) from None

    return BeforeValidator(enter)


def _quantity(kind: units.Kind) -> BeforeValidator:
    return door(lambda value: units.read(value, kind))


def _text(what: str, *examples: str, number: bool = False) -> WithJsonSchema:
    """Show a quantity to editors as text with a unit; `number` where a bare number will do as well."""
    text: dict[str, Any] = {"type": "string"}
    bare: dict[str, Any] = {"type": "number", "minimum": 0, "maximum": 1} if number else {"const": 0}
    return WithJsonSchema({"anyOf": [text, bare], "description": what, "examples": list(examples)})


def _printable(text: str) -> str:
    if text.isprintable():
        return text
    raise PydanticCustomError("unprintable", "it holds a character that cannot be shown")


Printable = AfterValidator(_printable)
_GALLON = 'A "gallon" is the US gallon; "imperial gallon" is known too.'
_LENGTH = "A length with its unit: in, ft, mm, cm, m; also 6 ft 3 in."

Altitude = Annotated[
    float, _quantity("altitude"), _text("Height above sea level with its unit.", "5200 ft", "1585 m")
]
Area = Annotated[
    float,
    _quantity("area"),
    _text("An area with its unit: ft2, m2, acre, ha.", "1480 ft2", "137 m2"),
]
Depth = Annotated[
    float,
    _quantity("depth"),
    _text("A depth of water with its unit: in or mm.", "0.02 in", "0.5 mm"),
]
Duration = Annotated[
    float,
    _quantity("duration"),
    _text("A length of time with its unit: h, day, week.", "36 h", "1 day", "2 weeks"),
]
Flow = Annotated[
    float,
    _quantity("flow"),
    _text("A volume per time with its unit. " + _GALLON, "38 gal/day", "144 L/day"),
]
Height = Annotated[float, _quantity("height"), _text(_LENGTH, "102 in", "8 ft 6 in", "2.59 m")]
Base = Annotated[
    float,
    _quantity("base"),
    _text(_LENGTH + " It may be negative: below the common datum.", "6 in", "-15 cm"),
]
Level = Annotated[
    LevelValue,
    door(lambda value: units.read(value, "level")),
    _text(
        "How full: a share of what can be drawn when full, or a volume above the outlet. " + _GALLON,
        "20 %",
        "300 gal",
        number=True,
    ),
]
Days = Annotated[
    int,
    door(read_days),
    WithJsonSchema(
        {
            "anyOf": [{"type": "integer", "minimum": 0}, {"type": "string"}],
            "description": "A number of whole days, with or without the word.",
            "examples": [4, "4 days"],
        }
    ),
]
Money = Annotated[
    float,
    door(units.read_money),
    WithJsonSchema(
        {
            "anyOf": [{"type": "number", "minimum": 0}, {"type": "string"}],
            "description": "A sum of money, with or without its currency; no currency is kept.",
            "examples": [140, "$140"],
        }
    ),
]
Price = Annotated[
    float,
    _quantity("price"),
    _text("Money per volume. " + _GALLON, "12 per 1000 gal", "3.20 per m3"),
]
Share = Annotated[
    float,
    _quantity("share"),
    _text("A share of the whole: per cent, or a number from 0 to 1.", "20 %", number=True),
]
Volume = Annotated[
    float,
    _quantity("volume"),
    _text("A volume with its unit: gal, L, m3, ft3. " + _GALLON, "2500 gal", "9.5 m3"),
]
MonthDay = Annotated[
    MonthDayValue,
    door(read_month_day),
    WithJsonSchema(
        {
            "type": "string",
            "description": "A day of every year, month first.",
            "examples": ["05-10", "May 10"],
        }
    ),
]
Date = Annotated[
    dt.date,
    door(read_date),
    WithJsonSchema({"type": "string", "format": "date", "description": "A calendar day: year-month-day."}),
]


def read_temperature(text: object) -> float:
    """Read a temperature with its unit, "-1 degC" or "30 degF" [degC].

    Raises
    ------
    InputError
        No unit, or no temperature.
    """
    found = (
        re.fullmatch(r"([-+]?\d+(?:\.\d+)?) ?(?:deg ?|\u00b0)?([CcFf])", text.strip(), re.ASCII)
        if isinstance(text, str)
        else None
    )
    if not found:
        raise InputError(
            f'{units.quoted(text)}: not a temperature; write it with its unit, "-1 degC" or "30 degF"'
        )
    value = float(found[1])
    return value if found[2] in "Cc" else (value - 32.0) / 1.8


def read_date_or_month_day(text: object) -> dt.date | MonthDayValue:
    """Read a calendar day, or a day of every year."""
    if isinstance(text, str) and not (re.match(r"\d{4}", text) or words.days_meant(text)):
        return read_month_day(text)
    return read_date(text)


Temperature = Annotated[
    float, door(read_temperature), _text("A temperature with its unit: degC or degF.", "-1 degC", "30 degF")
]
DateOrMonthDay = Annotated[
    dt.date | MonthDayValue,
    door(read_date_or_month_day),
    WithJsonSchema(
        {"type": "string", "description": "A calendar day, or a day of every year: 2012-05-20 or 05-20."}
    ),
]
