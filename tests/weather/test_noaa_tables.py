"""NOAA tables with a column per element: tenths, inches and mm under much the same header. Invented data."""

from __future__ import annotations

import numpy as np
import pytest

from holdwater.errors import InputError
from holdwater.weather import Origin
from tests.weather.files import Reader, days_from, plausible_rain

PLACE = '"LARKFIELD, ZZ US"'
MM = plausible_rain(120, seed=3)
DAYS = days_from("2015-01-01", 120)


def daily(rows: list[str], extra: str = "") -> str:
    header = "STATION,DATE,LATITUDE,LONGITUDE,ELEVATION,NAME,PRCP,PRCP_ATTRIBUTES,TMAX,TMAX_ATTRIBUTES"
    body = "\n".join(
        f'"ZZW00000001","{row.split("|")[0]}","38.4","-109.2","1585.0",{PLACE},{row.split("|")[1]}'
        for row in rows
    )
    return header + extra + "\n" + body + "\n"


SUMMARIES = daily(
    [
        '2015-01-01|"  254",",,X,0700","  120",",,X"',
        '2015-01-02|"    0","T,,X,0700","  -15",",,X"',
        '2015-01-03|"    0","P,,X,0700","  999",",I,X"',
        '2015-01-04|"  907",",S,X,0700","   10",",,X"',
        '2015-01-05|"    5",",,S,0700","   10",",,X"',
    ]
)


def test_daily_summaries_are_tenths_with_flags(read: Reader) -> None:
    record = read(SUMMARIES, missing_days="zero")
    assert record.column("rain") == pytest.approx([25.4, 0, 0, 0, 0.5])
    assert [int(c) for c in record.data["origin"]] == [
        Origin.OBSERVED,
        Origin.TRACE,
        Origin.ZERO,
        Origin.ZERO,
        1,
    ]
    assert record.column("t_max") == pytest.approx([12.0, -1.5, -0.25, 1.0, 1.0])  # the failed one is bridged
    told = record.provenance
    assert (told.station, told.place) == ("ZZW00000001", "LARKFIELD, ZZ US")
    assert told.units_as_read == "rain in tenths of mm, temperatures in tenths of degC"
    assert told.day_ends.startswith("07:00")


def test_daily_summaries_with_decimals_are_refused(read: Reader) -> None:
    with pytest.raises(
        InputError, match=r"looks like a NOAA daily-summaries table .* line 2 have decimals; say"
    ):
        read(SUMMARIES.replace('"  254"', '" 25.4"'))


def order(values: list[str], header: str = "STATION,NAME,LATITUDE,LONGITUDE,ELEVATION,DATE,PRCP") -> str:
    rows = [f"ZZW00000001,{PLACE},38.4,-109.2,1585,{d},{v}" for d, v in zip(DAYS, values, strict=False)]
    return "\n".join([header, *rows]) + "\n"


INCHES = [f"{r / 25.4:.2f}" for r in MM]
TENTHS = [f"{r * 10:.0f}" for r in MM]


def test_an_order_in_inches_is_known_by_its_hundredths(read: Reader) -> None:
    record = read(order(INCHES))
    assert record.column("rain") == pytest.approx([float(v) * 25.4 for v in INCHES])
    assert any("read in inches and degF, as" in n and "in hundredths" in n for n in record.provenance.notes)


def test_an_order_in_mm_is_known_by_its_tenths(read: Reader) -> None:
    record = read(order([f"{r:.1f}" for r in MM]))
    assert record.column("rain") == pytest.approx(MM)
    assert any("read in mm and degC, as" in n and "in tenths" in n for n in record.provenance.notes)


def test_an_order_whose_values_leave_a_doubt_is_asked_for(read: Reader) -> None:
    with pytest.raises(
        InputError, match=r'does not tell inches from mm, nor do its values; say rain_unit = "in"'
    ):
        read(order(TENTHS))
    with pytest.raises(InputError, match=r"does not tell inches from mm"):
        read(order(INCHES[:10]))
    record = read(order(TENTHS), rain_unit="tenths of mm")
    assert record.column("rain") == pytest.approx(MM)


def test_three_units_of_the_same_rain_give_the_same_record(read: Reader) -> None:
    """A file in tenths, one in inches and one in mm, each declared."""
    tenths = read(order(TENTHS), rain_unit="tenths of mm").column("rain")
    mm = read(order([f"{r:.1f}" for r in MM]), rain_unit="mm").column("rain")
    inches = read(order(INCHES), rain_unit="in").column("rain")
    np.testing.assert_allclose(tenths, mm, rtol=1e-12)
    np.testing.assert_allclose(inches, mm, atol=0.128)  # a hundredth of an inch is 0.254 mm


def test_the_wrong_unit_of_an_order_is_refused(read: Reader) -> None:
    with pytest.raises(InputError, match=r"looks like inches taken for mm"):
        read(order(INCHES), rain_unit="mm")
    with pytest.raises(InputError, match=r"looks like mm taken for inches"):
        read(order([f"{r:.1f}" for r in MM]), rain_unit="in")
    with pytest.raises(InputError, match=r"looks like tenths of a millimetre"):
        read(order(TENTHS), rain_unit="mm")


def test_order_with_flags_temperatures_and_a_total(read: Reader) -> None:
    header = "STATION,NAME,DATE,DAPR,MDPR,PRCP,PRCP_ATTRIBUTES,TMAX,TMIN"
    text = header + "\n" + "\n".join(
        [
            f'ZZ1,{PLACE},2015-01-01,,,0.10,",,X",50,32',
            f'ZZ1,{PLACE},2015-01-02,,,,,51,33',
            f'ZZ1,{PLACE},2015-01-03,,,,,52,34',
            f'ZZ1,{PLACE},2015-01-04,3,0.30,,,53,35',
            f'ZZ1,{PLACE},2015-01-05,,,0.00,"T,,X",54,36',
        ]
    )  # fmt: skip
    record = read(text, rain_unit="in")
    assert record.column("rain") == pytest.approx([2.54, 2.54, 2.54, 2.54, 0])
    assert [int(c) for c in record.data["origin"]] == [1, 3, 3, 3, 2]
    assert record.column("t_max")[0] == pytest.approx(10.0)


def test_two_stations_in_an_order(read: Reader) -> None:
    text = order(INCHES) + order(INCHES).split("\n", 1)[1].replace("ZZW00000001", "ZZW00000002")
    with pytest.raises(InputError, match=r"holds 2 stations: ZZW00000001, ZZW00000002; choose"):
        read(text)
    assert read(text, station="ZZW00000002").provenance.station == "ZZW00000002"


def test_an_order_without_rain(read: Reader) -> None:
    with pytest.raises(InputError, match=r"no column DATE or PRCP: the order holds no rain"):
        read("STATION,DATE,LATITUDE,TMAX\nZZ1,2015-01-01,1,50\n")
