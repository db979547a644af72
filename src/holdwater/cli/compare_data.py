"""Set-ups side by side as plain data: for JSON, for CSV, and for what the table takes from them."""

from __future__ import annotations

from typing import Any

from holdwater.charts.compared import finding
from holdwater.cli.study import period, weather
from holdwater.studies.compare import Compared, Comparison
from holdwater.studies.drawbacks import drawbacks, listed
from holdwater.studies.levels import moving
from holdwater.units import System


def as_data(made: Comparison, system: System) -> dict[str, Any]:
    """The comparison as plain data; volumes in litres."""
    present = made.compared[0]
    record = present.ledger.record
    window = None
    if made.window is not None:
        window = {"from": str(made.window.first), "to": str(made.window.last), "why": made.window.why}
    starting = None
    if made.starting is not None:
        starting = {"share": made.starting.share, "volume_L": made.starting.volume}
    return {
        "scenario": present.ledger.scenario.title,
        "finding": finding(made),
        "rule": present.ledger.scenario.run.rule,
        "period": period(record),
        "weather": weather(record),
        "window": window,
        "starting": starting,
        "set_ups": [_as_data(each, present) for each in made.compared],
        "notes": notes_on_levels(made, system),
        "definitions": {
            "difference": "dry days less those of the present",
            "drawbacks": "what is worse than at present, dry days apart",
            "reliability_volume": "sum delivered by the tanks / sum asked",
            "cost": "of the backup water over the days looked at, in the scenario's currency; a year is 365.25 days",
            "price": "of the set-up over the present by the costs of the file; null where none is known",
        },
    }


def _as_data(each: Compared, present: Compared) -> dict[str, Any]:
    scores, longest, year = each.scores, each.scores.longest_dry_spell, worst_year(each)
    years = each.ledger.days.size / 365.25
    return {
        "name": each.name,
        "dry_days": scores.dry_days.total,
        "dry_days_per_year": scores.dry_days.per_year,
        "difference": scores.dry_days.total - present.scores.dry_days.total,
        "unserved_days": scores.unserved_days,
        "held_back_days": scores.held_back.total,
        "stressed_days": each.days.stressed,
        "drawbacks": drawbacks(present.days, each.days),
        "dry_spells": len(scores.dry_spells),
        "longest_dry_spell": None
        if longest is None
        else {"days": longest.days, "from": str(longest.first), "to": str(longest.last)},
        "worst_year": None if year is None else {"year": year[0], "dry_days": year[1]},
        "reliability_volume": scores.reliability_volume,
        "asked_L": scores.totals_L["asked"],
        "delivered_L": scores.totals_L["delivered"],
        "overflow_L": scores.totals_L["overflow"],
        "backup_L": scores.totals_L["backup"],
        "backup_L_per_year": scores.totals_L["backup"] / years,
        "loads": scores.loads,
        "loads_per_year": scores.loads / years,
        "cost": scores.cost,
        "cost_per_year": scores.cost / years,
        "opening_storage_L": each.opening_L,
        "drawable_capacity_L": each.capacity_L,
        "price": each.set_up.cost,
    }


def flat(each: dict[str, Any]) -> dict[str, Any]:
    """One set-up as a row: inner tables side by side."""
    inner = {"longest_dry_spell": ("days", "from", "to"), "worst_year": ("year", "dry_days")}
    row: dict[str, Any] = {}
    for key, value in each.items():
        if key in inner:
            row |= {f"{key} {part}": (value or {}).get(part) for part in inner[key]}
        elif key == "drawbacks":
            row[key] = listed(value)
        else:
            row[key] = value
    return row


def worst_year(each: Compared) -> tuple[int, int] | None:
    """Year with the most dry days, the earlier of equals, and how many; None without a dry day."""
    year = max(each.scores.years, key=lambda row: (row.dry_days, -row.year))
    return (year.year, year.dry_days) if year.dry_days else None


def notes_on_levels(made: Comparison, system: System) -> list[str]:
    """Which levels given as a share mean other amounts of water in another set-up."""
    present, *others = (each.set_up for each in made.compared)
    return moving(present.file.scenario, [(each.name, each.file.scenario) for each in others], system)
