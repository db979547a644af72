"""Reference evapotranspiration of a whole record, by the best way the data of each day allow."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from holdwater.errors import InputError
from holdwater.weather import et0
from holdwater.weather.et0 import Days, Floats
from holdwater.weather.formats.headers import could_be


@dataclass(frozen=True)
class ReferenceET:
    """Reference evapotranspiration of every day of a record.

    Attributes
    ----------
    values : ndarray, shape (n,)
        ET0, never negative [mm/day].
    days_by : dict of str to int
        How many days each way of knowing it gave, best way first.
    """

    values: Floats
    days_by: dict[str, int]

    @property
    def how(self) -> str:
        """Words for tables and reports, such as "Hargreaves (FAO-56 eq. 52): 3650 days"."""
        return "; ".join(
            f"{name}: {days:,} {'day' if days == 1 else 'days'}" for name, days in self.days_by.items()
        )


def reference(
    days: Days,
    columns: Mapping[str, npt.ArrayLike | None],
    latitude: float | None = None,
    altitude: float | None = None,
    wind_height: float = 10.0,
    monthly: Sequence[float] | None = None,
    not_used: Sequence[str] = (),
) -> ReferenceET:
    """Reference evapotranspiration by the best way the data of each day allow.

    In order: the record's own `et0`; Penman-Monteith, where humidity, wind, and radiation or sunshine are
    known; Hargreaves; the twelve monthly values. A day that a better way leaves open goes to the next.

    Parameters
    ----------
    days : ndarray of datetime64, shape (n,)
        The days.
    columns : mapping of str to array_like, shape (n,), or None
        Any of `et0` [mm], `t_min`, `t_max`, `dew_point` [degC], `rh_min`, `rh_max` [%], `wind` [m/s],
        `radiation` [MJ/m2/day], `sunshine` [h]; NaN where missing.
    latitude : float, optional
        South negative [degrees].
    altitude : float, optional
        Above sea level; Penman-Monteith is passed over without it [m].
    wind_height : float
        Height at which the wind was measured [m].
    monthly : sequence of 12 floats, optional
        Mean ET0 of January to December [mm/day].
    not_used : sequence of str
        Columns of the weather file that nothing was read from, to be named where a temperature lacks.

    Raises
    ------
    InputError
        A day is left without ET0; Tmax below Tmin; a negative or wrong number of monthly values.
    """
    known = {
        name: np.asarray(values, dtype=np.float64) for name, values in columns.items() if values is not None
    }
    if "t_min" in known and "t_max" in known:
        et0.check_temperatures(known["t_min"], known["t_max"], days)
    values, days_by = np.full(days.shape, np.nan), {}
    for name, offered in _ways(days, known, latitude, altitude, wind_height, monthly):
        take = np.isnan(values) & ~np.isnan(offered)
        if take.any():
            values[take], days_by[name] = offered[take], int(take.sum())
        if not np.isnan(values).any():
            return ReferenceET(np.maximum(values, 0.0), days_by)
    raise InputError(_missing(days, values, known, latitude, not_used))


def _ways(
    days: Days,
    known: Mapping[str, Floats],
    latitude: float | None,
    altitude: float | None,
    wind_height: float,
    monthly: Sequence[float] | None,
) -> Iterator[tuple[str, Floats]]:
    """Each way the data allow, best first; none is computed before it is needed."""
    day = et0.day_of_year(days)
    if "et0" in known:
        yield "the record's own ET0", known["et0"]
    if {"t_min", "t_max"} <= known.keys() and latitude is not None:
        low, high = known["t_min"], known["t_max"]
        humidity, solar = _humidity(known), _solar(known, latitude, day)
        if humidity is not None and solar is not None and "wind" in known and altitude is not None:
            wind = et0.wind_at_2m(known["wind"], wind_height)
            found = et0.penman_monteith(low, high, humidity, wind, solar, latitude, altitude, day)
            yield "Penman-Monteith (FAO-56 eq. 6)", found
        yield "Hargreaves (FAO-56 eq. 52)", et0.hargreaves(low, high, latitude, day)
    if monthly is not None:
        twelve = np.asarray(monthly, dtype=np.float64)
        if twelve.shape != (12,) or not (twelve >= 0.0).all():
            raise InputError(
                f"monthly ET0: found {list(monthly)}, required twelve values of 0 mm/day or more"
            )
        yield "monthly values", twelve[days.astype("datetime64[M]").astype(np.int64) % 12]


def _humidity(known: Mapping[str, Floats]) -> Floats | None:
    """Actual vapour pressure from whatever humidity the record has [kPa]."""
    if "dew_point" in known:
        return et0.vapour_pressure_from_dew_point(known["dew_point"])
    if {"rh_min", "rh_max"} <= known.keys():
        return et0.vapour_pressure_from_humidity(
            known["t_min"], known["t_max"], known["rh_min"], known["rh_max"]
        )
    return None


def _solar(known: Mapping[str, Floats], latitude: float, day: npt.NDArray[np.int64]) -> Floats | None:
    """Solar radiation as measured, else from sunshine hours [MJ/m2/day]."""
    if "radiation" in known:
        return known["radiation"]
    if "sunshine" in known:
        full = et0.daylight_hours(latitude, day)
        return et0.solar_radiation(known["sunshine"], full, et0.extraterrestrial_radiation(latitude, day))
    return None


def _missing(
    days: Days,
    values: Floats,
    known: Mapping[str, Floats],
    latitude: float | None,
    not_used: Sequence[str],
) -> list[str]:
    """Why days are left without ET0, and the cures."""
    gaps = np.isnan(values)
    cures = (
        "or give an ET0 column in the record or twelve monthly ET0 values in the scenario. ET0 is reference "
        "evapotranspiration, what a lawn would use up"
    )
    absent = [name for name in ("t_min", "t_max") if name not in known]
    lacking = [f"no {name} column" for name in absent]
    lacking += ["no latitude under [place]"] if latitude is None else []
    if lacking:
        return [
            f"ET0 cannot be computed: {', '.join(lacking)}; add what is missing, {_by_name(absent, not_used)}{cures}"
        ]
    return [
        f"ET0 cannot be computed on {int(gaps.sum()):,} of {days.size:,} days, the first {days[gaps][0]}: "
        f"a temperature is missing; fill the temperatures, {cures}"
    ]


def _by_name(absent: Sequence[str], not_used: Sequence[str]) -> str:
    """How a column that is there under another name is put to use."""
    if not absent:
        return ""
    if not not_used:
        keys = " and ".join(f'{name}_column = "..."' for name in absent)
        return (
            f"or, if the weather file has it under another name, say {keys} under [weather] (`holdwater weather "
            "inspect FILE` lists the columns), "
        )
    named = ", ".join(f"'{name[:40]}'" for name in not_used[:12])
    keys = " and ".join(f'{name}_column = "{_likely(name, not_used)}"' for name in absent)
    return (
        f"or, if it is among the columns of the weather file that are not used ({named}), say {keys} under "
        "[weather], "
    )


def _likely(quantity: str, not_used: Sequence[str]) -> str:
    """The column whose name speaks for the quantity, "..." where none does."""
    return next((name for name in not_used if could_be(name) == quantity), "...")
