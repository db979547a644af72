"""What is worse with a set-up is said wherever it is praised; so are levels that move with the tanks."""

from __future__ import annotations

import itertools
from dataclasses import replace

import numpy as np
import pytest

from holdwater import words
from holdwater.charts import pareto
from holdwater.charts.compared import finding
from holdwater.charts.variants import storage_overlay
from holdwater.cli.compare import table as compare_table
from holdwater.cli.compare_data import as_data as compare_data
from holdwater.cli.next import as_data as next_data
from holdwater.cli.next import remarks, table
from holdwater.holding import build
from holdwater.scenario import ScenarioFile
from holdwater.simulation import covering
from holdwater.sky import weather
from holdwater.studies.batch import Site
from holdwater.studies.compare import Comparison, SetUp, compare
from holdwater.studies.drawbacks import Days, drawbacks, gains, listed, worse_for
from holdwater.studies.levels import moving, standing, wider_instead
from holdwater.studies.purchase import Bought, Purchases, next_purchases
from holdwater.weather.record import Record
from tests.charts.runs import legend, title

NOW = Days(dry=165, unserved=0, stressed=303, held_back=900)
STARVE = "spare the tanks"
STARVED = {"draw.tomatoes.stops_below": "95 %", "draw.beans.stops_below": "95 %"}
"""A what-if that helps the house and starves the beds."""


def with_variants(demo: ScenarioFile, **variants: dict[str, object]) -> ScenarioFile:
    """The demo with other what-ifs; underscores stand for blanks."""
    named = {name.replace("_", " "): change for name, change in variants.items()}
    return replace(demo, raw=demo.raw | {"variant": named})


def set_up(demo: ScenarioFile, name: str, change: dict[str, object]) -> SetUp:
    return SetUp(name, demo.vary(list(change.items())))


@pytest.fixture(scope="module")
def starved(demo: ScenarioFile, demo_record: Record) -> Comparison:
    """The demo beside itself with starved beds, and beside one that makes nothing worse."""
    ups = [
        SetUp("present", demo),
        set_up(demo, STARVE, STARVED | {"backup.hauler.starts_below": "30 %"}),
        set_up(demo, "a bit less", {"draw.house.per_person": "21 gal/day"}),
    ]
    return compare(ups, lambda scenario: demo_record)


@pytest.fixture(scope="module")
def offers(demo: ScenarioFile, demo_record: Record) -> Purchases:
    """The same two as offers, both with a price."""
    made = with_variants(
        demo,
        spare_the_tanks=STARVED | {"backup.hauler.starts_below": "30 %"},
        a_bit_less={"draw.house.per_person": "21 gal/day"},
    )
    site = Site.of(demo.scenario, demo_record)
    return next_purchases(made, site, {STARVE: 100.0, "a bit less": 2000.0})


def named(found: Purchases, name: str) -> Bought:
    return next(each for each in found.bought if each.offer.name == name)


# ------------------------------------------------------------------------------------------- words


def test_what_is_worse_and_what_is_better_is_told_with_both_numbers() -> None:
    then = Days(dry=7, unserved=0, stressed=568, held_back=880)
    assert drawbacks(NOW, then) == ["beds short of water on 568 days (now 303)"]
    assert gains(NOW, then) == ["draws held back on 880 days (now 900)"]
    assert worse_for(NOW, then) == "beds"
    assert drawbacks(NOW, Days(7, 1, 304, 1200)) == [
        "1 day without backup either (now none)",
        "beds short of water on 304 days (now 303)",
        "draws held back on 1,200 days (now 900)",
    ]
    assert drawbacks(NOW, NOW) == gains(NOW, NOW) == []


@pytest.mark.parametrize(
    ("said", "joined"), [([], ""), (["a"], "a"), (["a", "b"], "a and b"), (["a", "b", "c"], "a, b and c")]
)
def test_several_are_joined(said: list[str], joined: str) -> None:
    assert listed(said) == joined


# ----------------------------------------------------------------------------------------- compare


def test_compare_does_not_praise_what_starves_the_beds(starved: Comparison) -> None:
    present, starving, less = starved.compared
    assert starving.days.dry < less.days.dry < present.days.dry
    assert starving.days.stressed > present.days.stressed
    said = finding(starved)
    assert f"with \u201c{STARVE}\u201d it would have had" in said
    assert f"beds short of water on {starving.days.stressed:,} days (now {present.days.stressed:,})" in said
    assert f"on {starving.days.held_back:,} days (now {present.days.held_back:,})" in said
    assert said.endswith(f"; with \u201ca bit less\u201d, {less.days.dry} dry days and nothing worse.")
    assert title(storage_overlay(starved, "us")) == said
    told = compare_data(starved, "us")
    assert told["finding"] == said
    assert told["set_ups"][1]["drawbacks"] == drawbacks(present.days, starving.days)
    assert told["set_ups"][2]["drawbacks"] == []


def test_of_equally_few_dry_days_the_one_that_harms_least_is_named(
    starved: Comparison, demo: ScenarioFile, demo_record: Record
) -> None:
    sooner = {"backup.hauler.starts_below": "30 %"}
    ups = [
        SetUp("present", demo),
        set_up(demo, STARVE, STARVED | sooner),
        set_up(demo, "call sooner", sooner),
    ]
    made = compare(ups, lambda scenario: demo_record)
    assert made.compared[1].days.dry == made.compared[2].days.dry == 0
    assert "with \u201ccall sooner\u201d it would have had none." in finding(made)


def test_without_dry_days_the_beds_decide(demo: ScenarioFile, demo_record: Record) -> None:
    calm = demo.vary([("backup.hauler.starts_below", "30 %")])
    ups = [SetUp("present", calm), set_up(calm, "more roof", {"roof.barn.area": "4000 ft2"})]
    made = compare(ups, lambda scenario: demo_record)
    present, roof = made.compared
    assert present.days.dry == roof.days.dry == 0
    assert roof.days.stressed < present.days.stressed
    assert finding(made).startswith(
        "Larkfield had no dry days in 4 years; \u201cmore roof\u201d leaves"
        f" beds short of water on {words.count(roof.days.stressed, 'day')} (now {present.days.stressed:,})"
    )


def test_backup_is_told_a_year_and_in_all(starved: Comparison) -> None:
    told = compare_data(starved, "us")["set_ups"][0]
    years = 1461 / 365.25
    for name in ("backup_L", "loads", "cost"):
        assert told[f"{name}_per_year"] == pytest.approx(told[name] / years)
    head = compare_table(starved, "us").split("\n")[0]
    for name in ("beds short", "held back", "backup a year", "loads a year", "cost a year", "cost in all"):
        assert name in head


# -------------------------------------------------------------------------------------------- next


def test_next_does_not_recommend_what_starves_the_beds_without_saying_so(offers: Purchases) -> None:
    starving, less, now = named(offers, STARVE), named(offers, "a bit less"), offers.present
    assert offers.bought[0] is starving
    assert starving.days.stressed > now.days.stressed
    said = pareto.finding(offers)
    assert f"\u201c{STARVE}\u201d buys most for its price and leaves" in said
    assert f"beds short of water on {starving.days.stressed:,} days (now {now.days.stressed:,})" in said
    assert offers.worse(less) == []
    assert "makes nothing worse" in said
    figure = pareto.pareto_chart(offers, "us")
    assert title(figure) == said
    names = [text.get_text() for text in figure.axes[0].texts]
    assert f"{STARVE}*" in names
    assert "a bit less" in names
    assert "worse for beds, or more days held back or unserved" in legend(figure)
    told = next_data(offers, "us")
    assert told["finding"] == said
    each = next(offer for offer in told["offers"] if offer["name"] == STARVE)
    assert each["drawbacks"] == offers.worse(starving) != []
    assert each["held_back_days"] == starving.days.held_back > now.days.held_back
    lines = table(offers, "us").split("\n")
    assert "worse for" in lines[0]
    assert "beds, held back" in next(line for line in lines if line.startswith(STARVE) or STARVE in line)


def test_days_of_an_offer_are_those_of_its_single_run(offers: Purchases, starved: Comparison) -> None:
    assert offers.present.days == starved.compared[0].days
    assert named(offers, STARVE).days == starved.compared[1].days
    assert named(offers, "a bit less").days == starved.compared[2].days


def test_a_well_is_not_hauling(demo: ScenarioFile, demo_site: Site, demo_record: Record) -> None:
    well = {"name": "well", "kind": "direct", "per_day": "20 gal/day"}
    backed = replace(demo, raw=demo.raw | {"variant": {}}).vary([("backup+", well)])
    found = next_purchases(backed, demo_site, {})
    years = 1461 / 365.25
    for each in (found.present, *found.bought):
        file = each.offer.file
        (single,) = compare([SetUp("x", file)], lambda scenario: demo_record).compared
        by_name = single.ledger.data["supplied"].sum("time").to_series().to_dict()
        assert each.hauled_L * years == pytest.approx(by_name["hauler"])
        assert each.other_L * years == pytest.approx(by_name["well"])
        assert each.loads * years == pytest.approx(single.scores.loads)
        assert each.cost * years == pytest.approx(single.scores.cost)
    assert found.present.other_L > 0
    head = table(found, "us").split("\n")[0]
    assert "hauler water saved a year" in head
    assert "well water saved a year" in head
    assert "cost saved a year" in head
    now = found.present
    assert f"it costs {now.cost:,.0f} a year, {now.cost * years:,.0f} in 4 years." in remarks(found, "us")[0]


def test_a_name_is_clear_of_the_line_of_best_buys(demo: ScenarioFile, demo_site: Site) -> None:
    """Names at the height of the line stand above or below it, not under it."""
    found = next_purchases(demo, demo_site, {"save water": 300.0, "no first flush": 900.0})
    figure = pareto.pareto_chart(found, "us")
    figure.canvas.draw()
    axes = figure.axes[0]
    (line,) = [each for each in axes.lines if each.get_drawstyle() == "steps-post"]
    x, y = line.get_xydata().T
    corners = np.column_stack([np.repeat(x, 2)[1:], np.repeat(y, 2)[:-1]])
    dense = np.concatenate([np.linspace(a, b, 400) for a, b in itertools.pairwise(corners)])
    pixels = axes.transData.transform(dense)
    names = [text for text in axes.texts if text.get_gid() == "point"]
    assert len(names) == len([each for each in found.bought if each.offer.cost is not None])
    for text in names:
        box = text.get_window_extent()
        inside = (
            (pixels[:, 0] > box.x0)
            & (pixels[:, 0] < box.x1)
            & (pixels[:, 1] > box.y0)
            & (pixels[:, 1] < box.y1)
        )
        assert not inside.any(), text.get_text()


# ------------------------------------------------------------------------------------------ levels


def test_levels_stand_for_what_the_daily_loop_acts_on(demo: ScenarioFile, demo_record: Record) -> None:
    base = demo.vary(
        [
            ("draw.tomatoes.stops_below", "30 %"),
            ("draw.beans.stops_below", "1500 gal"),
            ("backup.hauler.fills_to", "60 %"),
        ]
    )
    cut = covering(base.scenario, demo_record)
    holding = build(base.scenario, cut.days, weather(base.scenario, cut))
    tables = holding.phases[0].tables
    found = {(each.key, each.owner): each.volume for each in standing(base.scenario)}
    assert sorted(v for (key, _), v in found.items() if key == "stops_below") == pytest.approx(
        sorted(row[0] for row in tables.cut_below)
    )
    assert found["starts_below", "hauler"] == pytest.approx(tables.refill_below[0][0])
    assert found["fills_to", "hauler"] == pytest.approx(tables.refill_to[0][0])


def test_a_share_that_moves_with_the_tanks_is_told_with_its_cure(demo: ScenarioFile, demo_site: Site) -> None:
    stop = {"draw.tomatoes.stops_below": "30 %", "draw.beans.stops_below": "30 %"}
    base = demo.vary(list(stop.items()))
    bigger = base.vary([("tank.upper.capacity", "10000 gal")])
    (said,) = moving(base.scenario, [("bigger tank", bigger.scenario)], "us")
    assert said.startswith(
        'a level given as a share moves with the tanks: stops_below = "30 %" of tomatoes means'
    )
    assert "with \u201cbigger tank\u201d" in said
    assert "stops_below of beans" in said
    assert 'to compare tanks, give it in gallons, such as stops_below = "' in said
    assert "in litres" in moving(base.scenario, [("bigger tank", bigger.scenario)], "metric")[0]
    assert (
        moving(base.scenario, [("more roof", base.vary([("roof.barn.area", "3000 ft2")]).scenario)], "us")
        == []
    )
    found = next_purchases(base, demo_site, {})
    assert len(next_data(found, "us")["notes"]) == 1


def test_a_level_in_gallons_stays_where_it_is(demo: ScenarioFile) -> None:
    volumes = {"draw.tomatoes.stops_below": "1500 gal", "draw.beans.stops_below": "1500 gal"}
    base = demo.vary([*volumes.items(), ("backup.hauler.starts_below", "600 gal")])
    bigger = base.vary([("tank.upper.capacity", "10000 gal")])
    assert moving(base.scenario, [("bigger tank", bigger.scenario)], "us") == []


def test_a_taller_linked_tank_holds_no_more_and_the_cure_is_named(demo: ScenarioFile) -> None:
    tall = demo.vary([("tank.upper-", "diameter"), ("tank.upper.overflow", "90 in")])
    said = wider_instead(tall, ("tank.upper.overflow", "200 in"))
    assert said == (
        "linked tanks spill at the lowest overflow, that of 'lower'. Vary tank.upper.capacity instead: a wider tank"
        " holds more below it."
    )
    assert wider_instead(demo, ("roof.barn.area", "2000 ft2")) == ""
