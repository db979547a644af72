"""Faults put into the daily loop on purpose: the ordinary tests must notice each of them."""

from __future__ import annotations

import types
from collections.abc import Callable
from pathlib import Path

import pytest

import holdwater.day as day
from holdwater.errors import LedgerError
from tests import test_day, test_storage
from tests.garden import test_living_day


def ordinary_tests() -> list[Callable[[], None]]:
    plain = [
        test_day.test_collection_by_definition,
        test_day.test_first_flush_chamber_room_by_hand,
        test_day.test_first_flush_by_depth_is_depth_times_area,
        test_day.test_leak_empties_even_the_bottom,
        test_storage.test_group_spills_at_the_lowest_lip,
        test_storage.test_overflow_cascades_through_tanks,
        test_storage.test_stranded_volumes_by_hand,
    ]
    living = [
        test_living_day.test_an_open_cylinder_evaporates_et0_times_its_surface_until_it_is_empty,
        test_living_day.test_a_bed_asks_when_it_would_pass_its_trigger_and_is_filled,
        test_living_day.test_first_flush_water_runs_to_a_bed,
        test_living_day.test_snow_that_slides_off_never_melts_into_the_gutter,
    ]
    rules = [lambda rule=rule: test_storage.test_ten_days_by_hand(rule) for rule in ("YAS", "YBS")]
    return plain + living + rules


FAULTS = {
    "overflow a day late": (
        "            drawable[k] = min(after, full)\n            overflow[k] = after - drawable[k]\n",
        "            overflow[k] = max(0.0, drawable[k] - full)\n            drawable[k] = after - overflow[k]\n",
    ),
    "first flush not subtracted": ("inflow[k] = runs - diverted[k]", "inflow[k] = runs"),
    "evaporation not booked": ("evaporation[k] = above + under - leak[k]", "evaporation[k] = 0.0 * under"),
    "snow slides off and melts": (
        "lying = pack[k] + (area[k] * snow - slid[k])",
        "lying = pack[k] + area[k] * snow",
    ),
    "beds drink unseen": ("crop_water[k] = dried[k] - depletion[k]", "crop_water[k] = 0.0 * dried[k]"),
    "first flush lost on its way to the bed": (
        "flushed[k] += first_flush[k] * efficiency[k] / area[k]",
        "flushed[k] += 0.0 * first_flush[k]",
    ),
    "leak not booked": ("leak[k] = min(rate[k], above + under)", "leak[k] = 0.0 * rate[k]"),
}


@pytest.mark.parametrize("fault", FAULTS)
def test_a_fault_in_the_loop_is_caught(fault: str, monkeypatch: pytest.MonkeyPatch) -> None:
    right, wrong = FAULTS[fault]
    source = Path(day.__file__).read_text(encoding="utf-8")
    assert source.count(right) == 1, "the line this fault replaces has moved"
    mutant = types.ModuleType("mutant_day")
    monkeypatch.setitem(__import__("sys").modules, "mutant_day", mutant)
    exec(compile(source.replace(right, wrong), "mutant_day", "exec"), mutant.__dict__)
    monkeypatch.setattr(day, "run_days", mutant.run_days)
    caught = []
    for test in ordinary_tests():
        try:
            test()
        except (AssertionError, LedgerError) as noticed:
            caught.append(noticed)
    assert caught, f"no ordinary test noticed: {fault}"


def test_the_ordinary_tests_pass_without_a_fault() -> None:
    for test in ordinary_tests():
        test()
