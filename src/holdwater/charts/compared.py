"""What to say of set-ups side by side: which has the fewest dry days, and what that costs besides."""

from __future__ import annotations

from collections.abc import Sequence

from holdwater import words
from holdwater.studies.compare import Compared, Comparison
from holdwater.studies.drawbacks import drawbacks, gains, listed


def finding(made: Comparison) -> str:
    """Say how many dry days the present has, which set-up has the fewest, and what is worse with it.

    Of set-ups with equally few dry days the one is named that does most for the rest. One that makes
    something else worse is told with that, and with the best that makes nothing worse.
    """
    present, others = made.compared[0], made.compared[1:]
    now = present.days
    begin = (
        f"{words.holding(present.ledger.scenario.title)} had"
        f" {words.count(now.dry, 'dry day')} {in_words(made)}"
    )
    if not others:
        return f"{begin}."
    best = min(others, key=lambda each: each.days.rank)
    fewest, worse = best.days.dry, drawbacks(now, best.days)
    if fewest > now.dry:
        return f"{begin}; no other set-up has fewer, and {quoted(best)} has {fewest:,}."
    if fewest == now.dry:
        return f"{begin}; {_as_many(best, present)}."
    left = "none" if fewest == 0 else f"{fewest:,}"
    said = f"{begin}; with {quoted(best)} it would have had {left}"
    if not worse:
        return f"{said}."
    return f"{said}, but {listed(worse)}{_instead(now.dry, others, present)}."


def _as_many(best: Compared, present: Compared) -> str:
    """No set-up has fewer dry days: what the best of those with as many does for the rest."""
    better, worse = gains(present.days, best.days), drawbacks(present.days, best.days)
    if not better or best.days.rank > present.days.rank:
        return f"{quoted(best)} has as many, none has fewer"
    but = f", but {listed(worse)}" if worse else ""
    fewest = "no other set-up has fewer, and " if present.days.dry else ""
    return f"{fewest}{quoted(best)} leaves {listed(better)}{but}"


def _instead(dry: int, others: Sequence[Compared], present: Compared) -> str:
    """The fewest dry days to be had without making anything else worse."""
    free = [c for c in others if c.days.dry < dry and not drawbacks(present.days, c.days)]
    if not free:
        return ""
    best = min(free, key=lambda each: each.days.rank)
    return f"; with {quoted(best)}, {words.count(best.days.dry, 'dry day')} and nothing worse"


def quoted(each: Compared) -> str:
    """Name of a set-up in a sentence."""
    return f"\u201c{words.plain(each.name)}\u201d"


def in_words(made: Comparison) -> str:
    """The days compared: "in 30 years", "from 3 May 2002 to 1 February 2003"."""
    first, last = made.compared[0].ledger.period
    if made.window is None or words.span(first, last) == str(first.year):
        return f"in {words.span(first, last)}"
    return f"from {words.on(first)} to {words.on(last)}"
