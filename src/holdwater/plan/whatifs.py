"""The what-ifs of the file beside the present: what each would have changed, in numbers and as lines."""

from __future__ import annotations

import datetime as dt
import re
from collections.abc import Sequence
from dataclasses import replace

from holdwater import words
from holdwater.charts.variants import DAILY_UP_TO, storage_overlay
from holdwater.errors import InputError
from holdwater.plan.drawing import picture
from holdwater.plan.fared import Fared, of_scores, price, record_of, run_each, set_ups_of
from holdwater.plan.section import Matter, Picture, Section, capital, section
from holdwater.scenario.file import variant_names
from holdwater.scores import score
from holdwater.simulation import simulate
from holdwater.studies.compare import (
    PRESENT,
    Compared,
    Comparison,
    SetUp,
    Window,
    last_year,
    part_of_run,
    worst,
)
from holdwater.studies.drawbacks import drawbacks, listed
from holdwater.units import System, show

DRAWN = 4
"""What-ifs drawn beside the present: more lines cannot be told apart."""


def what_ifs(matter: Matter) -> Section | None:
    """Every what-if of the file beside the present; nothing where the file has none."""
    if not variant_names(matter.file):
        return None
    set_ups, left_out = set_ups_of(matter)
    present = SetUp(_name(matter), matter.file, price(matter, matter.file))
    fared = [of_scores(present, matter.scores, matter.ledger), *run_each(matter, set_ups, left_out)]
    if not fared[1:]:
        return section("what-ifs", TITLE, answer=NONE, head=[], rows=[], left_out=left_out, drawn="")
    most = sorted(fared[1:], key=lambda each: each.days.rank)[:DRAWN]
    chosen = [each.set_up for each in fared[1:] if each in most]
    chart, said = _overlaid(matter, present, chosen)
    head, rows = _table(fared, matter)
    return section(
        "what-ifs",
        TITLE,
        chart,
        answer=_answer(fared),
        head=head,
        rows=rows,
        left_out=left_out,
        drawn=" ".join([*said, *([FEWEST] if fared[1 + DRAWN :] else [])]),
    )


TITLE = "What would each what-if change?"
NONE = "None of the what-ifs could be run."
FEWEST = f"Of the what-ifs, the {DRAWN} with the fewest dry days are drawn."


def _name(matter: Matter) -> str:
    return f"{matter.file.variant} (this plan)" if matter.file.variant else PRESENT


def _table(fared: Sequence[Fared], matter: Matter) -> tuple[list[str], list[list[str]]]:
    """The set-ups as rows; backup and price only where there is any."""
    columns = [_column(each, matter.system) for each in fared]
    told = {key: any(row[key] not in ("-", "0", "not given") for row in columns) for key in columns[0]}
    told["unserved"] = any(each.days.unserved != each.days.dry for each in fared)
    shown = [key for key, any_ in told.items() if any_ or key in ALWAYS]
    return shown, [[row[key] for key in shown] for row in columns]


ALWAYS = ("set-up", "dry days", "longest spell", "worst year", "given by the tanks")


def _column(each: Fared, system: System) -> dict[str, str]:
    """What is told of one set-up, by the head of its column."""
    cost = each.set_up.cost
    base = each.set_up.file.variant is None
    return {
        "set-up": words.plain(each.set_up.name),
        "dry days": f"{each.days.dry:,}",
        "unserved": f"{each.days.unserved:,}",
        "longest spell": words.count(each.longest, "day") if each.longest else "-",
        "worst year": "-" if each.worst is None else f"{each.worst[0]}: {each.worst[1]:,}",
        "given by the tanks": "-" if each.met is None else f"{100 * each.met:.1f} %",
        "beds short": f"{each.days.stressed:,}",
        "held back": f"{each.days.held_back:,}",
        "backup a year": show(each.backup_L, "bulk", system, 2) if each.backup_L else "0",
        "its cost a year": f"{each.cost:,.0f}",
        "price": "-" if base else "not given" if cost is None else f"{cost:,.0f}",
    }


def _answer(fared: Sequence[Fared]) -> str:
    """The what-if that leaves the fewest dry days, and what is worse with it."""
    now, best = fared[0], min(fared[1:], key=lambda each: each.days.rank)
    began = capital(f"{words.count(now.days.dry, 'dry day')} now")
    if best.days.dry >= now.days.dry:
        return f"{began}; no what-if leaves fewer."
    named, worse = f"\u201c{words.plain(best.set_up.name)}\u201d", drawbacks(now.days, best.days)
    but = f", but {listed(worse)}" if worse else ""
    return f"{began}; {named} leaves fewest, {best.days.dry:,}{but}."


def _overlaid(matter: Matter, present: SetUp, chosen: Sequence[SetUp]) -> tuple[Picture, list[str]]:
    """The water of the set-ups on one axis: through the worst drought of the present, or through a short run."""
    now = Compared(present, matter.ledger, matter.scores)
    window = _window(now)
    compared = [_within(now, window)]
    for each in chosen:
        scenario = each.file.scenario
        if window is not None:
            run = scenario.run.model_copy(update={"to": window.last})
            scenario = scenario.model_copy(update={"run": run})
        ledger = simulate(scenario, record_of(matter, each.file.scenario))
        compared.append(_within(Compared(each, ledger, matter.scores), window))
    made = Comparison(compared, window, None, "")
    drawn = picture(
        storage_overlay(made, matter.system), "what-ifs", "Water in the tanks with each what-if, on one axis"
    )
    if window is None:
        return drawn, []
    return drawn, [f"Drawn: the {_why(window)}; every set-up was run from the first day of the record on."]


def _why(window: Window) -> str:
    """What the days drawn are, its dates behind its name and as the plan writes them."""
    why = re.sub(r"\d{4}-\d\d-\d\d", lambda day: words.briefly(dt.date.fromisoformat(day[0])), window.why)
    what, _, days = why.removeprefix("the ").rpartition(", ")
    name, *rest = (what or days).split("; ")
    return "; ".join([f"{name}, {days}" if what else name, *rest])


def _window(present: Compared) -> Window | None:
    """The worst drought of a long run; all of a short one."""
    first, last = present.ledger.period
    if (last - first).days <= DAILY_UP_TO:
        return None
    try:
        return worst(1)(present)
    except InputError:  # never a day without rain to speak of
        return last_year(present)


def _within(each: Compared, window: Window | None) -> Compared:
    ledger = each.ledger if window is None else part_of_run(each.ledger, window.first, window.last)
    return replace(each, ledger=ledger, scores=score(ledger))
