"""The next purchase: what it buys back against the present, and what it costs."""

from __future__ import annotations

import math
from dataclasses import replace
from pathlib import Path

import pytest

from holdwater.errors import InputError
from holdwater.scenario import ScenarioFile, check, load
from holdwater.scores import score
from holdwater.simulation import simulate
from holdwater.studies.batch import Site
from holdwater.studies.offers import cost_of, offered
from holdwater.studies.purchase import Bought, Purchases, next_purchases
from holdwater.weather.record import Record
from tests.studies.conftest import DEMO, YEARS

GAL = 3.785411784


@pytest.fixture(scope="module")
def found(demo: ScenarioFile, demo_record: Record) -> Purchases:
    """All offers of the demo."""
    return next_purchases(demo, Site.of(demo.scenario, demo_record), {})


def named(found: Purchases, name: str) -> Bought:
    return next(each for each in found.bought if each.offer.name == name)


def test_the_variants_and_one_more_unit_are_offered(found: Purchases) -> None:
    assert {each.offer.name for each in found.bought} == {
        "third tank",
        "bigger barn roof",
        "save water",
        "call the hauler sooner",
        "one more tank like upper",
        "10 % more barn roof",
        "10 % more house roof",
        "10 % less per person (house)",
        "no first flush",
    }
    assert found.left_out == []


@pytest.mark.parametrize("name", ["third tank", "save water", "call the hauler sooner"])
def test_what_a_variant_buys_is_the_difference_of_two_single_runs(
    name: str, found: Purchases, demo: ScenarioFile, demo_record: Record
) -> None:
    now, then = (
        score(simulate(file.scenario, demo_record)) for file in (demo, load(DEMO, YEARS, variant=name))
    )
    each, years = named(found, name), 1461 / 365.25
    assert each.dry_days == then.dry_days.total
    assert each.back == pytest.approx((now.dry_days.total - then.dry_days.total) / years)
    assert each.unserved_back == pytest.approx((now.unserved_days - then.unserved_days) / years)
    assert each.saved_L == pytest.approx((now.totals_L["backup"] - then.totals_L["backup"]) / years)
    assert each.saved == pytest.approx((now.cost - then.cost) / years)
    assert found.present.dry_days == now.dry_days.total


def test_one_more_unit_is_what_it_says(demo: ScenarioFile) -> None:
    offers, left_out = offered(demo)
    made = {offer.name: offer.file.scenario for offer in offers}
    assert left_out == []
    tank = made["one more tank like upper"].tank
    assert [each.name for each in tank] == ["upper", "lower", "upper 2"]
    assert tank[2].model_copy(update={"name": "upper"}) == tank[0]
    assert made["one more tank like upper"].link[0].tanks == ["upper", "lower", "upper 2"]
    assert made["10 % more barn roof"].roof[0].area == pytest.approx(1.1 * demo.scenario.roof[0].area)
    assert made["10 % less per person (house)"].draw[0].per_person == pytest.approx(0.9 * 25 * GAL)  # type: ignore[union-attr]
    assert all(roof.first_flush is None for roof in made["no first flush"].roof)


def test_a_tank_that_stands_alone_is_joined_with_the_new_one(demo: ScenarioFile) -> None:
    alone = replace(demo, raw=demo.raw | {"link": []}).vary([])
    offers, _ = offered(alone)
    new = next(offer for offer in offers if offer.name == "one more tank like upper").file.scenario
    assert new.link[0].tanks == ["upper", "upper 2"]


def test_drip_is_offered_for_what_is_sprinkled(demo: ScenarioFile) -> None:
    sprinkled = demo.vary([("draw.beans.method", "sprinkler"), ("draw.tomatoes.efficiency", 0.8)])
    offers, _ = offered(sprinkled)
    (drip,) = [offer for offer in offers if offer.name.startswith("drip")]
    assert drip.name == "drip lines for beans"
    assert drip.file.scenario.draw[3].method == "drip"  # type: ignore[union-attr]


def test_a_household_by_fixtures_uses_a_tenth_less_of_each(demo: ScenarioFile) -> None:
    fixtures = {"toilet": 0.0, "shower": 0.6}
    house = demo.vary([("draw.house-", "per_person"), ("draw.house.fixtures", fixtures)])
    offers, _ = offered(house)
    less = next(offer for offer in offers if "per person" in offer.name).file.scenario.draw[0]
    assert less.fixtures == pytest.approx({"toilet": 0.0, "shower": 0.54})  # type: ignore[union-attr]


# ------------------------------------------------------------------------------------------- costs


def test_prices_come_from_the_file_and_none_is_made_up(found: Purchases) -> None:
    assert named(found, "third tank").offer.cost == 4900
    assert named(found, "bigger barn roof").offer.cost == 5400
    for each in found.bought:
        if each.offer.name not in ("third tank", "bigger barn roof"):
            assert each.offer.cost is None
            assert each.back_per_thousand is None
            assert each.pays_back_in is None


def test_a_price_given_goes_before_that_of_the_file(demo: ScenarioFile, demo_site: Site) -> None:
    priced = next_purchases(demo, demo_site, {"third tank": 100.0, "save water": 0.0})
    tank, saving = named(priced, "third tank"), named(priced, "save water")
    assert tank.back_per_thousand == pytest.approx(tank.back / 0.1)
    assert tank.pays_back_in == pytest.approx(100.0 / tank.saved)
    assert tank.offer.priced_by == "--cost"
    assert saving.back_per_thousand == math.inf
    assert priced.bought[0] is saving, "what is free and helps comes first"


def test_a_price_for_nothing_on_offer_is_refused(demo: ScenarioFile, demo_site: Site) -> None:
    with pytest.raises(InputError, match="there is no offer 'thrid tank'; did you mean 'third tank'"):
        next_purchases(demo, demo_site, {"thrid tank": 100.0})


def test_costs_of_parts_add_up(demo: ScenarioFile) -> None:
    base = demo.vary([("roof.barn.cost", 3000), ("tank.upper.cost", 2000)])

    def cost(*changes: tuple[str, object]) -> float | None:
        return cost_of(base.scenario, base.vary(changes).scenario)

    new = {"name": "new", "capacity": "1000 gal", "diameter": "70 in"}
    assert cost(("roof.barn.area", "2000 ft2"), ("roof.barn.cost", 4100)) == 1100
    assert (
        cost(("tank+", new | {"cost": 900}), ("roof.barn.cost", 3500), ("roof.barn.area", "1600 ft2")) == 1400
    )
    assert cost(("tank+", new)) is None, "a new tank without a price"
    assert cost(("roof.barn.area", "2000 ft2")) is None, "a larger roof at the old price"
    assert cost(("tank+", new), ("roof.barn.cost", 3500), ("roof.barn.area", "1600 ft2")) is None, (
        "one of two priced"
    )
    assert cost(("draw.house.people", 2)) is None
    assert cost(("roof.barn.area", "1000 ft2")) is None, "a smaller roof is no purchase"


def test_one_more_unit_is_priced_like_what_there_is(demo: ScenarioFile) -> None:
    base = demo.vary([("roof.barn.cost", 3000), ("tank.upper.cost", 2000)])
    prices = {offer.name: offer.cost for offer in offered(base)[0]}
    assert prices["one more tank like upper"] == 2000
    assert prices["10 % more barn roof"] == 300
    assert prices["10 % more house roof"] is None


def test_a_variant_may_carry_its_price(tmp_path: Path) -> None:
    path = tmp_path / "priced.toml"
    path.write_text(
        DEMO.read_text("utf-8")
        + '\n[variant."low-flow taps"]\n"draw.house.per_person" = "21 gal/day"\ncost = 240\n'
    )
    (tmp_path / "larkfield-weather.csv").write_bytes((DEMO.parent / "larkfield-weather.csv").read_bytes())
    file = check(path)
    offer = next(each for each in offered(file)[0] if each.name == "low-flow taps")
    assert (offer.cost, offer.priced_by) == (240.0, "the file")
    assert load(path, variant="low-flow taps").scenario.draw[0].per_person == pytest.approx(21 * GAL)  # type: ignore[union-attr]


@pytest.mark.parametrize("cost", ["-5", '"cheap"', "true", "inf"])
def test_a_price_of_a_variant_that_is_none_is_refused(cost: str, tmp_path: Path) -> None:
    path = tmp_path / "priced.toml"
    path.write_text(DEMO.read_text("utf-8") + f'\n[variant."taps"]\n"draw.house.people" = 2\ncost = {cost}\n')
    with pytest.raises(
        InputError, match=r"variant 'taps': cost = .*: a price is needed, such as cost = 2900"
    ):
        check(path)


# ----------------------------------------------------------------------------------------- ranking


def test_priced_offers_come_first_then_the_others_by_what_they_buy(found: Purchases) -> None:
    values = [each.back_per_thousand for each in found.bought]
    priced = [value for value in values if value is not None]
    assert values[: len(priced)] == priced == sorted(priced, reverse=True)
    rest = [each.back for each in found.bought[len(priced) :]]
    assert rest == sorted(rest, reverse=True)


def test_what_buys_nothing_back_comes_last(demo: ScenarioFile, demo_site: Site) -> None:
    variants = demo.raw["variant"] | {"smaller roof": {"roof.barn.area": "900 ft2"}}
    file = replace(demo, raw=demo.raw | {"variant": variants})
    last = next_purchases(file, demo_site, {"smaller roof": 10.0}).bought[-1]
    assert last.offer.name == "smaller roof"
    assert last.back < 0


def test_the_frontier_holds_what_no_cheaper_offer_equals(demo: ScenarioFile, demo_site: Site) -> None:
    prices = {"save water": 300.0, "10 % more barn roof": 500.0, "one more tank like upper": 9000.0}
    found = next_purchases(demo, demo_site, prices)
    line = found.frontier()
    assert line[0] is found.present
    costs, dry = [each.offer.cost or 0.0 for each in line], [each.dry_days for each in line]
    assert costs == sorted(costs)
    assert dry == sorted(dry, reverse=True)
    assert len(set(dry)) == len(dry)
    for each in found.bought:
        if each.offer.cost is not None and each not in line:
            assert any(b.dry_days <= each.dry_days and (b.offer.cost or 0.0) <= each.offer.cost for b in line)


def test_an_offer_that_cannot_be_run_is_left_out_and_told(demo: ScenarioFile, demo_site: Site) -> None:
    variants = {
        "tiny": {"tank.upper.outlet": "40 ft"},
        "other years": {"run.from": "2002-01-01"},
        "no bed": {"draw.beans.area": "0 ft2"},
    }
    file = replace(demo, raw=demo.raw | {"variant": variants})
    found = next_purchases(file, demo_site, {})
    told = {text.split(":")[0]: text for text in found.left_out}
    assert set(told) == {"tiny", "other years", "no bed"}
    assert "must be lower than the overflow lip" in told["tiny"]
    assert "it changes the weather or the days of the run" in told["other years"]
    assert "area must be above 0" in told["no bed"]
