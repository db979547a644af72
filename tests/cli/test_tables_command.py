"""`holdwater tables`: every row with its unit and its source, in US and metric units."""

from __future__ import annotations

import csv
import json
from importlib.resources import files

import pytest

from tests.cli.conftest import Command

TABLES = ("crops", "soils", "animals", "surfaces", "methods", "fixtures")


def published(table: str) -> list[dict[str, str]]:
    """The table as it ships, read with nothing of ours."""
    text = files("holdwater.scenario.tables").joinpath(f"{table}.csv").read_text(encoding="utf-8")
    return list(csv.DictReader(text.splitlines()))


@pytest.mark.parametrize("table", TABLES)
@pytest.mark.parametrize("units", ["us", "metric"])
def test_every_row_is_listed_with_its_source(table: str, units: str, holdwater: Command) -> None:
    done = holdwater("tables", table, "--units", units)
    assert (done.code, done.err) == (0, "")
    about, rows, sources = done.out.rstrip().split("\n\n")
    head, *lines = rows.splitlines()
    ships = published(table)
    first = next(iter(ships[0]))
    assert about.endswith(".")
    assert [line.split("   ")[0].strip() for line in lines] == [row[first] for row in ships]
    known = dict(line.strip().split(" ", 1) for line in sources.splitlines()[1:])
    for line, row in zip(lines, ships, strict=True):
        assert known[line.split()[-1]] == row["source"]
        assert row["how_known"] in line
    assert head.split()[-1] == "source"
    assert len({len(line) for line in (head, *lines)} - {len(head)}) <= 4, (
        "the columns stand under each other"
    )


@pytest.mark.parametrize("table", TABLES)
def test_json_has_every_row_in_inside_units(table: str, holdwater: Command) -> None:
    told = json.loads(holdwater("tables", table, "--json").out)
    assert told["table"] == table
    ships = published(table)
    assert [row["source"] for row in told["rows"]] == [row["source"] for row in ships]
    for row in told["rows"]:
        assert set(told["units"]) <= set(row)
        assert row["name"]
        assert row["how_known"]


def line(out: str, name: str) -> list[str]:
    (found,) = [line for line in out.splitlines() if line.strip().startswith(f"{name}   ")]
    return found.split()


def test_figures_in_both_units(holdwater: Command) -> None:
    """FAO-56 Table 22 gives tomato roots of 0.7 to 1.5 m; Kansas State 11.4 gal a day at 40 degF."""
    crops = {units: holdwater("tables", "crops", "--units", units).out for units in ("us", "metric")}
    assert "roots [in]" in crops["us"]
    assert "70 to 150" in " ".join(line(crops["metric"], "tomato"))
    assert "28 to 59" in " ".join(line(crops["us"], "tomato"))
    animals = {units: holdwater("tables", "animals", "--units", units).out for units in ("us", "metric")}
    assert next(x.split()[2:4] for x in animals["us"].splitlines() if "cow, lactating" in x) == ["40", "11.4"]
    assert next(x.split()[2:4] for x in animals["metric"].splitlines() if "cow, lactating" in x) == [
        "4.44",
        "43.2",
    ]
    assert "drinks [gal/head/day]" in animals["us"]
    assert "drinks [L/head/day]" in animals["metric"]
    assert line(holdwater("tables", "fixtures").out, "bath")[1] == "4"
    assert line(holdwater("tables", "soils", "--units", "metric").out, "sandy loam")[8] == "120", (
        "mm in a metre"
    )


def test_stages_that_nobody_tabled_are_told(holdwater: Command) -> None:
    out = holdwater("tables", "crops").out
    assert "all year" in " ".join(line(out, "turf, cool season"))
    assert "none known" in " ".join(line(out, "strawberry"))
    assert "30 + 40 + 45 + 30" in " ".join(line(out, "tomato"))


def test_quiet_and_an_unknown_table(holdwater: Command) -> None:
    assert holdwater("tables", "soils", "--quiet") == (0, "", "")
    done = holdwater("tables", "frogs")
    assert (done.code, done.out) == (2, "")
    assert "'crops', 'soils', 'animals'" in done.err
