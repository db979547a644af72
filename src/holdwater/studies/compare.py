"""Compare: several set-ups of one holding side by side, through all of the record or one drought of it.

Set-ups are few, so each is run as a full ledger.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace

import numpy as np

from holdwater.errors import InputError
from holdwater.holding import build
from holdwater.label import label
from holdwater.ledger import Ledger, check_signs, closing_error
from holdwater.scenario import ScenarioFile
from holdwater.scenario.faults import did_you_mean
from holdwater.scenario.schema import Scenario
from holdwater.scores import Scores, score
from holdwater.simulation import covering, run, simulate
from holdwater.sky import weather
from holdwater.studies import opening
from holdwater.studies.dials import dial
from holdwater.studies.drawbacks import Days
from holdwater.studies.droughts import dry_droughts, rainless_droughts
from holdwater.studies.offers import cost_of, quote
from holdwater.units import Level
from holdwater.weather.record import Record

PRESENT = "present"
BEFORE, AFTER = 365, 180
"""Days shown at most before a drought, from the fullest on, and after it, until the tanks are full again."""
LEAST_RAINLESS = 10
"""Rainless spells of fewer days are no drought to look at [days]."""


@dataclass(frozen=True)
class SetUp:
    """One way the holding could be.

    Attributes
    ----------
    name : str
        What it is called.
    file : ScenarioFile
        The scenario.
    cost : float or None
        What it costs over the present; None where no price is known.
    """

    name: str
    file: ScenarioFile
    cost: float | None = None


@dataclass(frozen=True)
class Window:
    """Days to look at, both included, and why these."""

    first: dt.date
    last: dt.date
    why: str


@dataclass(frozen=True)
class Compared:
    """One set-up and how it fared.

    Attributes
    ----------
    set_up : SetUp
        What was run.
    ledger : Ledger
        Its days; those of the window where there is one.
    scores : Scores
        What they say.
    """

    set_up: SetUp
    ledger: Ledger
    scores: Scores

    @property
    def name(self) -> str:
        """Name of the set-up."""
        return self.set_up.name

    @property
    def days(self) -> Days:
        """Days by what was wanting."""
        thirsty = np.asarray(self.ledger.flux("stressed") > 0).any(axis=0)
        scores = self.scores
        return Days(scores.dry_days.total, scores.unserved_days, int(thirsty.sum()), scores.held_back.total)

    @property
    def opening_L(self) -> float:
        """Drawable storage on the first morning [L]."""
        return float(self.ledger.flux("drawable").sum(axis=0)[0])

    @property
    def capacity_L(self) -> float:
        """Drawable capacity [L]."""
        return float(self.ledger.flux("drawable_capacity").sum())


@dataclass(frozen=True)
class Comparison:
    """Set-ups side by side, the present first.

    Attributes
    ----------
    compared : list of Compared
        Each set-up.
    window : Window or None
        The days looked at, where not all.
    starting : Level or None
        Storage on their first morning, where it was said and not simulated.
    assumed : str
        What soil, snow and first-flush chambers start from, where the storage was said.
    """

    compared: list[Compared]
    window: Window | None
    starting: Level | None
    assumed: str


def roof_areas(base: ScenarioFile, text: str, roof: str | None) -> list[SetUp]:
    """Set-ups that differ in the area of one roof.

    Parameters
    ----------
    base : ScenarioFile
        The scenario as it is.
    text : str
        "1000 ft2, 1500 ft2", or a range "1000 ft2..3000 ft2:5".
    roof : str or None
        Which roof; the first of the file without it.

    Raises
    ------
    InputError
        There is no such roof, or a value is no area.
    """
    names = [each.name for each in base.scenario.roof]
    name = names[0] if roof is None else roof
    if name not in names:
        raise InputError(f"there is no roof '{name}'; {did_you_mean(name, names, 'roof')}")
    areas = dial(f"roof.{quote(name)}.area={text}")
    called = name if name.lower().endswith("roof") else f"{name} roof"
    files = [base.vary([areas.changes(i)]) for i in range(len(areas.texts))]
    return [
        SetUp(f"{called} {area}", file, cost_of(base.scenario, file.scenario))
        for area, file in zip(areas.texts, files, strict=True)
    ]


def compare(
    set_ups: Sequence[SetUp],
    record_of: Callable[[Scenario], Record],
    window: Callable[[Compared], Window] | None = None,
    starting: Level | None = None,
    told: Callable[[str], None] | None = None,
) -> Comparison:
    """Run every set-up; the first is the present, which the others are held against.

    Parameters
    ----------
    set_ups : sequence of SetUp
        The present first.
    record_of : callable
        Weather of a scenario.
    window : callable, optional
        Chooses the days to look at by the whole run of the present. The storage with which each set-up
        comes into them is simulated from the first day of the run.
    starting : Level, optional
        Storage with which each set-up comes into the window instead, as a share of what its tanks can
        give or as a volume (at most all they hold).
    told : callable, optional
        Told the name of each set-up as it is run.

    Raises
    ------
    InputError
        The weather does not serve a run, or the window lies outside it.
    """
    tell = told or (lambda name: None)
    tell(set_ups[0].name)
    present = _whole(set_ups[0], record_of)
    if window is None:
        compared = [present]
        for each in set_ups[1:]:
            tell(each.name)
            compared.append(_whole(each, record_of))
        return Comparison(compared, None, None, "")
    looked = window(present)
    check_window(looked, present.ledger)
    compared, assumed = [], ""
    for each in set_ups:
        tell(each.name)
        if starting is not None:
            ledger, assumed = _from_level(each, record_of(each.file.scenario), looked, starting)
        elif each is set_ups[0]:
            ledger = part_of_run(present.ledger, looked.first, looked.last)
        else:
            ledger = part_of_run(_until(each, record_of, looked.last), looked.first, looked.last)
        compared.append(Compared(each, ledger, score(ledger)))
    return Comparison(compared, looked, starting, assumed)


def check_window(window: Window, ledger: Ledger) -> None:
    """Refuse days outside the run.

    Raises
    ------
    InputError
        The window ends before it begins, or reaches outside the run.
    """
    first, last = ledger.period
    if window.last < window.first:
        raise InputError(f"--from {window.first} comes after --to {window.last}; swap them")
    if window.first < first or window.last > last:
        raise InputError(
            f"{window.first} to {window.last} reaches outside the run, {first} to {last};"
            " choose days within it"
        )


def _whole(set_up: SetUp, record_of: Callable[[Scenario], Record]) -> Compared:
    ledger = simulate(set_up.file.scenario, record_of(set_up.file.scenario))
    return Compared(set_up, ledger, score(ledger))


def _until(set_up: SetUp, record_of: Callable[[Scenario], Record], last: dt.date) -> Ledger:
    """The run of a set-up from its first day to the end of the window."""
    scenario = set_up.file.scenario
    short = scenario.model_copy(update={"run": scenario.run.model_copy(update={"to": last})})
    return simulate(short, record_of(scenario))


def _from_level(set_up: SetUp, record: Record, window: Window, starting: Level) -> tuple[Ledger, str]:
    """The run of a set-up through the window from a storage said; and what else it starts from."""
    scenario = set_up.file.scenario
    span = scenario.run.model_copy(update={"from_": window.first, "to": window.last})
    scenario = scenario.model_copy(update={"run": span})
    cut = covering(scenario, record)
    before, assumed = opening.before(scenario, record, weather(scenario, record), window.first)
    met = weather(scenario, cut)
    met = opening.cut(met, 0, cut.days.size, before.ground_pack if before else 0.0)
    holding = build(scenario, cut.days, met)
    groups = holding.phases[0].groups
    room = sum(joined.capacity for joined in groups)
    share = min(1.0, starting.of(room) / room) if room > 0.0 else 0.0
    volumes = [share * joined.capacity for joined in groups]
    begin = opening.state(holding, scenario, volumes, before.state if before else None)
    ledger = label(scenario, cut, holding, met, *run(scenario, holding, met, begin))
    check_signs(ledger)
    closing_error(ledger)
    return ledger, assumed


def part_of_run(ledger: Ledger, first: dt.date, last: dt.date) -> Ledger:
    """The days `first` to `last` of a run, with what stood in the tanks on the first morning."""
    a, b = ((day - ledger.period[0]).days for day in (first, last))
    data = ledger.data.isel(time=slice(a, b + 1), edge=slice(a, b + 2))
    return replace(ledger, data=data, record=ledger.record.between(first, last))


# --------------------------------------------------------------------------------- choosing the days


def days_between(first: dt.date | None, last: dt.date | None) -> Callable[[Compared], Window]:
    """Choose the days given; an end not given is that of the run."""

    def choose(present: Compared) -> Window:
        begin, end = present.ledger.period
        return Window(first or begin, last or end, "the days asked for")

    return choose


def last_year(present: Compared) -> Window:
    """Choose the last year of the run."""
    year = present.scores.years[-1]
    return Window(year.first, year.last, "the last year on record")


def worst(rank: int) -> Callable[[Compared], Window]:
    """Choose the worst drought of the present set-up, the second worst, ...: by what its tanks could not give.

    Where the present never ran dry, the longest rainless spell, the second longest, ... The days run from
    the fullest day of the year before to the day on which the tanks are full again, half a year at most.
    """

    def choose(present: Compared) -> Window:
        found = dry_droughts(present.ledger, present.scores)
        kind = "worst drought of the present set-up"
        if not found:
            found = rainless_droughts(present.ledger, LEAST_RAINLESS)
            kind = "longest rainless spell; the present set-up never ran dry"
        if not 1 <= rank <= len(found):
            raise InputError(
                f"--worst {rank}: the record holds {len(found)} droughts; choose 1, the worst, to {len(found)}"
                if found
                else "--worst: there is no drought on record to look at; choose days with --from and --to"
            )
        drought = next(each for each in found if each.rank == rank)
        begin, end = present.ledger.period
        at = (drought.first - begin).days
        storage = present.ledger.flux("drawable").sum(axis=0)
        back = storage[max(0, at - BEFORE) : at + 1]
        first = drought.first - dt.timedelta(days=int(np.argmax(back[::-1])))
        after = min(AFTER, drought.refill_days or AFTER)
        last = min(end, drought.last + dt.timedelta(days=after))
        place = "" if rank == 1 else f"number {rank}, counted from the "
        return Window(max(begin, first), last, f"{place}{kind}, {drought.first} to {drought.last}")

    return choose
