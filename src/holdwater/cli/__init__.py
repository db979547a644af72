"""The command: it reads, calls and shows, and computes nothing itself."""

from __future__ import annotations

import os
import signal
import sys
import threading
from collections.abc import Callable, Iterator
from contextlib import contextmanager, suppress
from typing import Any, NoReturn

INTERRUPTED = 130
"""What the shell expects of a command stopped by Ctrl-C."""


def main() -> None:
    """Run the command; a user's mistake ends in a few plain lines and exit code 2 or 3, a bug in code 1."""
    for stream in (sys.stdout, sys.stderr):
        with suppress(
            AttributeError
        ):  # a terminal that knows fewer letters gets a question mark for the rest
            stream.reconfigure(errors="replace")  # type: ignore[union-attr]
    try:
        with _hearing() as pressed:
            _run(pressed)
    except KeyboardInterrupt:
        _stop(INTERRUPTED, ["stopped; what was there before is untouched"])
    except BrokenPipeError:  # the reader of our output has gone, as with `| head`
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
        sys.exit(0)


@contextmanager
def _hearing() -> Iterator[Callable[[], bool]]:
    """Ask whether Ctrl-C was pressed: libraries that are interrupted may raise something else of their own."""
    heard = threading.Event()
    before = signal.getsignal(signal.SIGINT)
    if threading.current_thread() is not threading.main_thread() or before is not signal.default_int_handler:
        yield heard.is_set
        return

    def hear(number: int, frame: Any) -> None:
        heard.set()
        raise KeyboardInterrupt

    signal.signal(signal.SIGINT, hear)
    try:
        yield heard.is_set
    finally:
        signal.signal(signal.SIGINT, before)


def _run(pressed: Callable[[], bool]) -> None:
    from holdwater.errors import HoldwaterError, InputError

    try:
        sys.exit(_end(pressed))
    except InputError as fault:
        _stop(fault.exit_code, fault.faults)
    except HoldwaterError as fault:
        _stop(fault.exit_code, str(fault).splitlines())
    except SystemExit as end:  # the parser of the command line turns these two into its own exit codes
        if end.code == INTERRUPTED:
            raise KeyboardInterrupt from None
        if isinstance(end.__context__, BrokenPipeError):
            raise BrokenPipeError from None
        if sys.stdout is not None:
            sys.stdout.flush()
        raise
    except Exception as bug:
        if hasattr(bug, "show") and hasattr(bug, "exit_code"):  # the command line itself is at fault
            _misread(bug)
        if type(bug).__name__ == "Abort":
            raise KeyboardInterrupt from None
        if os.environ.get("HOLDWATER_TRACEBACK"):
            raise
        said = " ".join(str(bug).split())
        _stop(
            1,
            [
                f"this is a fault of holdwater, not yours: {type(bug).__name__}: {said}",
                "HOLDWATER_TRACEBACK=1 before the command shows where; please report it with your scenario",
            ],
        )


def _end(pressed: Callable[[], bool]) -> int:
    """Run the command to its exit code; whatever is raised after Ctrl-C was pressed is Ctrl-C."""
    try:
        from holdwater.cli.app import app

        end = app(standalone_mode=False)
    except (Exception, SystemExit):
        if pressed():
            raise KeyboardInterrupt from None
        raise
    return end if isinstance(end, int) else 0


def _misread(fault: Any) -> NoReturn:
    """Show what the parser of the command line says, and what to type instead."""
    from holdwater.cli import typed

    fault.message = typed.plainly(fault.message)
    fault.show()
    cure = typed.cure(sys.argv[1:], fault.message)
    _stop(fault.exit_code, [cure] if cure else [])


def _stop(code: int, lines: list[str]) -> NoReturn:
    for line in lines:
        print(f"holdwater: {line}", file=sys.stderr)
    sys.exit(code)
