"""Checks of single values, of runs of equal values and of year totals.

World record of 24-hour rain: 1825 mm, La Reunion, 7-8 January 1966; of twelve months: 26,461 mm,
Cherrapunji, 1860-61 (World Meteorological Organization, archive of weather and climate extremes;
the second from memory).
"""

from __future__ import annotations

from collections.abc import Iterable

import numpy as np
import numpy.typing as npt

from holdwater.weather import written
from holdwater.weather.checks.findings import Check, Finding, day_names, known, rain_days, year_totals
from holdwater.weather.formats.headers import TO_MM
from holdwater.weather.reading import Floats, Reading
from holdwater.weather.record import Origin

RECORD_DAY_MM = 1825.0
RECORD_YEAR_MM = 26461.0
DEGREES = ("degC", "degF", "tenths of degC")
REPEATS = 20
"""Days with the very same rain in a row that no gauge measures (Durre et al. 2010)."""
FILL_VALUES = (999.9, 99.99, 999.99, 9999.0, 9999.9, 32767.0, 32766.0)


def negative(reading: Reading) -> Finding | None:
    """Rain below zero."""
    bad = reading.rain < 0
    if not bad.any():
        return None
    return Finding(
        "negative",
        True,
        f"negative rain on {rain_days(reading, bad)}",
        'correct the days, or list a mark for missing in missing_marks = ["-1"]; accepted, they count as '
        "missing",
        tuple(str(d) for d in reading.days[bad]),
    )


def above_record(reading: Reading) -> Finding | None:
    """More rain than was ever measured in a day."""
    bad = reading.rain > RECORD_DAY_MM
    if not bad.any():
        return None
    return Finding(
        "above-record",
        True,
        f"more rain than was ever measured in 24 hours ({_record_day(reading.unit)}) on "
        f"{rain_days(reading, bad)}",
        f"correct the days, or say rain_unit = {_others(reading.unit, TO_MM)} if all of the rain is in that unit",
        tuple(str(d) for d in reading.days[bad]),
    )


def _record_day(unit: str) -> str:
    """The world record in the unit of the file: "1825 mm", "71.9 in"."""
    return f"{RECORD_DAY_MM:.0f} mm" if unit != "in" else f"{RECORD_DAY_MM / TO_MM['in']:.1f} in"


def _others(unit: str, units: Iterable[str]) -> str:
    """The units beside one: '"mm" or "tenths of mm"'."""
    return " or ".join(f'"{other}"' for other in units if other != unit)


def fill_values(reading: Reading) -> Finding | None:
    """Numbers that mark a missing day in many programs."""
    as_read = reading.rain / TO_MM[reading.unit]
    bad = (as_read > 99) & np.isin(np.round(as_read, 6), FILL_VALUES)
    if not bad.any():
        return None
    mark = f"{as_read[bad][0]:g}"
    return Finding(
        "fill-value",
        True,
        f"{mark}, which often marks a missing day, on {day_names(reading.days[bad])}",
        f'say missing_marks = ["{mark}"]',
        tuple(str(d) for d in reading.days[bad]),
    )


def repeated(reading: Reading) -> Finding | None:
    """The same rain day after day: a stuck gauge, a monthly mean, a counter."""
    rain = np.where(known(reading), reading.rain, -1.0)
    rain = np.where((rain > 0) & (reading.origin != Origin.SPREAD), rain, np.nan)
    starts, lengths = equal_runs(rain)
    long = lengths >= REPEATS
    if not long.any():
        return None
    first = reading.days[starts[long]]
    listed = ", ".join(
        f"{lengths[long][i]} days of {written.rain(float(rain[starts[long][i]]), reading.unit)}, from {first[i]}"
        for i in range(min(3, len(first)))
    )
    return Finding(
        "repeated",
        True,
        f"the same rain day after day: {listed}" + (" and more" if len(first) > 3 else ""),
        "strike the days (blank is missing) or mend the source",
        tuple(str(d) for d in first),
    )


def equal_runs(values: Floats) -> tuple[npt.NDArray[np.int64], npt.NDArray[np.int64]]:
    """Starts and lengths of runs of equal values; NaN never equals."""
    change = np.flatnonzero(values[1:] != values[:-1]) + 1
    starts = np.concatenate([[0], change])
    return starts, np.diff(np.append(starts, len(values)))


def temperature_order(reading: Reading) -> Finding | None:
    """A maximum below its minimum."""
    if "t_min" not in reading.others or "t_max" not in reading.others:
        return None
    low, high = reading.others["t_min"], reading.others["t_max"]
    bad = high < low
    if not bad.any():
        return None
    whole = bad.mean() > 0.5
    return Finding(
        "temperature-order",
        True,
        f"the day's maximum lies below its minimum on {int(bad.sum())} {'day' if bad.sum() == 1 else 'days'}: "
        + ", ".join(
            f"{d} ({written.below(float(h), float(v), reading.temperature_unit)})"
            for d, h, v in list(zip(reading.days[bad], high[bad], low[bad], strict=True))[:3]
        ),
        'the two columns are mistaken for each other: set t_min_column = "..." and t_max_column = "..."'
        if whole
        else "correct the days; accepted, their temperatures count as missing",
        tuple(str(d) for d in reading.days[bad]),
    )


def temperature_range(reading: Reading) -> Finding | None:
    """Outside -90 to 60 degC: the extremes of the Earth's surface are -89.2 and 56.7 degC (WMO archive)."""
    out: list[str] = []
    days: list[str] = []
    for name in ("t_min", "t_max"):
        values = reading.others.get(name)
        if values is None:
            continue
        bad = (values < -90) | (values > 60)
        if bad.any():
            said = [written.temperature(float(v), reading.temperature_unit) for v in values[bad][:3]]
            out.append(f"{name} on {day_names(reading.days[bad], said, 3)}")
            days += [str(d) for d in reading.days[bad]]
    if not out:
        return None
    return Finding(
        "temperature-range",
        True,
        f"temperatures no place on Earth has had: {'; '.join(out)}",
        f"correct the days, or say temperature_unit = {_others(reading.temperature_unit, DEGREES)} if all of the "
        "temperatures are; accepted, they count as missing",
        tuple(days),
    )


def impossible_years(reading: Reading) -> Finding | None:
    """Years that are empty, wetter than any on Earth, or of another unit than the rest."""
    years, totals, counted = year_totals(reading.days, reading.rain)
    full = counted >= 350
    if not full.any():
        return None
    median = float(np.median(totals[full]))
    bad = full & (totals > RECORD_YEAR_MM)
    if median >= 250:
        bad |= full & ((totals < median / 8) | (totals > median * 6))
    elif full.sum() >= 3:
        bad |= full & (totals == 0) & (median > 50)
    if not bad.any():
        return None
    middle = written.rain_alone(median, reading.unit)
    return Finding(
        "year-total",
        True,
        f"year totals that cannot belong to this record ({_totals(years[bad], totals[bad], reading.unit)}; the "
        f"middle year has {middle})",
        "a year without readings must be blank, not 0; a change of unit within the file must be undone",
        tuple(str(y) for y in years[bad]),
    )


def odd_years(reading: Reading) -> Finding | None:
    """Years far below or above the middle one, which a drought may well be."""
    years, totals, counted = year_totals(reading.days, reading.rain)
    full = counted >= 350
    if full.sum() < 3:
        return None
    median = float(np.median(totals[full]))
    odd = full & ((totals < median / 4) | (totals > median * 3)) & (median > 50)
    if not odd.any():
        return None
    middle = written.rain_alone(median, reading.unit)
    return Finding(
        "odd-year",
        False,
        f"years far from the middle year of {middle}: {_totals(years[odd], totals[odd], reading.unit)}",
        "compare them with another source",
        tuple(str(y) for y in years[odd]),
    )


def _totals(years: npt.NDArray[np.int64], totals: Floats, unit: str) -> str:
    """ "2010: 0 mm, 2011: 31 mm", five of them at most."""
    return ", ".join(
        f"{year}: {written.rain_alone(float(total), unit)}"
        for year, total in list(zip(years, totals, strict=True))[:5]
    )


CHECKS_OF_CELLS: dict[str, Check] = {
    "negative": negative,
    "fill-value": fill_values,
    "repeated": repeated,
    "temperature-order": temperature_order,
    "temperature-range": temperature_range,
}
CHECKS: dict[str, Check] = {
    **CHECKS_OF_CELLS,
    "above-record": above_record,
    "year-total": impossible_years,
    "odd-year": odd_years,
}
