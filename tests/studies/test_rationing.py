"""A draw that holds itself back makes no dry day: size and sweep say on how many days it does. Invented weather."""

from __future__ import annotations

import csv
import json
from pathlib import Path

import numpy as np
import pytest

from holdwater.charts.curve import of_sweep
from holdwater.charts.swept import finding
from holdwater.cli.size_told import around, levels_moved, sentence, title
from holdwater.cli.sweep_told import levels_moved as levels_moved_by
from holdwater.cli.sweep_told import table
from holdwater.report.verdict import held_back
from holdwater.scenario import ScenarioFile
from holdwater.scores import score
from holdwater.simulation import simulate
from holdwater.studies.batch import Site
from holdwater.studies.dials import Grid, dial
from holdwater.studies.drawbacks import Days
from holdwater.studies.size import Size, Target, size
from holdwater.studies.sweep import Sweep, rationed, sweep
from holdwater.weather.record import Record
from tests.studies.test_study_commands import holdwater

STOPPED = ("draw.house.stops_below", "25 %")


def swept(base: ScenarioFile, site: Site, *asked: str) -> Sweep:
    return sweep(base, site, Grid(tuple(dial(each) for each in asked)))


# ---------------------------------------------------------------------------------------------- size


@pytest.fixture
def sized(demo: ScenarioFile, demo_site: Site) -> Size:
    """The house stops at a quarter: every tank gets through without a dry day, and no one has water."""
    return size(demo.vary([STOPPED]), demo_site, "tank.upper.capacity=4000 gal,7500 gal,20000 gal", Target())


def test_size_tells_who_is_held_back_as_run_does(sized: Size, demo_record: Record) -> None:
    small = sized.base.vary([("tank.upper.capacity", "4000 gal")]).scenario
    ledger = simulate(small, demo_record)
    then, now = score(ledger), score(simulate(sized.base.scenario, demo_record))
    said = sentence(sized, "us")
    assert then.dry_days.total == 0
    assert said.startswith(
        "With upper tank capacity 4,000 gal or more, Larkfield gets through all 4 years with no dry day. Held"
    )
    assert sized.held_back.keys() == {name for name, days in then.held_back.by_draw.items() if days}
    for name, days in then.held_back.by_draw.items():
        assert sized.held_back.get(name, (0, 0))[0] == days
        if days:
            assert f"{name} on {days:,} days (now {now.held_back.by_draw[name]:,})" in said
            assert f"{name} on {days:,} days" in held_back(then), "run says the same"
    thirsty = int((ledger.flux("stressed") > 0).any(axis=0).sum())
    assert f" Beds are short of water then on {thirsty:,} days (now " in said


def test_the_chart_of_a_size_says_what_is_worse(sized: Size) -> None:
    then, now = sized.tried.outcome.days(0), sized.present.days(0)
    assert then.held_back > now.held_back > 0
    assert f"draws held back on {then.held_back:,} days (now {now.held_back:,})." in title(sized, "us")
    assert "with no dry day, but beds short of water on " in title(sized, "us")


def test_a_size_that_makes_nothing_worse_has_a_plain_title(demo: ScenarioFile, demo_site: Site) -> None:
    found = size(demo.vary([STOPPED]), demo_site, "tank.upper.capacity=9000 gal,20000 gal", Target())
    assert title(found, "us").endswith("gets through all 4 years with no dry day.")
    assert "Held back by their own rules then" in sentence(found, "us")


def test_the_values_beside_it_have_their_days_held_back(sized: Size) -> None:
    head, *rows = around(sized, "us").splitlines()
    assert "dry days   worst year   held back   beds short   water met" in head
    for row, days in zip(rows, sized.tried.outcome.held_back_days, strict=True):
        assert f" {int(days):,} " in row


def test_size_says_which_levels_the_value_moves(sized: Size, demo: ScenarioFile, demo_site: Site) -> None:
    (said,) = levels_moved(sized, "us")
    assert said.startswith(
        'a level given as a share moves with the tanks: stops_below = "25 %" of house means'
    )
    assert "with “upper tank capacity 4,000 gal”" in said
    roof = size(demo, demo_site, "roof.barn.area=2000 ft2,3000 ft2", Target(400))
    assert levels_moved(roof, "us") == []


def test_the_files_of_a_size_have_the_days_held_back(tmp_path: Path) -> None:
    words = ("--vary", "tank.upper.capacity=4000 gal,9000 gal", "--set", "draw.house.stops_below=25 %")
    said = holdwater("size", *words, out=tmp_path)
    told = json.loads((tmp_path / "size.json").read_text())
    assert told["finding"] in said
    assert told["answer"]["held_back_days"] > told["present_held_back_days"] > 0
    assert told["held_back_days_by_draw"]["house"] > 0
    assert told["notes"][0].startswith("a level given as a share moves with the tanks")
    assert f"Note: {told['notes'][0]}." in said
    with (tmp_path / "size.csv").open(newline="") as file:
        rows = list(csv.DictReader(file))
    assert int(rows[0]["held_back_days"]) == told["answer"]["held_back_days"]


# --------------------------------------------------------------------------------------------- sweep


def test_the_best_of_a_curve_is_told_with_what_it_costs(demo: ScenarioFile, demo_site: Site) -> None:
    found = swept(demo, demo_site, "draw.house.stops_below=1 %,25 %")
    now, then = found.present.days(0), found.outcome.days(1)
    assert (then.dry, then.held_back > now.held_back) == (0, True)
    said = finding(found, "us")
    assert "with house stops below 25 % it would have had none, but " in said
    assert f"draws held back on {then.held_back:,} days (now {now.held_back:,})." in said
    assert of_sweep(found, "us").title == said


def test_the_best_of_a_map_is_told_with_another_that_makes_nothing_worse(
    demo: ScenarioFile, demo_site: Site
) -> None:
    asked = ("tank.upper.capacity=7500 gal,9000 gal", "draw.house.stops_below=0 gal,25 %")
    found = swept(demo, demo_site, *asked)
    days = [found.outcome.days(i) for i in range(4)]
    now = found.present.days(0)
    assert [each.dry for each in days] == [now.dry, 0, days[2].dry, 0]
    assert 0 < days[2].dry < now.dry
    assert found.nothing_worse.tolist() == [True, False, True, days[3].held_back <= now.held_back]
    said = finding(found, "us")
    assert "; 2 of 4 combinations have none; of those " in said
    assert ", but draws held back on " in said
    assert said.endswith(
        f"; with upper tank capacity 9,000 gal, house stops below 0 gal, {days[2].dry} dry days and nothing worse."
    )


def test_of_equals_the_one_that_makes_nothing_worse_comes_first(demo: ScenarioFile, demo_site: Site) -> None:
    """Both designs have no dry day; the larger tank lets the house have its water."""
    dry = demo.vary([("draw.house.people", 1)])
    found = swept(dry, demo_site, "draw.house.stops_below=0 gal,25 %")
    assert [found.outcome.days(i).dry for i in (0, 1)] == [0, 0]
    assert found.best(2) == [0, 1]
    assert found.best(1, np.array([False, True])) == [1]


def test_the_tables_have_the_days_held_back_wherever_a_draw_has_a_rule(
    demo: ScenarioFile, demo_site: Site
) -> None:
    one = swept(demo, demo_site, "draw.house.people=2,3")
    assert rationed(demo.scenario, one.outcome)
    head, *rows = table(one, "us").splitlines()
    assert head.split("   ")[1:4] == ["dry days", "held back", "beds short"]
    for row, days in zip(rows, one.outcome.held_back_days, strict=True):
        assert f" {int(days):,} " in row
    two = swept(demo, demo_site, "draw.house.people=2,3", "roof.barn.area=1480 ft2,2000 ft2")
    said = table(two, "us")
    assert said.startswith(
        "Dry days / days on which draws were held back by their own rules, house people down"
    )
    for dry, held in zip(two.outcome.dry_days, two.outcome.held_back_days, strict=True):
        assert f"{int(dry):,} / {int(held):,}" in said


def test_without_rules_there_is_no_such_column(demo: ScenarioFile, demo_site: Site) -> None:
    bare = demo.vary([("draw-", "tomatoes"), ("draw-", "beans")])
    one = swept(bare, demo_site, "draw.house.people=2,3")
    assert not rationed(bare.scenario, one.outcome)
    assert "held back" not in table(one, "us")
    two = swept(bare, demo_site, "draw.house.people=2,3", "roof.barn.area=1480 ft2,2000 ft2")
    assert table(two, "us").startswith("Dry days, house people down, barn roof area across:")


def test_a_dial_that_brings_the_rule_brings_the_column(demo: ScenarioFile, demo_site: Site) -> None:
    bare = demo.vary([("draw-", "tomatoes"), ("draw-", "beans")])
    found = swept(bare, demo_site, "draw.house.stops_below=1 %,25 %")
    assert "held back" in table(found, "us")


def test_a_sweep_says_which_levels_its_dials_move(demo: ScenarioFile, demo_site: Site) -> None:
    (said,) = levels_moved_by(swept(demo, demo_site, "tank.upper.capacity=5000 gal,7500 gal,15000 gal"), "us")
    assert 'stops_below = "20 %" of tomatoes' in said
    assert "with “upper tank capacity 15,000 gal”" in said
    assert levels_moved_by(swept(demo, demo_site, "draw.tomatoes.stops_below=10 %,30 %"), "us") == []


def test_the_days_of_a_design_are_its_counts(
    demo: ScenarioFile, demo_record: Record, demo_site: Site
) -> None:
    found = swept(demo, demo_site, "draw.house.people=3,4")
    scores = score(simulate(demo.scenario, demo_record))
    there = found.outcome.days(0)
    assert there == found.present.days(0)
    assert there == Days(scores.dry_days.total, scores.unserved_days, there.stressed, scores.held_back.total)
