"""One design through its weather, day by day, fast enough to follow a hand on a dial.

The daily loop written out for the holding (`holdwater.studies.specialise`) is stepped one day at a time and
looked at after every day. Its running scores tell which days were dry; nothing of the physics is repeated.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from itertools import pairwise
from typing import Any

import numpy as np
import numpy.typing as npt

from holdwater.scenario.schema import Garden, Scenario
from holdwater.spells import runs
from holdwater.studies.batch import Batch, Shared, Site
from holdwater.studies.program import Kernels, Ready
from holdwater.studies.specialise import WIDTH

Floats = npt.NDArray[np.float64]
Flags = npt.NDArray[np.bool_]

MOST_TABLES = 240
"""Tables of days kept for dials turned back; beyond it all are worked out again."""
WATCHED = ("asked", "delivered", "dry_days", "unserved_days", "held_back_days")


@dataclass(frozen=True)
class Trial:
    """What the page needs of one run [L].

    Attributes
    ----------
    days : ndarray of datetime64[D], shape (n,)
        The days.
    rain : ndarray, shape (n,)
        Precipitation [mm].
    drawable : ndarray, shape (n,)
        Water above the outlets at the end of each day [L].
    lacking : ndarray, shape (n,)
        What the tanks could not give on each day [L].
    dry, unserved, held_back : ndarray of bool, shape (n,)
        Days on which the tanks fell short; on which backup fell short too; on which a draw held back by rule.
    capacity, reserve : float
        Drawable water when full, and what of it ordinary draws leave alone [L].
    supplied, loads, cost : float
        Backup water [L], its loads, and what it cost.
    beds : dict of str to int
        Days on which each bed was short of water.
    """

    days: npt.NDArray[np.datetime64]
    rain: Floats
    drawable: Floats
    lacking: Floats
    dry: Flags
    unserved: Flags
    held_back: Flags
    capacity: float
    reserve: float
    supplied: float
    loads: int
    cost: float
    beds: dict[str, int] = field(default_factory=dict)

    @property
    def spells(self) -> npt.NDArray[np.int64]:
        """First day and day after the last of every dry spell, shape (spells, 2)."""
        return runs(self.dry)


def tried(site: Site, scenario: Scenario) -> Trial:
    """Run one design.

    Parameters
    ----------
    site : Site
        The weather of the run.
    scenario : Scenario
        The design.

    Raises
    ------
    InputError
        The weather lacks what this holding asks for.
    """
    if len(site.memo.rows) > MOST_TABLES:
        site.memo = Shared()
    ready = site.ready(scenario)
    batch = Batch(site, ready, scenario.run.year_starts)
    use, compiled = batch.choose(1)
    column = batch.program.column(ready)
    step = _step_compiled if compiled else _step_plainly
    seen, ends = step(batch, use, column, _watched(batch))
    return _read(site, batch, ready, seen, ends)


def _watched(batch: Batch) -> list[int]:
    """Rows looked at after every day: the storage of every group, then the running scores."""
    rows = batch.program.layout.rows
    stores = [place for (space, name, _), place in rows.items() if (space, name) == ("state", "drawable")]
    return [*stores, *(batch.rows[name][0] for name in WATCHED)]


def _step_plainly(batch: Batch, use: Kernels, column: Floats, watched: list[int]) -> tuple[Floats, Floats]:
    daily = batch.daily.tolist()
    try:
        return _stepped(batch, use, column.tolist(), daily, watched)
    except (ZeroDivisionError, OverflowError, ValueError):  # as `kernels.run_plain` does
        with np.errstate(all="ignore"):
            return _stepped(batch, use, list(column), daily, watched)


def _stepped(
    batch: Batch, use: Kernels, numbers: list[Any], daily: list[list[float]], watched: list[int]
) -> tuple[Floats, Floats]:
    seen: list[list[float]] = []
    before: int | None = None
    for first, last, valves, _ in batch.stretches:
        if before is not None and before != valves:
            use.turning[before, valves](numbers, daily, 0, 1)
        one_day = use.daily[valves]
        for day in range(first, last):
            one_day(numbers, daily, day, day + 1)
            seen.append([numbers[place] for place in watched])
        before = valves
    return np.array(seen, dtype=float), np.array(numbers, dtype=float)


def _step_compiled(batch: Batch, use: Kernels, column: Floats, watched: list[int]) -> tuple[Floats, Floats]:
    block = np.repeat(column[:, None], WIDTH, axis=1)
    flat, seen = block.reshape(-1), np.empty((batch.site.record.days.size, len(watched)))
    before: int | None = None
    for first, last, valves, _ in batch.stretches:
        if before is not None and before != valves:
            use.turning[before, valves](flat, batch.daily, 0, 1)
        one_day = use.daily[valves]
        for day in range(first, last):
            one_day(flat, batch.daily, day, day + 1)
            seen[day] = block[watched, 0]
        before = valves
    return seen, block[:, 0]


def _read(site: Site, batch: Batch, ready: Ready, seen: Floats, ends: Floats) -> Trial:
    """Turn the rows watched into what they mean."""
    valves, stores = ready.valves(), seen.shape[1] - len(WATCHED)
    for first, last, which, _ in batch.stretches:  # a group there is none of under these valves holds nothing
        seen[first:last, len(valves[which].capacity) : stores] = 0.0
    asked, delivered, dry, unserved, held = np.diff(seen[:, stores:], axis=0, prepend=0.0).T
    prices = ends[len(batch.program.layout.rows) :]
    given = ends[[*batch.rows.get("supplied", []), *batch.rows.get("served", [])]]
    loads = ends[batch.rows.get("loads", [])]
    beds = [draw.name for draw in ready.holding.draws if isinstance(draw, Garden)]
    thirsty = ends[batch.rows.get("stress_days", [])]
    return Trial(
        days=site.record.days,
        rain=np.asarray(site.record.data["rain"].values, dtype=float),
        drawable=seen[:, :stores].sum(axis=1),
        lacking=np.where(dry > 0.0, asked - delivered, 0.0),
        dry=dry > 0.0,
        unserved=unserved > 0.0,
        held_back=held > 0.0,
        capacity=sum(row[0] for row in valves[0].capacity),
        reserve=sum(row[0] for row in valves[0].reserve),
        supplied=float(given.sum()),
        loads=round(float(loads.sum())),
        beds={name: round(float(days)) for name, days in zip(beds, thirsty, strict=True)},
        cost=float(given @ prices[: given.size] + loads @ prices[given.size : given.size + loads.size]),
    )


def joined(flags: Flags, apart: int) -> list[tuple[int, int]]:
    """Runs of True less than `apart` days from each other as one: first day and day after the last."""
    found = runs(flags).tolist()
    if not found:
        return []
    cuts = [i for i, (a, b) in enumerate(pairwise(found), start=1) if b[0] - a[1] >= apart]
    return [(found[i][0], found[j - 1][1]) for i, j in pairwise([0, *cuts, len(found)])]
