"""The checked daily record every run starts from: one row per civil day, gaps and origins kept."""

from __future__ import annotations

import datetime as dt
from dataclasses import dataclass, field
from enum import IntEnum

import numpy as np
import numpy.typing as npt
import xarray as xr


class Origin(IntEnum):
    """Where a day's rain comes from; the order is the code stored in the record."""

    MISSING = 0
    OBSERVED = 1
    TRACE = 2
    SPREAD = 3
    NEIGHBOUR = 4
    CLIMATE = 5
    ZERO = 6
    DECLARED_DRY = 7

    @property
    def label(self) -> str:
        """Words for tables, legends and file attributes."""
        return _LABELS[self]


_LABELS = {
    Origin.MISSING: "missing",
    Origin.OBSERVED: "observed",
    Origin.TRACE: "trace, counted as 0 mm",
    Origin.SPREAD: "spread from a multi-day reading",
    Origin.NEIGHBOUR: "filled from a neighbour",
    Origin.CLIMATE: "filled from climatology",
    Origin.ZERO: "missing, assumed zero",
    Origin.DECLARED_DRY: "absent from the log, declared dry",
}
FILLED = (Origin.NEIGHBOUR, Origin.CLIMATE, Origin.ZERO)


@dataclass(frozen=True)
class Provenance:
    """Who measured, where, and what was done to it since.

    Attributes
    ----------
    source : str
        The file or station, and in the same breath that its weather was changed on purpose, if it was.
    changed : str
        Change factors as written; empty for weather as it was.
    not_used : tuple of str
        Columns of the file that nothing was read from.
    doubtful : tuple of str
        Days whose rain cannot be, in a record that is looked at before it may be run.
    """

    source: str
    station: str = ""
    place: str = ""
    licence: str = ""
    units_as_read: str = ""
    day_ends: str = "not stated"
    missing: int = 0
    longest_gap: int = 0
    filled: int = 0
    changed: str = ""
    notes: tuple[str, ...] = field(default_factory=tuple)
    not_used: tuple[str, ...] = ()
    doubtful: tuple[str, ...] = ()

    def licence_after(self, change: str) -> str:
        """The licence line with one more change named in it; a licence that is not stated stays so."""
        line = self.licence.removesuffix("changes: none")
        if line != self.licence:
            return f"{line}changes: {change}"
        return f"{line}{', ' if 'changes: ' in line else '; changes: '}{change}" if line else ""


@dataclass(frozen=True)
class Record:
    """A daily record.

    Attributes
    ----------
    data : xarray.Dataset
        On `time` (consecutive days, no time zone): `rain` [mm], `origin` (codes of `Origin`),
        and where the source has them `t_min`, `t_max` [degC] and `et0` [mm].
    provenance : Provenance
        Source, licence, units as read, days missing and filled.
    """

    data: xr.Dataset
    provenance: Provenance

    @property
    def days(self) -> npt.NDArray[np.datetime64]:
        """The days of the record, `datetime64[D]`, shape (n,)."""
        return self.data["time"].values.astype("datetime64[D]")

    @property
    def first(self) -> dt.date:
        """First day."""
        day: dt.date = self.days[0].item()
        return day

    @property
    def last(self) -> dt.date:
        """Last day."""
        day: dt.date = self.days[-1].item()
        return day

    def column(self, name: str) -> npt.NDArray[np.float64] | None:
        """One variable as floats, shape (n,), or None where the record has none."""
        return self.data[name].values.astype(float) if name in self.data else None

    def between(self, first: dt.date | None, last: dt.date | None) -> Record:
        """The record cut to the days asked for, both included."""
        cut = self.data.sel(time=slice(first and np.datetime64(first), last and np.datetime64(last)))
        return Record(cut, self.provenance)


def daily_dataset(
    days: npt.NDArray[np.datetime64],
    rain: npt.NDArray[np.float64],
    origin: npt.NDArray[np.int8],
    **others: npt.NDArray[np.float64] | None,
) -> xr.Dataset:
    """Put columns of equal length into the Dataset of a `Record`, with CF names and units.

    Parameters
    ----------
    days : ndarray of datetime64, shape (n,)
        Consecutive days.
    rain : ndarray, shape (n,)
        Precipitation, NaN where missing [mm].
    origin : ndarray of int8, shape (n,)
        Codes of `Origin`.
    **others : ndarray, shape (n,), or None
        `t_min`, `t_max` [degC], `et0` [mm]; None is left out.
    """
    attributes = {
        "rain": {"long_name": "precipitation", "units": "mm", "cell_methods": "time: sum"},
        "t_min": {"standard_name": "air_temperature", "units": "degC", "cell_methods": "time: minimum"},
        "t_max": {"standard_name": "air_temperature", "units": "degC", "cell_methods": "time: maximum"},
        "et0": {"long_name": "reference evapotranspiration", "units": "mm", "cell_methods": "time: sum"},
        "origin": {
            "long_name": "origin of the day's rain",
            "flag_values": [int(o) for o in Origin],
            "flag_meanings": " ".join(o.name.lower() for o in Origin),
        },
    }
    columns = {"rain": rain, "origin": origin} | {k: v for k, v in others.items() if v is not None}
    return xr.Dataset(
        {name: ("time", values, attributes[name]) for name, values in columns.items()},
        coords={"time": ("time", days.astype("datetime64[s]"), {"standard_name": "time"})},
        attrs={"Conventions": "CF-1.11"},
    )
