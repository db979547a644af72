"""The scenario file: what a sound one becomes, and what every fault says."""

from __future__ import annotations

import datetime as dt
import tomllib

import pytest

from holdwater.errors import InputError
from holdwater.scenario import Scenario
from holdwater.scenario.file import check_raw
from holdwater.scenario.quantities import MonthDayValue
from holdwater.scenario.schema import Fixed, Household, Livestock, Refill
from holdwater.scenario.variants import changed
from holdwater.units import Level

GALLON = 3.785411784
SOUND = """
title = "Invented holding"

[weather]
file = "weather.csv"

[run]
from = 1996-01-01
to = 2025-12-31

[[roof]]
name = "barn"
area = "1480 ft2"
surface = "metal"
first_flush = { volume = "45 gal", drains_in = "36 h" }
collects = { from = "04-15", to = "10-31" }
feeds = { upper = 0.6, lower = "40 %" }

[[tank]]
name = "upper"
capacity = "3000 gal"
diameter = "102 in"
base = "-6 in"
outlet = "3 in"

[[tank]]
name = "lower"
diameter = "102 in"
overflow = "7 ft"
base = "-1 ft"
overflow_to = "pond"

[[tank]]
name = "pond"
levels = [
  { level = "0 in", volume = "0 gal" }, { level = "2 ft", volume = "1000 gal" }, { level = "4 ft", volume = "4000 gal" }
]

[[link]]
tanks = ["upper", "lower"]
closed = [ { from = 2012-05-01, to = 2012-05-20 }, { from = 2014-05-01, to = 2014-05-02 } ]

[[transfer]]
name = "lift"
from_tank = "pond"
to_tank = "upper"
starts_below = "30 %"
per_day = "200 gal/day"

[[draw]]
name = "house"
kind = "household"
people = 3
per_person = "38 gal/day"
away = [ { from = 2012-05-01, to = 2012-05-20 } ]

[[draw]]
name = "flock"
kind = "livestock"
animals = { "hen, laying" = 20, "doe, dry" = 2 }
may_use_reserve = true

[[draw]]
name = "kitchen garden"
kind = "fixed"
per_day = "40 gal/day"
season = { from = "May 10", to = "30 Sep" }
stops_below = "200 gal"
from_tanks = ["lower"]

[reserve]
volume = "400 gal"
in_tanks = ["upper"]

[[backup]]
name = "hauler"
kind = "refill"
into = "lower"
starts_below = "10 %"
load = "2000 gal"
cost_per_load = 180
lead_days = 3

[[backup]]
name = "well"
kind = "direct"
serves = ["house"]
per_day = "100 gal/day"
cost_per_volume = "2 per 1000 gal"
"""
RAW = tomllib.loads(SOUND)


def faults(*changes: str) -> list[str]:
    """Faults of the sound scenario after these changes."""
    try:
        check_raw(changed(RAW, changes))
    except InputError as error:
        return error.faults
    return []


def warnings(*changes: str) -> list[str]:
    return check_raw(changed(RAW, changes))[1]


@pytest.fixture(scope="module")
def sound() -> Scenario:
    scenario, told = check_raw(RAW)
    assert told == []
    return scenario


def test_quantities_come_in_inside_units(sound: Scenario) -> None:
    (barn,) = sound.roof
    assert barn.area == pytest.approx(1480 * 0.09290304)  # m2
    assert barn.first_flush is not None
    assert barn.first_flush.volume == pytest.approx(45 * GALLON)  # L
    assert barn.first_flush.drains_in == 1.5  # days
    assert barn.feeds == {"upper": 0.6, "lower": pytest.approx(0.4)}
    upper = sound.tank[0]
    assert (upper.diameter, upper.base, upper.outlet) == pytest.approx((2590.8, -152.4, 76.2))  # mm
    assert sound.draw[0].name == "house"


def test_days_and_levels_come_in_types_of_their_own(sound: Scenario) -> None:
    assert sound.run.from_ == dt.date(1996, 1, 1)
    garden = sound.draw[2]
    assert garden.season is not None
    assert (garden.season.from_, garden.season.to) == (MonthDayValue(5, 10), MonthDayValue(9, 30))
    assert garden.stops_below == Level(volume=pytest.approx(200 * GALLON))
    assert sound.transfer[0].starts_below == Level(share=pytest.approx(0.3))


def test_kinds_become_classes(sound: Scenario) -> None:
    assert [type(draw) for draw in sound.draw] == [Household, Livestock, Fixed]
    hauler = sound.backup[0]
    assert isinstance(hauler, Refill)
    assert hauler.lead_days == 3


def test_what_is_left_out_has_a_default(sound: Scenario) -> None:
    assert sound.show_units == "us"
    assert sound.run.rule == "YAS"
    assert sound.run.start_full == 0.5
    assert sound.draw[0].from_tanks is None
    assert sound.tank[0].overflow_to == "ground"


def test_the_29th_of_february_is_a_day_of_the_year() -> None:
    day = MonthDayValue(2, 29)
    assert str(day) == "02-29"
    assert day.in_year(2024) == dt.date(2024, 2, 29)
    assert day.in_year(2025) == dt.date(2025, 3, 1)


@pytest.mark.parametrize(
    ("change", "fault"),
    [
        # keys and values
        ("tank.upper.capacty=3000 gal", "tank 'upper': unknown key capacty; did you mean capacity?"),
        (
            "roof.barn.slope=30",
            "roof 'barn': unknown key slope; the keys here are name, area, surface, runoff_coefficient,",
        ),
        (
            "roof.barn.first_flush.volum=1 gal",
            "roof 'barn': first_flush: unknown key volum; did you mean volume?",
        ),
        ("roof.barn.area=1480", 'roof \'barn\': area = 1480 has no unit; write "1480 ft2" or "137 m2"'),
        (
            "tank.upper.capacity=3000 ft",
            'tank \'upper\': capacity = "3000 ft": a length, but a volume is needed, such as "3000 gal"',
        ),
        ("roof.barn.area=-3 m2", "roof 'barn': area = \"-3 m2\": an area cannot be negative"),
        (
            "roof.barn.first_flush.volume=45",
            'roof \'barn\': first_flush, volume = 45 has no unit; write "45 gal" or "170 L"',
        ),
        ("run.rule=YAZ", 'run: rule = "YAZ": it is one of "YAS" or "YBS"; did you mean "YAS"?'),
        ("show_units=imperial", 'show_units = "imperial": it is one of "us" or "metric"'),
        ("title=5", 'title = 5: text in quotes is needed, such as "5"'),
        ('title=""', 'title = "": it is empty'),
        (
            "draw.house.people='3'",
            "draw 'house': people = \"3\": a number is needed; write people = 3, without",
        ),
        ("draw.house.people=true", "draw 'house': people = true: a number is needed"),
        ("draw.house.people=-1", "draw 'house': people = -1: it must be at least 0"),
        ("draw.house.people=nan", "draw 'house': people = nan: a finite number is needed"),
        ("draw.house.priority=1.5", "draw 'house': priority = 1.5: a whole number is needed"),
        ("draw.house.may_use_reserve='yes'", 'may_use_reserve = "yes": write true, without quotes'),
        (
            "draw.house.from_tanks=upper",
            "draw 'house': from_tanks = \"upper\": a list is needed, in square brackets: from_tanks = [",
        ),
        (
            "roof.barn.first_flush=45 gal",
            "roof 'barn': first_flush = \"45 gal\": a table is needed, in curly braces: first_flush = { volume =",
        ),
        (
            "draw.house.monthly_factor=[1, 1]",
            "draw 'house': monthly_factor: twelve values are needed, January to December, and here are 2",
        ),
        (
            "draw.house.monthly_factor=[1, 1, 1, 1, -1, 1, 1, 1, 1, 1, 1, 1]",
            "draw 'house': monthly_factor, May = -1: it must be at least 0",
        ),
        ("backup.hauler.lead_days=99", "backup 'hauler': lead_days = 99: it must be at most 60"),
        ("place={latitude = 95, longitude = 0}", "place: latitude = 95: it must be at most 90"),
        ("place={latitude = 5}", "place: longitude is missing; write longitude = -109.2"),
        ("roof.barn.area-=", 'roof.barn.area-: "-" takes an entry out of a list or a key out of a table'),
        ("roof.barn-=area", "roof 'barn': area is missing; write area = \"1480 ft2\""),
        ("draw.house-=kind", 'draw \'house\': kind is missing; write kind = "household" or "livestock"'),
        (
            "draw.house.kind=houshold",
            "draw 'house': kind = \"houshold\" is not known; did you mean 'household'?",
        ),
        (
            "draw.flock.people=3",
            'draw \'flock\': people belongs to kind "household", and this is kind "livestock"',
        ),
        ("tank.upper.name=" + "x" * 70, "longer than 60 characters"),
        (
            "draw+={kind = 'garden', name = 'bed', area = '3 m2', crop = 'tomato', soil = 'loam', stages = [1, 2, 3]}",
            "draw 'bed': stages, fourth entry is missing",
        ),
        (
            "draw+={kind = 'garden', name = 'bed', area = '3 m2', crop = 'tomat', soil = 'loam', stages = 'long'}",
            "draw 'bed': stages = \"long\": a list is needed, in square brackets",
        ),
        (
            "draw+={kind = 'garden', name = 'bed', area = '3 m2', crop = 'tomat', soil = 'loamy sands'}",
            "draw 'bed': crop: there is no crop 'tomat'; did you mean 'tomato'?",
        ),
        (
            "draw+={kind = 'garden', name = 'bed', area = '3 m2', crop = 'tomato', soil = 'mud'}",
            "draw 'bed': soil: there is no soil 'mud'; the soils are 'sand', 'loamy sand',",
        ),
        (
            "draw.house.guests=[{from = '12-20', to = 2012-01-02, people = 2}]",
            "guests: from 12-20 to 2012-01-02: give",
        ),
        ("roof.barn.first_flush.to=house", "roof 'barn': first_flush, to: draw 'house' is no garden"),
        (
            "roof.barn.first_flush.to=hose",
            "roof 'barn': first_flush, to: there is no draw 'hose'; did you mean",
        ),
        ("snow={all_snow_at = '4 degC'}", "snow: all_snow_at must be colder than all_rain_at"),
        (
            "draw+={kind = 'garden', name = 'bed', area = '3 m2', crop = 'pea', soil = 'loam', stages = [1,2,3,4,5]}",
            "draw 'bed': stages: at most 4 are needed, and here are 5",
        ),
        (
            "snow={all_snow_at = -1}",
            'snow: all_snow_at = -1: not a temperature; write it with its unit, "-1 degC"',
        ),
        (
            "draw.flock.also=[{from = '03-01', to = '06-01', animals = {lamb = 3}}]",
            "draw 'flock': also, animals: there is no animal 'lamb'",
        ),
        (
            "draw.flock.also=[{from = 2012-06-01, to = 2012-03-01, animals = {ewe = 3}}]",
            "draw 'flock': also: from 2012-06-01 is after to 2012-03-01; swap them",
        ),
        # days
        ("roof.barn.collects.from=02-30", "roof 'barn': collects, from = \"02-30\": February has no day 30"),
        ("roof.barn.collects.from=13-01", 'there is no month 13; write month and day, "05-10" for 10 May'),
        ("roof.barn.collects.from=soon", '"soon": not a day of the year; write month and day'),
        ("roof.barn.collects.from=7", "collects, from = 7: not a day of the year"),
        ("roof.barn.collects.from=2012-05-01", "2012-05-01 carries a year, but this holds every year"),
        ("run.from=2012-02-30", 'run: from = "2012-02-30": there is no such day in the calendar'),
        ("run.from=1996", "run: from = 1996: not a date; write year-month-day, such as 1996-01-31"),
        ("run.from=2026-01-01", "run: from 2026-01-01 is after to 2025-12-31; swap them"),
        (
            "link.upper.closed=[{from=2012-05-09, to=2012-05-01}]",
            "link of 'upper' and 'lower': closed: from 2012-05-09 is after to 2012-05-01; swap them",
        ),
        (
            "link.upper.closed=[{from=2012-05-09, to=2012-05-11}, {from=2012-05-01, to=2012-05-02}]",
            "closed: 2012-05-01 stands after 2012-05-09; put the periods in order",
        ),
        (
            "draw.house.away=[{from=2012-05-01, to=2012-05-11}, {from=2012-05-11, to=2012-05-12}]",
            "draw 'house': away: the period from 2012-05-11 overlaps the one that ends 2012-05-11",
        ),
        (
            "link.upper.closed=[{from=2012-05-09}]",
            "closed, first entry: to is missing; write to = 2012-05-20",
        ),
        # names that lead nowhere
        ("roof.barn.feeds=uper", "roof 'barn': feeds: there is no tank 'uper'; did you mean 'upper'?"),
        ("roof.barn.feeds=cellar", "there is no tank 'cellar'; the tanks are 'upper', 'lower' and 'pond'"),
        (
            "roof.barn.surface=metl",
            "surface: there is no surface 'metl'; did you mean 'metal'? (or write runoff_coefficient instead)",
        ),
        (
            "tank.pond.overflow_to=Lower",
            "tank 'pond': overflow_to: there is no tank 'Lower'; did you mean 'lower'?",
        ),
        ("link.upper.tanks=['upper', 'lowr']", "link of 'upper' and 'lowr': tanks: there is no tank 'lowr'"),
        (
            "link.upper.tanks=['upper', 'upper']",
            "link of 'upper' and 'upper': tanks names 'upper' more than once",
        ),
        (
            "link.upper.tanks=['upper']",
            "link of 'upper': tanks: at least 2 are needed, and here is 1; write tanks =",
        ),
        ("transfer.lift.to_tank=uper", "transfer 'lift': to_tank: there is no tank 'uper'"),
        (
            "draw.house.from_tanks=['pnd']",
            "draw 'house': from_tanks: there is no tank 'pnd'; did you mean 'pond'?",
        ),
        ("draw.house.from_tanks=[]", "draw 'house': from_tanks is empty; name the tanks it takes from"),
        (
            "draw.flock.animals={'doe dry' = 2}",
            "draw 'flock': animals: there is no animal 'doe dry'; did you mean 'doe, dry'? (or give",
        ),
        (
            "draw.flock.animals={dragon = 2}",
            "no animal 'dragon'; `holdwater tables animals` lists them, or give",
        ),
        ("draw.flock.animals={}", "draw 'flock': animals is empty"),
        ("reserve.in_tanks=['cellar']", "reserve: in_tanks: there is no tank 'cellar'"),
        ("reserve.in_tanks=[]", "reserve: in_tanks is empty"),
        ("backup.hauler.into=uppr", "backup 'hauler': into: there is no tank 'uppr'; did you mean 'upper'?"),
        (
            "backup.well.serves=['hose']",
            "backup 'well': serves: there is no draw 'hose'; did you mean 'house'?",
        ),
        ("backup.well.serves=[]", "backup 'well': serves is empty"),
        ("run.start_full={uper = 0.5}", "run: start_full: there is no tank 'uper'; did you mean 'upper'?"),
        ("run.start_full={upper = 2}", "run: start_full, upper = 2 is more than the whole"),
        # roofs
        (
            "roof.barn-=surface",
            "roof 'barn': surface is missing; write surface = \"metal\", or runoff_coefficient",
        ),
        (
            "roof.barn.runoff_coefficient=0.9",
            "surface and runoff_coefficient say the same thing; drop one of them",
        ),
        (
            "roof.barn.feeds={upper = 0.6, lower = 0.3}",
            "feeds: upper 60 %, lower 30 %, together 90 %; make it 100 %",
        ),
        ("roof.barn.feeds={}", "roof 'barn': feeds: no tank, together 0 %; make it 100 %"),
        (
            "roof.barn.first_flush.depth=1 mm",
            "roof 'barn': first_flush needs a volume or a depth, one of the two",
        ),
        ("roof.barn.first_flush={}", "roof 'barn': first_flush needs a volume or a depth, one of the two"),
        ("roof.barn.first_flush.drains_in=0 h", "first_flush, drains_in must be more than nothing"),
        # tanks
        (
            "tank.upper-=diameter",
            "tank 'upper': only capacity is given; give two of capacity, diameter and overflow",
        ),
        ("tank.upper-=['diameter', 'capacity']", "tank 'upper': nothing says how big it is; give two of"),
        ("tank.upper.capacity=0 gal", "tank 'upper': capacity must be more than nothing"),
        (
            "tank.upper.overflow=50 in",
            "capacity = 3,000 gal, but diameter and overflow make 1,769 gal; drop one of the three",
        ),
        (
            "tank.upper.outlet=8 ft",
            "tank 'upper': outlet = 96 in must be lower than the overflow lip at 84.8 in",
        ),
        ("tank.pond.capacity=4000 gal", "tank 'pond': levels already says how big it is; drop capacity"),
        ("tank.pond.levels=[]", "tank 'pond': levels needs at least two entries, the floor and the lip"),
        (
            "tank.pond.levels=[{level='1 in', volume='0 gal'}, {level='2 in', volume='9 gal'}]",
            'tank \'pond\': levels must start at the floor: { level = "0 in", volume = "0 gal" }',
        ),
        (
            "tank.pond.levels=[{level=0, volume=0}, {level='9 in', volume='9 gal'}, {level='9 in', volume='10 gal'}]",
            "tank 'pond': levels: each level must be higher than the one before",
        ),
        (
            "tank.pond.levels=[{level=0, volume=0}, {level='9 in', volume='9 gal'}, {level='10 in', volume='8 gal'}]",
            "tank 'pond': levels: a higher level cannot hold less",
        ),
        (
            "tank.pond.levels=[{level=0, volume=0}, {level='9 in', volume='0 gal'}]",
            "tank 'pond': levels: the tank holds nothing; the last volume must be more than 0",
        ),
        ("tank.pond.overflow=5 ft", "tank 'pond': overflow must be within levels"),
        ("tank.lower.overflow_to=lower", "tank 'lower': overflow_to names the tank itself"),
        (
            "tank.lower.overflow_to=upper",
            "overflow_to = 'upper' makes no sense: the two are linked and fill together",
        ),
        ("tank.upper.name=ground", "tank 'ground': this name is taken"),
        ("tank.upper.name=lower", "2 tanks are named 'lower'; every tank needs a name of its own"),
        ("draw.flock.name=house", "2 draws are named 'house'; every draw needs a name of its own"),
        (
            "link+={tanks = ['lower', 'pond']}",
            "link of 'lower' and 'pond': tank 'lower' is in another link already",
        ),
        (
            "tank.pond.overflow_to=upper",
            "lower -> pond -> upper (tanks joined by a link count as one); let one of them go to",
        ),
        # pumps, draws, reserve, backup
        (
            "transfer.lift.to_tank=pond",
            "transfer 'lift': from_tank and to_tank are both 'pond'; it needs two",
        ),
        (
            "transfer.lift.from_tank=lower",
            "transfer 'lift': 'lower' and 'upper' are linked and share one water surface",
        ),
        ("transfer.lift.per_day=0", "transfer 'lift': per_day must be more than nothing"),
        (
            "transfer.lift.starts_below=30",
            "transfer 'lift': starts_below = 30 has no unit; write it as a share",
        ),
        (
            "draw.kitchen garden-=per_day",
            "draw 'kitchen garden': a fixed draw needs per_day or monthly, one of the",
        ),
        ("draw.house-=per_person", "draw 'house': a household needs per_person or fixtures, one of the two"),
        (
            "reserve.volume=3000 gal",
            "reserve: volume = 3,000 gal is not below the 2,894 gal that 'upper' can give when full",
        ),
        (
            "backup.hauler-=load",
            'backup \'hauler\': say how much it brings: fills_to = "80 %", or load = "2000 gal"',
        ),
        ("backup.hauler-=load", "backup 'hauler': cost_per_load needs the size of a load"),
        ("backup.hauler.load=0 gal", "backup 'hauler': load must be more than nothing"),
        ("backup.hauler.fills_to=5 %", "backup 'hauler': fills_to must be higher than starts_below"),
        (
            "backup-={x = 1}",
            "backup-: there is no backup '{'x': 1}'; the backups are 'hauler' and 'well'",
        ),
        ("backup.well.cost_per_volume=2", 'cost_per_volume = 2 has no unit; write "12 per 1000 gal" or'),
    ],
)
def test_fault(change: str, fault: str) -> None:
    assert any(fault in each for each in faults(change)), faults(change)


def test_the_sound_scenario_has_no_fault() -> None:
    assert faults() == []


def test_loop_of_overflows_is_named() -> None:
    loop = faults("link-=upper", "tank.upper.overflow_to=lower", "tank.lower.overflow_to=upper")
    assert loop == ['the overflows run in a loop: upper -> lower -> upper; let one of them go to "ground"']


def test_a_loop_beside_a_chain_is_told_once() -> None:
    told = faults(
        "link-=upper",
        "tank.upper.overflow_to=lower",
        "tank.pond.overflow_to=lower",
    )
    assert told == ['the overflows run in a loop: lower -> pond -> lower; let one of them go to "ground"']


def test_a_cascade_is_no_loop() -> None:
    assert faults("link-=upper", "tank.upper.overflow_to=lower") == []


def test_all_faults_at_once() -> None:
    """A fault in one part hides none in another, nor a misspelt name in the same part."""
    told = faults(
        "roof.barn.area=1480",
        "roof.barn.feeds=uper",
        "tank.upper.capacty=1 gal",
        "draw.house.people=-1",
        "backup.hauler.into=lowr",
        "run.rule=yes",
        "link.upper.closed=[{from=2012-05-09, to=2012-05-01}]",
    )
    assert len(told) == 7


def text_faults(text: str) -> list[str]:
    with pytest.raises(InputError) as caught:
        check_raw(tomllib.loads(text))
    return caught.value.faults


def test_what_every_scenario_needs() -> None:
    assert text_faults("show_units = 'us'") == [
        'title is missing; write title = "Our holding"',
        'weather is missing; add [weather] with file = "weather.csv"',
        "there is no roof; add a [[roof]] with name, area, surface and feeds",
        "there is no tank; add a [[tank]] with name, capacity and diameter",
        "there is no draw; add a [[draw]] with name and kind",
    ]


def test_parts_without_a_name_are_counted_in_words() -> None:
    told = text_faults("[[roof]]\nname = 'barn'\n[[roof]]\narea = '3 m2'\n[[link]]\nclosed = []")
    assert 'the second roof (no name): name is missing; write name = "barn"' in told
    assert 'the second roof (no name): feeds is missing; write feeds = "upper"' in told
    assert 'the first link: tanks is missing; write tanks = ["upper", "lower"]' in told


@pytest.mark.parametrize(
    ("text", "fault"),
    [
        ("[roof]\nname = 'barn'", "roof: there may be several, so write [[roof]], not [roof]"),
        ("[[weather]]\nfile = 'a'", "weather stands once in the file: write [weather], not [[weather]]"),
        ("roof = 3", "roof = 3: a table is needed; write its keys under [[roof]]"),
        ("roof = [3]", "the first roof (no name) = 3: a table is needed; write its keys under [[roof]]"),
        ("run = 'YAS'", 'run = "YAS": a table is needed; write its keys under [run]'),
        ("[[tanks]]\nname = 'x'", "unknown key tanks; did you mean tank?"),
        ("elephant = 1", "unknown key elephant; the keys here are title, show_units, variant, place,"),
        ("'odd key' = 1", 'unknown key "odd key"'),
        ("[variant]\nx = 3", "variant 'x' = 3: a table is needed, in curly braces"),
        (
            'title = "a\\u0001b"\n[[tank]]\nname = "a\\u0001b"',
            'name = "a?b": it holds a character that cannot',
        ),
        ("[[tank]]\nname = ''", 'the first tank (no name): name = "": it is empty'),
    ],
)
def test_fault_in_the_shape_of_the_file(text: str, fault: str) -> None:
    assert any(fault in each for each in text_faults(text)), text_faults(text)


@pytest.mark.parametrize(
    ("changes", "warning"),
    [
        (
            ["tank+={name = 'spare', capacity = '500 gal', diameter = '48 in'}"],
            "nothing fills tank 'spare': no roof, overflow, transfer, link or backup leads to it",
        ),
        (
            ["roof.barn.wetting_loss=0.5 mm"],
            "roof 'barn' has both surface and wetting_loss: handbook coefficients",
        ),
        (
            ["roof.barn-=surface", "roof.barn.runoff_coefficient=0.9", "roof.barn.wetting_loss=0.5 mm"],
            "roof 'barn' has both runoff_coefficient and wetting_loss",
        ),
        (["roof.barn.area=0 ft2"], "roof 'barn' has no area and catches nothing"),
        (
            ["run.start_full={upper = 0.2}"],
            "start_full does not name 'lower' and 'pond': half full is assumed",
        ),
        (
            ["backup.hauler.load=9000 gal"],
            "backup 'hauler': a load of 9,000 gal is more than tank 'lower' and the tanks linked with it hold"
            " (5,971 gal)",
        ),
        (
            ["backup.hauler.load=9000 gal", "backup.hauler.into=pond"],
            "backup 'hauler': a load of 9,000 gal is more than tank 'pond' holds (4,000 gal)",
        ),
        (
            [
                "tank+={name = 'spare', capacity = '500 gal', diameter = '48 in'}",
                "draw.flock.from_tanks=['spare']",
            ],
            "draw 'flock' takes only from 'spare', which nothing fills: nothing will serve it for long",
        ),
        (
            [
                "tank+={name = 'spare', capacity = '500 gal', diameter = '48 in'}",
                "draw.house.from_tanks=['spare']",
            ],
            "draw 'house' takes only from 'spare', which nothing fills: only backup will serve it",
        ),
    ],
)
def test_warning(changes: list[str], warning: str) -> None:
    assert any(warning in each for each in warnings(*changes)), warnings(*changes)


def test_water_finds_its_way_without_a_warning() -> None:
    """Through overflow, transfer and link: the pond gets what the lower tank spills, and is fed by no roof."""
    assert warnings() == []
    only_pond = warnings("roof.barn.feeds=pond", "backup-=hauler")
    assert only_pond == []


def test_place_and_elevation_may_be_left_out() -> None:
    assert warnings("place={latitude = 40, longitude = -100}") == []


def test_levels_of_a_refill_are_compared_where_they_can_be() -> None:
    lower = ["backup.hauler.fills_to=90 gal", "backup.hauler.starts_below=100 gal"]
    assert faults(*lower) == ["backup 'hauler': fills_to must be higher than starts_below"]
    assert faults("backup.hauler.fills_to=90 gal") == []  # a volume against a share is left to the run


def test_equal_priorities_are_allowed() -> None:
    assert faults("draw.house.priority=1", "draw.flock.priority=1") == []


def test_three_measures_of_a_cylinder_may_disagree_by_one_percent() -> None:
    """3000 gal in a tank of 102 in stand 84.8 in high."""
    assert faults("tank.upper.overflow=85 in") == []
    assert faults("tank.upper.overflow=86 in") != []


def test_shares_may_miss_the_sum_by_a_millionth() -> None:
    assert faults("roof.barn.feeds={upper = 0.6, lower = 0.3999999}") == []


def test_a_levels_table_may_be_cut_by_an_overflow() -> None:
    assert faults("tank.pond.overflow=3 ft") == []
