"""A design of the page as it is typed in a terminal."""

from __future__ import annotations

import shlex
from collections.abc import Iterable
from typing import Any

import tomlkit
from tomlkit.items import InlineTable, Item

from holdwater.scenario.variants import Change


def command(verb: str, file: str, variant: str | None, changes: Iterable[Change]) -> str:
    """The command that does in a terminal what the page does: "holdwater run holding.toml --set ..."."""
    words = ["holdwater", verb, file]
    words += ["--variant", variant] if variant else []
    for change in changes:
        words += ["--set", in_one_line(change)]
    return shlex.join(words)


def in_one_line(change: Change) -> str:
    """A path and its value as `--set` takes them: "roof.barn.area=2200 ft2"."""
    path, value = change
    return f"{path}={item(value).as_string() if isinstance(value, list | dict) else value}"


def item(value: Any) -> Item:
    """A value as TOML in one line, tables in it too."""
    if isinstance(value, dict):
        inline: InlineTable = tomlkit.inline_table()
        for key, each in value.items():
            inline.add(key, item(each))
        return inline
    if isinstance(value, list):
        several = tomlkit.array()
        for each in value:
            several.append(item(each))
        return several
    single: Item = tomlkit.item(value)
    return single
