"""The files of a run, written beside the old ones first and then put in their place."""

from __future__ import annotations

import csv
import dataclasses
import io
import json
import os
import shutil
import signal
import tempfile
import threading
from collections.abc import Iterable, Iterator, Mapping, Sequence
from contextlib import contextmanager, suppress
from pathlib import Path
from types import FrameType
from typing import Any

import numpy as np

from holdwater import words
from holdwater.errors import InputError
from holdwater.ledger import Ledger
from holdwater.report.garden import bed_columns
from holdwater.scores import Scores, YearRow
from holdwater.spells import Spell
from holdwater.studies.droughts import Drought


@contextmanager
def staged(folder: Path, owned: Iterable[str] = ()) -> Iterator[Path]:
    """Give an empty folder to write into; on success put its files into `folder`, each in one move.

    If writing stops half way (an error, Ctrl-C), the old files of `folder` stay whole, and a folder
    that was not there before is gone again.

    Parameters
    ----------
    folder : Path
        Where the files go; made if it is not there. Files of other names in it are left alone.
    owned : iterable of str
        Names under `folder` that an earlier run may have left and that go if this one writes none of them.

    Raises
    ------
    InputError
        The folder cannot be made or written.
    """
    absent = [place for place in (folder, *folder.parents) if not place.exists()]
    stage: Path | None = None
    try:
        folder.mkdir(parents=True, exist_ok=True)
        stage = Path(tempfile.mkdtemp(prefix=".writing-", dir=folder))
        yield stage
        with _uninterrupted():
            _put_in_place(stage, folder, owned)
        absent = []
    except OSError as fault:
        why = "it is a file" if isinstance(fault, FileExistsError | NotADirectoryError) else fault.strerror
        raise InputError(
            f"cannot write into the output folder {folder}: {why or fault}; choose another with --out"
        ) from fault
    finally:
        if stage is not None:
            shutil.rmtree(stage, ignore_errors=True)
        with suppress(OSError):  # it stays if anything is in it
            for place in absent:
                place.rmdir()


def _put_in_place(stage: Path, folder: Path, owned: Iterable[str]) -> None:
    written = [path.relative_to(stage) for path in sorted(stage.rglob("*")) if path.is_file()]
    for name in written:
        (folder / name).parent.mkdir(parents=True, exist_ok=True)
        os.replace(stage / name, folder / name)
    for name in {Path(name) for name in owned} - set(written):
        (folder / name).unlink(missing_ok=True)


@contextmanager
def _uninterrupted() -> Iterator[None]:
    """Hold Ctrl-C back for the moment in which files change places."""
    if threading.current_thread() is not threading.main_thread():
        yield
        return
    caught: list[tuple[int, FrameType | None]] = []
    old = signal.signal(signal.SIGINT, lambda number, frame: caught.append((number, frame)))
    try:
        yield
    finally:
        signal.signal(signal.SIGINT, old)
    if caught:
        raise KeyboardInterrupt


def write_tables(folder: Path, ledger: Ledger, scores: Scores, summary: dict[str, Any]) -> list[Path]:
    """Write `summary.json`, `ledger.csv`, `ledger.nc`, `years.csv` and `spells.csv`."""
    (folder / "summary.json").write_text(
        json.dumps(summary, indent=2, ensure_ascii=False, allow_nan=False) + "\n", "utf-8"
    )
    write_ledger_csv(folder / "ledger.csv", ledger)
    write_ledger_nc(folder / "ledger.nc", ledger)
    years = _year_columns(scores)
    _write_rows(folder / "years.csv", list(years), zip(*years.values(), strict=True))
    spells = [("dry", s) for s in scores.dry_spells] + [("rainless", s) for s in scores.rainless_spells]
    columns = [f.name for f in dataclasses.fields(Spell)]
    spells.sort(key=lambda each: (each[0], each[1].rank))
    rows = ([kind, *(getattr(spell, name) for name in columns)] for kind, spell in spells)
    _write_rows(folder / "spells.csv", ["kind", *columns], rows)
    return sorted(folder.iterdir())


def replaced(path: Path, told: Mapping[str, Any]) -> str:
    """Say which run was in the folder before, where it was another one; empty where there was none, or the same.

    Parameters
    ----------
    path : Path
        Its `summary.json`.
    told : mapping
        What stands in the new one.
    """
    try:
        old = json.loads(path.read_text("utf-8"))
        before = _made(old)
    except (OSError, ValueError, KeyError, TypeError):
        return ""
    return "" if before == _made(told) else f"This replaced the run of {before}; --out DIR keeps both."


def _made(told: Mapping[str, Any]) -> str:
    """What was run, in words: the file or a what-if, changes, rule, days, and other weather."""
    what = f"what-if '{told['variant']}'" if told.get("variant") else "the file as it stands"
    sets = f" with {', '.join(told['changes'])}" if told.get("changes") else ""
    weather = told["weather"].get("changed")
    changed = f" in changed weather ({weather})" if weather else ""
    days = f"{told['period']['from']} to {told['period']['to']}"
    return f"{words.holding(told['scenario'])}: {what}{sets}, {told['rule']}, {days}{changed}"


def write_droughts(path: Path, found: Sequence[Drought]) -> None:
    """Every drought of every kind, one row each, the worst of a kind first."""
    columns = [f.name for f in dataclasses.fields(Drought)]
    _write_rows(path, columns, ([getattr(each, name) for name in columns] for each in found))


def _year_columns(scores: Scores) -> dict[str, list[Any]]:
    """Years table by column: all draws together, then what is told of each draw and bed."""
    columns = {f.name: [getattr(year, f.name) for year in scores.years] for f in dataclasses.fields(YearRow)}
    for name in scores.held_back.by_draw:
        columns[f"held_back_days {name}"] = [days[name] for days in scores.held_back.by_year.values()]
    return columns | bed_columns(scores)


def _write_rows(path: Path, columns: Sequence[str], rows: Iterable[Sequence[Any]]) -> None:
    with path.open("w", newline="", encoding="utf-8") as file:
        out = csv.writer(file, lineterminator="\n")
        out.writerow(columns)
        for row in rows:
            out.writerow([f"{cell:.3f}" if isinstance(cell, float) else cell for cell in row])


def write_ledger_csv(path: Path, ledger: Ledger) -> None:
    """One row per day: its fluxes, and the storages at its end, one column per thing [L, mm].

    The first row is the day before the run: the storages the run opens with, and no fluxes. So every day closes
    from its own row and the one above it.
    """
    headers, opening, columns = ["date"], [], []
    for name, variable in ledger.data.data_vars.items():
        axis = variable.dims[-1] if variable.dims else ""
        if axis in ("time", "edge"):
            values = variable.values[..., 1:] if axis == "edge" else variable.values
            first = variable.values[..., 0].ravel().tolist() if axis == "edge" else []
            over = variable.dims[0] if len(variable.dims) == 2 else None
            labels = [f" {label}" for label in ledger.data[over].values] if over else [""]
            headers += [f"{name}{label}{_measure(variable.attrs, axis)}" for label in labels]
            opening += [f"{state:.3f}" for state in first] if first else [""] * len(labels)
            columns += list(values.reshape(len(labels), ledger.days.size))
    head = io.StringIO()
    csv.writer(head, lineterminator="\n").writerow(headers)
    table = np.stack(columns).round(3) + 0.0  # no "-0.000"
    used = np.flatnonzero(table.any(axis=1))  # most holdings have no use for every column
    cells = np.full(len(columns), "0.000", dtype=object)
    cells[used] = "%.3f"
    line = ",".join(["%s", *cells])
    days = ledger.days.astype(str).tolist()
    rows = [line % row for row in zip(days, *table[used].tolist(), strict=True)]
    eve = ",".join([str(ledger.days[0] - 1), *opening])
    path.write_text(head.getvalue() + "\n".join([eve, *rows]) + "\n", "utf-8", newline="\n")


def _measure(attributes: dict[str, Any], axis: str) -> str:
    """What stands behind the name of a column: when a storage was measured, and the unit."""
    when = " at end of day" if axis == "edge" or "end of the day" in attributes["long_name"] else ""
    return when + (f" [{attributes['units']}]" if attributes["units"] != "1" else "")


def write_ledger_nc(path: Path, ledger: Ledger) -> None:
    """The ledger as CF netCDF."""
    data = ledger.data.assign_attrs(
        source=ledger.record.provenance.source,
        license=ledger.record.provenance.licence,
        operating_rule=ledger.scenario.run.rule,
    )
    encoding: dict[str, dict[str, Any]] = {str(name): {"_FillValue": None} for name in data.data_vars}
    for axis in ("time", "edge"):
        encoding[axis] = {"units": "days since 1970-01-01"}
    data.to_netcdf(path, engine="h5netcdf", encoding=encoding)
