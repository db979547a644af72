"""The run as plain data: `summary.json`, and what `--json` prints. SI units."""

from __future__ import annotations

from typing import Any

from holdwater.ledger import Ledger
from holdwater.report.garden import beds
from holdwater.report.show import et0_from
from holdwater.report.verdict import verdict, warnings
from holdwater.scores import Scores
from holdwater.spells import Spell

DEFINITIONS = {
    "dry_day": "a day on which the tanks could not give a draw all it asked for",
    "unserved_day": "a dry day on which backup could not cover the rest either",
    "held_back_day": "a day on which a draw took less by its own rule (a stop level or a saving step); such water"
    " is not asked of the tanks and makes no dry day, and a bed held back wants it again the next day",
    "stress_day": "a day on which a crop stood and its water stress coefficient Ks was below 1 (FAO-56 eq. 84)",
    "need_met_by": "shares of the crop's evapotranspiration without stress; tanks whatever filled them, rain with"
    " what the soil kept of it from before planting",
    "rainless_spell": "run of days with less than 1 mm of rain (ETCCDI)",
    "reliability_time": "1 - dry days / days with a demand",
    "reliability_volume": "sum delivered by the tanks / sum asked",
    "resilience": "number of dry spells / dry days; null when there was no dry day",
    "vulnerability": "mean over dry spells of the largest one-day shortfall as a share of what was asked",
    "reference": "Hashimoto, Stedinger & Loucks 1982, Water Resources Research 18(1):14-20",
}
CAUTIONS = [
    "Results come from past weather: a worse drought can come.",
    "Roof water is not drinking water until treated and tested; local health and plumbing codes decide.",
]


def summary(ledger: Ledger, scores: Scores) -> dict[str, Any]:
    """Everything a script needs to know of a run; volumes in litres, dates in ISO form."""
    provenance = ledger.record.provenance
    days = ledger.days
    return {
        "scenario": ledger.scenario.title,
        "verdict": verdict(ledger, scores),
        "rule": ledger.scenario.run.rule,
        "period": {"from": str(days[0]), "to": str(days[-1]), "days": int(days.size)},
        "weather": {
            "source": provenance.source,
            "station": provenance.station,
            "missing": provenance.missing,
            "filled": provenance.filled,
            "changed": provenance.changed or None,
            "day_ends": provenance.day_ends,
            "units_as_read": provenance.units_as_read,
            "licence": provenance.licence,
            "et0": et0_from(ledger),
        },
        "balance_error": scores.balance_error,
        "totals_L": scores.totals_L,
        "capture_efficiency": scores.capture_efficiency,
        "overflow_share": scores.overflow_share,
        "dry_days": {
            "total": scores.dry_days.total,
            "per_year": scores.dry_days.per_year,
            "by_draw": scores.dry_days.by_draw,
            "by_year": {str(year): n for year, n in scores.dry_days.by_year.items()},
        },
        "unserved_days": scores.unserved_days,
        "held_back_days": {
            "total": scores.held_back.total,
            "by_draw": scores.held_back.by_draw,
            "by_year": {str(year): days for year, days in scores.held_back.by_year.items()},
        },
        "days_below_reserve": scores.days_below_reserve,
        "dry_spells": len(scores.dry_spells),
        "longest_dry_spell": _spell(scores.longest_dry_spell),
        "longest_rainless_spell": _spell(scores.longest_rainless_spell),
        "reliability": {"time": scores.reliability_time, "volume": scores.reliability_volume},
        "resilience": scores.resilience,
        "vulnerability": scores.vulnerability,
        "backup": {"loads": scores.loads, "cost": scores.cost},
        "stranded_L": {
            "top": float(ledger.flux("stranded_top").sum()),
            "bottom": float(ledger.flux("stranded_bottom").sum()),
        },
        "garden": beds(scores),
        "definitions": DEFINITIONS,
        "cautions": CAUTIONS,
        "warnings": warnings(ledger, scores),
    }


def _spell(spell: Spell | None) -> dict[str, Any] | None:
    if spell is None:
        return None
    return {"days": spell.days, "from": str(spell.first), "to": str(spell.last)}
