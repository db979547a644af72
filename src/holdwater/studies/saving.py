"""When saving must start, so that nine years in ten get through without a dry day."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np

from holdwater.errors import InputError
from holdwater.holding import Holding
from holdwater.scenario.schema import Livestock, Scenario
from holdwater.studies.odds import order
from holdwater.studies.outlook import Floats, Outlook, trace
from holdwater.units import quoted, read

NEVER, NOT_EVEN_TODAY = float("inf"), -1.0
FAILING = 0.1
"""Share of years that may run dry: nine in ten get through."""


@dataclass(frozen=True)
class Saving:
    """What saving can do from some day on.

    Attributes
    ----------
    shares : dict of str to float
        What each draw does without, by its name [0..1].
    latest : ndarray, shape (traces,)
        Days from today to the last day on which saving can start so that the trace has no dry day:
        0 for today, infinite if it need never start, -1 if even starting today is too late.
    start : float or None
        The same for nine years in ten; None where there are too few years to say.
    through : tuple of int
        Years without a dry day when nobody saves, when saving starts on the day `start` (today
        where that is no day to come), and when it starts today.
    """

    shares: dict[str, float]
    latest: Floats
    start: float | None
    through: tuple[int, int, int]


def read_saving(texts: Sequence[str], scenario: Scenario) -> dict[str, float]:
    """Read what draws do without while saving.

    Parameters
    ----------
    texts : sequence of str
        "25 %" for every draw but the animals', or one share for each draw named: "house=20 %".

    Raises
    ------
    InputError
        An unknown draw, or what is no share.
    """
    names = [draw.name for draw in scenario.draw]
    shares = dict.fromkeys((d.name for d in scenario.draw if not isinstance(d, Livestock)), 0.0)
    if len(texts) == 1 and "=" not in texts[0]:
        return dict.fromkeys(shares, read(texts[0], "share"))
    faults = []
    found: dict[str, float] = {}
    for text in texts:
        name, sign, share = text.rpartition("=")
        if not sign or name.strip() not in names:
            faults.append(f'--saving {quoted(text)}: write a draw and its share, such as "{names[0]}=20 %"')
            continue
        try:
            found[name.strip()] = read(share.strip(), "share")
        except InputError as fault:
            faults += [f"--saving for draw '{name.strip()}': {said}" for said in fault.faults]
    if faults:
        raise InputError(faults)
    return found


def first_day(seen: Outlook, shares: Mapping[str, float]) -> Saving:
    """Find, for every trace, the last day on which saving can start, and the day that serves nine in ten.

    A later start is taken to help no trace that an earlier one does not.

    Parameters
    ----------
    seen : Outlook
        The traces without saving.
    shares : mapping of str to float
        What each draw does without from that day on [0..1].
    """
    latest = np.array([_latest(seen, i, shares) for i in range(len(seen.traces))])
    start = order(latest, FAILING)
    never = int(np.isinf(latest).sum())
    today = int((latest >= 0.0).sum())
    then = today if start is None or not 0.0 <= start < NEVER else _through(seen, shares, int(start))
    return Saving(dict(shares), latest, start, (never, then, today))


def _through(seen: Outlook, shares: Mapping[str, float], start: int) -> int:
    """How many traces have no dry day if saving starts on a day; counted, not taken from the bisection."""
    return sum(_is_through(seen, i, shares, start) for i in range(len(seen.traces)))


def _is_through(seen: Outlook, i: int, shares: Mapping[str, float], start: int) -> bool:
    future = seen.futures[i]
    changed = replace(future, holding=saving_from(future.holding, shares, start))
    return not trace(seen.scenario, changed, seen.start).dry.any()


def _latest(seen: Outlook, i: int, shares: Mapping[str, float]) -> float:
    """Bisect between today, if saving from today helps, and the day after the first dry one."""
    first_dry = seen.first_dry[i]
    if first_dry == NEVER:
        return NEVER
    if not _is_through(seen, i, shares, 0):
        return NOT_EVEN_TODAY
    helps, late = 0, int(first_dry) + 1
    while late - helps > 1:
        middle = (helps + late) // 2
        helps, late = (middle, late) if _is_through(seen, i, shares, middle) else (helps, middle)
    return float(helps)


def saving_from(holding: Holding, shares: Mapping[str, float], start: int) -> Holding:
    """The holding with draws that do with less from the day `start` on."""
    wanted = [list(row) for row in holding.uses.wanted]
    asks = [list(row) for row in holding.beds.asks]
    for d, draw in enumerate(holding.draws):
        keeps = 1.0 - shares.get(draw.name, 0.0)
        bed = holding.uses.bed[d]
        row = asks[bed] if bed >= 0 else wanted[d]
        row[start:] = [amount * keeps for amount in row[start:]]
    return replace(holding, uses=holding.uses._replace(wanted=wanted), beds=holding.beds._replace(asks=asks))
