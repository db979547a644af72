"""What the page asks for: the holding as it stands, a trial of a design, a variant kept, a plan to print."""

from __future__ import annotations

import threading
import time
from collections.abc import Hashable
from dataclasses import replace
from pathlib import Path
from typing import Any

from holdwater.errors import HoldwaterError, InputError
from holdwater.page import cost, saving, told, typed
from holdwater.page.asked import Asked, Span
from holdwater.page.cost import Rate
from holdwater.page.dials import Dial, turned
from holdwater.page.trial import Trial, tried
from holdwater.page.which import dials, without_dials
from holdwater.scenario import ScenarioFile, load, variant_names
from holdwater.scenario.toml_text import read_text
from holdwater.scenario.variants import Change, variant_changes
from holdwater.studies.batch import Batch, Site
from holdwater.studies.kernels import kernels
from holdwater.units import System
from holdwater.weather import read_weather

SITES_KEPT = 3
SLOW = 0.12
"""An interpreted answer that takes longer than this is compiled beside the work [s of this thread]."""
MANY = 1_000_000


class Desk:
    """Answers for one scenario file; any thread may ask, one is served at a time.

    Parameters
    ----------
    path : Path
        The scenario file.
    system : str, optional
        "us" or "metric"; the file decides without it.
    compiles : bool
        Whether to compile, beside the work, what takes long to interpret.

    Raises
    ------
    InputError
        The scenario or its weather cannot be used.
    """

    def __init__(self, path: Path, system: System | None = None, compiles: bool = True) -> None:
        self.path, self._system, self._compiles = path, system, compiles
        self._lock, self._planning = threading.Lock(), threading.Lock()
        self._compiling: set[Hashable] = set()
        self._read()
        self._site(self.file, None)  # a fault of the weather is told before anything is served

    def _read(self) -> None:
        self.file = load(self.path)
        self._forget()
        self._sites: dict[Hashable, Site] = {}
        self._reach: dict[str | None, Span] = {}

    def _forget(self) -> None:
        """Forget what was made of the file's text; the weather stays."""
        self._starts: dict[str | None, ScenarioFile] = {None: self.file}
        self._dials: dict[str | None, list[Dial]] = {}
        self._rates: dict[str | None, dict[str, Rate]] = {}
        self._present: dict[Hashable, Trial] = {}

    @property
    def system(self) -> System:
        """Units shown."""
        return self._system or self.file.scenario.show_units

    def opening(self, asked: Asked, fresh: bool = False) -> dict[str, Any]:
        """The holding as the file has it: its dials, its droughts, what it comes to.

        Parameters
        ----------
        fresh : bool
            Read the file again: a page that is loaded anew sees what was edited since.

        Raises
        ------
        InputError
            The scenario or its weather cannot be used.
        """
        with self._lock:
            if fresh:
                self._read()
            start = self._start(asked.variant)
            design = start.vary(_period(start, asked))
            trial = self._tried(design, asked.variant)
            low, high = self._bounds(start, asked.variant)
            run = design.scenario.run
            known = self._site(design, asked.variant).record.provenance
            present = self._as_it_is(asked)
            rates = self._rates_of(asked.variant)
            return {
                "title": start.scenario.title,
                "file": self.path.name,
                "variants": variant_names(self.file),
                "variant": asked.variant,
                "dials": [dial.told() for dial in self._dials_of(asked.variant)],
                "prices": [
                    told.price(dial, rates.get(dial.path))
                    for dial in self._dials_of(asked.variant)
                    if dial.buys == "size"
                ],
                "rule": run.rule,
                "period": [_iso(trial.days[0]), _iso(trial.days[-1])],
                "reach": [low.isoformat(), high.isoformat()],
                "droughts": told.droughts(trial),
                "numbers": told.numbers(present, self.file.scenario, [], self.system),
                "weather": told.weather(known),
                "warnings": [
                    *design.warnings,
                    *known.notes,
                    *told.filled(known),
                    *without_dials(start.scenario),
                ],
                "beds": bool(trial.beds),
            }

    def answer(self, asked: Asked) -> dict[str, Any]:
        """What a design comes to.

        Raises
        ------
        InputError
            With every fault of the design.
        """
        with self._lock:
            start = self._start(asked.variant)
            changes = self._changes(start, asked)
            design = start.vary(changes)
            trial = self._tried(design, asked.variant)
            shown = told.window(trial, *(asked.window or (None, None)))
            lines = self._bill(start, asked)
            known = self._site(design, asked.variant).record.provenance
            before = cost.a_year(self._as_it_is(asked))
            return {
                "verdict": told.verdict(trial, design.scenario, known),
                "numbers": told.numbers(trial, design.scenario, lines, self.system),
                "years": told.by_year(trial, design.scenario.run.year_starts),
                "curve": told.curve(trial, shown, self.system),
                "caption": told.caption(trial, shown),
                "changes": [told.change(line) for line in lines],
                "counted": cost.counted(trial, design.scenario, lines, before),
                "warnings": [each for each in design.warnings if each not in start.warnings],
                "command": typed.command("run", self.path.name, asked.variant, changes),
                "edited": self._edited(),
            }

    def save(self, asked: Asked) -> dict[str, Any]:
        """Keep a design as a variant in the scenario file.

        Raises
        ------
        InputError
            The design or its name cannot be used, or the file cannot be written.
        """
        with self._lock:
            start, edited = self._start(asked.variant), self._edited()
            changes = self._changes(start, asked)
            start.vary(changes)
            base = [] if asked.variant is None else variant_changes(self.file.raw, asked.variant)
            total, missing = cost.one_off(self._bill(start, asked))
            price = total if total > 0.0 and not missing else None
            name = saving.save(self.path, asked.name, [*base, *changes] if changes else [], price)
            if not edited:
                self.file = load(self.path)
                self._forget()
            return {
                "saved": name,
                "file": self.path.name,
                "cost": price,
                "variants": variant_names(load(self.path)),
                "command": typed.command("run", self.path.name, name, []),
                "edited": edited,
            }

    def plan(self, asked: Asked) -> str:
        """The printable plan of a design, one HTML page.

        Raises
        ------
        InputError
            With every fault of the design.
        """
        with self._lock:
            start = self._start(asked.variant)
            changes = self._changes(start, asked)
            design = replace(start.vary(changes), variant=asked.variant)
            site = self._site(design, asked.variant)
        with self._planning:
            from holdwater.page import printed  # it brings the charts along

            return printed.plan(design, site, asked.variant, changes)

    def _edited(self) -> bool:
        """Whether the file says something else than when the page was opened."""
        try:
            return read_text(self.path) != self.file.text
        except InputError:
            return True

    def _as_it_is(self, asked: Asked) -> Trial:
        """The scenario itself, without any change, in the same days."""
        key = (asked.first, asked.last)
        if key not in self._present:
            self._present.clear()
            self._present[key] = self._tried(self.file.vary(_period(self.file, asked)), None)
        return self._present[key]

    def _bill(self, start: ScenarioFile, asked: Asked) -> list[cost.Line]:
        """Every change against the scenario as it is, and its price."""
        lines = [] if asked.variant is None else [cost.variant_line(self.file, start, asked.variant)]
        rates = self._rates_of(asked.variant)
        for dial in self._dials_of(asked.variant):
            value = asked.values.get(dial.path, dial.value)
            if dial.turns(value):
                lines.append(cost.line(dial, value, asked.prices.get(dial.path), rates.get(dial.path)))
        return [*lines, *cost.run_lines(start.scenario.run, asked.rule, _period(start, asked))]

    def _rates_of(self, variant: str | None) -> dict[str, Rate]:
        if variant not in self._rates:
            self._rates[variant] = cost.rates(self.file, self._start(variant), self._dials_of(variant))
        return self._rates[variant]

    def _start(self, variant: str | None) -> ScenarioFile:
        if variant not in self._starts:
            self._starts[variant] = load(self.path, variant=variant)
        return self._starts[variant]

    def _dials_of(self, variant: str | None) -> list[Dial]:
        if variant not in self._dials:
            self._dials[variant] = dials(self._start(variant).scenario, self.system)
        return self._dials[variant]

    def _changes(self, start: ScenarioFile, asked: Asked) -> list[Change]:
        changes = turned(self._dials_of(asked.variant), asked.values)
        if asked.rule is not None and asked.rule != start.scenario.run.rule:
            changes.append(("run.rule", asked.rule))
        return [*changes, *_period(start, asked)]

    def _bounds(self, start: ScenarioFile, variant: str | None) -> Span:
        """First and last day the weather reaches to; those of the run where the rest cannot be used."""
        if variant not in self._reach:
            scenario = start.scenario
            try:
                record = read_weather(scenario.weather, self.path.parent, place=scenario.place)
            except HoldwaterError:
                record = self._site(start, variant).record
            self._reach[variant] = (record.first, record.last)
        return self._reach[variant]

    def _site(self, design: ScenarioFile, variant: str | None) -> Site:
        """The weather of a run, read as `holdwater run` reads it."""
        run = design.scenario.run
        key = (variant, run.from_, run.to)
        if key not in self._sites:
            scenario = design.scenario
            record = read_weather(
                scenario.weather, self.path.parent, first=run.from_, last=run.to, place=scenario.place
            )
            while len(self._sites) >= SITES_KEPT:
                del self._sites[next(iter(self._sites))]
            self._sites[key] = Site.of(scenario, record)
        return self._sites[key]

    def _tried(self, design: ScenarioFile, variant: str | None) -> Trial:
        site = self._site(design, variant)
        begun = time.thread_time()
        trial = tried(site, design.scenario)
        if self._compiles and time.thread_time() - begun > SLOW:
            self._compile_beside(site, design)
        return trial

    def _compile_beside(self, site: Site, design: ScenarioFile) -> None:
        """Compile a structure, once, in a thread of its own; until then its answers are interpreted."""
        batch = Batch(site, site.ready(design.scenario), design.scenario.run.year_starts)
        if batch.key not in self._compiling:
            self._compiling.add(batch.key)
            work = (batch.key, batch.program, MANY, site.record.days.size, lambda words: None)
            threading.Thread(target=kernels, args=work, daemon=True).start()


def _period(start: ScenarioFile, asked: Asked) -> list[Change]:
    """Changes that set the days to run.

    Raises
    ------
    InputError
        The last day lies before the first.
    """
    if asked.first is not None and asked.last is not None and asked.last < asked.first:
        raise InputError(f"the period ends on {asked.last}, before it begins on {asked.first}")
    run = start.scenario.run
    given = (("run.from", asked.first, run.from_), ("run.to", asked.last, run.to))
    return [(path, day) for path, day, is_so in given if day is not None and day != is_so]


def _iso(day: Any) -> str:
    return str(day.item().isoformat())
