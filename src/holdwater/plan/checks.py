"""Will the piping carry it, and what to keep in mind before anybody builds or drinks."""

from __future__ import annotations

from holdwater import words
from holdwater.plan.section import Matter, Section, capital, section
from holdwater.report.site_text import margin
from holdwater.site.adapter import site_checks
from holdwater.site.cautions import GENERAL
from holdwater.site.checks import Check, Verdict
from holdwater.site.reading import read_site
from holdwater.site.seen import seen_in

SAID = {Verdict.FAILS: "does not hold", Verdict.HOLDS: "holds", Verdict.NOTE: "to know"}


UNCHECKED = "Pipes, overflow, pump, frost and ground were not checked: the scenario has no [site] table."


def site(matter: Matter) -> Section | None:
    """Every site check that could be made, and what the others need; nothing without a `[site]` table."""
    if not matter.scenario.site:
        return None
    table = read_site(matter.scenario.site, matter.scenario)
    seen = seen_in(matter.ledger, table.pump.serves if table.pump else None)
    checks = site_checks(matter.scenario, table, seen)
    made = [check for check in checks if check.verdict is not Verdict.UNCHECKED]
    general = set(GENERAL)
    topics = {check.topic.key: check.topic for check in made}
    return section(
        "site",
        "Will the piping carry it?",
        answer=_briefly(checks),
        counts={str(kind): sum(c.verdict is kind for c in checks) for kind in Verdict},
        rows=[_row(check, matter) for check in made],
        sources=[
            (topic.title, topic.source, " ".join(c for c in topic.cautions if c not in general))
            for topic in topics.values()
        ],
        lacking=[
            (check.name, "; ".join(check.needs)) for check in checks if check.verdict is Verdict.UNCHECKED
        ],
    )


def _briefly(checks: list[Check]) -> str:
    """How many checks do not hold, and which."""
    fails = [check.topic.title for check in checks if check.verdict is Verdict.FAILS]
    unchecked = sum(check.verdict is Verdict.UNCHECKED for check in checks)
    made = words.count(len(checks) - unchecked, "check")
    if fails:
        said = f"{len(fails)} of {made} do{'es' if len(fails) == 1 else ''} not hold: "
        said += "; ".join(dict.fromkeys(fails))
    else:
        said = f"{capital(made)} made, none fails"
    return said + (f"; {unchecked} more lack input." if unchecked else ".")


def _row(check: Check, matter: Matter) -> tuple[str, str, str, str, str]:
    """Verdict as a word and as a class, title, sentence, margin."""
    word = SAID[check.verdict]
    return check.verdict.name.lower(), word, check.topic.title, check.sentence(matter.system), margin(check)


def cautions(matter: Matter) -> Section:
    """What holds whatever the numbers say, and what nobody has looked at."""
    said = f"{len(GENERAL)} cautions that hold for every holding."
    unchecked = "" if matter.scenario.site else UNCHECKED
    return section(
        "cautions",
        "What to keep in mind before building or drinking",
        answer=f"{said} {unchecked}".strip(),
        cautions=list(GENERAL),
        unchecked=unchecked,
    )
