"""The what-ifs of a plan, held against a run of each and against the command that compares them."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

from holdwater import words
from holdwater.plan import buying, whatifs
from holdwater.plan.section import Matter
from holdwater.scenario import load
from holdwater.scores import score
from holdwater.simulation import simulate
from holdwater.studies.compare import SetUp, compare
from holdwater.studies.droughts import dry_droughts, worst
from holdwater.weather import read_weather
from tests.plan.conftest import Plan, made
from tests.plan.holdings import BARE, EVERYTHING
from tests.plan.told import heads, plain, rows

WHAT_IFS = """
cost = 700
[variant."smaller house roof"]
"roof.house.area" = "400 ft2"
[variant.drier]
"weather.change" = "rain x 0.7"
[variant."less use"]
"draw.house.per_person" = "20 gal/day"
[variant."more use"]
"draw.house.per_person" = "30 gal/day"
[variant.broken]
"tank.nosuch.capacity" = "1 gal"
[variant."other days"]
"run.from" = 2018-01-01
"""


@pytest.fixture(scope="module")
def compared(tmp_path_factory: pytest.TempPathFactory) -> Plan:
    """What-ifs of every sort: priced, worse, in other weather, faulty, on other days."""
    return made(tmp_path_factory.mktemp("compared"), EVERYTHING + WHAT_IFS.lstrip("\n"), [])


def test_what_ifs_say_what_a_run_of_each_says(compared: Plan) -> None:
    matter, section = compared.matter, compared.sections["what-ifs"]
    found, head = rows(section, "numbers-table"), heads(section)
    names = ["bigger roof", "smaller house roof", "drier", "less use", "more use"]
    assert [row[0] for row in found] == ["present", *names]
    years = matter.ledger.days.size / 365.25
    folder = matter.file.path.parent
    for row, name in zip(found, [None, *names], strict=True):
        scenario = load(matter.file.path, variant=name).scenario
        record = read_weather(scenario.weather, folder, place=scenario.place)
        scores = score(simulate(scenario, record))
        driest = max(scores.years, key=lambda year: year.dry_days)
        longest = scores.longest_dry_spell
        assert longest is not None
        told = dict(zip(head, row, strict=True))
        assert told["dry days"] == f"{scores.dry_days.total:,}"
        assert told["longest spell"] == f"{longest.days} days"
        assert told["worst year"] == f"{driest.year}: {driest.dry_days}"
        assert told["given by the tanks"] == f"{100 * (scores.reliability_volume or 0):.1f} %"
        assert told["held back"] == f"{scores.held_back.total:,}"
        assert float(told["backup a year"].removesuffix(" gal").replace(",", "")) == pytest.approx(
            scores.totals_L["backup"] / 3.785411784 / years, abs=0.51
        )
        assert float(told["its cost a year"].replace(",", "")) == pytest.approx(scores.cost / years, abs=0.51)
        assert scores.unserved_days == scores.dry_days.total  # so that the column would say nothing new
    assert "unserved" not in head
    assert [row[-1] for row in found] == ["-", "700", *4 * ["not given"]]


def test_the_table_of_what_ifs_is_that_of_the_command(compared: Plan) -> None:
    matter = compared.matter
    file = load(matter.file.path, variant="less use")
    both = [SetUp("present", matter.file), SetUp("less use", file)]
    command = compare(both, lambda scenario: matter.record)
    found = {row[0]: row for row in rows(compared.sections["what-ifs"], "numbers-table")}
    for each in command.compared:
        assert found[each.name][1] == f"{each.scores.dry_days.total:,}"


def test_what_ifs_that_cannot_stand_beside_the_present_are_told(compared: Plan) -> None:
    said = plain(compared.sections["what-ifs"])
    assert "Left out: broken: tank.nosuch.capacity: there is no tank 'nosuch'" in said
    assert "other days: it changes the days of the run, so its numbers stand beside no other." in said


def test_the_what_ifs_with_the_fewest_dry_days_are_drawn_through_the_worst_drought(compared: Plan) -> None:
    (chart,) = compared.sections["what-ifs"].charts
    drawn = set(re.findall(r"<text[^>]*>([^<]*)</text>", chart.svg))
    _, *others = rows(compared.sections["what-ifs"], "numbers-table")
    fewest = sorted(others, key=lambda row: int(row[1].replace(",", "")))
    assert {"present", *(row[0] for row in fewest[:4])} <= drawn
    assert fewest[4][0] not in drawn
    (drought,) = worst(dry_droughts(compared.matter.ledger, compared.matter.scores), 1)
    said = plain(compared.sections["what-ifs"])
    assert (
        f"Drawn: the worst drought of the present set-up, {words.briefly(drought.first)}"
        f" to {words.briefly(drought.last)};" in said
    )
    assert "the 4 with the fewest dry days are drawn" in said


def test_the_plan_of_a_what_if_stands_beside_the_file_as_it_is(compared: Plan) -> None:
    matter = compared.matter
    file = load(matter.file.path, variant="bigger roof")
    ledger = simulate(file.scenario, matter.record)
    mine = Matter(file, ledger, score(ledger), matter.asked, matter.record)
    section = whatifs.what_ifs(mine)
    assert section is not None
    found = rows(section, "numbers-table")
    before = {row[0]: row for row in rows(compared.sections["what-ifs"], "numbers-table")}
    assert found[0] == ["bigger roof (this plan)", *before["bigger roof"][1:]]
    assert found[1] == ["the file as it is", *before["present"][1:]]
    assert [row[0] for row in found[2:]] == ["smaller house roof", "drier", "less use", "more use"]
    assert "bigger roof:" not in plain(buying.next_purchase(mine))


def test_a_short_run_is_drawn_whole(tmp_path: Path) -> None:
    text = EVERYTHING.replace("start_full = 0.5", "start_full = 0.5\nfrom = 2019-01-01")
    said = plain(made(tmp_path, text, []).sections["what-ifs"])
    assert "Drawn:" not in said
    assert "in 2 years" in said


def test_what_ifs_are_told_where_no_tank_ever_ran_dry(tmp_path: Path) -> None:
    text = BARE.replace('per_day = "20 L/day"', 'per_day = "2 L/day"').replace(
        "from = 2018-01-01\nto = 2018-12-31", ""
    )
    plan = made(tmp_path, text + '[variant.less]\n"draw.house.per_day" = "1 L/day"\n', [])
    said = plain(plan.sections["what-ifs"])
    assert plan.matter.scores.dry_days.total == 0
    assert plan.sections["what-ifs"].answer == "No dry days now; no what-if leaves fewer."
    assert "Drawn: the longest rainless spell, " in said
    assert "the present set-up never ran dry" in said


def test_what_ifs_none_of_which_holds_together_are_told_alone(tmp_path: Path) -> None:
    plan = made(tmp_path, BARE + '[variant.broken]\n"tank.nosuch.capacity" = "1 gal"\n', [])
    section = plan.sections["what-ifs"]
    assert section.charts == ()
    assert section.answer == "None of the what-ifs could be run."
    assert plain(section).startswith("Left out: broken: tank.nosuch.capacity: there is no tank 'nosuch'")
