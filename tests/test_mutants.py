"""Faults put into the daily loop on purpose: the ordinary tests must notice each of them."""

from __future__ import annotations

import types
from collections.abc import Callable
from pathlib import Path

import pytest

import holdwater.day as day
from holdwater.errors import LedgerError
from tests import test_day, test_storage


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
    rules = [lambda rule=rule: test_storage.test_ten_days_by_hand(rule) for rule in ("YAS", "YBS")]
    return plain + rules


FAULTS = {
    "overflow a day late": (
        "            drawable[k] = min(after, full)\n            overflow[k] = after - drawable[k]\n",
        "            overflow[k] = max(0.0, drawable[k] - full)\n            drawable[k] = after - overflow[k]\n",
    ),
    "first flush not subtracted": ("inflow[k] = runs - diverted[k]", "inflow[k] = runs"),
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
