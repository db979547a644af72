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
from collections.abc import Iterable, Iterator, Sequence
from contextlib import contextmanager, suppress
from pathlib import Path
from types import FrameType
from typing import Any

import numpy as np

from holdwater.errors import InputError
from holdwater.ledger import Ledger
from holdwater.scores import Scores
from holdwater.spells import Spell


@contextmanager
def staged(folder: Path) -> Iterator[Path]:
    """Give an empty folder to write into; on success put its files into `folder`, each in one move.

    If writing stops half way (an error, Ctrl-C), the old files of `folder` stay whole. Files
    of other names in `folder` are left alone.

    Raises
    ------
    InputError
        The folder cannot be made or written.
    """
    try:
        folder.mkdir(parents=True, exist_ok=True)
        stage = Path(tempfile.mkdtemp(prefix=".writing-", dir=folder))
    except OSError as fault:
        why = "it is a file" if isinstance(fault, FileExistsError | NotADirectoryError) else fault.strerror
        raise InputError(
            f"cannot write into the output folder {folder}: {why}; choose another with --out"
        ) from None
    try:
        yield stage
        with _uninterrupted():
            for path in sorted(p for p in stage.rglob("*") if p.is_file()):
                target = folder / path.relative_to(stage)
                target.parent.mkdir(parents=True, exist_ok=True)
                os.replace(path, target)
    except OSError as fault:
        raise InputError(
            f"cannot write into the output folder {folder}: {fault.strerror or fault}"
        ) from fault
    finally:
        shutil.rmtree(stage, ignore_errors=True)
        with suppress(OSError):
            folder.rmdir()  # only if nothing is in it


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
    (folder / "summary.json").write_text(json.dumps(summary, indent=2, ensure_ascii=False) + "\n", "utf-8")
    write_ledger_csv(folder / "ledger.csv", ledger)
    write_ledger_nc(folder / "ledger.nc", ledger)
    years = [dataclasses.asdict(year) for year in scores.years]
    _write_rows(folder / "years.csv", list(years[0]), [list(year.values()) for year in years])
    spells = [("dry", s) for s in scores.dry_spells] + [("rainless", s) for s in scores.rainless_spells]
    columns = ["kind", *(f.name for f in dataclasses.fields(Spell))]
    rows = [[kind, *dataclasses.astuple(s)] for kind, s in sorted(spells, key=lambda s: (s[0], s[1].rank))]
    _write_rows(folder / "spells.csv", columns, rows)
    return sorted(folder.iterdir())


def _write_rows(path: Path, columns: Sequence[str], rows: Iterable[Sequence[Any]]) -> None:
    with path.open("w", newline="", encoding="utf-8") as file:
        out = csv.writer(file)
        out.writerow(columns)
        for row in rows:
            out.writerow([f"{cell:.3f}" if isinstance(cell, float) else cell for cell in row])


def write_ledger_csv(path: Path, ledger: Ledger) -> None:
    """One row per day: fluxes of the day and storages at its end, one column per thing [L, mm]."""
    headers, columns = ["date"], []
    for name, variable in ledger.data.data_vars.items():
        axis = variable.dims[-1] if variable.dims else ""
        if axis in ("time", "edge"):
            values = variable.values[..., 1:] if axis == "edge" else variable.values
            unit = variable.attrs["units"]
            unit = f" [{unit}]" if unit != "1" else ""
            over = variable.dims[0] if len(variable.dims) == 2 else None
            labels = [f" {label}" for label in ledger.data[over].values] if over else [""]
            headers += [f"{name}{label}{unit}" for label in labels]
            columns += list(values.reshape(len(labels), ledger.days.size))
    head = io.StringIO()
    csv.writer(head).writerow(headers)
    line = ",".join(["%s", *["%.3f"] * len(columns)])
    table = np.stack(columns, axis=1).round(3) + 0.0  # no "-0.000"
    rows = [line % (day, *row) for day, row in zip(ledger.days.astype(str), table.tolist(), strict=True)]
    path.write_text(head.getvalue() + "\n".join(rows) + "\n", "utf-8")


def write_ledger_nc(path: Path, ledger: Ledger) -> None:
    """The ledger as CF netCDF."""
    data = ledger.data.assign_attrs(
        source=ledger.record.provenance.source,
        license=ledger.record.provenance.licence,
        operating_rule=ledger.scenario.run.rule,
    )
    encoding = {"time": {"units": "days since 1970-01-01"}, "edge": {"units": "days since 1970-01-01"}}
    data.to_netcdf(path, engine="h5netcdf", encoding=encoding)
