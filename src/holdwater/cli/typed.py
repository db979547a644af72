"""What to type instead, where the command line itself is at fault."""

from __future__ import annotations

import re
from collections.abc import Sequence

from holdwater.cli.text import argument
from holdwater.words import year_first

EXAMPLES = {
    "--worst": "--worst 1 for the worst drought, --worst 2 for the next",
    "--years": "--years 9/10",
    "--set": '--set "roof.barn.area=2200 ft2"',
    "--vary": '--vary "roof.barn.area=1000 ft2..3000 ft2"',
    "--from": "--from 2022-01-01, or --from 2022",
    "--to": "--to 2022-12-31, or --to 2022",
    "--on": "--on 2022-07-01",
    "--holding": '--holding "1200 gal"',
    "--starting": '--starting "50 %"',
    "--variant": '--variant "third tank"',
}
_NEEDS = re.compile(r"Option '(--[\w-]+)' requires an argument")
_NO_DATE = re.compile(r"'([^']*)' does not match the formats? '%Y-%m-%d'")
_AMOUNT = re.compile(r"[-+]?[$\d.]|[^-].*=")  # what a quantity or a change begins with


def plainly(said: str) -> str:
    """What the parser says, without the name of an error in it."""
    return said.replace("Value error, ", "")


def cure(words: Sequence[str], said: str) -> str:
    """What to type instead, or nothing where the message says enough.

    Parameters
    ----------
    words : sequence of str
        The command line as the shell split it, the program left out.
    said : str
        What the parser says.
    """
    needs = _NEEDS.search(said)
    if needs and needs[1] in EXAMPLES:
        return f"write {EXAMPLES[needs[1]]}"
    date = _NO_DATE.search(said)
    if date:
        return year_first(date[1])
    if "unexpected extra argument" not in said:
        return ""
    torn = _torn_value(words) or _torn_file(words)
    return f"what holds a blank stands in quotes: {torn}" if torn else ""


def _torn_value(words: Sequence[str]) -> str:
    """An option whose value the shell split at its blanks: --set "roof.barn.area=2200 ft2"."""
    for place, word in enumerate(words):
        after = _until_option(words[place + 1 :])
        while after and after[-1].endswith(".toml"):
            after.pop()
        if word.startswith("--") and len(after) > 1 and _AMOUNT.match(after[0]):
            return f"{word} {argument(' '.join(after))}"
    return ""


def _torn_file(words: Sequence[str]) -> str:
    """The name of a scenario file that the shell split at its blanks: "my holding.toml"."""
    after = _until_option(words[1:])
    file = next((place for place, word in enumerate(after) if word.endswith(".toml")), 0)
    return argument(" ".join(after[: file + 1])) if file else ""


def _until_option(words: Sequence[str]) -> list[str]:
    end = next((place for place, word in enumerate(words) if word.startswith("--")), len(words))
    return list(words[:end])
