"""What a run says of draws that were cut by their own rule, and of its beds; every sentence by hand."""

from __future__ import annotations

import datetime as dt
from typing import Any

import pytest

from holdwater.report import garden, show, summary, verdict
from holdwater.scores import score
from tests.charts.gardens import bed, garden_run
from tests.charts.runs import Result, result
from tests.holdings import run

HOSE = {"name": "hose", "kind": "fixed", "per_day": "200 L/day", "stops_below": "300 L"}
HOUSE = {"name": "house", "kind": "fixed", "per_day": "150 L/day"}
TANK_1000 = {"name": "tank", "capacity": "1000 L", "diameter": "1 m"}


def scored(**parts: Any) -> Result:
    ledger = run([0.0] * 4, tank=[TANK_1000], run={"start_full": 0.6}, **parts)
    return ledger, score(ledger)


def lines(rows: list[list[str]]) -> list[str]:
    return [": ".join(row) for row in rows]


def test_days_cut_by_rule_are_told_apart_from_dry_days() -> None:
    """600 L: the house takes 150 L and the hose the 150 L above its stop, then only the house: 150, 150, 0."""
    made = scored(draw=[HOUSE, HOSE])
    assert lines(show.draw_rows(made[1])) == [
        "dry days, house: 1 day",
        "dry days, hose: no days; held back by its own rule on 4 days, not counted here",
    ]
    assert verdict.held_back(made[1]) == "Held back by its own rule, and not counted as dry: hose on 4 days."
    assert verdict.verdict(*made).endswith(
        " Held back by its own rule, and not counted as dry: hose on 4 days."
    )
    told = summary.summary(*made)
    assert told["held_back_days"] == {
        "total": 4,
        "by_draw": {"house": 0, "hose": 4},
        "by_year": {"2001": {"house": 0, "hose": 4}},
    }


def test_two_draws_have_rules_of_their_own_and_none_says_nothing() -> None:
    """600 L: the hose takes 200 and the tap the 100 L above their stop; then nothing is above it."""
    two = scored(draw=[HOSE, HOSE | {"name": "tap"}])[1]
    assert verdict.held_back(two) == (
        "Held back by their own rules, and not counted as dry: hose on 3 days, tap on 4 days."
    )
    assert verdict.held_back(scored(draw=[HOUSE])[1]) == ""


def test_a_bed_tells_of_stress_watering_and_who_met_its_need() -> None:
    """Green beans in loam under 5 mm of ET0 and a tank that lasts for all of it: three seasons."""
    seasons = garden_run([0.0] * 1096, "2019-01-01", [bed(area="20 ft2")], run={"start_full": 1.0})
    (said,) = seasons[1].beds
    assert said.stress_days == 0
    first = said.watering_began[0]
    assert lines(garden.bed_rows(seasons[1])) == [
        "bed, tomatoes: never short of water on the 270 days it grew",
        f": it usually wants water from {first.day} May on",
        ": its need was met 100 % from the tanks",
    ]


def test_a_bed_in_want_tells_its_worst_year() -> None:
    wanting = garden_run([0.0] * 731, "2019-01-01", [bed(rain_fed=True)])
    (said,) = wanting[1].beds
    worst = said.worst_year
    assert worst is not None
    rows = lines(garden.bed_rows(wanting[1]))
    assert rows[0] == (
        f"bed, tomatoes: short of water on {said.stress_days} of the 180 days it grew;"
        f" worst in {worst.year}: {worst.stress_days} days"
    )
    assert rows[1] == ": it wanted no watering"
    assert rows[2].endswith("% was not met")


def test_few_seasons_are_told_by_their_dates_and_none_at_all() -> None:
    one = garden_run([0.0] * 200, "2021-04-01", [bed()], run={"start_full": 1.0})
    day = one[1].beds[0].watering_began[0]
    assert f": it wanted water from {day.day} {day:%B} 2021 on" in lines(garden.bed_rows(one[1]))
    winter = garden_run([0.0] * 30, "2021-01-01", [bed()])
    assert lines(garden.bed_rows(winter[1])) == ["bed, tomatoes: nothing grew on these days"]


@pytest.mark.parametrize(
    ("days", "usual"),
    [
        ([dt.date(2001, 6, 1), dt.date(2002, 6, 3), dt.date(2003, 6, 8)], (6, 3)),
        ([dt.date(2001, 12, 28), dt.date(2003, 1, 3), dt.date(2003, 12, 30)], (12, 30)),
        ([dt.date(2001, 1, 2), dt.date(2001, 12, 29), dt.date(2003, 1, 5)], (1, 2)),
    ],
)
def test_the_usual_day_is_the_middle_one_over_the_turn_of_the_year(
    days: list[dt.date], usual: tuple[int, int]
) -> None:
    found = garden.usual_day(days)
    assert (found.month, found.day) == usual


def test_weather_names_its_licence_and_how_evapotranspiration_is_known() -> None:
    plain = result([0.0] * 3)
    assert show.weather(plain[0]) == "invented; licence: none needed, invented"
    assert show.et0_from(plain[0]) == ""
    made = garden_run([0.0] * 3, "2021-05-01", [bed()])
    assert show.et0_from(made[0]) == "the record's own ET0: 3 days"
    assert "evapotranspiration" in show.table(*made, "us")
    assert "evapotranspiration" not in show.table(*plain, "us")
    assert summary.summary(*made)["weather"]["et0"] == "the record's own ET0: 3 days"


def test_where_the_two_rules_do_not_bracket_the_truth_it_is_said() -> None:
    """A hauler who is called later comes later: YAS gives 25 m3 without a dry day, YBS 24 m3 with one."""
    rain = [1, 0, 0, 0, 5, 0, 0, 0, 0, 0, 0, 2, 0, 0, 3, 0, 5, 0, 0, 2, 5, 0, 0, 0, 0]
    hauler = {"name": "hauler", "kind": "refill", "starts_below": "40 %", "load": "3 m3", "lead_days": 3}

    def both(**parts: Any) -> list[Result]:
        ledgers = [run(rain, run={"rule": rule, "start_full": 1.0}, **parts) for rule in ("YAS", "YBS")]
        return [(ledger, score(ledger)) for ledger in ledgers]

    turned = both(backup=[hauler])
    assert [scores.totals_L["delivered"] for _, scores in turned] == pytest.approx([25_000, 24_000])
    assert show.rules_turned(turned).startswith("YBS delivers less than YAS here")
    assert show.rules_turned(both()) == ""
