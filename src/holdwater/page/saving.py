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

from holdwater.errors import InputError
from holdwater.page.typed import item
from holdwater.scenario import load
from holdwater.scenario.toml_text import LARGEST, parse, read_text
from holdwater.scenario.variants import COST, Change
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


def save(path: Path, name: str, changes: Iterable[Change], cost: float | None = None) -> str:
    """Add a variant to a scenario file and leave every other byte of it as it is.

    Parameters
    ----------
    path : Path
        The scenario file; nothing else is written.
    name : str
        What to call the variant.
    changes : iterable of (str, object)
        Paths and values.
    cost : float, optional
        Its price, kept with it; `holdwater next` ranks by it.

    Returns
    -------
    str
        The name it has.

    Raises
    ------
    InputError
        The name is taken or cannot be used, nothing was changed, the file lies elsewhere, does not take the
        changes, or cannot be written; the file is as it was then.
    """
    name, table = checked_name(name), merged(changes)
    if not table:
        raise InputError("nothing is changed: turn a dial before you save a variant")
    if cost is not None:
        table = {COST: int(cost) if cost.is_integer() else cost, **table}
    if path.resolve() != path.parent.resolve() / path.name:
        raise InputError(f"{path.name} is a link to a file elsewhere; open that file itself to save into it")
    text = read_text(path)  # as it stands now: it may have been edited since the page was opened
    before = parse(text, path)
    known = before.get("variant", {})
    if isinstance(known, dict) and name in known:
        raise InputError(f"there is already a variant {quoted(name)} in {path.name}; choose another name")
    more = f"{'' if text.endswith(chr(10)) else chr(10)}\n{section(name, table)}"
    _check(path, before, text + more, name, table)
    _append(path, text, more, name)
    return name


def merged(changes: Iterable[Change]) -> dict[str, Any]:
    """Changes as one table; of two values of a path the later counts, what is added or taken out adds up."""
    table: dict[str, Any] = {}
    for path, value in changes:
        earlier = table.pop(path, None)
        if earlier is not None and path.endswith(("+", "-")):
            value = [*_listed(earlier), *_listed(value)]
        table[path] = value
    return table


def _listed(value: Any) -> list[Any]:
    return value if isinstance(value, list) else [value]


def section(name: str, changes: dict[str, Any]) -> str:
    """The table of a variant, as TOML."""
    table = tomlkit.table()
    for key, value in changes.items():
        table.add(key, item(value))
    variants = tomlkit.table(is_super_table=True)
    variants.add(name, table)
    return tomlkit.document().add("variant", variants).as_string()


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


def _append(path: Path, text: str, more: str, name: str) -> None:
    """Put the file with more at its end in its place in one step, with its rights and line ends."""
    try:
        old = path.read_bytes()
        encoded = old + more.replace("\n", "\r\n" if b"\r\n" in old else "\n").encode()
        handle, partial = tempfile.mkstemp(dir=path.parent, prefix=f".{path.name}.", suffix=".new")
        try:
            with os.fdopen(handle, "wb") as file:
                file.write(encoded)
                file.flush()
                os.fsync(file.fileno())
            os.chmod(partial, path.stat().st_mode & 0o7777)
            _look(Path(partial), path, name)
            _unchanged(path, text, old)
            os.replace(partial, path)
        except BaseException:
            with contextlib.suppress(OSError):
                os.unlink(partial)
            raise
    except OSError as error:
        raise InputError(
            f"{path.name} cannot be written: {error.strerror or error}; check its permissions"
        ) from None


def _unchanged(path: Path, text: str, old: bytes) -> None:
    """See that nobody has written the file since it was read."""
    if read_text(path) != text or path.read_bytes() != old:
        raise InputError(f"{path.name} was changed at this very moment; save once more")


def _look(partial: Path, path: Path, name: str) -> None:
    """The last look: what is put in place loads, and so does the new variant."""
    try:
        load(partial)
        load(partial, variant=name)
    except InputError as error:
        faults = [
            fault.replace(str(partial), path.name).replace(partial.name, path.name) for fault in error.faults
        ]
        raise InputError([f"not saved, {path.name} would not load: {fault}" for fault in faults]) from None
