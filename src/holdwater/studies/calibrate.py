"""Runoff coefficient, first flush and leak from a log of measured levels.

The holding is run over the days of the log from the first reading on. What is fitted: one factor on
all runoff coefficients, one on all first-flush depths (or one depth where there is none), the leak of
all tanks together; and, since the first reading is as uncertain as the others, the water at the start.
What the log cannot tell stays as written and is named; where nothing comes near the readings no number
is claimed.

References
----------
Least squares over the whole range: `level_search`. Intervals from the profile of the misfit (Bates & Watts
1988; Donaldson & Schnabel 1987): `level_profile`. What a log tells: `level_told`.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

import numpy as np
import numpy.typing as npt

from holdwater.errors import InputError
from holdwater.scenario.schema import Scenario
from holdwater.studies.fitted import Fitted, with_numbers
from holdwater.studies.kernels import Doing
from holdwater.studies.level_doubts import Rise, rises
from holdwater.studies.level_log import LevelLog, Measured
from holdwater.studies.level_model import Floats, Model
from holdwater.studies.level_numbers import NAMES, START, Name
from holdwater.studies.level_profile import FINEST, Profile, correlation, profile
from holdwater.studies.level_range import Range, range_of
from holdwater.studies.level_runs import Trials
from holdwater.studies.level_search import Field, lowest
from holdwater.studies.level_told import Untold, at_limit, untold
from holdwater.units import System, show
from holdwater.weather.record import Record

SPARE_READINGS = 3
"""Readings needed beyond the numbers fitted."""
LEAST_FALL = 0.1
"""Numbers found are worth nothing where the misfit falls by less than this share."""
NEAR = 0.03
"""A misfit of this share of the capacity is near: as far off as a careful reading may be."""
TRIALS = 5000
"""Runs that a search and its profiles take; measured."""

Outcome = Literal["fits", "as written", "does not fit"]


@dataclass(frozen=True)
class Calibration:
    """What the log tells.

    Attributes
    ----------
    scenario, fitted_scenario : Scenario
        The holding as written, and with the numbers found.
    outcome : str
        "fits"; "as written" where the scenario is as near to the readings as any other numbers; "does not
        fit" where nothing comes near.
    fitted : list of Fitted
        The numbers nearest to the readings; with intervals only where the outcome is "fits".
    untold : list of Untold
        Numbers the log does not tell; they stay as written.
    limits : list of str
        Numbers that ran to the end of what they can be.
    rises : list of Rise
        Water that came from nowhere.
    days : ndarray of datetime64[D], shape (n + 1,)
        Dates of the states, the first reading's first.
    morning : bool
        Whether states stand at the start of their dates; else at their end.
    readings : list of Measured
        The log.
    places : ndarray of int, shape (r,)
        Place in `days` of each reading.
    before, after : ndarray, shape (n + 1,)
        Water above all outlets, as written and with the numbers found [L].
    misfit_before, misfit_after : float
        Root mean square of reading less simulation [L].
    residuals : ndarray, shape (r,)
        Reading less simulation with the numbers found [L].
    correlation : float
        Of what is left from one day of readings to the next; intervals are widened for it.
    capacity_L : float
        Water that can be drawn from full tanks [L].
    filled_L : float
        Water filled in during the log [L].
    """

    scenario: Scenario
    fitted_scenario: Scenario
    outcome: Outcome
    fitted: list[Fitted]
    untold: list[Untold]
    limits: list[Name]
    rises: list[Rise]
    days: npt.NDArray[np.datetime64]
    morning: bool
    readings: list[Measured]
    places: npt.NDArray[np.int64]
    before: Floats
    after: Floats
    misfit_before: float
    misfit_after: float
    residuals: Floats
    correlation: float
    capacity_L: float
    filled_L: float


def calibrate(
    scenario: Scenario,
    record: Record,
    log: LevelLog,
    fit: Sequence[Name] | None = None,
    morning: bool = False,
    doing: Doing = lambda words: None,
) -> Calibration:
    """Fit runoff, first flush and leak to measured levels.

    Parameters
    ----------
    scenario : Scenario
        The holding as written; its period does not matter here.
    record : Record
        Weather of the days of the log.
    log : LevelLog
        What was read and what was filled in; backup that fills tanks by rule is left out.
    fit : sequence of str, optional
        Which of "runoff", "first flush" and "leak"; the others stay as written. Without it, those that
        the log tells.
    morning : bool
        Whether the readings were taken before the day's rain and draws; else after them.
    doing : callable
        Told in words what takes a while.

    Raises
    ------
    InputError
        Too few readings; or they do not tell the numbers asked for, or any.
    """
    _enough(log.readings, fit or NAMES)
    task = _Task(Model(scenario, record, log, morning), doing)
    asked, left = list(fit or NAMES), list[Untold]()
    found = task.search(asked)
    while asked and task.comes_near(found):
        missing = untold(found, asked, task.known)
        if not missing:
            break
        left.append(missing[0])
        asked.remove(missing[0].name)
        found = task.search(asked) if asked else found
    if left and (fit or not asked):
        raise InputError(_refused(left, asked))
    return task.told(found, asked, left, log, morning)


class _Task:
    """A log to be explained: the holding over its days, and the misfit of any numbers."""

    def __init__(self, model: Model, doing: Doing) -> None:
        self.model = model
        self.known: Range = range_of(model)
        known = self.known
        self.place = Field(Trials(model, TRIALS, doing).residuals, known.low, known.high, known.steps)
        self.rises = rises(model, known.most_in)
        self.before = _rms(self.place.look(known.written[None])[0])

    def search(self, asked: Sequence[Name]) -> Profile:
        """The numbers nearest to the readings, and how far each can go."""
        numbers = [NAMES.index(name) for name in asked]
        place = Field(self.place.residuals, self.place.low, self.place.high, self.place.steps)
        best = lowest(place, self.known.written, [*numbers, START], self.known.wide)
        return profile(place, best, numbers, self.model.room, self.model.places)

    def comes_near(self, found: Profile) -> bool:
        """Whether the readings are explained by these numbers, or by those written."""
        return self.outcome(found, []) != "does not fit"

    def outcome(self, found: Profile, limits: Sequence[Name]) -> Outcome:
        """Whether the numbers fit, or need not be changed, or do not fit."""
        after = _rms(found.best.residuals)
        if self.rises or limits:
            return "does not fit"
        if after <= (1.0 - LEAST_FALL) * self.before and self.before > FINEST * self.model.room:
            return "fits"
        return "as written" if self.before <= NEAR * self.model.room else "does not fit"

    def told(
        self, found: Profile, asked: Sequence[Name], left: list[Untold], log: LevelLog, morning: bool
    ) -> Calibration:
        """All that is known, in one object."""
        model, numbers = self.model, found.best.numbers
        limits = [name for name in asked if at_limit(found, name, self.known)]
        outcome = self.outcome(found, limits)
        fitted = [
            Fitted(
                name,
                value=float(numbers[i]),
                low=found.low[i] if outcome == "fits" else None,
                high=found.high[i] if outcome == "fits" else None,
                before=float(self.known.written[i]),
            )
            for name, i in ((name, NAMES.index(name)) for name in asked)
        ]
        return Calibration(
            scenario=model.scenario,
            fitted_scenario=with_numbers(model.scenario, fitted),
            outcome=outcome,
            fitted=fitted,
            untold=left,
            limits=limits,
            rises=self.rises,
            days=model.days,
            morning=morning,
            readings=log.readings,
            places=model.places,
            before=model.drawable(self.known.written).sum(axis=0),
            after=model.drawable(numbers).sum(axis=0),
            misfit_before=self.before,
            misfit_after=_rms(found.best.residuals),
            residuals=found.best.residuals,
            correlation=correlation(found.best.residuals, model.places),
            capacity_L=model.room,
            filled_L=math.fsum(one.volume_L for one in log.filled),
        )


def _rms(residuals: Floats) -> float:
    return float(np.sqrt(np.mean(residuals**2)))


def _enough(readings: Sequence[Measured], fit: Sequence[Name]) -> None:
    """Refuse a log with too few readings, kindly."""
    days = len({one.on for one in readings})
    needed = len(fit) + 1 + SPARE_READINGS
    if days < needed:
        raise InputError(
            f"{days} days of readings are too few to find {_listed(fit)} and say how sure they are: {needed} or more"
            " are needed, best over some weeks with rainy and dry days; go on logging, or fit less, such as --fit leak"
        )


def _refused(left: Sequence[Untold], told: Sequence[Name]) -> list[str]:
    """Say what a log does not tell, and what to do."""
    cure = "log on through light and heavy rain and through dry weeks"
    if told:
        cure += f', or trust the scenario for {_listed([one.name for one in left])}: --fit "{",".join(told)}"'
    return [one.why for one in left[:-1]] + [f"{left[-1].why}; {cure}"]


def _listed(names: Sequence[str]) -> str:
    return names[0] if len(names) == 1 else f"{', '.join(names[:-1])} and {names[-1]}"


def lines_to_paste(found: Calibration, system: System) -> list[str]:
    """The lines of the scenario file that carry the numbers found, with a comment for where they go."""
    names = {one.name for one in found.fitted}
    lines: list[str] = []
    for old, roof in zip(found.scenario.roof, found.fitted_scenario.roof, strict=True):
        lines.append(f'# [[roof]] name = "{roof.name}"')
        if "runoff" in names:
            instead = f'  # in place of surface = "{old.surface}"' if old.surface else ""
            lines.append(f"runoff_coefficient = {roof.runoff_coefficient:.3f}{instead}")
        chamber = roof.first_flush
        if "first flush" in names and chamber is not None:
            key, kind, size = (
                ("volume", "volume", chamber.volume) if chamber.volume else ("depth", "depth", chamber.depth)
            )
            shown = show(size or 0.0, kind, system, digits=3).replace(",", "")  # type: ignore[arg-type]
            drains = show(chamber.drains_in, "duration", system)
            lines.append(f'first_flush = {{ {key} = "{shown}", drains_in = "{drains}" }}')
        lines = lines[:-1] if lines[-1].startswith("#") else lines
    if "leak" in names:
        for tank in found.fitted_scenario.tank:
            lines.append(f'# [[tank]] name = "{tank.name}"')
            lines.append(f'leak = "{show(tank.leak, "flow", system, digits=3).replace(",", "")}"')
    return lines
