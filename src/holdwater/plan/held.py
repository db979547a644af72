"""Would it have held? The verdict, the numbers behind it, and every year."""

from __future__ import annotations

from holdwater import charts, words
from holdwater.ledger import Ledger
from holdwater.plan.drawing import picture
from holdwater.plan.section import Matter, Section, section
from holdwater.report import verdict
from holdwater.scores import Scores, YearRow
from holdwater.site.cautions import DRINKING, PAST
from holdwater.units import System, figures, scale, show


def front(matter: Matter) -> Section:
    """The plain sentence, the numbers behind it, and what it does not promise."""
    said = verdict.verdict(matter.ledger, matter.scores)
    held = verdict.held_back(matter.scores)
    return section(
        "front",
        "In short",
        said=" ".join(said.replace(held, "").split()) if held else said,
        held=held,
        numbers=_numbers(matter),
        trust=_trust(matter),
        cautions=[PAST, DRINKING],
    )


def _trust(matter: Matter) -> list[str]:
    """What the run itself says against its numbers: a short record, filled days, too coarse a step."""
    said = verdict.warnings(matter.ledger, matter.scores)
    return [note for note in said if note not in matter.ledger.warnings]


def _numbers(matter: Matter) -> list[tuple[str, str]]:
    """What a reader wants to know first: a number and what it counts."""
    scores, (first, last) = matter.scores, matter.ledger.period
    record, years = words.span(first, last), scores.years
    found = [(f"{scores.dry_days.total:,}", f"dry days in {record}")]
    if years[1:]:
        found.append((f"{sum(y.dry_days == 0 for y in years)} of {len(years)}", "years without a dry day"))
    longest = scores.longest_dry_spell
    if longest:
        found.append(
            (words.count(longest.days, "day"), f"longest dry spell, from {words.briefly(longest.first)}")
        )
    if matter.scenario.backup:
        found.append((f"{scores.unserved_days:,}", "days unserved, backup counted"))
        volume = show(scores.totals_L["backup"], "bulk", matter.system)
        cost = f", cost {scores.cost:,.0f}" if scores.cost else ""
        loads = f" in {words.count(scores.loads, 'load')}" if scores.loads else ""
        found.append((volume, f"from backup in {record}{loads}{cost}"))
    if scores.reliability_volume is not None:
        found.append((words.share(scores.reliability_volume, 1.0), "of the water asked came from the tanks"))
    return found


def years(matter: Matter) -> Section:
    """Storage through the record, the calendar of dry days, and a row for every year."""
    ledger, scores, system = matter.ledger, matter.scores, matter.system
    drawn = [
        picture(
            charts.storage_chart(ledger, scores, system),
            "storage",
            "Water in the tanks day by day, rain above it",
        ),
        picture(
            charts.calendar_chart(ledger, scores, system),
            "calendar",
            "Calendar of dry days, a row for each year",
        ),
    ]
    names = list(scores.dry_days.by_draw)
    draws = [
        (name, scores.dry_days.by_draw[name], scores.held_back.by_draw[name], _asked(ledger, i, system))
        for i, name in enumerate(names)
    ]
    return section(
        "years",
        "Would it have held?",
        *drawn,
        answer=drawn[1].finding,
        head=_year_head(system, bool(matter.scenario.backup)),
        rows=_year_rows(scores, system, bool(matter.scenario.backup)),
        draws=draws,
        measures=_measures(scores),
        reserve=scores.days_below_reserve if matter.scenario.reserve else None,
    )


def _asked(ledger: Ledger, draw: int, system: System) -> str:
    """Share of what a draw asked for that the tanks gave."""
    asked = float(ledger.flux("asked")[draw].sum())
    if asked <= 0.0:
        return "nothing asked"
    given = words.share(float(ledger.flux("delivered")[draw].sum()), asked)
    return f"{given} of {show(asked / (ledger.days.size / 365.25), 'bulk', system)} a year"


def _year_head(system: System, backup: bool) -> list[tuple[str, str]]:
    """Columns of the years table with their units."""
    rain, bulk = scale("depth", system)[1], scale("bulk", system)[1]
    columns = [
        ("year", ""),
        ("rain", rain),
        ("off the roofs", bulk),
        ("asked", bulk),
        ("from the tanks", bulk),
    ]
    columns += [("backup", bulk)] if backup else []
    columns += [("overflow", bulk), ("lowest water", bulk), ("dry days", ""), ("longest spell", "days")]
    return [*columns, ("rank", "")]


def _year_rows(scores: Scores, system: System, backup: bool) -> list[tuple[bool, list[str]]]:
    """A row for every year, dry ones marked; rank 1 is the year of most dry days."""
    depth, bulk = scale("depth", system)[0], scale("bulk", system)[0]
    order = sorted({year.dry_days for year in scores.years if year.dry_days}, reverse=True)

    def volume(litres: float) -> str:
        return figures(litres * bulk, 3 if bulk < 0.01 else 1)

    rows = []
    for year in scores.years:
        cells = [_year(year), figures(year.rain_mm * depth, 3), volume(year.inflow_L), volume(year.asked_L)]
        cells += [volume(year.delivered_L), *([volume(year.backup_L)] if backup else [])]
        cells += [volume(year.overflow_L), volume(year.lowest_storage_L), f"{year.dry_days}"]
        cells += [f"{year.longest_dry_spell}", f"{order.index(year.dry_days) + 1}" if year.dry_days else "-"]
        rows.append((year.dry_days > 0, cells))
    return rows


def _year(year: YearRow) -> str:
    return f"{year.year}" if year.days >= 365 else f"{year.year} ({words.count(year.days, 'day')})"


def _measures(scores: Scores) -> list[tuple[str, str, str]]:
    """Reliability, resilience and vulnerability with what they mean."""
    none = "none: no dry day"

    def percent(value: float | None) -> str:
        return none if value is None else words.share(value, 1.0)

    return [
        ("reliability in time", percent(scores.reliability_time), "days with a demand that were not dry"),
        (
            "reliability in volume",
            percent(scores.reliability_volume),
            "share of the water asked that the tanks gave",
        ),
        (
            "resilience",
            none if scores.resilience is None else f"{scores.resilience:.2f}",
            "dry spells / dry days: the chance that a dry day is the last of its spell",
        ),
        (
            "vulnerability",
            percent(scores.vulnerability),
            "mean over dry spells of the largest one-day shortfall, as a share of what was asked",
        ),
    ]
