"""`holdwater open` as a user types it, in a process of its own."""

from __future__ import annotations

import http.client
import json
import os
import re
import signal
import socket
import subprocess
import sys
from pathlib import Path

import pytest

from holdwater.cli import open as page

OPEN = [sys.executable, "-m", "holdwater", "open"]
HEAVY = (
    "pandas",
    "xarray",
    "numba",
    "scipy",
    "pint",
    "matplotlib",
    "meteostat",
    "starlette",
    "uvicorn",
    "tomlkit",
)


@pytest.mark.skipif(sys.platform == "win32", reason="Ctrl-C is sent another way there")
@pytest.mark.parametrize("option", ["--no-quiet", "--quiet", "--json"])
def test_it_serves_until_ctrl_c(scenario: Path, option: str) -> None:
    asked = [*OPEN, str(scenario), "--no-browser", *([] if option == "--no-quiet" else [option])]
    with subprocess.Popen(asked, stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True) as process:
        assert process.stdout is not None
        assert process.stderr is not None
        try:
            line = process.stdout.readline()
            while option == "--json" and "}" not in line:
                line += process.stdout.readline()
            where = json.loads(line)["address"] if option == "--json" else line.split()[-1]
            found = re.fullmatch(r"http://127\.0\.0\.1:(\d+)/\?token=([\w-]{30,})", where)
            assert found, line
            link = http.client.HTTPConnection("127.0.0.1", int(found[1]), timeout=20)
            link.request("GET", f"/?token={found[2]}")
            assert link.getresponse().status == 200
            link.close()
            process.send_signal(signal.SIGINT)
            process.wait(20)
            rest, told = process.stdout.read(), process.stderr.read()
        finally:
            process.kill()
    assert process.returncode == 0
    assert told == ""
    assert ("Ctrl-C stops" in rest) == (option == "--no-quiet")


@pytest.mark.skipif(not sys.platform.startswith("linux"), reason="elsewhere there is always a screen")
def test_no_browser_takes_over_a_bare_terminal(monkeypatch: pytest.MonkeyPatch) -> None:
    for name in ("DISPLAY", "WAYLAND_DISPLAY"):
        monkeypatch.delenv(name, raising=False)
    assert not page._has_screen()
    monkeypatch.setenv("DISPLAY", ":0")
    assert page._has_screen()


def _typed(*words: str) -> subprocess.CompletedProcess[str]:
    return subprocess.run([*OPEN, *words], capture_output=True, text=True, timeout=60, check=False)


def test_faults_are_told_before_anything_is_served(scenario: Path) -> None:
    done = _typed(str(scenario.with_name("none.toml")), "--no-browser")
    assert (done.returncode, done.stdout) == (2, "")
    assert "there is no file" in done.stderr
    (scenario.parent / "weather.csv").unlink()
    done = _typed(str(scenario), "--no-browser")
    assert (done.returncode, done.stdout) == (2, "")
    assert "weather.csv" in done.stderr


def test_a_port_in_use_is_told(scenario: Path) -> None:
    with socket.create_server(("127.0.0.1", 0)) as held:
        port = held.getsockname()[1]
        done = _typed(str(scenario), "--no-browser", "--port", str(port))
    assert done.returncode == 2
    assert f"holdwater: --port {port}: it cannot be used" in done.stderr


def test_help_loads_nothing_heavy() -> None:
    code = (
        "import sys\nsys.argv = ['holdwater', 'open', '--help']\nfrom holdwater.cli import main\n"
        f"try:\n    main()\nexcept SystemExit:\n    pass\nprint([n for n in {HEAVY!r} if n in sys.modules])"
    )
    done = subprocess.run(
        [sys.executable, "-c", code], capture_output=True, text=True, timeout=60, check=True, env=os.environ
    )
    assert "--no-browser" in done.stdout
    assert done.stdout.splitlines()[-1] == "[]"
