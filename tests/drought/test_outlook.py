"""The outlook: traces that equal runs, quantiles by hand, 29 February, years left out."""

from __future__ import annotations

import datetime as dt
import math
from typing import Any

import numpy as np
import pytest

from holdwater.errors import InputError
from holdwater.scenario.schema import Scenario
from holdwater.simulation import simulate
from holdwater.studies import gauges, saving
from holdwater.studies.odds import by_date, fan, order
from holdwater.studies.outlook import Outlook, outlook
from holdwater.units import Level
from holdwater.weather.record import Origin, Provenance, Record, daily_dataset
from tests.holdings import holding, record

TANK = {"name": "tank", "capacity": "10 m3", "diameter": "2 m"}


def years(rain: dict[str, float], first: str = "2001-01-01", last: str = "2004-12-31") -> Record:
    """A rainless record but for the days named [mm]."""
    days = np.arange(np.datetime64(first), np.datetime64(last) + 1)
    fell = np.zeros(days.size)
    for day, depth in rain.items():
        fell[days == np.datetime64(day)] = depth
    return record(fell.tolist(), first)


def weathered(first: str, days: int, seed: int = 2) -> Record:
    """Invented rain, snow and warmth."""
    drawn = np.random.default_rng(seed)
    dates = np.arange(np.datetime64(first), np.datetime64(first) + days)
    into = (dates - dates.astype("datetime64[Y]")).astype(int)
    mean = 8.0 - 12.0 * np.cos(2 * np.pi * into / 365.25) + drawn.normal(0, 3, days)
    rain = np.where(drawn.random(days) < 0.25, drawn.exponential(7.0, days), 0.0)
    origin = np.full(days, Origin.OBSERVED, dtype=np.int8)
    data = daily_dataset(dates, rain, origin, t_min=mean - 5.0, t_max=mean + 5.0)
    return Record(data, Provenance(source="invented for a test"))


def look(
    rain: dict[str, float], held: str = "3 m3", on: str = "2005-03-01", days: int = 5, **parts: Any
) -> Outlook:
    scenario = holding(tank=[TANK], **parts)
    return outlook(scenario, years(rain), gauges.read_held([held], scenario), dt.date.fromisoformat(on), days)


FULL_HOLDING: dict[str, Any] = {
    "place": {"latitude": 40.0, "longitude": -100.0, "elevation": "500 m"},
    "roof": [
        {
            "name": "barn",
            "area": "150 m2",
            "runoff_coefficient": 0.9,
            "wetting_loss": "0.4 mm",
            "first_flush": {"volume": "100 L", "drains_in": "3 days"},
            "feeds": {"upper": 0.6, "lower": 0.4},
        }
    ],
    "tank": [
        {"name": "upper", "capacity": "6 m3", "diameter": "2 m", "base": "10 cm", "outlet": "8 cm"},
        {"name": "lower", "capacity": "8 m3", "diameter": "2.4 m", "outlet": "8 cm"},
    ],
    "link": [{"tanks": ["upper", "lower"]}],
    "draw": [
        {"name": "house", "kind": "household", "people": 2, "per_person": "70 L/day"},
        {"name": "goats", "kind": "livestock", "animals": {"doe, dry": 6}},
        {
            "name": "beds",
            "kind": "garden",
            "area": "60 m2",
            "crop": "tomato",
            "planted": "05-10",
            "soil": "sandy loam",
            "stops_below": "15 %",
        },
    ],
    "reserve": {"volume": "500 L"},
}


def test_with_one_historic_year_the_trace_equals_the_run() -> None:
    rain = weathered("2011-05-01", 200)
    scenario = holding(**FULL_HOLDING, run={"start_full": 0.4})
    ledger = simulate(scenario, rain)
    seen = outlook(scenario, rain, gauges.read_held(["40 %"], scenario), dt.date(2011, 5, 1), 200)
    (only,) = seen.traces
    assert only.year == 2011
    np.testing.assert_allclose(only.storage, ledger.flux("drawable").sum(axis=0), rtol=0, atol=1e-9)
    asked = ledger.flux("asked")
    dry = (asked - ledger.flux("delivered") > 1e-6 * asked).any(axis=0)
    assert (only.dry == dry).all()
    assert 0 < dry.sum() < 200  # the comparison sees both kinds of days
    assert "the record does not tell the weather of the days before" in seen.assumed


def test_begun_midway_the_trace_equals_the_rest_of_the_run() -> None:
    """Soil, snow, wetting and first-flush chambers come from the days before."""
    rain = weathered("2011-12-01", 330)
    scenario = holding(**FULL_HOLDING)
    drawable = simulate(scenario, rain).flux("drawable").sum(axis=0)
    for begin in (60, 200):  # with snow lying; in the garden's season
        on = dt.date(2011, 12, 1) + dt.timedelta(days=begin)
        held = gauges.Held(Level(volume=float(drawable[begin])), {}, {})
        seen = outlook(scenario, rain, held, on, 330 - begin)
        np.testing.assert_allclose(seen.traces[0].storage, drawable[begin:], rtol=0, atol=1e-6)
        assert seen.assumed.startswith("soil, snow and first-flush chambers as the weather of the")
    assert seen.start.depletion[0][0] > 0.0


def test_quantiles_and_odds_equal_a_hand_computation() -> None:
    """3 m3 held, 1 m3 a day, three years of weather, YAS: the day's rain serves the day after.

    2001 no rain: 3 2 1 0 0 0, dry from day 3. 2002 rains 4 mm on day 1: 3 2 5 4 3 2, never dry.
    2003 rains 1 mm on day 2: 3 2 1 1 0 0, dry from day 4.
    """
    seen = look({"2002-03-02": 4.0, "2003-03-03": 1.0, "2004-03-02": 99.0}, on="2005-03-01")
    seen = Outlook(
        **{**vars(seen), "traces": seen.traces[:3]}
    )  # the fourth year only shows that it is one more
    storage = (seen.storage / 1000.0).round(9).tolist()
    assert storage == [[3, 2, 1, 0, 0, 0], [3, 2, 5, 4, 3, 2], [3, 2, 1, 1, 0, 0]]
    assert seen.first_dry.tolist() == [3.0, math.inf, 4.0]
    assert by_date(seen.first_dry, 5).tolist() == [0, 0, 0, 1, 2]
    # n = 3: sorted years stand for 1/4, 2/4, 3/4
    for p, expected in ((0.25, [3, 2, 1, 0, 0, 0]), (0.5, [3, 2, 1, 1, 0, 0]), (0.75, [3, 2, 5, 4, 3, 2])):
        found = fan(seen.storage, p)
        assert found is not None
        assert (found / 1000.0).round(9).tolist() == expected
    halfway = fan(seen.storage, 0.625)
    assert halfway is not None
    assert (halfway / 1000.0).round(9).tolist() == [3, 2, 3, 2.5, 1.5, 1]
    assert fan(seen.storage, 0.1) is None  # three years cannot tell a tenth
    assert order(seen.first_dry, 0.5) == 4.0
    assert order(seen.first_dry, 0.25) == 3.0
    assert order(seen.first_dry, 0.75) == math.inf
    assert order(seen.first_dry, 0.1) is None


def test_full_by_date_counts_the_first_full_day_though_the_draws_follow() -> None:
    """YAS leaves the room of the day's draw, so the evening of a full day stands below full."""
    seen = look({"2002-03-02": 9.0, "2003-03-04": 20.0}, held="2 m3", days=5)
    assert seen.first_full.tolist() == [math.inf, 1.0, 3.0, math.inf]
    assert by_date(seen.first_full, 5).tolist() == [0, 1, 1, 2, 2]
    assert seen.storage[1, 2] == pytest.approx(9000.0)


@pytest.mark.parametrize("n", [1, 2, 3, 9, 10, 29, 30])
def test_quantiles_never_reach_beyond_what_n_years_can_tell(n: int) -> None:
    values = np.arange(1.0, n + 1)
    tenth = order(values, 0.1)
    assert tenth == (None if n < 9 else (n + 1) // 10)
    assert (fan(values[:, None], 0.1) is None) == (n < 9)
    middle = fan(values[:, None], 0.5)
    assert middle is not None
    assert middle[0] == pytest.approx((n + 1) / 2)


def test_29_february_starts_on_1_march_in_other_years_and_days_to_come_keep_their_dates() -> None:
    rain = {"2001-03-01": 5.0, "2003-02-28": 50.0, "2004-02-29": 7.0}
    seen = look(rain, held="0 m3", on="2008-02-29", days=3)
    assert seen.days.astype(str).tolist() == ["2008-02-29", "2008-03-01", "2008-03-02"]
    first_evening = {t.year: t.storage[1] / 1000.0 for t in seen.traces}
    assert first_evening == {2001: 5.0, 2002: 0.0, 2003: 0.0, 2004: 7.0}


def test_weather_runs_on_day_by_day_over_29_february_without_a_gap_or_a_double() -> None:
    seen = look(
        {"2003-03-01": 3.0, "2004-02-29": 4.0, "2004-03-01": 2.0}, held="0 m3", on="2005-02-28", days=3
    )
    # 2004 has its leap day's rain on the second day to come, 1 March; nothing falls out
    collected = {t.year: (t.storage[-1] / 1000.0 + (~t.dry).sum()).round(9) for t in seen.traces}
    assert collected[2003] == 3.0
    assert collected[2004] == 6.0


def test_a_trace_that_reaches_beyond_the_record_is_dropped_and_counted() -> None:
    seen = look({}, on="2005-12-20", days=30)
    assert seen.years == [2001, 2002, 2003]
    assert seen.dropped == ["2004: its weather would reach beyond the end of the record, 2004-12-31"]


def test_a_trace_with_missing_rain_is_dropped_and_counted() -> None:
    scenario = holding(tank=[TANK])
    seen = outlook(
        scenario,
        years({"2002-03-03": math.nan}),
        gauges.read_held(["50 %"], scenario),
        dt.date(2005, 3, 1),
        5,
    )
    assert seen.years == [2001, 2003, 2004]
    assert seen.dropped == ["2002: rain is missing"]


def test_no_year_at_all_is_told_with_the_cure() -> None:
    with pytest.raises(InputError, match=r"no year from 2001-01-01 to 2004-12-31 .* look less far ahead"):
        look({}, days=1600)


def test_demand_follows_the_days_to_come_and_not_the_days_of_the_weather() -> None:
    away = {"name": "house", "kind": "household", "people": 1, "per_person": "1 m3/day"}
    spans = [
        {"from": dt.date(2005, 3, 2), "to": dt.date(2005, 3, 4)},
        {"from": dt.date(2002, 1, 1), "to": dt.date(2002, 12, 31)},
    ]
    scenario = holding(tank=[TANK], draw=[dict(away, away=sorted(spans, key=lambda s: s["from"]))])
    seen = outlook(scenario, years({}), gauges.read_held(["5 m3"], scenario), dt.date(2005, 3, 1), 5)
    for trace in seen.traces:
        assert (trace.storage / 1000.0).round(9).tolist() == [5, 4, 4, 4, 4, 3]


def test_rationing_and_backup_are_part_of_every_trace() -> None:
    steps = [{"below": "2.5 m3", "per_person": "500 L/day"}]
    saver = {"name": "house", "kind": "household", "people": 1, "per_person": "1 m3/day", "steps": steps}
    hauler = {"name": "hauler", "kind": "refill", "starts_below": "1 m3", "load": "4 m3", "lead_days": 0}
    scenario = holding(tank=[TANK], draw=[saver], backup=[hauler])
    seen = outlook(scenario, years({}), gauges.read_held(["4 m3"], scenario), dt.date(2005, 3, 1), 6)
    for trace in seen.traces:
        assert (trace.storage / 1000.0).round(9).tolist() == [4, 3, 2, 1.5, 1, 4.5, 3.5]
        assert (trace.supplied_L, trace.loads) == (4000.0, 1)


def test_years_like_this_one_are_the_nearest_by_rain_of_the_90_days_before() -> None:
    days = np.arange(np.datetime64("1980-01-01"), np.datetime64("2021-04-01"))
    year = days.astype("datetime64[Y]").astype(int) + 1970
    rain = np.where(days.astype("datetime64[D]").astype(str).astype("U10") != "", (year - 1980) / 90.0, 0.0)
    scenario = holding(tank=[TANK])
    held = gauges.read_held(["50 %"], scenario)
    whole = record(rain.tolist(), "1980-01-01")
    seen = outlook(scenario, whole, held, dt.date(2021, 4, 1), 30, like_this_year=True)
    assert seen.alike is not None
    assert seen.alike.out_of == 41  # 1980 to 2020; this year itself is not among them
    assert seen.years == list(range(2007, 2021))  # a third of 41, those with nearly as much rain
    assert seen.alike.rain_now == pytest.approx(41.0)
    assert all(abs(then - 41.0) < 15.0 for then in seen.alike.rain_then.values())


def test_years_like_this_one_need_the_days_before() -> None:
    scenario = holding(tank=[TANK])
    with pytest.raises(InputError, match=r"which the record \(2001-01-01 to 2004-12-31\) does not cover"):
        outlook(scenario, years({}), gauges.read_held(["50 %"], scenario), dt.date(2005, 3, 1), 5, True)


# Saving


def save(seen: Outlook, *texts: str) -> saving.Saving:
    return saving.first_day(seen, saving.read_saving(texts, seen.scenario))


def test_the_last_day_to_start_saving_by_hand() -> None:
    """10 m3 held, 1 m3 a day, 12 days, no rain: saving half of it must start by day 8 (8 x 1 + 4 x 0.5)."""
    seen = look({}, held="100 %", on="2005-03-01", days=12)
    found = save(seen, "50 %")
    assert found.latest.tolist() == [8.0] * 4
    assert found.start is None  # four years cannot tell nine in ten
    assert found.through == (0, 4, 4)
    assert save(seen, "10 %").latest.tolist() == [-1.0] * 4  # 12 x 0.9 is more than 10


def test_nine_in_ten_get_through_from_the_day_named() -> None:
    rain = {f"{year}-03-02": float(year - 1990) for year in range(1991, 2001)}
    scenario = holding(tank=[dict(TANK, capacity="20 m3")])
    seen = outlook(
        scenario,
        years(rain, "1991-01-01", "2000-12-31"),
        gauges.read_held(["6 m3"], scenario),
        dt.date(2001, 3, 1),
        12,
    )
    found = saving.first_day(seen, saving.read_saving(["house=50 %"], scenario))
    # rain of 1, 2, 3 ... m3 on day 1 atop 6: lasts 7, 8, 9 ... days
    assert found.latest.tolist() == [2.0, 4.0, 6.0, 8.0, 10.0, *([math.inf] * 5)]
    assert found.start == 2.0  # 10 years: the driest stands for 1/11, the next for 2/11
    assert found.through == (5, 10, 10)


def test_animals_do_not_save_unless_they_are_named() -> None:
    scenario = holding(**FULL_HOLDING)
    assert saving.read_saving(["30 %"], scenario) == {"house": 0.3, "beds": 0.3}
    assert saving.read_saving(["goats=10 %", "beds = 1"], scenario) == {"goats": 0.1, "beds": 1.0}
    with pytest.raises(
        InputError, match=r'--saving "cows=10 %": write a draw and its share, such as "house=20 %"'
    ):
        saving.read_saving(["cows=10 %"], scenario)


def test_a_garden_saves_by_being_watered_less() -> None:
    rain = weathered("2011-06-01", 60)
    scenario = holding(**FULL_HOLDING)
    held = gauges.read_held(["100 %"], scenario)
    seen = outlook(scenario, rain, held, dt.date(2011, 6, 1), 60)
    changed = saving.saving_from(seen.futures[0].holding, {"beds": 1.0}, 10)
    asks = changed.beds.asks[0]
    assert max(asks[10:]) == 0.0
    assert asks[:10] == seen.futures[0].holding.beds.asks[0][:10]
    assert changed.uses.wanted == seen.futures[0].holding.uses.wanted


# What the tanks hold


def held_by_group(scenario: Scenario, *texts: str) -> list[float]:
    seen = outlook(
        scenario, weathered("2011-01-01", 40), gauges.read_held(texts, scenario), dt.date(2011, 2, 1), 3
    )
    return [round(row[0], 6) for row in seen.start.drawable[: len(seen.futures[0].holding.phases[0].groups)]]


def test_one_height_tells_the_water_of_linked_tanks() -> None:
    scenario = holding(**FULL_HOLDING)
    upper, lower = math.pi * 1.0**2, math.pi * 1.2**2
    # 50 cm over the upper floor is 60 cm over the lower one; the outlets stand 8 cm over the floors
    expected = upper * (500 - 80) + lower * (600 - 80)
    assert held_by_group(scenario, "upper=50 cm") == [pytest.approx(expected, abs=1e-3)]
    assert held_by_group(scenario, "lower=60 cm") == [pytest.approx(expected, abs=1e-3)]
    assert held_by_group(scenario, "lower=601 mm", "upper=499 mm") == [pytest.approx(expected, abs=1e-3)]
    assert held_by_group(scenario, "upper=2 m3", "lower=1 m3") == [3000.0]
    assert held_by_group(scenario, "lower=5 cm") == [0.0]


def test_one_amount_is_spread_over_tanks_that_stand_alone() -> None:
    alone = {**FULL_HOLDING, "link": []}
    found = held_by_group(holding(**alone), "50 %")
    assert len(found) == 2
    dead = [math.pi * 1.0**2 * 80, math.pi * 1.2**2 * 80]
    assert found == [pytest.approx((6000 - dead[0]) / 2), pytest.approx((8000 - dead[1]) / 2)]
    assert held_by_group(holding(**alone), "upper=1 m3", "lower=20 cm") == [
        1000.0,
        pytest.approx(math.pi * 1.44 * 120, abs=1e-3),
    ]


@pytest.mark.parametrize(
    "texts",
    [
        ["upper=2 m3", "lower=1 m3"],
        ["upper=2 m3, lower=1 m3"],
        ["upper=2 m3,lower=1 m3"],
        ["lower=1 m3; upper=2 m3"],
        ["upper=2,000 L, lower=1,000 L"],
    ],
)
def test_amounts_of_several_tanks_may_stand_in_one_or_in_many(texts: list[str]) -> None:
    assert held_by_group(holding(**FULL_HOLDING), *texts) == [3000.0]


def test_a_tank_may_have_a_comma_in_its_name() -> None:
    tank = dict(TANK, name="barn, left")
    roof = {"name": "roof", "area": "1000 m2", "runoff_coefficient": 1.0, "feeds": "barn, left"}
    held = gauges.read_held(["barn, left=1,500 L"], holding(tank=[tank], roof=[roof]))
    assert held.volumes["barn, left"].volume == 1500.0


def test_with_one_tank_a_height_needs_no_name() -> None:
    assert gauges.read_held(["40 in"], holding(tank=[TANK])).heights == {"tank": pytest.approx(1016.0)}


@pytest.mark.parametrize(
    ("texts", "said"),
    [
        (
            ["41 in"],
            '"41 in" is a height of water: say in which tank, "upper=41 in, lower=41 in"; of tanks that',
        ),
        (["upper=41 in, low=41 in"], 'there is no tank "low"; the tanks are upper, lower'),
        (["upper=41 in, 30 in"], "tank 'upper': .*41 in, 30 in"),
        ([], '"upper=800 gal, lower=800 gal" above the outlet or "upper=31 in, lower=31 in" of water'),
        ([], 'say what the tanks hold: one amount for all, "1200 gal" or "40 %"'),
        (["1 m3", "upper=1 m3"], "say what the tanks hold"),
        (["1 m3", "2 m3"], "say what the tanks hold"),
        (["top=1 m3"], 'there is no tank "top"; the tanks are upper, lower'),
        (["upper=1 m3", "upper=1 m3"], "tank 'upper' is given twice"),
        (["upper=blue"], "tank 'upper': .*blue"),
        (["99 m3"], "the tanks together: found 26,153 gal above the outlets, but there is room for"),
        (["upper=99 m3", "lower=0 L"], "tank 'upper': found 26,153 gal above the outlets"),
        (["upper=1 m3"], "say what tank 'lower', linked with upper, holds too"),
        (
            ["upper=1 m3", "lower=50 cm"],
            "the tanks upper, lower are linked: give heights of water or volumes",
        ),
        (["upper=50 cm", "lower=90 cm"], "share one surface, but the heights given differ by 11.8 in"),
        (["lower=3 m"], "the water cannot stand .* in above the lowest overflow"),
        (["1200"], "has no unit"),
    ],
)
def test_what_the_tanks_cannot_hold_is_refused_with_the_cure(texts: list[str], said: str) -> None:
    with pytest.raises(InputError, match=said):
        held_by_group(holding(**FULL_HOLDING), *texts)


def test_an_outlook_of_no_days_is_refused() -> None:
    with pytest.raises(InputError, match="looks nowhere"):
        look({}, days=0)
