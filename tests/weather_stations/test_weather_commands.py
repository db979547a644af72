"""The weather sub-commands, run in this process: what they print, and what they say when they cannot."""

from __future__ import annotations

import datetime as dt
import gzip
import sys
from collections.abc import Callable
from pathlib import Path

import pytest
import xarray as xr

from holdwater.cli import main
from holdwater.cli.text import columns, count
from holdwater.weather.stations.store import Store
from tests.weather_stations.conftest import Done, scenario, squeezed
from tests.weather_stations.service import DRY_GULCH, Service, year_rows

Run = Callable[..., Done]


@pytest.fixture
def run(monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str], tmp_path: Path) -> Run:
    """Run a weather sub-command in a folder of its own."""
    monkeypatch.chdir(tmp_path)

    def go(*args: object) -> Done:
        monkeypatch.setattr(sys, "argv", ["holdwater", "weather", *map(str, args)])
        code = 0
        try:
            main()
        except SystemExit as left:
            code = int(left.code or 0)
        said = capsys.readouterr()
        return Done(code, said.out, said.err)

    return go


def log(folder: Path, name: str = "own.csv", rows: int = 730, holes: tuple[int, ...] = (40, 41, 500)) -> Path:
    """An invented gauge log from 2021 on, with holes."""
    lines = ["date,rain_mm"]
    for i in range(rows):
        rain = "" if i in holes else f"{(i * 37 % 11) * 2.5 if i % 4 == 0 else 0.0}"
        lines.append(f"{dt.date(2021, 1, 1) + dt.timedelta(i)},{rain}")
    path = folder / name
    path.write_text("\n".join(lines) + "\n", encoding="utf-8")
    return path


# ------------------------------------------------------------------------------------------------- near


def test_near_takes_negative_degrees_and_lists_what_matters(here: Service, run: Run) -> None:
    done = run("near", "38.4", "-109.2", "--elevation", "5200 ft")
    assert done.code == 0
    rows = [line.split() for line in done.out.splitlines() if line.strip().startswith("X0")]
    assert rows[0][:12] == [
        "X0001", "3.9", "mi", "5,151", "ft", "-49", "ft", "2010-01-01", "2014-12-31", "97.5", "%", "Dry",
    ]  # fmt: skip
    assert rows[1][5:7] == ["+771", "ft"]
    assert "1 station without a rain record left out" in done.out
    assert "Next: holdwater weather fetch X0001" in done.out
    assert "Source: Meteostat, CC BY 4.0" in done.out


def test_near_in_metric_units_from_a_scenario(here: Service, run: Run, tmp_path: Path) -> None:
    done = run(
        "near", "--scenario", scenario(tmp_path, 'file = "x.csv"'), "--units", "metric", "--limit", "1"
    )
    assert done.code == 0
    assert "X0001     6.2 km     1,570 m        -15 m" in done.out
    assert "2 stations more further away" in done.out


def test_near_as_json_says_everything_in_si_units(here: Service, run: Run) -> None:
    told = run("near", "38.4", "-109.2", "--within", "30 km", "--json").json
    assert [s["id"] for s in told["stations"]] == ["X0001", "X0002"]
    assert told["stations"][0]["distance_km"] == pytest.approx(6.2, abs=0.05)
    assert told["stations"][0]["rain"] == {"from": "2010-01-01", "to": "2014-12-31", "completeness": 0.975}
    assert (told["within_km"], told["list_age_days"], told["stations_without_rain"]) == (30.0, 0, 1)


@pytest.mark.parametrize(
    ("args", "code", "said"),
    [
        (("38.4",), 2, "say where: `holdwater weather near 38.4 -109.2`"),
        ((), 2, "say where"),
        (("38.4", "-109.2", "--within", "50"), 2, 'write a distance with its unit, "50 mi" or "80 km"'),
        (("38.4", "-109.2", "--within", "0 mi"), 2, "write a distance with its unit"),
        (("98.4", "-109.2"), 2, "98.4, -109.2 is no place on Earth"),
        (("38.4", "-109.2", "--elevation", "5200"), 2, "has no unit"),
        (("38.4", "-109.2", "--timeout", "0"), 2, "--timeout = 0: a number of seconds is needed"),
        (("10", "10"), 3, "no station with a rain record within 50 mi of 10, 10; look further with --within"),
    ],
)
def test_near_says_what_it_needs(
    args: tuple[str, ...], code: int, said: str, here: Service, run: Run
) -> None:
    done = run("near", *args)
    assert done.code == code
    assert said in squeezed(done.err)
    assert done.out == ""


def test_a_scenario_without_a_place_is_told(run: Run, tmp_path: Path) -> None:
    path = scenario(tmp_path, 'file = "x.csv"')
    text = path.read_text("utf-8")
    path.write_text(text[: text.index("[place]")] + text[text.index("[weather]") :], "utf-8")
    done = run("near", "--scenario", path)
    assert done.code == 2
    assert "does not say where it is; add [place]" in done.err


# ------------------------------------------------------------------------------------------------ fetch


def test_fetch_tells_what_came_and_writes_it(here: Service, run: Run, tmp_path: Path) -> None:
    done = run("fetch", "X0001", "--from", "2012-01-01", "--to", "2013-12-31", "--out", "out.csv.gz")
    assert done.code == 0
    said = squeezed(done.out)
    assert "2012-01-01 to 2013-12-31: 731 days, rain observed on 727 of them (99.5 %), missing on 4" in said
    assert "2 years fetched now, 0 from the store" in said
    assert 'Use it: [weather] station = "X0001"' in said
    assert "Source: Meteostat and NOAA GHCN-Daily, CC BY 4.0; changes: model rain of 2 days taken out" in said
    text = gzip.decompress((tmp_path / "out.csv.gz").read_bytes()).decode()
    assert "# licence: Source: Meteostat and NOAA GHCN-Daily, CC BY 4.0" in text
    rain = year_rows(DRY_GULCH, 2012)
    for line in (line for line in text.splitlines() if line.startswith("2012-0")):
        day, amount, *_ = line.split(",")
        assert float(amount) == rain[dt.date.fromisoformat(day)]
    assert ",,-" in next(line for line in text.splitlines() if line.startswith("2013-03-03"))


def test_fetch_as_json_tells_every_year_and_its_age(here: Service, run: Run, tmp_path: Path) -> None:
    told = run("fetch", "X0002", "--from", "2010-01-01", "--to", "2011-12-31", "--json", "--out", "o.nc").json
    assert [(y, v["there"], v["fetched_now"], v["age_days"]) for y, v in told["years"].items()] == [
        ("2010", False, True, 0),
        ("2011", True, True, 0),
    ]
    assert (told["days_observed"], told["days_missing"]) == (365, 365)
    with xr.open_dataset(tmp_path / "o.nc") as data:
        assert data.attrs["licence"].startswith("Source: Meteostat")
        assert data.sizes["time"] == 365
    again = run("fetch", "X0002", "--from", "2010-01-01", "--to", "2011-12-31")
    assert "no years fetched now, 2 from the store (the oldest fetched today)" in again.out
    new = run("fetch", "X0002", "--from", "2010-01-01", "--to", "2011-12-31", "--refresh")
    assert "1 year fetched now, 0 from the store, 1 that the service does not have" in new.out


@pytest.mark.parametrize(
    ("station", "code", "said"),
    [
        (
            "X0009",
            3,
            "there is no station X0009; `holdwater weather near LATITUDE LONGITUDE` lists those near you",
        ),
        ("X0003", 3, "station X0003 has no daily rain record"),
        ("X_00%", 2, 'station = "X_00%": a station id is five letters and digits'),
    ],
)
def test_a_station_that_cannot_be_had_is_told(
    station: str, code: int, said: str, here: Service, run: Run
) -> None:
    done = run("fetch", station)
    assert done.code == code
    assert said in squeezed(done.err)
    assert not Path("outputs").exists()


@pytest.mark.parametrize("fault", [500, 404, "garbage", "cut", "half"])
def test_without_a_service_fetch_ends_with_exit_code_3(fault: int | str, here: Service, run: Run) -> None:
    here.faults[""] = fault
    for args in (
        ("fetch", "X0001", "--from", "2010-01-01", "--to", "2014-12-31"),
        ("near", "38.4", "-109.2"),
    ):
        done = run(*args)
        assert done.code == 3
        assert 1 <= len(done.err.splitlines()) <= 3
        assert done.out == ""
    assert not (Store().folder / "X0001").exists()


def test_quiet_prints_nothing(here: Service, run: Run) -> None:
    for args in (("fetch", "X0001", "--from", "2014-01-01"), ("near", "38.4", "-109.2")):
        done = run(*args, "--quiet")
        assert (done.code, done.out, done.err) == (0, "", "")


def test_a_target_that_cannot_be_written_is_told(here: Service, run: Run) -> None:
    for out, said in (("x.txt", "write to a .csv, .csv.gz or .nc file"), ("no/x.csv", "cannot be written")):
        done = run("fetch", "X0001", "--from", "2014-01-01", "--out", out)
        assert done.code == 2
        assert said in done.err


# ------------------------------------------------------------------------------------- inspect and convert


def test_inspect_tells_what_a_file_holds_and_draws_it(run: Run, tmp_path: Path) -> None:
    done = run("inspect", log(tmp_path), "--units", "metric")
    assert done.code == 0
    said = squeezed(done.out)
    assert 'read as CSV table, separated by comma (format = "csv")' in said
    assert "days 2021-01-01 to 2022-12-31, 730 days" in said
    assert "missing 3 days (2021: 2, 2022: 1); longest gap 2 days, 2021-02-10 to 2021-02-11" in said
    assert "wettest day 25 mm on" in said
    assert "mean year not known: no calendar year is complete" in said
    row = next(line for line in done.out.splitlines() if line.startswith("  2021"))
    total = sum((i * 37 % 11) * 2.5 for i in range(0, 365, 4) if i != 40)
    assert row.split()[:4] == ["2021", "365", "2", f"{total:.1f}"]
    assert sorted(p.name for p in (tmp_path / "outputs" / "own").iterdir()) == ["record.png", "record.svg"]


def test_inspect_as_json_and_without_a_chart(run: Run, tmp_path: Path) -> None:
    told = run("inspect", log(tmp_path), "--json", "--no-chart").json
    assert (told["missing"], told["longest_gap"]["days"], told["days"]) == (3, 2, 730)
    assert told["charts"] == []
    assert [y["year"] for y in told["years"]] == [2021, 2022]
    assert not (tmp_path / "outputs").exists()
    drawn = run("inspect", log(tmp_path), "--json", "--out", "pictures").json
    assert drawn["charts"] == ["pictures/record.png", "pictures/record.svg"]


def test_inspect_names_what_would_stop_a_run(run: Run, tmp_path: Path) -> None:
    path = log(tmp_path)
    path.write_text(path.read_text("utf-8").replace("2021-01-05,12.5", "2021-01-05,2100"), "utf-8")
    done = run("inspect", path, "--no-chart")
    assert done.code == 0
    assert "A run stops here (above-record): " in done.out
    assert "2021-01-05" in done.out


def test_keys_and_scenarios_help_to_read_a_file(run: Run, tmp_path: Path) -> None:
    path = tmp_path / "depths.csv"
    path.write_text("date,depth\n2021-01-01,1.0\n2021-01-02,gone\n2021-01-03,0.5\n", "utf-8")
    assert run("inspect", path).code == 2
    keys = ("--set", "rain_column=depth", "--set", "rain_unit=in", "--set", 'missing_marks=["gone"]')
    told = run("inspect", path, *keys, "--no-chart", "--json").json
    assert told["wettest_mm"] == pytest.approx(25.4)
    lent = scenario(
        tmp_path, 'file = "x.csv"\nrain_column = "depth"\nrain_unit = "in"\nmissing_marks = ["gone"]'
    )
    assert run("inspect", path, "--scenario", lent, "--no-chart", "--json").json["missing"] == 1


@pytest.mark.parametrize(
    ("key", "said"),
    [
        ("rain_units=in", "unknown key rain_units; did you mean rain_unit?"),
        ("rain_unit", "write KEY=VALUE"),
        ("rain_unit=inch", 'rain_unit = "inch"'),
        ("missing_marks=gone", "a list is needed"),
        ("file=other.csv", "unknown key file"),
    ],
)
def test_a_key_that_is_none_is_told(key: str, said: str, run: Run, tmp_path: Path) -> None:
    done = run("inspect", log(tmp_path), "--set", key)
    assert done.code == 2
    assert said in done.err


def test_convert_writes_what_reads_back_the_same(run: Run, tmp_path: Path) -> None:
    path = log(tmp_path)
    done = run("convert", path, "--out", "tidy.csv")
    assert (done.code, done.out) == (0, "Wrote tidy.csv\n")
    assert run("convert", "tidy.csv", "--out", "tidy.nc", "--json").json == {
        "read": "tidy.csv",
        "written": "tidy.nc",
    }
    told = [run("inspect", name, "--no-chart", "--json").json for name in (path, "tidy.csv", "tidy.nc")]
    for key in ("days", "missing", "wettest_mm", "years", "origins"):
        assert told[0][key] == told[1][key] == told[2][key]
    lost = run("convert", "nowhere.csv", "--out", "x.csv")
    assert lost.code == 2
    assert "was not found" in lost.err


def test_a_bar_is_shown_only_to_a_person_at_a_terminal(
    here: Service, run: Run, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(sys.stderr, "isatty", lambda: True)
    shown = run("fetch", "X0001", "--from", "2013-01-01", "--to", "2014-12-31")
    assert "fetching 2014" in shown.err
    assert "fetching" not in shown.out
    monkeypatch.setattr(sys.stderr, "isatty", lambda: False)
    assert run("fetch", "X0001", "--from", "2011-01-01", "--to", "2012-12-31").err == ""


def test_columns_and_counts() -> None:
    assert columns([["a", "1"], ["bcd", "22"]]) == "  a      1\n  bcd   22"
    assert [count(n, "day") for n in (0, 1, 1204)] == ["no days", "1 day", "1,204 days"]
