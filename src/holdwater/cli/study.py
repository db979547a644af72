"""What the commands of studies share: reading, progress, the folder, tables and plain data."""

from __future__ import annotations

import csv
import sys
from collections.abc import Callable, Iterable, Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass
from functools import cached_property
from pathlib import Path
from typing import TYPE_CHECKING, Any

from holdwater.scenario import ScenarioFile, load

if TYPE_CHECKING:
    from holdwater.scenario import Scenario
    from holdwater.weather.record import Record

CAUTION = "Results come from past weather: a worse drought can come."


@dataclass(frozen=True)
class Asked:
    """What the user typed, of what all studies are asked.

    Attributes
    ----------
    scenario : Path
        The file.
    sets : list of str
        Changes.
    variant : str or None
        What-if to start from.
    out : Path or None
        Folder to write into.
    units : str or None
        Units shown.
    """

    scenario: Path
    sets: list[str]
    variant: str | None
    out: Path | None
    units: str | None

    @property
    def changes(self) -> list[str]:
        """Changes of the scenario, that of --units included."""
        return [*self.sets, *([f"show_units={self.units}"] if self.units else [])]

    @property
    def folder(self) -> Path:
        """Where the files go."""
        return self.out or Path("outputs") / self.scenario.stem

    @cached_property
    def file(self) -> ScenarioFile:
        """The scenario with its changes, read once.

        Raises
        ------
        InputError
            With all faults.
        """
        return self.load(self.variant)

    def load(self, variant: str | None) -> ScenarioFile:
        """The scenario with its changes, on top of a what-if.

        Raises
        ------
        InputError
            With all faults.
        """
        return load(self.scenario, sets=self.changes, variant=variant)


class Records:
    """Weather of scenarios, read once for all that want the same."""

    def __init__(self, folder: Path) -> None:
        self.folder = folder
        self.known: list[tuple[tuple[object, ...], Record]] = []

    def __call__(self, scenario: Scenario) -> Record:
        """The record of a scenario.

        Raises
        ------
        InputError, WeatherUnavailable
            It cannot be used, or had.
        """
        from holdwater.weather import read_weather

        run = scenario.run
        wanted = (scenario.weather, scenario.place, run.from_, run.to)
        for before, record in self.known:
            if before == wanted:
                return record
        record = read_weather(
            scenario.weather, self.folder, first=run.from_, last=run.to, place=scenario.place
        )
        self.known.append((wanted, record))
        return record


@dataclass(frozen=True)
class Bar:
    """How far a study is: `done` counts, `doing` says in words."""

    done: Callable[[int], None]
    doing: Callable[[str], None]
    of: Callable[[int], None]


@contextmanager
def progress(hidden: bool) -> Iterator[Bar]:
    """A bar with the time left on the error stream; shown only to a person at a terminal."""
    if hidden or not sys.stderr.isatty():
        yield Bar(lambda number: None, lambda words: None, lambda total: None)
        return
    from rich.console import Console
    from rich.progress import BarColumn, MofNCompleteColumn, Progress, TextColumn, TimeRemainingColumn

    columns = (TextColumn("{task.description}"), BarColumn(), MofNCompleteColumn(), TimeRemainingColumn())
    with Progress(*columns, console=Console(stderr=True), transient=True) as bar:
        task = bar.add_task("reading", total=None)
        yield Bar(
            lambda number: bar.update(task, advance=number),
            lambda words: bar.update(task, description=words),
            lambda total: bar.update(task, total=total, completed=0),
        )


def write_rows(path: Path, header: Sequence[str], rows: Iterable[Sequence[Any]]) -> None:
    """Write a table as CSV; numbers that are none stay empty."""
    with path.open("w", newline="", encoding="utf-8") as file:
        out = csv.writer(file)
        out.writerow(header)
        for row in rows:
            out.writerow(["" if cell is None else _plain(cell) for cell in row])


def _plain(cell: Any) -> Any:
    return (
        f"{cell:.6g}"
        if isinstance(cell, float) and abs(cell) < 1
        else f"{cell:.10g}"
        if isinstance(cell, float)
        else cell
    )


def period(record: Record) -> dict[str, Any]:
    """The days of a run as plain data."""
    return {"from": str(record.first), "to": str(record.last), "days": int(record.days.size)}


def weather(record: Record) -> dict[str, Any]:
    """Where the weather comes from, as plain data."""
    known = record.provenance
    return {
        "source": known.source,
        "missing": known.missing,
        "filled": known.filled,
        "changed": known.changed or None,
        "licence": known.licence,
    }


def notes(file: ScenarioFile, record: Record) -> list[str]:
    """What to know of the scenario and its weather."""
    return [*file.warnings, *record.provenance.notes]


def closing(said: Sequence[str], folder: Path, names: Sequence[str]) -> None:
    """Print the notes, the caution and where the files are."""
    for note in said:
        print(f"\nNote: {note}.")
    print(f"\nCaution: {CAUTION}")
    print(f"\nWritten to {folder}/: {', '.join(names)}")
