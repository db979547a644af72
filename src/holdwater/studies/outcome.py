"""What is kept of the designs of a study: their scores, never their days."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from holdwater.studies.drawbacks import Days

Floats = npt.NDArray[np.float64]

SINGLE = ("asked", "delivered", "inflow", "overflow", "lowest")
COUNTS = ("dry_days", "unserved_days", "held_back_days", "longest", "stressed_days")
BY_YEAR = ("dry_days", "unserved_days", "stressed_days")


@dataclass
class Outcome:
    """Scores of many designs; every array ends with the design [L, days].

    Attributes
    ----------
    years : ndarray of int, shape (y,)
        Names of the years.
    n_days : int
        Days of the run.
    numbers : dict of str to ndarray, shape (d,)
        Totals asked, delivered, inflow, overflow; the lowest drawable storage; counts dry_days,
        unserved_days, held_back_days, stressed_days, and the longest dry spell.
    by_year : dict of str to ndarray of int, shape (y, d)
        Dry, unserved and stressed days of each year.
    supplied, loads : ndarray, shape (b, d)
        Water and loads of every backup of a design, those that fill tanks first.
    cost : ndarray, shape (d,)
        Cost of the backup water over the run.
    """

    years: npt.NDArray[np.int64]
    n_days: int
    numbers: dict[str, Floats]
    by_year: dict[str, npt.NDArray[np.int16]]
    supplied: Floats
    loads: Floats
    cost: Floats

    @classmethod
    def empty(cls, years: npt.NDArray[np.int64], n_days: int, backups: int, count: int) -> Outcome:
        """Room for so many designs."""
        return cls(
            years,
            n_days,
            {name: np.zeros(count) for name in (*SINGLE, *COUNTS)},
            {name: np.zeros((years.size, count), dtype=np.int16) for name in BY_YEAR},
            np.zeros((backups, count)),
            np.zeros((backups, count)),
            np.zeros(count),
        )

    def __getattr__(self, name: str) -> Floats:
        """One score of every design, by its name."""
        numbers: dict[str, Floats] = self.__dict__.get("numbers", {})
        if name in numbers:
            return numbers[name]
        raise AttributeError(name)

    @property
    def reliability_volume(self) -> Floats:
        """Delivered / asked; NaN where nothing was asked."""
        asked = self.numbers["asked"]
        return np.divide(self.numbers["delivered"], asked, out=np.full_like(asked, np.nan), where=asked > 0.0)

    def days(self, i: int) -> Days:
        """Days of one design by what was wanting."""
        counts = (self.numbers[f"{name}_days"][i] for name in ("dry", "unserved", "stressed", "held_back"))
        return Days(*(int(number) for number in counts))

    @property
    def dry_days_per_year(self) -> Floats:
        """Dry days in a year of 365.25 days."""
        return np.asarray(self.numbers["dry_days"] / (self.n_days / 365.25))
