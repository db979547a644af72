"""Runs that take a moment are made once."""

from __future__ import annotations

import pytest

from tests.charts.runs import Result, dry_from, result, wet_winters

TWO_TANKS = [
    {"name": name, "capacity": "3000 gal", "diameter": "102 in", "outlet": "3 in", "leak": "1 gal/day"}
    for name in ("upper", "lower")
]
ROOF = {
    "name": "barn",
    "area": "2600 ft2",
    "runoff_coefficient": 0.9,
    "first_flush": {"volume": "45 gal"},
    "feeds": {"upper": 0.6, "lower": 0.4},
}
GARDEN_GAL = (0, 0, 0, 10, 25, 40, 50, 50, 30, 5, 0, 0)
DRAWS = [
    {"name": "house", "kind": "fixed", "per_day": "35 gal/day", "priority": 1},
    {
        "name": "garden",
        "kind": "fixed",
        "monthly": [f"{g} gal/day" for g in GARDEN_GAL],
    },
]
HOLDING = {
    "title": "Larkfield: barn roof, two linked tanks (invented)",
    "roof": [ROOF],
    "tank": TWO_TANKS,
    "link": [{"tanks": ["upper", "lower"]}],
    "draw": DRAWS,
    "reserve": {"volume": "400 gal"},
}
WELL = {"name": "well", "kind": "direct", "per_day": "60 gal/day"}
HAULER = {
    "name": "hauler",
    "kind": "refill",
    "into": "upper",
    "starts_below": "8 %",
    "load": "1000 gal",
    "lead_days": 3,
}


@pytest.fixture(scope="session")
def thirty_years() -> Result:
    """Thirty years with a small well and some filled days."""
    rain = wet_winters("1996-01-01", "2025-12-31")
    return result(rain, "1996-01-01", filled=slice(3000, 3040), backup=[WELL], **HOLDING)


@pytest.fixture(scope="session")
def one_year() -> Result:
    """One calendar year, no backup."""
    return result(wet_winters("2025-01-01", "2025-12-31"), "2025-01-01", **HOLDING)


@pytest.fixture(scope="session")
def hauled() -> Result:
    """Four years and a half in water years from October, four tanks alone, a hauler."""
    tanks = [
        dict(TWO_TANKS[0], name=name, leak="2 gal/day") for name in ("upper", "lower", "third", "fourth")
    ]
    parts = HOLDING | {
        "tank": tanks,
        "link": [],
        "backup": [HAULER],
        "run": {"year_starts": 10, "rule": "YBS"},
    }
    return result(wet_winters("2020-04-01", "2024-10-10"), "2020-04-01", **parts)


@pytest.fixture(scope="session")
def never_dry() -> Result:
    """Thirty days, not one of them dry."""
    return dry_from(0, 30)


@pytest.fixture(scope="session")
def once_dry() -> Result:
    """Thirty days, the last of them dry."""
    return dry_from(1, 30)


@pytest.fixture(scope="session")
def nothing() -> Result:
    """Ten days without rain and without demand."""
    asleep = {"name": "house", "kind": "fixed", "per_day": "0 L/day"}
    return result([0.0] * 10, draw=[asleep], run={"start_full": 0.0})
