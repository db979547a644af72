"""The plain sentence that comes first."""

from __future__ import annotations

from holdwater import words
from holdwater.ledger import Ledger
from holdwater.report import stranded
from holdwater.scenario.schema import Livestock, Scenario
from holdwater.scenario.tables import ROOM_TEMPERATURE
from holdwater.scores import Scores
from holdwater.weather.record import Record

SHORT_RECORD_YEARS = 10
MANY_FILLED = 0.05


def verdict(ledger: Ledger, scores: Scores) -> str:
    """Say whether the holding held: dry days, spells, the longest, and the last year.

    "Larkfield would have run dry on 212 days in 30 years, in 9 dry spells; the longest was 41 days from
    3 August 2002. Last year (2025): 12 dry days."
    """
    name, length = words.holding(ledger.scenario.title), words.span(*ledger.period)
    longest = scores.longest_dry_spell
    if longest is None:
        said = f"{name} would not have run dry on any day in {length}."
    else:
        spells = words.count(len(scores.dry_spells), "dry spell")
        said = f"{name} would have run dry on {words.count(scores.dry_days.total, 'day')} in {length}, in {spells}"
        said += f"; the longest was {words.count(longest.days, 'day')} from {words.on(longest.first)}."
    if len(scores.years) > 1:
        last = scores.years[-1]
        part = "" if last.days >= 365 else f", {words.count(last.days, 'day')} of it"
        said += f" Last year ({last.year}{part}): {words.count(last.dry_days, 'dry day')}."
    if scores.dry_days.total and scores.unserved_days < scores.dry_days.total:
        left = words.count(scores.unserved_days, "day") if scores.unserved_days else "no day"
        said += f" With the backup, {left} went unserved."
    held = held_back(scores)
    said += f" {held}" if held else ""
    known = ledger.record.provenance
    if known.changed:
        said += f" The weather was changed on purpose: {words.plain(known.changed)}."
    filled = known.filled
    if filled:
        said += f" {words.count(filled, 'day')} of rain {words.were(filled)} filled in:"
        said += " any claim about the driest year rests on them."
    return said


def held_back(scores: Scores) -> str:
    """Say which draws were held back by their own rules, on how many days; empty where none was."""
    held = [
        f"{words.plain(name)} on {words.count(days, 'day')}"
        for name, days in scores.held_back.by_draw.items()
        if days
    ]
    rules = "their own rules" if held[1:] else "its own rule"
    return f"Held back by {rules}, and not counted as dry: {', '.join(held)}." if held else ""


def warnings(ledger: Ledger, scores: Scores) -> list[str]:
    """What to know before trusting the numbers: a short record, filled days, too coarse a step."""
    found = list(ledger.warnings)
    days, filled = ledger.days.size, ledger.record.provenance.filled
    if days < SHORT_RECORD_YEARS * 365:
        found.append(
            f"the record is short ({words.span(*ledger.period)}): fewer than {SHORT_RECORD_YEARS} years say little"
            " about the worst drought"
        )
    if filled > MANY_FILLED * days:
        found.append(f"{100 * filled / days:.0f} % of the days were filled in, not observed")
    found += without_temperatures(ledger.scenario, ledger.record)
    found += stranded.warnings(ledger.scenario, ledger.scenario.show_units)
    fraction = storage_fraction(ledger, scores)
    if fraction is not None and fraction < 0.01:
        found.append(
            f"the tanks are small for the roofs (storage fraction {fraction:.4f}): below 0.01 a daily step is"
            " too coarse, dry days and overflow may be off (rule after Fewkes & Butler 2000, figure from memory)"
        )
    return found


def without_temperatures(scenario: Scenario, record: Record) -> list[str]:
    """What is taken for granted where the record has no temperatures; nothing where it has them."""
    if "t_min" in record.data:
        return []
    said = "the record has no temperatures: all precipitation is taken as rain"
    herds = [words.plain(draw.name) for draw in scenario.draw if isinstance(draw, Livestock)]
    if herds:
        warm = (
            f"{ROOM_TEMPERATURE * 1.8 + 32.0:g} degF"
            if scenario.show_units == "us"
            else f"{ROOM_TEMPERATURE:g} degC"
        )
        said += (
            f", and the animals ({', '.join(herds)}) drink every day as at {warm}, too little in a hot summer"
        )
    return [said]


def storage_fraction(ledger: Ledger, scores: Scores) -> float | None:
    """Drawable capacity / (roof area x mean annual rain)."""
    a_year = scores.totals_L["rain_on_roofs"] / (ledger.days.size / 365.25)
    return float(ledger.flux("drawable_capacity").sum()) / a_year if a_year > 0.0 else None
