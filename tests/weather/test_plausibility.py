"""The gate: what cannot be daily rain stops with days, values and the cure; accept lets it pass."""

from __future__ import annotations

import pytest

from holdwater.errors import InputError
from tests.weather.files import Reader, days_from, plausible_rain, table

YEARS = 3 * 365
DAYS = days_from("2009-01-01", YEARS)
RAIN = plausible_rain(YEARS)


def written(values: list[float] | list[str] | list[int], header: str = "date,rain_mm") -> str:
    return table(header, list(zip(DAYS, values, strict=True)))


def with_value(day: int, value: float) -> str:
    rain = list(RAIN)
    rain[day] = value
    return written(rain)


def test_plain_rain_passes_without_a_word(read: Reader) -> None:
    assert read(written(RAIN)).provenance.notes == ()


def test_tenths_taken_for_mm(read: Reader) -> None:
    tenths = [round(r * 10) for r in RAIN]
    with pytest.raises(
        InputError, match=r'looks like tenths of a millimetre taken for mm.*say rain_unit = "tenths of mm"'
    ):
        read(written(tenths))
    cured = read(written(tenths, "date,rain"), rain_unit="tenths of mm")
    assert cured.column("rain") == pytest.approx(RAIN)


def test_inches_taken_for_mm(read: Reader) -> None:
    inches = [round(r / 25.4, 2) for r in RAIN]
    with pytest.raises(InputError, match=r'looks like inches taken for mm.*say rain_unit = "in"'):
        read(written(inches))
    cured = read(written(inches, "date,rain_in"))
    assert cured.column("rain") == pytest.approx(RAIN, abs=0.13)  # half a hundredth of an inch


def test_mm_taken_for_inches(read: Reader) -> None:
    with pytest.raises(InputError, match=r'looks like mm taken for inches.*say rain_unit = "mm"'):
        read(written(RAIN, "date,rain_in"))


def test_whole_millimetres_are_fine(read: Reader) -> None:
    assert len(read(written([round(r) for r in RAIN])).days) == YEARS


def test_cumulative_counter(read: Reader) -> None:
    total, counter = 0.0, []
    for day, rain in zip(DAYS, RAIN, strict=True):
        total = rain if (day.month, day.day) == (1, 1) else total + rain
        counter.append(round(total, 1))
    with pytest.raises(InputError, match=r"looks like a counter that adds up.*only 2 fall"):
        read(written(counter))


def test_negative_rain(read: Reader) -> None:
    text = with_value(10, -2.5)
    with pytest.raises(InputError, match=r"negative rain on 2009-01-11 \(-2.5 mm\); correct the days"):
        read(text)
    record = read(text, accept=["negative"], missing_days="zero")
    assert record.provenance.missing == 1


def test_more_than_the_world_record(read: Reader) -> None:
    """1825 mm in 24 hours, La Reunion, 7-8 January 1966: World Meteorological Organization archive."""
    with pytest.raises(InputError, match=r"ever measured in 24 hours \(1825 mm\) on 2009-01-11 \(1826 mm\)"):
        read(with_value(10, 1826.0))
    assert read(with_value(10, 1825.0)).column("rain").max() == 1825.0
    accepted = read(with_value(10, 1826.0), accept=["above-record"])
    assert any("accepted by the owner (above-record)" in note for note in accepted.provenance.notes)


def test_fill_value(read: Reader) -> None:
    with pytest.raises(
        InputError,
        match=r'999.9, which often marks a missing day, on 2009-01-11; say missing_marks = \["999.9"\]',
    ):
        read(with_value(10, 999.9))
    assert read(with_value(10, 999.9), missing_marks=["999.9"], missing_days="zero").provenance.missing == 1


def test_repeated_values(read: Reader) -> None:
    rain = list(RAIN)
    rain[100:120] = [2.3] * 20
    with pytest.raises(InputError, match=r"the same rain day after day: 20 days of 2.3 mm, from 2009-04-11"):
        read(written(rain))
    rain[110] = 2.4
    read(written(rain))


def test_maximum_below_minimum(read: Reader) -> None:
    rows = [(d, r, 5.0 if i == 3 else 15.0, 10.0) for i, (d, r) in enumerate(zip(DAYS, RAIN, strict=True))]
    text = table("date,rain_mm,t_max_c,t_min_c", rows)
    with pytest.raises(InputError, match=r"below its minimum on 1 day: 2009-01-04 \(5 below 10 degC\)"):
        read(text)
    record = read(text, accept=["temperature-order"])
    assert record.column("t_max")[3] == pytest.approx(15.0)  # bridged


def test_swapped_temperature_columns(read: Reader) -> None:
    rows = [(d, r, 10.0, 15.0) for d, r in zip(DAYS, RAIN, strict=True)]
    with pytest.raises(InputError, match=r"the two columns are mistaken for each other: set t_min_column"):
        read(table("date,rain_mm,t_max_c,t_min_c", rows))


def test_fahrenheit_taken_for_celsius(read: Reader) -> None:
    rows = [(d, r, 88.0, 61.0) for d, r in zip(DAYS, RAIN, strict=True)]
    with pytest.raises(InputError, match=r"temperatures no place on Earth has had.*temperature_unit"):
        read(table("date,rain_mm,t_max_c,t_min_c", rows))


def test_a_year_of_zeros_in_a_wet_record(read: Reader) -> None:
    rain = [0.0 if d.year == 2010 else r for d, r in zip(DAYS, RAIN, strict=True)]
    with pytest.raises(
        InputError, match=r"year totals that cannot belong to this record \(2010: 0 mm.*must be blank, not 0"
    ):
        read(written(rain))


def test_a_year_in_another_unit(read: Reader) -> None:
    rain = [round(r * 25.4, 1) if d.year == 2010 else r for d, r in zip(DAYS, RAIN, strict=True)]
    with pytest.raises(InputError, match=r"2010: .* a change of unit within the file"):
        read(written(rain))


def test_an_odd_year_is_told_but_does_not_stop(read: Reader) -> None:
    rain = [round(r / 5, 1) if d.year == 2010 else r for d, r in zip(DAYS, RAIN, strict=True)]
    record = read(written(rain))
    assert any("years far from the middle year" in n and "(odd-year)" in n for n in record.provenance.notes)


def test_all_hard_findings_come_together(read: Reader) -> None:
    rain = list(RAIN)
    rain[10], rain[20] = -1.0, 2000.0
    with pytest.raises(InputError) as caught:
        read(written(rain))
    accepted = [f.split('accept = ["')[1].split('"')[0] for f in caught.value.faults]
    assert accepted == ["negative", "above-record"]


def test_accepting_what_no_finding_is_called(read: Reader) -> None:
    with pytest.raises(InputError, match=r'accept = \["tenth"\] names no finding; did you mean \'tenths\'\?'):
        read(written(RAIN), accept=["tenth"])
    with pytest.raises(InputError, match=r"known are above-record, cumulative"):
        read(written(RAIN), accept=["qqqqq"])
