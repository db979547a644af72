"""`holdwater plan`: one page that shows everything, and the same as a PDF where a browser is at hand."""

from __future__ import annotations

import datetime as dt
import shlex
import sys
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Any

from holdwater.errors import InputError
from holdwater.scenario import load

if TYPE_CHECKING:
    from holdwater.scenario import ScenarioFile

NAME = "plan.html"
PAGES = (".html", ".htm")
PAPER = {"us": "letter", "metric": "a4"}


@dataclass(frozen=True)
class Asked:
    """What the user typed."""

    scenario: Path
    out: Path | None
    holding: list[str]
    on: dt.date | None
    sets: list[str]
    variant: str | None
    units: str | None
    pdf: bool

    @property
    def changes(self) -> list[str]:
        """Changes of the scenario, that of --units included."""
        return [*self.sets, *([f"show_units={self.units}"] if self.units else [])]

    def command(self, on: dt.date) -> str:
        """The command that makes the plan again beside its scenario."""
        parts = ["holdwater", "plan", self.scenario.name]
        parts += ["--variant", self.variant] if self.variant else []
        for each in self.sets:
            parts += ["--set", each]
        for each in self.holding:
            parts += ["--holding", each]
        parts += ["--on", str(on)] if self.holding else []
        parts += ["--units", self.units] if self.units else []
        return shlex.join(parts)


def plan(asked: Asked, as_json: bool, quiet: bool) -> None:
    """Run the scenario, put the plan together, write it, and print it where a browser is at hand.

    Raises
    ------
    InputError
        The scenario, its weather, the amount held or the place to write cannot be used; nothing is
        written then.
    """
    file = load(asked.scenario, asked.changes, asked.variant)
    folder, name = place(asked)
    from holdwater.cli.study import progress

    with progress(quiet or as_json) as bar:

        def step(doing: str) -> None:
            bar.doing(doing)
            bar.done(1)

        told = _write(file, asked, folder, name, step, bar.of)
    if told["why_no_pdf"] and asked.pdf:
        print(
            f"holdwater: NO PDF: {told['why_no_pdf']}; open {folder / name} in a browser and print it from there",
            file=sys.stderr,
        )
    if as_json:
        from holdwater.cli.text import as_json as written

        print(written(told))
    elif not quiet:
        print(told["verdict"])
        print(f"\nWritten: {told['plan']} ({told['bytes'] / 1e6:.2f} MB, {len(told['sections'])} sections)")
        if told["pdf"]:
            print(f"Printed: {told['pdf']}")


def place(asked: Asked) -> tuple[Path, str]:
    """Folder and file name of the plan.

    Raises
    ------
    InputError
        It would be written over the scenario, or under a name that is no page's.
    """
    out = asked.out
    if out is None:
        return Path("outputs") / asked.scenario.stem, NAME
    if out.is_dir() or not out.suffix:
        return out, NAME
    if out.suffix.lower() in PAGES and out.absolute() != asked.scenario.absolute():
        return out.parent, out.name
    raise InputError(
        f'--out {out}: the plan is a page, so name a file that ends in .html, or a folder; found "{out.suffix}"'
    )


def _write(
    file: ScenarioFile,
    asked: Asked,
    folder: Path,
    name: str,
    step: Callable[[str], None],
    of: Callable[[int], None],
) -> dict[str, Any]:
    """Make the plan and put it and its PDF into the folder, and tell of both."""
    step("reading the weather")
    from holdwater.weather import read_weather

    scenario, on = file.scenario, asked.on or dt.date.today()
    last = scenario.run.to
    if asked.holding and last is not None:
        last = max(last, on - dt.timedelta(days=1))
    record = read_weather(
        scenario.weather, file.path.parent, first=scenario.run.from_, last=last, place=scenario.place
    )
    from holdwater.plan.plan import SECTIONS, gather, page
    from holdwater.plan.section import Asked as Wanted
    from holdwater.report import files, verdict
    from holdwater.scores import score
    from holdwater.simulation import simulate

    of(len(SECTIONS) + 1 + asked.pdf)
    step("running the days")
    ledger = simulate(scenario, record)
    ledger.warnings.extend([*file.warnings, *record.provenance.notes])
    scores = score(ledger)
    wanted = Wanted(asked.holding, on, asked.command(on), asked.changes)
    sections = gather(file, ledger, scores, wanted, record, lambda part: step(f"writing {part}"))
    written = page(scenario.title, sections, wanted)
    pdf = Path(name).with_suffix(".pdf").name
    with files.staged(folder, owned=[pdf] if asked.pdf else []) as stage:
        (stage / name).write_text(written, "utf-8", newline="\n")
        why = "it was not asked for"
        if asked.pdf:
            step("printing")
            why = _print(stage, page(scenario.title, sections, wanted, PAPER[scenario.show_units]), pdf)
    return {
        "scenario": scenario.title,
        "verdict": verdict.verdict(ledger, scores),
        "plan": str(folder / name),
        "bytes": len(written.encode()),
        "sections": [section.key for section in sections],
        "pdf": None if why else str(folder / pdf),
        "why_no_pdf": why or None,
    }


def _print(stage: Path, page: str, pdf: str) -> str:
    """Print a page to a PDF in the stage; say why if it could not be."""
    from holdwater.plan.browser import printed

    sized = stage / "sized.html"
    sized.write_text(page, "utf-8")
    try:
        return printed(sized, stage / pdf)
    finally:
        sized.unlink()
