"""The worst droughts and last year's, in sentences."""

from __future__ import annotations

import datetime as dt
from collections.abc import Sequence
from dataclasses import asdict
from typing import Any

from holdwater import words
from holdwater.ledger import Ledger
from holdwater.scores import Scores
from holdwater.studies.droughts import APART, Drought, dry_droughts, within, worst
from holdwater.units import System, show

NAMED = 3


def sentences(ledger: Ledger, scores: Scores, system: System, apart: int = APART) -> list[str]:
    """Name the three worst droughts and last year's.

    Parameters
    ----------
    ledger : Ledger
        The run.
    scores : Scores
        What it says.
    system : str
        "us" or "metric".
    apart : int
        Dry spells with fewer days than this between them count as one drought [days].

    Returns
    -------
    list of str
        One sentence for each of the worst, and one for last year where the run has more than one.
    """
    found = dry_droughts(ledger, scores, apart)
    said = [f"Drought {drought.rank}: {_drought(drought, system)}." for drought in worst(found, NAMED)]
    if not said:
        said = ["No drought: the tanks never fell short."]
    if len(scores.years) > 1:
        said.append(_last_year(ledger, scores, found, system))
    return said


def as_data(
    ledger: Ledger, scores: Scores, found: Sequence[Drought], system: System, apart: int = APART
) -> dict[str, Any]:
    """The droughts for `summary.json`: all of the tanks, and the three worst of every other kind.

    Parameters
    ----------
    found : sequence of Drought
        From `all_droughts`.
    system, apart
        As for `sentences`.

    Returns
    -------
    dict
        "droughts" [L, days, dates], "drought_sentences" and "droughts_apart_days".
    """
    said = sentences(ledger, scores, system, apart)
    pooled = pooling([each for each in found if each.kind == "dry"], apart)
    kept = [each for each in found if each.kind == "dry" or each.rank <= NAMED]
    return {
        "droughts": [_plain(each) for each in kept],
        "drought_sentences": [*said, *([f"{pooled[0].upper()}{pooled[1:]}."] if pooled else [])],
        "droughts_apart_days": apart,
    }


def _plain(drought: Drought) -> dict[str, Any]:
    return {name: str(v) if isinstance(v, dt.date) else v for name, v in asdict(drought).items()}


def pooling(droughts: Sequence[Drought], apart: int = APART) -> str:
    """Say what counts as one drought; "" where nothing was pooled."""
    if not any(drought.spells > 1 for drought in droughts):
        return ""
    return f"dry spells less than {words.count(apart, 'day')} apart count as one drought"


def _drought(drought: Drought, system: System) -> str:
    """ "5 August to 9 September 2002, 31 dry days in 2 spells, 1,234 gal short; ..."."""
    period = drought.return_period_years
    rare = "" if period is None else f"; as bad or worse once in {_years(period)} on this record"
    return (
        f"{_span(drought)}, {_days(drought)}, {show(drought.deficit_L, 'volume', system)} short; "
        f"the tanks stood lowest on {words.on(drought.lowest_on)} with"
        f" {show(drought.lowest_storage_L, 'volume', system)} above the outlets, and {_refill(drought)}{rare}"
    )


def _span(drought: Drought) -> str:
    """ "4 to 10 January 2001", "30 November 2001 to 2 January 2002"."""
    first, last = drought.first, drought.last
    if first == last:
        return words.on(last)
    begin = words.on(first)
    if first.year == last.year:
        begin = f"{first.day}" if first.month == last.month else begin.removesuffix(f" {first.year}")
    return f"{begin} to {words.on(last)}"


def _days(drought: Drought) -> str:
    days = words.count(drought.counted_days, "dry day")
    return days if drought.spells == 1 else f"{days} in {drought.spells} spells"


def _refill(drought: Drought) -> str:
    if drought.refill_days is None:
        return "were not full again on this record"
    return f"were full again {words.count(drought.refill_days, 'day')} after it ended"


def _years(number: float) -> str:
    return f"{number:.1f} years" if number < 10 else f"{number:.0f} years"


def _last_year(ledger: Ledger, scores: Scores, found: Sequence[Drought], system: System) -> str:
    last = scores.years[-1]
    mine = within(found, last.first, last.last)
    if not mine:
        return f"Last year ({last.year}): no drought."
    drought = mine[0]
    number = words.count(len(mine), "drought")
    found_to_be = f"{number}, the worst of them" if len(mine) > 1 else f"{number},"
    if drought.rank <= NAMED:
        return f"Last year ({last.year}): {found_to_be} drought {drought.rank} above."
    rank = f"drought {drought.rank} of {len(found)}"
    return f"Last year ({last.year}): {found_to_be} {rank}, {_drought(drought, system)}."
