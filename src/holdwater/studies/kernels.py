"""Compiled code for many designs, plain Python for a few: whichever is done first.

Loading the compiler and compiling cost seconds, once for every structure of holding; a day in plain Python
costs microseconds. As long as the designs run in plain Python have cost less than compiling would, the next
ones go the same way: so the choice never costs more than twice the best one, whatever comes after.
"""

from __future__ import annotations

import sys
from collections.abc import Callable, Hashable

import numpy as np

from holdwater import day
from holdwater.studies import compiled
from holdwater.studies.program import Floats, Kernels, Ready, Written, write_program

PLAIN = 20e-9
"""Time of a line of written code in plain Python, for one design and day [s]; measured."""
COMPILE = 5e-3
"""Time to compile a line of written code [s]; measured."""
LOAD = 0.2
"""Time to load compiled code of one structure [s]; measured."""
IMPORT = 0.3
"""Time to load the compiler [s]; measured."""

Doing = Callable[[str], None]

_WRITTEN: dict[Hashable, Written] = {}
_COMPILED: dict[Hashable, Kernels] = {}
_PLAIN: dict[Hashable, Kernels] = {}
_SPENT: dict[Hashable, float] = {}


def program_of(ready: Ready, sky: day.Sky, snows: bool) -> tuple[Hashable, Written]:
    """Written code for a structure, written once, and the key it goes by."""
    key = (ready.structure(), snows)
    if key not in _WRITTEN:
        _WRITTEN[key] = write_program(ready, sky)
    return key, _WRITTEN[key]


def kernels(key: Hashable, program: Written, designs: int, days: int, doing: Doing) -> tuple[Kernels, bool]:
    """Functions that run a structure, and whether they are compiled.

    Parameters
    ----------
    designs, days : int
        How much is known to be run.
    doing : callable
        Told when compiling starts, in words.
    """
    if key in _COMPILED:
        return _COMPILED[key], True
    known = PLAIN * program.lines / program.valves * designs * days
    if _SPENT.get(key, 0.0) + known < _until_compiled(program):
        if key not in _PLAIN:
            _PLAIN[key] = Kernels.of(program, compiled.plain(program.source))
        return _PLAIN[key], False
    kept = compiled.is_kept(program.source)
    doing("loading the compiled days" if kept else "compiling the days for this holding, once")
    _COMPILED[key] = Kernels.of(program, compiled.load(program.source))
    doing("running the designs")
    return _COMPILED[key], True


def _until_compiled(program: Written) -> float:
    """Time until compiled code could start [s]."""
    loaded = 0.0 if "numba" in sys.modules else IMPORT
    return loaded + (LOAD if compiled.is_kept(program.source) else COMPILE * program.lines)


def spend(key: Hashable, seconds: float) -> None:
    """Note time that a structure has taken in plain Python."""
    _SPENT[key] = _SPENT.get(key, 0.0) + seconds


def run_plain(
    use: Kernels, column: Floats, daily: list[list[float]], stretches: list[tuple[int, int, int, int]]
) -> list[list[float]]:
    """Run one design in plain Python.

    Parameters
    ----------
    column : ndarray, shape (rows,)
        Its numbers.
    daily : list of list of float
        Its tables of days.
    stretches : list of tuple
        First day, day after the last, valves, number of the year.

    Returns
    -------
    list of list of float
        Its numbers at the end of every stretch.
    """
    try:
        return _run(use, column.tolist(), daily, stretches)
    except (ZeroDivisionError, OverflowError, ValueError):
        # what is not chosen was worked out too, as compiled code does: NumPy's numbers carry inf and nan through
        with np.errstate(all="ignore"):
            return _run(use, list(column), daily, stretches)


def _run(
    use: Kernels, numbers: list[float], daily: list[list[float]], stretches: list[tuple[int, int, int, int]]
) -> list[list[float]]:
    ends = []
    before: int | None = None
    for first, last, valves, _ in stretches:
        if before is not None and before != valves:
            use.turning[before, valves](numbers, daily, 0, 1)
        use.daily[valves](numbers, daily, first, last)
        ends.append(list(numbers))
        before = valves
    return ends
