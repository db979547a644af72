"""What the file says in the owner's own words: what is accepted, and the cure in every message."""

from __future__ import annotations

import datetime as dt
from collections.abc import Callable
from importlib.resources import files
from pathlib import Path
from typing import Any

import pytest
from pydantic import TypeAdapter, ValidationError

from holdwater import scenario
from holdwater.errors import InputError
from holdwater.scenario import tables
from holdwater.scenario.file import check_raw
from holdwater.scenario.quantities import (
    Days,
    Money,
    MonthDayValue,
    read_date,
    read_date_or_month_day,
    read_days,
    read_month_day,
)
from holdwater.scenario.references import _TABLES
from holdwater.scenario.toml_slips import parse

STARTER = files("holdwater.scenario").joinpath("starter.toml").read_text("utf-8")


def faults(*changes: tuple[str, str]) -> list[str]:
    """Faults of the starter after changes of its text."""
    text = STARTER
    for old, new in changes:
        assert old in text
        text = text.replace(old, new, 1)
    try:
        check_raw(parse(text, Path("my.toml")))
    except InputError as error:
        return error.faults
    return []


# ------------------------------------------------------------------------------------------- quantities


@pytest.mark.parametrize(
    ("old", "new"),
    [
        ('area = "1200 ft2"', 'area = "30 ft x 40 ft"'),
        ('per_person = "30 gal/day"', 'per_person = "30 gallons a day"'),
        ("start_full = 0.5", 'start_full = "50 %"'),
        ("start_full = 0.5", 'start_full = { upper = "20 %", lower = 0.8 }'),
    ],
)
def test_what_people_write_first_is_read(old: str, new: str) -> None:
    assert faults((old, new)) == []


@pytest.mark.parametrize(
    ("text", "days"),
    [(4, 4), ("4", 4), (" 4 ", 4), ("4 days", 4), ("1 day", 1), ("1 week", 7), ("48 h", 2), (0, 0)],
)
def test_days_come_with_or_without_the_word(text: object, days: int) -> None:
    assert read_days(text) == days
    assert TypeAdapter(Days).validate_python(text, strict=True) == days


@pytest.mark.parametrize(
    ("text", "said"),
    [
        (-1, "-1: a number of days cannot be negative"),
        ("36 h", '"36 h": a whole number of days is needed; write 4 or "4 days"'),
        ("4 gal", '"4 gal": a volume, but a length of time is needed'),
        ("soon", '"soon": no number in it; write "36 h" or "1 day"'),
        (2.5, '2.5: not a number of days; write 4 or "4 days"'),
        (True, 'true: not a number of days; write 4 or "4 days"'),
    ],
)
def test_what_is_no_number_of_days_is_refused(text: object, said: str) -> None:
    with pytest.raises(InputError) as caught:
        read_days(text)
    assert caught.value.faults[0].startswith(said)


def test_money_of_the_file_keeps_no_currency() -> None:
    read = TypeAdapter(Money)
    assert [read.validate_python(text, strict=True) for text in (140, "$140", "1,140 dollars")] == [
        140,
        140,
        1140,
    ]
    with pytest.raises(ValidationError, match='"cheap": not a sum of money; write 140 or "\\$140"'):
        read.validate_python("cheap", strict=True)


# ------------------------------------------------------------------------------------------- days


@pytest.mark.parametrize(
    ("reader", "text", "said"),
    [
        (read_date, "4/15/2012", '"4/15/2012": not a date; write 2012-04-15'),
        (read_date, "July 4, 2012", '"July 4, 2012": not a date; write 2012-07-04'),
        (
            read_date,
            "7/1/2012",
            '"7/1/2012": not a date; write 2012-07-01 for 1 July 2012 or 2012-01-07 for 7 January 2012',
        ),
        (read_month_day, "4/15", '"4/15": not a day of the year; write "04-15" for 15 April'),
        (read_month_day, "2/29", '"2/29": not a day of the year; write "02-29" for 29 February'),
        (
            read_month_day,
            "4/5",
            '"4/5": not a day of the year; write "04-05" for 5 April or "05-04" for 4 May',
        ),
        (
            read_month_day,
            "2012-05-01",
            '"2012-05-01": it carries a year, but this holds every year; write "05-01" for 1 May',
        ),
        (
            read_month_day,
            dt.date(2012, 5, 1),
            '2012-05-01 carries a year, but this holds every year; write "05-01"',
        ),
        (read_date_or_month_day, "5/13/2012", '"5/13/2012": not a date; write 2012-05-13'),
        (read_date_or_month_day, "5/13", '"5/13": not a day of the year; write "05-13" for 13 May'),
    ],
)
def test_a_day_in_another_order_is_told_in_ours(
    reader: Callable[[Any], Any], text: object, said: str
) -> None:
    with pytest.raises(InputError) as caught:
        reader(text)
    assert caught.value.faults == [said]


def test_days_that_are_read() -> None:
    assert (
        read_month_day("15 April")
        == read_month_day("Apr 15")
        == read_month_day("04-15")
        == MonthDayValue(4, 15)
    )
    assert read_date_or_month_day("2012-05-13") == dt.date(2012, 5, 13)
    assert read_date_or_month_day("05-13") == MonthDayValue(5, 13)


# ------------------------------------------------------------------------------------------- values and keys

SAID: dict[str, tuple[tuple[str, str], str]] = {
    "degrees with a letter": (
        ("longitude = -100.0", 'longitude = "94.1 W"'),
        'place: longitude = "94.1 W": a number is needed; write longitude = -94.1 (south and west are below zero)',
    ),
    "degrees of the east": (
        ("longitude = -100.0", 'longitude = "94.1° E"'),
        'place: longitude = "94.1° E": a number is needed;'
        " write longitude = 94.1 (south and west are below zero)",
    ),
    "number in quotes": (
        ("people = 2", 'people = "3 persons"'),
        "draw 'house': people = \"3 persons\": a number is needed; write people = 3, without quotes",
    ),
    "yes in quotes": (
        ("may_use_reserve = true", 'may_use_reserve = "True"'),
        "draw 'animals': may_use_reserve = \"True\": write true, without quotes",
    ),
    "no in quotes": (
        ("may_use_reserve = true", 'may_use_reserve = "no"'),
        "draw 'animals': may_use_reserve = \"no\": write false, without quotes",
    ),
    "neither in quotes": (
        ("may_use_reserve = true", 'may_use_reserve = "perhaps"'),
        "draw 'animals': may_use_reserve = \"perhaps\": write true or false, without quotes",
    ),
    "first flush as a volume": (
        ('first_flush = { volume = "40 gal", drains_in = "1 day" }', 'first_flush = "20 gal"'),
        "roof 'barn': first_flush = \"20 gal\": a table is needed, in curly braces:"
        ' first_flush = { volume = "20 gal" }',
    ),
    "first flush as a depth": (
        ('first_flush = { volume = "40 gal", drains_in = "1 day" }', 'first_flush = "0.02 in"'),
        "roof 'barn': first_flush = \"0.02 in\": a table is needed, in curly braces:"
        ' first_flush = { depth = "0.02 in" }',
    ),
    "first flush as neither": (
        ('first_flush = { volume = "40 gal", drains_in = "1 day" }', 'first_flush = "yes"'),
        "roof 'barn': first_flush = \"yes\": a table is needed, in curly braces:"
        ' first_flush = { volume = "45 gal", drains_in = "1 day" }',
    ),
    "list of one": (
        ('# from_tanks = ["lower"]', 'from_tanks = "lower" #'),
        'draw \'house\': from_tanks = "lower": a list is needed, in square brackets: from_tanks = ["lower"]',
    ),
    "height of a tank": (
        ('outlet = "3 in"', 'outlet = "3 in"\nheight = "96 in"'),
        "tank 'upper': unknown key height;"
        " did you mean overflow (the height of the lip above the tank's own base)?",
    ),
    "size of a tank": (
        ('outlet = "3 in"', 'outlet = "3 in"\nsize = "96 gal"'),
        "tank 'upper': unknown key size; did you mean capacity?",
    ),
    "size of a roof": (
        ('area = "1200 ft2"', 'size = "1200 ft2"'),
        "roof 'barn': unknown key size; did you mean area?",
    ),
    "tank of a roof": (
        ('feeds = "upper"', 'tank = "upper"'),
        "roof 'barn': unknown key tank; did you mean feeds?",
    ),
    "slip of the pen": (
        ('area = "1200 ft2"', 'arae = "1200 ft2"'),
        "roof 'barn': unknown key arae; did you mean area?",
    ),
    "tanks of another name": (
        ('feeds = "upper"', ""),
        "roof 'barn': feeds is missing; write feeds = \"north end\"",
    ),
    "a path with a backslash": (
        ('file = "your-daily-rain.csv"', 'file = "D:\\rain.csv"'),
        'weather: file: a backslash in double quotes begins a special sign; write a slash: file = "D:/rain.csv"',
    ),
}


@pytest.mark.parametrize("what", SAID)
def test_a_value_or_key_is_told_with_the_users_own_words(what: str) -> None:
    change, said = SAID[what]
    renamed = [('name = "upper"', 'name = "north end"')] if what == "tanks of another name" else []
    assert said in faults(change, *renamed)


def test_a_neighbour_and_a_diary_with_a_backslash_are_told_too() -> None:
    other = 'file = "rain.csv"\ndiary = "D:\\tide.csv"\nneighbour = { file = "D:\\roof.csv" }'
    told = faults(('file = "your-daily-rain.csv"', other))
    assert [fault.rpartition(": ")[2] for fault in told if "backslash" in fault] == [
        'neighbour = "D:/roof.csv"',
        'diary = "D:/tide.csv"',
    ]


def test_the_keys_of_a_link_and_a_pump_name_the_users_own_tanks() -> None:
    renamed = [('name = "upper"', 'name = "one"'), ('name = "lower"', 'name = "two"')]
    told = faults(*renamed, ('tanks = ["upper", "lower"]', "tanks = []"))
    assert any(fault.endswith('and here are 0; write tanks = ["one", "two"]') for fault in told)
    told = faults(*renamed, ("[[draw]]", '[[transfer]]\nname = "pump"\n\n[[draw]]'))
    assert "transfer 'pump': from_tank is missing; write from_tank = \"two\"" in told
    assert "transfer 'pump': to_tank is missing; write to_tank = \"one\"" in told


# ------------------------------------------------------------------------------------------- names of the tables


@pytest.mark.parametrize("row", tables.rows("hints"), ids=lambda row: f"{row['table']} {row['word']}")
def test_every_hint_leads_to_names_of_its_table(row: dict[str, str]) -> None:
    known = list(_TABLES[row["table"]]())
    assert row["word"] == row["word"].lower()
    assert row["word"] not in known
    assert all(name in known for name in row["names"].split("|"))


def test_no_word_is_hinted_at_twice() -> None:
    words = [(row["table"], row["word"]) for row in tables.rows("hints")]
    assert len(set(words)) == len(words)


@pytest.mark.parametrize(
    ("name", "hint"),
    [
        ("hen", "did you mean 'hen, laying'?"),
        ("Hens", "did you mean 'hen, laying'?"),
        ("goat", "did you mean 'doe', 'doe, milking' or 'doe, dry'?"),
        ("pygmy goats", "did you mean 'doe', 'doe, milking' or 'doe, dry'?"),
        ("pig", "did you mean 'sow'?"),
        ("turkey", "did you mean 'turkey tom'?"),
        ("cows", "did you mean 'cow, lactating', 'cow, dry', 'dairy cow, lactating' or 'dairy cow, dry'?"),
        ("doe, mlking", "did you mean 'doe, milking'?"),
        ("llama", "`holdwater tables animals` lists them"),
    ],
)
def test_an_animal_by_another_name_is_a_question_never_a_choice(name: str, hint: str) -> None:
    (fault,) = faults(('"hen, laying" = 12', f'"{name}" = 12'))
    assert fault.startswith(f"draw 'animals': animals: there is no animal '{name}'; {hint}")
    assert "give the amount as a fixed draw" in fault


BED = '\n[[draw]]\nname = "bed"\nkind = "garden"\narea = "9 ft2"\ncrop = "{crop}"\nsoil = "{soil}"\nplanted = "05-10"\n'


@pytest.mark.parametrize(
    ("crop", "soil", "said"),
    [
        ("beans", "loam", "crop: there is no crop 'beans'; did you mean 'green bean' or 'dry bean'?"),
        ("corn", "loam", "crop: there is no crop 'corn'; did you mean 'sweet corn'?"),
        ("lawn", "loam", "did you mean 'turf, cool season' or 'turf, warm season'?"),
        ("zuchini", "loam", "did you mean 'zucchini'?"),
        (
            "pea",
            "clay loam",
            "soil: there is no soil 'clay loam'; did you mean 'silt clay loam', 'loam' or 'clay'?",
        ),
        ("pea", "lome", "did you mean 'loam'?"),
    ],
)
def test_a_crop_or_soil_by_another_name(crop: str, soil: str, said: str) -> None:
    (fault,) = faults(("\n[reserve]", BED.format(crop=crop, soil=soil) + "\n[reserve]"))
    assert said in fault


@pytest.mark.parametrize(
    ("surface", "hint"),
    [
        ("tin", "did you mean 'metal' or 'corrugated iron'?"),
        ("shingles", "did you mean 'asphalt shingle'?"),
        ("tile", "did you mean 'clay tile' or 'concrete tile'?"),
        ("metl", "did you mean 'metal'?"),
    ],
)
def test_a_surface_by_another_name(surface: str, hint: str) -> None:
    (fault,) = faults(('surface = "metal"', f'surface = "{surface}"'))
    assert hint in fault


def test_a_share_is_no_name_of_a_tank() -> None:
    assert faults(("start_full = 0.5", 'start_full = "half"')) == [
        'run: start_full = "half": no number in it; write "20 %" or "0.2"'
    ]
    (fault,) = faults(("start_full = 0.5", "start_full = { uper = 0.5 }"))
    assert "start_full: there is no tank 'uper'; did you mean 'upper'?" in fault


# ------------------------------------------------------------------------------------------- variants


def test_a_file_without_its_tanks_is_not_told_again_by_its_variants(tmp_path: Path) -> None:
    path = tmp_path / "my.toml"
    path.write_text(STARTER.replace("[[tank]]", "[[tanks]]"), "utf-8")
    with pytest.raises(InputError) as caught:
        scenario.check(path)
    assert caught.value.faults[0] == "unknown key tanks; did you mean tank?"
    assert not [fault for fault in caught.value.faults if "variant" in fault]


def test_a_name_given_twice_is_told_once(tmp_path: Path) -> None:
    path = tmp_path / "my.toml"
    more = '\n[variant.more]\n"roof.house.area" = "1000 ft2"\n'
    path.write_text(STARTER.replace('name = "house"\narea', 'name = "barn"\narea') + more, "utf-8")
    with pytest.raises(InputError) as caught:
        scenario.check(path)
    assert caught.value.faults == ["2 roofs are named 'barn'; every roof needs a name of its own"]


def test_a_variant_at_fault_is_still_told_with_the_file(tmp_path: Path) -> None:
    path = tmp_path / "my.toml"
    text = STARTER.replace('"roof.barn.area" =', '"roof.bran.area" =').replace(
        'surface = "metal"', 'surface = "tin"'
    )
    path.write_text(text, "utf-8")
    with pytest.raises(InputError) as caught:
        scenario.check(path)
    assert any("there is no roof 'bran'" in fault for fault in caught.value.faults)
    assert any("there is no surface 'tin'" in fault for fault in caught.value.faults)


# ------------------------------------------------------------------------------------------- money and days


def test_money_and_days_are_read_as_they_are_written() -> None:
    changes = (
        ("cost_per_load = 150", 'cost_per_load = "$150"'),
        ("lead_days = 3", 'lead_days = "3 days"'),
        ("# cost = 3000", 'cost = "3,000 dollars"'),
    )
    text = STARTER
    for old, new in changes:
        text = text.replace(old, new, 1)
    read, _ = check_raw(parse(text, Path("my.toml")))
    (hauler,) = read.backup
    assert (hauler.model_dump()["cost_per_load"], hauler.model_dump()["lead_days"]) == (150, 3)
    assert read.roof[0].cost == 3000


@pytest.mark.parametrize(
    ("old", "new", "said"),
    [
        (
            "lead_days = 3",
            'lead_days = "36 h"',
            'lead_days = "36 h": a whole number of days is needed; write 4',
        ),
        ("lead_days = 3", "lead_days = 61", "lead_days = 61: it must be at most 60"),
        ("cost_per_load = 150", 'cost_per_load = "-$5"', 'cost_per_load = "-$5": a price cannot be negative'),
        ("cost_per_load = 150", 'cost_per_load = "dear"', 'not a sum of money; write 140 or "$140"'),
    ],
)
def test_money_and_days_that_cannot_be_read(old: str, new: str, said: str) -> None:
    (fault,) = faults((old, new))
    assert said in fault


@pytest.mark.parametrize(
    ("name", "cure"), [("barn", "roof.barn-=surface"), ("north barn", "'roof.\"north barn\"-=surface'")]
)
def test_what_says_the_same_twice_is_dropped_on_the_command_line(name: str, cure: str) -> None:
    (fault,) = faults(
        ('name = "barn"', f'name = "{name}"\nrunoff_coefficient = 0.78'), ('"roof.barn.', '"roof.x.')
    )
    assert fault.endswith(f"drop one of them (on the command line: --set {cure})")
