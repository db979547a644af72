"""Daily rain-catchment simulation of a holding's own roofs, tanks and draws on real past weather.

>>> import holdwater
>>> file = holdwater.load("scenarios/larkfield.toml")
>>> run = file.scenario.run  # days to read: a gap outside them is none of this run's
>>> record = holdwater.read_weather(
...     file.scenario.weather, file.path.parent, first=run.from_, last=run.to, place=file.scenario.place
... )
>>> ledger = holdwater.simulate(file.scenario, record)
>>> holdwater.score(ledger).dry_days.total  # doctest: +SKIP
"""

from __future__ import annotations

from importlib import import_module
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from holdwater.errors import HoldwaterError, InputError, LedgerError, WeatherUnavailable
    from holdwater.ledger import Ledger
    from holdwater.scenario import load
    from holdwater.scenario.schema import Scenario
    from holdwater.scores import Scores, score
    from holdwater.simulation import simulate
    from holdwater.weather import read_weather
    from holdwater.weather.record import Record

__version__ = "0.1.0"

_HOMES = {
    "HoldwaterError": "errors",
    "InputError": "errors",
    "Ledger": "ledger",
    "LedgerError": "errors",
    "Record": "weather.record",
    "Scenario": "scenario.schema",
    "Scores": "scores",
    "WeatherUnavailable": "errors",
    "load": "scenario",
    "read_weather": "weather",
    "score": "scores",
    "simulate": "simulation",
}

__all__ = [
    "HoldwaterError",
    "InputError",
    "Ledger",
    "LedgerError",
    "Record",
    "Scenario",
    "Scores",
    "WeatherUnavailable",
    "load",
    "read_weather",
    "score",
    "simulate",
]


def __getattr__(name: str) -> Any:
    """Load a public name when it is first asked for."""
    if name not in _HOMES:
        raise AttributeError(f"module 'holdwater' has no attribute '{name}'")
    return getattr(import_module(f"holdwater.{_HOMES[name]}"), name)


def __dir__() -> list[str]:
    return [*__all__, "__version__"]
