"""What a run and a check say of water that never fills or cannot be drawn; volumes by hand."""

from __future__ import annotations

import math
from typing import Any

import pytest

from holdwater.report import show, stranded, verdict
from holdwater.scores import score
from tests.holdings import holding, live, run

FLOOR = math.pi / 4
"""Floor of a tank of 1 m across [m2]."""
A = {"name": "a", "capacity": f"{1000 * FLOOR!r} L", "diameter": "1 m"}  # 1 m high
B = A | {"name": "b"}
PARTS: dict[str, Any] = {
    "roof": [{"name": "roof", "area": "10 m2", "runoff_coefficient": 1.0, "feeds": "a"}],
    "link": [{"tanks": ["a", "b"]}],
}


def test_what_can_never_fill_is_told_with_its_reason() -> None:
    """b stands 10 cm higher: 78.5 L of 1,571 L, 5 %, lie above the lip of a."""
    parts = PARTS | {"tank": [A, B | {"base": "10 cm"}]}
    assert stranded.in_words(holding(**parts), "metric") == [
        "Of the 1,571 L of tanks 'a' and 'b', 79 L can never fill: joined at the bottom they spill at the lip of 'a',"
        " the lowest, and the lips stand 10 cm apart. Bring them to one height."
    ]
    said = (
        "5 % of tanks 'a' and 'b' can never fill, because the lips of the linked tanks stand 10 cm apart; bring them"
        " to one height"
    )
    assert stranded.warnings(holding(**parts), "metric") == [said]
    ledger = run([0.0], **parts, show_units="metric")
    assert said in verdict.warnings(ledger, score(ledger))
    rows = show.stranded_rows(ledger, "metric")
    assert rows[0] == ["stranded", "78.5 L at the top, 0 L at the bottom"]
    assert " ".join(row[1] for row in rows[1:]) == stranded.in_words(holding(**parts), "metric")[0]
    assert all(len(row[1]) <= show.WIDTH for row in rows)


def test_a_little_is_only_a_number() -> None:
    """1 cm of one of two tanks of 1 m: 0.5 %."""
    parts = PARTS | {"tank": [A, B | {"base": "1 cm"}]}
    assert stranded.in_words(holding(**parts), "metric") == []
    assert stranded.warnings(holding(**parts), "metric") == []
    assert show.stranded_rows(run([0.0], **parts), "metric") == [
        ["stranded", "7.85 L at the top, 0 L at the bottom"]
    ]


@pytest.mark.parametrize(("outlet", "worded", "warned"), [("1 cm", 0, 0), ("5 cm", 1, 0), ("15 cm", 1, 1)])
def test_a_few_inches_below_the_outlet_are_meant_much_more_is_a_warning(
    outlet: str, worded: int, warned: int
) -> None:
    parts = PARTS | {"tank": [A | {"outlet": outlet}], "link": []}
    assert len(stranded.in_words(holding(**parts), "metric")) == worded
    assert len(stranded.warnings(holding(**parts), "metric")) == warned


def test_an_outlet_high_above_the_floor() -> None:
    parts = PARTS | {"tank": [A | {"outlet": "15 cm"}], "link": []}
    assert stranded.warnings(holding(**parts), "metric") == [
        "15 % of tank 'a' can never be drawn, because the outlet stands high above the floor"
    ]


def test_animals_without_temperatures_drink_as_at_20_degrees() -> None:
    """20 degC are 68 degF."""
    cows = {"name": "goats", "kind": "livestock", "animals": {"doe, dry": 2}}
    tap = {"name": "tap", "kind": "fixed", "per_day": "1 L/day"}
    plain = "the record has no temperatures: all precipitation is taken as rain"
    for units, warm in (("us", "68 degF"), ("metric", "20 degC")):
        ledger = run([0.0, 0.0], draw=[cows, tap], show_units=units)
        said = f"{plain}, and the animals (goats) drink every day as at {warm}, too little in a hot summer"
        assert said in verdict.warnings(ledger, score(ledger))
    without = run([0.0, 0.0], draw=[tap])
    assert plain in verdict.warnings(without, score(without))
    known = live({"rain": [0.0], "t_min": [5.0], "t_max": [15.0]}, draw=[cows, tap])
    assert not any("temperatures" in said for said in verdict.warnings(known, score(known)))
