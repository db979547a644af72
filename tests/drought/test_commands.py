"""`holdwater outlook` and `holdwater calibrate`: what they print, write and refuse."""

from __future__ import annotations

import csv
import datetime as dt
import json
import os
from pathlib import Path

import numpy as np
import pytest
from typer.testing import CliRunner

from holdwater.cli.app import app
from holdwater.errors import InputError
from holdwater.scenario import load
from holdwater.simulation import simulate
from holdwater.weather import read_weather
from tests.charts.runs import wet_winters

SCENARIO = """
title = "Dry Ridge: an invented holding"
show_units = "us"
[weather]
file = "rain.csv"
[run]
start_full = 0.6
[[roof]]
name = "barn"
area = "2000 ft2"
surface = "metal"
first_flush = { volume = "20 gal", drains_in = "1 day" }
feeds = "tank"
[[tank]]
name = "tank"
capacity = "5000 gal"
diameter = "120 in"
outlet = "3 in"
[[draw]]
name = "house"
kind = "household"
people = 2
per_person = "32 gal/day"
[[draw]]
name = "goats"
kind = "livestock"
animals = { "doe, dry" = 3 }
[variant."second tank"]
"tank.tank.capacity" = "9000 gal"
"""


@pytest.fixture
def scenario(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A scenario with twelve years of invented weather beside it; the working folder is its own."""
    first, last = "2010-01-01", "2021-12-31"
    days = np.arange(np.datetime64(first), np.datetime64(last) + 1)
    rows = "".join(f"{d},{r:.1f}\n" for d, r in zip(days, wet_winters(first, last), strict=True))
    (tmp_path / "rain.csv").write_text("date,rain_mm\n" + rows, "utf-8")
    path = tmp_path / "ridge.toml"
    path.write_text(SCENARIO, "utf-8")
    monkeypatch.chdir(tmp_path)
    return path


def run(*words: str) -> str:
    result = CliRunner().invoke(app, list(words), catch_exceptions=False)
    assert result.exit_code == 0, result.output
    return result.stdout


def refused(*words: str) -> str:
    with pytest.raises(InputError) as error:
        CliRunner().invoke(app, list(words), catch_exceptions=False)
    return " / ".join(error.value.faults)


def table(path: str | Path) -> list[dict[str, str]]:
    return list(csv.DictReader(Path(path).read_text("utf-8").splitlines()))


LOOK = ("--holding", "2400 gal", "--on", "2022-05-01", "--days", "150")


def test_outlook_prints_the_answer_first_and_writes_its_files(scenario: Path) -> None:
    said = run("outlook", str(scenario), *LOOK)
    assert said.startswith(
        "With 2,400 gal on 1 May 2022 the tanks run dry by 27 September 2022 in the weather of "
    )
    for part in (
        "by the end of",
        "31 May 2022",
        "27 Sep 2022",
        "Days of supply:",
        "years of weather: 2010 to 2021",
    ):
        assert part in said
    assert "Caution: Results come from past weather: a worse drought can come." in said
    folder = Path("outputs/ridge")
    assert sorted(str(p.relative_to(folder)) for p in folder.rglob("*.*")) == [
        "charts/outlook.png",
        "charts/outlook.svg",
        "outlook.csv",
        "outlook.json",
    ]


def test_outlook_json_and_table_agree(scenario: Path) -> None:
    told = json.loads(run("outlook", str(scenario), *LOOK, "--json", "--out", "here"))
    assert told == json.loads(Path("here/outlook.json").read_text("utf-8"))
    assert told["years"] == list(range(2010, 2022))
    assert told["holding_L"] == pytest.approx(2400 * 3.785411784)
    assert (told["on"], told["until"]) == ("2022-05-01", "2022-09-27")
    assert told["run_dry"] == sum(trace["first_dry"] is not None for trace in told["traces"])
    rows = table("here/outlook.csv")
    assert len(rows) == 150
    assert int(rows[-1]["run_dry_by"]) == told["run_dry"]
    assert all(row["years"] == "12" for row in rows)
    last = sorted(trace["last_storage_L"] for trace in told["traces"])
    assert float(rows[-1]["lowest_storage_L"]) == pytest.approx(last[0], abs=0.1)
    assert float(rows[-1]["storage_50_percent_L"]) == pytest.approx((last[5] + last[6]) / 2, abs=0.1)
    assert told["saving"]["shares"] == {"house": 0.25}


def test_one_trace_is_the_run_of_its_days(scenario: Path) -> None:
    """What the command says of the year 2010 is what `simulate` gives for it."""
    told = json.loads(
        run("outlook", str(scenario), "--holding", "60 %", "--on", "2010-01-01", "--days", "365", "--json")
    )
    trace = told["traces"][0]
    file = load(scenario, ["run.from=2010-01-01", "run.to=2010-12-31"])
    ledger = simulate(file.scenario, read_weather(file.scenario.weather, scenario.parent))
    assert trace["year"] == 2010
    assert trace["last_storage_L"] == pytest.approx(ledger.flux("drawable")[0, -1])
    assert trace["lowest_storage_L"] == pytest.approx(ledger.flux("drawable").min())


def test_outlook_takes_variants_units_savings_and_quiet(scenario: Path) -> None:
    assert run("outlook", str(scenario), *LOOK, "--quiet") == ""
    metric = run("outlook", str(scenario), *LOOK, "--units", "metric", "--saving", "house=50 %")
    assert metric.startswith("With 9,085 L on 1 May 2022")
    assert "aving 50 % (house)" in metric
    told = json.loads(run("outlook", str(scenario), *LOOK, "--variant", "second tank", "--json"))
    assert told["drawable_capacity_L"] > 8000 * 3.785


def test_outlook_by_default_starts_today(scenario: Path) -> None:
    told = json.loads(run("outlook", str(scenario), "--holding", "50 %", "--days", "20", "--json"))
    assert told["on"] == dt.date.today().isoformat()


def test_outlook_of_years_like_this_one_says_how_they_were_chosen(scenario: Path) -> None:
    said = run(
        "outlook",
        str(scenario),
        "--holding",
        "50 %",
        "--on",
        "2021-06-01",
        "--days",
        "60",
        "--like-this-year",
    )
    assert "only the 10 of 11 years whose rain in the 90 days before was nearest to this year's" in said
    assert "2021: this year itself" in said


def test_outlook_refuses_what_cannot_be(scenario: Path) -> None:
    assert "there is room for" in refused("outlook", str(scenario), "--holding", "99999 gal")
    assert "has no unit" in refused("outlook", str(scenario), "--holding", "1200")
    short = ("--set", "run.from=2020-01-01", "--days", "1500")
    assert "no year from 2020-01-01" in refused("outlook", str(scenario), "--holding", "1 gal", *short)
    assert not os.path.exists("outputs")


def levels(scenario: Path, every: int, count: int) -> Path:
    """A gauge log of the same holding with a worse roof and a leak, in inches."""
    file = load(scenario, ["tank.tank.leak=4 gal/day", "run.from=2018-10-02", "run.to=2019-04-30"])
    roof = file.scenario.roof[0].model_copy(update={"surface": None, "runoff_coefficient": 0.80})
    worse = file.scenario.model_copy(update={"roof": [roof]})
    ledger = simulate(worse, read_weather(worse.weather, scenario.parent))
    area = np.pi * (120 * 25.4 / 2000) ** 2
    height = ledger.flux("storage")[0] / area / 25.4 + np.random.default_rng(3).normal(
        0, 0.1, ledger.days.size + 1
    )
    path = scenario.parent / "levels.csv"
    lines = [f"{ledger.days[i] - 1},{height[i]:.1f}" for i in range(0, every * count, every)]
    path.write_text("date,tank [in]\n" + "\n".join(lines) + "\n", "utf-8")
    return path


def test_calibrate_finds_the_roof_and_the_leak_and_prints_lines_to_paste(scenario: Path) -> None:
    log = levels(scenario, 3, 60)
    said = run("calibrate", str(scenario), "--levels", str(log), "--fit", "runoff,leak")
    assert said.startswith("60 readings say: a runoff coefficient of 0.8")
    assert "To paste into" in said
    assert "runoff_coefficient = 0.8" in said
    assert '# [[tank]] name = "tank"' in said
    assert "a leak found this way is every loss or use that the scenario does not know" in said
    folder = Path("outputs/ridge")
    assert {p.name for p in folder.rglob("*.*")} == {
        "calibration.json",
        "calibration.csv",
        "calibration.png",
        "calibration.svg",
    }
    told = json.loads((folder / "calibration.json").read_text("utf-8"))
    fitted = {one["name"]: one for one in told["fitted"]}
    assert fitted["leak"]["low"] < 4 * 3.785411784 < fitted["leak"]["high"]
    rows = table(folder / "calibration.csv")
    assert sum(row["read_L"] != "" for row in rows) == 60
    again = json.loads(
        run("calibrate", str(scenario), "--levels", str(log), "--fit", "runoff,leak", "--json")
    )
    assert again == told


def test_calibrate_refuses_three_readings_and_unknown_names(scenario: Path) -> None:
    log = levels(scenario, 20, 3)
    assert "3 days of readings are too few" in refused("calibrate", str(scenario), "--levels", str(log))
    assert '"pump" cannot be fitted; choose among runoff, first flush, leak' in refused(
        "calibrate", str(scenario), "--levels", str(log), "--fit", "leak,pump"
    )


def test_help_of_both_commands_names_the_options() -> None:
    for command, options in (
        (
            "outlook",
            ("--holding", "--on", "--days", "--like-this-year", "--saving", "--json", "--units", "--quiet"),
        ),
        ("calibrate", ("--levels", "--fit", "--morning", "--json", "--units", "--quiet")),
    ):
        said = run(command, "--help")
        assert all(option in said for option in options)
