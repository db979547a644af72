"""Which way ET0 is found on each day, and what is said when it cannot be."""

from __future__ import annotations

import numpy as np
import pytest

from holdwater.errors import InputError
from holdwater.weather import et0
from holdwater.weather.reference_et import reference

DAYS = np.arange("2019-12-30", "2020-01-03", dtype="datetime64[D]")
LOW, HIGH = np.array([2.0, 3.0, 1.0, 4.0]), np.array([9.0, 11.0, 8.0, 12.0])
MONTHLY = [0.5, 0.9, 1.8, 3.0, 4.1, 5.0, 5.4, 4.8, 3.4, 1.9, 0.9, 0.4]  # invented


def test_day_of_year_in_common_and_leap_years() -> None:
    days = np.array(["2019-01-01", "2019-12-31", "2020-02-29", "2020-12-31"], dtype="datetime64[D]")
    assert et0.day_of_year(days).tolist() == [1, 365, 60, 366]
    assert et0.day_of_year(days.astype("datetime64[s]")).tolist() == [1, 365, 60, 366]


def test_the_records_own_et0_comes_first_and_is_never_negative() -> None:
    found = reference(DAYS, {"et0": [1.0, -0.1, 0.0, 2.0], "t_min": LOW, "t_max": HIGH}, 45.0)
    assert found.values.tolist() == [1.0, 0.0, 0.0, 2.0]
    assert found.days_by == {"the record's own ET0": 4}


def test_temperatures_alone_give_hargreaves() -> None:
    found = reference(DAYS, {"t_min": LOW, "t_max": HIGH, "et0": None}, 45.0)
    assert found.values.tolist() == et0.hargreaves(LOW, HIGH, 45.0, [364, 365, 1, 2]).tolist()
    assert found.how == "Hargreaves (FAO-56 eq. 52): 4 days"


def test_full_weather_gives_penman_monteith_and_its_gaps_go_to_hargreaves_then_to_the_months() -> None:
    low = np.array([2.0, 3.0, np.nan, 4.0])
    columns = {
        "t_min": low,
        "t_max": HIGH,
        "dew_point": [1.0, 1.0, 1.0, 1.0],
        "wind": [2.0, np.nan, 2.0, 2.0],
        "radiation": [5.0, 5.0, 5.0, np.nan],
    }
    found = reference(DAYS, columns, 45.0, 300.0, monthly=MONTHLY)
    assert found.days_by == {
        "Penman-Monteith (FAO-56 eq. 6)": 1,
        "Hargreaves (FAO-56 eq. 52)": 2,
        "monthly values": 1,
    }
    assert found.values[2] == MONTHLY[0]
    assert found.values[1] == et0.hargreaves(3.0, 11.0, 45.0, 365)


def test_example_18_through_the_choice() -> None:
    """FAO-56 Example 18 (Uccle, 6 July), by humidity and sunshine columns: 3.88 mm/day."""
    columns = {
        "t_min": [12.3],
        "t_max": [21.5],
        "rh_min": [63.0],
        "rh_max": [84.0],
        "wind": [10.0 / 3.6],
        "sunshine": [9.25],
    }
    day = np.array(["2001-07-06"], dtype="datetime64[D]")
    found = reference(day, columns, 50.80, 100.0)
    assert found.values[0] == pytest.approx(3.88, abs=0.005)
    assert list(found.days_by) == ["Penman-Monteith (FAO-56 eq. 6)"]


def test_without_elevation_penman_monteith_is_passed_over() -> None:
    columns = {"t_min": LOW, "t_max": HIGH, "dew_point": LOW, "wind": LOW, "radiation": HIGH}
    assert list(reference(DAYS, columns, 45.0).days_by) == ["Hargreaves (FAO-56 eq. 52)"]


def test_months_alone() -> None:
    found = reference(DAYS, {}, monthly=MONTHLY)
    assert found.values.tolist() == [0.4, 0.4, 0.5, 0.5]


def test_nothing_to_go_by_names_what_lacks_and_every_cure() -> None:
    with pytest.raises(
        InputError,
        match=r"no t_min column, no t_max column, no latitude under \[place\].*ET0 column.*monthly",
    ):
        reference(DAYS, {})


def test_a_missing_temperature_names_the_day() -> None:
    low = LOW.copy()
    low[1] = np.nan
    with pytest.raises(
        InputError, match=r"1 of 4 days, the first 2019-12-31: a temperature is missing; fill"
    ):
        reference(DAYS, {"t_min": low, "t_max": HIGH}, 45.0)


def test_t_max_below_t_min_names_the_day_and_the_figures() -> None:
    high = HIGH.copy()
    high[2] = 0.5
    with pytest.raises(
        InputError, match=r"below Tmin on 1 of 4 days, the first 2020-01-01 \(Tmin 1, Tmax 0.5"
    ):
        reference(DAYS, {"t_min": LOW, "t_max": high}, 45.0)
    with pytest.raises(InputError, match=r"the first day 3 of the series"):
        et0.hargreaves(LOW, high, 45.0, [364, 365, 1, 2])
    with pytest.raises(InputError, match="Tmax is below Tmin"):
        et0.penman_monteith(5.0, 4.0, 0.5, 1.0, 5.0, 45.0, 0.0, 1)


@pytest.mark.parametrize("latitude", [90.5, -109.2, float("nan")])
def test_latitude_beyond_the_pole(latitude: float) -> None:
    with pytest.raises(InputError, match=r"required -90 .* to 90 .*exchanged"):
        et0.extraterrestrial_radiation(latitude, 100)


def test_wind_measured_on_the_ground_is_refused() -> None:
    with pytest.raises(InputError, match=r"wind height: found 0.05 m"):
        et0.wind_at_2m(3.0, 0.05)


@pytest.mark.parametrize("monthly", [[1.0] * 11, [1.0] * 11 + [-1.0], [float("nan")] * 12])
def test_twelve_monthly_values_or_none(monthly: list[float]) -> None:
    with pytest.raises(InputError, match="required twelve values"):
        reference(DAYS, {}, monthly=monthly)
