"""Put the Seattle-Tacoma record 2012-2015 beside seattle.toml, from the installed package vega_datasets.

    pip install vega_datasets==0.9.0
    python scenarios/get_seattle_weather.py

The record is real: NOAA daily observations, public domain, as that package carries them.
"""

from __future__ import annotations

import shutil
import sys
from importlib.metadata import PackageNotFoundError, distribution
from pathlib import Path

FILE = Path(__file__).with_name("seattle-weather.csv")


def packaged_file() -> Path:
    """Where the installed package keeps the record.

    Raises
    ------
    PackageNotFoundError
        The package is not installed.
    """
    return Path(str(distribution("vega_datasets").locate_file("vega_datasets/_data/seattle-weather.csv")))


def main() -> int:
    """Copy the file; the exit code says whether it is there now."""
    try:
        shutil.copyfile(packaged_file(), FILE)
    except (PackageNotFoundError, FileNotFoundError):
        print("the record comes with vega_datasets 0.9.0: pip install vega_datasets==0.9.0", file=sys.stderr)
        return 3
    print(f"wrote {FILE.name}: Seattle-Tacoma, 2012 to 2015, observed, NOAA")
    return 0


if __name__ == "__main__":
    sys.exit(main())
