"""Days, lengths and counts as a reader would say them."""

from __future__ import annotations

import datetime as dt
import re
from calendar import monthrange
from collections.abc import Sequence
from typing import Literal

from holdwater.errors import InputError

MONTHS = (
    "January",
    "February",
    "March",
    "April",
    "May",
    "June",
    "July",
    "August",
    "September",
    "October",
    "November",
    "December",
)
LONGEST_NAME = 48


def on(day: dt.date) -> str:
    """Write a day in full: "3 August 2002"."""
    return f"{day.day} {MONTHS[day.month - 1]} {day.year}"


def briefly(day: dt.date) -> str:
    """Write a day for labels: "3 Aug 2002"."""
    return f"{day.day} {MONTHS[day.month - 1][:3]} {day.year}"


def count(number: int, noun: str) -> str:
    """Write a count with its noun: "1 day", "1,204 days", "no days"."""
    if number == 0:
        return f"no {noun}s"
    return f"{number:,} {noun}" if number == 1 else f"{number:,} {noun}s"


def span(first: dt.date, last: dt.date) -> str:
    """Write the length of a record after "in": "30 years", "2025", "2.5 years", "212 days".

    Parameters
    ----------
    first, last : datetime.date
        First and last day of the record.
    """
    days = (last - first).days + 1
    if first == dt.date(first.year, 1, 1) and last == dt.date(first.year, 12, 31):
        return str(first.year)
    if days < 365:
        return count(days, "day")
    years = days / 365.25
    whole = round(years)
    if abs(days - whole * 365.25) <= 1:
        return count(whole, "year")
    return f"{years:.1f} years" if whole < 10 else f"{years:.0f} years"


def days_in(number: int, first: dt.date, last: dt.date) -> str:
    """Write some days of a record: "212 days in 30 years", "1 day in 2025", "2 of 10 days"."""
    length = (last - first).days + 1
    return (
        f"{number:,} of {count(length, 'day')}"
        if length < 365
        else f"{count(number, 'day')} in {span(first, last)}"
    )


def were(number: int) -> str:
    """The verb after a count: "1 day was", "2 days were"."""
    return "was" if number == 1 else "were"


def share(part: float, whole: float, brief: bool = False) -> str:
    """Write a share in per cent, never "0 %" for something nor "100 %" for not quite all."""
    percent = 100 * part / whole
    if 0 < percent < 1:
        return "<1 %" if brief else "less than 1 %"
    if 99 < percent < 100 - 1e-9:
        return ">99 %" if brief else "more than 99 %"
    return f"{percent:.0f} %"


def spell(days: int, first: dt.date) -> str:
    """Write a spell: "41 days from 3 August 2002", "1 day, 3 August 2002"."""
    return f"{count(days, 'day')}{',' if days == 1 else ' from'} {on(first)}"


def plain(text: str) -> str:
    """Free a user's text of line breaks and of characters that no font and no SVG can carry."""
    return " ".join("".join(c if c.isprintable() else " " for c in text).split())


def holding(title: str) -> str:
    """Take the holding's short name from the scenario's title: the part before the first colon.

    A name too long for a sentence becomes "The holding"; the whole title stands above it anyway.
    """
    name = plain(title).split(":")[0].strip()
    return name if 0 < len(name) <= LONGEST_NAME else "The holding"


_THREE = re.compile(r"(\d{1,4})[-/. ](\d{1,2})[-/. ](\d{1,4})", re.ASCII)
_NAMED = re.compile(
    r"([A-Za-z]{3,9})\.? (\d{1,2}),? (\d{4})|(\d{1,2})\.? ([A-Za-z]{3,9})\.?,? (\d{4})", re.ASCII
)


def month(name: str) -> int:
    """Number of a month by its name or the beginning of it, 0 for no month. [1..12]"""
    return next((n for n, full in enumerate(MONTHS, 1) if full.lower().startswith(name.lower())), 0)


def days_meant(text: str) -> list[dt.date]:
    """Calendar days that a date in another order can mean: two for "7/1/2025", the one with the month first first.

    Parameters
    ----------
    text : str
        "7/1/2025", "2025/7/1", "July 1, 2025", "1 July 2025".
    """
    text = " ".join(text.split())
    named, three = _NAMED.fullmatch(text), _THREE.fullmatch(text)
    tries: list[tuple[int, int, int]] = []
    if named:
        tries = [(int(named[3] or named[6]), month(named[1] or named[5]), int(named[2] or named[4]))]
    elif three and len(three[1]) == 4:
        tries = [(int(three[1]), int(three[2]), int(three[3]))]
    elif three and len(three[3]) == 4 and len(three[1]) <= 2:
        one, two, year = int(three[1]), int(three[2]), int(three[3])
        tries = [(year, one, two), (year, two, one)]
    found = []
    for parts in tries:
        try:
            found.append(dt.date(*parts))
        except ValueError:
            continue
    return list(dict.fromkeys(found))


def year_first(text: str) -> str:
    """How to write a date: "2025-07-01"; where it can mean two days, both; an example where it means none."""
    days = days_meant(text)
    if not days:
        return "write year-month-day, such as 1996-01-31"
    if len(days) == 1:
        return f"write {days[0]}"
    return "write " + " or ".join(f"{day} for {on(day)}" for day in days)


def read_day(text: str, whole: Literal["first", "last"] | None = None) -> dt.date:
    """Read a day as it is typed: "2025-07-01"; for the end of a span also a whole month "2025-07" or year "2025".

    Parameters
    ----------
    text : str
        What was typed.
    whole : "first" or "last", optional
        Which day of a whole month or year is meant; without it one is refused.

    Raises
    ------
    InputError
        It is no day; with the day or days that it can mean.
    """
    found = re.fullmatch(r"(\d{4})(?:-(\d{2}))?(?:-(\d{2}))?", text.strip(), re.ASCII)
    if not found or not (whole or found[3]):
        raise InputError(f"{plain(text)[:40]!r} is not a date; {year_first(text)}")
    year = int(found[1])
    try:
        month_ = int(found[2] or (12 if whole == "last" else 1))
        day = int(found[3] or (monthrange(year, month_)[1] if whole == "last" else 1))
        return dt.date(year, month_, day)
    except ValueError:
        raise InputError(f"{text.strip()!r}: there is no such day in the calendar") from None


def months(wanted: Sequence[bool]) -> str:
    """Name months of the year, one flag for each: "in August", "from November to February".

    Months that do not follow one another are counted: "in 3 months of the year".
    """
    flags = list(wanted)
    number = sum(flags)
    if number == 12:
        return "in every month"
    starts = [m for m in range(12) if flags[m] and not flags[m - 1]]
    if len(starts) != 1:
        return f"in {number} months of the year"
    first, last = starts[0], (starts[0] + number - 1) % 12
    if number == 1:
        return f"in {MONTHS[first]}"
    if number == 2:
        return f"in {MONTHS[first]} and {MONTHS[last]}"
    return f"from {MONTHS[first]} to {MONTHS[last]}"
