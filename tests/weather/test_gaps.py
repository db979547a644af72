"""Trace and missing marks, and what happens to missing days: named, counted, never zero by accident."""

from __future__ import annotations

import datetime as dt

import numpy as np
import pytest

from holdwater.errors import InputError
from holdwater.weather import Origin
from tests.weather.files import Reader, days_from, plausible_rain, table


def origins_of(record: object) -> list[Origin]:
    return [Origin(int(code)) for code in record.data["origin"]]  # type: ignore[attr-defined]


@pytest.mark.parametrize("mark", ["T", "t", "tr", "Trace", "<0.2", "< 0.1"])
def test_trace_is_nothing_but_not_missing(read: Reader, mark: str) -> None:
    record = read(f"date,rain_mm\n2012-01-01,{mark}\n2012-01-02,1\n")
    assert record.column("rain") == pytest.approx([0, 1])
    assert origins_of(record) == [Origin.TRACE, Origin.OBSERVED]
    assert record.provenance.missing == 0


def test_less_than_a_fifth_of_an_inch_is_no_trace(read: Reader) -> None:
    with pytest.raises(InputError, match=r"holds '<0.2' \(line 2\): not a usable number"):
        read("date,rain_in\n2012-01-01,<0.2\n")


@pytest.mark.parametrize("mark", ["", "NA", "n/a", "NaN", "M", "-", "-9999", "-9999.0", "-999.9", "missing"])
def test_missing_marks(read: Reader, mark: str) -> None:
    text = f"date,rain_mm\n2012-01-01,1\n2012-01-02,{mark}\n2012-01-03,1\n"
    with pytest.raises(
        InputError, match=r"1 day has no rain value \(2012: 1\); the longest gap is on 2012-01-02"
    ):
        read(text)
    record = read(text, missing_days="zero")
    assert origins_of(record) == [Origin.OBSERVED, Origin.ZERO, Origin.OBSERVED]
    assert (record.provenance.missing, record.provenance.filled) == (1, 1)


def test_own_missing_marks(read: Reader) -> None:
    record = read(
        "date,rain_mm\n2012-01-01,1\n2012-01-02,-1\n2012-01-03,broken\n2012-01-04,2\n",
        missing_marks=["-1", "broken"],
        missing_days="zero",
    )
    assert record.provenance.missing == 2


def test_a_text_that_is_no_number_names_its_lines(read: Reader) -> None:
    with pytest.raises(
        InputError, match=r"holds 'wet' \(line 3\), '5 mm' \(line 4\): not a usable number; write"
    ):
        read("date,rain_mm\n2012-01-01,1\n2012-01-02,wet\n2012-01-03,5 mm\n")


def test_faults_of_dates_and_cells_come_together(read: Reader) -> None:
    with pytest.raises(InputError) as caught:
        read("date,rain_mm,t_max_c\nnever,1,2\n2012-01-02,wet,hot\n")
    assert len(caught.value.faults) == 3


def test_a_gap_of_forty_days_is_told_from_to(read: Reader) -> None:
    days = days_from("2011-01-01", 365)
    rows = [(d, r) for d, r in zip(days, plausible_rain(365), strict=True)]
    gap = rows[:59] + rows[99:]
    with pytest.raises(
        InputError,
        match=r"40 days have no rain value \(2011: 40\); the longest gap is 40 days, 2011-03-01 to 2011-04-09",
    ) as caught:
        read(table("date,rain_mm", gap))
    for choice, meaning in (
        ('missing_days = "climate"', "another, middling year of this record"),
        ('"neighbour"', 'name it with neighbour = "FILE"'),
        ('"zero"', "no rain, which makes the record too dry"),
    ):
        assert f"{choice} (" in str(caught.value)
        assert meaning in str(caught.value)
    assert "they are" not in str(caught.value), "one gap is told once"
    assert 'absent_days = "dry"' in str(caught.value)


def test_gaps_outside_the_run_do_not_stop_it(read: Reader) -> None:
    text = "date,rain_mm\n2012-01-01,1\n2012-01-03,0\n2012-01-04,2\n"
    record = read(text, first=dt.date(2012, 1, 3))
    assert [str(record.first), str(record.last)] == ["2012-01-03", "2012-01-04"]
    with pytest.raises(InputError, match=r"covers 2012-01-01 to 2012-01-04, none of the days asked for"):
        read(text, first=dt.date(2013, 1, 1))


def test_absent_days_are_dry_only_when_declared(read: Reader) -> None:
    text = "date,rain_in\n2012-01-01,0.5\n2012-01-05,0.25\n2012-01-06,M\n2012-01-07,1\n"
    with pytest.raises(InputError, match=r"4 days have no rain value"):
        read(text)
    record = read(text, absent_days="dry", missing_days="zero")
    dry = Origin.DECLARED_DRY
    assert origins_of(record) == [
        Origin.OBSERVED, dry, dry, dry, Origin.OBSERVED, Origin.ZERO, Origin.OBSERVED,
    ]  # fmt: skip
    assert record.provenance.missing == 1  # a written M stays missing
    assert any("3 days absent" in n and "3 days after 2012-01-01" in n for n in record.provenance.notes)


def test_missing_days_at_the_ends_are_cut_and_told(read: Reader) -> None:
    record = read("date,rain_mm\n2012-01-01,M\n2012-01-02,1\n2012-01-03,0\n2012-01-04,\n2012-01-05,\n")
    assert [str(record.first), str(record.last)] == ["2012-01-02", "2012-01-03"]
    assert any("last 2 rows, after 2012-01-03" in note for note in record.provenance.notes)


def test_no_rain_at_all_is_no_record(read: Reader) -> None:
    with pytest.raises(InputError, match=r"2 rows, but no rain value in any of them"):
        read("date,rain_mm\n2012-01-01,\n2012-01-02,M\n")


def nine_years(hole: tuple[str, str]) -> tuple[str, np.ndarray, np.ndarray]:
    """Nine invented years, one of them with a hole; text, days and the rain before the hole."""
    days = days_from("2001-01-01", 9 * 365 + 2)
    rain = plausible_rain(len(days), seed=4)
    first, last = (dt.date.fromisoformat(d) for d in hole)
    rows = [(d, "" if first <= d <= last else r) for d, r in zip(days, rain, strict=True)]
    return table("date,rain_mm", rows), np.array(days, dtype="datetime64[D]"), np.array(rain)


def test_climate_copies_the_middle_year(read: Reader) -> None:
    text, days, rain = nine_years(("2005-03-01", "2005-03-31"))
    record = read(text, missing_days="climate")
    got = record.column("rain")
    hole = (days >= np.datetime64("2005-03-01")) & (days <= np.datetime64("2005-03-31"))
    np.testing.assert_array_equal(got[~hole], rain[~hole])
    marches = {
        year: rain[(days >= np.datetime64(f"{year}-03-01")) & (days <= np.datetime64(f"{year}-03-31"))]
        for year in range(2001, 2010)
        if year != 2005
    }
    middle = sorted(marches.values(), key=lambda m: m.sum())[3]  # the drier of the two middle ones of 8
    np.testing.assert_array_equal(got[hole], middle)
    assert set(np.array(origins_of(record))[hole]) == {Origin.CLIMATE}
    assert record.provenance.filled == 31
    assert any("31 days have no rain value" in n and "'climate'" in n for n in record.provenance.notes)


def test_climate_keeps_the_share_of_wet_days(read: Reader) -> None:
    """Single missing days must be wet as often as other days, neither always dry nor always drizzle."""
    days = days_from("1981-01-01", 30 * 365 + 7)
    rain = plausible_rain(len(days), seed=7)
    rows = [(d, "" if i % 7 == 3 else r) for i, (d, r) in enumerate(zip(days, rain, strict=True))]
    record = read(table("date,rain_mm", rows), missing_days="climate")
    filled = record.data["origin"].values == Origin.CLIMATE
    assert filled.sum() > 400
    wet_filled = float((record.column("rain")[filled] > 0).mean())
    wet_else = float((record.column("rain")[~filled] > 0).mean())
    assert wet_filled == pytest.approx(wet_else, abs=0.06)
    assert record.column("rain")[filled].mean() == pytest.approx(
        record.column("rain")[~filled].mean(), rel=0.25
    )


def test_climate_needs_other_years(read: Reader) -> None:
    days = days_from("2011-01-01", 730)
    rows = [
        (d, "" if 40 < i < 45 else r) for i, (d, r) in enumerate(zip(days, plausible_rain(730), strict=True))
    ]
    with pytest.raises(InputError, match=r"needs at least 5 other years .* 2011-02-11 to 2011-02-14"):
        read(table("date,rain_mm", rows), missing_days="climate")


def test_neighbour_without_a_neighbour(read: Reader) -> None:
    with pytest.raises(InputError, match=r'missing_days = "neighbour" needs neighbour = "FILE"'):
        read("date,rain_mm\n2012-01-01,1\n2012-01-03,1\n", missing_days="neighbour")


def test_missing_temperatures_are_bridged_and_told(read: Reader) -> None:
    record = read("date,rain_mm,t_min_c\n2012-01-01,0,1\n2012-01-02,0,\n2012-01-03,0,3\n")
    assert record.column("t_min") == pytest.approx([1, 2, 3])
    assert any("t_min was missing on 1 day:" in note for note in record.provenance.notes)


def test_long_holes_in_temperature_take_the_mean_of_the_calendar_day(read: Reader) -> None:
    days = days_from("2001-01-01", 4 * 365 + 1)
    season = [round(10 - 10 * np.cos(2 * np.pi * (d.timetuple().tm_yday - 15) / 365.25), 2) for d in days]
    rows = [
        (d, 1 if i % 3 else 0, "" if 900 <= i < 940 else t)
        for i, (d, t) in enumerate(zip(days, season, strict=True))
    ]
    record = read(table("date,rain_mm,t_max_c", rows))
    np.testing.assert_allclose(record.column("t_max")[900:940], season[900:940], atol=1.0)


def test_a_column_mostly_empty_is_not_used(read: Reader) -> None:
    record = read("date,rain_mm,t_min_c\n2012-01-01,0,1\n2012-01-02,0,\n2012-01-03,0,\n")
    assert record.column("t_min") is None
    assert any("t_min is missing on 2 of 3 days" in note for note in record.provenance.notes)


def test_a_record_without_a_licence_gets_none_by_filling(read: Reader) -> None:
    record = read("date,rain_mm\n2012-01-01,1\n2012-01-03,1\n", missing_days="zero")
    assert record.provenance.licence == ""
    record = read("date,rain_mm\n2012-01-01,1\n2012-01-03,1\n", missing_days="zero", licence="CC BY 4.0")
    assert record.provenance.licence.startswith("CC BY 4.0")
