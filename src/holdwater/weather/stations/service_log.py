"""What went wrong with a download, read out of the log of the meteostat library.

The library hands a failed year and an absent one over as the same empty table; only its log, and the
error beside a line of it, tell them apart.
"""

from __future__ import annotations

import logging
import re
import socket
from dataclasses import dataclass
from http.client import HTTPException
from typing import Literal
from urllib.error import HTTPError, URLError

Why = Literal["network", "content"]


@dataclass(frozen=True)
class Failure:
    """Why a year did not come: the network or service failed, or what came is no weather file."""

    why: Why
    said: str


class Log(logging.Handler):
    """Reads what the library only writes into its log."""

    def __init__(self, timeout: float) -> None:
        super().__init__(logging.INFO)
        self.timeout = timeout
        self.clear()

    def clear(self) -> None:
        """Forget what was said about the last year."""
        self.not_found = False
        self.failure: Failure | None = None

    def emit(self, record: logging.LogRecord) -> None:
        """Note whether a line tells of an absent file or of a failure."""
        error = record.exc_info[1] if record.exc_info else None
        if error is not None or record.levelno >= logging.WARNING:
            self.failure = self.failure or reason_of(error, record.getMessage(), self.timeout)
        elif "was not found" in record.getMessage():
            self.not_found = True
        if isinstance(error, HTTPError):
            error.close()


def reason_of(error: BaseException | None, message: str, timeout: float) -> Failure:
    """Put what went wrong with a download into words."""
    inner = error.reason if isinstance(error, URLError) and not isinstance(error, HTTPError) else error
    if isinstance(error, HTTPError):
        return Failure("network", f"the service answered {error.code}")
    if isinstance(inner, TimeoutError):
        return Failure("network", f"no answer within {timeout:g} s")
    if isinstance(inner, socket.gaierror):
        return Failure("network", "no connection: the name of the service could not be looked up")
    if isinstance(inner, HTTPException):
        return Failure("network", "the connection broke off")
    if isinstance(inner, OSError) and not isinstance(inner, EOFError) and inner.errno is not None:
        return Failure("network", f"no connection: {(inner.strerror or str(inner)).lower()}")
    if isinstance(error, URLError):
        return Failure("network", f"no connection: {error.reason}")
    if isinstance(error, EOFError):
        return Failure("content", "what came is cut short")
    if "duplicate" in str(error):
        return Failure("content", "what came names a day twice")
    if error is None:
        return _of_message(message, timeout)
    what = type(error).__name__
    return Failure("content", f"what came is no weather file ({what})")


def _of_message(message: str, timeout: float) -> Failure:
    """Tell why from a line of the library's log that comes without an error."""
    status = re.search(r"\bstatus:? (\d{3})\b", message)
    if status:
        return Failure("network", f"the service answered {status[1]}")
    if "timed out" in message or "timeout" in message.lower():
        return Failure("network", f"no answer within {timeout:g} s")
    if "Request to" in message or "Could not fetch" in message:
        return Failure("network", "no connection")
    return Failure("content", "the library could not use what came")
