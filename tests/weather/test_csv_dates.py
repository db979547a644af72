"""Dates: ISO, declared orders, and every ambiguity refused with its lines."""

from __future__ import annotations

import pytest

from holdwater.errors import InputError
from tests.weather.files import Reader, days_from, table


@pytest.mark.parametrize(
    "text",
    [
        "2012-01-31",
        "20120131",
        "2012/01/31",
        "2012.01.31",
        "2012-1-31",
        "2012-01-31T07:00:00",
        "2012-01-31 07:00",
        "31-Jan-2012",
        "31 January 2012",
        "Jan 31 2012",
        "1/31/2012",
        "31.01.2012",
        "31/1/2012",
    ],
)
def test_forms_that_can_be_read_in_one_way_only(read: Reader, text: str) -> None:
    assert str(read(f"date,rain_mm\n{text},1.5\n").first) == "2012-01-31"


@pytest.mark.parametrize(("order", "first"), [("mdy", "2012-03-04"), ("dmy", "2012-04-03")])
def test_declared_order(read: Reader, order: str, first: str) -> None:
    assert str(read("date,rain_mm\n3/4/2012,1.5\n", dates=order).first) == first


def test_ambiguous_order_is_refused_with_its_lines(read: Reader) -> None:
    with pytest.raises(
        InputError, match=r"is '3/4/2012' \(lines 2, 3\) day or month first\?.*dates = \"mdy\""
    ):
        read("date,rain_mm\n3/4/2012,1\n4/4/2012,1\n")


def test_two_orders_are_refused_with_their_lines(read: Reader) -> None:
    with pytest.raises(
        InputError, match=r"mixes two orders: day before month on line 2, month before day on line 4"
    ):
        read("date,rain_mm\n31/1/2012,1\n1/2/2012,0\n2/13/2012,0\n")


def test_two_forms_are_refused(read: Reader) -> None:
    with pytest.raises(InputError, match=r"mixes two forms: '2/1/2012' \(line 3\)"):
        read("date,rain_mm\n2012-01-31,1\n2/1/2012,0\n")


def test_proven_order_must_leave_the_days_in_sequence(read: Reader) -> None:
    text = "date,rain_mm\n1/2/2012,1\n1/3/2012,0\n1/4/2012,0\n15/1/2012,0\n1/5/2012,0\n"
    with pytest.raises(
        InputError, match=r"dates look like day, month, year, but then they are out of sequence"
    ):
        read(text)


def test_proven_order_is_told(read: Reader) -> None:
    record = read("date,rain_mm\n1/30/2012,1\n1/31/2012,0\n2/1/2012,0\n")
    assert str(record.last) == "2012-02-01"
    assert any("read as month, day, year, as line 2" in note for note in record.provenance.notes)


def test_two_digit_years_need_a_declared_order(read: Reader) -> None:
    with pytest.raises(InputError, match=r"years of two digits need a declared order"):
        read("date,rain_mm\n1/31/12,1\n")
    record = read("date,rain_mm\n12/31/99,1\n1/1/00,0\n", dates="mdy")
    assert [str(record.first), str(record.last)] == ["1999-12-31", "2000-01-01"]
    assert any("1969 to 2068" in note for note in record.provenance.notes)


@pytest.mark.parametrize("text", ["2011-02-29", "2012-13-01", "2012-00-10", "0012-01-01", "2012-04-31"])
def test_days_that_do_not_exist(read: Reader, text: str) -> None:
    with pytest.raises(InputError, match=rf"'{text}' \(line 2\) is no day of the calendar"):
        read(f"date,rain_mm\n{text},1\n")


def test_declared_order_that_does_not_fit(read: Reader) -> None:
    with pytest.raises(InputError, match=r"no day of the calendar .* when read as month, day, year"):
        read("date,rain_mm\n1/31/2012,1\n31/1/2012,1\n", dates="mdy")


def test_spreadsheet_day_numbers(read: Reader) -> None:
    with pytest.raises(InputError, match=r"spreadsheet's day number; format the column as a date"):
        read("date,rain_mm\n40909,1\n")


def test_a_line_that_is_no_reading(read: Reader) -> None:
    with pytest.raises(InputError, match=r"'Total' \(line 3\) is no date"):
        read("date,rain_mm\n2012-01-01,1\nTotal,1\n")


def test_one_time_of_day_tells_when_the_day_ends(read: Reader) -> None:
    record = read("date,rain_mm\n2012-01-01 07:00,1\n2012-01-02 07:00,0\n")
    assert record.provenance.day_ends == "07:00 (time of day in the file)"
    assert read("date,rain_mm\n2012-01-01 07:00,1\n", day_ends="9 am").provenance.day_ends == "9 am"


def test_unsorted_rows_are_sorted_and_told(read: Reader) -> None:
    record = read("date,rain_mm\n2012-01-03,3\n2012-01-01,1\n2012-01-02,2\n")
    assert record.column("rain") == pytest.approx([1, 2, 3])
    assert any("not in order of time" in note for note in record.provenance.notes)


def test_newest_first_is_an_order(read: Reader) -> None:
    record = read("date,rain_mm\n2012-01-02,2\n2012-01-01,1\n")
    assert record.column("rain") == pytest.approx([1, 2])
    assert record.provenance.notes == ()


def test_repeated_rows_count_once(read: Reader) -> None:
    record = read("date,rain_mm\n2012-01-01,1\n2012-01-02,2\n2012-01-02,2\n")
    assert record.column("rain") == pytest.approx([1, 2])
    assert any("with the same values: 1;" in note for note in record.provenance.notes)


TWO = """date,rain_mm,t_min_c
2012-01-01 07:00,1,5
2012-01-01 19:00,2,4
2012-01-02 07:00,T,3
2012-01-02 19:00,M,2
2012-01-03,0,1
"""


def test_two_readings_of_a_day_are_refused_with_their_lines(read: Reader) -> None:
    with pytest.raises(
        InputError,
        match=r"two different readings for 2012-01-01 \(1 mm on line 2, 2 mm on line 3\), 2012-01-02 "
        r"\(a trace on line 4, blank on line 5\); strike one, or say same_day = \"last\"",
    ) as caught:
        read(TWO)
    assert len(caught.value.faults) == 1, "the blank second reading is no missing day of its own"


def test_two_readings_added(read: Reader) -> None:
    record = read(TWO, same_day="add", missing_days="zero")
    assert record.column("rain") == pytest.approx([3, 0, 0])
    assert record.column("t_min") == pytest.approx([4, 2, 1])
    assert [int(o) for o in record.data["origin"]] == [1, 6, 1]  # a day with a missing part is missing


def test_the_later_reading_corrects(read: Reader) -> None:
    record = read("date,rain_mm\n2012-01-01,1\n2012-01-01,2\n2012-01-02,0\n", same_day="last")
    assert record.column("rain") == pytest.approx([2, 0])


def test_a_slip_in_a_year_shows_as_a_gap(read: Reader) -> None:
    rows = [(day, 1.0) for day in days_from("2012-01-01", 3)]
    with pytest.raises(InputError, match=r"the longest gap is 32869 days, 2012-01-04 to 2101-12-31"):
        read(table("date,rain_mm", [*rows, "2102-01-01,2"]))


@pytest.mark.parametrize(
    ("same_day", "said"), [("last", "no rain value"), ("refuse", "two different readings")]
)
def test_a_blank_row_over_the_only_reading(read: Reader, same_day: str, said: str) -> None:
    with pytest.raises(InputError, match=said) as caught:
        read("date,rain_mm\n2012-01-01,1\n2012-01-01,\n", same_day=same_day)
    assert len(caught.value.faults) == 1
