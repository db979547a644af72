"""What can be wrong with the file itself, each with its own words."""

from __future__ import annotations

import gzip
import os
from pathlib import Path

import pytest

from holdwater.errors import InputError
from holdwater.scenario.schema import Weather
from holdwater.weather import read_weather
from tests.weather.files import Reader

GOOD = "date,rain_mm\n2012-01-01,1.5\n2012-01-02,0\n"


def test_missing_file_suggests_the_one_beside_it(tmp_path: Path) -> None:
    (tmp_path / "larkfield-weather.csv").write_text(GOOD)
    with pytest.raises(
        InputError, match=r"'larkfeld-weather.csv' was not found .* did you mean 'larkfield-weather.csv'"
    ):
        read_weather(Weather(file="larkfeld-weather.csv"), tmp_path)
    with pytest.raises(InputError, match=r"was not found .* paths count from the scenario file's folder"):
        read_weather(Weather(file="nowhere/else.csv"), tmp_path)


def test_a_folder_in_place_of_a_file(tmp_path: Path) -> None:
    with pytest.raises(InputError, match=r"is a folder; name the file inside it"):
        read_weather(Weather(file="."), tmp_path)


@pytest.mark.parametrize("content", ["", " \n\n ", gzip.compress(b"", mtime=0)])
def test_empty_file(read: Reader, content: str | bytes) -> None:
    with pytest.raises(InputError, match=r"'gauge.csv' is empty"):
        read(content)


def test_header_only(read: Reader) -> None:
    with pytest.raises(InputError, match=r"holds a header line and no data"):
        read("date,rain_mm\n")


def test_comments_only(read: Reader) -> None:
    with pytest.raises(InputError, match=r"holds comments only"):
        read("# invented\n# nothing else\n")


def test_text_that_is_not_utf8_names_line_and_byte(read: Reader) -> None:
    latin = "date,rain_mm,remark\n2012-01-01,1,dry\n2012-01-02,2,caf\xe9\n".encode("latin-1")
    with pytest.raises(
        InputError, match=r'not UTF-8 text: line 3 holds the byte 0xe9; .* encoding = "latin-1"'
    ):
        read(latin)
    assert read(latin, encoding="latin-1").column("rain") == pytest.approx([1, 2])


def test_utf16(read: Reader) -> None:
    with pytest.raises(
        InputError, match=r'is UTF-16 text, not UTF-8; save it as CSV UTF-8, or say encoding = "utf-16"'
    ):
        read(GOOD.encode("utf-16"))
    assert read(GOOD.encode("utf-16"), encoding="utf-16").column("rain") == pytest.approx([1.5, 0])


def test_unknown_or_wrong_encoding(read: Reader) -> None:
    with pytest.raises(InputError, match=r'encoding = "klingon" is not known'):
        read(GOOD, encoding="klingon")
    with pytest.raises(InputError, match=r'is not text in encoding = "ascii"'):
        read(GOOD + "# \xe9", encoding="ascii")


def test_byte_order_mark_and_old_line_ends(read: Reader) -> None:
    assert read(b"\xef\xbb\xbf" + GOOD.encode()).column("rain") == pytest.approx([1.5, 0])
    assert read(GOOD.replace("\n", "\r")).column("rain") == pytest.approx([1.5, 0])


def test_gzip_is_known_by_content(read: Reader) -> None:
    assert read(gzip.compress(GOOD.encode()), name="gauge.txt").column("rain") == pytest.approx([1.5, 0])


def test_truncated_gzip(read: Reader) -> None:
    with pytest.raises(InputError, match=r"is a damaged gzip file .* fetch or pack it again"):
        read(gzip.compress(GOOD.encode() * 50)[:-12])


@pytest.mark.parametrize(
    ("start", "cure"),
    [
        (b"PK\x03\x04", "zip archive or a spreadsheet workbook; .* save the sheet as CSV"),
        (b"\xd0\xcf\x11\xe0", "old spreadsheet workbook"),
        (b"%PDF-1.7", "is a PDF"),
        (b"BZh9", "packed with bzip2"),
        (b"\xfd7zXZ\x00", "packed with xz"),
    ],
)
def test_other_kinds_of_file_are_named(read: Reader, start: bytes, cure: str) -> None:
    with pytest.raises(InputError, match=cure):
        read(start + b"rest")


def test_zero_bytes(read: Reader) -> None:
    with pytest.raises(InputError, match=r"is not text: line 2 holds a zero byte"):
        read(b"date,rain_mm\n2012-01-01,\x00\n")


@pytest.mark.skipif(os.name != "posix" or os.geteuid() == 0, reason="the superuser may read everything")
def test_a_file_that_may_not_be_read(tmp_path: Path) -> None:
    (tmp_path / "x.csv").write_text(GOOD)
    (tmp_path / "x.csv").chmod(0)
    with pytest.raises(InputError, match=r"cannot be read: Permission denied"):
        read_weather(Weather(file="x.csv"), tmp_path)


def test_an_impossible_path(tmp_path: Path) -> None:
    with pytest.raises(InputError, match=r"cannot be looked up|was not found"):
        read_weather(Weather(file="x" * 5000), tmp_path)


def test_separator_that_is_none(read: Reader) -> None:
    with pytest.raises(InputError, match=r'separator = "::" is not one character'):
        read(GOOD, separator="::")
    assert read(GOOD.replace(",", "\t"), separator="tab").column("rain") == pytest.approx([1.5, 0])
