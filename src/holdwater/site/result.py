"""What a check hands back: a verdict, what it was computed from, the source, and a sentence to read out."""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field
from enum import StrEnum
from typing import Literal

from holdwater.site.show import show, unit

System = Literal["us", "metric"]
RUN = "a run of the simulation, with its weather"
WARMTH = "a weather record with temperatures"
"""What only the weather can give."""


class Verdict(StrEnum):
    """How a check came out."""

    HOLDS = "holds"
    FAILS = "does not hold"
    UNCHECKED = "not checked"
    NOTE = "note"


@dataclass(frozen=True)
class Topic:
    """What is common to one kind of check.

    Attributes
    ----------
    key : str
        Name for scripts.
    title : str
        Name for readers.
    source : str
        Where the rule comes from.
    cautions : tuple of str
        What to keep in mind when reading the result, a thought each.
    """

    key: str
    title: str
    source: str
    cautions: tuple[str, ...] = ()


@dataclass(frozen=True)
class Value:
    """A number with its name and its kind, so that it can be shown in either unit system."""

    label: str
    number: float
    kind: str

    def text(self, system: System, digits: int = 2) -> str:
        """The number with its unit, "14 gal/min" or "53 L/min"."""
        return show(self.number, self.kind, system, digits)


@dataclass(frozen=True)
class Check:
    """One finished check.

    Attributes
    ----------
    topic : Topic
        Which kind of check it is.
    subject : str
        What was checked: "tank 'upper'".
    verdict : Verdict
        How it came out.
    says : str
        The sentence, with the names of values, of words and of `subject` in braces.
    inputs, computed : dict of str to Value
        What went in and what came out.
    words : dict of str to str
        Names for the sentence that are no numbers.
    weighed : tuple of str
        The two values the verdict compares, what is there and what is needed.
    margin : float or None
        What is there over what is needed, less 1; negative where it does not hold.
    needs : tuple of str
        What the owner must still give.
    """

    topic: Topic
    subject: str
    verdict: Verdict
    says: str
    inputs: Mapping[str, Value] = field(default_factory=dict)
    computed: Mapping[str, Value] = field(default_factory=dict)
    words: Mapping[str, str] = field(default_factory=dict)
    weighed: tuple[str, str] | None = None
    margin: float | None = None
    needs: tuple[str, ...] = ()

    @property
    def name(self) -> str:
        """Title and subject."""
        return f"{self.topic.title}: {self.subject}" if self.subject else self.topic.title

    @property
    def verdict_text(self) -> str:
        """The verdict in full, with what is missing."""
        if self.verdict is Verdict.UNCHECKED:
            return f"not checked: needs {listed(self.needs)}"
        return str(self.verdict)

    def sentence(self, system: System) -> str:
        """The finding in plain words, numbers in the system asked for."""
        values = {**self.inputs, **self.computed}
        texts = {name: value.text(system) for name, value in values.items()}
        if self.weighed:
            texts |= _told_apart(values[self.weighed[0]], values[self.weighed[1]], self.weighed, system)
        text = self.says.format(subject=self.subject, **self.words, **texts)
        return text[:1].upper() + text[1:]

    def as_dict(self, system: System) -> dict[str, object]:
        """For machine output: plain numbers with the unit they are in, texts in the system asked for."""

        def rows(values: Mapping[str, Value]) -> dict[str, object]:
            return {
                key: {"label": v.label, "value": v.number, "unit": unit(v.kind), "text": v.text(system)}
                for key, v in values.items()
            }

        return {
            "check": self.topic.key,
            "name": self.name,
            "subject": self.subject,
            "verdict": str(self.verdict),
            "needs": list(self.needs),
            "sentence": self.sentence(system),
            "inputs": rows(self.inputs),
            "computed": rows(self.computed),
            "margin": self.margin,
            "source": self.topic.source,
            "cautions": list(self.topic.cautions),
        }


def judged(
    topic: Topic,
    subject: str,
    *,
    have: str,
    need: str,
    says: tuple[str, str],
    inputs: Mapping[str, Value],
    computed: Mapping[str, Value],
    words: Mapping[str, str] | None = None,
) -> Check:
    """Finish a check whose verdict is "there is at least as much as is needed".

    Parameters
    ----------
    have, need : str
        Names of the two values, among `inputs` and `computed`, that decide.
    says : tuple of str
        The sentence when it holds and the sentence when it does not.
    """
    values = {**inputs, **computed}
    there, wanted = values[have].number, values[need].number
    holds = there >= wanted
    return Check(
        topic=topic,
        subject=subject,
        verdict=Verdict.HOLDS if holds else Verdict.FAILS,
        says=says[0] if holds else says[1],
        inputs=inputs,
        computed=computed,
        words=words or {},
        weighed=(have, need),
        margin=there / wanted - 1.0 if wanted > 0.0 else None,
    )


def noted(
    topic: Topic,
    subject: str,
    says: str,
    inputs: Mapping[str, Value] | None = None,
    computed: Mapping[str, Value] | None = None,
    words: Mapping[str, str] | None = None,
) -> Check:
    """Finish a check that informs and judges nothing."""
    return Check(topic, subject, Verdict.NOTE, says, inputs or {}, computed or {}, words or {})


def unchecked(topic: Topic, subject: str, needs: tuple[str, ...]) -> Check:
    """Finish a check that lacks input: it says what it needs."""
    says = "Not checked: {title}" + (", {subject}" if subject else "") + ". It needs {lacking}."
    words = {"title": topic.title, "lacking": listed(needs)}
    return Check(topic, subject, Verdict.UNCHECKED, says, words=words, needs=needs)


def when_known(
    topic: Topic, subject: str, known: Mapping[str, float | None], then: Callable[..., Check]
) -> Check:
    """Run a check when every number it needs is known; otherwise say which are not.

    Every check passes through here, so that a missing number can never come out as a pass.

    Parameters
    ----------
    known : mapping of str to float or None
        The numbers in the order `then` takes them, each under the words for it.
    then : callable
        Takes the numbers, all finite, and gives the finished check.
    """
    lacking = tuple(words for words, number in known.items() if number is None or not math.isfinite(number))
    return unchecked(topic, subject, lacking) if lacking else then(*known.values())


def listed(words: Sequence[str]) -> str:
    """Several words as one: "a, b and c"."""
    return " and ".join([", ".join(words[:-1]), words[-1]] if len(words) > 1 else words)


def _told_apart(there: Value, wanted: Value, names: tuple[str, str], system: System) -> dict[str, str]:
    """Both sides of a verdict with enough figures that unequal numbers never read as equal."""
    texts = ("", "")
    for digits in range(2, 8):
        texts = there.text(system, digits), wanted.text(system, digits)
        if texts[0] != texts[1]:
            break
    return dict(zip(names, texts, strict=True))
