"""The weather record: reading, checking, completing."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from holdwater.weather.conversion import convert as convert
    from holdwater.weather.inspection import Inspection as Inspection
    from holdwater.weather.inspection import inspect as inspect
    from holdwater.weather.record import Origin as Origin
    from holdwater.weather.record import Provenance as Provenance
    from holdwater.weather.record import Record as Record
    from holdwater.weather.sources import read_weather as read_weather

_HOMES = {
    "Inspection": "inspection",
    "Origin": "record",
    "Provenance": "record",
    "Record": "record",
    "convert": "conversion",
    "inspect": "inspection",
    "read_weather": "sources",
}
__all__ = ["Inspection", "Origin", "Provenance", "Record", "convert", "inspect", "read_weather"]


def __getattr__(name: str) -> Any:
    """Load a public name when it is first asked for, so that the package itself costs nothing."""
    if name not in _HOMES:
        raise AttributeError(f"module 'holdwater.weather' has no attribute '{name}'")
    from importlib import import_module

    return getattr(import_module(f"holdwater.weather.{_HOMES[name]}"), name)
