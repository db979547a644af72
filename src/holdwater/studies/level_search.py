"""The lowest misfit anywhere, found without trusting slopes: a coarse look everywhere, then descents with wide steps.

A holding switches: a bed asks or not, a tank runs over or not, a draw is held back or not. So the misfit has
steps and kinks, and a slope taken over a short difference may be that of a step. Here every difference is taken
wide at first and halves only where nothing is gained, each move must lower the misfit itself, and the descents
start from the best of many places.

References
----------
Damped steps on differences: Levenberg 1944, Marquardt 1963; comparing values alone, never slopes: Hooke & Jeeves
1961. Even spread of the first places: additive recurrence on powers of a root of x^(d+1) = x + 1. From memory.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, field

import numpy as np
import numpy.typing as npt

Floats = npt.NDArray[np.float64]

DAMPING = (0.0, 0.03, 1.0)
"""Shares of the diagonal added to the normal equations, one leap for each."""
PARTS = (0.5, 0.2)
"""Parts of the whole leap that are tried too."""
NARROWEST = 1e-4
"""A descent ends when its differences are this share of the step that would matter."""
APART = 0.12
"""Descents start at least this share of the whole range from each other, along one number or more."""
STARTS = 6
"""Descents, besides the one from the numbers as written."""


@dataclass(frozen=True)
class Point:
    """Numbers, and how the simulation differs from the readings there.

    Attributes
    ----------
    numbers : ndarray, shape (numbers,)
        All of them, fitted or not.
    residuals : ndarray, shape (readings,)
        Reading less simulation [L].
    free : tuple of int
        Places of the numbers that may move.
    """

    numbers: Floats
    residuals: Floats
    free: tuple[int, ...]

    @property
    def sum(self) -> float:
        """Sum of squares of the residuals [L2]."""
        return float(self.residuals @ self.residuals)


@dataclass
class Field:
    """The misfit over all values of the numbers; it remembers every place it was asked for.

    Attributes
    ----------
    residuals : callable
        Reading less simulation of many trials: shape (trials, numbers) to (trials, readings).
    low, high : ndarray
        Lowest and highest value of each number.
    steps : ndarray
        A change of each number that would matter.
    """

    residuals: Callable[[Floats], Floats]
    low: Floats
    high: Floats
    steps: Floats
    tried: list[Floats] = field(default_factory=list)
    sums: list[Floats] = field(default_factory=list)

    def look(self, many: Floats) -> Floats:
        """Residuals of trials."""
        found = self.residuals(many)
        self.tried.append(many)
        self.sums.append(np.einsum("ij,ij->i", found, found))
        return found

    def point(self, numbers: Floats, free: Sequence[int]) -> Point:
        """One place."""
        numbers = np.clip(numbers, self.low, self.high)
        return Point(numbers, self.look(numbers[None])[0], tuple(free))

    def below(self, threshold: float) -> Floats:
        """All places tried whose sum of squares is not above a threshold, shape (places, numbers)."""
        return np.concatenate(self.tried)[np.concatenate(self.sums) <= threshold]


def lowest(place: Field, written: Floats, free: Sequence[int], wide: Floats) -> Point:
    """The place with the least sum of squares.

    Parameters
    ----------
    place : Field
        The misfit.
    written : ndarray
        Numbers as the scenario has them; those that are not free stay so.
    free : sequence of int
        Which may move.
    wide : ndarray, shape (numbers, 3)
        Where to look first: from, to, and the power that crowds the places towards the first.
    """
    places = spread(written, free, wide, 512 * 2 ** (len(free) - 2))
    places = np.clip(np.concatenate([written[None], places]), place.low, place.high)
    residuals = place.look(places)
    sums = np.einsum("ij,ij->i", residuals, residuals)
    chosen = apart(places / (wide[:, 1] - wide[:, 0]), sums, STARTS)
    starts = [Point(places[i], residuals[i], tuple(free)) for i in {0: None, **dict.fromkeys(chosen)}]
    ends = descend(place, starts, place.steps, 16)
    return min(ends, key=lambda end: end.sum)


def spread(written: Floats, free: Sequence[int], wide: Floats, count: int) -> Floats:
    """Places spread evenly over the free numbers, shape (count, numbers)."""
    root = 2.0
    for _ in range(40):
        root = (1.0 + root) ** (1.0 / (len(free) + 1))
    shares = (0.5 + np.outer(np.arange(1, count + 1), root ** -np.arange(1.0, len(free) + 1))) % 1.0
    places = np.repeat(written[None], count, axis=0)
    for column, i in enumerate(free):
        start, end, power = wide[i]
        places[:, i] = start + (end - start) * shares[:, column] ** power
    return places


def apart(places: Floats, sums: Floats, count: int) -> list[int]:
    """The best places, none near a better one."""
    chosen: list[int] = []
    for i in np.argsort(sums, kind="stable").tolist():
        if all(np.abs(places[i] - places[j]).max() > APART for j in chosen):
            chosen.append(i)
        if len(chosen) == count:
            break
    return chosen


def descend(place: Field, starts: Sequence[Point], width: Floats, rounds: int) -> list[Point]:
    """Go down from each start, all of them side by side.

    Parameters
    ----------
    place : Field
        The misfit.
    starts : sequence of Point
        Where from; each says what may move.
    width : ndarray, shape (numbers,)
        First difference of each number.
    rounds : int
        Most moves of each.

    Returns
    -------
    list of Point
        Where each ended: nowhere above its start.
    """
    now, widths = list(starts), [1.0] * len(starts)
    for _ in range(rounds):
        going = [i for i, share in enumerate(widths) if share > NARROWEST]
        if not going:
            break
        beside = _look(place, [_beside(place, now[i], width * widths[i]) for i in going])
        leaps = [
            _leaps(place, now[i], at, residuals) for i, (at, residuals) in zip(going, beside, strict=True)
        ]
        for i, tried, leapt in zip(going, beside, _look(place, leaps), strict=True):
            best = _best(now[i], [tried, leapt])
            moved = float((np.abs(best.numbers - now[i].numbers) / width).max())
            gain = now[i].sum - best.sum
            if moved < widths[i] or gain < 1e-3 * now[i].sum:
                widths[i] *= 0.5 if gain > 0.0 else 0.25
            now[i] = best
    return now


def _look(place: Field, many: Sequence[Floats]) -> list[tuple[Floats, Floats]]:
    """Residuals of several sets of trials at once."""
    residuals = place.look(np.concatenate(many))
    ends = np.cumsum([len(one) for one in many])[:-1]
    return list(zip(many, np.split(residuals, ends), strict=True))


def _best(start: Point, tried: Sequence[tuple[Floats, Floats]]) -> Point:
    """The best of a start and what was tried from it."""
    best, least = start, start.sum
    for numbers, residuals in tried:
        sums = np.einsum("ij,ij->i", residuals, residuals)
        i = int(sums.argmin()) if sums.size else 0
        if sums.size and sums[i] < least:
            best, least = Point(numbers[i], residuals[i], start.free), float(sums[i])
    return best


def _beside(place: Field, start: Point, width: Floats) -> Floats:
    """Each free number once more and once less, shape (2 x free, numbers)."""
    found = np.repeat(start.numbers[None], 2 * len(start.free), axis=0)
    for row, i in enumerate(start.free):
        found[2 * row, i] = min(start.numbers[i] + width[i], place.high[i])
        found[2 * row + 1, i] = max(start.numbers[i] - width[i], place.low[i])
    return found


def slopes(free: Sequence[int], beside: Floats, residuals: Floats) -> Floats:
    """Change of the residuals with each free number, shape (readings, free), from `_beside`."""
    columns = []
    for row, i in enumerate(free):
        over = beside[2 * row, i] - beside[2 * row + 1, i]
        columns.append((residuals[2 * row] - residuals[2 * row + 1]) / over)
    return np.stack(columns, axis=1)


def around(place: Field, start: Point, width: Floats) -> Floats:
    """Change of the residuals with each free number over differences of this width."""
    beside = _beside(place, start, width)
    return slopes(start.free, beside, place.look(beside))


def _leaps(place: Field, start: Point, beside: Floats, residuals: Floats) -> Floats:
    """Where the misfit would be least if the residuals changed as they do around here, shape (leaps, numbers)."""
    if not start.free:
        return start.numbers[None][:0]
    free = list(start.free)
    slope = slopes(free, beside, residuals)
    low, high = place.low[free] - start.numbers[free], place.high[free] - start.numbers[free]
    normal, pull = slope.T @ slope, -slope.T @ start.residuals
    leaps = [bounded(normal, pull, damping, low, high) for damping in DAMPING]
    leaps += [part * leaps[0] for part in PARTS]
    found = np.repeat(start.numbers[None], len(leaps), axis=0)
    found[:, free] = np.clip(start.numbers[free] + np.array(leaps), place.low[free], place.high[free])
    return found


def bounded(normal: Floats, pull: Floats, damping: float, low: Floats, high: Floats) -> Floats:
    """Solve damped normal equations; what would leave its range stops there, and the others are solved again."""
    scale = np.sqrt(np.maximum(np.diag(normal), 1e-300))
    matrix = normal / np.outer(scale, scale) + (damping + 1e-10) * np.eye(len(scale))
    pull, low, high = pull / scale, low * scale, high * scale
    step, loose = np.zeros(len(scale)), np.ones(len(scale), dtype=bool)
    for _ in range(len(scale)):
        inner = np.ix_(loose, loose)
        step[loose] = np.linalg.solve(matrix[inner], pull[loose] - matrix[loose][:, ~loose] @ step[~loose])
        outside = loose & ((step < low) | (step > high))
        if not outside.any():
            break
        step[outside] = np.clip(step[outside], low[outside], high[outside])
        loose &= ~outside
        if not loose.any():
            break
    return np.asarray(step / scale)
