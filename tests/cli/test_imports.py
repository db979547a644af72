"""The import promise: what is slow to load is loaded only by the command that needs it."""

from __future__ import annotations

import subprocess
import sys

import pytest

HEAVY = ("pandas", "xarray", "numba", "scipy", "pint", "matplotlib", "meteostat")
TELL = f"""
import sys
loaded = [name for name in {HEAVY!r} if name in sys.modules]
sys.exit(f"loaded {{loaded}}" if loaded else 0)
"""
TYPED = """
import sys
sys.argv = ["holdwater", *{words!r}]
from holdwater.cli import main
try:
    main()
except SystemExit as end:
    assert not end.code, end.code
"""


@pytest.mark.parametrize(
    "code",
    [
        "import holdwater; dir(holdwater)",
        "import holdwater.cli",
        TYPED.format(words=["--help"]),
        TYPED.format(words=["--version"]),
        TYPED.format(words=["run", "--help"]),
        TYPED.format(words=["weather", "--help"]),
        TYPED.format(words=["tables", "crops"]),
        TYPED.format(words=["new", "{new}"]),
    ],
    ids=["import", "import cli", "--help", "--version", "run --help", "weather --help", "tables", "new"],
)
def test_nothing_heavy_is_imported(code: str, tmp_path: object) -> None:
    code = code.replace("{new}", f"{tmp_path}/mine.toml")
    done = subprocess.run(
        [sys.executable, "-c", code + TELL], capture_output=True, text=True, timeout=60, check=False
    )
    assert done.returncode == 0, done.stderr


def test_the_check_above_can_fail() -> None:
    code = "import holdwater; holdwater.simulate"
    done = subprocess.run(
        [sys.executable, "-c", code + TELL], capture_output=True, text=True, timeout=60, check=False
    )
    assert done.returncode == 1
    assert "loaded ['pandas', 'xarray'" in done.stderr
