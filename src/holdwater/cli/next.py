"""`holdwater next`: what the next purchase buys."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

from holdwater import words
from holdwater.charts.files import picture, write
from holdwater.charts.pareto import finding, pareto_chart
from holdwater.charts.study import years_of
from holdwater.cli.study import Asked, Records, closing, notes, period, progress, weather, write_rows
from holdwater.cli.text import as_json, columns
from holdwater.errors import InputError
from holdwater.report.files import staged
from holdwater.scenario.schema import Refill
from holdwater.studies.drawbacks import listed, worse_for
from holdwater.studies.engine import Site
from holdwater.studies.purchase import Bought, Purchases, next_purchases
from holdwater.units import System, quoted, read_money, show

FILES = ("next.json", "next.csv", "charts/next")
UNKNOWN = "no cost in the file"
LEAST_L = 1e-6
"""Water below which a saving is rounding [L per year]."""
CAUTIONS = {
    "no first flush": "the first flush keeps the dirt of dry weeks out of the tanks; without it the water is worse",
}


def run(asked: Asked, costs: list[str], json: bool, quiet: bool) -> None:
    """Run the offers, write the table and the chart, and print the ranking."""
    prices = read_prices(costs)
    file = asked.file
    system = file.scenario.show_units
    with progress(json or quiet) as bar:
        bar.doing("reading the weather")
        record = Records(file.path.parent)(file.scenario)
        site = Site.of(file.scenario, record, bar.doing)
        bar.doing("running the offers")
        found = next_purchases(file, site, prices, bar.done)
        told = as_data(found, system)
        with staged(asked.folder) as stage:
            (stage / "next.json").write_text(as_json(told) + "\n", "utf-8")
            rows = [list(flat(each).values()) for each in told["offers"]]
            write_rows(stage / "next.csv", list(told["offers"][0]) if rows else [], rows)
            write(picture(pareto_chart(found, system), "next"), stage / "charts")
    if json:
        print(as_json(told))
    elif not quiet:
        print(finding(found))
        print(f"\n{table(found, system)}")
        for said in remarks(found, system):
            print(f"\n{said}")
        closing(notes(file, record), asked.folder, FILES)


def read_prices(texts: list[str]) -> dict[str, float]:
    """Read "third tank=4900".

    Raises
    ------
    InputError
        No name, or an amount that is no number of money.
    """
    prices: dict[str, float] = {}
    faults = []
    for text in texts:
        name, equals, amount = text.rpartition("=")
        try:
            price = read_money(amount)
        except InputError:
            price = None
        if not equals or not name.strip() or price is None:
            faults.append(f'--cost {quoted(text)}: write an offer and its price, such as "third tank=4900"')
        else:
            prices[name.strip()] = price
    if faults:
        raise InputError(faults)
    return prices


def table(found: Purchases, system: System) -> str:
    """The offers, the best first; of beds, backup and drawbacks only where there are any."""
    everyone = [found.present, *found.bought]
    made = [column for column in _columns(found, system) if any(column.cell(each) for each in everyone)]
    head = [column.name for column in made]
    return columns([head, *([column.cell(each) for column in made] for each in everyone)])


@dataclass(frozen=True)
class _Column:
    """A column of the table: its heading and what it says of an offer; one that says nothing is left out."""

    name: str
    cell: Callable[[Bought], str]


def _columns(found: Purchases, system: System) -> list[_Column]:
    everyone, present = [found.present, *found.bought], found.present
    beds = any(each.days.stressed for each in everyone)
    hauler, other = backups(found)
    hauled = any(each.hauled_L or each.hauled_saved_L for each in everyone)
    piped = any(each.other_L > LEAST_L or abs(each.other_saved_L) > LEAST_L for each in everyone)
    paid = any(each.cost or each.saved for each in everyone)

    def but_present(tell: Callable[[Bought], str]) -> Callable[[Bought], str]:
        return lambda each: "" if each is present else tell(each)

    def saved(used: float, less: float, each: Bought, loads: float = 0.0) -> str:
        many = f", {_tenths(loads)} loads" if loads else ""
        if each is present:
            return f"({show(used, 'bulk', system)}{many} used)"
        return f"{'-' if less < -LEAST_L else ''}{show(abs(less), 'bulk', system)}{many}"

    known = [
        _Column("offer", lambda each: words.plain(each.offer.name)),
        _Column("price", but_present(price)),
        _Column("dry days", lambda each: f"{each.dry_days:,}"),
        _Column("back a year", but_present(lambda each: f"{each.back:+.1f}")),
        _Column("per 1,000", but_present(_value)),
    ]
    if beds:
        known.append(_Column("bed days back", but_present(lambda each: f"{each.stress_back:+.1f}")))
    known.append(_Column("worse for", but_present(lambda each: worse_for(present.days, each.days))))
    if hauled:
        known.append(
            _Column(
                f"{hauler} saved a year",
                lambda each: saved(
                    each.hauled_L,
                    each.hauled_saved_L,
                    each,
                    each.loads if each is present else abs(each.loads_saved),
                ),
            )
        )
    if piped:
        name = f"{other} saved a year"
        known.append(_Column(name, lambda each: saved(each.other_L, each.other_saved_L, each)))
    if paid:
        known.append(_Column("cost saved a year", lambda each: _cost(each, present)))
        known.append(_Column("pays back in", but_present(_pays_back)))
    return known


def backups(found: Purchases) -> tuple[str, str]:
    """What to call water brought in loads, and water that comes by pipe: by name where there is but one."""
    known = {b.name: b for each in found.bought for b in each.offer.file.scenario.backup}
    known |= {b.name: b for b in found.base.scenario.backup}
    loads = [name for name, b in known.items() if isinstance(b, Refill) and b.load is not None]
    piped = [name for name in known if name not in loads]
    return (
        f"{words.plain(loads[0])} water" if len(loads) == 1 else "hauled water",
        f"{words.plain(piped[0])} water" if len(piped) == 1 else "well and mains water",
    )


def price(each: Bought) -> str:
    """Price of an offer, or that none is known."""
    return UNKNOWN if each.offer.cost is None else f"{each.offer.cost:,.0f}"


def _value(each: Bought) -> str:
    value = each.back_per_thousand
    if value is None:
        return "-"
    return "free" if math.isinf(value) else f"{value:+.2f}"


def _tenths(number: float) -> str:
    return f"{number:,.1f}".removesuffix(".0")


def _cost(each: Bought, present: Bought) -> str:
    return f"({each.cost:,.0f} spent)" if each is present else f"{each.saved:,.0f}"


def _pays_back(each: Bought) -> str:
    years = each.pays_back_in
    return "-" if years is None else f"{years:,.0f} years"


def remarks(found: Purchases, system: System) -> list[str]:
    """What to know of the offers."""
    said = [spent(found, system)] if found.present.backup_L > LEAST_L else []
    said += [
        f"{name}: {text}."
        for name, text in CAUTIONS.items()
        if any(b.offer.name == name for b in found.bought)
    ]
    said += [f"{text[0].upper()}{text[1:]}." for text in found.moving(system)]
    said += [f"Left out: {text}." for text in found.left_out]
    if any(each.offer.cost is None for each in found.bought):
        said.append(
            'No price is made up: give one with --cost "NAME=AMOUNT", or as cost of a tank, a roof or a what-if'
            " in the file."
        )
    return said


def spent(found: Purchases, system: System) -> str:
    """What backup brings and costs at present, a year and in all."""
    now, years = found.present, found.site.record.days.size / 365.25
    hauler, other = backups(found)
    brought = []
    if now.hauled_L > LEAST_L:
        brought.append(f"{show(now.hauled_L, 'bulk', system)} of {hauler} in {_tenths(now.loads)} loads")
    if now.other_L > LEAST_L:
        brought.append(f"{show(now.other_L, 'bulk', system)} of {other}")
    cost = ""
    if now.cost:
        cost = f"; it costs {now.cost:,.0f} a year, {now.cost * years:,.0f} in {years_of(found.site.record)}"
    return f"Backup now: {' and '.join(brought)} a year{cost}."


def as_data(found: Purchases, system: System) -> dict[str, Any]:
    """The offers as plain data; volumes in litres, sums per year."""
    record = found.site.record
    return {
        "scenario": found.base.scenario.title,
        "finding": finding(found),
        "rule": found.base.scenario.run.rule,
        "period": period(record),
        "weather": weather(record),
        "present": _as_data(found.present, found),
        "offers": [_as_data(each, found) for each in found.bought],
        "best_buys": [each.offer.name for each in found.frontier() if each is not found.present],
        "left_out": found.left_out,
        "notes": found.moving(system),
        "definitions": {
            "dry_days_back": "fewer dry days a year than the present",
            "back_per_thousand": "dry days a year bought back for every 1,000 of the price; null without a price"
            " or for what is free",
            "drawbacks": "what is worse than at present, dry days apart",
            "backup_L": "backup water a year: hauled_L came in loads, the rest from a well or mains",
            "backup_cost": "its cost a year, in the scenario's currency",
            "saved_L": "backup water saved a year; hauled_saved_L of it in loads",
            "saved": "its cost a year, in the scenario's currency",
            "best_buys": "offers with a price that no cheaper one, nor the present, equals in dry days",
        },
    }


def _as_data(each: Bought, found: Purchases) -> dict[str, Any]:
    value = each.back_per_thousand
    return {
        "name": each.offer.name,
        "price": each.offer.cost,
        "priced_by": each.offer.priced_by or None,
        "dry_days": each.dry_days,
        "unserved_days": each.unserved_days,
        "stressed_days": each.stressed_days,
        "held_back_days": each.days.held_back,
        "dry_days_back": each.back,
        "unserved_days_back": each.unserved_back,
        "stressed_days_back": each.stress_back,
        "held_back_days_back": each.held_back_back,
        "drawbacks": found.worse(each),
        "back_per_thousand": None if value is None or math.isinf(value) else value,
        "backup_L": each.backup_L,
        "hauled_L": each.hauled_L,
        "loads": each.loads,
        "backup_cost": each.cost,
        "saved_L": each.saved_L,
        "hauled_saved_L": each.hauled_saved_L,
        "loads_saved": each.loads_saved,
        "saved": each.saved,
        "pays_back_in_years": each.pays_back_in,
    }


def flat(each: dict[str, Any]) -> dict[str, Any]:
    """One offer as a row: its drawbacks in one cell."""
    return each | {"drawbacks": listed(each["drawbacks"])}
