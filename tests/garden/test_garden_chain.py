"""The whole chain on a real record (Seattle 2012 to 2015): temperatures to ET0 to soil to irrigation."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TypeAlias

import numpy as np
import numpy.typing as npt
import pytest
from vega_datasets import data

from holdwater import crop_water, garden, soil_water
from holdwater.scenario.quantities import MonthDayValue
from holdwater.weather.reference_et import reference

Weather: TypeAlias = tuple[crop_water.Days, npt.NDArray[np.float64], npt.NDArray[np.float64]]
LATITUDE = 47.45  # of the airport where the record was taken, rounded; from memory


@dataclass
class Booked:
    """What a bed did, day by day [mm]."""

    plan: garden.BedPlan
    depletion: npt.NDArray[np.float64]
    ks: npt.NDArray[np.float64]
    crop: npt.NDArray[np.float64]
    asked: npt.NDArray[np.float64]
    given: npt.NDArray[np.float64]
    deep: npt.NDArray[np.float64]


def live(plan: garden.BedPlan, most: float) -> Booked:
    """Run a bed that gets what it asks, but no more than `most` in a day [mm]."""
    n = plan.etc.size
    booked = Booked(plan, np.zeros(n + 1), *(np.zeros(n) for _ in range(5)))
    dr = surface = 0.0
    for i in range(n):
        booked.ks[i] = soil_water.stress(dr, plan.taw, plan.raw[i])
        dried, top = soil_water.dry_down(
            dr, surface, plan.growing[i], plan.taw, plan.raw[i], plan.tew, plan.rew, plan.etc[i]
        )
        booked.crop[i] = dried - dr
        if plan.asks[i]:
            booked.asked[i] = soil_water.irrigation_asked(
                dried - plan.rain_kept[i], plan.trigger[i], plan.target
            )
        booked.given[i] = min(booked.asked[i], most)
        dr, surface, booked.deep[i] = soil_water.wet_up(dried, top, plan.rain_kept[i] + booked.given[i])
        booked.depletion[i + 1] = dr
    return booked


@pytest.fixture(scope="module")
def seattle() -> Weather:
    """Days, rain and ET0."""
    table = data.seattle_weather()
    days = table["date"].to_numpy().astype("datetime64[D]")
    columns = {"t_min": table["temp_min"].to_numpy(float), "t_max": table["temp_max"].to_numpy(float)}
    return days, table["precipitation"].to_numpy(float), reference(days, columns, LATITUDE).values


def tomatoes(weather: Weather, rain_fed: bool) -> garden.BedPlan:
    bed = garden.bed("bed", 100.0, "tomato", MonthDayValue(5, 10), "sandy loam", rain_fed=rain_fed)
    return garden.plan(bed, *weather)


@pytest.mark.parametrize(("rain_fed", "most"), [(False, 99.0), (False, 1.5), (False, 0.0), (True, 99.0)])
def test_four_years_of_soil_water_balance(
    seattle: Weather,
    rain_fed: bool,
    most: float,
) -> None:
    booked = live(tomatoes(seattle, rain_fed), most)
    came = math.fsum(booked.plan.rain_kept) + math.fsum(booked.given)
    went = math.fsum(booked.crop) + math.fsum(booked.deep)
    assert abs(came - went + booked.depletion[-1] - booked.depletion[0]) <= 1e-9 * came
    assert math.fsum(booked.plan.rain_kept) + math.fsum(booked.plan.rain_ignored) == pytest.approx(
        math.fsum(seattle[1]), rel=1e-12
    )
    assert booked.depletion.min() >= 0.0
    assert booked.depletion.max() <= booked.plan.taw


def test_the_story_reads_true_to_a_gardener(seattle: Weather) -> None:
    """Dry summers, wet winters: waterings start between mid May and mid July."""
    days = seattle[0]
    watered = live(tomatoes(seattle, False), 99.0)
    dry = live(tomatoes(seattle, True), 0.0)
    years = days.astype("datetime64[Y]").astype(int) + 1970
    assert (watered.ks[watered.plan.growing] == 1.0).all()
    for year in range(2012, 2016):
        asks = days[(years == year) & (watered.asked > 0.0)]
        assert np.datetime64(f"{year}-05-15") <= asks[0] <= np.datetime64(f"{year}-07-15")
        assert asks[-1] <= np.datetime64(f"{year}-10-01")
        season = (years == year) & watered.plan.growing
        planting = int(np.flatnonzero(season)[0])
        assert watered.depletion[planting] <= watered.plan.tew  # winter rain has filled all but the top
        assert 100.0 < watered.asked[season].sum() < 500.0  # mm
        assert (dry.ks[season] < 1.0).sum() > 30  # unwatered tomatoes suffer every summer there
    assert dry.asked.sum() == 0.0


def test_little_water_means_more_stress_and_less_use(seattle: Weather) -> None:
    plan = tomatoes(seattle, False)
    none, little, full = (live(plan, most) for most in (0.0, 1.5, 99.0))
    assert none.crop.sum() < little.crop.sum() < full.crop.sum()
    assert none.ks.mean() < little.ks.mean() < full.ks.mean()
