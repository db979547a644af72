"""`holdwater next`: what the next purchase buys."""

from __future__ import annotations

import math
from typing import Any

from holdwater import words
from holdwater.charts.files import picture, write
from holdwater.charts.pareto import finding, pareto_chart
from holdwater.cli.study import Asked, Records, closing, notes, period, progress, weather, write_rows
from holdwater.cli.text import as_json, columns
from holdwater.errors import InputError
from holdwater.report.files import staged
from holdwater.studies.engine import Site
from holdwater.studies.purchase import Bought, Purchases, next_purchases
from holdwater.units import System, quoted, show

FILES = ("next.json", "next.csv", "charts/next")
UNKNOWN = "no cost in the file"
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
        told = as_data(found)
        with staged(asked.folder) as stage:
            (stage / "next.json").write_text(as_json(told) + "\n", "utf-8")
            rows = [list(each.values()) for each in told["offers"]]
            write_rows(stage / "next.csv", list(told["offers"][0]) if rows else [], rows)
            write(picture(pareto_chart(found, system), "next"), stage / "charts")
    if json:
        print(as_json(told))
    elif not quiet:
        print(finding(found))
        print(f"\n{table(found, system)}")
        for said in remarks(found):
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
        number = amount.strip().lstrip("$€£").replace(",", "")
        try:
            price = float(number)
        except ValueError:
            price = math.nan
        if not equals or not name.strip() or not 0.0 <= price < math.inf:
            faults.append(f'--cost {quoted(text)}: write an offer and its price, such as "third tank=4900"')
        else:
            prices[name.strip()] = price
    if faults:
        raise InputError(faults)
    return prices


def table(found: Purchases, system: System) -> str:
    """The offers, the best first; hauling only where there is any."""
    everyone = [found.present, *found.bought]
    hauled = any(each.backup_L or each.saved_L for each in everyone)
    beds = any(each.stressed_days for each in everyone)
    rows = [
        [
            "offer",
            "price",
            "dry days",
            "back a year",
            "per 1,000",
            *(["bed days back"] if beds else []),
            *(["hauling saved a year", "money", "pays back in"] if hauled else []),
        ]
    ]
    for each in everyone:
        present = each is found.present
        rows.append(
            [
                words.plain(each.offer.name),
                "" if present else price(each),
                f"{each.dry_days:,}",
                "" if present else f"{each.back:+.1f}",
                "" if present else _value(each),
                *([("" if present else f"{each.stress_back:+.1f}")] if beds else []),
                *(_hauling(each, present, system) if hauled else []),
            ]
        )
    return columns(rows)


def price(each: Bought) -> str:
    """Price of an offer, or that none is known."""
    return UNKNOWN if each.offer.cost is None else f"{each.offer.cost:,.0f}"


def _value(each: Bought) -> str:
    value = each.back_per_thousand
    if value is None:
        return "-"
    return "free" if math.isinf(value) else f"{value:+.2f}"


def _hauling(each: Bought, present: bool, system: System) -> list[str]:
    if present:
        return [f"({show(each.backup_L, 'bulk', system)} used)", f"({each.cost:,.0f})", ""]
    years = each.pays_back_in
    saved = show(abs(each.saved_L), "bulk", system)
    return [
        f"-{saved}" if each.saved_L < 0 else saved,
        f"{each.saved:,.0f}",
        "-" if years is None else f"{years:,.0f} years",
    ]


def remarks(found: Purchases) -> list[str]:
    """What to know of the offers."""
    said = [
        f"{name}: {text}."
        for name, text in CAUTIONS.items()
        if any(b.offer.name == name for b in found.bought)
    ]
    said += [f"Left out: {text}." for text in found.left_out]
    if any(each.offer.cost is None for each in found.bought):
        said.append(
            'No price is made up: give one with --cost "NAME=AMOUNT", or as cost of a tank, a roof or a what-if'
            " in the file."
        )
    return said


def as_data(found: Purchases) -> dict[str, Any]:
    """The offers as plain data; volumes in litres, sums per year."""
    record = found.site.record
    return {
        "scenario": found.base.scenario.title,
        "finding": finding(found),
        "rule": found.base.scenario.run.rule,
        "period": period(record),
        "weather": weather(record),
        "present": _as_data(found.present),
        "offers": [_as_data(each) for each in found.bought],
        "best_buys": [each.offer.name for each in found.frontier() if each is not found.present],
        "left_out": found.left_out,
        "definitions": {
            "dry_days_back": "fewer dry days a year than the present",
            "back_per_thousand": "dry days a year bought back for every 1,000 of the price; null without a price"
            " or for what is free",
            "saved_L": "backup water saved a year",
            "saved": "its cost a year, in the scenario's currency",
            "best_buys": "offers with a price that no cheaper one, nor the present, equals in dry days",
        },
    }


def _as_data(each: Bought) -> dict[str, Any]:
    value = each.back_per_thousand
    return {
        "name": each.offer.name,
        "price": each.offer.cost,
        "priced_by": each.offer.priced_by or None,
        "dry_days": each.dry_days,
        "unserved_days": each.unserved_days,
        "stressed_days": each.stressed_days,
        "dry_days_back": each.back,
        "unserved_days_back": each.unserved_back,
        "stressed_days_back": each.stress_back,
        "back_per_thousand": None if value is None or math.isinf(value) else value,
        "backup_L": each.backup_L,
        "backup_cost": each.cost,
        "saved_L": each.saved_L,
        "saved": each.saved,
        "pays_back_in_years": each.pays_back_in,
    }
