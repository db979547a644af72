"""How the garden beds fared, for the table, for `summary.json` and for `years.csv`."""

from __future__ import annotations

import datetime as dt
from dataclasses import asdict, fields
from typing import Any

import numpy as np

from holdwater import words
from holdwater.garden_scores import BedScore, Shares
from holdwater.scores import Scores

USUAL_SEASONS = 3
"""So many seasons make a usual day of the year."""


def bed_rows(scores: Scores) -> list[list[str]]:
    """Lines of the table: stress, the start of watering and who met the need of every bed."""
    rows = []
    for bed in scores.beds:
        said = [_stress(bed)]
        if bed.met_by is not None:
            said += [_watering(bed), f"its need was met {_met(bed.met_by)}"]
        rows += [[f"bed, {bed.name}" if i == 0 else "", line] for i, line in enumerate(said)]
    return rows


def beds(scores: Scores) -> dict[str, Any]:
    """Every bed as plain data [days, mm, shares of the need]."""
    return {
        bed.name: {
            "growing_days": bed.growing_days,
            "stress_days": bed.stress_days,
            "stress_days_by_year": {str(year.year): year.stress_days for year in bed.years},
            "need_mm": bed.need_mm,
            "need_met_by": bed.met_by and asdict(bed.met_by),
            "watering_began": [str(day) for day in bed.watering_began],
        }
        for bed in scores.beds
    }


def bed_columns(scores: Scores) -> dict[str, list[Any]]:
    """Every bed year by year: column to values."""
    columns: dict[str, list[Any]] = {}
    for bed in scores.beds:
        columns |= {
            f"growing_days {bed.name}": [year.growing_days for year in bed.years],
            f"stress_days {bed.name}": [year.stress_days for year in bed.years],
            f"need_mm {bed.name}": [year.need_mm for year in bed.years],
        }
        for part in fields(Shares):
            met = [getattr(year.met_by, part.name) if year.met_by else "" for year in bed.years]
            columns[f"need_{'' if part.name == 'unmet' else 'met_by_'}{part.name} {bed.name}"] = met
    return columns


def _stress(bed: BedScore) -> str:
    if not bed.growing_days:
        return "nothing grew on these days"
    grew, worst = words.count(bed.growing_days, "day"), bed.worst_year
    if worst is None:
        return f"never short of water on the {grew} it grew"
    said = f"short of water on {bed.stress_days:,} of the {grew} it grew"
    return (
        f"{said}; worst in {worst.year}: {words.count(worst.stress_days, 'day')}" if bed.years[1:] else said
    )


def _watering(bed: BedScore) -> str:
    """When the bed first wants water: on a usual year, or as it was."""
    began = bed.watering_began
    if not began:
        return "it wanted no watering"
    if len(began) < USUAL_SEASONS:
        return f"it wanted water from {' and from '.join(words.on(day) for day in began)} on"
    usual = usual_day(began)
    return f"it usually wants water from {usual.day} {words.MONTHS[usual.month - 1]} on"


def usual_day(days: list[dt.date]) -> dt.date:
    """Middle one of days of the year; the turn of the year does not part them.

    Parameters
    ----------
    days : list of date
        One or more.

    Returns
    -------
    date
        In or next to the year of the first.
    """
    first = days[0]
    into = [day.timetuple().tm_yday - first.timetuple().tm_yday for day in days]
    return first + dt.timedelta(days=round(float(np.median([(n + 182) % 365 - 182 for n in into]))))


def _met(met: Shares) -> str:
    """ "13 % by rain and 72 % from the tanks; 15 % was not met"."""
    parts = [
        (met.rain, "by rain"),
        (met.first_flush, "by first-flush water"),
        (met.tanks, "from the tanks"),
        (met.backup, "by backup"),
    ]
    said = [f"{words.share(part, 1.0)} {who}" for part, who in parts if part > 0.0] or ["by nothing"]
    listed = " and ".join([", ".join(said[:-1]), said[-1]]) if said[1:] else said[0]
    return listed + (f"; {words.share(met.unmet, 1.0)} was not met" if met.unmet > 0.0 else "")
