"""`holdwater new` and `holdwater check`."""

from __future__ import annotations

import json
import math
from pathlib import Path

import pytest

from holdwater.scenario import load
from tests.cli.conftest import Command, contents
from tests.cli.holding import HOLDING, weather_csv


def test_new_writes_a_starter_that_check_passes_once_its_weather_is_there(
    here: Path, holdwater: Command
) -> None:
    done = holdwater("new", "mine.toml")
    assert done.code == 0
    assert "Wrote mine.toml." in done.out
    assert "holdwater check mine.toml" in done.out
    missing = holdwater("check", "mine.toml")
    assert missing.code == 2
    assert "'your-daily-rain.csv' was not found" in missing.err
    (here / "your-daily-rain.csv").write_text(weather_csv(), encoding="utf-8")
    fine = holdwater("check", "mine.toml")
    assert (fine.code, fine.err) == (0, "")
    assert "mine.toml is fine: Our holding" in fine.out
    assert "variants: bigger barn roof, third tank" in fine.out


def test_the_starter_runs(here: Path, holdwater: Command) -> None:
    holdwater("new", "mine.toml")
    (here / "your-daily-rain.csv").write_text(weather_csv(), encoding="utf-8")
    done = holdwater("run", "mine.toml")
    assert (done.code, done.err) == (0, "")
    assert (here / "outputs" / "mine" / "summary.json").exists()


def test_new_writes_holding_toml_by_itself_and_never_over_a_file(here: Path, holdwater: Command) -> None:
    done = holdwater("new")
    assert (done.code, done.out) == (2, "")
    assert done.err == "holdwater: holding.toml exists already and is left as it is; choose another name\n"
    assert (here / "holding.toml").read_text("utf-8") == HOLDING
    (here / "holding.toml").unlink()
    assert holdwater("new").code == 0
    assert (here / "holding.toml").exists()


@pytest.mark.parametrize(
    ("path", "said"),
    [
        (".", ". is a folder; name a file in it, such as holding.toml"),
        (
            "absent/mine.toml",
            "cannot write absent/mine.toml: No such file or directory; choose another place",
        ),
        ("/proc/mine.toml", "cannot write /proc/mine.toml: "),
        ("holding.toml/mine.toml", "cannot write holding.toml/mine.toml: Not a directory"),
    ],
)
def test_new_where_nothing_can_be_written(path: str, said: str, here: Path, holdwater: Command) -> None:
    before = contents(here)
    done = holdwater("new", path)
    assert (done.code, done.out) == (2, "")
    assert done.err.startswith(f"holdwater: {said}")
    assert contents(here) == before


def test_new_in_metric_shows_metric(here: Path, holdwater: Command) -> None:
    done = holdwater("new", "mine.toml", "--units", "metric", "--json")
    assert json.loads(done.out) == {"written": "mine.toml"}
    assert load(here / "mine.toml").scenario.show_units == "metric"


def test_check_tells_what_a_run_would_read_and_runs_nothing(here: Path, holdwater: Command) -> None:
    before = contents(here)
    done = holdwater("check", "holding.toml")
    assert (done.code, done.err) == (0, "")
    assert done.out.splitlines() == [
        "holding.toml is fine: Test holding: one roof, one tank (invented)",
        "  weather: weather.csv, 2019-01-01 to 2020-12-31, 731 days",
        "  licence: invented for a test",
        "  evapotranspiration: Hargreaves (FAO-56 eq. 52): 731 days",
        "  tank main: 2,500 gal, its lip 81.5 in above its floor",
        "  variants: bigger roof, no garden",
    ]
    assert contents(here) == before


def test_check_as_json(here: Path, holdwater: Command) -> None:
    told = json.loads(holdwater("check", "holding.toml", "--json").out)
    # 2,500 gal of 231 in3 in a circle of 95 in: 577,500 / 7,088.2 = 81.47 in
    lip = pytest.approx(2500 * 231 / (math.pi * 47.5**2) * 25.4)
    tank = {"name": "main", "capacity_L": pytest.approx(9463.53), "lip_mm": lip, "lip_above_datum_mm": lip}
    assert told == {
        "scenario": "Test holding: one roof, one tank (invented)",
        "fine": True,
        "variants": ["bigger roof", "no garden"],
        "period": {"from": "2019-01-01", "to": "2020-12-31", "days": 731},
        "weather": {
            "source": "weather.csv",
            "missing": 0,
            "filled": 0,
            "licence": "invented for a test",
            "et0": "Hargreaves (FAO-56 eq. 52): 731 days",
        },
        "tanks": [tank],
        "warnings": [],
    }


def test_check_reads_every_variant_as_a_run_would(here: Path, holdwater: Command) -> None:
    """A bed that no soil table can carry is found before a run, also in a variant."""
    more = '[variant."thirsty"]\n"draw.tomatoes.refill_to" = 0.2\n[variant."short"]\n"run.to" = 2031-01-01\n'
    (here / "holding.toml").write_text(HOLDING + more, encoding="utf-8")
    done = holdwater("check", "holding.toml")
    assert done.code == 2
    bed, span = done.err.splitlines()
    assert bed.startswith("holdwater: variant 'thirsty': draw 'tomatoes': refill_to 20% leaves 80%")
    assert span.startswith("holdwater: variant 'short': the run asks for 2019-01-01 to 2031-01-01")
    assert holdwater("check", "holding.toml", "--variant", "bigger roof").code == 0


def test_check_with_a_gap_that_is_filled_says_so(here: Path, holdwater: Command) -> None:
    lines = weather_csv().splitlines(keepends=True)
    (here / "weather.csv").write_text("".join(lines[:300] + lines[303:]), encoding="utf-8")
    done = holdwater("check", "holding.toml", "--set", "weather.missing_days=zero")
    assert done.code == 0
    assert "Note: 3 days have no rain value" in done.out
    assert "filled by the policy 'zero'" in done.out
