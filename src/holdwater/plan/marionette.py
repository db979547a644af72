"""Firefox as a printer: it takes orders on a local socket, one JSON message after another.

Messages are `length:[0, number, command, parameters]`; answers are `length:[1, number, error, result]`
(Firefox source documentation, "Marionette protocol", version 3; from memory, tried against Firefox itself).
"""

from __future__ import annotations

import json
import socket
import time
from base64 import b64decode
from pathlib import Path
from typing import Any

SETTINGS = {
    "marionette.port": 0,
    "app.update.enabled": False,
    "browser.shell.checkDefaultBrowser": False,
    "datareporting.policy.dataSubmissionEnabled": False,
    "network.captive-portal-service.enabled": False,
    "network.connectivity-service.enabled": False,
    "network.proxy.type": 1,
    "network.proxy.http": "127.0.0.1",
    "network.proxy.http_port": 9,
    "network.proxy.ssl": "127.0.0.1",
    "network.proxy.ssl_port": 9,
    "toolkit.telemetry.enabled": False,
}
"""No updates, no reports, and a proxy that is not there: nothing leaves the machine."""


class Refused(Exception):
    """The browser did not do what it was asked to."""


def prepare(profile: Path) -> None:
    """Write the settings of a fresh profile."""
    lines = [f"user_pref({json.dumps(key)}, {json.dumps(value)});" for key, value in SETTINGS.items()]
    (profile / "user.js").write_text("\n".join(lines) + "\n", "utf-8")


def printed(profile: Path, address: str, patience: float) -> bytes:
    """Have a started browser open a page and print it.

    Parameters
    ----------
    profile : Path
        Of the browser; it writes the number of its port there.
    address : str
        Of the page.
    patience : float
        How long all of it may take [s].

    Returns
    -------
    bytes
        A PDF.

    Raises
    ------
    Refused
        It answered with an error, or not at all.
    OSError
        The socket failed.
    """
    until = time.monotonic() + patience
    with socket.create_connection(("127.0.0.1", _port(profile, until)), timeout=patience) as line:
        _message(line)
        _ask(line, 1, "WebDriver:NewSession", {})
        _ask(line, 2, "WebDriver:Navigate", {"url": address})
        answer = _ask(line, 3, "WebDriver:Print", {"background": True, "shrinkToFit": False})
        return b64decode(answer["value"])


def _port(profile: Path, until: float) -> int:
    written = profile / "MarionetteActivePort"
    while time.monotonic() < until:
        if written.is_file() and written.read_text("utf-8").strip().isdecimal():
            return int(written.read_text("utf-8"))
        time.sleep(0.05)
    raise Refused("it did not start")


def _ask(line: socket.socket, number: int, command: str, parameters: dict[str, Any]) -> dict[str, Any]:
    said = json.dumps([0, number, command, parameters]).encode()
    line.sendall(f"{len(said)}:".encode() + said)
    _, _, error, result = _message(line)
    if error:
        raise Refused(f"{command}: {error.get('message', error)}")
    found: dict[str, Any] = result
    return found


def _message(line: socket.socket) -> Any:
    length = b""
    while not length.endswith(b":"):
        length += _more(line, 1)
    held = bytearray()
    while len(held) < int(length[:-1]):
        held += _more(line, int(length[:-1]) - len(held))
    return json.loads(held.decode())


def _more(line: socket.socket, number: int) -> bytes:
    found = line.recv(min(number, 1 << 16))
    if not found:
        raise Refused("it closed the line")
    return found
