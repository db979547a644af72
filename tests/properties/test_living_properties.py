"""What must hold for any holding with soil, snow, animals and open water, in any weather."""

from __future__ import annotations

import copy
from typing import Any

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from holdwater.garden_scores import bed_scores, stressed
from holdwater.ledger import ENTRIES, STATES, closing_error
from holdwater.scores import score, year_labels
from tests.holdings import live
from tests.properties.strategies import beds, living, weathers
from tests.properties.test_ledger_properties import _scaled as scaled

Weather = dict[str, list[float]]


@settings(max_examples=300, deadline=None)
@given(living(), weathers())
def test_the_ledger_closes_with_soil_snow_and_open_water(parts: dict[str, Any], weather: Weather) -> None:
    """`simulate` raises on any negative volume; here the account is checked once more by its numbers."""
    ledger = live(weather, **parts)
    assert closing_error(ledger) <= 1e-9
    storage = ledger.flux("storage")
    assert (storage >= 0.0).all()
    assert (storage <= ledger.flux("capacity")[:, None] * (1 + 1e-9)).all()
    assert (ledger.flux("delivered") <= ledger.flux("asked") * (1 + 1e-12)).all()
    assert (ledger.flux("asked") <= ledger.flux("wanted") * (1 + 1e-12)).all()
    scores = score(ledger)
    assert sum(scores.dry_days.by_year.values()) == scores.dry_days.total
    assert sum(sum(year.values()) for year in scores.held_back.by_year.values()) == sum(
        scores.held_back.by_draw.values()
    )


@settings(max_examples=200, deadline=None)
@given(living(), weathers())
def test_the_totals_of_a_run_leave_no_water_out(parts: dict[str, Any], weather: Weather) -> None:
    total = score(live(weather, **parts)).totals_L
    lost = ("snow_lost", "wetting_loss", "not_run_off", "gutter_off", "filter_loss", "first_flush")
    went = sum(total[name] for name in (*lost, "overflow", "delivered", "leak", "evaporation"))
    served = total["backup"]  # filled into tanks, or handed to a draw past them
    direct = total["asked"] - total["delivered"] - total["unserved"]
    came = total["rain_on_roofs"] + served
    assert went + direct + total["storage_change"] == pytest.approx(came, rel=1e-6, abs=1e-3)


@settings(max_examples=200, deadline=None)
@given(living(), weathers())
def test_the_soil_stays_between_full_and_dry(parts: dict[str, Any], weather: Weather) -> None:
    ledger = live(weather, **parts)
    depletion, available = ledger.flux("depletion"), ledger.flux("available")
    assert (depletion >= 0.0).all()
    assert (depletion <= available[:, None] * (1 + 1e-12)).all()
    assert (ledger.flux("crop_water") <= ledger.flux("crop_need") * (1 + 1e-12) + 1e-12).all()
    stress = ledger.flux("stress")
    assert ((stress >= 0.0) & (stress <= 1.0)).all()


@settings(max_examples=150, deadline=None)
@given(living(), weathers())
def test_a_rain_fed_garden_never_drinks_from_the_tank(parts: dict[str, Any], weather: Weather) -> None:
    """And its presence changes nothing for anybody else."""
    rain_fed = copy.deepcopy(parts)
    for draw in rain_fed["draw"]:
        if draw["kind"] == "garden":
            for key in ("trigger", "refill_to", "stops_below"):
                draw.pop(key, None)
            draw["rain_fed"] = True
    without = copy.deepcopy(rain_fed)
    without["draw"] = [draw for draw in without["draw"] if draw["kind"] != "garden"]
    for roof in without["roof"]:
        roof.get("first_flush", {}).pop("to", None)
    ledger, other = live(weather, **rain_fed), live(weather, **without)
    assert ledger.flux("watered").sum() == 0.0
    for name in ("wanted", "held_back", "delivered", "backup_served", "unserved"):
        beds_of = ledger.data["draw"].isin(ledger.data["bed"])
        assert float(ledger.data[name].where(beds_of, 0.0).sum()) == 0.0, name
    assert ledger.flux("storage").tolist() == other.flux("storage").tolist()


@settings(max_examples=200, deadline=None)
@given(beds("bed"), weathers(), st.floats(0.0, 1.0), st.floats(0.1, 60.0))
def test_more_rain_never_means_a_drier_soil_later(
    bed: dict[str, Any], weather: Weather, place: float, more: float
) -> None:
    """On a rain-fed bed, through the whole run: more precipitation on one day, snow or rain."""
    for key in ("trigger", "refill_to", "stops_below"):
        bed.pop(key, None)
    parts = {"draw": [bed | {"rain_fed": True}], "place": {"latitude": 48.0, "longitude": 0.0}}
    wetter = copy.deepcopy(weather)
    wetter["rain"][min(int(place * len(weather["rain"])), len(weather["rain"]) - 1)] += more
    dry, wet = live(weather, **parts), live(wetter, **parts)
    assert (wet.flux("depletion") <= dry.flux("depletion") + 1e-9).all()
    assert wet.flux("crop_water").sum() >= dry.flux("crop_water").sum() - 1e-9


@settings(max_examples=100, deadline=None)
@given(living(), weathers(), st.sampled_from([0.5, 3.0, 10.0]))
def test_scaling_everything_scales_everything(parts: dict[str, Any], weather: Weather, factor: float) -> None:
    """Areas, volumes and draws times a factor, heights and depths as they are: water scales, the soil's depth does
    not. Loads and animals come in whole numbers and stay away."""
    parts["backup"] = [b for b in parts["backup"] if b["kind"] == "direct"]
    parts["draw"] = [draw for draw in parts["draw"] if draw["kind"] != "livestock"]
    small, large = live(weather, **parts), live(weather, **scaled(parts, factor))
    for name, entry in (ENTRIES | STATES).items():
        if name in small.data and name not in ("loads", "cost"):
            by = factor if entry.units == "L" else 1.0
            assert large.flux(name) == pytest.approx(small.flux(name) * by, rel=1e-6, abs=1e-4), name


@settings(max_examples=150, deadline=None)
@given(living(), weathers())
def test_who_met_the_need_of_a_crop_adds_up(parts: dict[str, Any], weather: Weather) -> None:
    ledger = live(weather, **parts)
    labels = year_labels(ledger.days, 1)
    stress = stressed(ledger)
    for b, bed in enumerate(bed_scores(ledger, labels)):
        assert bed.stress_days == int(stress[b].sum()) == sum(year.stress_days for year in bed.years)
        assert bed.growing_days == sum(year.growing_days for year in bed.years)
        for met in (bed.met_by, *(year.met_by for year in bed.years)):
            if met is not None:
                parts_of = np.array([met.rain, met.first_flush, met.tanks, met.backup, met.unmet])
                assert (parts_of >= 0.0).all()
                assert parts_of.sum() == pytest.approx(1.0)
