"""What lies ahead, from the water in the tanks today."""

from __future__ import annotations

import datetime as dt
import math

import numpy as np

from holdwater import words
from holdwater.charts.outlook import outlook_chart
from holdwater.errors import InputError
from holdwater.plan.drawing import picture
from holdwater.plan.section import Matter, Section, section
from holdwater.scenario.quantities import MonthDayValue
from holdwater.studies.gauges import read_held
from holdwater.studies.odds import by_date, fan, order
from holdwater.studies.outlook import Outlook, outlook
from holdwater.units import System, show

DAYS = 180
SHORTER = (90, 30)
"""Looked ahead, and what is looked ahead instead where the record is too short for it [days]."""
LEAST_YEARS = 10


def lies_ahead(matter: Matter) -> Section | None:
    """Odds of running dry and of being full again; nothing where no level was given."""
    if not matter.asked.holding:
        return None
    scenario, system = matter.scenario, matter.system
    held = read_held(matter.asked.holding, scenario)
    seen = outlook(scenario, matter.record, held, matter.asked.on, _far(matter))
    drawn = picture(
        outlook_chart(seen, system), "outlook", "Water ahead as a fan of past years, and odds by date"
    )
    return section(
        "outlook",
        "What lies ahead?",
        drawn,
        answer=drawn.finding,
        head=("by the end of", "run dry", "been full", "dry tenth", "median", "wet tenth"),
        rows=_by_month(seen, system),
        supply=_supply(seen),
        assumed=seen.assumed,
        years=len(seen.traces),
        few=len(seen.traces) < LEAST_YEARS,
        dropped=list(seen.dropped),
    )


def _far(matter: Matter) -> int:
    """How far some year on record lets us look from the day of the plan [days].

    Raises
    ------
    InputError
        No year has weather on the days from there on.
    """
    record, on = matter.record, matter.asked.on
    for days in (DAYS, *SHORTER):
        for year in range(record.first.year, record.last.year + 1):
            first = MonthDayValue(on.month, on.day).in_year(year)
            if record.first <= first and first + dt.timedelta(days=days - 1) <= record.last:
                return days
    raise InputError(
        f"--holding: the record, {record.first} to {record.last}, has no year with weather on the {SHORTER[-1]} days"
        f" from {on:%d %B} on; choose another day with --on, or leave --holding out"
    )


def _supply(seen: Outlook) -> list[tuple[str, str]]:
    """Days until the first dry one."""
    rows = []
    for name, share in (("median year", 0.5), ("dry tenth of the years", 0.1)):
        lasts = order(seen.first_dry, share)
        if lasts is None:
            said = "too few years to say"
        else:
            said = f"more than {seen.days.size} days" if math.isinf(lasts) else words.count(int(lasts), "day")
        rows.append((name, said))
    return rows


def _by_month(seen: Outlook, system: System) -> list[list[str]]:
    """How many years have run dry or been full, and the water left, at the ends of months."""
    days, n = seen.days, len(seen.traces)
    ends = np.flatnonzero(np.diff(days.astype("datetime64[M]").astype(int)) > 0).tolist()
    dry, full = by_date(seen.first_dry, days.size), by_date(seen.first_full, days.size)
    rows = []
    for place in sorted({*ends, days.size - 1}):
        bands = [fan(seen.storage[:, place + 1 : place + 2], share) for share in (0.1, 0.5, 0.9)]
        left = ["-" if band is None else show(float(band[0]), "volume", system) for band in bands]
        rows.append(
            [words.briefly(days[place].item()), f"{dry[place]} of {n}", f"{full[place]} of {n}", *left]
        )
    return rows
