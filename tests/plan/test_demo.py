"""The plan of the demo holding that comes with the program."""

from __future__ import annotations

import json
import subprocess
import sys
from pathlib import Path

DEMO = Path(__file__).parents[2] / "scenarios" / "larkfield.toml"
HEAVIEST = 3_000_000  # bytes


def test_the_demo_plan_has_every_section_and_stays_light(tmp_path: Path) -> None:
    words = ["plan", str(DEMO), "--out", str(tmp_path), "--no-pdf", "--json"]
    words += ["--holding", "1200 gal", "--on", "2025-12-01"]
    done = subprocess.run(
        [sys.executable, "-W", "error", "-m", "holdwater", *words],
        capture_output=True,
        text=True,
        check=False,
    )
    assert done.stderr == ""
    told = json.loads(done.stdout)
    assert told["bytes"] == (tmp_path / "plan.html").stat().st_size <= HEAVIEST
    assert {"site", "outlook", "garden", "what-ifs", "next", "sizes", "worst"} <= set(told["sections"])
    assert len(told["sections"]) == 16
