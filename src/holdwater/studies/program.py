"""One holding's daily loop, written out and made to run, and the tables it reads, as rows of numbers."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from itertools import pairwise
from types import ModuleType
from typing import Any

import numpy as np
import numpy.typing as npt

from holdwater import day
from holdwater.holding import Holding
from holdwater.scores import year_labels
from holdwater.simulation import blank
from holdwater.studies.specialise import Bundle, Design, Known, Layout, Today, spaces, written

Floats = npt.NDArray[np.float64]
Kernel = Callable[[Any, Any, int, int], None]
FLAGS = ("wets", "seasonal", "filters", "flushes")


@dataclass(frozen=True)
class Ready:
    """A holding ready to run beside others.

    Attributes
    ----------
    holding : Holding
        Its tables.
    opening : day.State
        Its state on the first morning.
    before_spill : bool
        True for YBS.
    """

    holding: Holding
    opening: day.State
    before_spill: bool

    def bundles(self) -> dict[str, Bundle]:
        """Its tables under the names their rows go by; `groups 0`, `groups 1`, .. for the valves."""
        h = self.holding
        named: dict[str, Any] = {
            "roofs": h.roofs,
            "tanks": h.tanks,
            "draws": h.uses,
            "beds": h.beds,
            "helpers": h.helpers,
            "state": self.opening,
        }
        named |= {f"groups {i}": tables for i, tables in enumerate(self.valves())}
        return {space: Bundle(space, tables) for space, tables in named.items()}

    def valves(self) -> list[day.Groups]:
        """The different ways in which the valves stand, in order of their first day."""
        found: list[day.Groups] = []
        for phase in self.holding.phases:
            if phase.tables not in found:
                found.append(phase.tables)
        return found

    def phases(self) -> list[tuple[int, int, int]]:
        """First day, day after the last, and which valves, of every phase."""
        valves = self.valves()
        return [(p.first, p.last, valves.index(p.tables)) for p in self.holding.phases]

    def prices(self) -> list[float]:
        """Price of a volume of every backup's water [per L], those that fill tanks first; then of every load."""
        backups = (*self.holding.refills, *self.holding.direct)
        fees = [b.cost_per_load or 0.0 for b in self.holding.refills]
        return [b.cost_per_volume or 0.0 for b in backups] + fees

    def structure(self) -> tuple[Any, ...]:
        """What must be alike for two holdings to share written code: everything but the numbers."""
        parts: list[Any] = [self.before_spill, tuple(self.phases())]
        for space, bundle in self.bundles().items():
            for name, kind in spaces(bundle):
                held = getattr(bundle.tables, name)
                fixed = kind in ("Numbers", "int")
                parts.append(
                    (space, name, (tuple(held) if isinstance(held, list) else held) if fixed else len(held))
                )
        return tuple(parts)

    def series(self) -> dict[tuple[str, int], list[float]]:
        """Its tables of days, by name and row."""
        found: dict[tuple[str, int], list[float]] = {}
        for bundle in self.bundles().values():
            for name, kind in spaces(bundle):
                if kind == "Daily":
                    found |= {(name, i): row for i, row in enumerate(getattr(bundle.tables, name))}
        return found


def alike(many: Sequence[Ready]) -> list[Ready]:
    """The same holdings with a part that any of them has (a chamber, a filter) written for all of them.

    A part of size 0 changes no bit of the result, so designs that differ only in having it run side by side.
    """
    roofs = [ready.holding.roofs for ready in many]
    if len({len(r.area) for r in roofs}) != 1:
        return list(many)
    flags = {
        name: [int(any(each)) for each in zip(*(getattr(r, name) for r in roofs), strict=True)]
        for name in FLAGS
    }
    leaky = sorted({t for ready in many for t in ready.holding.tanks.leaky})
    return [_with(ready, flags, leaky) for ready in many]


def _with(ready: Ready, flags: dict[str, list[int]], leaky: list[int]) -> Ready:
    holding, roofs = ready.holding, ready.holding.roofs
    roofs = roofs._replace(
        wets=flags["wets"], seasonal=flags["seasonal"], filters=flags["filters"], flushes=flags["flushes"]
    )
    return replace(ready, holding=replace(holding, roofs=roofs, tanks=holding.tanks._replace(leaky=leaky)))


@dataclass(frozen=True)
class Written:
    """The daily loop of one structure of holding, as source.

    Attributes
    ----------
    layout : Layout
        Where every row stands.
    source : str
        Functions `days_0`, `days_1`, .. for the ways the valves stand, and `turn_0_1`, .. between them.
    valves : int
        In how many ways the valves stand.
    turns : list of (int, int)
        Which way follows which.
    """

    layout: Layout
    source: str
    valves: int
    turns: list[tuple[int, int]]

    @property
    def lines(self) -> int:
        """Length of the source: what a day costs in plain Python, and compiling, grow with it."""
        return self.source.count("\n")

    def column(self, ready: Ready) -> Floats:
        """Numbers of one holding in the order of the rows, then its prices.

        Running scores start at 0, the lowest storage at infinity.
        """
        tables = {space: bundle.tables for space, bundle in ready.bundles().items()}
        prices = ready.prices()
        values = np.zeros(len(self.layout.rows) + len(prices))
        for (space, name, row), place in self.layout.rows.items():
            if space != "tally":
                values[place] = getattr(tables[space], name)[row][0]
            elif name == "lowest":
                values[place] = np.inf
        values[len(self.layout.rows) :] = prices
        return values

    def series(self, ready: Ready, sky: day.Sky) -> Floats:
        """Tables of days of one holding, shape (rows, n)."""
        known = ready.series()
        rows = [known.get(key, getattr(sky, key[0], None)) for key in self.layout.series]
        return np.array(rows, dtype=float).reshape(len(rows), len(sky.rain))


@dataclass(frozen=True)
class Kernels:
    """Written code made to run.

    Attributes
    ----------
    daily : list of callable
        The daily loop, one function for each way the valves stand.
    turning : dict
        What happens when the valves turn, by (before, after).
    """

    daily: list[Kernel]
    turning: dict[tuple[int, int], Kernel]

    @classmethod
    def of(cls, program: Written, module: ModuleType) -> Kernels:
        """The functions of a module made from written source."""
        daily = [getattr(module, f"days_{v}") for v in range(program.valves)]
        return cls(daily, {(a, b): getattr(module, f"turn_{a}_{b}") for a, b in program.turns})


def write_program(ready: Ready, sky: day.Sky) -> Written:
    """Write out the daily loop for the structure of a holding."""
    layout, bundles = Layout(), ready.bundles()
    today, sky_bundle = Bundle("today", blank(ready.holding)), Bundle("sky", sky)
    counts = Bundle("tally", tallies(ready.holding))
    order = ("roofs", "tanks", "groups", "draws", "beds", "helpers", "state")
    parts: list[str] = []
    for v, _ in enumerate(ready.valves()):
        here = bundles | {"groups": bundles[f"groups {v}"]}
        one_day = [
            Today(),
            sky_bundle,
            *(here[name] for name in order),
            today,
            Known(ready.before_spill),
            Design(),
        ]
        tally = [*(here[name] for name in ("groups", "draws", "helpers", "state")), today, counts, Design()]
        parts.append(written(f"days_{v}", [("one_day", one_day), ("tally", tally)], layout, daily=True))
    turns = sorted({(a[2], b[2]) for a, b in pairwise(ready.phases())})
    for a, b in turns:
        call = [bundles[f"groups {a}"], bundles[f"groups {b}"], bundles["state"], today, Design()]
        parts.append(written(f"turn_{a}_{b}", [("regroup", call)], layout, daily=False))
    return Written(layout, "\n\n".join(parts), len(ready.valves()), turns)


def tallies(holding: Holding) -> day.Tally:
    """Empty running scores of a holding."""
    rows = {
        "supplied": len(holding.refills),
        "loads": len(holding.refills),
        "served": len(holding.direct),
        "stress_days": len(holding.plans),
    }
    return day.Tally(*([[0.0] for _ in range(rows.get(name, 1))] for name in day.Tally._fields))


def stretches(
    phases: Sequence[tuple[int, int, int]], days: npt.NDArray[np.datetime64], year_starts: int
) -> list[tuple[int, int, int, int]]:
    """Cut the phases where years end: first day, day after the last, valves, number of the year."""
    labels = year_labels(days, year_starts)
    numbers = labels - labels[0]
    turns = (np.flatnonzero(np.diff(labels)) + 1).tolist()
    found = []
    for first, last, valves in phases:
        cuts = [first, *(t for t in turns if first < t < last), last]
        found += [(a, b, valves, int(numbers[a])) for a, b in pairwise(cuts)]
    return found
