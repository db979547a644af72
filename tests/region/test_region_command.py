"""`holdwater region` as a user types it: files, words, JSON, faults, Ctrl-C. Invented weather."""

from __future__ import annotations

import json
import os
import signal
import subprocess
import sys
import time
from pathlib import Path

import numpy as np
import pytest
import xarray as xr

from holdwater.cli import main
from holdwater.studies import region_pieces
from tests.region.invented import HOLDING, PLAIN, grid, stations

HEAVY = ("pandas", "xarray", "numba", "scipy", "pint", "matplotlib", "meteostat", "dask", "distributed")


@pytest.fixture
def here(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A folder with a grid and both holdings."""
    grid(tmp_path / "pr.nc", 3, 4, change={(0, 0): np.nan, (30, 2, 1): np.nan})
    (tmp_path / "holding.toml").write_text(HOLDING)
    (tmp_path / "plain.toml").write_text(PLAIN)
    monkeypatch.chdir(tmp_path)
    return tmp_path


def typed(capsys: pytest.CaptureFixture[str], *words: str) -> tuple[int, str, str]:
    """Run the command in this process; exit code, standard output, standard error."""
    before = sys.argv
    sys.argv = ["holdwater", *words]
    try:
        main()
    except SystemExit as end:
        code = int(end.code or 0)
    finally:
        sys.argv = before
    told = capsys.readouterr()
    return code, told.out, told.err


def test_what_it_writes_and_says(here: Path, capsys: pytest.CaptureFixture[str]) -> None:
    code, out, err = typed(capsys, "region", "pr.nc", "holding.toml")
    assert (code, err) == (0, "")
    folder = here / "outputs" / "holding"
    assert sorted(p.relative_to(folder).as_posix() for p in folder.rglob("*")) == [
        "charts",
        "charts/region.png",
        "charts/region.svg",
        "region.json",
        "region.nc",
    ]
    told = json.loads((folder / "region.json").read_text())
    assert out.startswith(told["verdict"])
    assert "over 10 cells (median" in told["verdict"]
    assert told["places"] == {
        "kind": "cell",
        "total": 12,
        "run": 10,
        "no_data": 1,
        "refused": {
            "missing_days": {
                "places": 1,
                "such_as": {
                    "place": {"latitude": 38.5, "longitude": 250.0},
                    "fault": told["places"]["refused"]["missing_days"]["such_as"]["fault"],
                },
            }
        },
    }
    assert "1 day has no rain value (2001: 1)" in out
    assert told["missing_days"] == {
        "policy": "refuse",
        "places_with_missing": 1,
        "days_missing": 1,
        "days_filled": 0,
    }
    for words in (
        "1 cell without any value (sea, or masked) stay",
        "mean of an area",
        "a worse drought can come",
    ):
        assert words in out
    with xr.open_dataset(folder / "region.nc", engine="h5netcdf") as data:
        values = data["dry_days_per_year"].values
        assert np.isnan(values).sum() == 2
        spread = told["scores"]["dry_days_per_year"]
        assert (spread["least"], spread["most"]) == (np.nanmin(values), np.nanmax(values))
        assert (
            spread["most_at"]["latitude"]
            == data["lat"].values[np.unravel_index(np.nanargmax(values), (3, 4))[0]]
        )
        assert data.attrs["Conventions"] == "CF-1.11"
        assert data.attrs["license"] == told["weather"]["licence"] == "invented for a test"
        assert data["dry_days"].attrs["units"] == "day"
        assert data["state"].attrs["flag_meanings"].split()[:3] == ["run", "no_data", "missing_days"]
        assert data["lat"].attrs["units"] == "degrees_north"
        assert data.sizes == {"lat": 3, "lon": 4}


def test_json_quiet_and_units(here: Path, capsys: pytest.CaptureFixture[str]) -> None:
    words = ("region", "pr.nc", "holding.toml", "--out", "out")
    code, out, _ = typed(capsys, *words, "--json")
    assert code == 0
    told = json.loads(out)
    assert told["taken_over"] == 0
    assert told["period"] == {"from": "2001-01-01", "to": "2004-12-31"}
    assert typed(capsys, *words, "--quiet") == (0, "", "")
    code, out, _ = typed(capsys, *words, "--units", "us")
    assert " gal" in out
    assert " in\n" in out


def test_a_whole_region_is_not_run_again(
    here: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    words = ("region", "pr.nc", "holding.toml", "--out", "out", "--json")
    first = json.loads(typed(capsys, *words)[1])

    def never(*_: object, **__: object) -> None:
        raise AssertionError("run again")

    with monkeypatch.context() as patched:
        patched.setattr("holdwater.studies.region_run.run", never)
        again = json.loads(typed(capsys, *words)[1])
    assert again["taken_over"] == 12
    assert again["scores"] == first["scores"]
    other = json.loads(typed(capsys, *words, "--set", "draw.house.people=4")[1])
    assert other["taken_over"] == 0
    assert other["scores"]["dry_days"]["most"] > first["scores"]["dry_days"]["most"]


def test_designs_of_dials(here: Path, capsys: pytest.CaptureFixture[str]) -> None:
    words = (
        "region",
        "pr.nc",
        "plain.toml",
        "--out",
        "out",
        "--vary",
        "tank.tank.capacity=4 m3, 8 m3, 16 m3",
    )
    code, out, _ = typed(capsys, *words)
    assert code == 0
    told = json.loads((here / "out" / "region.json").read_text())
    assert [design["values"] for design in told["designs"]] == [
        {"tank.tank.capacity": volume} for volume in (4000.0, 8000.0, 16000.0)
    ]
    most = [design["dry_days_per_year"]["most"] for design in told["designs"]]
    assert most[0] > most[1] > most[2]
    assert most[1] == told["scores"]["dry_days_per_year"]["most"]  # the tank as it stands in the file
    assert "tank.tank.capacity   dry days a year: least" in out
    with xr.open_dataset(here / "out" / "region.nc", engine="h5netcdf") as data:
        assert data["varied_dry_days_per_year"].dims == ("lat", "lon", "tank.tank.capacity")


def test_a_folder_of_stations(here: Path, capsys: pytest.CaptureFixture[str]) -> None:
    stations(here / "stations", 3)
    (here / "stations" / "notes.csv").write_text("nothing\nto see\n")
    code, out, _ = typed(capsys, "region", "stations", "holding.toml", "--out", "out")
    assert code == 0
    assert "over 3 stations" in out
    assert "1 station not run: weather that cannot be read" in out
    with xr.open_dataset(here / "out" / "region.nc", engine="h5netcdf") as data:
        assert data["station"].values.tolist() == ["creek-0", "creek-1", "creek-2", "notes"]
        assert set(data.coords) == {"station", "latitude", "longitude"}


@pytest.mark.parametrize(
    ("words", "says"),
    [
        (("no.nc", "plain.toml"), "no.nc was not found; name a CF netCDF grid, or a folder"),
        (("pr.nc", "no.toml"), "no.toml"),
        (
            ("pr.nc", "plain.toml", "--scheduler", "tcp://127.0.0.1:9", "--workers", "2"),
            "--workers has no effect",
        ),
        (("pr.nc", "plain.toml", "--scheduler", "there"), "write local, or an address such as tcp://"),
        (("pr.nc", "plain.toml", "--vary", "tank.tank.capacity=9 m3..4 m3"), "the range is empty"),
        (("pr.nc", "plain.toml", "--set", "run.to=2011-01-01"), "'pr.nc' covers 2001-01-01 to 2004-12-31"),
        (("pr.nc", "plain.toml", "--out", "pr.nc"), "choose another with --out"),
    ],
)
def test_faults_end_in_plain_words(
    here: Path, capsys: pytest.CaptureFixture[str], words: tuple[str, ...], says: str
) -> None:
    code, out, err = typed(capsys, "region", *words)
    assert (code, out) == (2, "")
    assert says in err
    assert err.startswith("holdwater: ")
    assert len(err.splitlines()) <= 3


def test_nowhere_to_run_is_a_fault_with_its_reasons(here: Path, capsys: pytest.CaptureFixture[str]) -> None:
    grid(here / "gaps.nc", 1, 2, change={(5, 0, 0): np.nan, (6, 0, 1): np.nan})
    code, _, err = typed(capsys, "region", "gaps.nc", "plain.toml", "--out", "out")
    assert code == 2
    assert "could not be run in any of 2 cells" in err
    assert "1 day has no rain value" in err
    grid(here / "sea.nc", 1, 2, change={(0, 0): np.nan, (0, 1): np.nan})
    code, _, err = typed(capsys, "region", "sea.nc", "plain.toml", "--out", "out")
    assert (code, "none of 2 cells has a value of rain" in err) == (2, True)


def test_help_loads_nothing_slow() -> None:
    code = f"""
import sys
sys.argv = ["holdwater", "region", "--help"]
from holdwater.cli import main
try:
    main()
except SystemExit as end:
    assert not end.code
loaded = [name for name in {HEAVY!r} if name in sys.modules]
sys.exit(f"loaded {{loaded}}" if loaded else 0)
"""
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, timeout=60)
    assert done.returncode == 0, done.stderr
    for word in ("GRID", "--scheduler", "--workers", "--vary", "places.csv", "Ctrl-C"):
        assert word in done.stdout


@pytest.mark.skipif(os.name == "nt", reason="Ctrl-C is sent as a signal to the group")
@pytest.mark.parametrize("how", [(), ("--scheduler", "local", "--workers", "2")], ids=["threads", "dask"])
def test_ctrl_c_leaves_whole_files_and_the_next_run_goes_on(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], how: tuple[str, ...], monkeypatch: pytest.MonkeyPatch
) -> None:
    if how:
        pytest.importorskip("distributed")
    monkeypatch.chdir(tmp_path)
    grid(tmp_path / "pr.nc", 12, 14, years=10)
    (tmp_path / "holding.toml").write_text(HOLDING)
    given = ["region", "pr.nc", "holding.toml", "--out", "out"]
    pieces = tmp_path / "out" / region_pieces.FOLDER
    with subprocess.Popen(
        [sys.executable, "-m", "holdwater", *given, *how],
        start_new_session=True,
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        text=True,
    ) as process:
        deadline = time.monotonic() + 60
        while len(list(pieces.glob("piece-*.nc"))) < 2 and process.poll() is None:
            assert time.monotonic() < deadline
            time.sleep(0.02)
        os.killpg(process.pid, signal.SIGINT)  # as a terminal does: to the command and to its workers
        out, err = process.communicate(timeout=30)
    assert process.returncode == 130, err
    assert out == ""
    lines = err.splitlines()
    assert lines[0].endswith("of 168 places are finished and kept; the same command goes on from there")
    assert lines[1:] == ["holdwater: stopped; what was there before is untouched"]
    assert sorted(p.name for p in (tmp_path / "out").iterdir()) == [region_pieces.FOLDER]
    kept = sorted(pieces.glob("piece-*.nc"))
    for path in kept:
        with xr.open_dataset(path, engine="scipy") as data:
            data.load()
    told = json.loads(typed(capsys, *given, "--json")[1])
    assert 0 < told["taken_over"] < 168
    assert not pieces.exists()
    fresh = json.loads(typed(capsys, *given[:3], "--out", "fresh", "--json")[1])
    assert fresh["taken_over"] == 0
    assert told["scores"] == fresh["scores"]


def test_progress_is_shown_to_a_person_only(
    capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    from holdwater.cli import region

    for person, hidden in ((False, False), (True, True)):
        monkeypatch.setattr(sys.stderr, "isatty", lambda person=person: person, raising=False)
        with region.progress(40, hidden=hidden) as told:
            told(40)
        assert capsys.readouterr().err == ""
    monkeypatch.setattr(sys.stderr, "isatty", lambda: True, raising=False)
    with region.progress(40, hidden=False) as told:
        told(40)
    shown = capsys.readouterr().err
    assert "40/40" in shown
    assert "left" in shown


def test_the_diary_of_the_holding_is_left_out_and_that_is_told(
    here: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """It is the rain of one gauge: the numbers are those without it, and words and JSON say so."""
    text = PLAIN.replace('file = "own-gauge.csv"', 'file = "own-gauge.csv"\ndiary = "log.csv"')
    (here / "with.toml").write_text(text)  # no log.csv is there: it is not even read
    assert typed(capsys, "region", "pr.nc", "plain.toml", "--out", "without", "--json")[0] == 0
    code, out, err = typed(capsys, "region", "pr.nc", "with.toml", "--out", "with")
    assert (code, err) == (0, "")
    note = (
        "the diary 'log.csv' of the scenario is left out: it is the rain of one gauge, and no cell is topped up"
        " with it"
    )
    assert f"\nNote: {note}." in out
    without, told = (json.loads((here / name / "region.json").read_text()) for name in ("without", "with"))
    assert told["weather"]["diary_left_out"] == "log.csv"
    assert note in told["notes"]
    assert without["weather"]["diary_left_out"] is None
    assert not any("diary" in said for said in without["notes"])
    assert told["scores"] == without["scores"]
    code, _, err = typed(capsys, "region", "pr.nc", "with.toml", "--set", "run.to=2005-01-20")
    assert code == 2
    assert "no region is topped up with it" in err
    assert "bring a longer record" in err
