"""Inspecting a file, writing it tidily, and reading that back equal."""

from __future__ import annotations

import gzip
from pathlib import Path

import numpy as np
import pytest
import xarray as xr

from holdwater.errors import InputError
from holdwater.scenario.schema import Weather, WeatherFile
from holdwater.weather import Record, read_weather
from holdwater.weather.conversion import PLACES, convert, write
from holdwater.weather.inspection import inspect
from tests.weather.files import days_from, plausible_rain, rain_of, table
from tests.weather.test_ghcn import WITH_TOTAL, april

N = 800


def gauge(folder: Path, name: str = "gauge.csv") -> Path:
    """Two invented years with traces, holes and temperatures."""
    rows = []
    for i, (day, rain) in enumerate(zip(days_from("2010-06-01", N), plausible_rain(N), strict=True)):
        text = "" if 100 <= i < 140 or i == 700 else "T" if i % 50 == 7 else f"{rain / 25.4:.3f}"
        rows.append((day, text, f"{40 + i % 30}", f"{60 + i % 30}"))
    path = folder / name
    path.write_text("# invented\n" + table("date,rain_in,t_min_f,t_max_f", rows))
    return path


def same(a: Record, b: Record) -> None:
    """Equal but for the last place a tidy CSV is written to, which is far below what is measured."""
    assert (a.data["time"] == b.data["time"]).all()
    assert (a.data["origin"] == b.data["origin"]).all()
    assert set(a.data) == set(b.data)
    for name in ("rain", "t_min", "t_max", "et0"):
        if name in a.data:
            np.testing.assert_allclose(
                a.data[name], b.data[name], rtol=0, atol=0.50001 * 10.0 ** -PLACES[name]
            )


def test_inspection_tells_what_is_there(tmp_path: Path) -> None:
    found = inspect(gauge(tmp_path))
    assert (found.format, found.form) == ("csv", "CSV table, separated by comma")
    assert found.units_as_read == "rain in inches, t_min in degF, t_max in degF"
    assert (found.first, found.last, found.days) == ("2010-06-01", "2012-08-08", N)
    assert (found.missing, found.missing_by_year) == (41, {2010: 40, 2012: 1})
    assert found.longest_gap is not None
    assert (found.longest_gap.days, found.longest_gap.first, found.longest_gap.last) == (
        40,
        "2010-09-09",
        "2010-10-18",
    )
    assert found.origins == {"missing": 41, "observed": N - 41 - 15, "trace, counted as 0 mm": 15}
    assert found.mean_year == pytest.approx(found.years[1].total)
    assert [y.complete for y in found.years] == [False, True, False]
    top = int(np.nanargmax(rain_of(found.record)))
    assert found.wettest_on == str(found.record.days[top])
    assert np.isnan(rain_of(found.record)[100:140]).all()


def test_inspection_lists_suspicious_days_and_does_not_stop(tmp_path: Path) -> None:
    path = tmp_path / "odd.csv"
    path.write_text("date,rain_mm\n2012-01-01,1\n2012-01-02,-3\n2012-01-03,2000\n")
    found = inspect(path)
    assert [(f.name, f.hard, f.days) for f in found.findings] == [
        ("negative", True, ("2012-01-02",)),
        ("above-record", True, ("2012-01-03",)),
        ("gap", False, ("2012-01-03",)),
    ]


def test_inspection_takes_the_keys_that_read_the_file(tmp_path: Path) -> None:
    path = tmp_path / "plain.csv"
    path.write_text("date,rain\n2012-01-01,1\n2012-01-03,2\n")
    with pytest.raises(InputError, match=r"has no unit"):
        inspect(path)
    found = inspect(path, WeatherFile(file="plain.csv", rain_unit="in", absent_days="dry"))
    assert found.wettest == pytest.approx(50.8)
    assert found.missing == 0


def test_inspection_of_a_file_that_is_not_there(tmp_path: Path) -> None:
    with pytest.raises(InputError, match=r"was not found"):
        inspect(tmp_path / "none.csv")


@pytest.mark.parametrize("ending", [".csv", ".csv.gz", ".nc"])
@pytest.mark.parametrize("source", ["gauge", "dly"])
def test_round_trip(tmp_path: Path, ending: str, source: str) -> None:
    if source == "gauge":
        path = gauge(tmp_path)
    else:
        path = tmp_path / "zz.dly"
        path.write_text(april(**WITH_TOTAL))
    before = inspect(path)
    after = inspect(convert(path, tmp_path / f"tidy{ending}"))
    same(before.record, after.record)
    assert (before.missing, before.origins) == (after.missing, after.origins)
    assert [y.total for y in before.years] == pytest.approx([y.total for y in after.years])
    if ending == ".nc":
        xr.testing.assert_equal(before.record.data, after.record.data)
    told, read = before.record.provenance, after.record.provenance
    assert (told.station, told.licence, told.day_ends) == (read.station, read.licence, read.day_ends)


def test_both_forms_are_one_record(tmp_path: Path) -> None:
    path = gauge(tmp_path)
    same(inspect(convert(path, tmp_path / "a.csv")).record, inspect(convert(path, tmp_path / "a.nc")).record)


def test_a_filled_record_stays_known_as_filled(tmp_path: Path) -> None:
    gauge(tmp_path)
    record = read_weather(Weather(file="gauge.csv", missing_days="zero"), tmp_path)
    write(record, tmp_path / "filled.csv")
    again = read_weather(Weather(file="filled.csv"), tmp_path)
    assert again.provenance.filled == 41
    np.testing.assert_array_equal(again.data["origin"], record.data["origin"])


def test_the_tidy_table_names_units_origin_and_licence(tmp_path: Path) -> None:
    (tmp_path / "zz.dly").write_text(april(**WITH_TOTAL))
    lines = convert(tmp_path / "zz.dly", tmp_path / "tidy.csv").read_text().splitlines()
    assert lines[0] == "# holdwater daily weather record"
    assert "# licence: NOAA GHCN-Daily; the file states no licence" in lines
    header = next(i for i, line in enumerate(lines) if not line.startswith("#"))
    assert lines[header] == "date,rain_mm,t_min_c,t_max_c,origin"
    assert lines[header + 1] == "2011-04-01,25.4,-1.0,20.1,observed"
    assert lines[header + 2].endswith(",trace")
    assert lines[header + 3] == "2011-04-03,,-1.0,20.3,missing"
    assert lines[header + 6] == "2011-04-06,1.0,-1.0,20.6,spread"


def test_the_netcdf_follows_the_conventions(tmp_path: Path) -> None:
    convert(gauge(tmp_path), tmp_path / "tidy.nc")
    with xr.open_dataset(tmp_path / "tidy.nc") as data:
        assert data.attrs["Conventions"].startswith("CF-")
        assert data["rain"].attrs["units"] == "mm"
        assert data["origin"].attrs["flag_meanings"].split()[:2] == ["missing", "observed"]
        assert data["time"].values[0] == np.datetime64("2010-06-01")


def test_gzip_is_the_same_each_time(tmp_path: Path) -> None:
    path = gauge(tmp_path)
    one = convert(path, tmp_path / "a.csv.gz").read_bytes()
    assert one == convert(path, tmp_path / "b.csv.gz").read_bytes()
    assert gzip.decompress(one).startswith(b"# holdwater")


def test_an_ending_that_tells_no_form(tmp_path: Path) -> None:
    with pytest.raises(InputError, match=r"'a.xlsx': the ending tells the form; write to a .csv"):
        convert(gauge(tmp_path), tmp_path / "a.xlsx")


def test_a_target_that_cannot_be_written_leaves_nothing_behind(tmp_path: Path) -> None:
    path = gauge(tmp_path)
    with pytest.raises(InputError, match=r"cannot be written: .*; nothing was changed"):
        convert(path, tmp_path / "nowhere" / "a.csv")
    (tmp_path / "folder.csv").mkdir()
    before = sorted(tmp_path.iterdir())
    with pytest.raises(InputError, match=r"cannot be written"):
        convert(path, tmp_path / "folder.csv")
    assert sorted(tmp_path.iterdir()) == before


def test_a_stopped_write_leaves_the_old_file_whole(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    path = gauge(tmp_path)
    target = convert(path, tmp_path / "a.csv")
    old = target.read_bytes()

    def fails(self: Path, data: bytes) -> int:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(Path, "write_bytes", fails)
    with pytest.raises(InputError, match=r"No space left on device; nothing was changed"):
        convert(path, target)
    assert target.read_bytes() == old
    assert sorted(p.name for p in tmp_path.iterdir()) == ["a.csv", "gauge.csv"]
