"""`holdwater outlook`: from today's water through every past year's weather."""

from __future__ import annotations

import csv
import datetime as dt
import io
import json
import math
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import numpy as np

from holdwater import words
from holdwater.charts.files import picture, write
from holdwater.charts.outlook import finding, outlook_chart, saving_day
from holdwater.cli.text import columns
from holdwater.report.files import staged
from holdwater.scenario import load
from holdwater.studies.gauges import read_held
from holdwater.studies.odds import by_date, fan, order
from holdwater.studies.outlook import Floats, Outlook, outlook
from holdwater.studies.saving import FAILING, NEVER, Saving, first_day, read_saving
from holdwater.units import System, show
from holdwater.weather import read_weather

SHARES = (0.1, 0.25, 0.5, 0.75, 0.9)
FEW = 10
MOST_ROWS = 14


@dataclass(frozen=True)
class Asked:
    """What the user typed."""

    scenario: Path
    holding: list[str]
    on: dt.date | None
    days: int
    like_this_year: bool
    saving: list[str]
    sets: list[str]
    variant: str | None
    out: Path | None
    units: str | None


def run(asked: Asked, as_json: bool, quiet: bool) -> None:
    """Look ahead, write `outlook.csv`, `outlook.json` and the chart, and print the answer."""
    file = load(asked.scenario, sets=asked.sets, variant=asked.variant)
    scenario = file.scenario
    system: System = asked.units or scenario.show_units  # type: ignore[assignment]
    held = read_held(asked.holding, scenario)
    shares = read_saving(asked.saving or ["25 %"], scenario)
    on = asked.on or dt.date.today()
    last = max(scenario.run.to, on - dt.timedelta(days=1)) if scenario.run.to else None
    record = read_weather(
        scenario.weather, file.path.parent, first=scenario.run.from_, last=last, place=scenario.place
    )
    seen = outlook(scenario, record, held, on, asked.days, asked.like_this_year)
    saving = first_day(seen, shares)
    notes = [*file.warnings, *record.provenance.notes, *_notes(seen)]
    told = as_data(seen, saving, system, notes)
    folder = asked.out or Path("outputs") / asked.scenario.stem
    with staged(folder) as stage:
        (stage / "outlook.json").write_text(json.dumps(told, indent=2, ensure_ascii=False) + "\n", "utf-8")
        (stage / "outlook.csv").write_text(as_table(seen), "utf-8")
        write(picture(outlook_chart(seen, system, saving), "outlook"), stage / "charts")
    if as_json:
        print(json.dumps(told, indent=2, ensure_ascii=False))
    elif not quiet:
        print(finding(seen, system))
        print(f"\n{by_month(seen, system)}\n")
        for sentence in answers(seen, saving, system):
            print(sentence)
        for note in notes:
            print(f"\nNote: {note}.")
        print("\nCaution: Results come from past weather: a worse drought can come.")
        print(f"\nWritten to {folder}/: outlook.json, outlook.csv, charts/outlook.png, charts/outlook.svg")


def answers(seen: Outlook, saving: Saving, system: System) -> list[str]:
    """The days of supply, the backup, and when saving must start, in sentences."""
    n = len(seen.traces)
    said = [
        f"Days of supply: {_supply(seen, 0.5)} in the median year, {_supply(seen, 0.1)} in the dry tenth of years."
    ]
    brought = [trace for trace in seen.traces if trace.supplied_L > 0.0]
    if brought:
        most = max(trace.supplied_L for trace in brought)
        said.append(
            f"Backup water is called for in {len(brought)} of {words.count(n, 'year')}, at most"
            f" {show(most, 'volume', system)}"
            + (f" in {words.count(max(t.loads for t in brought), 'load')}." if brought[0].loads else ".")
        )
    return [*said, saving_sentence(seen, saving)]


def _supply(seen: Outlook, p: float) -> str:
    lasts = order(seen.first_dry, p)
    if lasts is None:
        return f"not to be told from {words.count(len(seen.traces), 'year')}"
    if math.isinf(lasts):
        return f"more than {seen.days.size:,}"
    return f"{lasts:,.0f}"


def saving_sentence(seen: Outlook, saving: Saving) -> str:
    """Say by when saving must start so that nine years in ten get through."""
    n = len(seen.traces)
    how = _how(saving)
    never, then, today = saving.through
    if saving.start is None:
        return (
            f"When saving must start for nine years in ten is not to be told from {words.count(n, 'year')};"
            f" {how} from today, {today} of {n} get through without a dry day."
        )
    if saving.start == NEVER:
        return f"No need to save: {never} of {words.count(n, 'year')} get through without a dry day."
    if saving.start < 0.0:
        return (
            f"{how[0].upper()}{how[1:]} from today is not enough for nine years in ten: {today} of"
            f" {words.count(n, 'year')} get through without a dry day, {never} of them without saving."
        )
    day = words.on(seen.days[int(saving.start)].item())
    return (
        f"{how[0].upper()}{how[1:]} must start by {day} for nine years in ten to get through without a dry day"
        f" ({then} of {n} do; without saving {never})."
    )


def _how(saving: Saving) -> str:
    shares = set(saving.shares.values())
    if len(shares) == 1:
        names = ", ".join(saving.shares)
        return f"saving {100 * shares.pop():.0f} % ({names})"
    return "saving " + ", ".join(f"{100 * share:.0f} % ({name})" for name, share in saving.shares.items())


def by_month(seen: Outlook, system: System) -> str:
    """Odds of dry and of full, and the water left, at the end of every month and of the last day."""
    days, n = seen.days, len(seen.traces)
    ends = np.flatnonzero(np.diff(days.astype("datetime64[M]").astype(int)) > 0).tolist()
    places = sorted({*ends, days.size - 1})
    every = -(-len(places) // MOST_ROWS)
    places = places[::-1][::every][::-1]
    dry, full = by_date(seen.first_dry, days.size), by_date(seen.first_full, days.size)
    rows = [["by the end of", "run dry", "been full", "dry tenth", "median", "wet tenth"]]
    for place in places:
        left = (_left(seen.storage, p, place + 1, system) for p in (0.1, 0.5, 0.9))
        rows.append(
            [words.briefly(days[place].item()), f"{dry[place]} of {n}", f"{full[place]} of {n}", *left]
        )
    return columns(rows)


def _left(storage: Floats, p: float, edge: int, system: System) -> str:
    found = fan(storage[:, edge : edge + 1], p)
    return "-" if found is None else show(float(found[0]), "volume", system)


def _notes(seen: Outlook) -> list[str]:
    """What the outlook rests on."""
    n = len(seen.traces)
    said = [f"{words.count(n, 'year')} of weather: {_ranges(seen.years)}; it starts from {seen.assumed}"]
    if seen.alike is not None:
        said.append(
            f"only the {n} of {seen.alike.out_of} years whose rain in the 90 days before was nearest to this"
            f" year's {seen.alike.rain_now:.0f} mm were taken"
        )
    if seen.dropped:
        said.append(f"{words.count(len(seen.dropped), 'year')} left out: {'; '.join(seen.dropped)}")
    if n < FEW:
        said.append(f"{words.count(n, 'year')} say little: what has not happened in so few may well happen")
    return said


def _ranges(years: list[int]) -> str:
    """ "1996 to 2024", "2001, 2003 to 2007"."""
    parts: list[list[int]] = []
    for year in years:
        if parts and year == parts[-1][-1] + 1:
            parts[-1].append(year)
        else:
            parts.append([year])
    return ", ".join(f"{p[0]}" if len(p) == 1 else f"{p[0]} to {p[-1]}" for p in parts)


def as_table(seen: Outlook) -> str:
    """One row a day: counts of years that have run dry or been full, and quantiles of the storage [L]."""
    out = io.StringIO()
    table = csv.writer(out, lineterminator="\n")
    names = [f"storage_{round(100 * p)}_percent_L" for p in SHARES]
    table.writerow(
        ["date", "years", "run_dry_by", "full_by", "lowest_storage_L", *names, "highest_storage_L"]
    )
    storage, days = seen.storage, seen.days
    bands = [fan(storage, p) for p in SHARES]
    dry, full = by_date(seen.first_dry, days.size), by_date(seen.first_full, days.size)
    for i, date in enumerate(days.astype(str).tolist()):
        quantiles = ["" if band is None else f"{band[i + 1]:.1f}" for band in bands]
        least, most = storage[:, i + 1].min(), storage[:, i + 1].max()
        table.writerow([date, len(seen.traces), dry[i], full[i], f"{least:.1f}", *quantiles, f"{most:.1f}"])
    return out.getvalue()


def as_data(seen: Outlook, saving: Saving, system: System, notes: list[str]) -> dict[str, Any]:
    """The outlook as plain data; volumes in litres, days counted from the first one, dates in ISO form."""
    known, days = seen.record.provenance, seen.days
    start = saving_day(saving)
    return {
        "scenario": seen.scenario.title,
        "verdict": finding(seen, system),
        "rule": seen.scenario.run.rule,
        "on": str(days[0]),
        "until": str(days[-1]),
        "holding_L": seen.held_L,
        "drawable_capacity_L": seen.capacity_L,
        "weather": {"source": known.source, "licence": known.licence},
        "years": seen.years,
        "left_out": seen.dropped,
        "like_this_year": seen.alike is not None,
        "run_dry": int(np.isfinite(seen.first_dry).sum()),
        "unserved": int(np.isfinite(seen.first_unserved).sum()),
        "full_again": int(np.isfinite(seen.first_full).sum()),
        "days_of_supply": {
            "median": _number(order(seen.first_dry, 0.5)),
            "dry_tenth": _number(order(seen.first_dry, 0.1)),
        },
        "saving": {
            "shares": saving.shares,
            "start_by": None if start is None else str(days[int(start)]),
            "needed": saving.start != NEVER,
            "through": dict(
                zip(("without_saving", "from_start_by", "from_today"), saving.through, strict=True)
            ),
        },
        "traces": [
            {
                "year": trace.year,
                "first_dry": _date(days, first),
                "first_full": _date(days, full),
                "dry_days": int(trace.dry.sum()),
                "unserved_days": int(trace.unserved.sum()),
                "lowest_storage_L": float(trace.storage.min()),
                "last_storage_L": float(trace.storage[-1]),
                "backup_L": trace.supplied_L,
                "loads": trace.loads,
                "save_from": _date(days, latest) if latest >= 0.0 else None,
            }
            for trace, first, full, latest in zip(
                seen.traces, seen.first_dry, seen.first_full, saving.latest, strict=True
            )
        ],
        "definitions": {
            "quantiles": "the i-th of n sorted years stands for the share i / (n + 1)",
            "days_of_supply": "whole days before the first dry day; null where the water lasts beyond the last"
            " day or the years are too few to say",
            "start_by": f"last day on which saving can start so that no more than a share of {FAILING} runs dry",
            "reference": "Day 1985, J. Water Resour. Plann. Manage. 111(2):157-170",
        },
        "notes": notes,
    }


def _number(value: float | None) -> float | None:
    return None if value is None or math.isinf(value) else value


def _date(days: Any, place: float) -> str | None:
    return None if math.isinf(place) else str(days[int(place)])
