"""Quantiles and odds of a few dozen years, never farther than so many years can tell."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import numpy.typing as npt

Floats = npt.NDArray[np.float64]


def order(values: Sequence[float] | Floats, p: float) -> float | None:
    """The value that a share `p` of years stays below, taken as one of those seen.

    The i-th of n sorted values stands for the share i / (n + 1); the one next below `p` is taken.

    Parameters
    ----------
    values : sequence of float
        May be infinite.
    p : float
        Between 0 and 1.

    Returns
    -------
    float or None
        None where n is too small to say: p < 1 / (n + 1).
    """
    place = int(p * (len(values) + 1) + 1e-9)
    return None if place < 1 else float(sorted(values)[min(place, len(values)) - 1])


def fan(storage: Floats, p: float) -> Floats | None:
    """Quantile of the storage at every midnight, the i-th of n sorted values standing for i / (n + 1) [L].

    Parameters
    ----------
    storage : ndarray, shape (traces, n + 1)
        Water above the outlets [L].
    p : float
        Between 0 and 1.

    Returns
    -------
    ndarray, shape (n + 1,), or None
        None where there are too few traces to say: p < 1 / (n + 1) or p > n / (n + 1).
    """
    count = storage.shape[0] + 1
    if p * count < 1.0 - 1e-9 or p * count > count - 1.0 + 1e-9:
        return None
    found: Floats = np.quantile(storage, p, axis=0, method="weibull")
    return found


def by_date(first: Floats, days: int) -> npt.NDArray[np.int64]:
    """How many traces have had their first such day by the end of each of the days, shape (days,)."""
    return np.asarray((first[:, None] <= np.arange(days)).sum(axis=0))
