"""How far off the size found may be, because the record is only so long."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from holdwater.studies.engine import Site, Told
from holdwater.studies.resample import LEVEL, SAMPLES, bootstrap, enough
from holdwater.studies.size import Size, seeker
from holdwater.weather.record import Record


@dataclass(frozen=True)
class SizeInterval:
    """What the answer would be with other draws from the same climate.

    Attributes
    ----------
    low, high : float or None
        The answer in the units inside; None where not even the far end of the search was enough.
    enough : int
        Samples of which some value tried was enough.
    level : float
        Share of the samples between the bounds [0..1].
    samples : int
        Records drawn.
    """

    low: float | None
    high: float | None
    enough: int
    level: float
    samples: int


def size_interval(
    found: Size,
    asked: str,
    samples: int = SAMPLES,
    seed: int = 1,
    block: int = 1,
    level: float = LEVEL,
    told: Told | None = None,
) -> SizeInterval:
    """Ask for the same size in records of whole years drawn by lot.

    Parameters
    ----------
    found : Size
        The answer on the record itself.
    asked : str
        As it was asked.
    samples, seed, block
        As for `resample.records`.
    level : float
        Share of the samples within the interval; its bounds are samples.
    told : callable, optional
        Called with the number of records done since the last call.

    Raises
    ------
    InputError
        The record has fewer than 10 complete years, or the samples are too few.
    """
    enough(samples, level)
    place = math.floor((1.0 - level) / 2.0 * (samples + 1) + 1e-9)
    run = found.base.scenario.run.model_copy(update={"from_": None, "to": None})
    whole = found.base.scenario.model_copy(update={"run": run})
    answer_in = seeker(found.base, asked, found.target)
    never = math.inf if found.grows else -math.inf

    def tell(record: Record) -> dict[str, float]:
        answer = answer_in(Site.of(whole, record))
        if told is not None:
            told(1)
        return {"size": never if answer is None else answer}

    starts = found.base.scenario.run.year_starts
    sizes = np.sort(bootstrap(found.site.record, tell, samples, seed, starts, block)["size"])
    low, high = _known(sizes[place - 1]), _known(sizes[samples - place])
    return SizeInterval(low, high, int(np.isfinite(sizes).sum()), level, samples)


def _known(value: float) -> float | None:
    return float(value) if math.isfinite(value) else None
