"""The page on paper: a browser at hand prints it to a PDF, without a window and without a network."""

from __future__ import annotations

import contextlib
import os
import shutil
import signal
import subprocess
import tempfile
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

from holdwater.plan import marionette

CHROMIUMS = (
    "chromium",
    "chromium-browser",
    "google-chrome",
    "google-chrome-stable",
    "chrome",
    "microsoft-edge",
    "msedge",
)
FIREFOXES = ("firefox", "firefox-esr")
CHOICE = "HOLDWATER_BROWSER"
"""Environment variable: the browser to print with, by name or path; "none" for no PDF."""
PATIENCE = 60.0
"""How long a browser may take [s]."""
QUIET = (
    "--headless",
    "--disable-gpu",
    "--disable-quic",
    "--no-first-run",
    "--no-default-browser-check",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
    "--disable-extensions",
    "--disable-default-apps",
    "--mute-audio",
    "--no-pdf-header-footer",
)
NO_NETWORK = "--host-resolver-rules=MAP * ~NOTFOUND"


@dataclass(frozen=True)
class Browser:
    """A browser that can print.

    Attributes
    ----------
    command : str
        Its path.
    gecko : bool
        Whether it is spoken to as a Firefox.
    """

    command: str
    gecko: bool


def at_hand() -> Browser | None:
    """Find a browser: the one chosen in the environment, else one on the path; None without."""
    chosen = os.environ.get(CHOICE, "")
    for name in [chosen] if chosen else [*CHROMIUMS, *FIREFOXES]:
        found = shutil.which(name)
        if found:
            return Browser(found, "firefox" in Path(name).stem.lower())
    return None


def printed(page: Path, pdf: Path, browser: Browser | None = None) -> str:
    """Print a page to a PDF.

    Parameters
    ----------
    page : Path
        An HTML file that needs nothing else.
    pdf : Path
        Where it goes; not there if it could not be printed.
    browser : Browser, optional
        The one at hand if not given.

    Returns
    -------
    str
        Why there is none; "" where there is one.
    """
    browser = browser or at_hand()
    if browser is None:
        if os.environ.get(CHOICE):
            return f"{CHOICE} names no browser that is there"
        return "no browser was found (chromium, google-chrome, firefox)"
    name = Path(browser.command).name
    try:
        with tempfile.TemporaryDirectory(prefix="holdwater-", ignore_cleanup_errors=True) as profile:
            (_by_firefox if browser.gecko else _by_chromium)(browser, page, pdf, Path(profile))
    except (OSError, subprocess.SubprocessError, marionette.Refused) as fault:
        pdf.unlink(missing_ok=True)
        why = (
            f"it took more than {PATIENCE:.0f} s"
            if isinstance(fault, subprocess.TimeoutExpired)
            else f"{fault}"
        )
        return f"{name} could not print it ({' '.join(why.split())[:200]})"
    if not pdf.is_file() or not pdf.read_bytes().startswith(b"%PDF"):
        pdf.unlink(missing_ok=True)
        return f"{name} wrote no PDF"
    return ""


def _by_chromium(browser: Browser, page: Path, pdf: Path, profile: Path) -> None:
    asked = [
        browser.command,
        *QUIET,
        NO_NETWORK,
        f"--user-data-dir={profile}",
        f"--print-to-pdf={pdf.resolve()}",
    ]
    if hasattr(os, "geteuid") and os.geteuid() == 0:
        asked.append("--no-sandbox")  # it does not start for root otherwise; it opens our own page only
    with started([*asked, page.resolve().as_uri()]) as process:
        process.wait(PATIENCE)


def _by_firefox(browser: Browser, page: Path, pdf: Path, profile: Path) -> None:
    marionette.prepare(profile)
    asked = [
        browser.command,
        "--headless",
        "--marionette",
        "--no-remote",
        "--profile",
        str(profile),
        "about:blank",
    ]
    with started(asked):
        pdf.write_bytes(marionette.printed(profile, page.resolve().as_uri(), PATIENCE))


@contextlib.contextmanager
def started(command: list[str]) -> Iterator[subprocess.Popen[bytes]]:
    """Run a browser and end it, with all it has started, when done."""
    process = subprocess.Popen(
        command,
        stdin=subprocess.DEVNULL,
        stdout=subprocess.DEVNULL,
        stderr=subprocess.DEVNULL,
        start_new_session=True,
    )
    try:
        yield process
    finally:
        if hasattr(os, "killpg"):
            with contextlib.suppress(ProcessLookupError, PermissionError):
                os.killpg(process.pid, signal.SIGKILL)
        else:
            process.kill()
        process.wait()
