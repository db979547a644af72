"""Outlets, reserves and hauled water: who may take what from which tank, by hand."""

from __future__ import annotations

import math

import pytest

from holdwater.errors import InputError
from holdwater.scores import score
from tests.holdings import m3, run

WIDE = math.pi / 4.0  # surface of a tank of 1 m across [m2], which is also litres in a millimetre


def tank(name: str, **more: object) -> dict[str, object]:
    return {"name": name, "capacity": "1000 L", "diameter": "1 m", **more}


def fixed(name: str, amount: str, **more: object) -> dict[str, object]:
    return {"name": name, "kind": "fixed", "per_day": amount, **more}


def roof(to: str) -> list[dict[str, object]]:
    return [{"name": "roof", "area": "1 m2", "runoff_coefficient": 1.0, "feeds": to}]


def test_a_draw_takes_nothing_from_below_the_outlet_of_its_tank() -> None:
    """Two joined tanks of 1 m across; the draw's own outlet stands 300 mm high, its neighbour's at the floor.

    At 300 mm both surfaces stand still: 235.6 L stay in each, in the one as its bottom.
    """
    ledger = run(
        [0.0] * 4,
        roof=roof("a"),
        tank=[tank("a", outlet="300 mm"), tank("b")],
        link=[{"tanks": ["a", "b"]}],
        draw=[fixed("house", "600 L/day", from_tanks=["a"])],
        run={"start_full": 1.0},
    )
    assert ledger.total("delivered") == pytest.approx(2000.0 - 2 * 300.0 * WIDE)
    assert ledger.flux("storage")[:, -1] == pytest.approx([300.0 * WIDE] * 2)


def test_a_draw_from_both_goes_on_from_the_lower_outlet() -> None:
    ledger = run(
        [0.0] * 4,
        roof=roof("a"),
        tank=[tank("a", outlet="300 mm"), tank("b")],
        link=[{"tanks": ["a", "b"]}],
        draw=[fixed("house", "600 L/day")],
        run={"start_full": 1.0},
    )
    assert ledger.flux("storage")[:, -1] == pytest.approx([300.0 * WIDE, 0.0])


def test_a_transfer_pump_leaves_the_reserve_where_it_is_kept() -> None:
    """Tank a holds 500 L, 400 L of them in reserve: 100 L may go over to b, and no draw takes the rest."""
    ledger = run(
        [0.0] * 5,
        roof=roof("a"),
        tank=[tank("a"), tank("b")],
        transfer=[
            {"name": "pump", "from_tank": "a", "to_tank": "b", "starts_below": "50 %", "per_day": "900 L/day"}
        ],
        draw=[fixed("house", "150 L/day", from_tanks=["b"])],
        reserve={"volume": "400 L", "in_tanks": ["a"]},
        run={"start_full": {"a": 0.5, "b": 0.45}},
    )
    assert ledger.flux("storage")[0].tolist() == pytest.approx([500, 400, 400, 400, 400, 400])
    assert ledger.total("delivered") == pytest.approx(550.0)
    assert score(ledger).days_below_reserve == 0


def test_the_reserve_is_missed_where_it_is_kept_not_over_all_tanks() -> None:
    """The goats empty tank a below its reserve on the third day; b is full and does not make up for it."""
    goats = fixed("goats", "200 L/day", from_tanks=["a"], may_use_reserve=True)
    ledger = run(
        [0.0] * 4,
        roof=roof("a"),
        tank=[tank("a"), tank("b")],
        draw=[goats],
        reserve={"volume": "400 L", "in_tanks": ["a"]},
        run={"start_full": {"a": 0.8, "b": 1.0}},
    )
    assert ledger.flux("reserve_lacking").tolist() == pytest.approx([0, 0, 200, 400])
    assert score(ledger).days_below_reserve == 2


def test_a_tank_that_never_fills_cannot_keep_the_reserve() -> None:
    with pytest.raises(InputError, match=r"reserve: .* can hold no water that can be drawn"):
        run(
            [0.0],
            roof=roof("a"),
            tank=[tank("a"), tank("b", base="2 m")],
            link=[{"tanks": ["a", "b"]}],
            draw=[fixed("house", "1 L/day")],
            reserve={"volume": "100 L", "in_tanks": ["b"]},
        )


def test_a_load_and_the_days_draw_do_not_make_a_full_tank() -> None:
    """Each load of 500 L comes on an empty tank of 1000 L; with the 500 L drawn before it that is no full tank."""
    ledger = run(
        [0.0] * 8,
        roof=roof("tank"),
        tank=[tank("tank")],
        draw=[fixed("house", "500 L/day")],
        backup=[
            {"name": "hauler", "kind": "refill", "starts_below": "20 %", "load": "500 L", "lead_days": 0}
        ],
        run={"start_full": 0.3},
    )
    scores = score(ledger)
    assert m3(ledger, "storage") == pytest.approx([0.3, 0.5, 0.5, 0.5, 0.5, 0.5, 0.5, 0.5, 0.5])
    assert [spell.refill_days for spell in scores.dry_spells] == [None]
    assert scores.years[0].lowest_storage_L == 0.0, "what was filled in after the draws is not the lowest"


def test_a_stop_is_a_floor_for_what_is_left_by_others() -> None:
    """The house takes first; the hose gets what stands above its level at its turn."""
    ledger = run(
        [0.0] * 3,
        roof=roof("tank"),
        tank=[tank("tank")],
        draw=[fixed("house", "100 L/day"), fixed("hose", "300 L/day", stops_below="400 L")],
        run={"start_full": 0.9},
    )
    assert ledger.flux("delivered").tolist() == [[100, 100, 100], [300, 0, 0]]
    assert ledger.flux("storage")[0].tolist() == pytest.approx([900, 500, 400, 300])
