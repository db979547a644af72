"""Which reader a file goes to, and keys that cannot take effect."""

from __future__ import annotations

from pathlib import Path

import pytest

from holdwater.errors import InputError
from holdwater.weather import Record
from holdwater.weather.formats.recognise import recognise
from tests.weather import test_ghcn, test_national_tables, test_noaa_tables
from tests.weather.files import Reader


@pytest.mark.parametrize(
    ("text", "name"),
    [
        (test_ghcn.april(), "ghcn-dly"),
        (test_ghcn.LONG, "ghcn-csv"),
        (test_noaa_tables.SUMMARIES, "noaa-daily"),
        (test_noaa_tables.order(test_noaa_tables.INCHES), "noaa-order"),
        (test_national_tables.AU, "australia"),
        (test_national_tables.CA, "canada"),
        ("date,rain_mm\n2012-01-01,1\n", "csv"),
        ("\n\n# invented\ndate;rain_mm\n", "csv"),
        ("", "csv"),
    ],
)
def test_recognised_by_content(text: str, name: str) -> None:
    assert recognise(text.encode()) == name


def test_the_name_of_the_file_does_not_matter(read: Reader) -> None:
    assert read(
        test_ghcn.april(**test_ghcn.WITH_TOTAL), name="misnamed.csv", missing_days="zero"
    ).provenance.station


def test_format_overrules_recognition(read: Reader) -> None:
    text = "STATION,DATE,PRCP\nmine,2012-01-01,1\nmine,2012-01-02,0\n"
    record: Record = read(text, format="csv", rain_unit="mm", rain_column="PRCP")
    assert record.column("rain") == pytest.approx([1, 0])


@pytest.mark.parametrize("name", ["ghcn-dly", "ghcn-csv", "australia", "canada", "noaa-daily", "noaa-order"])
def test_a_format_the_file_has_not(read: Reader, name: str) -> None:
    with pytest.raises(InputError, match=r"gauge.csv"):
        read("date,rain\n2012-01-01,1\n", format=name)
    with pytest.raises(InputError, match=r"cannot be opened as netCDF"):
        read("date,rain\n2012-01-01,1\n", format="netcdf")


def test_keys_without_effect_are_faults_all_at_once(read: Reader) -> None:
    with pytest.raises(InputError) as caught:
        read(test_ghcn.april(), rain_unit="mm", rain_column="x", missing_marks=["9"])
    assert len(caught.value.faults) == 3
    assert 'is read as format = "ghcn-dly", on which rain_column has no effect' in str(caught.value)
    with pytest.raises(InputError, match=r'format = "csv", on which station has no effect; leave it out'):
        read("date,rain_mm\n2012-01-01,1\n", station="x")


def test_every_reader_is_in_a_file_of_its_own() -> None:
    from holdwater.weather.formats import recognise as formats

    folder = Path(formats.__file__).parent
    for module in formats.MODULES.values():
        assert (folder / f"{module}.py").is_file()
