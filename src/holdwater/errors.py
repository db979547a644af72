"""The faults a user can mend, each with an exit code of its own."""

from __future__ import annotations

from collections.abc import Iterable


class HoldwaterError(Exception):
    """A fault to be told in plain words, without a traceback.

    Attributes
    ----------
    exit_code : int
        What the command returns: 2 the input is at fault, 3 weather could not be had.
    """

    exit_code = 2


class InputError(HoldwaterError):
    """What the user gave cannot be used; carries ALL the faults found, not only the first.

    Parameters
    ----------
    faults : str or iterable of str
        One sentence each: where, what was found, what is required, the cure.
    """

    def __init__(self, faults: str | Iterable[str]) -> None:
        self.faults: list[str] = [faults] if isinstance(faults, str) else list(faults)
        super().__init__("\n".join(self.faults))


class WeatherUnavailable(HoldwaterError):
    """Weather that was asked for could not be had (no network, no store, no such record)."""

    exit_code = 3


class LedgerError(AssertionError):
    """The ledger does not close or a volume turned negative: a bug in holdwater, never the user's fault."""
