"""What the owner wrote: reading, checking and changing the scenario file."""

from holdwater.scenario.file import ScenarioFile, check, load, variant_names
from holdwater.scenario.schema import Scenario

__all__ = ["Scenario", "ScenarioFile", "check", "load", "variant_names"]
