"""Thousands of holdings through the same weather: blocks of designs, one thread per core.

Only the running scores of a design are kept, never its days.
"""

from __future__ import annotations

import os
from collections import Counter
from collections.abc import Callable, Iterable, Iterator, Sequence
from concurrent.futures import FIRST_COMPLETED, Future, ThreadPoolExecutor, wait

import numpy as np

from holdwater.scores import year_labels
from holdwater.studies.batch import Batch, Places, Site
from holdwater.studies.outcome import Outcome
from holdwater.studies.program import Floats, Ready, alike
from holdwater.studies.specialise import WIDTH

__all__ = ["Outcome", "Site", "gather", "one_by_one", "run_all"]

Told = Callable[[int], None]

Block = tuple[Batch, Places, Floats, int]
"""Designs of one batch: where their scores belong, their numbers, and how many of their structure are known of."""


def run_all(
    site: Site,
    readies: Sequence[Ready],
    year_starts: int = 1,
    told: Told | None = None,
    threads: int | None = None,
) -> Outcome:
    """Run holdings that may differ in anything, each given in full.

    Parameters
    ----------
    site : Site
        The weather they share.
    readies : sequence of Ready
        The holdings.
    year_starts : int
        Month in which years of the tables start.
    told : callable, optional
        Called with the number of designs done since the last call.
    threads : int, optional
        How many cores to use; all by default.
    """
    blocks = one_by_one(site, readies, year_starts)
    return gather(site, len(readies), blocks, year_starts, told, threads)


AT_ONCE = 4096
"""Holdings in memory together while they are built one by one."""


def one_by_one(site: Site, readies: Iterable[Ready], year_starts: int) -> Iterator[Block]:
    """Blocks of holdings that are alike, from a stream of holdings given in full.

    They are taken in `AT_ONCE` at a time, so that many need not be in memory together.
    """
    start = 0
    for part in _parts(readies):
        part = alike(part)
        groups: dict[tuple[object, object], list[int]] = {}
        for i, ready in enumerate(part):
            key = (ready.structure(), tuple(id(row) for row in ready.series().values()))
            groups.setdefault(key, []).append(i)
        known = Counter(structure for (structure, _), members in groups.items() for _ in members)
        for (structure, _), members in groups.items():
            batch = Batch(site, part[members[0]], year_starts)
            columns = np.stack([batch.program.column(part[i]) for i in members], axis=1)
            yield batch, start + np.array(members), columns, known[structure]
        start += len(part)


def _parts(readies: Iterable[Ready]) -> Iterator[list[Ready]]:
    part: list[Ready] = []
    for ready in readies:
        part.append(ready)
        if len(part) == AT_ONCE:
            yield part
            part = []
    if part:
        yield part


def gather(
    site: Site,
    count: int,
    blocks: Iterator[Block],
    year_starts: int,
    told: Told | None,
    threads: int | None = None,
) -> Outcome:
    """Run designs and put their scores where they belong: many on all cores, a few here; Ctrl-C stops at once."""
    years = np.unique(year_labels(site.record.days, year_starts))
    into = Outcome.empty(years, site.record.days.size, 0, count)
    tell = told or (lambda done: None)
    waiting: dict[Future[tuple[Floats, Floats]], tuple[Batch, Places]] = {}
    cores = threads or os.cpu_count() or 1
    pool = ThreadPoolExecutor(cores)
    try:
        for batch, where, columns, known in blocks:
            _make_room(into, batch.backups)
            use, compiled = batch.choose(known)
            if not compiled:
                for i in range(where.size):
                    batch.keep(into, where[i : i + 1], batch.run_plainly(use, columns[:, i]))
                    tell(1)
                continue
            for start in range(0, where.size, WIDTH):
                part = slice(start, start + WIDTH)
                waiting[pool.submit(batch.run, use, columns[:, part])] = (batch, where[part])
                while len(waiting) >= 4 * cores:
                    _collect(waiting, into, tell)
        while waiting:
            _collect(waiting, into, tell)
    finally:
        pool.shutdown(wait=False, cancel_futures=True)
    return into


def _make_room(into: Outcome, backups: int) -> None:
    """Rows for designs that have more backups than those before."""
    more = backups - into.supplied.shape[0]
    if more > 0:
        into.supplied = np.pad(into.supplied, ((0, more), (0, 0)))
        into.loads = np.pad(into.loads, ((0, more), (0, 0)))


def _collect(
    waiting: dict[Future[tuple[Floats, Floats]], tuple[Batch, Places]], into: Outcome, tell: Told
) -> None:
    """Take in the blocks that are done."""
    done, _ = wait(waiting, return_when=FIRST_COMPLETED)
    for future in done:
        batch, where = waiting.pop(future)
        batch.keep(into, where, future.result())
        tell(where.size)
