"""Independent witnesses on a real record: Seattle, 2012 to 2015 (Tmin, Tmax, wind).

Tolerances: climate-indices computes the same equation 52 with the same constants, so only rounding may
differ. refet follows ASCE-EWRI 2005, which rounds the slope constant (2503) and the Stefan-Boltzmann
constant (4.901e-9 for 4.903e-9) differently: 0.002 mm/day covers both.
"""

from __future__ import annotations

import numpy as np
import numpy.typing as npt
import pytest
import refet
from climate_indices import eto
from vega_datasets import data

from holdwater.weather import et0

LATITUDE, ALTITUDE = 47.45, 113.0  # airport where the record was taken, rounded; from memory
Floats = npt.NDArray[np.float64]


@pytest.fixture(scope="module")
def seattle() -> dict[str, Floats]:
    table = data.seattle_weather()
    days = table["date"].to_numpy().astype("datetime64[D]")
    return {
        "days": days,
        "low": table["temp_min"].to_numpy(float),
        "high": table["temp_max"].to_numpy(float),
        "wind": table["wind"].to_numpy(float),
    }


def test_hargreaves_agrees_with_climate_indices_year_by_year(seattle: dict[str, Floats]) -> None:
    years = seattle["days"].astype("datetime64[Y]")
    assert np.unique(years).size == 4
    for year in np.unique(years):
        of = years == year
        low, high = seattle["low"][of], seattle["high"][of]
        ours = et0.hargreaves(low, high, LATITUDE, et0.day_of_year(seattle["days"][of]))
        theirs = eto.eto_hargreaves(low, high, (low + high) / 2.0, LATITUDE)
        np.testing.assert_allclose(ours, theirs[: ours.size], rtol=1e-12)


def test_penman_monteith_agrees_with_refet(seattle: dict[str, Floats]) -> None:
    """Both get radiation by eq. 50 (interior) and the dew point at Tmin (eq. 48): the record has neither."""
    low, high, wind = seattle["low"], seattle["high"], seattle["wind"]
    day = et0.day_of_year(seattle["days"])
    solar = 0.16 * np.sqrt(high - low) * et0.extraterrestrial_radiation(LATITUDE, day)
    humidity = et0.vapour_pressure_from_dew_point(low)
    ours = et0.penman_monteith(
        low, high, humidity, et0.wind_at_2m(wind, 10.0), solar, LATITUDE, ALTITUDE, day
    )
    theirs = refet.Daily(
        tmin=low,
        tmax=high,
        tdew=low,
        rs=solar,
        uz=wind,
        zw=10.0,
        elev=ALTITUDE,
        lat=LATITUDE,
        doy=day,
        method="asce",
    ).eto()
    assert np.abs(ours - theirs).max() < 0.002
    assert 600.0 < ours.sum() / 4.0 < 1100.0  # mm a year: a real climate, not two zeros that agree


def test_extraterrestrial_radiation_agrees_with_refet_at_every_latitude() -> None:
    day = np.arange(1, 367)
    for latitude in range(-90, 91, 10):
        ours = et0.extraterrestrial_radiation(float(latitude), day)
        theirs = refet.calcs.ra_daily(np.radians(latitude), day, "asce")
        np.testing.assert_allclose(ours, theirs, rtol=1e-9, atol=1e-9)


def test_a_year_of_seattle_is_warmest_and_thirstiest_in_july(seattle: dict[str, Floats]) -> None:
    day = et0.day_of_year(seattle["days"])
    found = et0.hargreaves(seattle["low"], seattle["high"], LATITUDE, day)
    months = seattle["days"].astype("datetime64[M]").astype(int) % 12
    means = np.array([found[months == m].mean() for m in range(12)])
    assert means.argmax() == 6
    assert means.argmin() in (11, 0)
