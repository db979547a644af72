"""Any holding (invented at random) gets its checks and its drawing, with any numbers in its site table."""

from __future__ import annotations

import math
from typing import Any

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from holdwater.charts import files
from holdwater.charts.levels import levels_chart
from holdwater.scenario.schema import Scenario
from holdwater.site.adapter import site_checks
from holdwater.site.ground import Frost
from holdwater.site.pipes import pipes
from holdwater.site.reading import read_site
from holdwater.site.result import Verdict
from holdwater.site.seen import Seen
from tests.holdings import holding
from tests.properties.strategies import holdings

SLOW = settings(deadline=None, max_examples=40, suppress_health_check=[HealthCheck.too_slow])
SIZES = st.sampled_from(sorted(pipes()))
SEEN = Seen(600.0, 200_000.0, Frost(80.0, 150.0, 300.0, -25.0, 38.0, 20))


@st.composite
def tables(draw: st.DrawFn, scenario: Scenario) -> dict[str, Any]:
    """A site table in which everything is given."""

    def pipe() -> dict[str, Any]:
        kind, size = draw(SIZES)
        return {"pipe": kind, "size": size}

    def some(low: float, high: float, unit: str) -> str:
        return f"{draw(st.floats(low, high)):.3f} {unit}"

    roofs, tanks = [roof.name for roof in scenario.roof], [tank.name for tank in scenario.tank]
    start = draw(st.floats(10.0, 60.0))
    return {
        "soil": draw(st.sampled_from(["gravel", "sand", "clay or silt"])),
        "storm": {"in_5_minutes": some(1, 400, "mm/h")},
        "gutter": [{"roof": n, "width": some(5, 40, "cm"), "length": some(0, 60, "m")} for n in roofs],
        "leader": [{"roof": n, **pipe(), "count": draw(st.integers(1, 9))} for n in roofs],
        "overflow": [
            {"tank": n, **pipe(), "water_above": some(0, 30, "cm"), "count": draw(st.integers(0, 2))}
            for n in tanks
        ],
        "link": [{"tanks": link.tanks, **pipe(), "length": some(0, 90, "m")} for link in scenario.link],
        "stand": [{"tank": n, "empty_weight": some(0, 900, "kg")} for n in tanks],
        "suction": {**pipe(), "length": some(0, 30, "m"), "fittings": {"90 elbow": draw(st.integers(0, 9))}},
        "pump": {
            "height": some(-9, 9, "m"),
            "flow": some(0.5, 200, "L/min"),
            "curve": [{"flow": "0 L/min", "head": "60 m"}, {"flow": "200 L/min", "head": some(0, 60, "m")}],
            "npsh_required": some(0, 9, "m"),
            "power": some(0.05, 4, "kW"),
            "draws": some(0.05, 5, "kW"),
        },
        "pressure_tank": {
            "volume": some(1, 500, "L"),
            "precharge": some(0, 90, "psi"),
            "cut_in": f"{start} psi",
            "cut_out": f"{start + draw(st.floats(5.0, 40.0))} psi",
        },
        "line": [
            {
                "name": "tap",
                **pipe(),
                "length": some(0, 900, "m"),
                "flow": some(0.5, 200, "L/min"),
                "height": some(-30, 60, "m"),
                "pressure": some(0, 60, "psi"),
                "buried": some(0, 3, "m"),
                "fed_by": draw(st.sampled_from(["pump", "gravity"])),
            }
        ],
        "filling": [
            {"backup": b.name, "outlet": some(5, 90, "mm"), "air_gap": some(0, 300, "mm")}
            for b in scenario.backup
        ],
    }


def placed(parts: dict[str, Any]) -> Scenario:
    return holding(place={"latitude": 40.0, "longitude": -100.0, "elevation": "1500 m"}, **parts)


@SLOW
@given(holdings(), st.data())
def test_every_check_comes_to_an_end_in_plain_words(parts: dict[str, Any], data: st.DataObject) -> None:
    scenario = placed(parts)
    for check in site_checks(scenario, read_site(data.draw(tables(scenario)), scenario), SEEN):
        for system in ("us", "metric"):
            sentence = check.sentence(system)
            assert sentence[0].isupper()
            assert sentence.endswith(".")
            assert "{" not in sentence
            assert "  " not in sentence
        for value in (*check.inputs.values(), *check.computed.values()):
            assert math.isfinite(value.number)
        judged = check.verdict in (Verdict.HOLDS, Verdict.FAILS)
        assert not (judged and check.needs)
        if check.margin is not None:
            assert (check.margin >= 0.0) == (check.verdict is Verdict.HOLDS)


@SLOW
@given(holdings())
def test_nothing_said_nothing_passed(parts: dict[str, Any]) -> None:
    scenario = placed(parts)
    for check in site_checks(scenario, read_site({}, scenario)):
        judged = check.verdict in (Verdict.HOLDS, Verdict.FAILS)
        assert not judged or check.topic.key in ("levels", "cascade", "first_flush")


@settings(SLOW, max_examples=15)
@given(holdings())
def test_any_holding_can_be_drawn(parts: dict[str, Any]) -> None:
    assert files.svg(levels_chart(placed(parts), "us")).startswith(b"<?xml")


def test_a_roof_without_area_and_a_tank_with_a_neck_that_holds_nothing() -> None:
    levels = [("0 mm", "0 L"), ("100 mm", "0 L"), ("900 mm", "800 L"), ("1000 mm", "800 L")]
    scenario = holding(
        roof=[
            {
                "name": "r",
                "area": "0 m2",
                "runoff_coefficient": 1.0,
                "feeds": "a",
                "first_flush": {"volume": "50 L"},
            }
        ],
        tank=[
            {"name": name, "levels": [{"level": at, "volume": v} for at, v in levels]} for name in ("a", "b")
        ],
        link=[{"tanks": ["a", "b"]}],
    )
    table = {
        "soil": "sand",
        "storm": {"in_5_minutes": "100 mm/h"},
        "link": [{"tanks": ["a", "b"], "pipe": "PE", "size": "1 in", "length": "5 m"}],
        "stand": [{"tank": "a", "empty_weight": "50 kg"}],
    }
    found = {(c.topic.key, c.subject): c for c in site_checks(scenario, read_site(table, scenario))}
    assert found["first_flush", "roof 'r'"].needs == ("a roof with an area (roof.r.area)",)
    assert found["equalise", "tanks 'a' and 'b'"].verdict is Verdict.HOLDS
    assert found["link_flow", "tanks 'a' and 'b'"].computed["inflow"].number == 0.0
    weight = found["weight", "tank 'a'"]
    assert weight.inputs["area"].number == pytest.approx(1.0)
    assert files.svg(levels_chart(scenario, "metric"))
