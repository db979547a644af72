"""A real browser for the tests, driven over two pipes (`--remote-debugging-pipe`): no port, no package.

Messages are JSON ended by a zero byte, in on descriptor 3 and out on descriptor 4 (Chrome DevTools Protocol).
"""

from __future__ import annotations

import base64
import contextlib
import json
import os
import select
import shlex
import shutil
import signal
import subprocess
import time
from collections.abc import Iterator
from pathlib import Path
from typing import Any

NAMES = ("chromium", "chromium-browser", "google-chrome", "google-chrome-stable")
FLAGS = shlex.split(
    "--headless --no-sandbox --disable-gpu --disable-quic --no-first-run --disable-background-networking"
    " --disable-component-update --disable-sync --disable-extensions --disable-default-apps --mute-audio"
    " --force-color-profile=srgb --hide-scrollbars --remote-debugging-pipe"
)
NO_NETWORK = "--host-resolver-rules=MAP * ~NOTFOUND, EXCLUDE 127.0.0.1, EXCLUDE localhost"
PATIENCE = 60.0


def at_hand() -> str | None:
    """Path of a Chromium; None without."""
    return next((found for name in NAMES if (found := shutil.which(name))), None)


class Chromium:
    """One browser with one page open."""

    def __init__(self, command: str, profile: Path) -> None:
        to_read, self._to = os.pipe()
        self._from, to_write = os.pipe()

        def place() -> None:  # the browser reads from 3 and writes to 4
            kept = [os.dup(to_read), os.dup(to_write)]
            high = [os.dup2(fd, 10 + i) for i, fd in enumerate(kept)]
            os.dup2(high[0], 3)
            os.dup2(high[1], 4)

        self._process = subprocess.Popen(
            [command, *FLAGS, NO_NETWORK, f"--user-data-dir={profile}", "about:blank"],
            stdin=subprocess.DEVNULL,
            stdout=subprocess.DEVNULL,
            stderr=subprocess.DEVNULL,
            close_fds=False,
            preexec_fn=place,
            start_new_session=True,
        )
        os.close(to_read)
        os.close(to_write)
        self._held, self._number, self._session = b"", 0, ""
        self.events: list[dict[str, Any]] = []
        target = self.send("Target.createTarget", url="about:blank")["targetId"]
        self._session = self.send("Target.attachToTarget", targetId=target, flatten=True)["sessionId"]
        for domain in ("Page", "Runtime", "Log", "Network"):
            self.send(f"{domain}.enable")

    def close(self) -> None:
        """End the browser and all it has started."""
        with contextlib.suppress(ProcessLookupError):
            os.killpg(self._process.pid, signal.SIGKILL)
        self._process.wait()
        os.close(self._to)
        os.close(self._from)

    def send(self, method: str, **parameters: Any) -> dict[str, Any]:
        """Give one order and wait for its answer."""
        self._number += 1
        order: dict[str, Any] = {"id": self._number, "method": method, "params": parameters}
        if self._session:
            order["sessionId"] = self._session
        os.write(self._to, json.dumps(order).encode() + b"\0")
        until = time.monotonic() + PATIENCE
        while True:
            message = self._next(until)
            if message.get("id") == self._number:
                assert "error" not in message, f"{method}: {message['error']}"
                found: dict[str, Any] = message["result"]
                return found
            self.events.append(message)

    def _next(self, until: float) -> dict[str, Any]:
        while b"\0" not in self._held:
            left = until - time.monotonic()
            assert left > 0, "the browser does not answer"
            if select.select([self._from], [], [], left)[0]:
                read = os.read(self._from, 1 << 20)
                assert read, "the browser has ended"
                self._held += read
        text, _, self._held = self._held.partition(b"\0")
        message: dict[str, Any] = json.loads(text)
        return message

    def run(self, script: str) -> Any:
        """Value of a script in the page, awaited."""
        found = self.send("Runtime.evaluate", expression=script, awaitPromise=True, returnByValue=True)
        assert "exceptionDetails" not in found, found["exceptionDetails"]
        return found["result"].get("value")

    def until(self, script: str, seconds: float = 30.0) -> Any:
        """Wait until a script in the page gives something true."""
        end = time.monotonic() + seconds
        while not (value := self.run(script)):
            assert time.monotonic() < end, f"never true: {script}"
            time.sleep(0.05)
        return value

    def go(self, address: str) -> None:
        """Open an address and wait until its scripts have run."""
        self.send("Page.navigate", url=address)
        self.until("document.readyState === 'complete'")

    def size(self, width: int, height: int, phone: bool = False) -> None:
        """Size of the window [CSS pixels]."""
        self.send(
            "Emulation.setDeviceMetricsOverride",
            width=width,
            height=height,
            deviceScaleFactor=1,
            mobile=phone,
        )

    def key(self, name: str, code: int = 0) -> None:
        """Press and let go one key."""
        for kind in ("rawKeyDown", "keyUp"):
            self.send("Input.dispatchKeyEvent", type=kind, key=name, code=name, windowsVirtualKeyCode=code)

    def mouse(self, kind: str, x: float, y: float) -> None:
        """Press, move or let go the left button."""
        self.send("Input.dispatchMouseEvent", type=kind, x=x, y=y, button="left", buttons=1, clickCount=1)

    def picture(self, path: Path, whole: bool = False) -> None:
        """Write a picture of the page."""
        shot = self.send("Page.captureScreenshot", format="png", captureBeyondViewport=whole)
        path.write_bytes(base64.b64decode(shot["data"]))

    def complaints(self) -> list[str]:
        """Errors and warnings of the console, refused requests of the policy, exceptions."""
        told = []
        for event in self.events:
            method, about = event.get("method"), event.get("params", {})
            if method == "Log.entryAdded" and about["entry"]["level"] in ("error", "warning"):
                told.append(about["entry"]["text"])
            elif method == "Runtime.exceptionThrown":
                told.append(json.dumps(about["exceptionDetails"]))
            elif method == "Runtime.consoleAPICalled" and about["type"] in ("error", "warning", "assert"):
                told.append(json.dumps(about["args"]))
        return told

    def requests(self) -> list[str]:
        """Addresses of all requests made."""
        return [
            event["params"]["request"]["url"]
            for event in self.events
            if event.get("method") == "Network.requestWillBeSent"
        ]


@contextlib.contextmanager
def started(profile: Path) -> Iterator[Chromium]:
    """Open a browser with a fresh profile; it ends with the block."""
    command = at_hand()
    assert command is not None
    browser = Chromium(command, profile)
    try:
        yield browser
    finally:
        browser.close()
