"""Whose weather it is, and how to make the plan again."""

from __future__ import annotations

import hashlib
import platform
from importlib import metadata
from pathlib import Path

import numpy as np

import holdwater
from holdwater import words
from holdwater.plan.section import Matter, Section, section
from holdwater.weather.record import Origin

BUILT_ON = ("numpy", "pandas", "xarray", "matplotlib", "pydantic", "jinja2")


def weather(matter: Matter) -> Section:
    """Source, licence, gaps and what was done about them."""
    record, known = matter.ledger.record, matter.ledger.record.provenance
    codes, counts = np.unique(record.data["origin"].values, return_counts=True)
    origins = [f"{int(n):,} {Origin(int(code)).label}" for code, n in zip(codes, counts, strict=True)]
    first, last = matter.ledger.period
    policy = matter.scenario.weather.missing_days
    rows = [
        ("source", known.source),
        ("station", known.station),
        ("place", known.place),
        ("licence", known.licence or "not stated"),
        ("days used", f"{words.on(first)} to {words.on(last)}, {words.count(record.days.size, 'day')}"),
        ("where the rain of the days comes from", "; ".join(origins)),
        ("days missing in the record", _missing(known.missing, known.longest_gap)),
        ("days filled", f"{known.filled or 'none'} (rule for missing days: {policy})"),
        ("read as", known.units_as_read),
        ("the day of the gauge ends at", known.day_ends),
    ]
    return section(
        "weather",
        "Whose weather is it?",
        answer=_whose(matter),
        rows=[row for row in rows if row[1]],
        notes=list(known.notes),
    )


def _whose(matter: Matter) -> str:
    """Source, years, gaps and licence in one line."""
    known, (first, last) = matter.ledger.record.provenance, matter.ledger.period
    source = known.station or known.source
    said = f"{source}, {words.briefly(first)} to {words.briefly(last)}"
    gaps = f", {words.count(known.filled, 'day')} filled in" if known.filled else ", no day filled in"
    return f"{said}{gaps}; licence: {known.licence or 'not stated'}."


def _missing(number: int, longest: int) -> str:
    return f"{number:,}, at most {words.count(longest, 'day')} in a row" if number else "none"


def reproduce(matter: Matter) -> Section:
    """Versions, command, fingerprints, and the scenario itself."""
    file = matter.file
    versions = [("holdwater", holdwater.__version__), ("Python", platform.python_version())]
    versions += [(name, metadata.version(name)) for name in BUILT_ON]
    prints = [(file.path.name, fingerprint(file.path))]
    if matter.scenario.weather.file:
        path = file.path.parent / matter.scenario.weather.file
        prints.append((path.name, fingerprint(path)))
    return section(
        "reproduce",
        "How is this plan made again?",
        answer="By one command, with the file printed here.",
        command=matter.asked.command,
        changes=[*([f"variant {file.variant}"] if file.variant else []), *matter.asked.changes],
        versions=versions,
        prints=[row for row in prints if row[1]],
        name=file.path.name,
        text=file.text,
    )


def fingerprint(path: Path) -> str:
    """SHA-256 of a file as it lies on the disk; "" if it cannot be read."""
    try:
        with path.open("rb") as file:
            return hashlib.file_digest(file, "sha256").hexdigest()
    except OSError:
        return ""
