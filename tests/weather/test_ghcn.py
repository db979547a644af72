"""GHCN-Daily: fixed-width station files and tables in long form, with every flag that changes a value.

Layout and flags: National Centers for Environmental Information, readme of GHCN-Daily. The data
are invented.
"""

from __future__ import annotations

import gzip
from pathlib import Path

import numpy as np
import pytest

from holdwater.errors import InputError
from holdwater.weather import Origin
from holdwater.weather.inspection import inspect
from tests.weather.files import Reader, cell, dly_line

ID = "ZZC00000001"
APRIL = {
    1: cell(254),
    2: cell(0, "T"),
    3: cell(0, "P"),
    4: cell(907, " ", "S"),
    5: cell(0),
    # 6, 7, 8 stand in the total of the 8th
    9: cell(33, " ", " ", "S"),
    10: cell(5),
}


def april(**lines: dict[int, str]) -> str:
    text = dly_line(ID, 2011, 4, "TMAX", {d: cell(200 + d) for d in range(1, 11)})
    text += dly_line(ID, 2011, 4, "TMIN", {d: cell(-10, " ", "I" if d == 2 else " ") for d in range(1, 11)})
    text += dly_line(ID, 2011, 4, "PRCP", APRIL)
    for element, cells in lines.items():
        text += dly_line(ID, 2011, 4, element, cells)
    return text


WITH_TOTAL = {"MDPR": {8: cell(30)}, "DAPR": {8: cell(3)}}


def test_every_flag_of_a_dly_file(read: Reader) -> None:
    record = read(april(**WITH_TOTAL), name="zz.dly", missing_days="zero")
    o = Origin
    assert [Origin(int(c)) for c in record.data["origin"]] == [
        o.OBSERVED, o.TRACE, o.ZERO, o.ZERO, o.OBSERVED, o.SPREAD, o.SPREAD, o.SPREAD, o.OBSERVED, o.OBSERVED,
    ]  # fmt: skip
    assert record.column("rain") == pytest.approx([25.4, 0, 0, 0, 0, 1, 1, 1, 3.3, 0.5])
    assert record.column("t_max")[:2] == pytest.approx([20.1, 20.2])
    assert record.provenance.station == ID
    assert record.provenance.licence.startswith("NOAA GHCN-Daily")
    notes = " | ".join(record.provenance.notes)
    assert (
        "failed the source's quality checks: 1 (flags S), counted as missing: 2011-04-04 (907 tenths of mm, that "
        "is 90.7 mm)" in notes
    )
    assert "'missing, presumed zero' by the source: 1, counted as missing" in notes
    assert "hourly synoptic reports (source flag S): 1 days" in notes
    assert "multi-day totals (MDPR): 1, spread evenly over 3 days" in notes
    assert "t_min was missing on 1 day" in notes  # its quality flag


def test_a_total_without_its_length_stays_missing(read: Reader) -> None:
    record = read(april(MDPR={8: cell(30)}), name="zz.dly", missing_days="zero")
    assert record.provenance.missing == 5
    assert any("could not be spread: 1; their days stay missing" in n for n in record.provenance.notes)


def test_a_total_over_a_measured_day_spreads_the_rest(read: Reader) -> None:
    record = read(april(MDPR={8: cell(30)}, DAPR={8: cell(4)}), name="zz.dly", missing_days="zero")
    assert record.column("rain")[4:8] == pytest.approx([0, 1, 1, 1])  # the 5th was measured: 0


def test_a_failed_total_is_not_spread(read: Reader) -> None:
    record = read(april(MDPR={8: cell(30, " ", "G")}, DAPR={8: cell(3)}), name="zz.dly", missing_days="zero")
    assert record.provenance.missing == 5


def test_trailing_blanks_cut_off_and_gzip(read: Reader) -> None:
    text = "\n".join(line.rstrip() for line in april(**WITH_TOTAL).splitlines())
    record = read(gzip.compress(text.encode()), name="zz.dly.gz", missing_days="zero")
    assert record.column("rain").sum() == pytest.approx(32.2)


def test_a_month_has_its_own_number_of_days(read: Reader) -> None:
    text = dly_line(ID, 2011, 2, "PRCP", {d: cell(d % 5) for d in range(1, 29)})
    text += dly_line(ID, 2011, 3, "PRCP", {d: cell(d % 7) for d in range(1, 32)})
    record = read(text, name="zz.dly")
    assert len(record.days) == 28 + 31
    assert record.column("rain")[27:29] == pytest.approx([0.3, 0.1])


def test_two_stations_in_one_dly_file(read: Reader) -> None:
    text = april() + april().replace(ID, "ZZC00000002")
    with pytest.raises(InputError, match=r"holds 2 stations: ZZC00000001, ZZC00000002; choose with station"):
        read(text, name="zz.dly")
    record = read(text, name="zz.dly", station="ZZC00000002", missing_days="zero")
    assert record.provenance.station == "ZZC00000002"
    with pytest.raises(InputError, match=r'has no station "ZZC9"; it holds'):
        read(text, name="zz.dly", station="ZZC9")


def test_a_dly_file_without_rain(read: Reader) -> None:
    with pytest.raises(InputError, match=r"has no line of rain \(PRCP\)"):
        read(dly_line(ID, 2011, 4, "SNWD", {1: cell(5)}), name="zz.dly")


def test_characters_that_are_no_value_name_the_line(read: Reader) -> None:
    text = april().replace("  254", "  2x4")
    with pytest.raises(InputError, match=r"line 3 of a NOAA GHCN-Daily station file .* cannot be read"):
        read(text, name="zz.dly")


LONG = f"""{ID},20110401,PRCP,254,,,X,0700
{ID},20110401,TMAX,201,,,X,
{ID},20110401,TMIN,-10,,,X,
{ID},20110402,PRCP,0,T,,X,0700
{ID},20110402,TMIN,-11,,I,X,
{ID},20110403,PRCP,0,P,,X,0700
{ID},20110404,PRCP,907,,S,X,0700
{ID},20110405,PRCP,0,,,X,0800
{ID},20110408,MDPR,30,,,X,
{ID},20110408,DAPR,3,,,X,
{ID},20110409,PRCP,33,,,S,0700
"""


def test_every_flag_of_a_table_in_long_form(read: Reader) -> None:
    record = read(LONG, missing_days="zero")
    assert record.column("rain") == pytest.approx([25.4, 0, 0, 0, 0, 1, 1, 1, 3.3])
    assert record.provenance.missing == 2
    assert record.provenance.day_ends == "07:00 (observation time in the file)"
    notes = " | ".join(record.provenance.notes)
    assert "the hour of observation changes: 07:00 on 5 days, 08:00 on 1 days" in notes
    assert "(flags S)" in notes
    assert "presumed zero" in notes
    assert "synoptic" in notes


def test_long_form_with_a_header_and_quotes(read: Reader) -> None:
    header = "ID,DATE,ELEMENT,DATA_VALUE,M_FLAG,Q_FLAG,S_FLAG,OBS_TIME\n"
    plain, named = read(LONG, missing_days="zero"), read(header + LONG, missing_days="zero")
    np.testing.assert_array_equal(plain.column("rain"), named.column("rain"))


def test_a_year_of_all_stations_needs_one_chosen(read: Reader) -> None:
    text = LONG + LONG.replace(ID, "ZZC00000002").replace(",254,", ",100,")
    with pytest.raises(InputError, match=r"holds 2 stations"):
        read(text)
    assert read(text, station="ZZC00000002", missing_days="zero").column("rain")[0] == pytest.approx(10.0)
    with pytest.raises(InputError, match=r'no station "ZZC3"'):
        read(text, station="ZZC3")


def test_absent_days_of_a_network_are_missing_whatever_is_declared(read: Reader) -> None:
    with pytest.raises(InputError, match=r'absent_days = "dry" is for logs that list rainy days only'):
        read(LONG, absent_days="dry")


def test_the_same_rain_in_three_forms(tmp_path: Path) -> None:
    (tmp_path / "a.dly").write_text(april(**WITH_TOTAL))
    (tmp_path / "b.csv").write_text(LONG + f"{ID},20110410,PRCP,5,,,X,0700\n")
    dly, long = inspect(tmp_path / "a.dly"), inspect(tmp_path / "b.csv")
    assert (dly.format, long.format) == ("ghcn-dly", "ghcn-csv")
    assert dly.form == "NOAA GHCN-Daily station file (.dly)"
    np.testing.assert_array_equal(dly.record.column("rain"), long.record.column("rain"))
    np.testing.assert_array_equal(dly.record.data["origin"], long.record.data["origin"])
