"""The record as the daily loop and the beds meet it: rain, snow, thaw, ET0."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from holdwater import day
from holdwater.demand import Floats
from holdwater.errors import InputError
from holdwater.scenario.schema import Garden, Livestock, Scenario
from holdwater.weather import reference_et
from holdwater.weather.record import Record


@dataclass(frozen=True)
class Weather:
    """What a run needs of the weather.

    Attributes
    ----------
    sky : day.Sky
        For the daily loop.
    ground : ndarray, shape (n,)
        Rain and melt that reach open ground [mm].
    et0 : ndarray, shape (n,)
        Reference evapotranspiration, 0 where nothing asks for it [mm].
    t_mean : ndarray, shape (n,), or None
        Mean temperature of the day [degC].
    et0_from : str
        How ET0 was known; empty where nothing asks for it.
    snows : bool
        Whether any snow falls.
    """

    sky: day.Sky
    ground: Floats
    et0: Floats
    t_mean: Floats | None
    et0_from: str
    snows: bool


def weather(scenario: Scenario, record: Record) -> Weather:
    """Split precipitation into rain and snow, and find ET0 if a garden or an open tank asks for it.

    Raises
    ------
    InputError
        A temperature or ET0 is missing on a day that needs it.
    """
    precipitation = np.asarray(record.data["rain"].values, dtype=float)
    t_mean = mean_temperature(record)
    _complete(scenario, record, t_mean)
    snow = (
        precipitation * snow_share(scenario, t_mean) if t_mean is not None else np.zeros_like(precipitation)
    )
    warmth = np.maximum(t_mean, 0.0) if t_mean is not None else np.zeros_like(precipitation)
    et0, how = _et0(scenario, record)
    sky = day.Sky(
        rain=(precipitation - snow).tolist(),
        snow=snow.tolist(),
        thaw=(scenario.snow.melt_per_degree * warmth).tolist(),
        et0=et0.tolist(),
    )
    return Weather(sky, np.array(day.reaching_ground(sky)), et0, t_mean, how, bool(snow.any()))


def mean_temperature(record: Record) -> Floats | None:
    """(Tmin + Tmax) / 2 of every day, or None where the record has no temperatures [degC]."""
    low, high = record.column("t_min"), record.column("t_max")
    return None if low is None or high is None else (low + high) / 2.0


def snow_share(scenario: Scenario, t_mean: Floats) -> Floats:
    """Share of each day's precipitation that falls as snow: 1 when cold, 0 when warm, linear between.

    References
    ----------
    Linear split after US Army Corps of Engineers 1956; half snow at 1.0 degC, Jennings et al. 2018.
    """
    cold, warm = scenario.snow.all_snow_at, scenario.snow.all_rain_at
    if cold == warm:
        return (t_mean <= cold).astype(float)
    return np.clip((warm - t_mean) / (warm - cold), 0.0, 1.0)


def _complete(scenario: Scenario, record: Record, t_mean: Floats | None) -> None:
    """Refuse days without a temperature where the record has temperatures."""
    if t_mean is None:
        return
    missing = record.days[np.isnan(t_mean)]
    if missing.size:
        users = ["snow", *(f"draw '{d.name}'" for d in scenario.draw if isinstance(d, Garden | Livestock))]
        raise InputError(
            f"a temperature is missing on {missing.size:,} of {t_mean.size:,} days, the first {missing[0]};"
            f" it is needed for {', '.join(users)}: complete the record,"
            ' or fill the days with weather.missing_days = "climate"'
        )


def _et0(scenario: Scenario, record: Record) -> tuple[Floats, str]:
    """Reference evapotranspiration [mm] and how it is known; zeros where nothing asks for it."""
    gardens = any(isinstance(d, Garden) for d in scenario.draw)
    if not gardens and not any(tank.evaporation_factor for tank in scenario.tank):
        return np.zeros(record.days.size), ""
    place = scenario.place
    columns = {str(name): record.data[name].values for name in record.data.data_vars}
    found = reference_et.reference(
        record.days,
        columns,
        latitude=place.latitude if place else None,
        altitude=place.elevation if place else None,
        monthly=scenario.weather.monthly_et0,
        not_used=record.provenance.not_used,
    )
    return found.values, found.how
