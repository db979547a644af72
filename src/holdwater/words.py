"""Days, lengths and counts as a reader would say them."""

from __future__ import annotations

import datetime as dt
from collections.abc import Sequence

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
