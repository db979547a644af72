from __future__ import annotations

import datetime as dt

import pytest

from holdwater import words


@pytest.mark.parametrize(
    ("first", "last", "said"),
    [
        ((2001, 1, 1), (2001, 1, 1), "1 day"),
        ((2001, 6, 1), (2001, 12, 27), "210 days"),
        ((2025, 1, 1), (2025, 12, 31), "2025"),
        ((2024, 7, 1), (2025, 6, 30), "1 year"),
        ((1996, 1, 1), (2025, 12, 31), "30 years"),
        ((2001, 1, 1), (2003, 7, 2), "2.5 years"),
        ((1900, 1, 1), (1950, 6, 30), "50 years"),
    ],
)
def test_length_of_a_record(first: tuple[int, int, int], last: tuple[int, int, int], said: str) -> None:
    assert words.span(dt.date(*first), dt.date(*last)) == said


def test_days_of_a_record() -> None:
    year = dt.date(2001, 1, 1), dt.date(2001, 12, 31)
    assert words.days_in(212, *year) == "212 days in 2001"
    assert words.days_in(1, dt.date(1996, 1, 1), dt.date(2025, 12, 31)) == "1 day in 30 years"
    assert words.days_in(2, year[0], dt.date(2001, 1, 10)) == "2 of 10 days"


def test_counts() -> None:
    assert [words.count(n, "dry day") for n in (0, 1, 2, 1204)] == [
        "no dry days",
        "1 dry day",
        "2 dry days",
        "1,204 dry days",
    ]


def test_spells() -> None:
    assert words.spell(41, dt.date(2002, 8, 3)) == "41 days from 3 August 2002"
    assert words.spell(1, dt.date(2002, 8, 3)) == "1 day, 3 August 2002"
    assert words.briefly(dt.date(2002, 8, 3)) == "3 Aug 2002"


@pytest.mark.parametrize(
    ("part", "said", "briefly"),
    [
        (0.0, "0 %", "0 %"),
        (0.2, "less than 1 %", "<1 %"),
        (58.4, "58 %", "58 %"),
        (99.7, "more than 99 %", ">99 %"),
        (100.0, "100 %", "100 %"),
    ],
)
def test_shares_round_neither_to_nothing_nor_to_all(part: float, said: str, briefly: str) -> None:
    assert words.share(part, 100.0) == said
    assert words.share(part, 100.0, brief=True) == briefly


@pytest.mark.parametrize(
    ("numbers", "said"),
    [
        ([8], "in August"),
        ([12, 1], "in December and January"),
        ([11, 12, 1, 2], "from November to February"),
        ([3, 8], "in 2 months of the year"),
        (list(range(1, 13)), "in every month"),
    ],
)
def test_months(numbers: list[int], said: str) -> None:
    assert words.months([m + 1 in numbers for m in range(12)]) == said


def test_the_name_of_the_holding_is_what_stands_before_the_colon() -> None:
    assert words.holding("Larkfield: barn and house roofs") == "Larkfield"
    assert words.holding("Larkfield\n farm") == "Larkfield farm"
    assert words.holding("Larkfield " * 20) == "The holding"
    assert words.holding(": roofs") == "The holding"


def test_texts_of_users_lose_what_cannot_be_drawn() -> None:
    assert words.plain("one\n two\x00\x1b three") == "one two three"
