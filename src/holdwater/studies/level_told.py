"""Which numbers a log tells, and why it does not tell the others."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from holdwater.studies.level_numbers import NAMES, START, Name
from holdwater.studies.level_profile import Profile
from holdwater.studies.level_range import Range

Floats = npt.NDArray[np.float64]

MUCH = 0.5
"""One number hides another where knowing it would make the other's interval narrower than this share."""
ONE_AND_THE_SAME = 0.1
"""Where knowing it would make it narrower than this share the two are one and the same to the log ..."""
WIDE_FOR_TWINS = 0.3
"""... and then an interval of this share of the widest is too wide already."""
START_WORDS = "the water at the start"
WHY: dict[Name, str] = {
    "runoff": "too little rain fell between the readings, or the tanks ran over",
    "first flush": "too little rain fell between the readings, or the tanks ran over",
    "leak": "the tanks were too full, too empty or too briefly watched for a leak to show",
}


@dataclass(frozen=True)
class Untold:
    """A number that the log does not tell.

    Attributes
    ----------
    name : str
        Which.
    twin : str or None
        The number it cannot be told from; None where the log does not feel it at all.
    share : float
        Width of its interval as a share of the widest that tells something.
    """

    name: Name
    twin: str | None
    share: float

    @property
    def why(self) -> str:
        """In words."""
        if self.twin is None:
            return f"the log does not feel the {self.name}: {WHY[self.name]}"
        return (
            f"the log cannot tell {self._pair} apart: a change of one looks like a change of the other on the"
            " days of the readings"
        )

    @property
    def _pair(self) -> str:
        pair = sorted([self.name, str(self.twin)], key=[*NAMES, START_WORDS].index)
        return f"{pair[0]} and {pair[1]}"


def untold(found: Profile, asked: Sequence[Name], known: Range) -> list[Untold]:
    """The numbers that a log does not tell, those it tells least of first.

    What is written lies within the interval of such a number; and the interval is wider than is of any use, or
    another number stands in for it, or it ran to the end of what it can be.
    """
    left = []
    for name in asked:
        i = NAMES.index(name)
        share = float((found.high[i] - found.low[i]) / known.widest[i])
        twin, narrower = _twin(found, i, known)
        hidden = narrower < ONE_AND_THE_SAME and share > WIDE_FOR_TWINS
        denied = not found.low[i] <= known.written[i] <= found.high[i]
        if (share > 1.0 or hidden or at_limit(found, name, known)) and not denied:
            left.append(Untold(name, twin, share))
    return sorted(left, key=lambda one: -one.share)


def at_limit(found: Profile, name: Name, known: Range) -> bool:
    """Whether a number ran to the end of what it can be; to have no leak or no first flush is no such end."""
    i = NAMES.index(name)
    value, near = float(found.best.numbers[i]), 1e-3 * (known.high[i] - known.low[i])
    return bool(value > known.high[i] - near or (name == "runoff" and value < near))


def _twin(found: Profile, number: int, known: Range) -> tuple[str | None, float]:
    """The number that hides another most, and the share of the interval that is left when it is known.

    None where the number does not show even if all others are known.
    """
    free, slopes = list(found.best.free), found.slopes
    at = free.index(number)
    alone = 2.0 * np.sqrt(found.chance / max(float(slopes[:, at] @ slopes[:, at]), 1e-300))
    if alone > known.widest[number]:
        return None, 1.0
    whole = _spread(slopes, at)
    shares = {}
    for k, other in enumerate(free):
        if other != number:
            rest = [j for j in range(len(free)) if j != k]
            shares[other] = _spread(slopes[:, rest], rest.index(at)) / whole
    twin = min(shares, key=lambda other: shares[other])
    if shares[twin] > MUCH:
        return None, shares[twin]
    return START_WORDS if twin == START else NAMES[twin], shares[twin]


def _spread(slopes: Floats, at: int) -> float:
    """Width of a number's interval as the slopes say, in no unit."""
    scale = np.sqrt(np.maximum(np.einsum("ij,ij->j", slopes, slopes), 1e-300))
    scaled = slopes / scale
    inverse = np.linalg.inv(scaled.T @ scaled + 1e-9 * np.eye(scale.size))
    return float(np.sqrt(inverse[at, at]) / scale[at])
