"""Every combination of some dials at once: each part of the holding is built alone, then combined.

A roof's numbers do not depend on a tank's, so 256 roof areas and 256 capacities need 512 holdings built,
not 65,536. That no two parts change the same number is checked, not assumed.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import chain, product

import numpy as np
import numpy.typing as npt

from holdwater.scenario import ScenarioFile
from holdwater.studies.batch import Batch, Site
from holdwater.studies.dials import Grid
from holdwater.studies.engine import Block, Told, gather, one_by_one
from holdwater.studies.outcome import Outcome
from holdwater.studies.program import Floats, Ready, alike
from holdwater.studies.specialise import WIDTH


@dataclass
class Part:
    """Dials that turn one part of the holding, and the holdings they make.

    Attributes
    ----------
    dials : list of int
        Places of the dials in the grid.
    combinations : ndarray of int, shape (c,)
        Which combinations of their values, the last dial turning fastest.
    readies : list of Ready
        The holding of each of them.
    """

    dials: list[int]
    combinations: npt.NDArray[np.int64]
    readies: list[Ready]

    def only(self, places: Sequence[int]) -> Part:
        """The part with some of its combinations."""
        return Part(self.dials, self.combinations[list(places)], [self.readies[i] for i in places])


def run_grid(
    base: ScenarioFile, site: Site, grid: Grid, told: Told | None = None, threads: int | None = None
) -> Outcome:
    """Run every combination of the dials of a grid, the last dial turning fastest.

    Parameters
    ----------
    base : ScenarioFile
        The scenario the dials are turned in.
    told : callable, optional
        Called with the number of designs done since the last call.

    Raises
    ------
    InputError
        A path or a value does not fit the scenario.
    """
    starts = base.scenario.run.year_starts
    return gather(site, grid.size, blocks_of(base, site, grid), starts, told, threads)


def blocks_of(base: ScenarioFile, site: Site, grid: Grid) -> Iterator[Block]:
    """Blocks of every combination of the dials of a grid, the last dial turning fastest.

    Built part by part where the dials turn different parts of the holding; in full where they do not, or
    where two parts change the same thing after all.
    """
    starts, parts = base.scenario.run.year_starts, grid.parts()
    if len(parts) > 1:
        groups = _by_structure(base, site, grid, [_part(base, site, grid, dials) for dials in parts])
        mixtures = [Mixture.of(site, middle, group, starts) for middle, group in groups]
        apart = [mixture for mixture in mixtures if mixture is not None]
        if groups and len(apart) == len(mixtures):
            return chain.from_iterable(mixture.blocks(grid) for mixture in apart)
    every = range(len(grid.dials))
    places = product(*(range(n) for n in grid.shape))
    designs = (site.ready(grid.file(base, every, at).scenario) for at in places)
    return one_by_one(site, designs, starts)


def _part(base: ScenarioFile, site: Site, grid: Grid, dials: list[int]) -> Part:
    places = list(product(*(range(grid.shape[d]) for d in dials)))
    readies = [site.ready(grid.file(base, dials, at).scenario) for at in places]
    return Part(dials, np.arange(len(places)), readies)


def _by_structure(
    base: ScenarioFile, site: Site, grid: Grid, parts: list[Part]
) -> list[tuple[Ready, list[Part]]]:
    """The holding and its parts, once for every structure it takes; none if several parts change it.

    A capacity moves a tank's lip, and with it the tank that spills first: then the other parts are built
    again beside a tank of each sort.
    """
    middle = site.ready(base.scenario)
    (middle,) = _alike([middle], parts)
    sorts = [[ready.structure() for ready in part.readies] for part in parts]
    turning = [p for p, found in enumerate(sorts) if {*found, middle.structure()} != {middle.structure()}]
    if len(turning) > 1:
        return []
    if not turning:
        return [(middle, parts)]
    shapes = sorts[turning[0]]
    groups = []
    for shape in dict.fromkeys(shapes):
        of_shape = parts[turning[0]].only([i for i, each in enumerate(shapes) if each == shape])
        at = np.unravel_index(of_shape.combinations[0], tuple(grid.shape[d] for d in of_shape.dials))
        here = grid.file(base, of_shape.dials, [int(i) for i in at])
        others = [_part(here, site, grid, part.dials) for p, part in enumerate(parts) if p != turning[0]]
        groups.append((site.ready(here.scenario), [of_shape, *others]))
    middles = _alike([each for each, _ in groups], [part for _, group in groups for part in group])
    groups = [(each, group) for each, (_, group) in zip(middles, groups, strict=True)]
    for each, group in groups:
        if {ready.structure() for part in group for ready in part.readies} != {each.structure()}:
            return []
    return groups


def _alike(middles: list[Ready], parts: Sequence[Part]) -> list[Ready]:
    """Write the same parts for all holdings of a study (`program.alike`), those of `parts` in place."""
    flat = alike([*middles, *(ready for part in parts for ready in part.readies)])
    flat, middles = flat[len(middles) :], flat[: len(middles)]
    for part in parts:
        part.readies, flat = flat[: len(part.readies)], flat[len(part.readies) :]
    return middles


def _order(grid: Grid, dials: Sequence[int]) -> npt.NDArray[np.int64]:
    """For every design of the grid the combination of these dials it has."""
    at = np.unravel_index(np.arange(grid.size), grid.shape)
    shape = tuple(grid.shape[d] for d in dials)
    return np.asarray(np.ravel_multi_index(tuple(at[d] for d in dials), shape), dtype=np.int64)


def _places(part: Part, order: npt.NDArray[np.int64]) -> npt.NDArray[np.int64]:
    """Where in a part the combination of each design stands, -1 where it is not among them."""
    places = np.full(int(order.max()) + 1, -1)
    places[part.combinations[part.combinations <= order.max()]] = np.arange(part.combinations.size)
    return np.asarray(places[order], dtype=np.int64)


@dataclass
class Mixture:
    """Numbers and daily tables of every part, and which of them are its own.

    Attributes
    ----------
    middle : Ready
        The holding the parts are changes of.
    columns : list of ndarray, shape (rows, combinations)
        Numbers of each part's holdings.
    own : list of ndarray of bool, shape (rows,)
        Rows the part changes.
    kinds : list of ndarray of int, shape (combinations,)
        Which set of daily tables each combination has.
    """

    site: Site
    middle: Ready
    parts: list[Part]
    year_starts: int
    columns: list[Floats]
    own: list[npt.NDArray[np.bool_]]
    kinds: list[npt.NDArray[np.int64]]
    daily: list[list[Floats]]

    @classmethod
    def of(cls, site: Site, middle: Ready, parts: list[Part], year_starts: int) -> Mixture | None:
        """Sort out what each part changes; None if two parts change the same number."""
        batch = Batch(site, middle, year_starts)
        here = batch.program.column(middle)
        columns = [np.stack([batch.program.column(r) for r in part.readies], axis=1) for part in parts]
        own = [(each != here[:, None]).any(axis=1) for each in columns]
        kinds, daily, changed = [], [], []
        for part in parts:
            names = [tuple(id(row) for row in ready.series().values()) for ready in part.readies]
            first = {name: i for i, name in reversed(list(enumerate(names)))}
            places = list(dict.fromkeys(names))
            kinds.append(np.array([places.index(name) for name in names]))
            daily.append([batch.program.series(part.readies[first[name]], site.met.sky) for name in places])
            changed.append(np.any([(each != batch.daily).any(axis=1) for each in daily[-1]], axis=0))
        if (np.sum(own, axis=0) > 1).any() or (np.sum(changed, axis=0) > 1).any():
            return None
        return cls(site, middle, parts, year_starts, columns, own, kinds, daily)

    def blocks(self, grid: Grid) -> Iterator[Block]:
        """Blocks of designs that share their daily tables."""
        base = Batch(self.site, self.middle, self.year_starts)
        here = base.program.column(self.middle)
        orders = [_places(part, _order(grid, part.dials)) for part in self.parts]
        here_at_all = np.all([order >= 0 for order in orders], axis=0)
        sorts = np.stack([kinds[order] for kinds, order in zip(self.kinds, orders, strict=True)])
        for sort in np.unique(sorts[:, here_at_all], axis=1).T:
            members = np.flatnonzero((sorts == sort[:, None]).all(axis=0) & here_at_all)
            batch = Batch(self.site, self.middle, self.year_starts, self._daily(base.daily, sort))
            for start in range(0, members.size, WIDTH):
                where = members[start : start + WIDTH]
                columns = np.repeat(here[:, None], where.size, axis=1)
                for own, numbers, order in zip(self.own, self.columns, orders, strict=True):
                    columns[own] = numbers[own][:, order[where]]
                yield batch, where, columns, int(here_at_all.sum())

    def _daily(self, middle: Floats, sort: npt.NDArray[np.int64]) -> Floats:
        mixed = middle.copy()
        for tables, kind in zip(self.daily, sort, strict=True):
            changed = (tables[kind] != middle).any(axis=1)
            mixed[changed] = tables[kind][changed]
        return mixed
