"""Each step of the day on tiny series worked by hand."""

from __future__ import annotations

import pytest

from holdwater.ledger import Ledger
from tests.holdings import holding, m3, record, run

DRY_TANK = {"run": {"start_full": 0.0}, "draw": [{"name": "house", "kind": "fixed", "per_day": "0 L/day"}]}


def roof(**more: object) -> list[dict[str, object]]:
    return [{"name": "roof", "area": "100 m2", "runoff_coefficient": 0.9, "feeds": "tank", **more}]


def row(ledger: Ledger, name: str) -> list[float]:
    return ledger.flux(name)[0].round(9).tolist()


def test_collection_by_definition() -> None:
    """1 mm on 1 m2 is 1 L: 10 mm on 100 m2 at 0.9 gives 900 L."""
    ledger = run([10.0, 0.0], roof=roof(), **DRY_TANK)
    assert row(ledger, "rain_on_roof") == [1000, 0]
    assert row(ledger, "not_run_off") == [100, 0]
    assert row(ledger, "roof_inflow") == [900, 0]


def test_annual_yield_of_published_guidance() -> None:
    """200 m2, 750 mm a year, coefficient 0.80, loss 24 mm a year: 116,160 L.

    Source: enHealth (Australia), Guidance on use of rainwater tanks, Appendix B. The loss of 2 mm a month
    is a wetting loss here: one storm in each month.
    """
    storm = [62.5, 0.0]
    ledger = run(
        storm * 12,
        roof=[
            {
                "name": "roof",
                "area": "200 m2",
                "runoff_coefficient": 0.8,
                "wetting_loss": "2 mm",
                "feeds": "tank",
            }
        ],
        **DRY_TANK,
    )
    assert ledger.total("roof_inflow") == pytest.approx(116_160)


def test_wetting_store_dries_only_on_a_day_without_rain() -> None:
    ledger = run([1.0, 2.0, 0.0, 2.5], roof=roof(runoff_coefficient=1.0, wetting_loss="2 mm"), **DRY_TANK)
    assert row(ledger, "roof_inflow") == [0, 100, 0, 50]
    assert row(ledger, "wetting_store") == [0, 100, 200, 0, 200]
    assert row(ledger, "wetting_loss") == [0, 0, 200, 0]


def test_first_flush_chamber_room_by_hand() -> None:
    """F = 100 L drains in 4 days (25 L a day): r1 = min(F, r - D + 25) with D = min(R, r)."""
    flush = {"volume": "100 L", "drains_in": "4 days"}
    ledger = run([0.6, 0.6, 3.0, 0.0, 0.5], roof=roof(runoff_coefficient=1.0, first_flush=flush), **DRY_TANK)
    # room at the start of each day: 100, 65, 30, 25, 50
    assert row(ledger, "diverted") == [60, 60, 30, 0, 50]
    assert row(ledger, "roof_inflow") == [0, 0, 270, 0, 0]
    assert row(ledger, "flush_chamber") == [0, 35, 70, 75, 50, 75]
    assert row(ledger, "first_flush") == [25, 25, 25, 25, 25]


def test_first_flush_by_depth_is_depth_times_area() -> None:
    ledger = run([5.0], roof=roof(runoff_coefficient=1.0, first_flush={"depth": "0.5 mm"}), **DRY_TANK)
    assert row(ledger, "diverted") == [50]


def test_filter_and_gutter_season() -> None:
    season = {"from": "01-02", "to": "01-03"}
    ledger = run([1.0] * 4, roof=roof(filter_efficiency=0.8, collects=season), **DRY_TANK)
    assert row(ledger, "gutter_off") == [90, 0, 0, 90]
    assert row(ledger, "filter_loss") == [0, 18, 18, 0]
    assert row(ledger, "roof_inflow") == [0, 72, 72, 0]


def test_a_roof_can_feed_two_tanks() -> None:
    tanks = [{"name": n, "capacity": "5 m3", "diameter": "2 m"} for n in ("a", "b")]
    ledger = run([10.0], **DRY_TANK, roof=roof(feeds={"a": 0.75, "b": 0.25}), tank=tanks)
    assert ledger.flux("inflow")[:, 0].tolist() == pytest.approx([675, 225])


def draw(name: str, per_day: str, **more: object) -> dict[str, object]:
    return {"name": name, "kind": "fixed", "per_day": per_day, **more}


def test_draws_are_served_by_priority() -> None:
    uses = [draw("late", "600 L/day", priority=2), draw("early", "700 L/day", priority=1)]
    ledger = run([0.0], run={"start_full": 0.2}, draw=uses)
    assert ledger.data["draw"].values.tolist() == ["early", "late"]
    assert ledger.flux("delivered")[:, 0].tolist() == pytest.approx([700, 300])
    assert ledger.flux("unserved")[:, 0].tolist() == pytest.approx([0, 300])


def test_reserve_is_for_those_who_may_use_it() -> None:
    uses = [draw("house", "1 m3/day"), draw("animals", "0.3 m3/day", may_use_reserve=True)]
    ledger = run([0.0, 0.0], run={"start_full": 0.3}, draw=uses, reserve={"volume": "800 L"})
    assert m3(ledger, "delivered", 0) == pytest.approx([0.7, 0])
    assert m3(ledger, "delivered", 1) == pytest.approx([0.3, 0.3])


def test_a_draw_that_stops_below_a_level_leaves_the_water_below_it() -> None:
    uses = [draw("garden", "1 m3/day", stops_below="40 %")]
    ledger = run([0.0] * 3, run={"start_full": 0.5}, draw=uses)
    assert m3(ledger, "held_back") == [0.5, 1, 1]
    assert m3(ledger, "asked") == [0.5, 0, 0]
    assert m3(ledger, "storage") == pytest.approx([2.5, 2, 2, 2])


def test_season_monthly_factor_and_absence() -> None:
    away = [{"from": "2001-01-03", "to": "2001-01-03"}]
    house = {"name": "house", "kind": "household", "people": 3, "per_person": "100 L/day", "away": away}
    factor = [0.5] + [1.0] * 11
    garden = draw("garden", "80 L/day", season={"from": "01-04", "to": "01-31"}, monthly_factor=factor)
    ledger = run([0.0] * 5, run={"start_full": 1.0}, draw=[house, garden])
    assert ledger.flux("wanted")[0].tolist() == [300, 300, 0, 300, 300]
    assert ledger.flux("wanted")[1].tolist() == [0, 0, 0, 40, 40]


def test_leak_empties_even_the_bottom() -> None:
    tank = {"name": "tank", "capacity": "5 m3", "diameter": "2 m", "outlet": "10 cm", "leak": "300 L/day"}
    ledger = run([0.0] * 3, **DRY_TANK, tank=[tank])
    dead = 3.14159265358979 * 100.0
    assert row(ledger, "storage") == pytest.approx([dead, dead - 300, 0, 0])
    assert row(ledger, "leak") == pytest.approx([300, dead - 300, 0])


def test_a_bottom_that_leaked_empty_fills_before_anything_can_be_drawn() -> None:
    tank = {"name": "tank", "capacity": "5 m3", "diameter": "2 m", "outlet": "10 cm", "leak": "50 L/day"}
    ledger = run([0.0, 0.1, 0.0], **DRY_TANK, tank=[tank], roof=roof(runoff_coefficient=1.0))
    dead = 3.14159265358979 * 100.0
    assert row(ledger, "drawable") == pytest.approx([0, 0, 0, 0])
    assert row(ledger, "storage") == pytest.approx([dead, dead - 50, dead - 90, dead - 140])


def test_transfer_pump_lifts_while_the_upper_tank_is_low() -> None:
    tanks = [{"name": n, "capacity": "5 m3", "diameter": "2 m"} for n in ("cistern", "header")]
    pump = {
        "name": "pump",
        "from_tank": "cistern",
        "to_tank": "header",
        "starts_below": "50 %",
        "per_day": "1 m3/day",
    }
    ledger = run(
        [0.0] * 4,
        run={"start_full": {"cistern": 0.5, "header": 0.1}},
        tank=tanks,
        roof=[{"name": "roof", "area": "1 m2", "runoff_coefficient": 1.0, "feeds": "cistern"}],
        transfer=[pump],
        draw=[draw("house", "0 L/day")],
    )
    assert m3(ledger, "storage", 0) == pytest.approx([2.5, 1.5, 0.5, 0.5, 0.5])
    assert m3(ledger, "storage", 1) == pytest.approx([0.5, 1.5, 2.5, 2.5, 2.5])


def test_direct_backup_serves_the_shortfall_up_to_its_limit() -> None:
    well = {
        "name": "well",
        "kind": "direct",
        "serves": ["house"],
        "per_day": "600 L/day",
        "cost_per_volume": "2 per m3",
    }
    ledger = run([0.0, 0.0], run={"start_full": 0.1}, backup=[well])
    assert m3(ledger, "delivered") == pytest.approx([0.5, 0])
    assert m3(ledger, "backup_served") == pytest.approx([0.5, 0.6])
    assert m3(ledger, "unserved") == pytest.approx([0, 0.4])
    assert ledger.flux("cost")[0].tolist() == pytest.approx([1.0, 1.2])


def test_hauler_comes_after_the_lead_time_and_charges_whole_loads() -> None:
    """Ordered on the evening of day 2 (storage below 20 %), there at the end of day 4."""
    hauler = {
        "name": "hauler", "kind": "refill", "starts_below": "20 %", "load": "3 m3",
        "cost_per_load": 180, "lead_days": 2,
    }  # fmt: skip
    ledger = run([0.0] * 6, run={"start_full": 0.5}, backup=[hauler])
    assert m3(ledger, "storage") == pytest.approx([2.5, 1.5, 0.5, 0, 3, 2, 1])
    assert ledger.flux("loads")[0].tolist() == [0, 0, 0, 1, 0, 0]
    assert ledger.total("cost") == 180


def test_hauler_brings_as_many_loads_as_it_takes() -> None:
    hauler = {
        "name": "hauler",
        "kind": "refill",
        "starts_below": "20 %",
        "fills_to": "90 %",
        "load": "1.5 m3",
    }
    ledger = run([0.0] * 2, run={"start_full": 0.3}, backup=[hauler])
    assert m3(ledger, "storage") == pytest.approx([1.5, 5.0, 4.0]), "0.5 to 4.5 m3 takes three loads, 4.5 m3"
    assert ledger.flux("loads")[0].tolist() == [3, 0]


def test_flowing_refill_runs_until_its_level_is_reached() -> None:
    well = {
        "name": "well",
        "kind": "refill",
        "starts_below": "20 %",
        "fills_to": "50 %",
        "per_day": "1.4 m3/day",
    }
    ledger = run([0.0] * 6, run={"start_full": 0.3}, backup=[well])
    assert m3(ledger, "refill") == pytest.approx([1.4, 1.4, 1.2, 0, 1.4, 1.4])
    assert m3(ledger, "storage") == pytest.approx([1.5, 1.9, 2.3, 2.5, 1.5, 1.9, 2.3])


def test_a_run_beyond_the_record_is_refused_with_both_spans() -> None:
    from holdwater.errors import InputError
    from holdwater.simulation import simulate

    with pytest.raises(
        InputError, match="asks for 2001-01-01 to 2001-02-01, but the weather covers 2001-01-01 to"
    ):
        simulate(holding(run={"to": "2001-02-01"}), record([0.0] * 5))


def test_missing_rain_is_refused_never_taken_for_zero() -> None:
    from holdwater.errors import InputError
    from holdwater.simulation import simulate

    with pytest.raises(InputError, match="rain is missing on 1 of 3 days, the first on 2001-01-02"):
        simulate(holding(), record([1.0, float("nan"), 0.0]))
