"""Time to load and inspect a 150-year record, side by side with pandas.read_csv on the same file.

    python tests/weather/bench_long_record.py

The two are timed in turn, so that a busy machine is busy for both; the best of each counts.
"""

from __future__ import annotations

import sys
import tempfile
import time
from pathlib import Path

sys.path.insert(0, str(Path(__file__).resolve().parents[2]))

import pandas as pd

from holdwater.weather import inspect
from tests.weather.files import days_from, plausible_rain

DAYS = 55_000
ROUNDS = 15


def main() -> None:
    """Write the files, time both, print the ratio."""
    days, rain = days_from("1870-01-01", DAYS), plausible_rain(DAYS)
    files = {
        "date,rain_mm": [f"{d},{r}" for d, r in zip(days, rain, strict=True)],
        "date,rain_in,t_min_f,t_max_f": [
            f"{d},{r / 25.4:.2f},{30 + i % 30},{50 + i % 30}"
            for i, (d, r) in enumerate(zip(days, rain, strict=True))
        ],
    }
    with tempfile.TemporaryDirectory() as folder:
        for header, rows in files.items():
            path = Path(folder) / "long.csv"
            path.write_text("\n".join([header, *rows]) + "\n")
            plain, ours = [], []
            for _ in range(ROUNDS):
                begun = time.perf_counter()
                pd.read_csv(path)
                plain.append(time.perf_counter() - begun)
                begun = time.perf_counter()
                inspect(path)
                ours.append(time.perf_counter() - begun)
            print(
                f"{header}: {path.stat().st_size / 1e6:.1f} MB, pandas.read_csv {min(plain) * 1e3:.1f} ms, "
                f"load and inspect {min(ours) * 1e3:.1f} ms, {min(ours) / min(plain):.2f} times"
            )


if __name__ == "__main__":
    main()
