"""`holdwater open`: serve the page of one scenario to this machine until Ctrl-C."""

from __future__ import annotations

import contextlib
import os
import sys
import threading
import webbrowser
from dataclasses import dataclass
from pathlib import Path
from typing import Literal

from holdwater.scenario import load


@dataclass(frozen=True)
class Asked:
    """What the user typed."""

    scenario: Path
    port: int
    browser: bool
    units: Literal["us", "metric"] | None


def serve(asked: Asked, as_json: bool, quiet: bool) -> None:
    """Serve the page until Ctrl-C.

    Raises
    ------
    InputError
        The scenario, its weather or the port cannot be used.
    """
    load(asked.scenario)  # a fault of the file is told before the rest loads
    from holdwater.cli.running import progress

    with progress(quiet or as_json) as step:
        step("reading the weather")
        from holdwater.page.desk import Desk
        from holdwater.page.server import address, application, listening, new_token, server

        desk, token = Desk(asked.scenario, asked.units), new_token()
    with listening(asked.port) as held:
        port = held.getsockname()[1]
        serving, where = server(application(desk, token, port)), address(port, token)
        if as_json:
            from holdwater.cli.text import as_json as written

            print(written({"address": where, "port": port}), flush=True)
        elif quiet:
            print(where, flush=True)
        else:
            print(f"Open this in a browser of this machine: {where}", flush=True)
            print("Nobody else can reach it. Ctrl-C stops.", flush=True)
        if asked.browser and _has_screen():
            threading.Thread(target=webbrowser.open, args=(where,), daemon=True).start()
        with contextlib.suppress(KeyboardInterrupt):  # the usual way to end it
            serving.run(sockets=[held])


def _has_screen() -> bool:
    """Whether a browser could show itself; on a bare terminal one would take the terminal over."""
    return not sys.platform.startswith("linux") or any(map(os.environ.get, ("DISPLAY", "WAYLAND_DISPLAY")))
