"""What a set-up costs besides dry days: thirst of the beds, days held back, days that backup leaves unserved."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from holdwater import words


@dataclass(frozen=True)
class Days:
    """Days of a run, by what was wanting [days].

    Attributes
    ----------
    dry : int
        The tanks could not give all that was asked.
    unserved : int
        Backup could not cover the rest either.
    stressed : int
        A garden bed was short of water.
    held_back : int
        A draw took less by its own rule, so that the tanks were not asked for it.
    """

    dry: int
    unserved: int
    stressed: int
    held_back: int

    @property
    def rank(self) -> tuple[int, int, int, int]:
        """What is better sorts first: by dry days, and where these are equal by what else is wanting."""
        return self.dry, self.unserved, self.stressed, self.held_back


KINDS = (
    ("unserved", "{} without backup either"),
    ("stressed", "beds short of water on {}"),
    ("held_back", "draws held back on {}"),
)
"""What may be worse besides dry days, and how it is told."""


def drawbacks(now: Days, then: Days) -> list[str]:
    """Say what is worse than at present, dry days apart.

    Parameters
    ----------
    now, then : Days
        The present, and with the change.

    Returns
    -------
    list of str
        Such as "beds short of water on 568 days (now 303)"; empty where nothing else is worse.
    """
    return [_said(kind, now, then) for kind in KINDS if getattr(then, kind[0]) > getattr(now, kind[0])]


def gains(now: Days, then: Days) -> list[str]:
    """Say what is better than at present, dry days apart, in the words of `drawbacks`."""
    return [_said(kind, now, then) for kind in KINDS if getattr(then, kind[0]) < getattr(now, kind[0])]


def _said(kind: tuple[str, str], now: Days, then: Days) -> str:
    name, told = kind
    before = getattr(now, name)
    return (
        f"{told.format(words.count(getattr(then, name), 'day'))} (now {f'{before:,}' if before else 'none'})"
    )


def listed(said: Sequence[str]) -> str:
    """Several of them in one sentence: "a", "a and b", "a, b and c"."""
    return " and ".join([", ".join(said[:-1]), said[-1]] if len(said) > 1 else list(said))


def worse_for(now: Days, then: Days) -> str:
    """What is worse, in a word or two for a table: "beds, held back"."""
    short = {"unserved": "unserved", "stressed": "beds", "held_back": "held back"}
    return ", ".join(word for name, word in short.items() if getattr(then, name) > getattr(now, name))
