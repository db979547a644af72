"""Where a dotted path of the scenario leads: to which part of the holding, to which value."""

from __future__ import annotations

import re
from collections.abc import Mapping
from typing import Any

from holdwater.scenario.schema import Scenario
from holdwater.units import Level

HOLDING = ("roof", "tank", "link", "transfer", "draw", "reserve", "backup")
IN_PLACE_OF = {
    "runoff_coefficient": "surface",
    "surface": "runoff_coefficient",
    "volume": "depth",
    "depth": "volume",
    "per_person": "fixtures",
}
"""A dial of the one drops the other, which says the same thing in another way."""
STORAGE = ("stops_below", "steps", "from_tanks", "priority", "may_use_reserve")


def part_of(path: str) -> tuple[str, ...]:
    """Part of the holding a dial turns: dials of different parts never change the same number.

    All that touches storage is one part, because linked tanks, reserve and levels depend on each other.
    """
    section, _, rest = path.partition(".")
    name, _, key = rest.rpartition(".")
    if section == "roof" or (section == "draw" and not key.startswith(STORAGE)):
        return section, name.split(".first_flush")[0]
    return ("storage",)


def number_at(scenario: Scenario, path: str) -> float:
    """Number a path leads to in a checked scenario, in the inside unit; NaN for what is no number."""
    here = value_at(scenario, path)
    if isinstance(here, Level):
        here = here.share if here.share is not None else here.volume
    return float(here) if isinstance(here, int | float) and not isinstance(here, bool) else float("nan")


def value_at(scenario: Scenario, path: str) -> Any:
    """What a path leads to in a checked scenario."""
    here: Any = scenario
    for key in split(scenario, path):
        here = _step(here, key)
    return here


def split(scenario: Scenario, path: str) -> list[str]:
    """Section, name and keys of a path; names may hold dots and spaces."""
    section, _, rest = path.strip().partition(".")
    held = getattr(scenario, section, None)
    if isinstance(held, list):
        rest = rest.strip()
        for part in sorted(held, key=lambda p: -len(getattr(p, "name", ""))):
            for name in (f'"{part.name}"', f"'{part.name}'", part.name) if hasattr(part, "name") else ():
                if rest == name or rest.startswith(name + "."):
                    return [section, part.name, *_keys(rest[len(name) + 1 :])]
    return [section, *_keys(rest)]


def _keys(path: str) -> list[str]:
    """Keys between dots; one in quotes may hold dots itself."""
    return [
        "".join(found) for found in re.findall(r"""\s*(?:"([^"]*)"|'([^']*)'|([^."']+))\s*(?:\.|$)""", path)
    ]


def _step(here: Any, key: str) -> Any:
    if isinstance(here, list):
        return next((part for part in here if getattr(part, "name", None) == key), None)
    if isinstance(here, Mapping):
        return here.get(key)
    return getattr(here, key, getattr(here, f"{key}_", None))


def not_the_holding(path: str) -> list[str]:
    """What is wrong with a path that leads to the weather or the days of the run."""
    turns = path.strip().startswith((*HOLDING, "run.rule", "run.start_full"))
    cure = f"vary {', '.join(HOLDING)}, run.rule or run.start_full"
    return (
        [] if turns else [f"{path} is no part of the holding and the same in all designs of a study; {cure}"]
    )


def in_place_of(scenario: Scenario, path: str) -> list[tuple[str, Any]]:
    """The change that drops what the file says of the same thing in another way."""
    section, *keys = split(scenario, path)
    other = IN_PLACE_OF.get(keys[-1]) if keys else None
    here: Any = scenario
    for key in [section, *keys[:-1]]:
        here = _step(here, key)
    if other is None or getattr(here, other, None) is None:
        return []
    return [(path.strip()[: -len(keys[-1]) - 1] + "-", other)]
