"""A design of the page kept as a variant: one more table at the end of the scenario file, the rest untouched."""

from __future__ import annotations

import contextlib
import os
import tempfile
import tomllib
from collections.abc import Iterable
from pathlib import Path
from typing import Any

import tomlkit
from tomlkit.items import InlineTable, Item

from holdwater.errors import InputError
from holdwater.scenario import load
from holdwater.scenario.toml_text import LARGEST, parse, read_text
from holdwater.scenario.variants import Change
from holdwater.units import quoted

LONGEST_NAME = 60


def checked_name(name: str) -> str:
    """A name a variant can have.

    Raises
    ------
    InputError
        It is empty, too long, or holds signs that cannot be printed.
    """
    said = " ".join(name.split(" "))
    if not said.strip():
        raise InputError("give the variant a name, such as: bigger barn roof")
    if len(said) > LONGEST_NAME:
        raise InputError(
            f"the name of the variant is {len(said):,} characters long; {LONGEST_NAME} are the most"
        )
    if not said.isprintable():
        raise InputError("the name of the variant holds signs that cannot be printed, such as a line break")
    return said.strip()


def save(path: Path, name: str, changes: Iterable[Change]) -> str:
    """Add a variant to a scenario file and leave every other byte of it as it is.

    Parameters
    ----------
    path : Path
        The scenario file; nothing else is written.
    name : str
        What to call the variant.
    changes : iterable of (str, object)
        Paths and values.

    Returns
    -------
    str
        The name it has.

    Raises
    ------
    InputError
        The name is taken or cannot be used, nothing was changed, the file lies elsewhere, or it cannot be
        written; the file is as it was then.
    """
    name, table = checked_name(name), dict(changes)
    if not table:
        raise InputError("nothing is changed: turn a dial before you save a variant")
    if path.resolve() != path.parent.resolve() / path.name:
        raise InputError(f"{path.name} is a link to a file elsewhere; open that file itself to save into it")
    text = read_text(path)  # as it stands now: it may have been edited since the page was opened
    before = parse(text, path)
    known = before.get("variant", {})
    if isinstance(known, dict) and name in known:
        raise InputError(f"there is already a variant {quoted(name)} in {path.name}; choose another name")
    after = f"{text}{'' if text.endswith(chr(10)) else chr(10)}\n{section(name, table)}"
    _check(path, before, after, name, table)
    _replace(path, after)
    return name


def section(name: str, changes: dict[str, Any]) -> str:
    """The table of a variant, as TOML."""
    table = tomlkit.table()
    for key, value in changes.items():
        table.add(key, _written(value))
    variants = tomlkit.table(is_super_table=True)
    variants.add(name, table)
    return tomlkit.document().add("variant", variants).as_string()


def _written(value: Any) -> Item:
    """A value in one line, tables in it too."""
    if isinstance(value, dict):
        inline: InlineTable = tomlkit.inline_table()
        for key, each in value.items():
            inline.add(key, _written(each))
        return inline
    if isinstance(value, list):
        several = tomlkit.array()
        for each in value:
            several.append(_written(each))
        return several
    item: Item = tomlkit.item(value)
    return item


def _check(path: Path, before: dict[str, Any], after: str, name: str, table: dict[str, Any]) -> None:
    """See that the new text says what the old one did, and the variant."""
    try:
        read = tomllib.loads(after)
    except tomllib.TOMLDecodeError:
        read = {}
    wanted = {**before, "variant": {**before.get("variant", {}), name: table}}
    if read != wanted:
        raise InputError(
            f"{path.name} does not take another variant at its end (is variant written in one line?);"
            f" add it by hand:\n{section(name, table)}"
        )
    if len(after.encode()) > LARGEST:
        raise InputError(f"{path.name} would become too large for a scenario")


def _replace(path: Path, text: str) -> None:
    """Put the new text in the place of the file in one step, with its rights, line ends and mark of order."""
    try:
        old = path.read_bytes()
        ends = "\r\n" if b"\r\n" in old else "\n"
        encoded = text.replace("\n", ends).encode("utf-8-sig" if old.startswith(b"\xef\xbb\xbf") else "utf-8")
        handle, partial = tempfile.mkstemp(dir=path.parent, prefix=f".{path.name}.", suffix=".new")
        try:
            with os.fdopen(handle, "wb") as file:
                file.write(encoded)
                file.flush()
                os.fsync(file.fileno())
            os.chmod(partial, path.stat().st_mode & 0o7777)
            load(partial)  # the last look: what is put in place is a scenario that loads
            os.replace(partial, path)
        except BaseException:
            with contextlib.suppress(OSError):
                os.unlink(partial)
            raise
    except OSError as error:
        raise InputError(
            f"{path.name} cannot be written: {error.strerror or error}; check its permissions"
        ) from None
