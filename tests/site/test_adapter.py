"""From a holding (invented) to its list of checks."""

from __future__ import annotations

import subprocess
import sys
import tomllib

import numpy as np
import pytest

from holdwater.scenario.schema import Scenario
from holdwater.simulation import simulate
from holdwater.site import spill
from holdwater.site.adapter import site_checks
from holdwater.site.ground import Frost
from holdwater.site.layout import layout
from holdwater.site.reading import read_site
from holdwater.site.result import Check, Verdict
from holdwater.site.seen import Seen, seen_in
from holdwater.weather.record import Provenance, Record, daily_dataset
from tests.holdings import holding
from tests.site.test_reading import linked

WHOLE = """
soil = "sand"
storm = { in_5_minutes = "4 in/h", in_60_minutes = "2 in/h" }
suction = { pipe = "PE", size = "1 1/4 in", length = "12 ft", fittings = { "90 elbow" = 2 } }
pressure_tank = { volume = "44 gal", precharge = "28 psi", cut_in = "30 psi", cut_out = "50 psi" }
gutter = [ { roof = "barn", width = "8 in", length = "40 ft", runs = 2 } ]
leader = [ { roof = "barn", pipe = "PVC schedule 40", size = "3 in", count = 2 } ]
link = [ { tanks = ["lower", "upper"], pipe = "PVC schedule 40", size = "2 in", length = "10 ft" } ]
filling = [ { backup = "hauler", outlet = "2 in", air_gap = "6 in" } ]
[[overflow]]
tank = "upper"
pipe = "PVC schedule 40"
size = "4 in"
water_above = "6 in"
[[overflow]]
tank = "lower"
pipe = "PVC schedule 40"
size = "4 in"
water_above = "6 in"
[pump]
height = "1 ft"
flow = "10 gal/min"
curve = [ { flow = "0 gal/min", head = "180 ft" }, { flow = "10 gal/min", head = "140 ft" } ]
npsh_required = "8 ft"
power = "3/4 hp"
draws = "900 W"
[[stand]]
tank = "upper"
empty_weight = "450 lb"
[[stand]]
tank = "lower"
empty_weight = "400 lb"
[[line]]
name = "house"
pipe = "PE"
size = "1 1/4 in"
length = "250 ft"
flow = "10 gal/min"
height = "12 ft"
pressure = "20 psi"
buried = "60 in"
"""
RUN = Seen(600.0, 200_000.0, Frost(80.0, 150.0, 300.0, -25.0, 38.0, 20))


def checks(text: str, scenario: Scenario | None = None, seen: Seen | None = None) -> dict[str, list[Check]]:
    """The checks of a holding by key."""
    scenario = scenario or linked()
    by_key: dict[str, list[Check]] = {}
    for check in site_checks(scenario, read_site(tomllib.loads(text), scenario), seen):
        by_key.setdefault(check.topic.key, []).append(check)
    return by_key


def test_a_holding_that_says_everything_is_judged_on_everything() -> None:
    found = checks(WHOLE, seen=RUN)
    unchecked = [
        check.name for rows in found.values() for check in rows if check.verdict is Verdict.UNCHECKED
    ]
    assert unchecked == ["first flush: roof 'barn'"], "that roof has none"
    fails = {key for key, rows in found.items() for check in rows if check.verdict is Verdict.FAILS}
    assert fails == {"levels"}


def test_a_holding_that_says_nothing_passes_on_nothing_it_did_not_say() -> None:
    """Only the levels, which the scenario gives, are judged."""
    found = checks("")
    for key, rows in found.items():
        for check in rows:
            assert check.verdict in (Verdict.UNCHECKED, Verdict.NOTE) or key == "levels", check.name
    assert found["levels"][0].verdict is Verdict.FAILS
    assert found["cross_connection"][0].verdict is Verdict.NOTE


@pytest.mark.parametrize(
    ("key", "text"),
    [
        ("overflow", 'water_above = "6 in"'),
        ("overflow", 'in_5_minutes = "4 in/h", '),
        ("gutter", 'width = "8 in", '),
        ("leader", 'size = "3 in", '),
        ("link_flow", ', length = "10 ft"'),
        ("weight", 'soil = "sand"'),
        ("weight", 'empty_weight = "450 lb"'),
        ("air_gap", ', air_gap = "6 in"'),
        ("npsh", 'npsh_required = "8 ft"'),
        ("suction_lift", 'height = "1 ft"'),
        ("pump_duty", 'cut_in = "30 psi", '),
        ("cut_out", ', cut_out = "50 psi"'),
        ("run_time", 'volume = "44 gal", '),
        ("starts", 'power = "3/4 hp"'),
        ("energy", 'draws = "900 W"'),
        ("line_pressure", 'height = "12 ft"'),
        ("line_speed", 'size = "1 1/4 in"\nlength = "250 ft"'),
        ("frost", 'buried = "60 in"'),
    ],
)
def test_each_missing_key_leaves_its_check_open(key: str, text: str) -> None:
    assert text in WHOLE
    before, after = checks(WHOLE, seen=RUN), checks(WHOLE.replace(text, ""), seen=RUN)
    assert all(check.verdict is not Verdict.UNCHECKED for check in before[key])
    assert any(check.verdict is Verdict.UNCHECKED for check in after[key])


def test_without_a_run_what_needs_a_run_is_open() -> None:
    found = checks(WHOLE)
    for key in ("starts", "energy", "frost", "movement"):
        assert found[key][0].verdict is Verdict.UNCHECKED


def test_a_group_spills_over_its_lowest_rim() -> None:
    """The overflow of the higher tank has only the room the lower tank's rim leaves it."""
    plan = layout(linked())
    lower_by = plan.lip(0) - plan.lip(1)
    assert lower_by > 0.0
    check = checks(WHOLE)["overflow"][0]
    bore = check.inputs["inside"].number
    room = 6 * 25.4
    expected = spill.overflow_flow(room, bore) + spill.overflow_flow(max(room - lower_by, 0.0), bore)
    assert check.computed["capacity"].number == pytest.approx(expected)


def test_a_tank_without_a_pipe_spills_at_its_lip() -> None:
    text = WHOLE.replace(
        'tank = "lower"\npipe = "PVC schedule 40"\nsize = "4 in"\nwater_above = "6 in"',
        'tank = "lower"\ncount = 0',
    )
    check = checks(text)["overflow"][0]
    assert check.subject == "tank 'upper'"
    assert check.computed["capacity"].number == 0.0
    assert check.verdict is Verdict.FAILS


def test_water_that_spills_on_is_counted_below() -> None:
    """The catchment of a lower tank holds that of the full tank above it."""
    tanks = [
        {"name": "a", "capacity": "5 m3", "diameter": "2 m", "overflow_to": "b"},
        {"name": "b", "capacity": "5 m3", "diameter": "2 m", "overflow_to": "c"},
        {"name": "c", "capacity": "5 m3", "diameter": "2 m"},
    ]
    roofs = [
        {"name": "r", "area": "100 m2", "runoff_coefficient": 1.0, "feeds": "a"},
        {"name": "s", "area": "60 m2", "runoff_coefficient": 1.0, "feeds": {"b": 0.5, "c": 0.5}},
    ]
    plan = layout(holding(tank=tanks, roof=roofs))
    assert plan.catchments == pytest.approx([100.0, 130.0, 160.0])


def test_water_does_not_run_uphill_into_the_next_tank() -> None:
    """Equal tanks 2 m wide and 5 m3 spill at 1.59 m: 50 cm down holds, 50 cm up does not."""
    roof = [{"name": "r", "area": "100 m2", "runoff_coefficient": 1.0, "feeds": "a"}]

    def cascade(**base: str) -> Check:
        tanks = [{"name": name, "capacity": "5 m3", "diameter": "2 m"} for name in "ab"]
        tanks[0] |= {"overflow_to": "b", **base}
        return checks("", holding(tank=tanks, roof=roof))["cascade"][0]

    down, up, unsaid = cascade(base="50 cm"), cascade(base="-50 cm"), cascade()
    assert down.verdict is Verdict.HOLDS
    assert up.verdict is Verdict.FAILS
    assert up.sentence("metric") == (
        "Tank 'a' spills 50 cm below the full surface of 'b': the water cannot run there by itself. Raise 'a', or"
        " correct the base heights."
    )
    assert unsaid.verdict is Verdict.UNCHECKED, "no base height is given, so none is known"
    assert unsaid.needs == ("the base heights of both tanks (tank.a.base, tank.b.base)",)


def test_the_sides_of_a_link_hold_all_that_is_beyond() -> None:
    """Three tanks in a row: beyond the first link stand two."""
    tanks = [{"name": n, "capacity": "5 m3", "diameter": "2 m"} for n in "abc"]
    row = [{"tanks": ["a", "b"]}, {"tanks": ["b", "c"]}]
    roof = [{"name": "r", "area": "100 m2", "runoff_coefficient": 1.0, "feeds": "a"}]
    plan = layout(holding(tank=tanks, roof=roof, link=row))
    assert plan.sides(["a", "b"]) == [(0,), (1, 2)]
    ring = layout(holding(tank=tanks, roof=roof, link=[*row, {"tanks": ["a", "c"]}]))
    assert ring.sides(["a", "b"]) == [(0,), (1,)]
    assert plan.surface(0) == pytest.approx(np.pi)
    assert plan.footprint(0) == pytest.approx(np.pi)


def test_gravity_alone_needs_no_pump() -> None:
    text = """
    [[line]]
    name = "trough"
    fed_by = "gravity"
    pipe = "PE"
    size = "1 in"
    length = "200 ft"
    flow = "2 gal/min"
    height = "-30 ft"
    pressure = "5 psi"
    """
    found = checks(text)
    assert "npsh" not in found
    assert found["line_pressure"][0].verdict is Verdict.HOLDS
    uphill = checks(text.replace('"-30 ft"', '"30 ft"'))["line_pressure"][0]
    assert uphill.verdict is Verdict.FAILS


def test_what_a_run_tells() -> None:
    """Invented record: the house asks 1 m3 a day, the tank gives what it has; frost from the temperatures."""
    days = np.arange(np.datetime64("2001-07-01"), np.datetime64("2002-07-01"))
    rain = np.zeros(days.size)
    rain[::10] = 4.0
    mean = np.where((days >= np.datetime64("2002-01-01")) & (days < np.datetime64("2002-01-11")), -8.0, 12.0)
    data = daily_dataset(days, rain, np.ones(days.size, dtype=np.int8), t_min=mean - 3.0, t_max=mean + 3.0)
    ledger = simulate(holding(), Record(data, Provenance("invented")))
    seen = seen_in(ledger)
    daily = ledger.flux("delivered").sum(axis=0)
    assert seen.busiest_day == pytest.approx(float(daily.max()))
    assert seen.mean_year == pytest.approx(float(daily.sum()) * 365.2425 / days.size)
    assert seen.frost is not None
    assert seen.frost.worst_index == pytest.approx(80.0)
    assert seen.frost.days_per_year == 10.0
    assert seen_in(ledger, ["house"]) == seen
    assert seen_in(ledger, []).busiest_day == 0.0


def test_the_library_loads_none_of_this_by_itself() -> None:
    """Importing holdwater and its command brings in neither the site checks nor `fluids`."""
    code = "import sys, holdwater, holdwater.scenario; print(*sys.modules)"
    told = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert "holdwater.scenario" in told.stdout.split()
    assert not [m for m in told.stdout.split() if m.startswith(("fluids", "holdwater.site"))]
