"""One station out of a file, and values of one element put beside those of another."""

from __future__ import annotations

from collections.abc import Iterable

import numpy as np
import numpy.typing as npt

from holdwater.errors import InputError
from holdwater.weather.formats.cells import Floats
from holdwater.weather.reading import Days


def choose(found: Iterable[str], wanted: str | None, name: str) -> str:
    """The one station a file holds, or the one the scenario names.

    Raises
    ------
    InputError
        Several stations and none named, or the named one is not there.
    """
    stations = sorted(set(found))
    shown = ", ".join(stations[:8]) + (f" and {len(stations) - 8} more" if len(stations) > 8 else "")
    if wanted is not None:
        if wanted.strip() in stations:
            return wanted.strip()
        raise InputError(f"weather file '{name}' has no station \"{wanted}\"; it holds {shown}")
    if len(stations) != 1:
        raise InputError(
            f"weather file '{name}' holds {len(stations)} stations: {shown}; choose with station = \"...\""
        )
    return stations[0]


def beside(days: Days, other_days: Days, values: Floats) -> Floats:
    """Values of `other_days` looked up for `days`; NaN where there is none (the first of equals)."""
    result = np.full(len(days), np.nan)
    if not len(other_days):
        return result
    order: npt.NDArray[np.int64] = np.argsort(other_days, kind="stable")
    known = other_days[order]
    at = np.minimum(np.searchsorted(known, days), len(known) - 1)
    hit = known[at] == days
    result[hit] = values[order][at[hit]]
    return result
