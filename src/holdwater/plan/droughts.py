"""The droughts of the run: last year's, and the worst on record."""

from __future__ import annotations

import datetime as dt
from collections.abc import Sequence

import numpy as np

from holdwater import charts, words
from holdwater.ledger import Ledger
from holdwater.plan.drawing import picture
from holdwater.plan.section import Matter, Picture, Section, capital, section
from holdwater.report import droughts as told
from holdwater.scores import YearRow, score
from holdwater.studies.droughts import Drought, dry_droughts, within, worst
from holdwater.units import System, show

BEFORE, AFTER, LONGEST_AFTER = 120, 60, 300
"""Days shown before a drought, and after it at least and at most."""
NAMED = 10
"""Droughts in the table."""
DROUGHT_HEAD = (
    "rank",
    "first day",
    "last day",
    "dry days",
    "short",
    "lowest water",
    "days to refill",
    "as bad once in",
)


def last_year(matter: Matter) -> Section | None:
    """Last year on record by itself; nothing where the run has no other."""
    scores, system = matter.scores, matter.system
    if not scores.years[1:]:
        return None
    year = scores.years[-1]
    name = f"{year.year}" if year.days >= 365 else f"{year.year}, {words.count(year.days, 'day')} of it"
    drawn = _zoomed(
        matter, year.first, year.last, "last-year", f"Water in the tanks in {year.year}, rain above it"
    )
    facts = _compared(scores.years, system)
    mine = within(dry_droughts(matter.ledger, scores), year.first, year.last)
    return section(
        "last-year",
        f"How was last year ({name})?",
        drawn,
        answer=f"{capital(facts[1])}; {facts[0]}.",
        facts=facts,
        head=DROUGHT_HEAD,
        rows=_drought_rows(mine, system),
        sentence=told.sentences(matter.ledger, scores, system)[-1],
    )


def _compared(years: Sequence[YearRow], system: System) -> list[str]:
    """Last year beside the mean of the full years before it."""
    last, before = years[-1], [year for year in years[:-1] if year.days >= 365]
    said = [f"{show(last.rain_mm, 'depth', system)} of rain"]
    if before and last.days >= 365:
        mean = float(np.mean([year.rain_mm for year in before]))
        if mean > 0.0:
            said[0] += (
                f", {100 * last.rain_mm / mean:.0f} % of the mean of the years before; {_drier(last, before)}"
            )
    said.append(f"{words.count(last.dry_days, 'dry day')}, {words.count(last.unserved_days, 'day')} unserved")
    if last.backup_L > 0.0:
        said.append(f"{show(last.backup_L, 'volume', system)} from backup")
    said.append(
        f"the water stood lowest at {show(last.lowest_storage_L, 'volume', system)} above the outlets"
    )
    return said


def _drier(last: YearRow, before: Sequence[YearRow]) -> str:
    """How many of the years before had less rain."""
    drier = sum(year.rain_mm < last.rain_mm for year in before)
    if drier == 0:
        return f"none of the {len(before)} was drier" if before[1:] else "it was not drier"
    return f"{drier} of the {len(before)} {'was' if drier == 1 else 'were'} drier"


def worst_drought(matter: Matter) -> Section | None:
    """The worst droughts, ranked, and the very worst drawn; nothing where the tanks never fell short."""
    ledger, scores, system = matter.ledger, matter.scores, matter.system
    timeline = charts.drought_chart(ledger, scores, system)
    drawn = [
        picture(
            timeline, "drought", "Spells without rain above, spells of dry tanks below, on one axis of time"
        )
    ]
    found = dry_droughts(ledger, scores)
    if found:
        first, last = _around(worst(found, 1)[0], ledger)
        drawn.append(_zoomed(matter, first, last, "worst", "Water in the tanks through the worst drought"))
    said = told.sentences(ledger, scores, system)
    return section(
        "worst",
        "How was the worst drought?",
        *drawn,
        answer=f"{said[0].split(';')[0].removeprefix('Drought 1: ').removesuffix('.')}.",
        sentences=said[:1],
        head=DROUGHT_HEAD,
        rows=_drought_rows(worst(found, NAMED), system),
        total=len(found),
        pooling=told.pooling(found),
    )


def _drought_rows(found: Sequence[Drought], system: System) -> list[list[str]]:
    return [
        [
            f"{drought.rank}",
            words.briefly(drought.first),
            words.briefly(drought.last),
            f"{drought.counted_days}" + (f" in {drought.spells} spells" if drought.spells > 1 else ""),
            show(drought.deficit_L, "volume", system),
            show(drought.lowest_storage_L, "volume", system),
            "not yet" if drought.refill_days is None else f"{drought.refill_days}",
            _rare(drought.return_period_years),
        ]
        for drought in found
    ]


def _rare(years: float | None) -> str:
    """How often, or that the record is too short to tell."""
    return "too short a record" if years is None else f"{years:.{0 if years >= 10 else 1}f} years"


def _around(drought: Drought, ledger: Ledger) -> tuple[dt.date, dt.date]:
    """Days to show: some before, and until the tanks are full again if that is not too long."""
    first, last = ledger.period
    after = min(max(drought.refill_days or 0, AFTER), LONGEST_AFTER)
    return (
        max(first, drought.first - dt.timedelta(days=BEFORE)),
        min(last, drought.last + dt.timedelta(days=after)),
    )


def _zoomed(matter: Matter, first: dt.date, last: dt.date, name: str, kind: str) -> Picture:
    """Storage on some days of the run only."""
    part = cut(matter.ledger, first, last)
    return picture(charts.storage_chart(part, score(part), matter.system), name, kind)


def cut(ledger: Ledger, first: dt.date, last: dt.date) -> Ledger:
    """Take some days out of a run; its account closes as the whole one does.

    Parameters
    ----------
    ledger : Ledger
        The run.
    first, last : date
        Both included; they lie within the run.
    """
    start = int((np.datetime64(first) - ledger.days[0]).astype(int))
    stop = int((np.datetime64(last) - ledger.days[0]).astype(int)) + 1
    data = ledger.data.isel(time=slice(start, stop), edge=slice(start, stop + 1))
    return Ledger(data, ledger.scenario, ledger.record.between(first, last), [])
