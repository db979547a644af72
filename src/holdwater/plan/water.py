"""Where the water went: the flow of every gallon, year by year and month by month, and the garden beds."""

from __future__ import annotations

from holdwater import charts, words
from holdwater.charts.gallons import streams
from holdwater.plan.drawing import picture
from holdwater.plan.section import Matter, Section, section
from holdwater.report.garden import bed_rows
from holdwater.units import show

KINDS = {
    "gallons": "All water of the run as one flow, from where it came to where it went",
    "budget": "Yearly water budget: what came in above the line, where it went below",
    "supply": "Average day of every month: what was asked, what the tanks gave, what came in",
    "garden": "Water left for the roots of each bed through its worst season and its last",
}


def water(matter: Matter) -> Section:
    """The flow, the yearly budget, the months, and the sums behind them."""
    ledger, scores, system = matter.ledger, matter.scores, matter.system
    drawn = [
        picture(charts.CHARTS[name](ledger, scores, system), name, KINDS[name])
        for name in ("gallons", "budget", "supply")
    ]
    came, went = streams(ledger, scores)
    whole = sum(stream.volume for stream in came)
    years = ledger.days.size / 365.25
    rows = [
        (side, stream.name, show(stream.volume / years, "bulk", system), _share(stream.volume, whole))
        for side, flows in (("came in", came), ("went", went))
        for stream in flows
    ]
    return section(
        "water",
        "Where did each gallon go?" if system == "us" else "Where did the water go?",
        *drawn,
        answer=drawn[0].finding,
        rows=rows,
        error=f"{scores.balance_error:.0e}",
    )


def _share(volume: float, whole: float) -> str:
    return words.share(volume, whole) if whole > 0.0 else "-"


def garden(matter: Matter) -> Section | None:
    """How the beds fared; nothing without a bed."""
    if not matter.scores.beds:
        return None
    drawn = picture(
        charts.garden_chart(matter.ledger, matter.scores, matter.system), "garden", KINDS["garden"]
    )
    rows = bed_rows(matter.scores)
    beds: list[tuple[str, list[str]]] = []
    for name, said in rows:
        if name:
            beds.append((name.removeprefix("bed, "), []))
        beds[-1][1].append(said)
    return section("garden", "How did the garden fare?", drawn, answer=drawn.finding, beds=beds)
