"""How the beds fared: days of stress, when watering began, and who met the crop's need of water."""

from __future__ import annotations

import datetime as dt
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from holdwater.ledger import Floats, Ledger
from holdwater.spells import runs

Flags = npt.NDArray[np.bool_]
Years = npt.NDArray[np.int64]

STRESSED = 1e-9
"""A crop is stressed on a day whose Ks lies more than this below 1."""


@dataclass(frozen=True)
class Shares:
    """Who met the need of a crop; the parts add up to 1 [-].

    Attributes
    ----------
    rain : float
        Rain, and what the soil kept of it from before planting.
    first_flush : float
        First-flush water led to the bed.
    tanks : float
        Water drawn from the tanks, whatever filled them.
    backup : float
        Direct backup.
    unmet : float
        What the crop would have taken up and did not get.
    """

    rain: float
    first_flush: float
    tanks: float
    backup: float
    unmet: float


@dataclass(frozen=True)
class BedYear:
    """One bed in one year of the tables [days, mm]."""

    year: int
    growing_days: int
    stress_days: int
    need_mm: float
    met_by: Shares | None


@dataclass(frozen=True)
class BedScore:
    """What a run tells of one bed.

    Attributes
    ----------
    name : str
        The garden draw it belongs to.
    growing_days, stress_days : int
        Days on which the crop stood, and those of them on which it lacked water: Ks < 1 (FAO-56 eq. 84).
    need_mm : float
        Evapotranspiration of the crop without stress, all its days together [mm].
    met_by : Shares or None
        None where nothing grew.
    watering_began : list of date
        First day of every growing season on which the bed wanted water; a season that never did has none.
    years : list of BedYear
        The same by year.
    """

    name: str
    growing_days: int
    stress_days: int
    need_mm: float
    met_by: Shares | None
    watering_began: list[dt.date]
    years: list[BedYear]

    @property
    def worst_year(self) -> BedYear | None:
        """The year with the most days of stress, the earlier of equals; None without any."""
        worst = max(self.years, key=lambda y: y.stress_days, default=None)
        return worst if worst is not None and worst.stress_days else None


def stressed(ledger: Ledger) -> Flags:
    """Days on which the crop of each bed stood and lacked water, shape (beds, n)."""
    return (ledger.flux("growing") > 0.0) & (ledger.flux("stress") < 1.0 - STRESSED)


def watered_by(ledger: Ledger) -> dict[str, Floats]:
    """Irrigation that reached each root zone, by where it came from, shape (beds, n) [mm]."""
    rows = [list(ledger.data["draw"].values).index(bed) for bed in ledger.data["bed"].values]
    tanks, backup = ledger.flux("delivered")[rows], ledger.flux("backup_served")[rows]
    given = tanks + backup
    share = np.divide(tanks, given, out=np.zeros_like(given), where=given > 0.0)
    watered = ledger.flux("watered")
    return {"tanks": watered * share, "backup": watered * (1.0 - share)}


def bed_scores(ledger: Ledger, years: Years) -> list[BedScore]:
    """Read off a ledger how every bed fared.

    Parameters
    ----------
    ledger : Ledger
        The run.
    years : ndarray of int, shape (n,)
        The year of the tables that each day belongs to.
    """
    names = ledger.data["bed"].values.tolist()
    if not names:
        return []
    growing, stress = ledger.flux("growing") > 0.0, stressed(ledger)
    columns = {
        "need": ledger.flux("crop_need"),
        "took": ledger.flux("crop_water"),
        "first_flush": ledger.flux("flushed"),
        **watered_by(ledger),
    }
    grown = {name: np.where(growing, column, 0.0) for name, column in columns.items()}
    wants = np.array([ledger.flux("wanted")[list(ledger.data["draw"].values).index(name)] for name in names])
    starts = np.flatnonzero(np.diff(years, prepend=years[0] - 1))
    found = []
    for b, name in enumerate(names):
        water = {key: column[b] for key, column in grown.items()}
        yearly = {key: np.add.reduceat(column, starts) for key, column in water.items()}
        days = [np.add.reduceat(flags[b].astype(int), starts) for flags in (growing, stress)]
        found.append(
            BedScore(
                name=name,
                growing_days=int(growing[b].sum()),
                stress_days=int(stress[b].sum()),
                need_mm=float(water["need"].sum()),
                met_by=_shares({key: float(column.sum()) for key, column in water.items()}),
                watering_began=_first_days(growing[b], wants[b] > 0.0, ledger),
                years=[
                    BedYear(
                        year=int(years[start]),
                        growing_days=int(days[0][i]),
                        stress_days=int(days[1][i]),
                        need_mm=float(yearly["need"][i]),
                        met_by=_shares({key: float(column[i]) for key, column in yearly.items()}),
                    )
                    for i, start in enumerate(starts)
                ],
            )
        )
    return found


def _shares(water: dict[str, float]) -> Shares | None:
    """Who met the need: what was led to the bed counts up to what the crop took, the rest of that is rain."""
    need, took = water["need"], water["took"]
    if not need > 0.0:
        return None
    led = {key: water[key] for key in ("first_flush", "tanks", "backup")}
    counts = min(1.0, took / sum(led.values())) / need if any(led.values()) else 0.0
    met = {key: amount * counts for key, amount in led.items()}
    share = min(took / need, 1.0)
    return Shares(rain=max(0.0, share - sum(met.values())), **met, unmet=1.0 - share)


def _first_days(growing: Flags, wants: Flags, ledger: Ledger) -> list[dt.date]:
    """First day of every season on which the bed wanted water."""
    seasons = [start + np.flatnonzero(wants[start:end])[:1] for start, end in runs(growing)]
    return [ledger.days[first[0]].item() for first in seasons if first.size]
