"""The gate before any run: what cannot be daily rain stops, what is odd is told.

Each finding has a short name; `accept = ["name"]` in the scenario lets it pass.
"""

from __future__ import annotations

import difflib
from collections.abc import Iterable, Sequence

from holdwater.errors import InputError
from holdwater.weather.checks import climate_checks, unit_checks, value_checks
from holdwater.weather.checks.findings import Finding as Finding
from holdwater.weather.reading import Reading

ALL_NAMES = frozenset({*unit_checks.CHECKS, *value_checks.CHECKS, *climate_checks.CHECKS})


def examine(reading: Reading) -> list[Finding]:
    """All findings on a reading that stands on consecutive days (see `to_daily`).

    Where the unit is in doubt, checks that depend on it are left out: they would say the same again.
    """
    units = [found for check in unit_checks.CHECKS.values() if (found := check(reading)) is not None]
    checks = value_checks.CHECKS_OF_CELLS if units else {**value_checks.CHECKS, **climate_checks.CHECKS}
    return units + [found for check in checks.values() if (found := check(reading)) is not None]


def gate(findings: Iterable[Finding], source: str, accept: Sequence[str] = ()) -> list[str]:
    """Stop on hard findings that are not accepted; give the rest back as notes.

    Raises
    ------
    InputError
        All hard findings, and names in `accept` that no finding has.
    """
    faults, notes = [], []
    for name in accept:
        if name not in ALL_NAMES:
            close = difflib.get_close_matches(name, ALL_NAMES, n=1)
            hint = f"did you mean '{close[0]}'?" if close else f"known are {', '.join(sorted(ALL_NAMES))}"
            faults.append(f'weather: accept = ["{name}"] names no finding; {hint}')
    for finding in findings:
        if finding.name in accept:
            notes.append(f"accepted by the owner ({finding.name}): {finding.what}")
        elif finding.hard:
            faults.append(finding.sentence(source))
        else:
            notes.append(f"{finding.what} ({finding.name}): {finding.cure}")
    if faults:
        raise InputError(faults)
    return notes
