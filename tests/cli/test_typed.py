"""The command line as it is typed: dates, values torn at their blanks, options without a value."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from holdwater.cli.text import argument
from holdwater.cli.typed import EXAMPLES, cure
from tests.cli.conftest import Command


@pytest.mark.parametrize(
    ("words", "first", "last"),
    [
        (["--from", "2020"], "2020-01-01", "2020-12-31"),
        (["--to", "2019"], "2019-01-01", "2019-12-31"),
        (["--from", "2020-02", "--to", "2020-02"], "2020-02-01", "2020-02-29"),
        (["--from", "2019-03-05", "--to", "2019-04-01"], "2019-03-05", "2019-04-01"),
    ],
)
def test_a_year_or_a_month_is_its_first_or_last_day(
    words: list[str], first: str, last: str, here: Path, holdwater: Command
) -> None:
    done = holdwater("run", "holding.toml", "--json", "--out", here / "out", *words)
    assert (done.code, done.err) == (0, "")
    period = json.loads(done.out)["period"]
    assert (period["from"], period["to"]) == (first, last)


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (
            ["run", "holding.toml", "--from", "7/1/2020"],
            "'--from': '7/1/2020' is not a date; write 2020-07-01 for 1 July 2020 or 2020-01-07 for 7 January 2020",
        ),
        (["run", "holding.toml", "--to", "7/13/2020"], "'--to': '7/13/2020' is not a date; write 2020-07-13"),
        (
            ["run", "holding.toml", "--from", "2020-02-30"],
            "'2020-02-30': there is no such day in the calendar",
        ),
        (
            ["outlook", "holding.toml", "--holding", "9 gal", "--on", "2020"],
            "'--on': '2020' is not a date; write year-month-day",
        ),
        (
            ["run", "my", "holding.toml"],
            'holdwater: what holds a blank stands in quotes: "my holding.toml"',
        ),
        (
            ["run", "holding.toml", "--set", "roof.barn.area=2200", "ft2", "--quiet"],
            'holdwater: what holds a blank stands in quotes: --set "roof.barn.area=2200 ft2"',
        ),
        (
            ["run", "--set", "roof.barn.area=2200", "ft2", "holding.toml"],
            'holdwater: what holds a blank stands in quotes: --set "roof.barn.area=2200 ft2"',
        ),
        (
            ["outlook", "holding.toml", "--holding", "1200", "gal"],
            'holdwater: what holds a blank stands in quotes: --holding "1200 gal"',
        ),
        (
            ["compare", "holding.toml", "--worst"],
            "holdwater: write --worst 1 for the worst drought, --worst 2 for the next",
        ),
        (["run", "holding.toml", "--set"], 'holdwater: write --set "roof.barn.area=2200 ft2"'),
        (["tables", "pipes"], "'pipes' is not one of 'crops', 'soils', 'animals'"),
    ],
)
def test_what_was_mistyped_is_told_with_what_to_type(words: list[str], said: str, holdwater: Command) -> None:
    done = holdwater(*words)
    assert (done.code, done.out) == (2, "")
    assert said in done.err
    assert "Value error" not in done.err


@pytest.mark.parametrize(
    "words",
    [["run", "holding.toml", "one", "two"], ["run", "--quiet", "holding.toml", "one"], ["rnu"], ["run"]],
)
def test_nothing_is_made_up_where_the_message_says_enough(words: list[str], holdwater: Command) -> None:
    done = holdwater(*words)
    assert (done.code, done.out) == (2, "")
    assert "Error: " in done.err
    assert "holdwater: " not in done.err


def test_a_date_that_another_option_refuses() -> None:
    assert cure([], "Invalid value: '7/13/2020' does not match the format '%Y-%m-%d'.") == "write 2020-07-13"


def test_the_examples_are_options_of_the_program(holdwater: Command) -> None:
    commands = ("run", "outlook", "compare", "sweep", "size")
    helped = "".join(holdwater(command, "--help").out for command in commands)
    assert [option for option in EXAMPLES if option not in helped] == []
    assert all(option in example for option, example in EXAMPLES.items())


@pytest.mark.parametrize(
    ("word", "typed"),
    [
        ("holding.toml", "holding.toml"),
        ("my holding.toml", '"my holding.toml"'),
        (Path("farm/my holding.toml"), '"farm/my holding.toml"'),
        ("farm(1).toml", '"farm(1).toml"'),
        ("", '""'),
    ],
)
def test_a_word_as_it_is_typed(word: object, typed: str) -> None:
    assert argument(word) == typed
