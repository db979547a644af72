"""What-ifs: changes by name from the command line and from [variant], and what a wrong path says."""

from __future__ import annotations

import copy
import datetime as dt
import tomllib
from importlib.resources import files
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from holdwater import scenario
from holdwater.errors import InputError
from holdwater.scenario.file import check_raw
from holdwater.scenario.schema import Fixed, Household
from holdwater.scenario.variants import Change, changed, variant_changes

STARTER = files("holdwater.scenario").joinpath("starter.toml").read_text("utf-8")
RAW = tomllib.loads(STARTER)


def named(raw: dict[str, Any], section: str, name: str) -> dict[str, Any]:
    (found,) = (table for table in raw[section] if table["name"] == name)
    return found


# ----------------------------------------------------------------------------------------------- paths


@pytest.mark.parametrize(
    ("change", "section", "name", "key", "value"),
    [
        ("roof.barn.area=2200 ft2", "roof", "barn", "area", "2200 ft2"),
        ('roof."barn".area=2200 ft2', "roof", "barn", "area", "2200 ft2"),
        ("roof.'barn'.area = \"2200 ft2\"", "roof", "barn", "area", "2200 ft2"),
        ("draw.house.people=5", "draw", "house", "people", 5),
        ("draw.house.people = 2.5", "draw", "house", "people", 2.5),
        ("draw.animals.may_use_reserve=false", "draw", "animals", "may_use_reserve", False),
        ("roof.barn.feeds={upper = 1.0}", "roof", "barn", "feeds", {"upper": 1.0}),
        ("draw.house.from_tanks=['lower']", "draw", "house", "from_tanks", ["lower"]),
        (
            "roof.barn.collects={from='04-01', to='11-15'}",
            "roof",
            "barn",
            "collects",
            {"from": "04-01", "to": "11-15"},
        ),
    ],
)
def test_a_value_is_set_by_name(change: str, section: str, name: str, key: str, value: object) -> None:
    assert named(changed(RAW, [change]), section, name)[key] == value


@pytest.mark.parametrize(
    ("text", "value"),
    [
        ("1996-01-01", dt.date(1996, 1, 1)),
        ("05-10", "05-10"),
        ("1/2 in", "1/2 in"),
        ("20 %", "20 %"),
        ("0.2", 0.2),
        ("true", True),
        ("YBS", "YBS"),
        ("a = b", "a = b"),
        ("1\nx = 2", "1\nx = 2"),
        ("", ""),
        ("[1, 2]", [1, 2]),
    ],
)
def test_a_value_is_toml_where_it_parses_and_text_elsewhere(text: str, value: object) -> None:
    assert changed(RAW, [f"title={text}"])["title"] == value


def test_single_tables_and_the_top_of_the_file() -> None:
    new = changed(RAW, ["run.rule=YBS", "place.latitude=45", "title=Mine", "weather.file=other.csv"])
    assert new["run"]["rule"] == "YBS"
    assert new["place"]["latitude"] == 45
    assert new["title"] == "Mine"
    assert new["weather"]["file"] == "other.csv"


def test_a_table_that_is_not_there_yet_is_made() -> None:
    raw = {key: value for key, value in RAW.items() if key != "reserve"}
    assert changed(raw, ["reserve.volume=10 gal"])["reserve"] == {"volume": "10 gal"}
    new = changed(RAW, ["run.start_full={}", "run.start_full.upper=0.2"])
    assert new["run"]["start_full"] == {"upper": 0.2}


def test_names_with_spaces_and_dots() -> None:
    raw = copy.deepcopy(RAW)
    named(raw, "draw", "garden")["name"] = "kitchen garden"
    named(raw, "tank", "upper")["name"] = "No. 2"
    new = changed(
        raw,
        [
            "draw.kitchen garden.per_day=9 gal/day",
            'draw."kitchen garden".priority=7',
            "tank.No. 2.outlet=1 in",
        ],
    )
    garden = named(new, "draw", "kitchen garden")
    assert (garden["per_day"], garden["priority"]) == ("9 gal/day", 7)
    assert named(new, "tank", "No. 2")["outlet"] == "1 in"


def test_inner_tables_keep_what_is_not_named() -> None:
    new = changed(RAW, ["roof.barn.first_flush.volume=10 gal"])
    assert named(new, "roof", "barn")["first_flush"] == {"volume": "10 gal", "drains_in": "1 day"}


def test_a_link_goes_by_any_of_its_tanks() -> None:
    new = changed(RAW, ["link.lower.closed=[{from=2012-05-01, to=2012-05-02}]", "link.upper.tanks+=third"])
    assert new["link"][0]["tanks"] == ["upper", "lower", "third"]
    assert len(new["link"][0]["closed"]) == 1


def test_adding_and_taking_out() -> None:
    new = changed(
        RAW,
        [
            ("tank+", {"name": "third"}),
            ("tank+", [{"name": "fourth"}, {"name": "fifth"}]),
            ("tank-", ["third", "fourth"]),
            ("link-", "upper"),
            ("roof.barn-", "first_flush"),
            ("draw.house.from_tanks+", "upper"),
            ("draw.house.from_tanks+", ["lower"]),
            ("draw.house.from_tanks-", "upper"),
        ],
    )
    assert [tank["name"] for tank in new["tank"]] == ["upper", "lower", "fifth"]
    assert new["link"] == []
    assert "first_flush" not in named(new, "roof", "barn")
    assert named(new, "draw", "house")["from_tanks"] == ["lower"]


def test_several_keys_of_one_part_at_once() -> None:
    new = changed(RAW, [("roof.barn", {"area": "10 m2", "cost": 5})])
    barn = named(new, "roof", "barn")
    assert (barn["area"], barn["cost"], barn["surface"]) == ("10 m2", 5, "metal")


def test_the_original_stays_as_it_is() -> None:
    before = copy.deepcopy(RAW)
    changed(RAW, ["roof.barn.first_flush.volume=1 gal", "tank-=upper", "link.upper.tanks+=x"])
    assert before == RAW


@pytest.mark.parametrize(
    ("change", "fault"),
    [
        ("rof.barn.area=1", "rof.barn.area: there is no 'rof' to change; did you mean 'roof'?"),
        ("pump.x=1", "pump.x: there is no 'pump' to change; the parts are 'title',"),
        ("variant.x.y=1", "variant.x.y: there is no 'variant' to change"),
        ("roof.bran.area=1", "roof.bran.area: there is no roof 'bran'; did you mean 'barn'?"),
        ("roof.shed.area=1", "roof.shed.area: there is no roof 'shed'; the roofs are 'barn' and 'house'"),
        ("roof.area=1", "roof.area: there is no roof 'area'; the roofs are 'barn' and 'house'"),
        (
            "link.third.closed=[]",
            "there is no link with tank 'third'; the linked tanks are 'upper' and 'lower'",
        ),
        (
            "transfer.lift.per_day=1",
            "transfer.lift.per_day: there is no transfer 'lift'; there is no transfer here",
        ),
        (
            "roof=1",
            "roof: say which roof; the roofs are 'barn' and 'house': write roof.barn.area, or roof+ to add",
        ),
        (
            "transfer=1",
            "transfer: say which transfer; there is no transfer in the file; add one with transfer+",
        ),
        ("roof.barn=1", "roof.barn is a whole roof; name the key too, such as roof.barn.area"),
        ("run=YAS", "run is a whole table; name the key too, such as run.rule"),
        ("roof.barn.area.deep=1", 'roof.barn.area.deep: area = "1200 ft2" in the file is no table to change'),
        ("tank+=third", 'tank+ = "third": a new tank is a table, { name = ... }'),
        ("tank-=third", "tank-: there is no tank 'third'; the tanks are 'upper' and 'lower'"),
        ("roof.barn-=slope", 'roof.barn-: there is no "slope" in it; the keys are'),
        ("roof.barn.area+=1", 'roof.barn.area+: "+" adds an entry to a list, and this is none'),
        ("roof.barn.area-=1", 'roof.barn.area-: "-" takes an entry out of a list or a key out of a table'),
        ("run+=1", 'run+: "+" adds an entry to a list, and this is none'),
        ("roof.barn.area", '"roof.barn.area": write a path and a value, such as roof.barn.area=2200 ft2'),
        ("=3", '"=3": write a path and a value'),
        ("", '"": write a path and a value'),
        ("roof..area=3", '"roof..area": not a path such as roof.barn.area'),
        ('roof."barn.area=3', "write a path and a value"),
        ("roof.barn.=3", '"roof.barn.": the path ends with a dot'),
    ],
)
def test_a_path_that_leads_nowhere(change: str, fault: str) -> None:
    with pytest.raises(InputError) as caught:
        changed(RAW, [change])
    (told,) = caught.value.faults
    assert fault in told


def test_all_wrong_paths_at_once() -> None:
    with pytest.raises(InputError) as caught:
        changed(RAW, ["rof.x=1", "roof.bran.area=1", "roof.barn.area=3 m2"])
    assert len(caught.value.faults) == 2


PATHS = st.one_of(
    st.text(max_size=30),
    st.lists(
        st.sampled_from(
            ["roof", "barn", "tank", "upper", "link", "run", "draw", "area", "title", "weather", '"x y"', ""]
        ),
        max_size=5,
    ).map(".".join),
)
VALUES = st.one_of(
    st.none(),
    st.text(max_size=10),
    st.integers(),
    st.lists(st.text(max_size=5), max_size=2),
    st.dictionaries(st.text(max_size=5), st.integers()),
)


@settings(deadline=None)
@given(path=PATHS, ends=st.sampled_from(["", "+", "-"]), value=VALUES)
def test_any_path_is_followed_or_refused(path: str, ends: str, value: object) -> None:
    faults = ["none"]
    for change in ((path + ends, value), f"{path}{ends}={value}"):
        try:
            changed(RAW, [change])
        except InputError as error:
            faults = error.faults
    assert all(faults)


# ------------------------------------------------------------------------------------- loading with them


@pytest.fixture
def write(tmp_path: Path) -> Any:
    def written(more: str = "", **replaced: str) -> Path:
        text = STARTER
        for old, new in replaced.items():
            text = text.replace(old, new)
        path = tmp_path / "holding.toml"
        path.write_text(text + more, "utf-8")
        return path

    return written


def test_sets_are_checked_like_the_file(write: Any) -> None:
    file = scenario.load(write(), sets=["roof.barn.area=150 m2", ("draw.house.people", 4)])
    assert file.scenario.roof[0].area == 150
    assert isinstance(file.scenario.draw[0], Household)
    assert file.scenario.draw[0].people == 4
    with pytest.raises(InputError, match="roof 'barn': unknown key aera; did you mean area"):
        scenario.load(write(), sets=["roof.barn.aera=150 m2"])


def test_a_variant_is_applied_before_the_sets(write: Any) -> None:
    file = scenario.load(write(), variant="bigger barn roof")
    assert file.variant == "bigger barn roof"
    assert file.scenario.roof[0].area == pytest.approx(1800 * 0.09290304)
    file = scenario.load(write(), sets=["roof.barn.area=10 m2"], variant="bigger barn roof")
    assert file.scenario.roof[0].area == 10


def test_a_variant_adds_a_tank_and_links_it(write: Any) -> None:
    file = scenario.load(write(), variant="third tank")
    assert [tank.name for tank in file.scenario.tank] == ["upper", "lower", "third"]
    assert file.scenario.link[0].tanks == ["upper", "lower", "third"]


def test_an_unknown_variant(write: Any) -> None:
    with pytest.raises(InputError, match=r"^there is no variant 'third tnk'; did you mean 'third tank'\?$"):
        scenario.load(write(), variant="third tnk")
    with pytest.raises(
        InputError, match="there is no variant 'x'; the variants are 'bigger barn roof' and 'third tank'"
    ):
        scenario.load(write(), variant="x")


def test_faults_of_a_variant_begin_with_its_name(write: Any) -> None:
    path = write("""
[variant.broken]
"roof.barn.area" = 1480
"roof.bran.area" = "3 m2"
[variant.dry]
"tank.lower.outlet" = "20 ft"
""")
    with pytest.raises(InputError) as caught:
        scenario.check(path)
    assert caught.value.faults == [
        "variant 'broken': roof.bran.area: there is no roof 'bran'; did you mean 'barn'?",
        "variant 'dry': tank 'lower': outlet = 240 in must be lower than the overflow lip at 81.5 in",
    ]
    assert scenario.load(path).variant is None  # a faulty variant does not stop the scenario itself


def test_faults_of_the_file_are_not_told_again_for_each_variant(write: Any) -> None:
    path = write('[variant.more]\n"draw.house.people" = -1\n', **{'area = "900 ft2"': "area = 900"})
    with pytest.raises(InputError) as caught:
        scenario.check(path)
    assert caught.value.faults == [
        'roof \'house\': area = 900 has no unit; write "900 ft2" or "83.6 m2"',
        "variant 'more': draw 'house': people = -1: it must be at least 0",
    ]
    with pytest.raises(InputError) as caught:
        scenario.load(path, variant="more")
    assert [fault.startswith("variant 'more': ") for fault in caught.value.faults] == [False, True]


def test_warnings_of_a_variant_begin_with_its_name(write: Any) -> None:
    path = write("""
[variant.spare]
"tank+" = { name = "spare", capacity = "500 gal", diameter = "48 in" }
""")
    assert scenario.check(path).warnings == [
        "variant 'spare': nothing fills tank 'spare': no roof, overflow, transfer, link or backup leads to it"
    ]


def test_a_variant_that_is_no_table(write: Any) -> None:
    path = write()
    path.write_text(
        STARTER.replace('[variant."bigger barn roof"]\n"roof.barn.area" = ', "[variant]\nbigger = ")
    )
    with pytest.raises(InputError, match="variant 'bigger' = \"1800 ft2\": a table is needed"):
        scenario.check(path)


def test_paths_without_quotes_mean_the_same() -> None:
    """TOML takes roof.barn.area without quotes for a table in a table; the owner means the path."""
    plain = tomllib.loads("""
[variant.x]
roof.barn.area = "10 m2"
roof.barn.first_flush.volume = "1 gal"
draw.house.people = 3
run.rule = "YBS"
run.start_full = { upper = 0.1, lower = 0.2 }
""")
    assert variant_changes(plain, "x") == [
        ('roof."barn"."area"', "10 m2"),
        ('roof."barn".first_flush."volume"', "1 gal"),
        ('draw."house"."people"', 3),
        ("run", {"rule": "YBS", "start_full": {"upper": 0.1, "lower": 0.2}}),
    ]
    new = changed(RAW, variant_changes(plain, "x"))
    assert named(new, "roof", "barn")["first_flush"] == {"volume": "1 gal", "drains_in": "1 day"}
    assert new["run"] == {"rule": "YBS", "start_full": {"upper": 0.1, "lower": 0.2}}


def test_names_of_the_owner_are_replaced_not_mixed() -> None:
    plain = tomllib.loads(
        "[variant.x]\ndraw.animals.animals = { ewe = 3 }\nroof.barn.feeds = { lower = 1.0 }"
    )
    new = changed(RAW, variant_changes(plain, "x"))
    assert named(new, "draw", "animals")["animals"] == {"ewe": 3}
    assert named(new, "roof", "barn")["feeds"] == {"lower": 1.0}


def test_variant_names_of_a_file_without_any(write: Any) -> None:
    path = write()
    path.write_text(STARTER.split("[variant")[0])
    assert scenario.variant_names(scenario.load(path)) == []


def test_vary_starts_from_the_loaded_scenario(write: Any) -> None:
    file = scenario.load(write(), variant="third tank")
    changes: list[str | Change] = [("tank.third.capacity", "2000 gal"), "draw.garden.priority=9"]
    more = file.vary(changes)
    assert more.scenario.tank[2].capacity == pytest.approx(2000 * 3.785411784)
    assert isinstance(more.scenario.draw[2], Fixed)
    assert more.scenario.draw[2].priority == 9
    assert file.scenario.draw[2].priority == 3
    assert (more.path, more.variant) == (file.path, "third tank")
    with pytest.raises(InputError, match="tank 'third': capacity must be more than nothing"):
        file.vary(["tank.third.capacity=0 gal"])


# ------------------------------------------------------------------------------------------ the site table

SITE = {
    "soil": "sand",
    "storm": {"in_5_minutes": "4 in/h"},
    "overflow": [{"tank": "upper", "size": "3 in"}],
    "link": [{"tanks": ["upper", "lower"], "size": "2 in"}],
    "line": [{"name": "north house", "size": "1 in"}],
}


def site(*changes: str | Change) -> dict[str, Any]:
    """The site table after these changes."""
    table: dict[str, Any] = changed({**RAW, "site": SITE}, changes)["site"]
    return table


def test_the_site_table_is_changed_by_path() -> None:
    assert site("site.soil=gravel")["soil"] == "gravel"
    assert site("site.storm.in_5_minutes=5 in/h")["storm"] == {"in_5_minutes": "5 in/h"}
    assert site("site.pump.flow=8 gal/min")["pump"] == {"flow": "8 gal/min"}
    assert site("site.overflow.upper.size=4 in")["overflow"] == [{"tank": "upper", "size": "4 in"}]
    assert site("site.link.lower.size=3 in")["link"][0]["size"] == "3 in"
    assert site('site.line."north house".size=2 in')["line"] == [{"name": "north house", "size": "2 in"}]
    assert len(site('site.overflow+={tank="lower"}')["overflow"]) == 2
    assert site('site.stand+={tank="lower"}')["stand"] == [{"tank": "lower"}]
    assert site(("site.overflow-", "upper"))["overflow"] == []
    assert SITE["overflow"] == [{"tank": "upper", "size": "3 in"}], "the file's own words stay"


def test_a_variant_reaches_into_the_site_table_without_quotes() -> None:
    text = """
    [variant.wide]
    site.storm.in_5_minutes = "5 in/h"
    site.overflow.upper.size = "4 in"
    site."stand+" = { tank = "upper" }
    """
    raw = {**RAW, "site": SITE, "variant": tomllib.loads(text)["variant"]}
    new = changed(raw, variant_changes(raw, "wide"))["site"]
    assert new["storm"] == {"in_5_minutes": "5 in/h"}
    assert new["overflow"] == [{"tank": "upper", "size": "4 in"}]
    assert new["stand"] == [{"tank": "upper"}]
    assert new["soil"] == "sand"


@pytest.mark.parametrize(
    ("change", "said"),
    [
        ("site.overflow.uper.size=3 in", "there is no site.overflow 'uper'; did you mean 'upper'?"),
        (
            "site.overflow=3 in",
            "say which site.overflow; .* write site.overflow.upper.size, or site.overflow",
        ),
        (
            "site.overflow.upper=3",
            "is a whole site.overflow; name the key too, such as site.overflow.upper.size",
        ),
        ("site.link.third.size=3 in", "there is no site.link with tank 'third'"),
        ("site=3", "site is a whole table; name the key too, such as site.soil"),
    ],
)
def test_a_wrong_path_into_the_site_table_says_what_there_is(change: str, said: str) -> None:
    with pytest.raises(InputError, match=said):
        site(change)


def test_a_site_table_that_is_none_is_told() -> None:
    with pytest.raises(InputError, match="site = 3 in the file is no table to change anything in"):
        changed({**RAW, "site": 3}, ["site.soil=sand"])
    for wrong, said in ((3, "site = 3: a table is needed"), ([{}], "site stands once in the file")):
        with pytest.raises(InputError, match=said):
            check_raw({**RAW, "site": wrong})


def test_the_site_table_is_handed_on_as_written() -> None:
    assert check_raw({**RAW, "site": SITE})[0].site == SITE
    assert check_raw({key: value for key, value in RAW.items() if key != "site"})[0].site == {}
