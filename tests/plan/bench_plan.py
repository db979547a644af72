"""Measure the demo plan: its weight, and the time it takes beside a run. `python -m tests.plan.bench_plan`.

Both commands are started anew each time, in turn, and the quickest of each counts.
"""

from __future__ import annotations

import json
import subprocess
import sys
import tempfile
import time
from pathlib import Path

DEMO = Path(__file__).parents[2] / "scenarios" / "larkfield.toml"
ROUNDS = 4
AHEAD = ["--holding", "1200 gal", "--on", "2025-12-01"]


def main() -> None:
    """Print the measures."""
    commands = {
        "run": ["run", str(DEMO)],
        "plan, page only": ["plan", str(DEMO), "--no-pdf", "--json", *AHEAD],
        "plan with its PDF": ["plan", str(DEMO), "--json", *AHEAD],
    }
    best = dict.fromkeys(commands, float("inf"))
    told: dict[str, object] = {}
    with tempfile.TemporaryDirectory() as folder:
        for _ in range(ROUNDS):
            for name, words in commands.items():
                begun = time.perf_counter()
                done = subprocess.run(
                    [sys.executable, "-m", "holdwater", *words, "--out", f"{folder}/{words[0]}"],
                    capture_output=True,
                    check=True,
                )
                best[name] = min(best[name], time.perf_counter() - begun)
                if words[0] == "plan":
                    told = json.loads(done.stdout)
    for name, seconds in best.items():
        print(f"{name:<20} {seconds:5.2f} s   {seconds / best['run']:.2f} of a run")
    print(f"weight {int(str(told['bytes'])) / 1e6:.2f} MB, PDF: {told['pdf'] or told['why_no_pdf']}")


if __name__ == "__main__":
    main()
