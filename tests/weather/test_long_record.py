"""A record of 150 years: memory, and what the package loads before it is asked for anything."""

from __future__ import annotations

import subprocess
import sys
import tracemalloc
from pathlib import Path

import pytest

from holdwater.weather import inspect
from tests.weather.files import days_from, plausible_rain

DAYS = 55_000


@pytest.mark.parametrize("temperatures", [False, True])
def test_memory_stays_below_five_times_the_file(tmp_path: Path, temperatures: bool) -> None:
    path = tmp_path / "long.csv"
    header = "date,rain_mm" + ",t_min_c,t_max_c" * temperatures
    rest = ",-1.5,12.5" * temperatures
    rows = (
        f"{d},{r}{rest}" for d, r in zip(days_from("1870-01-01", DAYS), plausible_rain(DAYS), strict=True)
    )
    path.write_text(header + "\n" + "\n".join(rows) + "\n")
    small = tmp_path / "small.csv"
    small.write_text("date,rain_mm\n2012-01-01,1\n")
    inspect(small)  # what is imported once does not count
    tracemalloc.start()
    try:
        found = inspect(path)
        peak = tracemalloc.get_traced_memory()[1]
    finally:
        tracemalloc.stop()
    assert found.days == DAYS
    assert peak < 5 * path.stat().st_size


def test_the_package_itself_loads_nothing_heavy() -> None:
    heavy = "pandas xarray numpy numba scipy pint matplotlib meteostat h5py"
    code = (
        f"import sys, holdwater.weather\nprint([name for name in '{heavy}'.split() if name in sys.modules])"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert done.stdout.strip() == "[]"


def test_reading_a_csv_does_not_load_the_station_service_or_grids(tmp_path: Path) -> None:
    (tmp_path / "a.csv").write_text("date,rain_mm\n2012-01-01,1\n")
    code = (
        "import sys; from holdwater.weather import inspect\n"
        f"inspect({str(tmp_path / 'a.csv')!r})\n"
        "print([name for name in ('meteostat', 'h5py', 'h5netcdf', 'matplotlib', 'numba') if name in sys.modules])"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert done.stdout.strip() == "[]"
