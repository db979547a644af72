"""Time axes of CF files: any calendar to civil days, without a dependence on date libraries.

Units such as "days since 1850-01-01 12:00"; calendars standard, noleap, all_leap and 360_day as
named by the CF conventions. Days that a calendar lacks (29 February) are missing in the record.
"""

from __future__ import annotations

import re

import numpy as np
import numpy.typing as npt

from holdwater.errors import InputError
from holdwater.weather.formats.dates import FIRST_YEAR, LAST_YEAR, civil_days
from holdwater.weather.reading import Days, Floats

_UNITS = re.compile(
    r"\s*(\w+)\s+since\s+(-?\d{1,5})-(\d{1,2})-(\d{1,2})(?:[T ]+(\d{1,2})(?::(\d{1,2}))?(?::(\d{1,2})[.\d]*)?)?.*"
)
_PER_DAY = {"day": 1.0, "hour": 24.0, "minute": 1440.0, "min": 1440.0, "second": 86400.0, "sec": 86400.0}
_SHORT = {"d": "day", "h": "hour", "hr": "hour", "s": "second"}
_LENGTHS = np.array([31, 28, 31, 30, 31, 30, 31, 31, 30, 31, 30, 31])
STANDARD = ("standard", "gregorian", "proleptic_gregorian", "none", "")
YEAR_LENGTH = {"noleap": 365, "365_day": 365, "all_leap": 366, "366_day": 366, "360_day": 360}


def to_days(values: Floats, units: str, calendar: str, where: str) -> Days:
    """Civil days of a time axis.

    In a 360-day calendar the days of a year are laid over the civil year in proportion, so that
    seasons stay where they are; five or six civil days then have no value.

    Raises
    ------
    InputError
        Units or a calendar that are not known, or years out of range.
    """
    match = _UNITS.fullmatch(units or "")
    unit = match[1].lower() if match else ""
    unit = _SHORT.get(unit, unit.rstrip("s") if unit != "s" else unit)
    calendar = (calendar or "").strip().lower()
    if match is None or unit not in _PER_DAY:
        raise InputError(f"{where}: the time axis has the units '{units}'; 'days since 1990-01-01' is needed")
    if calendar not in STANDARD and calendar not in YEAR_LENGTH:
        raise InputError(
            f"{where}: the calendar '{calendar}' is not read; known are {', '.join([STANDARD[0], *YEAR_LENGTH])}"
        )
    if not np.isfinite(values).all():
        raise InputError(f"{where}: the time axis has gaps (values that are no number)")
    year, month, day = (int(match[i]) for i in (2, 3, 4))
    hour, minute, second = (int(match[i] or 0) for i in (5, 6, 7))
    offset = (hour + minute / 60 + second / 3600) / 24
    count = np.floor(values / _PER_DAY[unit] + offset + 1e-6)
    if np.abs(count).max(initial=0) > 4e6:
        raise InputError(f"{where}: the time axis lies outside the years {FIRST_YEAR} to {LAST_YEAR}")
    steps = count.astype(np.int64)
    if calendar in STANDARD:
        days = _epoch(year, month, day, where) + steps
    else:
        days = _other_calendar(year, month, day, steps, calendar, where)
    first, last = np.datetime64(f"{FIRST_YEAR}-01-01"), np.datetime64(f"{LAST_YEAR}-12-31")
    if len(days) and (days.min() < first or days.max() > last):
        raise InputError(f"{where}: the time axis lies outside the years {FIRST_YEAR} to {LAST_YEAR}")
    return days


def _epoch(year: int, month: int, day: int, where: str) -> np.datetime64:
    if not (1 <= month <= 12 and 1 <= day <= 31 and 1 <= year <= 9999):
        raise InputError(f"{where}: the time axis counts from {year}-{month}-{day}, which is no day")
    return np.datetime64(f"{year:04d}-{month:02d}-01", "D") + (day - 1)


def _other_calendar(
    year: int, month: int, day: int, steps: npt.NDArray[np.int64], calendar: str, where: str
) -> Days:
    length = YEAR_LENGTH[calendar]
    months = np.full(12, 30) if length == 360 else _LENGTHS + (np.arange(12) == 1) * (length - 365)
    if not (1 <= month <= 12 and 1 <= day <= months[month - 1]):
        raise InputError(
            f"{where}: the time axis counts from {year}-{month}-{day}, which is no day of '{calendar}'"
        )
    ends = np.cumsum(months)
    total = year * length + int(ends[month - 1] - months[month - 1]) + day - 1 + steps
    years, place = total // length, total % length
    if length == 360:
        leap = (years % 4 == 0) & ((years % 100 != 0) | (years % 400 == 0))
        civil = np.floor((place + 0.5) * (365 + leap) / 360).astype(np.int64)
        starts = (np.clip(years, 1, 9999) - 1970).astype("datetime64[Y]").astype("datetime64[D]")
        civil_days_of_360: Days = starts + civil
        return civil_days_of_360
    month_of = np.searchsorted(ends, place, side="right")
    day_of = place - (ends - months)[month_of] + 1
    days, wrong = civil_days(years, month_of + 1, day_of)
    if wrong.any():
        far = (years < FIRST_YEAR) | (years > LAST_YEAR)
        if far.any():
            raise InputError(f"{where}: the time axis lies outside the years {FIRST_YEAR} to {LAST_YEAR}")
        raise InputError(
            f"{where}: the calendar '{calendar}' has days the civil one lacks (29 February of {years[wrong][0]}); "
            "convert the file to the standard calendar"
        )
    return days
