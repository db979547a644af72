"""`holdwater run` tells its droughts, how sure it is, and what other weather would do; size and sweep too."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from holdwater.cli.running import read_pool
from holdwater.errors import InputError
from holdwater.scenario import load
from holdwater.scores import score
from holdwater.simulation import simulate
from holdwater.studies.droughts import all_droughts
from holdwater.weather import read_weather
from tests.drought.test_commands import refused, run, scenario, table

__all__ = ["scenario"]  # the fixture: twelve years of invented weather and a holding


def summary(folder: str | Path = "outputs/ridge") -> Any:
    return json.loads(Path(folder, "summary.json").read_text("utf-8"))


def test_a_run_prints_and_writes_its_droughts(scenario: Path) -> None:
    said, told = run("run", str(scenario)), summary()
    assert [line for line in said.splitlines() if line in told["drought_sentences"]] == told[
        "drought_sentences"
    ]
    assert told["drought_sentences"][0].startswith("Drought 1: ")
    assert any(line.startswith("Last year (2021): ") for line in told["drought_sentences"])
    rows = table("outputs/ridge/droughts.csv")
    file = load(scenario)
    ledger = simulate(file.scenario, read_weather(file.scenario.weather, scenario.parent))
    expected = all_droughts(ledger, score(ledger))
    assert [(r["kind"], r["first"], r["last"], r["rank"]) for r in rows] == [
        (d.kind, str(d.first), str(d.last), str(d.rank)) for d in expected
    ]
    dry = [d for d in expected if d.kind == "dry"]
    assert len(dry) > 3
    kept = [d for d in told["droughts"] if d["kind"] == "dry"]
    assert [d["deficit_L"] for d in kept] == pytest.approx([d.deficit_L for d in dry])
    assert [d["rank"] for d in told["droughts"] if d["kind"] == "rainless"] == [1, 2, 3]


def test_pool_says_what_is_one_drought(scenario: Path) -> None:
    run("run", str(scenario), "--pool", "0 days", "--out", "apart")
    run("run", str(scenario), "--pool", "365 days", "--out", "joined")
    apart, joined = summary("apart"), summary("joined")
    dry = [d for d in apart["droughts"] if d["kind"] == "dry"]
    assert len(dry) == apart["dry_spells"]
    assert all(d["spells"] == 1 for d in dry)
    fewer = [d for d in joined["droughts"] if d["kind"] == "dry"]
    assert len(fewer) < len(dry)
    assert sum(d["spells"] for d in fewer) == apart["dry_spells"]
    assert joined["droughts_apart_days"] == 365
    assert joined["drought_sentences"][-1] == "Dry spells less than 365 days apart count as one drought."


def test_pool_is_a_length_of_time_in_whole_days() -> None:
    assert [read_pool(text) for text in ("30 days", "2 weeks", "0 days")] == [30, 14, 0]
    for text, said in (("30", "--pool: "), ("gal", "--pool: "), ("36 h", "1.5 days; write whole days")):
        with pytest.raises(InputError, match=said):
            read_pool(text)


def test_confidence_puts_intervals_beside_the_run(scenario: Path) -> None:
    words = ("run", str(scenario), "--confidence", "--samples", "40", "--seed", "3")
    said, told = run(*words, "--out", "a"), summary("a")
    numbers = told["confidence"]["numbers"]
    assert numbers["dry_days_per_year"]["here"] == pytest.approx(told["dry_days"]["per_year"])
    assert numbers["reliability_volume"]["here"] == pytest.approx(told["reliability"]["volume"])
    assert all(each["low"] <= each["here"] <= each["high"] for each in numbers.values())
    low, high = (numbers["dry_days_per_year"][end] for end in ("low", "high"))
    assert f"{low:,.1f} to {high:,.1f}" in said
    assert "40 records made of whole years of this one, drawn by lot (seed 3)" in said
    run(*words, "--out", "b")
    assert summary("b")["confidence"] == told["confidence"]
    assert "confidence" not in json.loads(run("run", str(scenario), "--json"))


def test_confidence_that_cannot_be_is_refused_and_writes_nothing(scenario: Path) -> None:
    short = ("--from", "2015-01-01", "--out", "new")
    assert "this record has 7" in refused("run", str(scenario), "--confidence", *short)
    assert "19 samples or more" in refused(
        "run", str(scenario), "--confidence", "--samples", "5", "--out", "new"
    )
    assert not Path("new").exists()


def test_a_change_of_the_weather_is_run_and_told_everywhere(scenario: Path) -> None:
    how = "rain x 0.5 in summer, rain -10 % in winter"
    run("run", str(scenario), "--out", "as-it-was")
    said = run("run", str(scenario), "--change", how, "--out", "changed")
    was, told = summary("as-it-was"), summary("changed")
    how = "rain x 0.5 in summer (June to August), rain -10 % in winter (December to February)"
    assert told["totals_L"]["rain_on_roofs"] < was["totals_L"]["rain_on_roofs"]
    assert f"The weather was changed on purpose: {how}." in told["verdict"]
    assert told["weather"]["changed"] == how
    assert was["weather"]["changed"] is None
    assert f"weather changed on purpose: {how}" in told["warnings"]
    assert said.count(how) == 2
    assert (
        "Note: seasons are those north of the equator, because the scenario does not say where it is" in said
    )
    foot = Path("changed/charts/storage.svg").read_text("utf-8")
    assert "changed on purpose (rain x 0.5 in summer" in foot
    assert "changed on purpose" not in Path("as-it-was/charts/storage.svg").read_text("utf-8")


def test_the_scenario_may_name_the_change_and_check_reads_it(scenario: Path) -> None:
    text = scenario.read_text("utf-8")
    scenario.write_text(text.replace('"rain.csv"', '"rain.csv"\nchange = "rain x 2"', 1), "utf-8")
    file = load(scenario)
    doubled = read_weather(file.scenario.weather, scenario.parent)
    scenario.write_text(text, "utf-8")
    plain = read_weather(load(scenario).scenario.weather, scenario.parent)
    np.testing.assert_allclose(doubled.data["rain"], 2 * plain.data["rain"])
    scenario.write_text(text.replace('"rain.csv"', '"rain.csv"\nchange = "less rain"', 1), "utf-8")
    assert 'weather: change: "less rain": not a change of rain' in refused("check", str(scenario))


def test_south_of_the_equator_the_change_is_in_the_summer_there(scenario: Path) -> None:
    text = scenario.read_text("utf-8").replace('"rain.csv"', '"rain.csv"\nchange = "rain x 0 in summer"', 1)
    scenario.write_text(text + "[place]\nlatitude = -33.0\nlongitude = 18.0\n", "utf-8")
    file = load(scenario)
    record = read_weather(file.scenario.weather, scenario.parent, place=file.scenario.place)
    month = record.days.astype("datetime64[M]").astype(int) % 12 + 1
    rain = record.data["rain"].values
    assert rain[np.isin(month, (12, 1, 2))].sum() == 0.0
    assert rain[np.isin(month, (6, 7, 8))].sum() > 0.0


def test_size_asks_records_drawn_by_lot_and_changed_weather(scenario: Path) -> None:
    words = ("size", str(scenario), "--vary", "tank.tank.capacity=2000 gal..40000 gal:9", "--years", "1/2")
    said = run(*words, "--dry-days", "60", "--confidence", "--samples", "19", "--json")
    told = json.loads(said)
    interval, answer = told["confidence"], told["answer"]["inside"]
    assert interval["low"] <= answer <= interval["high"]
    assert (interval["samples"], interval["enough"]) == (19, 19)
    less = json.loads(run(*words, "--dry-days", "60", "--change", "rain x 0.1", "--json"))
    assert less["answer"] is None
    assert less["weather"]["changed"] == "rain x 0.1"
    text = run(*words, "--change", "rain x 0.1", "--confidence", "--samples", "19")
    assert "In none of 19 records made of whole years of this one" in text
    assert "Note: weather changed on purpose: rain x 0.1." in text
    assert "needs 19 samples or more" in refused(*words, "--confidence", "--samples", "18")


def test_sweep_runs_changed_weather_and_says_so(scenario: Path) -> None:
    words = ("sweep", str(scenario), "--vary", "roof.barn.area=1000 ft2,2000 ft2")
    run(*words, "--out", "was")
    said = run(*words, "--change", "rain x 0.8", "--out", "changed")
    before, after = (table(f"{folder}/sweep.csv") for folder in ("was", "changed"))
    assert all(
        int(a["dry_days [day]"]) > int(b["dry_days [day]"]) for a, b in zip(after, before, strict=True)
    )
    assert "Note: weather changed on purpose: rain x 0.8." in said
    assert "changed on purpose (rain x 0.8)" in Path("changed/charts/sweep.svg").read_text("utf-8")


DIARY = "date,rain_in\n2021-12-31,9\n2022-01-01,0.5\n2022-01-02,0\n2022-01-03,1\n"


def test_a_diary_carries_the_record_on_to_its_last_day(scenario: Path) -> None:
    Path("log.csv").write_text(DIARY, "utf-8")
    text = scenario.read_text("utf-8")
    scenario.write_text(text.replace('"rain.csv"', '"rain.csv"\ndiary = "log.csv"', 1), "utf-8")
    run("run", str(scenario))
    told = summary()
    assert told["period"]["to"] == "2022-01-03"
    note = "3 days from 2022-01-01 to 2022-01-03 come from the owner's own log 'log.csv'"
    assert note in told["warnings"]
    file = load(scenario)
    record = read_weather(file.scenario.weather, scenario.parent)
    np.testing.assert_allclose(record.data["rain"].values[-3:], [12.7, 0.0, 25.4])
    assert record.data["rain"].values[-4] < 9 * 25.4  # the record keeps its own days


def test_a_diary_of_rainy_days_is_a_table_with_its_own_keys(scenario: Path) -> None:
    Path("log.csv").write_text("day;depth\n2022-01-02;10\n2022-01-05;4\n", "utf-8")
    text = scenario.read_text("utf-8")
    keys = '"rain.csv"\ndiary = { file = "log.csv", rain_column = "depth", rain_unit = "mm", absent_days = "dry" }'
    scenario.write_text(text.replace('"rain.csv"', keys, 1), "utf-8")
    said = refused("check", str(scenario))  # before the log's first day nothing is known
    assert "1 day has no rain value" in said
    assert "2022-01-01" in said
    Path("log.csv").write_text("day;depth\n2022-01-01;0\n2022-01-02;10\n2022-01-05;4\n", "utf-8")
    file = load(scenario)
    record = read_weather(file.scenario.weather, scenario.parent)
    assert record.data["rain"].values[-5:].tolist() == [0.0, 10.0, 0.0, 0.0, 4.0]


def test_a_diary_that_is_not_there_or_names_no_file_is_refused(scenario: Path) -> None:
    text = scenario.read_text("utf-8")
    scenario.write_text(text.replace('"rain.csv"', '"rain.csv"\ndiary = "lgo.csv"', 1), "utf-8")
    assert "lgo.csv" in refused("run", str(scenario))
    scenario.write_text(text.replace('"rain.csv"', '"rain.csv"\ndiary = { station = "X" }', 1), "utf-8")
    assert "weather: diary: file is missing" in refused("run", str(scenario))
