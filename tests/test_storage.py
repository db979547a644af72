"""Operating rules, sequent peak and the scores, against worked examples with their intermediates."""

from __future__ import annotations

import math

import numpy as np
import pytest

from holdwater.ledger import Ledger
from holdwater.scores import (
    resilience,
    score,
    time_reliability,
    volume_reliability,
    vulnerability,
)
from tests.holdings import m3, run

# Ten days worked by hand from the definitions of YAS and YBS (Jenkins et al. 1978; Fewkes & Butler 2000,
# BSERT 21(2):99): S = 5 m3, V0 = 1.5 m3, D = 1 m3/day.
INFLOW = [0, 3.2, 0, 0, 0, 6, 0, 0, 0, 0]
BY_RULE = {
    "YAS": {
        "delivered": [1, 0.5, 1, 1, 1, 0.2, 1, 1, 1, 1],
        "storage": [1.5, 0.5, 3.2, 2.2, 1.2, 0.2, 4.8, 3.8, 2.8, 1.8, 0.8],
        "overflow": [0, 0, 0, 0, 0, 1.2, 0, 0, 0, 0],
    },
    "YBS": {
        "delivered": [1, 1, 1, 1, 0.7, 1, 1, 1, 1, 1],
        "storage": [1.5, 0.5, 2.7, 1.7, 0.7, 0, 5, 4, 3, 2, 1],
        "overflow": [0, 0, 0, 0, 0, 0, 0, 0, 0, 0],
    },
}


@pytest.mark.parametrize("rule", ["YAS", "YBS"])
def test_ten_days_by_hand(rule: str) -> None:
    ledger = run(INFLOW, run={"rule": rule, "start_full": 0.3})
    for name, values in BY_RULE[rule].items():
        assert m3(ledger, name) == pytest.approx(values, abs=1e-9), name


def sequent_peak(inflow: list[float], demand: float) -> float:
    """Largest K of K_t = max(0, K_{t-1} + R - Q_t) over two cycles (Thomas & Burden 1963)."""
    k = worst = 0.0
    for q in inflow * 2:
        k = max(0.0, k + demand - q)
        worst = max(worst, k)
    return worst


# Course solutions with published K; the last is from Loucks & van Beek, its inputs from memory.
SEQUENT = [
    ([7, 3, 5, 1, 2, 5, 6, 3, 4], {1: 0, 2: 1, 3: 3, 4: 5}),
    ([16, 8, 12, 4, 8, 12], {5: 1, 6: 2, 7: 3, 8: 4, 9: 6, 10: 8}),
    ([1, 3, 3, 5, 8, 6, 7, 2, 1], {3.5: 7.5}),
]


@pytest.mark.parametrize(("inflow", "published"), SEQUENT)
def test_sequent_peak_capacity_never_runs_dry(inflow: list[float], published: dict[float, float]) -> None:
    for demand, capacity in published.items():
        assert sequent_peak(inflow, demand) == pytest.approx(capacity)

        def dry_days(size: float, rule: str, demand: float = demand) -> int:
            ledger = run(
                inflow * 2,
                run={"rule": rule, "start_full": 1.0},
                tank=[{"name": "tank", "capacity": f"{size} m3", "diameter": "2 m"}],
                draw=[{"name": "house", "kind": "fixed", "per_day": f"{demand} m3/day"}],
            )
            return score(ledger).dry_days.total

        if capacity > 0:
            assert dry_days(capacity, "YBS") == 0
            assert dry_days(capacity * 0.99, "YBS") > 0, "a smaller tank must fail"
        assert dry_days(capacity + 2 * demand, "YAS") == 0


def test_reliability_resilience_vulnerability_by_hand() -> None:
    """Definitions of Hashimoto, Stedinger & Loucks 1982 on twelve steps worked by hand."""
    deficit = np.array([0, 0, 0.4, 0.6, 0, 0, 0.2, 0, 0, 0.5, 0.9, 0.3])
    asked = np.ones(12)
    dry = deficit > 0
    assert time_reliability(dry, asked > 0) == 0.5
    assert volume_reliability(asked, asked - deficit) == pytest.approx(0.7583, abs=5e-5)
    assert resilience(dry) == 0.5
    assert vulnerability(dry, deficit, asked) == pytest.approx(0.5667, abs=5e-5)


def test_the_same_scores_come_out_of_a_run() -> None:
    """Inflow equal to what was delivered in the example, with hardly any storage, gives the same scores."""
    deficit = [0, 0, 0.4, 0.6, 0, 0, 0.2, 0, 0, 0.5, 0.9, 0.3]
    ledger = run(
        [1 - d for d in deficit],
        run={"rule": "YBS", "start_full": 0.0},
        tank=[{"name": "tank", "capacity": "1 m3", "diameter": "2 m"}],
    )
    scores = score(ledger)
    assert scores.dry_days.total == 6
    assert scores.reliability_time == 0.5
    assert scores.reliability_volume == pytest.approx(0.7583, abs=5e-5)
    assert scores.resilience == 0.5
    assert scores.vulnerability == pytest.approx(0.5667, abs=5e-5)
    assert [s.days for s in scores.dry_spells] == [2, 1, 3]
    assert [s.rank for s in scores.dry_spells] == [2, 3, 1]


def test_no_failure_has_no_resilience() -> None:
    scores = score(run([2.0] * 10, run={"start_full": 1.0}))
    assert scores.dry_days.total == 0
    assert scores.resilience is None
    assert scores.vulnerability is None
    assert scores.longest_dry_spell is None
    assert scores.reliability_time == 1.0


# Two upright cylinders of 1 m2 and 2 m2, both 2 m to the lip, outlets 0.10 m and 0.20 m above the floor,
# the first on a pad 0.50 m high. Worked by hand, heights above the datum in metres:
#   lips 2.50 and 2.00 -> the group spills at 2.00; the first can never fill its upper 0.50 m: 0.500 m3
#   outlets 0.60 and 0.20; below them stay 1 x 0.10 = 0.100 m3 and 2 x 0.20 = 0.400 m3
#   drawable: 0.20 to 0.60 only the second, 2 x 0.40 = 0.800 m3; 0.60 to 2.00 both, 3 x 1.40 = 4.200 m3
D1, D2 = 2 * math.sqrt(1 / math.pi), 2 * math.sqrt(2 / math.pi)
PAIR = {
    "roof": [{"name": "roof", "area": "1000 m2", "runoff_coefficient": 1.0, "feeds": "high"}],
    "tank": [
        {"name": "high", "overflow": "2 m", "diameter": f"{D1:.15f} m", "base": "0.5 m", "outlet": "0.1 m"},
        {"name": "low", "overflow": "2 m", "diameter": f"{D2:.15f} m", "outlet": "0.2 m"},
    ],
    "link": [{"tanks": ["high", "low"]}],
}


def test_stranded_volumes_by_hand() -> None:
    ledger = run([0.0] * 6, run={"start_full": 1.0}, **PAIR)
    assert m3_per_tank(ledger, "stranded_top") == pytest.approx([0.5, 0.0])
    assert m3_per_tank(ledger, "stranded_bottom") == pytest.approx([0.1, 0.4])
    assert m3_per_tank(ledger, "drawable_capacity") == pytest.approx([1.4, 3.6])
    # full: surface at 2.00 m. Each day 1 m3 leaves; both fall together until 0.60 m (4.2 m3 drawn),
    # then the high tank keeps its bottom and the low one gives the last 0.8 m3 alone.
    assert m3(ledger, "storage", 0) == pytest.approx(
        [1.5, 1.5 - 1 / 3, 1.5 - 2 / 3, 0.5, 1.5 - 4 / 3, 0.1, 0.1]
    )
    assert m3(ledger, "storage", 1) == pytest.approx([4.0, 4 - 2 / 3, 4 - 4 / 3, 2.0, 4 - 8 / 3, 0.4, 0.4])
    assert m3(ledger, "delivered") == pytest.approx([1, 1, 1, 1, 1, 0])


def m3_per_tank(ledger: Ledger, name: str) -> list[float]:
    return (ledger.flux(name) / 1000.0).round(9).tolist()


def test_group_spills_at_the_lowest_lip() -> None:
    ledger = run([1.0, 1.0], run={"start_full": 1.0}, draw=[_no_draw()], **PAIR)
    assert m3(ledger, "overflow", 0) == [0, 0]
    assert m3(ledger, "overflow", 1) == pytest.approx([1, 1])


def _no_draw() -> dict[str, str]:
    return {"name": "house", "kind": "fixed", "per_day": "0 L/day"}


def test_two_equal_linked_tanks_are_one_double_tank() -> None:
    rain = np.random.default_rng(7).gamma(0.3, 4.0, 400).tolist()
    common = {
        "run": {"start_full": 0.4},
        "draw": [{"name": "house", "kind": "fixed", "per_day": "1100 L/day"}],
    }
    twin = {"capacity": "5 m3", "overflow": "2 m", "outlet": "0.1 m"}
    two = run(
        rain,
        **common,
        roof=[{"name": "roof", "area": "1000 m2", "runoff_coefficient": 1.0, "feeds": "a"}],
        tank=[{"name": "a", **twin}, {"name": "b", **twin}],
        link=[{"tanks": ["a", "b"]}],
    )
    one = run(
        rain, **common, tank=[{"name": "tank", "capacity": "10 m3", "overflow": "2 m", "outlet": "0.1 m"}]
    )
    assert two.flux("delivered") == pytest.approx(one.flux("delivered"), rel=1e-12)
    assert two.flux("overflow").sum(axis=0) == pytest.approx(one.flux("overflow")[0], rel=1e-12, abs=1e-9)
    assert two.flux("storage")[0] == pytest.approx(two.flux("storage")[1], rel=1e-12)
    assert two.flux("storage").sum(axis=0) == pytest.approx(one.flux("storage")[0], rel=1e-12)


def test_closing_the_valve_separates_the_tanks() -> None:
    """Open on days 1-2 and 5-6, closed on days 3-4; the house draws from the low tank only."""
    shut = [{"from": "2001-01-03", "to": "2001-01-04"}]
    parts = PAIR | {"link": [{"tanks": ["high", "low"], "closed": shut}]}
    house = {"name": "house", "kind": "fixed", "per_day": "1 m3/day", "from_tanks": ["low"]}
    ledger = run([0.0] * 6, run={"start_full": 1.0}, draw=[house], **parts)
    high, low = m3(ledger, "storage", 0), m3(ledger, "storage", 1)
    assert high[2] == pytest.approx(1.5 - 2 / 3)
    assert high[3] == high[4] == high[2], "nothing leaves a tank that stands alone and has no draw"
    assert low[2] - low[4] == pytest.approx(2.0)
    # opened again: 1.5 - 2/3 - 0.1 above the high outlet and 4 - 4/3 - 2 - 0.4 above the low one, less 1
    drawable = (1.5 - 2 / 3 - 0.1) + (4 - 4 / 3 - 2 - 0.4) - 1.0
    assert sum(m3(ledger, "drawable", t)[5] for t in (0, 1)) == pytest.approx(max(0.0, drawable), abs=1e-9)
    assert ledger.flux("link_flow")[:, 2:4] == pytest.approx(0.0, abs=1e-9)


def test_overflow_cascades_through_tanks() -> None:
    """Three tanks of 1 m3, each spilling into the next; 4 m3 arrive in one day."""
    tanks = [
        {"name": "c", "capacity": "1 m3", "diameter": "1 m"},
        {"name": "a", "capacity": "1 m3", "diameter": "1 m", "overflow_to": "b"},
        {"name": "b", "capacity": "1 m3", "diameter": "1 m", "overflow_to": "c"},
    ]
    roof = {"name": "roof", "area": "1000 m2", "runoff_coefficient": 1.0, "feeds": "a"}
    ledger = run([4.0], run={"start_full": 0.0}, tank=tanks, roof=[roof], draw=[_no_draw()])
    by_name = {name: t for t, name in enumerate(ledger.data["tank"].values)}
    assert {n: m3(ledger, "storage", t)[-1] for n, t in by_name.items()} == {"a": 1, "b": 1, "c": 1}
    assert {n: m3(ledger, "overflow", t)[0] for n, t in by_name.items()} == {"a": 3, "b": 2, "c": 1}
    assert {n: m3(ledger, "received", t)[0] for n, t in by_name.items()} == {"a": 0, "b": 3, "c": 2}
    assert {n: m3(ledger, "to_ground", t)[0] for n, t in by_name.items()} == {"a": 0, "b": 0, "c": 1}
