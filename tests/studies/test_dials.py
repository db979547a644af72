"""Dials: values read, and what each bad one says."""

from __future__ import annotations

import re

import pytest

from holdwater.errors import InputError
from holdwater.scenario import ScenarioFile
from holdwater.studies.dials import Grid, dial
from holdwater.studies.quantity import Axis, axis


@pytest.mark.parametrize(
    ("asked", "texts"),
    [
        ("roof.barn.area=1000 ft2..2000 ft2:3", ("1000 ft2", "1500 ft2", "2000 ft2")),
        ("roof.barn.area=1000..2000 ft2:3", ("1000 ft2", "1500 ft2", "2000 ft2")),
        ("roof.barn.area = 1,000 ft2 .. 2,000 ft2 : 3", ("1000 ft2", "1500 ft2", "2000 ft2")),
        ("tank.upper.capacity=2500 gal,5,000 gal, 7500 gal", ("2500 gal", "5,000 gal", "7500 gal")),
        ("tank.upper.diameter=95 in,102 in,120 in", ("95 in", "102 in", "120 in")),
        ("tank.upper.capacity=2500,4000,7500 gal", ("2500 gal", "4000 gal", "7500 gal")),
        ("tank.upper.capacity=7,500 gal", ("7,500 gal",)),
        ("roof.barn.area=900 ft2,950 ft2", ("900 ft2", "950 ft2")),
        ("roof.barn.area=80 m2,160 m2", ("80 m2", "160 m2")),
        ("roof.barn.area=900 ft^2,950 ft^2,1,000 ft^2", ("900 ft^2", "950 ft^2", "1,000 ft^2")),
        ("roof.barn.area=1,500 ft2,2,500 ft2", ("1,500 ft2", "2,500 ft2")),
        ("tank.upper.capacity=5,000 gal,7,500 gal", ("5,000 gal", "7,500 gal")),
        ("tank.upper.capacity=5,000,7,500 gal", ("5,000 gal", "7,500 gal")),
        ("tank.upper.capacity=5000,900,800 gal", ("5000 gal", "900 gal", "800 gal")),
        ("tank.upper.capacity=9000 L,900 L", ("9000 L", "900 L")),
        ("backup.hauler.cost_per_load=100,250", ("100", "250")),
        ("draw.house.people=1..6", ("1", "2", "3", "4", "5", "6")),
        ("draw.house.people=1.0..2.0:3", ("1", "1.5", "2")),
        ("run.start_full=0..1:3", ("0", "0.5", "1")),
        ("backup.hauler.starts_below=5 %..20 %:4", ("5 %", "10 %", "15 %", "20 %")),
        ("draw.tomatoes.method=drip,sprinkler", ("drip", "sprinkler")),
        ("tank.lower.base=-6 in..6 in:3", ("-6 in", "0 in", "6 in")),
    ],
)
def test_values_are_read_as_written(asked: str, texts: tuple[str, ...], demo: ScenarioFile) -> None:
    found = dial(asked)
    assert found.texts == texts
    Grid((found,)).check(demo)


def test_a_range_without_a_count_has_eleven_values() -> None:
    assert len(dial("roof.barn.area=1000 ft2..2000 ft2").texts) == 11
    assert len(dial("run.start_full=0..1").texts) == 11
    assert dial("draw.house.people=1..100").texts[1] == "11", "whole numbers stay whole"


BAD = {
    "roof.brn.area=1 ft2..2 ft2": "roof.brn.area: there is no roof 'brn'; did you mean 'barn'?",
    "rof.barn.area=1 ft2..2 ft2": "there is no 'rof' to change; did you mean 'roof'?",
    "tank.upper.capacty=3000 gal..5000 gal": "tank 'upper': unknown key capacty; did you mean capacity?",
    "roof.barn=1 ft2..2 ft2": "roof.barn is a whole roof; name the key too, such as roof.barn.area",
    "roof.barn.area=1000 gal..2000 gal": "a volume, but an area is needed",
    "roof.barn.area=1000..2000": 'area = 1000 has no unit; write "1000 ft2"',
    "roof.barn.area=1000 ft2..2000 m2": "the ends are in ft2 and m2; write both in one unit",
    "roof.barn.area=2000 ft2..1000 ft2": "the range is empty, 2000 is not below 1000; swap the ends",
    "roof.barn.area=1000 ft2..1000 ft2": "the range is empty, 1000 is not below 1000",
    "roof.barn.area=1000 ft2..2000 ft2:1": "a range has 2 to 100,000 values, found 1",
    "roof.barn.area=1000 ft2..2000 ft2:9000000": "a range has 2 to 100,000 values, found 9,000,000",
    "roof.barn.area=1000 ft2..2000 ft2:many": "not understood; a range is LOW..HIGH or LOW..HIGH:COUNT",
    "roof.barn.area=1000 ft2..wide": "a range runs between two numbers, such as 1000 ft2..3000 ft2",
    "roof.barn.area=80,160,240 m2": 'one number or several? Write "80, 160, 240 m2" for several, "80160240 m2" for',
    "tank.upper.capacity=0,500 m3..2 m3": "in 0,500 a comma would separate thousands; write 0.500",
    "roof.barn.area=,": "no value stands between the commas; write A,B,C",
    "roof.barn.area=wide": 'area = "wide": no number in it',
    "roof.barn.area=1000 ft2,1000 ft2": "a value is named twice; name each once",
    "roof.barn.area": "write PATH=LOW..HIGH[:COUNT] or PATH=A,B,C",
    "=1..2": "write PATH=LOW..HIGH[:COUNT] or PATH=A,B,C",
    "draw.house.people=1..3:9": "there are not 9 whole numbers in the range; write 1.0 for parts of one",
    "tank.upper.diameter=60 in..3000 in": "with tank.upper.diameter = 3000 in: tank 'upper': outlet = 3 in",
    "weather.file=a.csv,b.csv": "weather.file is no part of the holding",
    "run.from=1999-01-01,2000-01-01": "run.from is no part of the holding",
    "run.rule=YAS,YES": 'run: rule = "YES": it is one of',
}


@pytest.mark.parametrize("asked", BAD)
def test_a_bad_dial_says_what_is_wrong_and_how_to_write_it(asked: str, demo: ScenarioFile) -> None:
    with pytest.raises(InputError, match=re.escape(BAD[asked])):
        Grid((dial(asked),)).check(demo)


def test_all_bad_dials_are_told_at_once(demo: ScenarioFile) -> None:
    grid = Grid((dial("roof.brn.area=1 ft2..2 ft2"), dial("tank.uper.capacity=1 gal..2 gal")))
    with pytest.raises(InputError) as told:
        grid.check(demo)
    assert [fault.split(":")[0] for fault in told.value.faults] == ["roof.brn.area", "tank.uper.capacity"]


def test_a_dial_named_twice_is_refused(demo: ScenarioFile) -> None:
    both = (dial("roof.barn.area=100 ft2,200 ft2"), dial("roof.barn.area=300 ft2,400 ft2"))
    with pytest.raises(InputError, match=r"roof\.barn\.area is varied twice"):
        Grid(both).check(demo)


def test_a_dial_drops_what_says_the_same_thing_in_another_way(demo: ScenarioFile) -> None:
    """A coefficient beside a surface, a volume beside a depth: the file would say it twice."""
    for asked in ("roof.barn.runoff_coefficient=0.7,0.9", "roof.barn.first_flush.depth=0 mm,1 mm"):
        grid = Grid((dial(asked),))
        grid.check(demo)
        roof = grid.file(demo, [0], [1]).scenario.roof[0]
    assert roof.first_flush is not None
    assert (roof.first_flush.volume, roof.first_flush.depth) == (None, 1.0)


def made(asked: str, base: ScenarioFile) -> Axis:
    grid = Grid((dial(asked),))
    return axis(grid.dials[0], base, [grid.file(base, [0], [i]) for i in range(grid.size)])


@pytest.mark.parametrize(
    ("asked", "label", "title", "first", "present"),
    [
        (
            "roof.barn.area=1000..2000 ft2",
            "barn roof area",
            "Barn roof area [ft2]",
            "1,000 ft2",
            1480 * 0.09290304,
        ),
        (
            "tank.upper.capacity=3000..5000 gal",
            "upper tank capacity",
            "Upper tank capacity [gal]",
            "3,000 gal",
            7500 * 3.785411784,
        ),
        ("draw.house.people=1..3", "house people", "House people", "1", 3.0),
        (
            'draw."goats and hens".animals."doe, dry"=2..4',
            "goats and hens animals doe, dry",
            "Goats and hens animals doe, dry",
            "2",
            4.0,
        ),
        (
            "backup.hauler.starts_below=5 %,10 %",
            "hauler starts below",
            "Hauler starts below [%]",
            "5 %",
            0.06,
        ),
        (
            "roof.barn.runoff_coefficient=0.5,0.9",
            "barn roof runoff coefficient",
            "Barn roof runoff coefficient [%]",
            "50 %",
            0.9,
        ),
        (
            "draw.tomatoes.area=10 m2,20 m2",
            "tomatoes area",
            "Tomatoes area [ft2]",
            "108 ft2",
            130 * 0.09290304,
        ),
    ],
)
def test_a_dial_is_told_in_words_and_shown_units(
    asked: str, label: str, title: str, first: str, present: float, demo: ScenarioFile
) -> None:
    found = made(asked, demo)
    assert (found.label, found.titled("us"), found.say(0, "us")) == (label, title, first)
    assert found.present == pytest.approx(present)


def test_a_dial_of_words_has_no_numbers(demo: ScenarioFile) -> None:
    found = made("draw.tomatoes.method=sprinkler,drip", demo)
    assert not found.numeric
    assert found.present_place == 1
    assert found.say(0, "metric") == "sprinkler"
