"""What a simulated run tells the site checks: the busiest day, the mean year, the frost in its record."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from holdwater.ledger import Ledger
from holdwater.site.ground import Frost, frost
from holdwater.weather.record import Record

YEAR = 365.2425


@dataclass(frozen=True)
class Seen:
    """Numbers of a run.

    Attributes
    ----------
    busiest_day, mean_year : float or None
        Water the pump moved on the day of most use and in the mean year [L].
    frost : Frost or None
        Frost in the record, None without temperatures.
    """

    busiest_day: float | None = None
    mean_year: float | None = None
    frost: Frost | None = None


def seen_in(ledger: Ledger, served: Sequence[str] | None = None) -> Seen:
    """Read a run.

    Parameters
    ----------
    ledger : Ledger
        The run.
    served : sequence of str, optional
        Draws the pump serves; without it all.
    """
    delivered = ledger.data["delivered"]
    if served is not None:
        delivered = delivered.sel(draw=list(served))
    daily = delivered.sum("draw").values
    return Seen(
        busiest_day=float(daily.max()),
        mean_year=float(daily.mean()) * YEAR,
        frost=frost_in(ledger.record, ledger.scenario.place.latitude if ledger.scenario.place else None),
    )


def frost_in(record: Record, latitude: float | None = None) -> Frost | None:
    """Frost in a record, None where it has no temperatures.

    Parameters
    ----------
    record : Record
        The daily record.
    latitude : float or None
        Where it was measured; None goes by which of January and July is the colder [degrees].
    """
    t_min, t_max = record.column("t_min"), record.column("t_max")
    if t_min is None or t_max is None:
        return None
    southern = latitude < 0.0 if latitude is not None else _colder_in_july(record, t_min)
    return frost(record.days, t_min, t_max, southern=southern)


def _colder_in_july(record: Record, t_min: np.ndarray[tuple[int], np.dtype[np.float64]]) -> bool:
    month = record.days.astype("datetime64[M]").astype(int) % 12
    january, july = t_min[month == 0], t_min[month == 6]
    january, july = january[np.isfinite(january)], july[np.isfinite(july)]
    return bool(january.size and july.size and january.mean() > july.mean())
