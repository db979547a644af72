"""The command as a user runs it, the real library, and a service on the loopback interface."""

from __future__ import annotations

import json
import signal
import subprocess
import sys
import time
from pathlib import Path
from typing import Any

import pytest

from holdwater.weather.stations.store import Store
from tests.weather_stations.conftest import ROOT, Command, scenario, squeezed
from tests.weather_stations.service import DRY_GULCH, Service, year_rows

HEAVY = (
    "pandas",
    "xarray",
    "numba",
    "scipy",
    "pint",
    "matplotlib",
    "meteostat",
    "platformdirs",
    "rich.progress",
)
ONE_YEAR = "/daily/2012/X0001.csv.gz"


def test_near_then_fetch_then_run_and_the_same_run_with_the_service_off(
    command: Command, service: Service, home: Path
) -> None:
    near = command("weather", "near", "38.4", "-109.2", "--json")
    assert near.code == 0
    assert [s["id"] for s in near.json["stations"]] == ["X0001", "X0002", "X0004"]

    station = near.json["stations"][0]["id"]
    fetched = command("weather", "fetch", station, "--json")
    assert fetched.code == 0
    assert [year["fetched_now"] for year in fetched.json["years"].values()] == [True] * 5
    file = scenario(home, f'station = "{station}"\nmissing_days = "zero"')

    def run() -> tuple[dict[str, Any], bytes]:
        done = command("run", file, "--quiet")
        assert done.code == 0, done.err
        folder = home / "outputs" / "holding"
        return json.loads((folder / "summary.json").read_text("utf-8")), (folder / "ledger.csv").read_bytes()

    asked = len(service.asked)
    online = run()
    assert len(service.asked) == asked  # old years are settled: nothing is asked for again
    service.faults[""] = 500
    offline = run()
    assert len(service.asked) == asked
    assert offline == online
    left = {path.name for path in home.iterdir()}
    assert left.isdisjoint({".meteostat", "library-cache", "library-stations.db"})
    told = online[0]
    assert told["weather"]["station"] == "X0001"
    assert told["weather"]["missing"] == told["weather"]["filled"] == 5
    assert told["weather"]["licence"] == (
        "Source: Meteostat and NOAA GHCN-Daily, CC BY 4.0; changes: model rain of 2 days taken out, rain without "
        "a source of 1 day taken out, 5 days without rain filled (zero)"
    )
    totals = {year: sum(year_rows(DRY_GULCH, year).values()) for year in (2010, 2011)}
    ledger = online[1].decode().splitlines()
    at = next(i for i, name in enumerate(ledger[0].split(",")) if name.startswith("rain [mm]"))
    for year, total in totals.items():
        rain = [float(row.split(",")[at]) for row in ledger[1:] if row.startswith(str(year))]
        assert sum(rain) == pytest.approx(total, abs=1e-6)


def test_near_in_a_scenario_fetches_by_itself_and_says_what_it_took(command: Command, home: Path) -> None:
    file = scenario(home, 'near = true\nmissing_days = "zero"', first="2011-01-01")
    done = command("check", file)
    assert done.code == 0, done.err
    said = squeezed(done.out)
    assert "near = true took station X0001 (Dry Gulch (invented)), 6 km away and 15 m lower" in said
    assert 'station = "X0001" keeps to it' in said


@pytest.mark.parametrize(
    ("fault", "said"),
    [
        (500, "2012: the service answered 500"),
        ("garbage", "2012: what came is no weather file"),
        ("cut", "2012: what came is cut short"),
        ("hang", "2012: no answer within 1.5 s"),
    ],
)
def test_a_failed_year_ends_in_words_and_exit_code_3_and_leaves_the_store_whole(
    fault: int | str, said: str, command: Command, service: Service, store: Store
) -> None:
    service.faults[ONE_YEAR] = fault
    span = ("--from", "2011-01-01", "--to", "2013-12-31")
    done = command("weather", "fetch", "X0001", *span)
    assert done.code == 3
    assert said in done.err
    assert "Half a record would mislead" in done.err
    assert len(done.err.strip().splitlines()) <= 3
    assert store.years("X0001") == [2011, 2013]
    assert all(store.read("X0001", year) is not None for year in (2011, 2013))
    assert [p.name for p in store.folder.rglob(".new-*")] == []


def test_a_run_without_weather_ends_with_exit_code_3_and_leaves_the_old_results(
    command: Command, service: Service, home: Path
) -> None:
    old = home / "outputs" / "holding" / "summary.json"
    old.parent.mkdir(parents=True)
    old.write_text("old")
    service.faults[""] = 503
    done = command("run", scenario(home, 'station = "X0001"'))
    assert done.code == 3
    assert "station X0001: 5 years could not be had (2010 to 2014: the service answered 503)" in squeezed(
        done.err
    )
    assert done.out == ""
    assert old.read_text() == "old"


@pytest.mark.skipif(sys.platform == "win32", reason="there is no kill -9")
def test_after_kill_9_in_the_middle_of_a_fetch_the_next_one_completes(
    command: Command, service: Service, store: Store
) -> None:
    service.faults[""] = "slow"
    process = command.start("weather", "fetch", "X0001", "--from", "2010-01-01", "--to", "2014-12-31")
    try:
        until = time.monotonic() + 30
        while len(store.years("X0001")) < 2:
            assert time.monotonic() < until, "no year arrived"
            assert process.poll() is None, process.communicate()
            time.sleep(0.02)
        process.send_signal(signal.SIGKILL)
    finally:
        process.kill()
        process.communicate(timeout=10)
    there = store.years("X0001")
    assert 2 <= len(there) < 5
    assert all(store.read("X0001", year) is not None for year in there)
    service.faults.clear()
    service.asked.clear()
    done = command("weather", "fetch", "X0001", "--from", "2010-01-01", "--to", "2014-12-31", "--json")
    assert done.code == 0
    assert store.years("X0001") == [2010, 2011, 2012, 2013, 2014]
    assert service.asked_years() == [year for year in range(2010, 2015) if year not in there]


def test_the_help_of_the_weather_commands_loads_nothing_heavy(command: Command) -> None:
    done = subprocess.run(
        [
            sys.executable,
            "-c",
            "import sys; sys.argv = ['holdwater', 'weather', 'near', '--help']\n"
            "from holdwater.cli import main\n"
            "try: main()\n"
            f"except SystemExit: print([m for m in {HEAVY!r} if m in sys.modules])",
        ],
        env={**command.environment, "PYTHONPATH": str(ROOT / "src")},
        capture_output=True,
        text=True,
        timeout=60,
        check=True,
    )
    assert "west is negative" in done.stdout
    assert done.stdout.strip().endswith("[]")
