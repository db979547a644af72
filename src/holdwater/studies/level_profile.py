"""How far each number can go before the misfit tells: intervals from the profile of the misfit.

Each number is moved away from its best value step by step, and at each step the others find their best again.
Where the least sum of squares has grown by more than chance allows, the interval ends. A slope plays no part in
it, so steps and kinks of the misfit do no harm, and a number that the log cannot tell shows as an interval as
wide as all it may be.

References
----------
Profile of the sum of squares against F(1, readings - numbers): Bates & Watts 1988, Nonlinear Regression Analysis
and Its Applications, ch. 6; why not the linearised interval: Donaldson & Schnabel 1987, Technometrics 29(1):67-82.
Shared by the numbers after Bonferroni. Readings that follow each other count for less, (1 - r) / (1 + r) of them
with a correlation r from one to the next: Bayley & Hammersley 1946, Suppl. J. R. Stat. Soc. 8(2):184-197. All
from memory.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from holdwater.studies.level_search import Field, Point, around, bounded, descend

Floats = npt.NDArray[np.float64]
Places = npt.NDArray[np.int64]

CONFIDENCE = 0.95
"""Chance that all numbers fitted lie within their intervals together."""
FINEST = 0.001
"""No gauge is read nearer than this share of the capacity."""
REACH = (0.5, 0.75, 1.0, 1.3, 1.7, 2.3, 3.2, 4.5, 7.0, 12.0, 25.0, 60.0, 150.0)
"""How far out the profile is followed, in half widths of the first guess."""
BEYOND = 2
"""A profile is followed for so many steps beyond its limit: it may come back."""
BETTER = 1e-6
"""A share by which the sum of squares must fall to begin again from a better place."""


@dataclass(frozen=True)
class Profile:
    """The best place, and how far each number can go from it.

    Attributes
    ----------
    best : Point
        The least sum of squares.
    low, high : dict of int to float
        Ends of the interval of each number asked for, by its place.
    slopes : ndarray, shape (readings, free)
        Change of the residuals with each free number, over differences as wide as its interval.
    chance : float
        By how much the sum of squares may grow by chance [L2].
    """

    best: Point
    low: dict[int, float]
    high: dict[int, float]
    slopes: Floats
    chance: float


@dataclass
class _Walk:
    """A number on its way out."""

    number: int
    side: float
    now: Point
    track: list[tuple[float, float]]
    beyond: int = 0
    ended: bool = False


def profile(place: Field, best: Point, asked: Sequence[int], room: float, order: Places) -> Profile:
    """Intervals that hold all numbers asked for together, from the profile of the sum of squares.

    Parameters
    ----------
    place : Field
        The misfit.
    best : Point
        Where a search has ended; it is improved on where the profile finds better.
    asked : sequence of int
        Numbers whose intervals are wanted.
    room : float
        Drawable capacity [L].
    order : ndarray of int, shape (readings,)
        Day of each reading, in order.
    """
    for _ in range(4):
        chance = _chance(best, len(asked), room, order)
        width, slope = _widths(place, best, chance)
        threshold = best.sum + chance
        walks = [
            _Walk(i, side, best, [(float(best.numbers[i]), best.sum)]) for i in asked for side in (-1.0, 1.0)
        ]
        for reach in REACH:
            going = [walk for walk in walks if not walk.ended]
            if going:
                _step(place, best, going, reach, width, slope, threshold)
        better = _better(place, best)
        if better is None:
            break
        best = better
    known = place.below(threshold)
    low = {walk.number: _end(walk, best, chance) for walk in walks if walk.side < 0.0}
    high = {walk.number: _end(walk, best, chance) for walk in walks if walk.side > 0.0}
    return Profile(
        best,
        {i: min(end, float(known[:, i].min(initial=end))) for i, end in low.items()},
        {i: max(end, float(known[:, i].max(initial=end))) for i, end in high.items()},
        slope,
        chance,
    )


def _chance(best: Point, number: int, room: float, order: Places) -> float:
    """By how much the sum of squares may grow by chance [L2]."""
    from scipy.special import stdtrit

    spare = best.residuals.size - len(best.free)
    variance = max(best.sum / spare, (FINEST * room) ** 2)
    quantile = float(stdtrit(spare, 1.0 - (1.0 - CONFIDENCE) / (2.0 * number)))
    alike = correlation(best.residuals, order)
    return variance * quantile**2 * (1.0 + alike) / (1.0 - alike)


def correlation(residuals: Floats, order: Places) -> float:
    """Correlation of what is left from one day of readings to the next, 0 where it is none or negative."""
    days, which = np.unique(order, return_inverse=True)
    left = np.bincount(which, residuals) / np.bincount(which)
    spread = float(left @ left)
    if days.size < 3 or spread <= 0.0:
        return 0.0
    return min(max(float(left[1:] @ left[:-1]) / spread, 0.0), 0.9)


def _widths(place: Field, best: Point, chance: float) -> tuple[Floats, Floats]:
    """First guess of half an interval of every number, and slopes over differences that wide."""
    free = list(best.free)
    width, whole = place.steps.copy(), place.high - place.low
    for _ in range(3):
        slope = around(place, best, width)
        normal = slope.T @ slope
        scale = np.sqrt(np.maximum(np.diag(normal), 1e-12 * max(float(np.diag(normal).max()), 1e-300)))
        inverse = np.linalg.inv(normal / np.outer(scale, scale) + 1e-8 * np.eye(len(free)))
        guess = np.sqrt(chance * np.diag(inverse)) / scale
        width[free] = np.clip(guess, 1e-5 * whole[free], 0.25 * whole[free])
    return width, slope


def _step(
    place: Field,
    best: Point,
    walks: Sequence[_Walk],
    reach: float,
    width: Floats,
    slope: Floats,
    threshold: float,
) -> None:
    """Take each number further out, and let the others find their best again."""
    starts = []
    for walk in walks:
        i = walk.number
        to = best.numbers[i] + walk.side * reach * width[i]
        to = min(max(to, place.low[i]), place.high[i])
        starts.append(_moved(place, best, walk.now, i, to, slope))
    residuals = place.look(np.array([numbers for numbers, _ in starts]))
    points = [Point(numbers, left, free) for (numbers, free), left in zip(starts, residuals, strict=True)]
    for walk, end in zip(walks, descend(place, points, 0.5 * width, 5), strict=True):
        at = float(end.numbers[walk.number])
        walk.now = end
        walk.track.append((at, end.sum))
        walk.beyond = walk.beyond + 1 if end.sum > threshold else 0
        stuck = at in (place.low[walk.number], place.high[walk.number])
        walk.ended = walk.beyond == BEYOND or stuck


def _moved(
    place: Field, best: Point, now: Point, number: int, to: float, slope: Floats
) -> tuple[Floats, tuple[int, ...]]:
    """Numbers with one of them moved, the others following as the slopes say; and which may move on."""
    column = best.free.index(number)
    free = [i for i in best.free if i != number]
    others = [j for j in range(len(best.free)) if j != column]
    numbers = now.numbers.copy()
    if free:
        part = slope[:, others]
        pull = -part.T @ slope[:, column] * (to - numbers[number])
        low, high = place.low[free] - numbers[free], place.high[free] - numbers[free]
        numbers[free] += bounded(part.T @ part, pull, 1e-6, low, high)
    numbers[number] = to
    return np.clip(numbers, place.low, place.high), tuple(free)


def _better(place: Field, best: Point) -> Point | None:
    """A better place met on the way, brought down to its lowest; None where there is none."""
    sums = np.concatenate(place.sums)
    i = int(sums.argmin())
    if sums[i] >= best.sum * (1.0 - BETTER):
        return None
    start = place.point(np.concatenate(place.tried)[i], best.free)
    return descend(place, [start], place.steps, 16)[0]


def _end(walk: _Walk, best: Point, chance: float) -> float:
    """Where a profile passes its limit for the last time; between two steps the sum grows with the square."""
    grown = [(at, max(total - best.sum, 0.0) / chance) for at, total in walk.track]
    inside = max(i for i, (_, share) in enumerate(grown) if share <= 1.0)
    at, share = grown[inside]
    if inside + 1 == len(grown):
        return at
    beyond, further = grown[inside + 1]
    near, far = math.sqrt(share), math.sqrt(further)
    return at + (beyond - at) * (1.0 - near) / (far - near)
