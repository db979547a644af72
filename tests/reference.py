"""The command reference of the README, written from the program: `python -m tests.reference` prints it."""

from __future__ import annotations

from typing import Any

import typer.main

from holdwater.cli.app import app


def reference() -> str:
    """Every command with its first sentence and its options, as Markdown."""
    return "".join(_lines(typer.main.get_command(app), "holdwater"))


def _lines(command: Any, path: str) -> list[str]:
    inner = getattr(command, "commands", None)
    if inner:
        return [line for name, each in inner.items() for line in _lines(each, f"{path} {name}")]
    said = " ".join((command.help or "").split("\n\n")[0].split())
    words = [p.metavar or p.name.upper() for p in command.params if not hasattr(p, "is_flag")]
    options = [p.opts[0] for p in command.params if hasattr(p, "is_flag") and p.opts[0] != "--help"]
    usage = " ".join([path, *(word for word in words if word)])
    listed = ", ".join(f"`{option}`" for option in options)
    return [f"- **`{usage}`**: {said}" + (f" Options: {listed}." if listed else "") + "\n"]


if __name__ == "__main__":
    print(reference(), end="")
