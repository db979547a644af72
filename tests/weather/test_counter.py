"""Counters that add up until they are reset. Invented data."""

from __future__ import annotations

import numpy as np
import pytest

from holdwater.errors import InputError
from tests.weather.files import Reader, days_from, plausible_rain, table


def test_differences_resets_and_days_without_a_reading(read: Reader) -> None:
    text = "date,rain_mm\n2012-01-01,10\n2012-01-02,12.5\n2012-01-03,12.5\n2012-01-06,18.5\n2012-01-07,2\n"
    record = read(text, readings="cumulative")
    assert str(record.first) == "2012-01-02"  # the first reading tells nothing
    assert record.column("rain") == pytest.approx([2.5, 0, 2, 2, 2, 2])
    assert [int(c) for c in record.data["origin"]] == [1, 1, 3, 3, 3, 1]
    notes = " | ".join(record.provenance.notes)
    assert "its differences were taken, with 1 resets" in notes
    assert "spread evenly over 3 days" in notes


def test_a_years_counter_gives_the_rain_back(read: Reader) -> None:
    rain, days = plausible_rain(500), days_from("2012-01-01", 500)
    total, counter = 0.0, []
    for day, amount in zip(days, rain, strict=True):
        total = amount if (day.month, day.day) == (1, 1) else total + amount
        counter.append(f"{total:.1f}")
    record = read(table("date,rain_mm", list(zip(days, counter, strict=True))), readings="cumulative")
    np.testing.assert_allclose(record.column("rain"), rain[1:], atol=1e-9)


def test_a_small_fall_is_a_reading_error_and_no_reset(read: Reader) -> None:
    text = "date,rain_mm\n2012-01-01,100\n2012-01-02,99.8\n2012-01-03,103\n"
    assert read(text, readings="cumulative").column("rain") == pytest.approx([0, 3.2])


def test_adding_two_readings_of_a_counter_is_refused(read: Reader) -> None:
    with pytest.raises(InputError, match=r"contradict each other"):
        read("date,rain_mm\n2012-01-01,1\n", readings="cumulative", same_day="add")


def test_a_network_file_holds_no_counter(read: Reader) -> None:
    with pytest.raises(InputError, match=r"holds no cumulative readings; leave readings out"):
        read("ZZC00000001,20110401,PRCP,254,,,X,0700\n", readings="cumulative")
