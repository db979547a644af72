"""What the owner wrote: every key of the scenario file, its unit and its default.

Inside a checked scenario every quantity is a bare number in litres, millimetres, square metres,
litres per day, degrees Celsius or days; the reading of "2500 gal" happens in `quantities`. The text
under each key is what editors show; it goes into the JSON Schema.
"""

from __future__ import annotations

from holdwater.scenario.quantities import Money
from holdwater.scenario.schema.backup import Backup, BackupBase, Direct, Refill, Reserve
from holdwater.scenario.schema.catchment import FirstFlush, LevelVolume, Link, Roof, Tank, Transfer
from holdwater.scenario.schema.draws import (
    Draw,
    DrawBase,
    Fixed,
    Garden,
    Guests,
    Household,
    Livestock,
    MoreHead,
    SavingStep,
)
from holdwater.scenario.schema.part import Factors, Name, Part, Period, Season, Whole
from holdwater.scenario.schema.weather import Place, Snow, Weather, WeatherFile
from holdwater.scenario.schema.whole import Heading, Run, Scenario

__all__ = [
    "Backup",
    "BackupBase",
    "Direct",
    "Draw",
    "DrawBase",
    "Factors",
    "FirstFlush",
    "Fixed",
    "Garden",
    "Guests",
    "Heading",
    "Household",
    "LevelVolume",
    "Link",
    "Livestock",
    "Money",
    "MoreHead",
    "Name",
    "Part",
    "Period",
    "Place",
    "Refill",
    "Reserve",
    "Roof",
    "Run",
    "SavingStep",
    "Scenario",
    "Season",
    "Snow",
    "Tank",
    "Transfer",
    "Weather",
    "WeatherFile",
    "Whole",
]
