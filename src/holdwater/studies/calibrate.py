"""Runoff coefficient, first flush and leak from a log of measured levels, by least squares.

The holding is run over the days of the log from the first reading on. What is fitted: one factor on
all runoff coefficients, one on all first-flush depths (or one depth where there is none), the leak of
all tanks together; and, since the first reading is as uncertain as the others, the water at the start.

References
----------
Bounded least squares: scipy.optimize.least_squares. Intervals from the linearised model, Bonferroni
over the numbers fitted (Draper & Smith, Applied Regression Analysis, from memory). Collinearity by the
condition number of the scaled sensitivities (Belsley, Kuh & Welsch 1980, from memory).
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from holdwater.errors import InputError
from holdwater.scenario.schema import Scenario
from holdwater.studies.fitted import Fitted, with_numbers
from holdwater.studies.level_log import LevelLog, Measured
from holdwater.studies.level_model import NAMES, Floats, Model, Name
from holdwater.units import System, show
from holdwater.weather.record import Record

CONFIDENCE = 0.95
"""Chance that all numbers fitted lie within their intervals together."""
SPARE_READINGS = 3
"""Readings needed beyond the numbers fitted."""
WORST_CONDITION = 60.0
"""Above this condition number of the scaled sensitivities the log cannot tell the numbers apart."""
LEAST_EFFECT = 0.001
"""A number whose step moves the readings by less than this share of the capacity has no effect on them."""


@dataclass(frozen=True)
class Calibration:
    """What the log tells.

    Attributes
    ----------
    scenario, fitted_scenario : Scenario
        The holding as written, and with the numbers found.
    fitted : list of Fitted
        The numbers.
    days : ndarray of datetime64[D], shape (n + 1,)
        Dates of the states, the first reading's first.
    morning : bool
        Whether states stand at the start of their dates; else at their end.
    readings : list of Measured
        The log.
    places : ndarray of int, shape (r,)
        Place in `days` of each reading.
    before, after : ndarray, shape (n + 1,)
        Water above all outlets, as written and as fitted [L].
    misfit_before, misfit_after : float
        Root mean square of reading less simulation [L].
    residuals : ndarray, shape (r,)
        Reading less fitted simulation [L].
    condition : float
        Condition number of the scaled sensitivities.
    filled_L : float
        Water filled in during the log [L].
    """

    scenario: Scenario
    fitted_scenario: Scenario
    fitted: list[Fitted]
    days: npt.NDArray[np.datetime64]
    morning: bool
    readings: list[Measured]
    places: npt.NDArray[np.int64]
    before: Floats
    after: Floats
    misfit_before: float
    misfit_after: float
    residuals: Floats
    condition: float
    filled_L: float


def calibrate(
    scenario: Scenario,
    record: Record,
    log: LevelLog,
    fit: Sequence[Name] = NAMES,
    morning: bool = False,
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
    fit : sequence of str
        Which of "runoff", "first flush" and "leak"; the others stay as written.
    morning : bool
        Whether the readings were taken before the day's rain and draws; else after them.

    Raises
    ------
    InputError
        Too few readings, or readings that cannot tell the numbers apart.
    """
    from scipy.optimize import least_squares

    _enough(log.readings, fit)
    model = Model(scenario, record, log, fit, morning)
    steps, (low, high) = model.steps, model.bounds
    inside = np.clip(model.written, low + 1e-3 * steps, high - 1e-3 * steps)
    before = model.drawable(model.written).sum(axis=0)
    misfit_before = _rms(model.residuals(model.written))
    _check_effects(model, model.sensitivities(inside))

    def misfit(scaled: Floats) -> Floats:
        return model.residuals(scaled * steps)

    def slope(scaled: Floats) -> Floats:
        return -model.sensitivities(scaled * steps, misfit(scaled))

    found = least_squares(
        misfit,
        inside / steps,
        jac=slope,
        bounds=(low / steps, high / steps),
        xtol=1e-6,
        ftol=1e-7,
        gtol=1e-8,
        max_nfev=60,
    )
    numbers = np.asarray(found.x) * steps
    sensitivities = model.sensitivities(numbers)
    condition = _check_effects(model, sensitivities)
    residuals = model.residuals(numbers)
    reach = half_widths(sensitivities, residuals, len(fit)) * steps
    fitted = [
        Fitted(name, float(value), float(max(value - half, a)), float(min(value + half, b)), float(written))
        for name, value, half, a, b, written in zip(
            fit, numbers, reach, low, high, model.written, strict=False
        )
    ]
    after = model.drawable(numbers).sum(axis=0)
    return Calibration(
        scenario=scenario,
        fitted_scenario=with_numbers(scenario, fitted),
        fitted=fitted,
        days=model.days,
        morning=morning,
        readings=log.readings,
        places=model.places,
        before=before,
        after=after,
        misfit_before=misfit_before,
        misfit_after=_rms(residuals),
        residuals=residuals,
        condition=condition,
        filled_L=sum(one.volume_L for one in log.filled),
    )


def half_widths(sensitivities: Floats, residuals: Floats, number: int) -> Floats:
    """Half width of the intervals that hold the first `number` of the parameters together, in steps.

    Parameters
    ----------
    sensitivities : ndarray, shape (readings, parameters)
        Change of every reading for one step of each [L].
    residuals : ndarray, shape (readings,)
        Reading less simulation [L].
    number : int
        How many parameters the confidence is shared by (Bonferroni).
    """
    from scipy.special import stdtrit

    spare = residuals.size - sensitivities.shape[1]
    variance = float(residuals @ residuals) / spare
    covariance = variance * np.linalg.inv(sensitivities.T @ sensitivities)
    quantile = float(stdtrit(spare, 1.0 - (1.0 - CONFIDENCE) / (2.0 * number)))
    return np.asarray(quantile * np.sqrt(np.diag(covariance)))


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


def _check_effects(model: Model, sensitivities: Floats) -> float:
    """Refuse a log that does not feel a number, or cannot tell two of them apart; return the condition number.

    Raises
    ------
    InputError
        Names the numbers and the cure.
    """
    names = [*model.fit, "the water at the start"]
    sizes = np.sqrt((sensitivities**2).mean(axis=0))
    least = LEAST_EFFECT * sum(model.room)
    silent = [name for name, size in zip(names, sizes, strict=True) if size < least]
    if silent:
        raise InputError(
            f"the log does not feel {_listed(silent)}: {_why(silent[0])}; log on until it does, or fit the"
            f" others only, with --fit"
        )
    scaled = sensitivities / np.sqrt((sensitivities**2).sum(axis=0))
    condition = float(np.linalg.cond(scaled))
    if condition > WORST_CONDITION:
        alike = np.abs(scaled.T @ scaled) - 2.0 * np.eye(len(names))
        a, b = np.unravel_index(int(alike.argmax()), alike.shape)
        raise InputError(
            f"the log cannot tell {names[min(a, b)]} and {names[max(a, b)]} apart: a change of one looks like a"
            " change of the other on the days of the readings; log on through light and heavy rain and through"
            f' dry weeks, or trust the scenario for one of them: --fit "{_without(model.fit, names[max(a, b)])}"'
        )
    return condition


def _without(fit: Sequence[str], name: str) -> str:
    """The numbers to fit without one of them; without the last where the start is the one."""
    left = [other for other in fit if other != name]
    return ",".join(left if len(left) < len(fit) else left[:-1])


def _why(name: str) -> str:
    if name == "leak":
        return "the tanks were too full, too empty or too briefly watched for a leak to show"
    if name == "the water at the start":
        return "the tanks ran over or empty at once"
    return "too little rain fell between the readings, or the tanks ran over"


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
