from __future__ import annotations

import datetime as dt
from typing import Literal

import pytest

from holdwater import words
from holdwater.errors import InputError


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


@pytest.mark.parametrize(
    ("text", "whole", "day"),
    [
        ("2022-07-01", None, (2022, 7, 1)),
        ("2022-07-01", "last", (2022, 7, 1)),
        (" 2022 ", "first", (2022, 1, 1)),
        ("2022", "last", (2022, 12, 31)),
        ("2022-02", "first", (2022, 2, 1)),
        ("2022-02", "last", (2022, 2, 28)),
        ("2024-02", "last", (2024, 2, 29)),
        ("9999", "last", (9999, 12, 31)),
    ],
)
def test_a_day_as_it_is_typed(
    text: str, whole: Literal["first", "last"] | None, day: tuple[int, int, int]
) -> None:
    assert words.read_day(text, whole) == dt.date(*day)


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("7/13/2025", "'7/13/2025' is not a date; write 2025-07-13"),
        ("2025/7/1", "'2025/7/1' is not a date; write 2025-07-01"),
        ("1 Jul 2025", "'1 Jul 2025' is not a date; write 2025-07-01"),
        ("5.5.2025", "'5.5.2025' is not a date; write 2025-05-05"),
        (
            "7/1/2025",
            "'7/1/2025' is not a date; write 2025-07-01 for 1 July 2025 or 2025-01-07 for 7 January 2025",
        ),
        ("31/31/2025", "'31/31/2025' is not a date; write year-month-day, such as 1996-01-31"),
        ("yesterday", "'yesterday' is not a date; write year-month-day, such as 1996-01-31"),
        ("2025", "'2025' is not a date; write year-month-day, such as 1996-01-31"),
        ("2025-02-30", "'2025-02-30': there is no such day in the calendar"),
        ("0000-01-01", "'0000-01-01': there is no such day in the calendar"),
    ],
)
def test_a_day_in_another_order_is_refused_with_ours(text: str, said: str) -> None:
    with pytest.raises(InputError) as caught:
        words.read_day(text)
    assert caught.value.faults == [said]


def test_a_month_by_its_name() -> None:
    assert [words.month(name) for name in ("July", "jul", "MAR", "smarch")] == [7, 7, 3, 0]


def test_one_day_was_and_two_were() -> None:
    assert [f"{words.count(n, 'day')} {words.were(n)}" for n in (1, 2)] == ["1 day was", "2 days were"]
