"""The commonest slips in a TOML file: on which line, what is wrong, and the user's own line as it should stand."""

from __future__ import annotations

import tomllib
from importlib.resources import files
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from holdwater import scenario
from holdwater.errors import InputError
from holdwater.scenario.toml_slips import parse

SLIPS = {  # a line as written: what is said of it, and the line that is proposed
    'tanks = ["small" "big"]': ('a comma is missing: write "small", "big"', ""),
    "numbers = [1, 2 3]": ("a comma is missing: write 2, 3", ""),
    'animals = { "hen, laying" = 12 "doe, dry" = 2 }': ('a comma is missing: write 12, "doe, dry"', ""),
    "closed = [ { from = 2012-05-01 } { from = 2013-05-01 } ]": ("a comma is missing: write }, {", ""),
    'tanks = ["small", "big"': ("a closing bracket is missing", 'tanks = ["small", "big"]'),
    'collects = { from = "04-15", to = "10-31"': (
        "a closing bracket is missing",
        'collects = { from = "04-15", to = "10-31" }',
    ),
    "may_use_reserve = True": ("true and false are written in small letters", "may_use_reserve = true"),
    "may_use_reserve = yes": ("true and false are written in small letters", "may_use_reserve = true"),
    "rain_fed = FALSE": ("true and false are written in small letters", "rain_fed = false"),
    'file = "C:\\Users\\me\\rain.csv"': (
        "a backslash in double quotes begins a special sign; write a slash",
        'file = "C:/Users/me/rain.csv"',
    ),
    'file = "C:\\data\\"': (
        "a backslash in double quotes begins a special sign; write a slash",
        'file = "C:/data/"',
    ),
    "file = C:\\data\\rain.csv": ("text stands in quotes", 'file = "C:/data/rain.csv"'),
    "cost_per_load = 1,140": ("no comma stands in a number", "cost_per_load = 1140"),
    "start_full = 0,5": ("a number has a decimal point, not a comma", "start_full = 0.5"),
    "start_full = .5": ("write the bare number", "start_full = 0.5"),
    "people = 03": ("write the bare number", "people = 3"),
    "cost = $140": ("write the bare number", "cost = 140"),
    "cost = 140 dollars": ("write the bare number", "cost = 140"),
    "longitude = 94.1 W": ("degrees are a number, south and west below zero", "longitude = -94.1"),
    "latitude = 40.5°N": ("degrees are a number, south and west below zero", "latitude = 40.5"),
    "from = 7/13/1996": ("a date is written year-month-day", "from = 1996-07-13"),
    "from = 1996-7-1": ("a date is written year-month-day", "from = 1996-07-01"),
    "from = July 1, 1996": ("a date is written year-month-day", "from = 1996-07-01"),
    "from = 7/1/1996": (
        "a date is written year-month-day (7/1/1996 may be 1 July 1996 or 7 January 1996)",
        "from = 1996-07-01",
    ),
    "planted = 05-10": ("a day of the year is written month-day, in quotes", 'planted = "05-10"'),
    "season = { from = 4/15, to = 10-31 }": (
        "a day of the year is written month-day, in quotes",
        'season = { from = "04-15", to = "10-31" }',
    ),
    "per_person = 30 gal/day": ("a quantity with its unit stands in quotes", 'per_person = "30 gal/day"'),
    "start_full = 50%": ("a quantity with its unit stands in quotes", 'start_full = "50%"'),
    "start_full = { upper = 20 %, lower = 0.8 }": (
        "a quantity with its unit stands in quotes",
        'start_full = { upper = "20 %", lower = 0.8 }',
    ),
    'outlet = 3"': ("a quantity with its unit stands in quotes", "outlet = '3\"'"),
    "name = barn": ("text stands in quotes", 'name = "barn"'),
    "title = Bob's place": ("text stands in quotes", 'title = "Bob\'s place"'),
    "tanks = [upper, lower]": ("text stands in quotes", 'tanks = ["upper", "lower"]'),
    'name: "barn"': ("an equals sign is needed, not a colon", 'name = "barn"'),
    "name: barn": ("an equals sign is needed, not a colon", 'name = "barn"'),
    'animals = { "hen, laying": 12 }': (
        "an equals sign is needed, not a colon",
        'animals = { "hen, laying" = 12 }',
    ),
    'name "barn"': ("an equals sign is missing", 'name = "barn"'),
    "name barn": ("an equals sign is missing", 'name = "barn"'),
    'name = "barn",': ("no comma stands at the end of a line", 'name = "barn"'),
    "name = “barn”": ("plain quotes are needed, not curly ones", 'name = "barn"'),
    "animals = { hen, laying = 12 }": (
        'a name with a blank or a comma stands in quotes, such as "hen, laying" = 20',
        "",
    ),
}


@pytest.mark.parametrize("line", SLIPS)
@pytest.mark.parametrize("comment", ["", "   # a remark"])
def test_a_slip_is_told_with_the_line_as_it_should_stand(line: str, comment: str) -> None:
    said, better = SLIPS[line]
    text = f'title = "Invented"\n\n[part]\n{line}{comment}\nafter = 1\n'
    with pytest.raises(InputError) as caught:
        parse(text, Path("my.toml"))
    (fault,) = caught.value.faults
    shown = line if len(line) <= 60 else line[:57] + "..."
    assert fault == f'my.toml, line 4: "{shown}": {said}' + (f": {better}" if better else "")
    if better:
        assert tomllib.loads(text.replace(line, better)), "what is proposed must itself be read"


def test_a_comma_missing_at_the_end_of_a_line_is_told_of_that_line() -> None:
    text = 'tanks = [\n  "small",  # here\n  "big"   # no comma\n  "third",\n]\n'
    with pytest.raises(InputError, match=r"line 3: \"\"big\"\": a comma is missing at the end of this line$"):
        parse(text, Path("my.toml"))


def test_a_long_line_is_not_repeated() -> None:
    line = "monthly = [0, 0, 0, 5 gal/day" + ', "20 gal/day"' * 8 + "]"
    with pytest.raises(
        InputError, match=r"a quantity with its unit stands in quotes, such as \"5 gal/day\"$"
    ):
        parse(line, Path("my.toml"))


@pytest.mark.parametrize(
    ("line", "said"),
    [
        ('name = "barn', "a closing quote is missing"),
        ('title = "Barn #2', "a closing quote is missing"),
        ("[[roof]", "a closing bracket is missing"),
        ("name =", "a value is missing after the equals sign"),
        ('na me = "barn"', "a key with a space in it stands in quotes"),
        ("a = " + "[" * 5000, "brackets in brackets without end"),
    ],
)
def test_what_is_no_such_slip_is_told_as_before(line: str, said: str) -> None:
    with pytest.raises(InputError, match=said):
        parse(line, Path("my.toml"))


def test_what_toml_reads_is_left_alone() -> None:
    starter = files("holdwater.scenario").joinpath("starter.toml").read_text("utf-8")
    assert parse(starter, Path("my.toml")) == tomllib.loads(starter)


def test_loading_a_scenario_tells_the_slip(tmp_path: Path) -> None:
    path = tmp_path / "my.toml"
    path.write_text("title = Ours\n", "utf-8")
    with pytest.raises(
        InputError, match=r'my\.toml, line 1: "title = Ours": text stands in .*: title = "Ours"$'
    ):
        scenario.load(path)


PIECES = [
    "a",
    "= ",
    '"',
    "'",
    "[",
    "]",
    "{",
    "}",
    ",",
    "1",
    "05-10",
    " ",
    "\n",
    "#",
    ":",
    "\\",
    "$5",
    "7/1/2020",
]


@settings(deadline=None)
@given(
    text=st.one_of(st.text(max_size=60), st.lists(st.sampled_from(PIECES), max_size=16).map("".join)),
)
def test_nothing_but_one_plain_sentence(text: str) -> None:
    faults: list[str] = []
    try:
        parse(text, Path("my.toml"))
    except InputError as error:
        faults = error.faults
    assert len(faults) <= 1
    assert all("\n" not in fault for fault in faults)
