"""Columns and units of plain CSV files: taken from the header or the scenario, never guessed."""

from __future__ import annotations

import numpy as np
import pytest

from holdwater.errors import InputError
from tests.weather.files import Reader, days_from, plausible_rain, table


@pytest.mark.parametrize(
    ("header", "factor"),
    [
        ("date,rain_in", 25.4),
        ("date,rain_mm", 1.0),
        ("Date,prcp (mm)", 1.0),
        ("DATE,PRCP [in]", 25.4),
        ("day,Rainfall (inches)", 25.4),
        ("Date,Daily rain total in", 25.4),
        ("timestamp,rain_tenths_of_mm", 0.1),
    ],
)
def test_rain_unit_from_the_header(read: Reader, header: str, factor: float) -> None:
    record = read(table(header, ["2012-01-01,1.5", "2012-01-02,0"]))
    np.testing.assert_allclose(record.column("rain"), [1.5 * factor, 0.0], rtol=1e-15)


@pytest.mark.parametrize("header", ["date,precipitation", "date,PRCP", "date,rain"])
def test_rain_without_a_unit_is_refused_with_the_cure(read: Reader, header: str) -> None:
    with pytest.raises(InputError, match=r'has no unit; say rain_unit = "mm", "in" or "tenths of mm"'):
        read(table(header, ["2012-01-01,1.5"]))


def test_rain_unit_from_the_scenario(read: Reader) -> None:
    record = read(table("date,precipitation", ["2012-01-01,1.5"]), rain_unit="in")
    assert record.column("rain") == pytest.approx([38.1])
    assert record.provenance.units_as_read == "rain in inches"


def test_scenario_overrules_a_header_that_lies_and_says_so(read: Reader) -> None:
    record = read(table("date,rain_mm", ["2012-01-01,15"]), rain_unit="tenths of mm")
    assert record.column("rain") == pytest.approx([1.5])
    assert any("tenths of mm, as the scenario says" in note for note in record.provenance.notes)


def test_unknown_unit_is_refused(read: Reader) -> None:
    with pytest.raises(InputError, match=r"has the unit 'cm', which is not known; say rain_unit"):
        read(table("date,rain (cm)", ["2012-01-01,1.5"]))


def test_two_candidates_are_refused_by_name(read: Reader) -> None:
    with pytest.raises(InputError, match=r"more than one column of rain: 'rain_in', 'rain_mm'; choose with"):
        read(table("date,rain_in,rain_mm", ["2012-01-01,1,25.4"]))


def test_two_candidates_settled_by_the_scenario(read: Reader) -> None:
    record = read(table("date,rain_in,rain_mm", ["2012-01-01,1,26"]), rain_column="rain_mm")
    assert record.column("rain") == pytest.approx([26.0])


def test_no_rain_column_lists_what_there_is(read: Reader) -> None:
    with pytest.raises(
        InputError, match=r"no column of rain .* columns are 'date', 'wet'; choose with rain_column"
    ):
        read(table("date,wet", ["2012-01-01,1"]))


def test_named_column_that_is_not_there(read: Reader) -> None:
    with pytest.raises(InputError, match=r'rain_column = "rein" was not found; the columns are'):
        read(table("date,rain_mm", ["2012-01-01,1"]), rain_column="rein")


def test_all_faults_of_the_header_at_once(read: Reader) -> None:
    with pytest.raises(InputError) as caught:
        read(table("when,rain,tmax", ["2012-01-01,1,20"]))
    text = str(caught.value)
    assert len(caught.value.faults) == 3
    assert "no column of date" in text
    assert "'rain' has no unit" in text
    assert 'temperature_unit = "degC" or "degF"' in text


def test_temperatures_in_fahrenheit_and_evapotranspiration_in_inches(read: Reader) -> None:
    record = read(table("date,rain_mm,t_max_f,tmin (°F),et0_in", ["2012-01-01,1,50,32,0.1"]))
    assert record.column("t_max") == pytest.approx([10.0])
    assert record.column("t_min") == pytest.approx([0.0])
    assert record.column("et0") == pytest.approx([2.54])


def test_evapotranspiration_without_a_unit_is_left_out_and_said(read: Reader) -> None:
    record = read(table("date,rain_mm,et0", ["2012-01-01,1,3"]))
    assert record.column("et0") is None
    assert any("'et0' was not used" in note for note in record.provenance.notes)


@pytest.mark.parametrize("separator", [",", ";", "\t", "|"])
def test_separators(read: Reader, separator: str) -> None:
    text = "date,rain_mm\n2012-01-01,1.5\n2012-01-02,0\n".replace(",", separator)
    assert read(text).column("rain") == pytest.approx([1.5, 0.0])


def test_columns_parted_by_blanks(read: Reader) -> None:
    assert read("date   rain_mm\n2012-01-01   1.5\n2012-01-02 \t0\n").column("rain") == pytest.approx(
        [1.5, 0]
    )


def test_decimal_comma_with_semicolons(read: Reader) -> None:
    record = read("date;rain_mm\n2012-01-01;1,5\n2012-01-02;12,25\n")
    assert record.column("rain") == pytest.approx([1.5, 12.25])


def test_decimal_comma_in_quotes(read: Reader) -> None:
    assert read('date,rain_mm\n2012-01-01,"1,5"\n').column("rain") == pytest.approx([1.5])


def test_decimal_comma_without_quotes_names_the_line(read: Reader) -> None:
    with pytest.raises(InputError, match=r"line 3 has more fields than the 2 columns; a decimal comma"):
        read("date,rain_mm\n2012-01-01,1\n2012-01-02,1,5\n")


def test_thousands_or_decimals_is_asked(read: Reader) -> None:
    with pytest.raises(
        InputError, match=r"is '1,250' .line 2. one number with a decimal comma, or thousands"
    ):
        read("date;rain_mm\n2012-01-01;1,250\n2012-01-02;0\n")
    record = read("date;rain_mm\n2012-01-01;1,250\n2012-01-02;0\n", decimal=",")
    assert record.column("rain") == pytest.approx([1.25, 0.0])


def test_both_decimal_marks_are_refused(read: Reader) -> None:
    with pytest.raises(InputError, match=r"mixes decimal points \(line 2\) and commas \(line 3\)"):
        read("date;rain_mm\n2012-01-01;1.5\n2012-01-02;1,5\n")


def test_comments_blank_lines_and_surplus_separators(read: Reader) -> None:
    text = "# invented\n\ndate,rain_mm\n2012-01-01,1.5,\n\n,,\n# a remark\n2012-01-02,0\n"
    assert read(text).column("rain") == pytest.approx([1.5, 0.0])


def test_quoted_everything_and_crlf(read: Reader) -> None:
    text = '"date","name","rain_mm"\r\n"2012-01-01","A, B","1.5"\r\n"2012-01-02","A, B"," 0 "\r\n'
    assert read(text).column("rain") == pytest.approx([1.5, 0.0])


def test_a_quote_never_closed(read: Reader) -> None:
    with pytest.raises(InputError, match=r"line 2 opens a quote that is never closed"):
        read('date,rain_mm\n2012-01-01,"1.5\n2012-01-02,0\n')


def test_short_lines_are_named(read: Reader) -> None:
    with pytest.raises(InputError, match=r"line 3 has fewer fields than the 2 columns"):
        read("date,rain_mm\n2012-01-01,1\n2012-01-02\n")


def test_no_header(read: Reader) -> None:
    with pytest.raises(InputError, match=r"has no header: line 1 is '2012-01-01,1.5'; write a first line"):
        read("2012-01-01,1.5\n2012-01-02,0\n")


def test_one_column_only(read: Reader) -> None:
    with pytest.raises(InputError, match=r"names one column only"):
        read("rain_mm\n1.5\n")


def test_year_month_day_columns(read: Reader) -> None:
    record = read("Year,Month,Day,rain_mm\n2012,2,28,1\n2012,2,29,2\n2012,3,1,3\n")
    assert str(record.last) == "2012-03-01"
    with pytest.raises(InputError, match=r"year, month and day on line 2 make no day"):
        read("Year,Month,Day,rain_mm\n2011,2,29,1\n")


def test_numbers_equal_python_floats_to_the_last_bit(read: Reader) -> None:
    rain = plausible_rain(400)
    record = read(table("date,rain_mm", list(zip(days_from("2011-01-01", 400), rain, strict=True))))
    np.testing.assert_array_equal(record.column("rain"), rain)


def test_lines_are_counted_right_after_a_line_feed_inside_quotes(read: Reader) -> None:
    text = '# "a stray quote\ndate,rain_mm,note\n2012-01-01,1,"two\nlines"\n2012-01-02,wet,x\n'
    with pytest.raises(InputError, match=r"'wet' \(line 5\)"):
        read(text)
