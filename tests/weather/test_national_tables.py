"""Australian and Canadian daily tables with their periods and flags. Invented data."""

from __future__ import annotations

import pytest

from holdwater.errors import InputError
from holdwater.weather import Origin
from tests.weather.files import Reader

O = Origin  # noqa: E741
AU_HEADER = (
    "Product code,Bureau of Meteorology station number,Year,Month,Day,Rainfall amount (millimetres),"
    "Period over which rainfall was measured (days),Quality\n"
)


def australia(*rows: str) -> str:
    return AU_HEADER + "".join(f"IDCXXX0001,000123,{row}\n" for row in rows)


AU = australia(
    "2011,01,01,5.2,1,Y",
    "2011,01,02,0,,Y",
    "2011,01,03,,,",
    "2011,01,04,,,",
    "2011,01,05,9.6,3,Y",
    "2011,01,06,,,",
    "2011,01,07,0.4,1,N",
)


def test_australian_periods_blank_amounts_and_leading_zeros(read: Reader) -> None:
    record = read(AU, missing_days="zero")
    assert record.column("rain") == pytest.approx([5.2, 0, 3.2, 3.2, 3.2, 0, 0.4])
    assert [O(int(c)) for c in record.data["origin"]] == [
        O.OBSERVED, O.OBSERVED, O.SPREAD, O.SPREAD, O.SPREAD, O.ZERO, O.OBSERVED,
    ]  # fmt: skip
    told = record.provenance
    assert told.station == "000123"
    assert told.day_ends.startswith("09:00")
    assert told.missing == 1
    assert any("not yet checked (quality N): 1" in n for n in told.notes)
    assert any("period above one day): 1, spread evenly over 3 days" in n for n in told.notes)


def test_australian_rows_that_make_no_day(read: Reader) -> None:
    with pytest.raises(InputError, match=r"line 2 make no day"):
        read(australia("2011,02,29,1,1,Y"))


def test_australian_day_twice_beside_a_total(read: Reader) -> None:
    with pytest.raises(
        InputError, match=r"holds a day twice beside multi-day totals .*; strike one of the rows"
    ):
        read(AU + "IDCXXX0001,000123,2011,01,01,5.0,1,Y\n")


def canada(*rows: str, latin: bool = False) -> str:
    degree = "°C"
    return (
        '"Longitude (x)","Latitude (y)","Station Name","Climate ID","Date/Time","Year","Month","Day",'
        f'"Max Temp ({degree})","Max Temp Flag","Min Temp ({degree})","Min Temp Flag",'
        '"Total Rain (mm)","Total Rain Flag","Total Snow (cm)","Total Snow Flag",'
        '"Total Precip (mm)","Total Precip Flag"\n'
        + "".join(f'"-109.20","51.40","LARKFIELD","9990001",{row}\n' for row in rows)
    )


def canadian_day(day: int, precip: str, flag: str = "", t_max: str = "5.0") -> str:
    return f'"2011-04-{day:02d}","2011","04","{day:02d}","{t_max}","","-2.0","","0.0","","1.0","","{precip}","{flag}"'


CA = canada(
    canadian_day(1, "4.2"),
    canadian_day(2, "0.0", "T"),
    canadian_day(3, "", "M"),
    canadian_day(4, "0.0", "C"),
    canadian_day(5, "0.0", "L"),
    canadian_day(6, "6.0", "A"),
    canadian_day(7, "0.0", "L"),
    canadian_day(8, "1.5", "E"),
    canadian_day(9, "0.0"),
)


def test_canadian_flags(read: Reader) -> None:
    record = read(CA, missing_days="zero")
    assert record.column("rain") == pytest.approx([4.2, 0, 0, 2, 2, 2, 0, 1.5, 0])
    assert [O(int(c)) for c in record.data["origin"]] == [
        O.OBSERVED, O.TRACE, O.ZERO, O.SPREAD, O.SPREAD, O.SPREAD, O.ZERO, O.OBSERVED, O.OBSERVED,
    ]  # fmt: skip
    told = record.provenance
    assert (told.station, told.place) == ("9990001", "LARKFIELD")
    assert record.column("t_min") == pytest.approx([-2.0] * 9)
    notes = " | ".join(told.notes)
    assert "zeros the source is not sure of (flags C, L): 1 days, counted as missing" in notes
    assert "estimated (flag E): 1 days" in notes


def test_older_canadian_files_have_lines_above_the_header_and_latin_1(read: Reader) -> None:
    preamble = '"Station Name","LARKFIELD"\n"Province","ZZ"\n"Climate ID","9990001"\n' + "\n" * 20
    older = preamble + CA.replace('"Longitude (x)","Latitude (y)","Station Name","Climate ID",', "").replace(
        '"-109.20","51.40","LARKFIELD","9990001",', ""
    )
    record = read(older.encode("latin-1"), missing_days="zero")
    assert record.column("rain").sum() == pytest.approx(11.7)
    assert (record.provenance.station, record.provenance.place) == ("9990001", "LARKFIELD")
    assert any("read as Latin-1" in n for n in record.provenance.notes)


def test_canadian_byte_order_mark(read: Reader) -> None:
    assert read(b"\xef\xbb\xbf" + CA.encode(), missing_days="zero").column("rain")[0] == pytest.approx(4.2)


def test_rain_alone_is_said_to_lack_snow(read: Reader) -> None:
    text = '"Date/Time","Total Rain (mm)","Total Rain Flag"\n"2011-04-01","1.0",""\n"2011-04-02","T",""\n'
    record = read(text)
    assert record.column("rain") == pytest.approx([1, 0])
    assert any("snow is not counted" in n for n in record.provenance.notes)
