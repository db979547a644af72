"""Cost on the page: what the file prices, what it does not, what the user types, and that nothing is made up."""

from __future__ import annotations

import shlex
from pathlib import Path
from typing import Any

import pytest

from holdwater.page import cost
from holdwater.page.asked import Asked
from holdwater.page.desk import Desk
from holdwater.scenario import load
from holdwater.scores import score
from holdwater.simulation import simulate
from holdwater.studies.offers import offered
from holdwater.units import show
from holdwater.weather import read_weather
from tests.page.holding import ODD, write

YEARS = 1095 / 365.25
"""Years of the small holding's run: 2001 to 2003."""


def _priced(scenario: Path, *more: str, **keys: str) -> Desk:
    """The page of the small holding with prices put into its file."""
    text = scenario.read_text("utf-8")
    for name, lines in keys.items():
        text = text.replace(f'name = "{name}"\n', f'name = "{name}"\n{lines}\n')
    scenario.write_text(text + "".join(more), "utf-8")
    return Desk(scenario, compiles=False)


def _changes(desk: Desk, **asked: Any) -> list[tuple[str, str]]:
    told = desk.answer(Asked(**asked))["changes"]
    return [(each["text"], each["note"]) for each in told]


def _price(desk: Desk, **asked: Any) -> str:
    found = desk.answer(Asked(**asked))["numbers"]["price"]
    return f"{found['text']} {found['note']}".strip()


def test_a_larger_part_is_priced_in_proportion_to_its_own_cost(scenario: Path) -> None:
    desk = _priced(scenario, barn="cost = 1800", upper="cost = 3000")
    # 1,800 for 900 ft2 is 2 a square foot; 3,000 for 1,500 gal is 2 a gallon
    assert _changes(desk, values={"roof.barn.area": 1000.0, "tank.upper.capacity": 1750.0}) == [
        ("barn roof, area: 900 ft2 to 1,000 ft2", "200 (2 per ft2: its cost in the file, in proportion)"),
        (
            "upper tank, capacity: 1,500 gal to 1,750 gal",
            "500 (2 per gal: its cost in the file, in proportion)",
        ),
    ]
    assert _price(desk, values={"roof.barn.area": 1000.0, "tank.upper.capacity": 1750.0}) == "700"


def test_the_price_is_that_of_the_next_purchase(scenario: Path) -> None:
    _priced(scenario, barn="cost = 1800")
    offer = next(o for o in offered(load(scenario))[0] if o.name == "10 % more barn roof")
    assert (
        _price(Desk(scenario, compiles=False), values={"roof.barn.area": 990.0})
        == f"{offer.cost:,.0f}"
        == "180"
    )


def test_a_what_if_with_a_price_prices_the_dial_it_turns(scenario: Path) -> None:
    desk = _priced(scenario, "cost = 1000\n")  # of "more roof": 900 to 1,400 ft2
    assert _changes(desk, values={"roof.barn.area": 1100.0}) == [
        ("barn roof, area: 900 ft2 to 1,100 ft2", '400 (2 per ft2: the what-if "more roof", in proportion)')
    ]
    assert _changes(desk, variant="more roof", values={"roof.barn.area": 1500.0}) == [
        ('start from: the scenario itself to what-if "more roof"', "1,000 (its cost in the file)"),
        (
            "barn roof, area: 1,400 ft2 to 1,500 ft2",
            '200 (2 per ft2: the what-if "more roof", in proportion)',
        ),
    ]


def test_a_what_if_that_changes_more_prices_nothing(scenario: Path) -> None:
    desk = _priced(scenario, 'cost = 1000\n"draw.house.people" = 1\n')
    assert _changes(desk, values={"roof.barn.area": 1100.0})[0][1] == "price not given"


def test_what_has_no_price_is_said_to_have_none(scenario: Path) -> None:
    desk = _priced(scenario, barn="cost = 1800")
    nothing: dict[str, Any] = {"values": {}}
    assert _price(desk, **nothing) == "none"
    assert _price(desk, values={"draw.house.people": 1.0}) == "none"
    assert _price(desk, values={"tank.upper.capacity": 1750.0}) == "not given and 1 unpriced"
    both = {"tank.upper.capacity": 1750.0, "roof.barn.area": 1000.0}
    assert _price(desk, values=both) == "200 and 1 unpriced"
    assert "1 change without a price" in desk.answer(Asked(values=both))["counted"]
    assert _changes(desk, values={"roof.barn.first_flush.depth": 0.1})[0][1] == "price not given"
    assert _changes(desk, values={"draw.house.people": 1.0}) == [("house, people: 2 to 1", "nothing to buy")]
    assert _changes(desk, rule="YBS") == [("operating rule: YAS to YBS", "nothing to buy")]
    smaller = _changes(desk, values={"roof.barn.area": 500.0})
    assert smaller == [
        ("barn roof, area: 900 ft2 to 500 ft2", "smaller: nothing to buy, and no saving counted")
    ]


def test_a_price_that_is_typed_counts_before_the_files(scenario: Path) -> None:
    desk = _priced(scenario, barn="cost = 1800")
    asked: dict[str, Any] = {"values": {"roof.barn.area": 1000.0, "tank.upper.capacity": 1600.0}}
    prices = {"roof.barn.area": 3.0, "tank.upper.capacity": 1.25}
    assert _price(desk, prices=prices, **asked) == "425"
    assert _changes(desk, prices=prices, **asked)[1][1] == "125 (1.25 per gal: your price)"


def test_the_price_goes_into_the_variant_and_ranks_there(scenario: Path) -> None:
    desk = _priced(scenario, barn="cost = 1800")
    saved = desk.save(Asked(name="a bit more", values={"roof.barn.area": 1000.0}))
    assert saved["cost"] == 200.0
    assert scenario.read_text("utf-8").endswith(
        '[variant."a bit more"]\ncost = 200\n"roof.barn.area" = "1000 ft2"\n'
    )
    found = {offer.name: offer.cost for offer in offered(load(scenario))[0]}
    assert found["a bit more"] == 200.0
    unknown = desk.save(
        Asked(name="unknown", values={"roof.barn.area": 1000.0, "tank.upper.capacity": 1600.0})
    )
    assert unknown["cost"] is None
    assert "cost" not in scenario.read_text("utf-8").partition("[variant.unknown]")[2]


DESIGNS: list[dict[str, Any]] = [
    {},
    {"values": {"roof.barn.area": 400.0, "draw.house.people": 5.0}, "rule": "YBS"},
    {"values": {"tank.upper.capacity": 3000.0, "tank.lower.capacity": 700.0, "reserve.volume": 0.0}},
    {"values": {"roof.barn.runoff_coefficient": 55.0, "draw.house.per_person": 30.0, "run.start_full": 80.0}},
    {"variant": "more roof", "values": {"backup.hauler.load": 800.0, "draw.beds.area": 200.0}},
    {"values": {"draw.wash.per_day": 9.0}, "first": "2001-05-01", "last": "2002-09-30"},
]


@pytest.mark.parametrize("asked", DESIGNS, ids=str)
def test_the_page_says_what_the_command_that_it_shows_says(scenario: Path, asked: dict[str, Any]) -> None:
    answer = Desk(scenario, compiles=False).answer(Asked.model_validate(asked))
    words = shlex.split(answer["command"])
    assert words[:3] == ["holdwater", "run", "holding.toml"]
    given = list(zip(words[3::2], words[4::2], strict=True))
    sets = [value for option, value in given if option == "--set"]
    variant = next((value for option, value in given if option == "--variant"), None)
    whole = load(scenario, sets=sets, variant=variant).scenario
    run = whole.run
    record = read_weather(whole.weather, scenario.parent, first=run.from_, last=run.to, place=whole.place)
    ledger = simulate(whole, record)
    scores = score(ledger)
    numbers = answer["numbers"]
    longest = scores.longest_dry_spell
    assert numbers["dry_days"]["value"] == scores.dry_days.total
    assert numbers["per_year"]["value"] == pytest.approx(scores.dry_days.per_year, rel=1e-12)
    assert numbers["longest"]["value"] == (longest.days if longest else 0)
    assert numbers["unserved"]["value"] == scores.unserved_days
    assert numbers["water"]["value"] == pytest.approx(scores.cost / (ledger.days.size / 365.25), rel=1e-12)
    assert numbers["lowest"]["value"] == pytest.approx(
        ledger.flux("drawable").sum(axis=0)[1:].min(), abs=1e-6
    )
    supplied = ledger.total("supplied")
    loads = f", {scores.loads} load{'s' if scores.loads != 1 else ''}" if scores.loads else ""
    assert numbers["backup"]["text"] == show(supplied, "volume", "us") + loads
    assert [list(row) for row in answer["years"]] == [[y.year, y.days, y.dry_days] for y in scores.years]


def test_the_water_bought_is_that_of_a_mean_year(scenario: Path) -> None:
    desk = Desk(scenario, compiles=False)
    answer = desk.answer(Asked())
    trial = desk._as_it_is(Asked())
    assert answer["numbers"]["water"]["value"] == pytest.approx(trial.cost / YEARS)
    assert f"Water bought: {trial.cost:,.0f} for {trial.loads} loads in 3 years" in answer["counted"]
    assert "not counted" in answer["counted"]


def test_water_without_a_price_is_said_so(tmp_path: Path) -> None:
    path = write(tmp_path)
    text = path.read_text("utf-8")
    without = text.replace("cost_per_load = 90\n", "").replace('cost_per_volume = "20 per 1000 gal"\n', "")
    path.write_text(without, "utf-8")
    answer = Desk(path, compiles=False).answer(Asked())
    assert answer["numbers"]["water"]["text"] == "not given"
    assert "The water of hauler, well has no price in the file." in answer["counted"]
    path.write_text(text.replace("cost_per_load = 90\n", ""), "utf-8")
    assert Desk(path, compiles=False).answer(Asked())["numbers"]["water"]["note"] == "and some unpriced"
    path.write_text(text.split("[[backup]]")[0], "utf-8")
    assert Desk(path, compiles=False).answer(Asked())["numbers"]["water"]["text"] == "no backup"


def test_changes_that_save_water_say_when_they_are_paid_for(scenario: Path) -> None:
    text = scenario.read_text("utf-8").replace('area = "900 ft2"', 'area = "200 ft2"')
    scenario.write_text(text, "utf-8")
    desk = _priced(scenario, barn="cost = 2000")
    before = cost.a_year(desk._as_it_is(Asked()))
    asked = Asked(values={"roof.barn.area": 700.0})
    saved = before - desk.answer(asked)["numbers"]["water"]["value"]
    assert saved > 30.0, "the larger roof saves water, else this says nothing"
    told = (
        f"They save {saved:,.0f} of bought water a year, which pays for them in {round(5000 / saved)} years."
    )
    assert told in desk.answer(asked)["counted"]
    nothing = desk.answer(Asked(values={"roof.barn.area": 100.0}))["counted"]
    assert "save" not in nothing


def test_the_odd_holding_is_served_as_well(tmp_path: Path) -> None:
    write(tmp_path)
    path = tmp_path / "odd.toml"
    path.write_text(ODD, "utf-8")
    desk = Desk(path, compiles=False)
    opened = desk.opening(Asked())
    assert opened["title"] == "Odd holding (invented)"
    for dial in opened["dials"]:
        desk.answer(Asked(values={dial["path"]: dial["high"]}))
