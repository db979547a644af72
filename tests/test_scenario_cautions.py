"""Notes on what is allowed but seldom meant: linked tanks, sizes, seasons, backup; expectations by hand."""

from __future__ import annotations

import math
from typing import Any

import pytest

from holdwater.errors import InputError
from holdwater.scenario.file import check_raw

ROOF = {"name": "roof", "area": "100 m2", "runoff_coefficient": 0.9, "feeds": "a"}
A = {"name": "a", "capacity": "1000 L", "diameter": "1 m"}
B = {"name": "b", "capacity": "1000 L", "diameter": "1 m"}
C = {"name": "c", "capacity": "1000 L", "diameter": "1 m"}
LINK = {"tanks": ["a", "b"]}
USE = {"name": "house", "kind": "fixed", "per_day": "100 L/day"}
REFILL = {"name": "hauler", "kind": "refill", "into": "a", "starts_below": "30 %", "load": "500 L"}
WHOLE: dict[str, Any] = {
    "title": "Invented",
    "show_units": "metric",
    "weather": {"file": "none.csv"},
    "roof": [ROOF],
    "tank": [A],
    "draw": [USE],
}


def notes(**parts: Any) -> list[str]:
    return check_raw(WHOLE | parts)[1]


def faults(**parts: Any) -> list[str]:
    try:
        check_raw(WHOLE | parts)
    except InputError as error:
        return error.faults
    return []


# ------------------------------------------------------------------------------- a call that never comes


def test_a_trigger_under_the_reserve_is_never_reached() -> None:
    """30 % of 1,000 L is 300 L; the reserve keeps 400 L from the only draw."""
    said = notes(reserve={"volume": "400 L"}, backup=[REFILL])
    assert said == [
        "backup 'hauler' is called when tank 'a' stands below 300 L, but nothing takes the water below 400 L"
        " (the reserve), so it never comes; write starts_below higher than that"
    ]
    assert notes(reserve={"volume": "400 L"}, backup=[REFILL | {"starts_below": "41 %"}]) == []
    assert notes(reserve={"volume": "300 L"}, backup=[REFILL]) != [], "at the reserve is not below it"
    assert notes(reserve={"volume": "299 L"}, backup=[REFILL]) == []


def test_whoever_may_go_lower_makes_the_trigger_reachable() -> None:
    reserve = {"volume": "400 L"}
    may = USE | {"may_use_reserve": True}
    assert notes(reserve=reserve, backup=[REFILL], draw=[may]) == []
    assert notes(reserve=reserve, backup=[REFILL], tank=[A | {"leak": "1 L/day"}]) == []
    pump = {"name": "p", "from_tank": "a", "to_tank": "c", "starts_below": "50 %", "per_day": "10 L/day"}
    pumped = notes(reserve=reserve | {"in_tanks": ["c"]}, backup=[REFILL], tank=[A, C], transfer=[pump])
    assert pumped == []


def test_a_trigger_under_every_stop_is_never_reached() -> None:
    """Two draws stop at 500 and 450 L: the lower of the two is as far as it goes."""
    stops = [USE | {"stops_below": "50 %"}, USE | {"name": "tap", "stops_below": "450 L"}]
    (said,) = notes(draw=stops, backup=[REFILL])
    assert "nothing takes the water below 450 L (where draw 'tap' stops), so it never comes" in said
    assert notes(draw=[*stops, USE | {"name": "cow"}], backup=[REFILL]) == []
    both = [each | {"from_tanks": ["a", "c"]} for each in stops]
    assert (
        notes(draw=both, tank=[A, C], roof=[ROOF | {"feeds": {"a": 0.5, "c": 0.5}}], backup=[REFILL]) == []
    ), "the level of two tanks together says nothing of one"


def test_the_reserve_is_shared_out_over_what_the_tanks_give() -> None:
    """400 L in two single tanks of 1,000 L: 200 L in each, which a trigger of 300 L passes on the way down."""
    assert notes(reserve={"volume": "400 L"}, tank=[A, B], backup=[REFILL], roof=[FEEDS_BOTH]) == []
    kept = notes(
        reserve={"volume": "400 L", "in_tanks": ["a"]}, tank=[A, B], backup=[REFILL], roof=[FEEDS_BOTH]
    )
    assert "below 400 L (the reserve)" in kept[0]
    linked = notes(reserve={"volume": "700 L"}, tank=[A, B], link=[LINK], backup=[REFILL])
    assert linked[0].startswith(
        "backup 'hauler' is called when tanks 'a' and 'b' stand below 600 L, but nothing"
    )


FEEDS_BOTH = ROOF | {"feeds": {"a": 0.5, "b": 0.5}}


# ------------------------------------------------------------------------------- tanks that are linked


def test_lips_at_one_height_with_overflows_apart() -> None:
    """Whichever lip is lower by a hair takes all of it; 5 mm apart is one height, 5 cm is not."""
    (said,) = notes(tank=[A, B | {"overflow_to": "c"}, C], link=[LINK])
    assert said == (
        "tanks 'a' and 'b' are linked and their lips stand at one height, but their overflows lead to 'ground' and"
        " 'c': all of it is taken to spill from 'a'; give both the same overflow_to, or set one lip higher"
    )
    lower = notes(tank=[A, B | {"overflow_to": "c", "base": "-5 mm"}, C], link=[LINK])
    assert "their overflows lead to 'c' and 'ground': all of it is taken to spill from 'b'" in lower[0]
    same = [A | {"overflow_to": "c"}, B | {"overflow_to": "c"}, C]
    assert notes(tank=same, link=[LINK]) == []
    assert notes(tank=[A, B | {"base": "5 cm"}], link=[LINK]) == []


def test_an_overflow_above_the_lowest_lip_never_acts() -> None:
    (said,) = notes(tank=[A, B | {"overflow_to": "c", "base": "5 cm"}, C], roof=[FEEDS_ALL], link=[LINK])
    assert said == (
        "tank 'b': overflow_to = 'c' never acts while the link is open: the linked tanks spill over the lip of 'a',"
        " which is 5 cm lower"
    )


FEEDS_ALL = ROOF | {"feeds": {"a": 0.5, "c": 0.5}}


def test_a_draw_that_names_only_the_higher_outlet() -> None:
    """Outlets 5 and 20 cm up tanks of pi/4 m2: 15 cm of the one tank, 118 L, lie below the higher outlet."""
    tanks = [A | {"outlet": "20 cm"}, B | {"outlet": "5 cm"}]
    draw = USE | {"from_tanks": ["a"]}
    (said,) = notes(tank=tanks, link=[LINK], draw=[draw])
    assert round(150 * math.pi / 4) == 118
    assert said == (
        "draw 'house' takes from tank 'a', whose outlet stands 15 cm above that of 'b' in the same link: the last"
        " 118 L are out of its reach; name 'b' in from_tanks too if its pipe starts there"
    )
    assert notes(tank=tanks, link=[LINK], draw=[draw | {"from_tanks": ["a", "b"]}]) == []
    assert notes(tank=tanks, link=[LINK]) == []


def test_the_higher_outlet_of_a_tank_given_by_levels() -> None:
    """50 cm of a tank that holds 100 L up to 50 cm and 1,000 L up to 1 m."""
    rows = [{"level": "0 cm", "volume": 0}, {"level": "50 cm", "volume": "100 L"}]
    rows += [{"level": "1 m", "volume": "1000 L"}]
    tanks = [A | {"base": "50 cm"}, {"name": "b", "levels": rows}]
    (said,) = notes(tank=tanks, link=[LINK], draw=[USE | {"from_tanks": ["a"]}])
    assert "stands 50 cm above that of 'b' in the same link: the last 100 L are" in said


# ------------------------------------------------------------------------------- sizes


def test_a_tank_higher_than_a_house() -> None:
    """2,500 gal in 8 in: 577,500 in3 / 50.27 in2 = 11,489 in = 957 ft."""
    tank = {"name": "a", "capacity": "2,500 gal", "diameter": "8 in"}
    assert notes(tank=[tank], show_units="us") == [
        "tank 'a': 2,500 gal, 8 in across: its lip would stand 957 ft high; look at its digits, its comma and its"
        " unit again"
    ]
    assert (
        "its lip would stand 10.1 m high"
        in notes(tank=[{"name": "a", "capacity": "9 m3", "overflow": "10.1 m"}])[0]
    )
    assert notes(tank=[{"name": "a", "capacity": "9 m3", "overflow": "9.9 m"}]) == []


def test_a_tank_like_a_bucket_and_a_draw_like_a_village() -> None:
    assert notes(tank=[A | {"capacity": "2.500 gal"}]) == [
        "tank 'a' holds only 9.46 L; look at its digits, its comma and its unit again"
    ]
    assert notes(tank=[A | {"capacity": "100 L"}]) == []
    assert notes(draw=[USE | {"per_day": "1,500 m3/day"}]) == [
        "draw 'house' takes 1,500,000 L/day; look at its digits, its comma and its unit again"
    ]
    assert notes(draw=[USE | {"per_day": "50 m3/day"}]) == []
    monthly = {"name": "field", "kind": "fixed", "monthly": [0] * 6 + ["51 m3/day"] + [0] * 5}
    assert "draw 'field' takes 51,000 L/day" in notes(draw=[monthly])[0]


def test_rain_on_an_open_tank_is_not_counted() -> None:
    """1 m across is 0.785 m2; written as a roof of its own it is counted."""
    pond = A | {"evaporation_factor": 1.0}
    assert notes(tank=[pond]) == [
        "tank 'a' is open and loses water to the sun, but the rain that falls into it is not counted; add a roof of"
        " 0.785 m2 with runoff_coefficient = 1 that feeds it"
    ]
    itself = {"name": "the pond", "area": "0.785 m2", "runoff_coefficient": 1.0, "feeds": "a"}
    assert notes(tank=[pond], roof=[ROOF, itself]) == []
    assert notes(tank=[pond], roof=[ROOF | {"runoff_coefficient": 1.0}]) != [], "a barn is no pond"
    rows = [{"level": "0 cm", "volume": 0}, {"level": "50 cm", "volume": "100 L"}]
    rows += [{"level": "1 m", "volume": "1100 L"}]
    banks = {"name": "a", "levels": rows, "evaporation_factor": 1.0}
    assert "add a roof of 2 m2" in notes(tank=[banks])[0], "1,000 L over 500 mm"


# ------------------------------------------------------------------------------- seasons, steps, backup


@pytest.mark.parametrize(
    ("where", "parts"),
    [
        ("roof 'roof': collects", {"roof": [ROOF | {"collects": {"from": "11-01", "to": "02-28"}}]}),
        ("draw 'house': season", {"draw": [USE | {"season": {"from": "11-01", "to": "Feb 28"}}]}),
        (
            "draw 'house': guests",
            {
                "draw": [
                    {"name": "house", "kind": "household", "people": 2, "per_person": "50 L/day"}
                    | {"guests": [{"from": "12-20", "to": "02-28", "people": 2}]}
                ]
            },
        ),
        (
            "draw 'hens': also",
            {
                "draw": [
                    {"name": "hens", "kind": "livestock", "animals": {"hen, laying": 5}}
                    | {"also": [{"from": "12-20", "to": "02-28", "animals": {"hen, laying": 2}}]}
                ]
            },
        ),
    ],
)
def test_what_ends_on_28_february_leaves_out_the_29th(where: str, parts: dict[str, Any]) -> None:
    assert notes(**parts) == [
        f'{where} ends on 02-28, so 29 February is left out; write to = "02-29" for the end of February'
    ]


def test_a_season_to_the_end_of_february_is_fine() -> None:
    assert notes(draw=[USE | {"season": {"from": "11-01", "to": "02-29"}}]) == []


def test_a_saving_step_that_saves_nothing() -> None:
    house = {"name": "house", "kind": "household", "people": 2, "per_person": "50 L/day"}

    def step(flow: str) -> dict[str, Any]:
        return house | {"steps": [{"below": "40 %", "per_person": flow}]}

    assert notes(draw=[step("60 L/day")]) == [
        "draw 'house': the saving step below 40 % saves nothing: it allows 60 L/day a person, who uses 50 L/day anyway"
    ]
    assert notes(draw=[step("50 L/day")]) != []
    assert notes(draw=[step("49 L/day")]) == []


def test_a_refill_without_a_tank_fills_the_first() -> None:
    unnamed = {key: value for key, value in REFILL.items() if key != "into"}
    assert notes(tank=[A, B], roof=[FEEDS_BOTH], backup=[unnamed]) == [
        "backup 'hauler' does not name its tank: it fills the first of the file, 'a'; write into = \"a\", or another"
    ]
    assert notes(tank=[A, B], link=[LINK], backup=[unnamed]) == [], "linked, it is all one"
    assert notes(backup=[unnamed]) == []


def test_loads_know_no_limit_of_a_day() -> None:
    both = REFILL | {"per_day": "400 L/day"}
    assert faults(backup=[both]) == [
        "backup 'hauler': per_day does not hold back loads; drop per_day for a hauler, or drop load for a well that"
        " runs so much a day"
    ]
    well = {key: value for key, value in both.items() if key != "load"} | {"fills_to": "90 %"}
    assert faults(backup=[well]) == []
