"""What `holdwater run` prints and writes, and what each option changes."""

from __future__ import annotations

import csv
import io
import json
import sys
from contextlib import redirect_stdout
from itertools import pairwise
from pathlib import Path
from typing import Any

import pytest
import xarray as xr

from holdwater.charts import CHARTS
from holdwater.cli import main
from tests.cli.conftest import Command, Done, contents
from tests.cli.holding import HOLDING, weather_csv

TABLES = {"summary.json", "ledger.csv", "ledger.nc", "years.csv", "spells.csv", "droughts.csv"}
PICTURES = {f"charts/{name}.{form}" for name in (*CHARTS, "garden") for form in ("png", "svg")}

# The contract of summary.json: these keys at least.
KEYS: dict[str, set[str]] = {
    "": {"scenario", "rule", "balance_error", "unserved_days", "resilience", "vulnerability", "warnings"},
    "period": {"from", "to", "days"},
    "weather": {"source", "missing", "filled", "licence"},
    "totals_L": {
        "rain_on_roofs", "snow_lost", "wetting_loss", "not_run_off", "first_flush", "inflow", "overflow",
        "delivered", "backup", "leak", "evaporation", "storage_change",
    },
    "dry_days": {"total", "per_year", "by_draw", "by_year"},
    "held_back_days": {"total", "by_draw", "by_year"},
    "longest_dry_spell": {"days", "from", "to"},
    "longest_rainless_spell": {"days", "from", "to"},
    "reliability": {"time", "volume"},
    "stranded_L": {"top", "bottom"},
}  # fmt: skip


def only_numbers(text: str) -> Any:
    """Read JSON and refuse what is no JSON, such as NaN."""

    def refuse(word: str) -> None:
        raise AssertionError(f"{word} is no JSON")

    return json.loads(text, parse_constant=refuse)


class Typed:
    """Commands typed in one folder, outside of a test function."""

    def __init__(self, folder: Path) -> None:
        self.folder = folder
        (folder / "holding.toml").write_text(HOLDING, encoding="utf-8")
        (folder / "weather.csv").write_text(weather_csv(), encoding="utf-8")

    def __call__(self, *words: str) -> Done:
        out = io.StringIO()
        with pytest.MonkeyPatch.context() as patch, redirect_stdout(out):
            patch.chdir(self.folder)
            patch.setattr(sys, "argv", ["holdwater", *words])
            with pytest.raises(SystemExit) as end:
                main()
        assert isinstance(end.value.code, int)
        return Done(end.value.code, out.getvalue(), "")


@pytest.fixture(scope="module")
def typed(tmp_path_factory: pytest.TempPathFactory) -> Typed:
    return Typed(tmp_path_factory.mktemp("holding"))


@pytest.fixture(scope="module")
def plain(typed: Typed) -> tuple[Done, Path]:
    """A run with no option but the scenario."""
    return typed("run", "holding.toml"), typed.folder / "outputs" / "holding"


@pytest.fixture(scope="module")
def as_json(typed: Typed) -> tuple[dict[str, Any], Path]:
    """A run with most options, as JSON."""
    shown = ("--json", "--both-rules", "--units", "metric", "--out", "metric")
    days = ("--from", "2019-03-01", "--to", "2020-11-30")
    changes = ("--variant", "bigger roof", "--set", "draw.house.people=3")
    done = typed("run", "holding.toml", *shown, *days, *changes)
    assert done.code == 0
    return only_numbers(done.out), typed.folder / "metric"


def test_the_plain_sentence_comes_first_then_the_table_then_where_the_files_are(
    plain: tuple[Done, Path],
) -> None:
    done, _ = plain
    lines = done.out.splitlines()
    assert done.code == 0
    assert lines[0].startswith("Test holding would have run dry on ")
    assert "Last year (2020): " in lines[0]
    assert lines[1] == ""
    assert lines[2].startswith("Drought 1: ")
    table = lines[lines.index("", 2) + 1 :]
    assert table[0].split() == ["period", "2019-01-01", "to", "2020-12-31", "(2", "years)"]
    assert "weather.csv; licence: invented for a test" in done.out
    assert "Hargreaves (FAO-56 eq. 52): 731 days" in done.out
    assert "gal in from the roofs" in done.out
    assert lines[-1].startswith("Written to outputs/holding/: summary.json, ledger.csv")
    assert "Caution: Results come from past weather: a worse drought can come." in lines
    assert "Note: the record is short (2 years): fewer than 10 years say little" in done.out


def test_a_run_says_which_other_run_it_replaced(here: Path, holdwater: Command) -> None:
    first = holdwater("run", "holding.toml", "--variant", "bigger roof", "--to", "2019-12-31")
    assert "This replaced" not in first.out
    assert (
        "This replaced"
        not in holdwater("run", "holding.toml", "--variant", "bigger roof", "--to", "2019-12-31").out
    )
    other = holdwater("run", "holding.toml", "--set", "draw.house.people=3")
    assert other.out.splitlines()[-1] == (
        "This replaced the run of Test holding: what-if 'bigger roof', YAS, 2019-01-01 to 2019-12-31;"
        " --out DIR keeps both."
    )
    told = json.loads((here / "outputs" / "holding" / "summary.json").read_text("utf-8"))
    assert (told["variant"], told["changes"]) == (None, ["draw.house.people=3"])
    plainly = holdwater("run", "holding.toml")
    assert plainly.out.splitlines()[-1] == (
        "This replaced the run of Test holding: the file as it stands with draw.house.people=3, YAS,"
        " 2019-01-01 to 2020-12-31; --out DIR keeps both."
    )
    (here / "outputs" / "holding" / "summary.json").write_text("[", "utf-8")
    assert "This replaced" not in holdwater("run", "holding.toml", "--set", "draw.house.people=3").out


def test_a_run_of_another_capacity_tells_the_width_it_took(here: Path, holdwater: Command) -> None:
    """10,000 gal as high as 2,500 gal in 95 in: twice as wide."""
    note = "Note: tank 'main': 10,000 gal as high as now is 190 in across; set tank.main.diameter too if yours differs."
    change = "tank.main.capacity=10000 gal"
    assert note in holdwater("run", "holding.toml", "--set", change).out.splitlines()
    assert note in holdwater("check", "holding.toml", "--set", change).out.splitlines()
    more = '[variant."big"]\n"tank.main.capacity" = "10000 gal"\n'
    (here / "holding.toml").write_text(HOLDING + more, encoding="utf-8")
    said = holdwater("check", "holding.toml").out.splitlines()
    assert note.replace("tank 'main'", "variant 'big': tank 'main'", 1) in said
    assert note in holdwater("run", "holding.toml", "--variant", "big").out.splitlines()


def test_every_file_is_there_and_none_beside_them(plain: tuple[Done, Path]) -> None:
    assert set(contents(plain[1])) == TABLES | PICTURES


def test_summary_keeps_its_contract(plain: tuple[Done, Path]) -> None:
    told = only_numbers((plain[1] / "summary.json").read_text("utf-8"))
    for part, keys in KEYS.items():
        assert keys <= set(told[part] if part else told), part
    assert told["scenario"] == "Test holding: one roof, one tank (invented)"
    assert told["rule"] == "YAS"
    assert told["period"] == {"from": "2019-01-01", "to": "2020-12-31", "days": 731}
    assert told["weather"]["licence"] == "invented for a test"
    assert told["weather"]["et0"] == "Hargreaves (FAO-56 eq. 52): 731 days"
    assert told["balance_error"] < 1e-9
    assert set(told["dry_days"]["by_draw"]) == {"house", "tomatoes"}
    assert set(told["dry_days"]["by_year"]) == {"2019", "2020"}
    assert told["dry_days"]["total"] == sum(told["dry_days"]["by_year"].values())
    assert isinstance(told["warnings"], list)


def test_totals_of_the_summary_add_up(plain: tuple[Done, Path]) -> None:
    """Rain and backup are all that came; losses, draws, overflow and what is stored are all that went."""
    total = only_numbers((plain[1] / "summary.json").read_text("utf-8"))["totals_L"]
    lost = ("snow_lost", "wetting_loss", "not_run_off", "gutter_off", "filter_loss", "first_flush")
    went = [total[name] for name in (*lost, "overflow", "delivered", "leak", "evaporation", "storage_change")]
    assert sum(went) == pytest.approx(total["rain_on_roofs"] + total["backup"], rel=1e-9)


def test_ledger_twins_say_the_same(plain: tuple[Done, Path]) -> None:
    with (plain[1] / "ledger.csv").open(newline="", encoding="utf-8") as file:
        rows = list(csv.DictReader(file))
    with xr.open_dataset(plain[1] / "ledger.nc", engine="h5netcdf") as ledger:
        assert len(rows) == ledger.sizes["edge"] == ledger.sizes["time"] + 1 == 732
        assert [row["date"] for row in rows[:3]] == ["2018-12-31", "2019-01-01", "2019-01-02"]
        stood = [float(row["storage main at end of day [L]"]) for row in rows]
        assert stood == pytest.approx(ledger["storage"].values[0].tolist(), abs=6e-4)
        assert rows[0]["delivered house [L]"] == "", "the evening before the run has storages and no fluxes"
        delivered = [float(row["delivered house [L]"]) for row in rows[1:]]
        assert delivered == pytest.approx(ledger["delivered"].values[0].tolist(), abs=6e-4)
        assert ledger.attrs["license"] == "invented for a test"
        assert ledger.attrs["source"] == "weather.csv"
        assert ledger.attrs["operating_rule"] == "YAS"
        assert ledger.attrs["Conventions"].startswith("CF-")
        assert ledger["et0"].attrs["source"] == "Hargreaves (FAO-56 eq. 52): 731 days"
        assert all("units" in variable.attrs for variable in ledger.data_vars.values())
    assert b"\r" not in (plain[1] / "ledger.csv").read_bytes()


def test_every_day_closes_from_its_row_and_the_one_above(plain: tuple[Done, Path]) -> None:
    """What stood the evening before, and what came, less what went, is what stands: one tank alone, in the CSV."""
    with (plain[1] / "ledger.csv").open(newline="", encoding="utf-8") as file:
        rows = list(csv.DictReader(file))
    for before, today in pairwise(rows):
        came = sum(float(today[f"{name} main [L]"]) for name in ("inflow", "received", "refill"))
        went = sum(float(today[f"{name} main [L]"]) for name in ("drawn", "overflow", "leak", "evaporation"))
        stood, stands = (float(row["storage main at end of day [L]"]) for row in (before, today))
        assert stands == pytest.approx(stood + came - went, abs=4e-3), today["date"]


def test_years_tell_cut_from_short_and_how_the_bed_fared(plain: tuple[Done, Path]) -> None:
    told = only_numbers((plain[1] / "summary.json").read_text("utf-8"))
    with (plain[1] / "years.csv").open(newline="", encoding="utf-8") as file:
        years = {row["year"]: row for row in csv.DictReader(file)}
    assert list(years) == ["2019", "2020"]
    bed = told["garden"]["tomatoes"]
    for year, row in years.items():
        assert int(row["dry_days"]) == told["dry_days"]["by_year"][year]
        held = told["held_back_days"]["by_year"][year]
        assert {name: int(row[f"held_back_days {name}"]) for name in held} == held
        assert int(row["stress_days tomatoes"]) == bed["stress_days_by_year"][year]
        met = [
            float(row[f"need_{part} tomatoes"]) for part in ("met_by_rain", "met_by_tanks", "met_by_backup")
        ]
        rest = float(row["need_met_by_first_flush tomatoes"]) + float(row["need_unmet tomatoes"])
        assert sum(met) + rest == pytest.approx(1.0, abs=3e-3)
    assert sum(bed["need_met_by"].values()) == pytest.approx(1.0)
    assert told["held_back_days"]["total"] > 0, "or this test shows nothing"


def test_json_on_standard_output_is_the_summary_of_the_folder(as_json: tuple[dict[str, Any], Path]) -> None:
    told, folder = as_json
    assert told == only_numbers((folder / "summary.json").read_text("utf-8"))


def test_options_reach_the_run(as_json: tuple[dict[str, Any], Path], plain: tuple[Done, Path]) -> None:
    told, folder = as_json
    before = only_numbers((plain[1] / "summary.json").read_text("utf-8"))
    assert told["period"] == {"from": "2019-03-01", "to": "2020-11-30", "days": 641}
    rain = before["totals_L"]["rain_on_roofs"]
    assert told["totals_L"]["rain_on_roofs"] > 1.5 * rain, "the variant doubles the roof"
    with xr.open_dataset(folder / "ledger.nc", engine="h5netcdf") as ledger:
        assert float(ledger["wanted"].sel(draw="house")[0]) == pytest.approx(3 * 20 * 3.785411784)
    assert b"m3" in (folder / "charts" / "storage.svg").read_bytes()
    assert b"gal" not in (folder / "charts" / "storage.svg").read_bytes()
    assert b"gal" in (plain[1] / "charts" / "storage.svg").read_bytes()


def test_both_rules_bracket_the_truth(as_json: tuple[dict[str, Any], Path]) -> None:
    both = as_json[0]["both_rules"]
    assert set(both) == {"YAS", "YBS"}
    assert both["YAS"]["dry_days"] == as_json[0]["dry_days"]["total"]
    assert both["YAS"]["overflow_L"] >= both["YBS"]["overflow_L"]


def test_metric_units_and_both_rules_in_words(here: Path, holdwater: Command) -> None:
    done = holdwater("run", "holding.toml", "--units", "metric", "--both-rules")
    assert " m3 in from the roofs" in done.out
    assert " gal" not in done.out
    rows = [line.split() for line in done.out.splitlines()]
    assert ["rule", "dry", "days", "unserved", "days", "delivered", "overflow"] in rows
    assert [row[0] for row in rows if row and row[0] in ("YAS", "YBS")] == ["YAS", "YBS"]


def test_quiet_prints_nothing_and_writes_everything(here: Path, holdwater: Command) -> None:
    assert holdwater("run", "holding.toml", "--quiet", "--out", "out") == (0, "", "")
    assert set(contents(here / "out")) == TABLES | PICTURES
    assert holdwater("check", "holding.toml", "--quiet") == (0, "", "")
    assert holdwater("new", "mine.toml", "--quiet") == (0, "", "")


def test_a_picture_that_no_longer_applies_goes_and_strange_files_stay(here: Path, holdwater: Command) -> None:
    assert holdwater("run", "holding.toml", "--quiet", "--out", "out").code == 0
    (here / "out" / "charts" / "mine.png").write_bytes(b"my own")
    bed = HOLDING.index('[[draw]]\nname = "tomatoes"')
    (here / "holding.toml").write_text(HOLDING[:bed], encoding="utf-8")
    assert holdwater("run", "holding.toml", "--quiet", "--out", "out").code == 0
    garden = {"charts/garden.png", "charts/garden.svg"}
    assert set(contents(here / "out")) == (TABLES | PICTURES | {"charts/mine.png"}) - garden
