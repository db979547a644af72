"""A real Chromium for the tests, spoken to through its two pipes (Chrome DevTools Protocol)."""

from __future__ import annotations

import json
import os
import select
import signal
import subprocess
import sys
import time
from pathlib import Path
from types import TracebackType
from typing import Any, Self

from holdwater.plan.browser import NO_NETWORK, QUIET

PATIENCE = 60.0
PIPED = """
import os, sys
os.dup2(int(sys.argv[1]), 103)
os.dup2(int(sys.argv[2]), 104)
os.dup2(103, 3)
os.dup2(104, 4)
os.execv(sys.argv[3], sys.argv[3:])
"""
"""Starts the browser with its third file to read orders from and its fourth to answer on."""


class Seen:
    """What a page did while it was open."""

    def __init__(self) -> None:
        self.requests: list[str] = []
        self.console: list[str] = []
        self.dialogs: list[str] = []


class Chromium:
    """A browser with one page at a time."""

    def __init__(self, command: str, profile: Path, root: bool) -> None:
        to_it, from_us = os.pipe()
        from_it, to_us = os.pipe()
        asked = [command, *QUIET, NO_NETWORK, f"--user-data-dir={profile}", "--remote-debugging-pipe"]
        asked += ["--no-sandbox"] if root else []
        self.process = subprocess.Popen(
            [sys.executable, "-c", PIPED, str(to_it), str(to_us), *asked],
            pass_fds=(to_it, to_us),
            stdin=subprocess.DEVNULL,
            stdout=subprocess.DEVNULL,
            stderr=subprocess.DEVNULL,
            start_new_session=True,
        )
        os.close(to_it)
        os.close(to_us)
        self.out, self.inn = from_us, from_it
        self.held = b""
        self.number = 0
        self.seen = Seen()
        self.session = ""

    def __enter__(self) -> Self:
        return self

    def __exit__(
        self, kind: type[BaseException] | None, value: BaseException | None, trace: TracebackType | None
    ) -> None:
        os.killpg(self.process.pid, signal.SIGKILL)
        self.process.wait()
        os.close(self.out)
        os.close(self.inn)

    def open(self, address: str) -> Seen:
        """Open a page in a fresh tab, wait until it is there, and give what it does.

        A browser that has just started may lose its first tab, so it gets three.
        """
        for _ in range(2):
            try:
                return self._open(address)
            except LookupError:
                time.sleep(1.0)
        return self._open(address)

    def _open(self, address: str) -> Seen:
        self.session = ""
        target = self.ask("Target.createTarget", url="about:blank")["targetId"]
        self.session = self.ask("Target.attachToTarget", targetId=target, flatten=True)["sessionId"]
        self.seen = Seen()
        for part in ("Network", "Log", "Runtime", "Page"):
            self.ask(f"{part}.enable")
        self.ask("Page.navigate", url=address)
        until = time.monotonic() + PATIENCE
        while self.value("document.readyState") != "complete" or self.value("location.href") == "about:blank":
            assert time.monotonic() < until, "the page was not there in time"
        return self.seen

    def value(self, expression: str) -> Any:
        """What an expression is in the page; the page's own rules against scripts do not bind the tester."""
        found = self.ask("Runtime.evaluate", expression=expression, returnByValue=True)
        assert "exceptionDetails" not in found, found["exceptionDetails"]
        return found["result"].get("value")

    def ask(self, command: str, **parameters: Any) -> dict[str, Any]:
        """Send a command and wait for its answer."""
        self.number += 1
        said: dict[str, Any] = {"id": self.number, "method": command, "params": parameters}
        if self.session and not command.startswith("Target."):
            said["sessionId"] = self.session
        os.write(self.out, json.dumps(said).encode() + b"\0")
        while True:
            answer = self._message()
            if answer.get("method") == "Target.detachedFromTarget":
                raise LookupError("the tab has gone")
            if answer.get("id") == self.number:
                assert "error" not in answer, answer["error"]
                result: dict[str, Any] = answer["result"]
                return result
            self._note(answer)

    def _message(self) -> dict[str, Any]:
        until = time.monotonic() + PATIENCE
        while b"\0" not in self.held:
            ready, _, _ = select.select([self.inn], [], [], max(0.0, until - time.monotonic()))
            assert ready, "the browser does not answer"
            more = os.read(self.inn, 1 << 16)
            assert more, "the browser has gone"
            self.held += more
        said, _, self.held = self.held.partition(b"\0")
        message: dict[str, Any] = json.loads(said)
        return message

    def _note(self, event: dict[str, Any]) -> None:
        """Keep what the page asks for and complains of."""
        kind, told = event.get("method", ""), event.get("params", {})
        if kind == "Network.requestWillBeSent":
            self.seen.requests.append(told["request"]["url"])
        elif kind in ("Log.entryAdded", "Runtime.consoleAPICalled", "Runtime.exceptionThrown"):
            self.seen.console.append(json.dumps(told))
        elif kind == "Page.javascriptDialogOpening":
            self.seen.dialogs.append(told["message"])
