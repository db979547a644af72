"""Short tables for the terminal."""

from __future__ import annotations

from collections.abc import Sequence
from textwrap import wrap
from typing import Literal

from holdwater import words
from holdwater.ledger import Ledger
from holdwater.report import stranded
from holdwater.report.garden import bed_rows
from holdwater.scores import Scores
from holdwater.units import show

System = Literal["us", "metric"]
WIDTH = 90
"""Longest line of a text in a table [letters]."""


def aligned(rows: Sequence[Sequence[str]], indent: str = "  ") -> str:
    """Rows as columns of text, the first to the left, the rest to the right."""
    widths = [max(len(row[i]) for row in rows) for i in range(len(rows[0]))]
    lines = []
    for row in rows:
        cells = [row[0].ljust(widths[0])]
        cells += [cell.rjust(width) for cell, width in zip(row[1:], widths[1:], strict=True)]
        lines.append(indent + "   ".join(cells).rstrip())
    return "\n".join(lines)


def table(ledger: Ledger, scores: Scores, system: System) -> str:
    """What a run tells, in a dozen lines and a few for every bed."""
    totals, days = scores.totals_L, ledger.days
    years = days.size / 365.25

    def a_year(volume: float) -> str:
        return show(volume / years, "bulk", system)

    rows = [
        ["period", f"{days[0]} to {days[-1]} ({words.span(*ledger.period)})"],
        ["weather", weather(ledger)],
        *([["evapotranspiration", et0_from(ledger)]] if et0_from(ledger) else []),
        ["operating rule", RULES[ledger.scenario.run.rule]],
        *draw_rows(scores),
        *bed_rows(scores),
        [
            "reliability",
            f"{_percent(scores.reliability_time)} of days, {_percent(scores.reliability_volume)} of the water asked",
        ],
        ["resilience", _resilience(scores)],
        ["vulnerability", _vulnerability(scores)],
        ["longest rainless spell", _rainless(scores)],
        [
            "a year on average",
            f"{a_year(totals['inflow'])} in from the roofs, {a_year(totals['delivered'])} delivered,",
        ],
        ["", f"{a_year(totals['overflow'])} overflow, {a_year(totals['first_flush'])} first flush"],
        ["backup", _backup(scores, system)],
        *stranded_rows(ledger, system),
        ["ledger closes within", f"{scores.balance_error:.1e} of the water handled"],
    ]
    width = max(len(row[0]) for row in rows)
    return "\n".join(f"  {row[0]:<{width}}   {row[1]}" for row in rows)


RULES = {
    "YAS": "YAS, yield after spillage (the cautious one)",
    "YBS": "YBS, yield before spillage (the hopeful one)",
}


def weather(ledger: Ledger) -> str:
    """Name the record and its licence."""
    known = ledger.record.provenance
    named = ", ".join(dict.fromkeys(part for part in (known.source, known.station, known.place) if part))
    return words.plain(named + (f"; licence: {known.licence}" if known.licence else ""))


def et0_from(ledger: Ledger) -> str:
    """How reference evapotranspiration is known; empty where nothing asks for it."""
    return str(ledger.data["et0"].attrs.get("source", "")) if "et0" in ledger.data else ""


def draw_rows(scores: Scores) -> list[list[str]]:
    """The dry days of every draw, and the days on which its own rule held it back."""
    rows = []
    for name, dry in scores.dry_days.by_draw.items():
        said, held = words.count(dry, "day"), scores.held_back.by_draw[name]
        if held:
            said += f"; held back by its own rule on {words.count(held, 'day')}, not counted here"
        rows.append([f"dry days, {name}", said])
    return rows


def rules(results: Sequence[tuple[Ledger, Scores]], system: System) -> str:
    """The two operating rules side by side."""
    rows = [["rule", "dry days", "unserved days", "delivered", "overflow"]]
    for ledger, scores in sorted(results, key=lambda r: r[0].scenario.run.rule):
        totals = scores.totals_L
        rows.append(
            [
                ledger.scenario.run.rule,
                f"{scores.dry_days.total:,}",
                f"{scores.unserved_days:,}",
                show(totals["delivered"], "bulk", system),
                show(totals["overflow"], "bulk", system),
            ]
        )
    return aligned(rows)


def rules_turned(results: Sequence[tuple[Ledger, Scores]]) -> str:
    """Say where drawing on the rain of the day does worse than on the water before it; empty where it does not."""
    by_rule = {ledger.scenario.run.rule: scores for ledger, scores in results}
    yas, ybs = by_rule["YAS"], by_rule["YBS"]
    less = ybs.totals_L["delivered"] < yas.totals_L["delivered"] * (1.0 - 1e-9)
    if not less and ybs.dry_days.total <= yas.dry_days.total:
        return ""
    what = "delivers less" if less else "has more dry days"
    return (
        f"YBS {what} than YAS here: with backup, stop levels, saving steps or beds, what is drawn on one day"
        " changes what comes later, so the truth need not lie between the two"
    )


def _percent(part: float | None) -> str:
    return "none" if part is None else words.share(part, 1.0)


def _resilience(scores: Scores) -> str:
    if scores.resilience is None:
        return "none to tell: no dry day"
    return f"{scores.resilience:.2f} (chance that a dry day is the last of its spell)"


def _vulnerability(scores: Scores) -> str:
    if scores.vulnerability is None:
        return "none to tell: no dry day"
    return f"{_percent(scores.vulnerability)} short on the worst day of a mean dry spell"


def _rainless(scores: Scores) -> str:
    spell = scores.longest_rainless_spell
    return (
        "none"
        if spell is None
        else f"{words.count(spell.days, 'day')} from {words.on(spell.first)} (days under 1 mm)"
    )


def _backup(scores: Scores, system: System) -> str:
    volume = scores.totals_L["backup"]
    if volume == 0.0:
        return "none needed"
    said = show(volume, "bulk", system) + " in all"
    if scores.loads:
        said += f", {words.count(scores.loads, 'load')}"
    return said + (f", cost {scores.cost:,.0f}" if scores.cost else "")


def stranded_rows(ledger: Ledger, system: System) -> list[list[str]]:
    """What never fills or cannot be drawn; in words, with the reason, where it is more than a little."""
    top, bottom = (float(ledger.flux(f"stranded_{end}").sum()) for end in ("top", "bottom"))
    said = [f"{show(top, 'volume', system)} at the top, {show(bottom, 'volume', system)} at the bottom"]
    for each in stranded.in_words(ledger.scenario, system):
        said += wrap(each, WIDTH)
    return [["stranded" if i == 0 else "", line] for i, line in enumerate(said)]
