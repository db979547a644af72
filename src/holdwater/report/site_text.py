"""The site checks in words for the terminal: what fails first, then every check the way the water goes."""

from __future__ import annotations

import re
from collections.abc import Iterable, Sequence
from itertools import groupby
from textwrap import fill

from holdwater import words
from holdwater.site.checks import CAUTIONS, Check, Verdict
from holdwater.units import System, figures

WIDTH = 100
"""Longest line [letters]."""
_MARKS = {
    Verdict.HOLDS: "holds",
    Verdict.FAILS: "DOES NOT HOLD",
    Verdict.NOTE: "to know",
}
_COUNTED = {
    Verdict.FAILS: ("does not hold", "do not hold"),
    Verdict.HOLDS: ("holds", "hold"),
    Verdict.NOTE: ("is for you to know", "are for you to know"),
    Verdict.UNCHECKED: ("lacks input", "lack input"),
}


def text(title: str, checks: Sequence[Check], system: System, notes: Sequence[str] = ()) -> str:
    """All there is to say.

    Parameters
    ----------
    title : str
        Title of the scenario.
    checks : sequence of Check
        In the order of printing.
    system : str
        "us" or "metric".
    notes : sequence of str
        What to say right after the verdict, a sentence each.
    """
    failing = [f"Does not hold: {check.name}." for check in checks if check.verdict is Verdict.FAILS]
    first = [_wrapped(verdict(title, checks), "", ""), *(_wrapped(said, "  ", "    ") for said in failing)]
    parts = ["\n".join(first)]
    parts += [_wrapped(note, "", "") for note in notes]
    told: set[str] = set(CAUTIONS)
    made = [check for check in checks if check.verdict is not Verdict.UNCHECKED]
    for _, rows in groupby(made, key=lambda check: check.topic.key):
        parts.append(_topic(list(rows), system, told))
    if len(made) < len(checks):
        parts.append("\n".join(["Not checked", *_lacking(checks)]))
    parts.append("\n".join(["Always", *(_wrapped(caution, "  ", "  ") for caution in CAUTIONS)]))
    return "\n\n".join(parts)


def verdict(title: str, checks: Sequence[Check]) -> str:
    """How many checks came out how: the plain sentence that comes first."""
    said: list[str] = []
    for kind, (one, several) in _COUNTED.items():
        number = sum(check.verdict is kind for check in checks)
        if not said:
            said.append(f"{number or 'none'} of {len(checks)} site checks {one if number == 1 else several}")
        elif number:
            said.append(f"{number} {one if number == 1 else several}")
    return f"{words.holding(title)}: {', '.join(said)}."


def margin(check: Check) -> str:
    """What is there against what is needed: "83 % short", "3 times what is needed"; empty where nothing is weighed."""
    if check.margin is None:
        return ""
    percent = 100.0 * abs(check.margin)
    if check.margin < 0.0:
        return f"{_percent(percent)} short"
    if check.margin >= 1.0:
        return f"{figures(1.0 + check.margin, 2)} times what is needed"
    return f"{_percent(percent)} to spare"


def _percent(percent: float) -> str:
    return f"{figures(percent, 2)} %" if percent >= 1.0 or percent == 0.0 else "less than 1 %"


def _topic(checks: Sequence[Check], system: System, told: set[str]) -> str:
    """One kind of check: each finding, then the source, then the cautions not yet told."""
    topic = checks[0].topic
    lines = [topic.title[:1].upper() + topic.title[1:]]
    for check in checks:
        lines.append(_wrapped(f"{_MARKS[check.verdict]}: {check.sentence(system)}", "  ", "    "))
        lines += [_wrapped(line, "    ", "      ") for line in _numbers(check, system)]
    lines.append(_wrapped(f"Source: {topic.source}.", "  ", "    "))
    fresh = [caution for caution in topic.cautions if caution not in told]
    if fresh:
        lines.append(_wrapped("Caution: " + " ".join(fresh), "  ", "    "))
    told.update(fresh)
    return "\n".join(lines)


def _numbers(check: Check, system: System) -> list[str]:
    """What a finding was computed from, what more came out than its sentence tells, and its margin."""
    in_sentence = set(re.findall(r"{(\w+)}", check.says))
    given = [f"{value.label} {value.text(system)}" for value in check.inputs.values()]
    more = [
        f"{value.label} {value.text(system)}"
        for key, value in check.computed.items()
        if key not in in_sentence
    ]
    rows = (("from", given), ("also", more), ("margin", [margin(check)]))
    return [f"{name}: {'; '.join(said)}" for name, said in rows if any(said)]


def _lacking(checks: Iterable[Check]) -> list[str]:
    """What was not checked and what it needs; alike for several roofs or tanks it is told once."""
    alike: dict[tuple[str, tuple[str, ...]], list[str]] = {}
    for check in checks:
        if check.verdict is Verdict.UNCHECKED:
            alike.setdefault((check.topic.title, check.needs), []).append(check.subject)
    return [
        _wrapped(
            f"{title}{': ' if any(who) else ''}{', '.join(who)}: needs {'; '.join(needs)}.", "  ", "    "
        )
        for (title, needs), who in alike.items()
    ]


def _wrapped(said: str, first: str, then: str) -> str:
    return fill(
        said,
        WIDTH,
        initial_indent=first,
        subsequent_indent=then,
        break_long_words=False,
        break_on_hyphens=False,
    )
