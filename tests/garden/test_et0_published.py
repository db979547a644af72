"""Every intermediate of the worked examples of FAO-56 (Allen et al. 1998), to the digits printed there."""

from __future__ import annotations

import numpy as np
import pytest

from holdwater.weather import et0

# Example 18: Uccle (Brussels), 50 deg 48' N, 100 m, 6 July; 10 km/h at 10 m; 9.25 h of sunshine
UCCLE = {"latitude": 50.80, "altitude": 100.0, "day": 187}
LOW, HIGH, RH_MIN, RH_MAX, SUNSHINE = 12.3, 21.5, 63.0, 84.0, 9.25


def printed(value: float, digits: int) -> object:
    """A published figure is known to half its last digit."""
    return pytest.approx(value, abs=0.5000001 * 10.0**-digits)


def test_example_2_pressure_and_psychrometric_constant_at_1800_m() -> None:
    pressure = et0.atmospheric_pressure(1800.0)
    assert pressure == printed(81.8, 1)
    assert et0.psychrometric_constant(pressure) == printed(0.054, 3)


def test_example_3_saturation_vapour_pressure() -> None:
    assert et0.saturation_vapour_pressure(24.5) == printed(3.075, 3)
    assert et0.saturation_vapour_pressure(15.0) == printed(1.705, 3)
    assert et0.mean_saturation_vapour_pressure(15.0, 24.5) == printed(2.39, 2)


def test_example_8_radiation_above_the_air() -> None:
    assert et0.inverse_distance(246) == printed(0.985, 3)
    assert et0.declination(246) == printed(0.120, 3)
    assert et0.sunset_hour_angle(-20.0, 246) == printed(1.527, 3)
    assert et0.extraterrestrial_radiation(-20.0, 246) == printed(32.2, 1)


def test_example_9_daylight_hours() -> None:
    assert et0.daylight_hours(-20.0, 246) == printed(11.7, 1)


def test_example_18_air() -> None:
    assert et0.wind_at_2m(10.0 / 3.6, 10.0) == printed(2.078, 3)
    assert et0.atmospheric_pressure(100.0) == printed(100.1, 1)
    assert et0.psychrometric_constant(et0.atmospheric_pressure(100.0)) == printed(0.0666, 4)
    assert et0.slope_vapour_pressure((LOW + HIGH) / 2) == printed(0.122, 3)
    assert et0.saturation_vapour_pressure(HIGH) == printed(2.564, 3)
    assert et0.saturation_vapour_pressure(LOW) == printed(1.431, 3)
    assert et0.mean_saturation_vapour_pressure(LOW, HIGH) == printed(1.997, 3)
    assert et0.vapour_pressure_from_humidity(LOW, HIGH, RH_MIN, RH_MAX) == printed(1.409, 3)


def test_example_18_radiation_and_et0() -> None:
    latitude, altitude, day = UCCLE["latitude"], UCCLE["altitude"], UCCLE["day"]
    above = et0.extraterrestrial_radiation(latitude, day)
    daylight = et0.daylight_hours(latitude, day)
    solar = et0.solar_radiation(SUNSHINE, daylight, above)
    clear = et0.clear_sky_radiation(above, altitude)
    humidity = et0.vapour_pressure_from_humidity(LOW, HIGH, RH_MIN, RH_MAX)
    longwave = et0.net_longwave(LOW, HIGH, humidity, solar, clear)
    assert above == printed(41.09, 2)
    assert daylight == printed(16.1, 1)
    assert solar == printed(22.07, 2)
    assert clear == printed(30.90, 2)
    assert solar / clear == printed(0.71, 2)
    assert et0.net_shortwave(solar) == pytest.approx(17.00, abs=0.01)  # printed from the rounded 22.07
    assert longwave == printed(3.71, 2)
    assert et0.net_shortwave(solar) - longwave == printed(13.28, 2)
    wind = et0.wind_at_2m(10.0 / 3.6, 10.0)
    found = et0.penman_monteith(LOW, HIGH, humidity, wind, solar, latitude, altitude, day)
    assert found == printed(3.88, 2)


def test_example_20_hargreaves() -> None:
    assert et0.extraterrestrial_radiation(45.72, 196) == printed(40.55, 2)
    assert et0.hargreaves(14.8, 26.6, 45.72, 196) == printed(5.03, 2)


def test_example_14_wind_profile() -> None:
    """3.2 m/s at 10 m is 2.4 m/s at 2 m (FAO-56 Example 14, as transcribed)."""
    assert et0.wind_at_2m(3.2, 10.0) == printed(2.4, 1)
    assert et0.wind_at_2m(3.2, 2.0) == 3.2


@pytest.mark.parametrize(
    ("latitude", "night", "light"), [(80.0, 355, 172), (-80.0, 172, 355), (90.0, 355, 172)]
)
def test_poles(latitude: float, night: int, light: int) -> None:
    """Polar night and polar day (edge cases of eq. 25, by geometry)."""
    assert et0.extraterrestrial_radiation(latitude, night) == 0.0
    assert et0.daylight_hours(latitude, night) == 0.0
    assert et0.daylight_hours(latitude, light) == 24.0
    assert et0.extraterrestrial_radiation(latitude, light) > 40.0
    assert et0.hargreaves(-30.0, -20.0, latitude, night) == 0.0


def test_equator_has_twelve_hours_all_year() -> None:
    np.testing.assert_allclose(et0.daylight_hours(0.0, np.arange(1, 367)), 12.0, atol=1e-12)


def test_hemispheres_mirror_each_other_but_for_the_distance_to_the_sun() -> None:
    """Declination changes sign in half a year; Ra / dr then is the same on both sides (eq. 21)."""
    days = np.arange(1, 366)
    north = et0.daylight_hours(42.0, days)
    south = et0.daylight_hours(-42.0, days)
    np.testing.assert_allclose(north + south, 24.0, atol=1e-12)


def test_arrays_give_the_same_as_single_days() -> None:
    days = np.array([1, 100, 200, 300])
    low, high = np.array([-3.0, 5.0, 14.0, 4.0]), np.array([4.0, 17.0, 29.0, 15.0])
    whole = et0.hargreaves(low, high, 47.6, days)
    single = [float(et0.hargreaves(a, b, 47.6, d)) for a, b, d in zip(low, high, days, strict=True)]
    assert whole.tolist() == single


def test_polar_night_penman_monteith_is_finite() -> None:
    solar = et0.solar_radiation(0.0, et0.daylight_hours(80.0, 355), et0.extraterrestrial_radiation(80.0, 355))
    assert solar == 0.0
    found = et0.penman_monteith(-30.0, -22.0, 0.04, 3.0, solar, 80.0, 10.0, 355)
    assert np.isfinite(found)


def test_more_sunshine_than_daylight_counts_as_full_sun() -> None:
    assert et0.solar_radiation(12.4, 12.0, 40.0) == pytest.approx(0.75 * 40.0)


def test_slope_is_the_derivative_of_the_saturation_curve() -> None:
    """Eq. 13 is eq. 11 differentiated, with 17.27 x 237.3 = 4098.17 rounded to 4098."""
    t = np.linspace(-20.0, 45.0, 66)
    rise = et0.saturation_vapour_pressure(t + 1e-4) - et0.saturation_vapour_pressure(t - 1e-4)
    np.testing.assert_allclose(et0.slope_vapour_pressure(t), rise / 2e-4, rtol=1e-4)


def test_hargreaves_is_never_negative_in_deep_frost() -> None:
    """Eq. 52 changes sign at a mean of -17.8 degC; evaporation does not."""
    assert et0.hargreaves(-30.0, -20.0, 60.0, 60) == 0.0
    assert et0.hargreaves(-20.0, -15.0, 60.0, 60) > 0.0
