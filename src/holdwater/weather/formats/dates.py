"""Cells to days: ISO at once, other forms only where their order is declared or proven."""

from __future__ import annotations

import re
from dataclasses import dataclass, field

import numpy as np
import numpy.typing as npt

from holdwater.errors import InputError
from holdwater.weather.formats.table import BLOCK, Cells, Index, name_lines

Days = npt.NDArray[np.datetime64]
Mask = npt.NDArray[np.bool_]

FIRST_YEAR, LAST_YEAR = 1650, 2150
_MONTHS = {
    "january": 1,
    "february": 2,
    "march": 3,
    "april": 4,
    "may": 5,
    "june": 6,
    "july": 7,
    "august": 8,
    "september": 9,
    "october": 10,
    "november": 11,
    "december": 12,
}
_MONTHS |= {name[:3]: month for name, month in _MONTHS.items()} | {"sept": 9}
_LENGTHS = np.array([31, 28, 31, 30, 31, 30, 31, 31, 30, 31, 30, 31])
_PARTS = re.compile(r"(\d{1,4})\s*([-/. ])\s*(\d{1,2})\s*\2\s*(\d{1,4})\.?(?:[T ,]+(\d{1,2}:.*|\d{4}))?")
_DAY_FIRST = re.compile(r"(\d{1,2})[\s.-]*([A-Za-z]{3,9})\.?[\s,-]*(\d{4})")
_MONTH_FIRST = re.compile(r"([A-Za-z]{3,9})\.?\s*(\d{1,2})(?:st|nd|rd|th)?[\s,]+(\d{4})")
_TOTALS = re.compile(r"\b(totals?|sums?|means?|averages?|avg)\b", re.IGNORECASE)
_ORDER_WORDS = {"ymd": "year, month, day", "mdy": "month, day, year", "dmy": "day, month, year"}


@dataclass(frozen=True)
class Dates:
    """A column of days, `NaT` nowhere; `hours` holds the times of day written beside them."""

    days: Days
    hours: tuple[str, ...] = ()
    notes: tuple[str, ...] = field(default_factory=tuple)


class StrangeDates(InputError):
    """Cells of a column of dates that are no date; whoever reads the table may go on without their rows.

    Attributes
    ----------
    rows : ndarray of int
        Their rows.
    """

    def __init__(self, fault: str, rows: Index) -> None:
        super().__init__(fault)
        self.rows = rows


def civil_days(year: Index, month: Index, day: Index) -> tuple[Days, Mask]:
    """Days of the Gregorian calendar, and a mask of those that do not exist (or lie far outside)."""
    leap = (year % 4 == 0) & ((year % 100 != 0) | (year % 400 == 0))
    good = (year >= FIRST_YEAR) & (year <= LAST_YEAR) & (month >= 1) & (month <= 12) & (day >= 1)
    safe = np.where(good, month, 1)
    good &= day <= _LENGTHS[safe - 1] + ((safe == 2) & leap)
    months = np.where(good, (year - 1970) * 12 + safe - 1, 0).astype("datetime64[M]")
    return months.astype("datetime64[D]") + np.where(good, day - 1, 0), ~good


def read_dates(cells: Cells, where: str, order: str | None = None) -> Dates:
    """Read a column of dates.

    Parameters
    ----------
    cells : Cells
        The column.
    where : str
        What to call it in messages.
    order : str or None
        "ymd", "mdy" or "dmy" as declared; None accepts ISO dates, month names, and an order of
        day and month that the column itself proves and that leaves the days in sequence.

    Raises
    ------
    StrangeDates
        Cells that are no date, days that do not exist.
    InputError
        An order that is ambiguous or mixed.
    """
    days, iso, wrong = _iso(cells)
    hours: dict[str, None] = {}
    notes: list[str] = []
    rest = np.flatnonzero(~iso)
    if len(cells.chars) > 11 and iso.any():
        beside = Cells(cells.chars[11:], cells.rows).at(iso)
        hours = dict.fromkeys(text.strip() for text in beside.distinct() if text.strip())
    proven = ""
    if len(rest):
        others = _Others(cells.texts(rest), cells.lines[rest], where, order)
        strange = others.strange()
        if strange.any():
            raise StrangeDates(others.said_of(strange), rest[strange])
        days[rest], wrong[rest] = civil_days(*others.parts(bool(iso.any())))
        hours |= others.hours
        notes += others.notes
        proven = others.proven
    if wrong.any():
        raise StrangeDates(
            f"{where}: {cells.texts(np.flatnonzero(wrong)[:1])[0]!r} ({name_lines(cells.lines[wrong])}) is "
            f"no day of the calendar between {FIRST_YEAR} and {LAST_YEAR}"
            + (f' when read as {_ORDER_WORDS[order]} (dates = "{order}")' if order else ""),
            np.flatnonzero(wrong),
        )
    if proven:
        _in_sequence(days, cells, where, proven)
    return Dates(days, tuple(hours), tuple(notes))


def _iso(cells: Cells) -> tuple[Days, Mask, Mask]:
    """Days of cells written year first; which they are; which of them do not exist. In blocks, to spare memory."""
    n = len(cells.rows)
    days, iso, wrong = np.zeros(n, dtype="datetime64[D]"), np.zeros(n, dtype=bool), np.zeros(n, dtype=bool)
    for start in range(0, n, BLOCK):
        block = slice(start, start + BLOCK)
        year, month, day, iso[block] = _year_first(cells.chars[:11, block])
        days[block], bad = civil_days(year, month, day)
        wrong[block] = bad & iso[block]
    return days, iso, wrong


def _year_first(
    cells: npt.NDArray[np.uint8],
) -> tuple[Index, Index, Index, Mask]:
    """Cells written 2012-07-04, 2012/07/04 or 20120704, with or without a time of day."""
    chars = np.zeros((11, cells.shape[1]), dtype=np.uint8)
    chars[: len(cells)] = cells
    digit = (chars >= 48) & (chars <= 57)
    value = chars.astype(np.int32) - 48
    between = np.isin(chars[4], (45, 47, 46)) & (chars[4] == chars[7])
    ended = (chars[10] == 0) | (chars[10] == 32) | (chars[10] == 84)
    long = digit[[0, 1, 2, 3, 5, 6, 8, 9]].all(axis=0) & between & ended
    short = digit[:8].all(axis=0) & (chars[8] == 0)
    year = value[0] * 1000 + value[1] * 100 + value[2] * 10 + value[3]
    month = np.where(long, value[5] * 10 + value[6], value[4] * 10 + value[5])
    day = np.where(long, value[8] * 10 + value[9], value[6] * 10 + value[7])
    return year, month, day, long | short


class _Others:
    """Dates in any other form: 7/4/2012, 4.7.2012, 4-Jul-2012, 2012-7-4."""

    def __init__(self, texts: list[str], lines: Index, where: str, order: str | None) -> None:
        self.texts, self.lines, self.where, self.order = texts, lines, where, order
        self.hours: dict[str, None] = {}
        self.notes: list[str] = []
        self.proven = ""
        self._form = np.zeros(len(texts), dtype=np.int8)  # 0 strange, 1 year first or named, 2 day/month
        self._parts = np.zeros((len(texts), 3), dtype=np.int64)
        self._two_digit = False

    def strange(self) -> Mask:
        """Cells that are no date."""
        for i, text in enumerate(self.texts):
            self._split(i, text)
        return np.asarray(self._form == 0)

    def parts(self, iso_too: bool) -> tuple[Index, ...]:
        """Year, month and day of every cell, none of them strange."""
        slashed = self._form == 2
        if slashed.any():
            self._settle_order(slashed, iso_too or bool((self._form == 1).any()))
        if self._two_digit:
            self.notes.append("years of two digits were read as 1969 to 2068")
        return self._parts[:, 0], self._parts[:, 1], self._parts[:, 2]

    def _split(self, i: int, text: str) -> None:
        if match := _PARTS.fullmatch(text):
            first, _, second, third, hour = match.groups()
            if hour:
                self.hours[hour] = None
            if len(first) == 4 and len(third) <= 2:
                self._set(i, 1, int(first), int(second), int(third))
            elif len(first) <= 2 and len(third) == 4:
                self._set(i, 2, int(third), int(first), int(second))
            elif len(first) <= 2 and len(third) <= 2 and self.order:
                self._two_digit = True
                if self.order == "ymd":
                    self._set(i, 1, _century(int(first)), int(second), int(third))
                else:
                    self._set(i, 2, _century(int(third)), int(first), int(second))
        elif (match := _DAY_FIRST.fullmatch(text)) and match[2].lower() in _MONTHS:
            self._set(i, 1, int(match[3]), _MONTHS[match[2].lower()], int(match[1]))
        elif (match := _MONTH_FIRST.fullmatch(text)) and match[1].lower() in _MONTHS:
            self._set(i, 1, int(match[3]), _MONTHS[match[1].lower()], int(match[2]))

    def _set(self, i: int, form: int, year: int, month: int, day: int) -> None:
        self._form[i] = form
        self._parts[i] = year, month, day

    def said_of(self, strange: Mask) -> str:
        """The sentence about cells that are no date."""
        text = self.texts[int(np.flatnonzero(strange)[0])]
        lines = name_lines(self.lines[strange])
        if re.fullmatch(r"\d{5}(\.\d*)?", text):
            cure = "it looks like a spreadsheet's day number; format the column as a date, year first"
        elif re.fullmatch(r"\d{1,2}([-/. ])\d{1,2}\1\d{2}", text):
            cure = 'years of two digits need a declared order: dates = "mdy", "dmy" or "ymd"'
        elif _TOTALS.search(text):
            cure = "is it a line of totals? then delete it"
        elif not text:
            cure = "every row needs its date; delete lines that are not readings, such as a line of totals"
        else:
            cure = "write dates as 2012-07-04 or 7/4/2012, and delete lines that are not readings"
        return f"{self.where}: {text!r} ({lines}) is no date; {cure}"

    def _settle_order(self, slashed: Mask, other_forms: bool) -> None:
        """Put year, month, day in place for dates written with day and month in front."""
        first, second = self._parts[slashed, 1], self._parts[slashed, 2]
        lines = self.lines[slashed]
        if self.order == "ymd":
            raise InputError(
                f'{self.where}: dates = "ymd" is declared, but {name_lines(lines)} end with the year'
            )
        order = self.order or self._prove(first, second, lines, other_forms)
        if order == "dmy":
            self._parts[slashed, 1], self._parts[slashed, 2] = second, first

    def _prove(
        self,
        first: Index,
        second: Index,
        lines: Index,
        other_forms: bool,
    ) -> str:
        day_first, month_first = first > 12, second > 12
        if day_first.any() and month_first.any():
            raise InputError(
                f"{self.where} mixes two orders: day before month on {name_lines(lines[day_first], 3)}, "
                f"month before day on {name_lines(lines[month_first], 3)}; bring all dates into one order, "
                "best 2012-07-04"
            )
        example = self.texts[int(np.flatnonzero(self._form == 2)[0])]
        if other_forms:
            raise InputError(
                f"{self.where} mixes two forms: '{example}' ({name_lines(lines, 3)}) beside dates with the "
                'year first or the month by name; say dates = "mdy" or "dmy" for them'
            )
        if not day_first.any() and not month_first.any():
            raise InputError(
                f"{self.where}: is '{example}' ({name_lines(lines, 3)}) day or month first? No date in the "
                'file tells; say dates = "mdy" or dates = "dmy"'
            )
        self.proven = "dmy" if day_first.any() else "mdy"
        proof = name_lines(lines[day_first | month_first][:1])
        self.notes.append(f"dates read as {_ORDER_WORDS[self.proven]}, as {proof} can only be read that way")
        return self.proven


def _in_sequence(days: Days, cells: Cells, where: str, proven: str) -> None:
    """An order taken from the column itself must also leave the days in sequence."""
    steps = np.diff(days.astype(np.int64))
    if (steps < 0).any() and (steps > 0).any():
        back = np.flatnonzero(steps < 0 if (steps > 0).sum() >= (steps < 0).sum() else steps > 0) + 1
        raise InputError(
            f"{where}: dates look like {_ORDER_WORDS[proven]}, but then they are out of sequence at "
            f'{name_lines(cells.lines[back], 3)}; say dates = "mdy" or dates = "dmy"'
        )


def _century(year: int) -> int:
    return year + (1900 if year >= 69 else 2000)
