"""`holdwater compare`, `sweep`, `size` and `next`: what they print, write and refuse."""

from __future__ import annotations

import csv
import io
import json
import os
import pty
import signal
import subprocess
import sys
import time
from pathlib import Path
from typing import Any

import pytest
import xarray as xr
from typer.testing import CliRunner

from holdwater.cli.app import app
from holdwater.errors import InputError
from tests.studies.conftest import DEMO, YEARS

SETS = [part for year in YEARS for part in ("--set", year)]
SWEEP = ["--vary", "roof.barn.area=1000 ft2..3000 ft2:3", "--vary", "tank.upper.capacity=3000 gal,7500 gal"]
SIZE = [
    "--vary",
    "roof.barn.area=500..6000 ft2",
    "--dry-days",
    "10",
    "--years",
    "3/4",
    "--set",
    "backup-=hauler",
]
COMMANDS = {"compare": [], "sweep": SWEEP, "size": SIZE, "next": []}
FILES = {
    "compare": {"compare.json", "compare.csv", "charts/compare-storage", "charts/compare-dry-days"},
    "sweep": {"sweep.json", "sweep.csv", "sweep.nc", "charts/sweep"},
    "size": {"size.json", "size.csv", "charts/size"},
    "next": {"next.json", "next.csv", "charts/next"},
}


def holdwater(command: str, *words: str, out: Path) -> str:
    """Standard output of a command on the demo; its faults are raised."""
    given = [command, str(DEMO), *words, *SETS, "--out", str(out)]
    result = CliRunner().invoke(app, given, catch_exceptions=False)
    assert result.exit_code == 0, result.output
    return result.stdout


def fault(command: str, *words: str, out: Path) -> str:
    with pytest.raises(InputError) as told:
        holdwater(command, *words, out=out)
    assert not out.exists(), "nothing is written"
    return str(told.value)


def written(out: Path) -> set[str]:
    """Files of a folder, the two forms of a picture as one."""
    names = {str(path.relative_to(out)) for path in out.rglob("*") if path.is_file()}
    pictures = {name.removesuffix(".png") for name in names if name.endswith(".png")}
    assert {f"{name}.svg" for name in pictures} <= names
    return {name for name in names if not name.endswith((".png", ".svg"))} | pictures


def table(path: Path) -> list[dict[str, str]]:
    with path.open(newline="", encoding="utf-8") as file:
        return list(csv.DictReader(file))


@pytest.mark.parametrize("command", COMMANDS)
def test_it_says_the_finding_first_and_writes_its_files(command: str, tmp_path: Path) -> None:
    said = holdwater(command, *COMMANDS[command], out=tmp_path / "out")
    assert said.startswith("Larkfield had" if command != "size" else "With barn roof area")
    assert "Caution: Results come from past weather: a worse drought can come." in said
    assert written(tmp_path / "out") == FILES[command]
    assert json.loads((tmp_path / "out" / f"{command}.json").read_text())["finding"] == said.splitlines()[0]


@pytest.mark.parametrize("command", COMMANDS)
def test_json_is_what_the_file_holds_and_nothing_else(command: str, tmp_path: Path) -> None:
    said = holdwater(command, *COMMANDS[command], "--json", out=tmp_path)
    told = json.loads(said)
    assert told == json.loads((tmp_path / f"{command}.json").read_text())
    assert {"scenario", "finding", "rule", "period", "weather"} <= set(told)
    assert told["period"] == {"from": "2001-01-01", "to": "2004-12-31", "days": 1461}
    assert told["weather"]["licence"] == "invented for this example"


@pytest.mark.parametrize("command", COMMANDS)
def test_quiet_prints_nothing(command: str, tmp_path: Path) -> None:
    assert holdwater(command, *COMMANDS[command], "--quiet", out=tmp_path) == ""


@pytest.mark.parametrize("command", COMMANDS)
def test_units_are_those_asked_for(command: str, tmp_path: Path) -> None:
    us = holdwater(command, *COMMANDS[command], out=tmp_path)
    metric = holdwater(command, *COMMANDS[command], "--units", "metric", out=tmp_path)
    assert " gal" in us or " ft2" in us
    assert " m3" in metric or " m2" in metric
    assert " gal" not in metric.split("Written to")[0]


# ----------------------------------------------------------------------------------------- compare


def test_compare_sets_the_variants_beside_the_present(tmp_path: Path) -> None:
    told = json.loads(holdwater("compare", "--json", out=tmp_path))
    names = [each["name"] for each in told["set_ups"]]
    assert names == ["present", "third tank", "bigger barn roof", "save water", "call the hauler sooner"]
    present = told["set_ups"][0]
    for each in told["set_ups"]:
        assert each["difference"] == each["dry_days"] - present["dry_days"]
    assert told["set_ups"][1]["price"] == 4900
    rows = table(tmp_path / "compare.csv")
    assert [row["name"] for row in rows] == names
    assert [int(row["dry_days"]) for row in rows] == [each["dry_days"] for each in told["set_ups"]]


def test_compare_takes_names_and_areas(tmp_path: Path) -> None:
    said = holdwater(
        "compare", "save water", "--roof-areas", "1000 ft2, 2,000 ft2", "--roof", "house", out=tmp_path
    )
    table = [line.split("  ")[1] for line in said.splitlines()[2:6]]
    assert table == ["set-up", "present", "save water", "house roof 1000 ft2"]
    assert "house roof 2,000 ft2" in said


def test_compare_looks_at_a_drought(tmp_path: Path) -> None:
    said = holdwater("compare", "third tank", "--worst", "1", out=tmp_path)
    assert "(worst drought of the present set-up, 2002-" in said
    assert "On the first morning, run from the start of the record, they held: present " in said
    started = holdwater("compare", "third tank", "--last-year", "--starting", "50 %", out=tmp_path)
    assert "Looked at: 1 January 2004 to 31 December 2004 (the last year on record)." in started
    assert (
        "All start with 50 %; soil, snow and first-flush chambers as the weather of the 365 days" in started
    )
    told = json.loads((tmp_path / "compare.json").read_text())
    assert told["window"]["from"] == "2004-01-01"
    assert told["starting"] == {"share": 0.5, "volume_L": None}
    opening = [each["opening_storage_L"] / each["drawable_capacity_L"] for each in told["set_ups"]]
    assert opening == pytest.approx([0.5, 0.5])


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (["thrid tank"], "there is no variant 'thrid tank'; did you mean 'third tank'?"),
        (["--roof", "barn"], "--roof says which roof --roof-areas is about; give its areas too"),
        (["--worst", "1", "--last-year"], "--worst, --last-year choose different days; give one of them"),
        (["--from", "2002-01-01", "--worst", "1"], "--from and --to, --worst choose different days"),
        (
            ["--starting", "50 %"],
            "--starting sets the water at the start of a drought; choose one with --worst",
        ),
        (["--last-year", "--starting", "half"], '--starting "half": no number in it'),
        (["--from", "1990-01-01"], "reaches outside the run, 2001-01-01 to 2004-12-31"),
        (["--worst", "999"], "--worst 999: the record holds"),
    ],
)
def test_compare_refuses_what_makes_no_sense(words: list[str], said: str, tmp_path: Path) -> None:
    assert said in fault("compare", *words, out=tmp_path / "out")


def test_compare_without_anything_to_compare_says_so(tmp_path: Path) -> None:
    text = DEMO.read_text("utf-8")
    bare = tmp_path / "bare.toml"
    bare.write_text(text[: text.index("[variant.")], "utf-8")
    with pytest.raises(InputError, match=r"there is nothing to compare: the file has no \[variant\]"):
        CliRunner().invoke(app, ["compare", str(bare)], catch_exceptions=False)


# ------------------------------------------------------------------------------------------- sweep


def test_sweep_writes_cf_netcdf_and_a_row_for_every_design(tmp_path: Path) -> None:
    said = holdwater("sweep", *SWEEP, out=tmp_path)
    assert (
        "Dry days / days on which draws were held back by their own rules,"
        " barn roof area down, upper tank capacity across:"
    ) in said
    with xr.open_dataset(tmp_path / "sweep.nc", engine="h5netcdf", decode_timedelta=False) as data:
        assert data.attrs["Conventions"].startswith("CF-")
        dry = data["dry_days"].values.ravel().tolist()
    rows = table(tmp_path / "sweep.csv")
    assert [float(row["dry_days [day]"]) for row in rows] == dry
    told = json.loads((tmp_path / "sweep.json").read_text())
    assert [each["dry_days"] for each in told["every"]] == dry
    assert told["best"][0]["dry_days"] == min(dry)
    assert told["every"][1]["tank.upper.capacity"] == "7500 gal"


def test_one_dial_is_a_curve_and_three_are_a_table_of_the_best(tmp_path: Path) -> None:
    one = holdwater("sweep", "--vary", "draw.house.people=1..4", out=tmp_path)
    assert "  house people   dry days   held back   beds short   unserved days   longest dry spell" in one
    assert "charts/sweep" in written(tmp_path)
    three = holdwater("sweep", *SWEEP, "--vary", "draw.house.people=1..2", out=tmp_path)
    assert (
        "The 10 with the fewest dry days, of 12; of equals those with nothing else worse, and nearest"
        in three
    )
    assert "charts/sweep" not in written(tmp_path), "no picture of another sweep is left behind"


@pytest.mark.parametrize(
    ("vary", "said"),
    [
        (["roof.brn.area=1 ft2..2 ft2"], "there is no roof 'brn'; did you mean 'barn'?"),
        (["roof.barn.area=1000 gal..2000 gal"], "a volume, but an area is needed"),
        (["roof.barn.area=2000 ft2..1000 ft2"], "the range is empty, 2000 is not below 1000"),
        (["roof.barn.area", "tank.upper=1"], "write PATH=LOW..HIGH[:COUNT] or PATH=A,B,C"),
    ],
)
def test_sweep_refuses_bad_dials(vary: list[str], said: str, tmp_path: Path) -> None:
    words = [word for each in vary for word in ("--vary", each)]
    assert said in fault("sweep", *words, out=tmp_path / "out")


def test_ten_million_designs_ask_for_yes(tmp_path: Path) -> None:
    big = [
        "--vary",
        "roof.barn.area=500..3000 ft2:4000",
        "--vary",
        "draw.house.per_person=10..50 gal/day:2500",
    ]
    said = fault("sweep", *big, out=tmp_path / "out")
    assert said.startswith("10,000,000 designs will take about ")
    assert "GB of memory on this machine; add --yes to run them all the same" in said


# -------------------------------------------------------------------------------------- size, next


def test_size_answers_with_the_values_beside_it(tmp_path: Path) -> None:
    said = holdwater("size", *SIZE, out=tmp_path)
    told = json.loads((tmp_path / "size.json").read_text())
    value = float(told["answer"]["value"].split()[0])
    assert (
        f"With barn roof area {value:,.0f} ft2 or more, Larkfield gets through at least 3 of 4 years" in said
    )
    assert f"{value - 20:,.0f} ft2 " in said, "the value before it is shown"
    assert "Sequent peak (Thomas & Burden 1963): tanks that give" in said
    rows = {row["roof.barn.area"]: row["holds"] for row in table(tmp_path / "size.csv")}
    assert rows[told["answer"]["value"]] == "yes"
    assert rows[f"{value - 20:.0f} ft2"] == "no"
    assert told["target"] == {
        "dry_days": 10,
        "stress_days": None,
        "years_on_record": 4,
        "parts_of_years": 0,
        "years_that_may_fail": 1,
    }


def test_size_says_when_nothing_is_enough_and_how_to_leave_the_hauler_out(tmp_path: Path) -> None:
    by_height = ("--set", "tank.upper-=capacity", "--set", "tank.upper.overflow=100 in")
    said = holdwater("size", *by_height, "--vary", "tank.upper.overflow=60 in..200 in", out=tmp_path)
    assert said.startswith(
        "Not even upper tank overflow 200 in is enough: Larkfield would not have got through"
    )
    assert "was tried: water brought into the tanks can make dry days of more storage." in said
    assert 'To size it without the water brought: --set "backup-=hauler"' in said


def test_size_names_the_lowest_overflow_and_what_to_vary_instead(tmp_path: Path) -> None:
    by_height = ["--set", "tank.upper-=capacity", "--set", "tank.upper.overflow=90 in"]
    said = holdwater("size", *by_height, "--vary", "tank.upper.overflow=60 in..250 in", out=tmp_path)
    assert (
        "nothing changes any more: linked tanks spill at the lowest overflow, that of 'lower'."
        " Vary tank.upper.diameter instead: a wider tank holds more below it."
    ) in said


def test_size_in_other_units_than_written_tells_both(tmp_path: Path) -> None:
    said = holdwater("size", *SIZE, "--units", "metric", out=tmp_path)
    assert " ft2 (" in said.splitlines()[0]
    assert " m2) or more" in said.splitlines()[0]


def test_size_of_people_is_the_most(tmp_path: Path) -> None:
    words = [
        "--vary",
        "draw.house.people=1..6",
        "--dry-days",
        "10",
        "--years",
        "3/4",
        "--set",
        "backup-=hauler",
    ]
    said = holdwater("size", *words, out=tmp_path)
    assert (
        "With house people 3 or less, Larkfield gets through at least 3 of 4 years with at most 10 dry days a year."
        in said
    )


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (["--vary", "roof.barn.area=1..2 ft2", "--years", "11/10"], "11 of 10 years cannot hold"),
        (["--vary", "run.rule=YAS,YBS"], "only numbers in rising order can be searched"),
        (["--vary", "roof.barn.area"], "write PATH=LOW..HIGH"),
    ],
)
def test_size_refuses_what_makes_no_sense(words: list[str], said: str, tmp_path: Path) -> None:
    assert said in fault("size", *words, out=tmp_path / "out")


def test_next_ranks_by_what_a_price_buys(tmp_path: Path) -> None:
    said = holdwater("next", "--cost", "save water=300", out=tmp_path)
    rows = [line for line in said.splitlines() if line.startswith("  ")]
    assert rows[2].split("  ")[1] == "save water"
    assert "no cost in the file" in said
    assert "No price is made up: give one with --cost" in said
    assert "no first flush: the first flush keeps the dirt of dry weeks out of the tanks" in said
    told = json.loads((tmp_path / "next.json").read_text())
    assert told["offers"][0]["price"] == 300
    assert told["offers"][0]["priced_by"] == "--cost"
    assert {each["name"]: each["price"] for each in told["offers"]}["no first flush"] is None


@pytest.mark.parametrize("cost", ["x", "third tank=cheap", "=5", "third tank=-5", "third tank=inf"])
def test_next_refuses_a_price_that_is_none(cost: str, tmp_path: Path) -> None:
    said = fault("next", "--cost", cost, out=tmp_path / "out")
    assert said == f'--cost "{cost}": write an offer and its price, such as "third tank=4900"'


# ------------------------------------------------------------------------- the process as a whole


def process(*words: str, cache: Path, **more: Any) -> subprocess.Popen[str]:
    command = [sys.executable, "-m", "holdwater", *words]
    return subprocess.Popen(command, env=os.environ | {"HOLDWATER_CACHE": str(cache)}, text=True, **more)


@pytest.mark.parametrize("command", COMMANDS)
def test_help_loads_nothing_heavy(command: str) -> None:
    code = (
        f"import sys; sys.argv = ['holdwater', {command!r}, '--help']\n"
        "from holdwater.cli import main\n"
        "try:\n    main()\nexcept SystemExit:\n    pass\n"
        "heavy = {'pandas', 'xarray', 'numba', 'scipy', 'pint', 'matplotlib', 'meteostat', 'numpy'}\n"
        "sys.exit(str(heavy & set(sys.modules)) if heavy & set(sys.modules) else 0)"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=False)
    assert done.returncode == 0, done.stderr
    assert "Usage: " in done.stdout


def test_a_fault_of_the_file_is_told_before_anything_heavy_is_loaded(tmp_path: Path) -> None:
    wrong = tmp_path / "wrong.toml"
    wrong.write_text('title = "x"\n')
    code = (
        f"import sys; sys.argv = ['holdwater', 'next', {str(wrong)!r}]\n"
        "from holdwater.cli import main\n"
        "try:\n    main()\nexcept SystemExit as end:\n    assert end.code == 2\n"
        "heavy = {'pandas', 'xarray', 'numba', 'matplotlib', 'numpy'} & set(sys.modules)\n"
        "sys.exit(str(heavy) if heavy else 0)"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=False)
    assert "there is no roof" in done.stderr
    assert done.returncode == 0, done.stderr


def test_a_bad_dial_ends_with_exit_code_2_in_one_line(tmp_path: Path) -> None:
    words = ["sweep", str(DEMO), "--vary", "roof.brn.area=1 ft2..2 ft2", "--out", str(tmp_path / "out")]
    with process(*words, cache=tmp_path, stderr=subprocess.PIPE) as done:
        _, said = done.communicate(timeout=60)
    assert done.returncode == 2
    assert said == "holdwater: roof.brn.area: there is no roof 'brn'; did you mean 'barn'?\n"


@pytest.mark.skipif(os.name != "posix", reason="signals as POSIX has them")
@pytest.mark.parametrize("after", [1.5, 3.0, 6.0], ids=["loading", "compiling", "running"])
def test_ctrl_c_stops_a_sweep_at_once_and_leaves_nothing(after: float, tmp_path: Path) -> None:
    """Times are those of a slow moment; wherever it is by then, it must stop."""
    big = ["--vary", "roof.barn.area=500..3000 ft2:900", "--vary", "tank.upper.capacity=3000..9000 gal:900"]
    words = ["sweep", str(DEMO), *big, "--yes", "--out", str(tmp_path / "out")]
    with process(*words, cache=tmp_path / "cache", stderr=subprocess.PIPE) as running:
        time.sleep(after)
        assert running.poll() is None
        running.send_signal(signal.SIGINT)
        _, said = running.communicate(timeout=60)
    assert running.returncode == 130
    assert said == "holdwater: stopped; what was there before is untouched\n"
    assert not (tmp_path / "out").exists()


@pytest.mark.skipif(os.name != "posix", reason="a terminal as POSIX has it")
def test_progress_is_shown_at_a_terminal_only(tmp_path: Path) -> None:
    ours, theirs = pty.openpty()
    words = ["sweep", str(DEMO), *SWEEP, *SETS, "--out", str(tmp_path)]
    with process(*words, cache=tmp_path / "cache", stderr=theirs, stdout=subprocess.PIPE) as running:
        os.close(theirs)
        seen = io.BytesIO()
        try:
            while chunk := os.read(ours, 4096):
                seen.write(chunk)
        except OSError:  # the other end has closed
            pass
        said, _ = running.communicate(timeout=60)
    os.close(ours)
    assert running.returncode == 0
    assert said.startswith("Larkfield had")
    assert "6/6" in seen.getvalue().decode()
    with process(*words, cache=tmp_path / "cache", stderr=subprocess.PIPE, stdout=subprocess.PIPE) as piped:
        _, silent = piped.communicate(timeout=60)
    assert silent == ""
