"""Living draws through the whole daily loop, on tiny series worked by hand (our arithmetic unless said)."""

from __future__ import annotations

import math
from typing import Any

import numpy as np
import pytest

from holdwater.errors import InputError
from holdwater.ledger import Ledger
from holdwater.scores import score
from tests.garden.test_snow import VECTOR
from tests.holdings import holding, live, run

GAL = 3.785411784
DRY = {"name": "roof", "area": "1 m2", "runoff_coefficient": 1.0, "feeds": "tank"}
TANK_1000 = {"name": "tank", "capacity": "1000 L", "diameter": "1 m"}
NOBODY = {"name": "nobody", "kind": "fixed", "per_day": "0 L/day"}
# Turf in loam (FAO-56 Tables 12, 19, 22): Kc 0.95; TAW = (0.25 - 0.12) x 500 = 65 mm, RAW = 0.40 x 65 = 26 mm.
# A bed starts with half of RAW missing: 13 mm. At ET0 4 mm a day it uses 3.8 mm.
TURF = {
    "name": "turf",
    "kind": "garden",
    "area": "20 m2",
    "crop": "turf, cool season",
    "soil": "loam",
    "method": "drip",  # 0.90
}


def row(ledger: Ledger, name: str, at: int = 0) -> list[float]:
    return ledger.flux(name)[at].round(9).tolist()


def et0(days: int, rain: list[float] | None = None) -> dict[str, list[float]]:
    return {"rain": rain or [0.0] * days, "et0": [4.0] * days}


# --- a household that saves --------------------------------------------------------------------------------


def test_saving_steps_cut_what_is_asked_while_the_tank_is_low() -> None:
    """Two people at 100 L; below half 60 L, below 200 L 10 L. The level of the morning decides."""
    steps = [{"below": "50 %", "per_person": "60 L/day"}, {"below": "200 L", "per_person": "10 L/day"}]
    house = {"name": "house", "kind": "household", "people": 2, "per_person": "100 L/day", "steps": steps}
    ledger = run([0.0] * 7, roof=[DRY], tank=[TANK_1000], draw=[house], run={"start_full": 1.0})
    assert row(ledger, "storage") == pytest.approx([1000, 800, 600, 400, 280, 160, 140, 120])
    assert row(ledger, "wanted") == [200] * 7
    assert row(ledger, "asked") == pytest.approx([200, 200, 200, 120, 120, 20, 20])
    assert row(ledger, "held_back") == pytest.approx([0, 0, 0, 80, 80, 180, 180])
    scores = score(ledger)
    assert scores.dry_days.total == 0, "what was cut by rule is not short"
    assert scores.held_back.by_draw == {"house": 4}
    assert scores.held_back.by_year == {2001: {"house": 4}}
    assert scores.years[0].held_back_days == 4


def test_a_draw_may_be_held_back_one_day_and_short_another() -> None:
    """A garden hose that stops below 300 L and a house that takes the rest: told apart, draw by draw."""
    hose = {"name": "hose", "kind": "fixed", "per_day": "200 L/day", "stops_below": "300 L"}
    house = {"name": "house", "kind": "fixed", "per_day": "150 L/day"}
    ledger = run([0.0] * 4, roof=[DRY], tank=[TANK_1000], draw=[house, hose], run={"start_full": 0.6})
    assert row(ledger, "storage") == pytest.approx([600, 300, 150, 0, 0])
    assert row(ledger, "held_back", 1) == [50, 200, 200, 200]
    assert row(ledger, "unserved", 0) == pytest.approx([0, 0, 0, 150])
    scores = score(ledger)
    assert scores.dry_days.by_draw == {"house": 1, "hose": 0}
    assert scores.held_back.by_draw == {"house": 0, "hose": 4}


def test_guests_by_date_and_every_year() -> None:
    """Two people at 100 L; three guests on the 2nd and 3rd, one over the turn of every year."""
    guests = [
        {"from": "2001-01-02", "to": "2001-01-03", "people": 3},
        {"from": "12-31", "to": "01-01", "people": 1},
    ]
    house = {"name": "house", "kind": "household", "people": 2, "per_person": "100 L/day", "guests": guests}
    assert row(run([0.0] * 5, draw=[house]), "wanted") == [300, 500, 500, 200, 200]


def test_fixtures_share_out_a_house() -> None:
    """Residential End Uses of Water 2016: shower 106.0, toilet 124.9 L a day in an average house."""
    fixtures = {"shower": 0.5, "toilet": 1.0}
    house = {"name": "house", "kind": "household", "people": 2, "fixtures": fixtures}
    assert row(run([0.0], draw=[house]), "wanted") == pytest.approx([0.5 * 106.0 + 124.9])


# --- animals in the heat -----------------------------------------------------------------------------------


def test_hens_drink_by_the_days_temperature_and_are_sold() -> None:
    """100 laying hens: 5.55 gal a day at 68 degF, 10.57 at 90 (University of Kentucky, Table 12.1); at 79 degF half
    way, 8.06. Fifty more from hatch to sale on the 2nd and 3rd."""
    hens = {
        "name": "hens",
        "kind": "livestock",
        "animals": {"hen, laying": 100},
        "also": [{"from": "2001-01-02", "to": "2001-01-03", "animals": {"hen, laying": 50}}],
    }
    mean = [20.0, (79 - 32) / 1.8, (90 - 32) / 1.8, 45.0]
    weather = {"rain": [0.0] * 4, "t_min": [t - 5 for t in mean], "t_max": [t + 5 for t in mean]}
    drunk = [5.55, 1.5 * 8.06, 1.5 * 10.57, 10.57]
    assert row(live(weather, draw=[hens]), "wanted") == pytest.approx([gal * GAL for gal in drunk], rel=1e-9)


def test_without_temperatures_animals_drink_as_at_20_degrees() -> None:
    hens = {"name": "hens", "kind": "livestock", "animals": {"hen, laying": 100}}
    assert row(run([0.0, 0.0], draw=[hens]), "wanted") == pytest.approx([5.55 * GAL] * 2)


# --- open water --------------------------------------------------------------------------------------------


def test_an_open_cylinder_evaporates_et0_times_its_surface_until_it_is_empty() -> None:
    """2 m across: pi m2. At ET0 5 mm 15.708 L a day, half of it under a factor of 0.5."""
    tank = {"name": "tank", "capacity": "5 m3", "diameter": "2 m", "evaporation_factor": 1.0}
    weather = {"rain": [0.0] * 5, "et0": [5.0] * 5}
    parts: dict[str, Any] = {"roof": [DRY], "draw": [NOBODY], "run": {"start_full": 0.01}}
    a_day = 5.0 * math.pi
    ledger = live(weather, tank=[tank], **parts)
    assert row(ledger, "evaporation") == pytest.approx([a_day, a_day, a_day, 50 - 3 * a_day, 0])
    assert row(ledger, "storage") == pytest.approx([50, 50 - a_day, 50 - 2 * a_day, 50 - 3 * a_day, 0, 0])
    half = live(weather, tank=[tank | {"evaporation_factor": 0.5}], **parts)
    assert row(half, "evaporation") == pytest.approx([a_day / 2] * 5)
    covered = live(weather, tank=[tank | {"evaporation_factor": 0.0}], **parts)
    assert row(covered, "evaporation") == [0.0] * 5


def test_a_pond_evaporates_from_the_surface_it_has_at_its_level() -> None:
    """1 m2 up to 1 m, 3 m2 above: 4 mm of ET0 take 12 L from 2500 L and 4 L from 500 L."""
    levels = [("0 m", "0 L"), ("1 m", "1000 L"), ("2 m", "4000 L")]
    pond = {
        "name": "tank",
        "levels": [{"level": height, "volume": volume} for height, volume in levels],
        "evaporation_factor": 1.0,
    }
    parts: dict[str, Any] = {"roof": [DRY], "tank": [pond], "draw": [NOBODY]}
    for full, taken in ((2500 / 4000, 12.0), (500 / 4000, 4.0)):
        ledger = live(et0(1), run={"start_full": full}, **parts)
        assert row(ledger, "evaporation") == pytest.approx([taken])


# --- beds --------------------------------------------------------------------------------------------------


def test_a_bed_asks_when_it_would_pass_its_trigger_and_is_filled() -> None:
    """13, 16.8, 20.6, 24.4 mm missing; on the fourth day 28.2 > 26: 28.2 mm x 20 m2 / 0.9 = 626.67 L."""
    ledger = live(et0(5), roof=[DRY], tank=[TANK_1000], draw=[TURF], run={"start_full": 1.0})
    assert row(ledger, "wanted") == pytest.approx([0, 0, 0, 28.2 * 20 / 0.9, 0])
    assert row(ledger, "depletion") == pytest.approx([13, 16.8, 20.6, 24.4, 0, 3.8])
    assert row(ledger, "watered") == pytest.approx([0, 0, 0, 28.2, 0])
    bed = score(ledger).beds[0]
    assert (bed.stress_days, bed.growing_days) == (0, 5)
    assert bed.met_by is not None
    assert bed.met_by.tanks == pytest.approx(1.0), "28.2 mm given, 19 mm used: what the crop took was given"
    assert [str(day) for day in bed.watering_began] == ["2001-01-04"]


def test_what_the_tanks_fail_to_give_is_not_asked_again_as_such() -> None:
    """300 L instead of 626.67: 13.5 mm. At 14.7 mm the bed asks for nothing for two days and dries on by physics;
    the tank is empty then."""
    ledger = live(et0(8), roof=[DRY], tank=[TANK_1000], draw=[TURF], run={"start_full": 0.3})
    last = 26.1 + 3.8 * (65 - 26.1) / 39  # Ks of the eighth day, eq. 84
    assert row(ledger, "depletion") == pytest.approx([13, 16.8, 20.6, 24.4, 14.7, 18.5, 22.3, 26.1, last])
    asked = [0, 0, 0, 28.2, 0, 0, 26.1, last]
    assert row(ledger, "asked") == pytest.approx([mm * 20 / 0.9 for mm in asked])
    scores = score(ledger)
    assert scores.dry_days.by_draw["turf"] == 3
    assert scores.beds[0].stress_days == 1, "only the last morning lay below RAW"


def test_a_rain_fed_bed_suffers_by_equation_84() -> None:
    """Ks of a day is that of the evening before: 28.2 mm gives (65 - 28.2) / (65 - 26) = 0.94359."""
    ledger = live(et0(6), roof=[DRY], draw=[TURF | {"rain_fed": True}])
    ks = (65 - 28.2) / (65 - 26)
    after = 28.2 + 3.8 * ks
    assert row(ledger, "depletion") == pytest.approx(
        [13, 16.8, 20.6, 24.4, 28.2, after, after + 3.8 * (65 - after) / 39]
    )
    assert row(ledger, "stress") == pytest.approx([1, 1, 1, 1, ks, (65 - after) / 39])
    bed = score(ledger).beds[0]
    assert bed.stress_days == 2
    assert bed.watering_began == []
    assert bed.met_by is not None
    took = row(ledger, "depletion")[-1] - 13
    assert bed.met_by.rain == pytest.approx(took / (6 * 3.8)), "what the soil held, and it came as rain"
    assert bed.met_by.unmet == pytest.approx(1 - took / (6 * 3.8))


def test_backup_waters_what_the_tank_lacks() -> None:
    """626.67 L asked: 300 from the tank (13.5 mm), the rest from a well (14.7 mm)."""
    well = {"name": "well", "kind": "direct"}
    ledger = live(et0(4), roof=[DRY], tank=[TANK_1000], draw=[TURF], backup=[well], run={"start_full": 0.3})
    assert row(ledger, "backup_served")[3] == pytest.approx(28.2 * 20 / 0.9 - 300)
    met = score(ledger).beds[0].met_by
    assert met is not None
    assert met.tanks / met.backup == pytest.approx(13.5 / 14.7)
    assert (met.rain, met.unmet) == (pytest.approx(0.0), pytest.approx(0.0))


def test_first_flush_water_runs_to_a_bed() -> None:
    """100 L off a roof of 100 m2, drip (0.9), 20 m2: 4.5 mm beside the rain. Rain of 0.5 mm is ignored on the bed
    (below 0.2 ET0) but runs off the roof: 50 L, 2.25 mm."""
    flush = {"volume": "100 L", "drains_in": "1 day", "to": "turf"}
    roof = {
        "name": "roof",
        "area": "100 m2",
        "runoff_coefficient": 1.0,
        "feeds": "tank",
        "first_flush": flush,
    }
    ledger = live(et0(3, [10.0, 0.0, 0.5]), roof=[roof], draw=[TURF | {"rain_fed": True}])
    assert row(ledger, "first_flush") == pytest.approx([100, 0, 50])
    assert row(ledger, "flushed") == pytest.approx([4.5, 0, 2.25])
    assert row(ledger, "rain_ignored") == pytest.approx([0, 0, 0.5])
    assert row(ledger, "depletion") == pytest.approx([13, 13 + 3.8 - 14.5, 6.1, 6.1 + 3.8 - 2.25])
    met = score(ledger).beds[0].met_by
    assert met is not None
    assert met.first_flush == pytest.approx(6.75 / 11.4)


def test_surplus_runs_below_the_roots() -> None:
    ledger = live(et0(1, [30.0]), roof=[DRY], draw=[TURF | {"rain_fed": True}])
    assert row(ledger, "deep_percolation") == pytest.approx([30 - 16.8])
    assert row(ledger, "depletion") == pytest.approx([13, 0])


# --- snow --------------------------------------------------------------------------------------------------


def snowfall() -> dict[str, list[float]]:
    mean = [day[0] for day in VECTOR]
    return {
        "rain": [day[1] for day in VECTOR],
        "t_min": [t - 2 for t in mean],
        "t_max": [t + 2 for t in mean],
    }


def test_the_snow_vector_on_a_roof() -> None:
    """The worked vector of `test_snow`: pack and outflow on 100 m2, a hundred litres to the millimetre."""
    roof = {"name": "roof", "area": "100 m2", "runoff_coefficient": 1.0, "feeds": "tank"}
    ledger = live(snowfall(), roof=[roof], draw=[NOBODY])
    assert row(ledger, "snow_pack") == pytest.approx([0, *(100 * pack for *_, pack, _ in VECTOR)])
    assert row(ledger, "roof_inflow") == pytest.approx([100 * outflow for *_, outflow in VECTOR])
    assert row(ledger, "rain_on_roof") == pytest.approx([100 * day[1] for day in VECTOR])
    totals = score(ledger).totals_L
    assert totals["rain_on_roofs"] == pytest.approx(totals["overflow"] + totals["storage_change"])


def test_snow_that_slides_off_never_melts_into_the_gutter() -> None:
    """A quarter of 10, 4, 6 and 3 mm of snow slides off; pack and melt by hand, melt 3 mm a degree."""
    roof = {"name": "roof", "area": "100 m2", "runoff_coefficient": 1.0, "feeds": "tank", "snow_lost": 0.25}
    ledger = live(snowfall(), roof=[roof], draw=[NOBODY])
    assert row(ledger, "snow_lost") == pytest.approx([250, 100, 150, 75, 0, 0, 0])
    # pack 7.5, 10.5, 15; day 4: 15 + 2.25 - 3 = 14.25; then - 6 = 8.25; day 6 melts all of it
    assert row(ledger, "snow_pack") == pytest.approx([0, 750, 1050, 1500, 1425, 825, 0, 0])
    assert row(ledger, "roof_inflow") == pytest.approx([0, 0, 200, 600, 600, 1325, 0])


def test_snow_waits_on_the_bed_as_it_does_on_the_roof() -> None:
    weather = snowfall() | {"et0": [0.5] * 7}
    ledger = live(weather, roof=[DRY], draw=[TURF | {"rain_fed": True}])
    reached = ledger.flux("rain_kept")[0] + ledger.flux("rain_ignored")[0]
    assert reached.tolist() == pytest.approx([outflow for *_, outflow in VECTOR])


def test_the_snow_still_lying_at_the_end_is_stored_not_lost() -> None:
    roof = {"name": "roof", "area": "100 m2", "runoff_coefficient": 1.0, "feeds": "tank"}
    weather = {"rain": [10.0, 5.0], "t_min": [-9.0, -9.0], "t_max": [-3.0, -3.0]}
    ledger = live(weather, roof=[roof], draw=[NOBODY])
    assert score(ledger).totals_L["storage_change"] == pytest.approx(1500.0)


# --- what cannot be known ----------------------------------------------------------------------------------


def test_a_missing_temperature_names_the_day_and_who_needs_it() -> None:
    weather = {"rain": [0.0] * 3, "t_min": [1.0, np.nan, 2.0], "t_max": [9.0, 9.0, 9.0]}
    hens = {"name": "hens", "kind": "livestock", "animals": {"hen, laying": 100}}
    with pytest.raises(InputError) as told:
        live(weather, draw=[hens, TURF], place={"latitude": 40.0, "longitude": 0.0})
    (said,) = told.value.faults
    assert said.startswith(
        "a temperature is missing on 1 of 3 days, the first 2001-01-02; it is needed for snow,"
    )
    assert "draw 'hens', draw 'turf'" in said
    assert 'weather.missing_days = "climate"' in said


def test_t_max_below_t_min_with_a_garden_names_the_day() -> None:
    weather = {"rain": [0.0] * 3, "t_min": [1.0, 8.0, 2.0], "t_max": [9.0, 7.5, 9.0]}
    with pytest.raises(
        InputError, match=r"below Tmin on 1 of 3 days, the first 2001-01-02 \(Tmin 8, Tmax 7.5"
    ):
        live(weather, draw=[TURF], place={"latitude": 40.0, "longitude": 0.0})


def test_a_garden_without_temperatures_or_place_says_what_lacks() -> None:
    with pytest.raises(
        InputError, match=r"ET0 cannot be computed: no t_min column, no t_max column, no latitude"
    ):
        run([0.0] * 3, draw=[TURF])
    with pytest.raises(InputError, match=r"ET0 cannot be computed: no latitude under \[place\]"):
        live({"rain": [0.0], "t_min": [1.0], "t_max": [9.0]}, draw=[TURF])


def test_where_evapotranspiration_came_from_is_in_the_ledger() -> None:
    known = live(et0(2), draw=[TURF]).data["et0"].attrs["source"]
    assert known == "the record's own ET0: 2 days"
    monthly = {"file": "none.csv", "monthly_et0": ["1 mm"] * 12}
    assert run([0.0], draw=[TURF], weather=monthly).data["et0"].attrs["source"] == "monthly values: 1 day"
    assert "et0" not in run([0.0]).data, "nothing asks for it"


@pytest.mark.parametrize(
    ("parts", "said"),
    [
        ({"draw": [TURF | {"planted": "02-30"}]}, r"February has no day 30"),
        ({"place": {"latitude": 90.5, "longitude": 0.0}}, r"less than or equal to 90"),
    ],
)
def test_a_scenario_made_by_hand_is_checked_too(parts: dict[str, Any], said: str) -> None:
    with pytest.raises(ValueError, match=said):
        holding(**parts)


def test_a_crop_that_is_not_in_the_table_is_named() -> None:
    said = r"draw 'turf': crop 'tomatoe' is not in the table; did you mean 'tomato'\?"
    with pytest.raises(InputError, match=said):
        live(et0(1), draw=[TURF | {"crop": "tomatoe", "planted": "05-10"}])
