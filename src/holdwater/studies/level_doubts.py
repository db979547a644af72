"""What speaks against a log of levels: water that came from nowhere."""

from __future__ import annotations

import datetime as dt
from dataclasses import dataclass
from itertools import pairwise

import numpy as np
import numpy.typing as npt

from holdwater.studies.level_model import Model

Floats = npt.NDArray[np.float64]

NOTICED = 0.05
"""A rise counts where it is more than the roofs can have given by this share of the capacity."""
SLACK = 1
"""Days by which a gauge of rain, or a note of a load, may be off."""


@dataclass(frozen=True)
class Rise:
    """Water in the tanks that neither rain nor a load that was noted can have brought.

    Attributes
    ----------
    first, last : date
        Of the readings before and after.
    volume_L : float
        What is more than the roofs can have given and the log says was filled in [L].
    """

    first: dt.date
    last: dt.date
    volume_L: float


def rises(model: Model, most_in: Floats) -> list[Rise]:
    """Every rise of the water that has no source.

    Parameters
    ----------
    model : Model
        The holding over the days of the log.
    most_in : ndarray, shape (n + 1,)
        All that the roofs can have given since the first state, at every state [L].
    """
    known = _together(model)
    places = sorted(known)
    last = most_in.size - 1
    found = []
    for a, b in pairwise(places):
        before, after = max(a - SLACK, 0), min(b + SLACK, last)
        filled = sum(volume for on, volume in model.brought if before <= on < after)
        more = known[b] - known[a] - filled - float(most_in[after] - most_in[before])
        if more > NOTICED * model.room:
            found.append(Rise(model.days[a].item(), model.days[b].item(), more))
    return found


def _together(model: Model) -> dict[int, float]:
    """Water in all tanks at the places where all of it was read [L]."""
    tanks = len(model.holding.vessels)
    found: dict[int, float] = {}
    for place, readings in model.read_at.items():
        whole = [i for i in readings if model.tank_of[i] is None]
        single = {
            model.tank_of[i]: float(model.measured[i]) for i in readings if model.tank_of[i] is not None
        }
        if whole:
            found[place] = float(model.measured[whole[0]])
        elif len(single) == tanks:
            found[place] = sum(single.values())
    return found
