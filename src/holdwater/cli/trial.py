"""Everything a run would look up or refuse, without running: weather, beds, tanks, spans of days."""

from __future__ import annotations

from holdwater.errors import InputError
from holdwater.holding import build
from holdwater.scenario.file import ScenarioFile
from holdwater.scenario.schema import Place, Scenario, Weather
from holdwater.simulation import covering
from holdwater.sky import weather
from holdwater.weather import read_weather
from holdwater.weather.record import Record

Wanted = tuple[Weather, Place | None, object, object]


class Trial:
    """A scenario made ready to run, and its variants after it.

    Attributes
    ----------
    cut : Record
        The weather of the run.
    et0_from : str
        How evapotranspiration is known; empty where nothing asks for it.

    Raises
    ------
    InputError
        The scenario could not be run; faults of variants wait for `raise_faults`.
    """

    def __init__(self, file: ScenarioFile) -> None:
        self._folder = file.path.parent
        self._records: list[tuple[Wanted, Record]] = []
        self._faults: list[str] = []
        self.cut, self.et0_from = self._make_ready(file.scenario)

    def check(self, variant: ScenarioFile) -> None:
        """Make a variant ready too; what is wrong with it is kept under its name."""
        try:
            self._make_ready(variant.scenario)
        except InputError as error:
            self._faults += [f"variant '{variant.variant}': {fault}" for fault in error.faults]

    def raise_faults(self) -> None:
        """Raise what was found in the variants, if anything.

        Raises
        ------
        InputError
            With all of it.
        """
        if self._faults:
            raise InputError(self._faults)

    def _make_ready(self, scenario: Scenario) -> tuple[Record, str]:
        cut = covering(scenario, self._record(scenario))
        met = weather(scenario, cut)
        build(scenario, cut.days, met)
        return cut, met.et0_from

    def _record(self, scenario: Scenario) -> Record:
        """The record of a scenario, read once for all that want the same."""
        span = scenario.run
        wanted = (scenario.weather, scenario.place, span.from_, span.to)
        found = next((record for before, record in self._records if before == wanted), None)
        if found is None:
            found = read_weather(
                scenario.weather, self._folder, first=span.from_, last=span.to, place=scenario.place
            )
            self._records.append((wanted, found))
        return found
