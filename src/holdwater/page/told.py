"""A trial as the page shows it: the sentence, the numbers, the storage curve in few enough points to draw."""

from __future__ import annotations

import datetime as dt
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
import numpy.typing as npt

from holdwater import units, words
from holdwater.page import cost
from holdwater.page.dials import Dial
from holdwater.page.trial import Trial, joined
from holdwater.phases import cuts
from holdwater.scenario.schema import Scenario
from holdwater.scores import year_labels
from holdwater.spells import DRY_DAY_RAIN, runs
from holdwater.units import System
from holdwater.weather.record import Provenance

Floats = npt.NDArray[np.float64]

MOST_POINTS = 900
"""The curve has at most so many columns; more days share one, as its lowest and highest."""
DAILY_RAIN_UP_TO = 2.2 * 366
APART = 30
"""Dry spells less than this many days apart are one drought (common practice: about a month) [days]."""
AROUND = 120
"""Days shown before and after a drought."""
MOST_DROUGHTS = 6


@dataclass(frozen=True)
class Window:
    """Days shown in the chart: place of the first, and of the day after the last."""

    first: int
    stop: int


def verdict(trial: Trial, scenario: Scenario, known: Provenance) -> str:
    """Say on how many days the tanks ran dry, in how many spells, the longest, the last year, the backup.

    The sentence of `holdwater run`, but that several draws held back by their own rules are told as one.
    """
    days, name = trial.days, words.holding(scenario.title)
    length = words.span(days[0].item(), days[-1].item())
    spells, total = trial.spells, int(trial.dry.sum())
    if not total:
        said = f"{name} would not have run dry on any day in {length}."
    else:
        a, b = spells[int(np.argmax(spells[:, 1] - spells[:, 0]))]
        said = (
            f"{name} would have run dry on {words.count(total, 'day')} in {length}, in"
            f" {words.count(len(spells), 'dry spell')}; the longest was"
            f" {words.count(int(b - a), 'day')} from {words.on(days[a].item())}."
        )
    years = by_year(trial, scenario.run.year_starts)
    if len(years) > 1:
        year, number, dry = years[-1]
        part = "" if number >= 365 else f", {words.count(number, 'day')} of it"
        said += f" Last year ({year}{part}): {words.count(dry, 'dry day')}."
    unserved = int(trial.unserved.sum())
    if total and unserved < total:
        said += f" With the backup, {words.count(unserved, 'day') if unserved else 'no day'} went unserved."
    said += _held_back(trial, scenario)
    if known.changed:
        said += f" The weather was changed on purpose: {words.plain(known.changed)}."
    return said + "".join(f" {each}." for each in filled(known))


def _held_back(trial: Trial, scenario: Scenario) -> str:
    held = int(trial.held_back.sum())
    if not held:
        return ""
    ruled = [words.plain(draw.name) for draw in scenario.draw if cuts(draw)]
    rules = "their own rules" if ruled[1:] else "its own rule"
    who = "" if ruled[1:] else f"{ruled[0]} "
    return f" Held back by {rules}, and not counted as dry: {who}on {words.count(held, 'day')}."


def weather(known: Provenance) -> str:
    """Name the record and its licence."""
    return f"{known.source}; licence: {known.licence or 'not stated'}"


def filled(known: Provenance) -> list[str]:
    """Say how many days were filled in, if any were."""
    if not known.filled:
        return []
    days = words.count(known.filled, "day")
    return [
        f"{days} of rain {words.were(known.filled)} filled in: any claim about the driest year rests on them"
    ]


def by_year(trial: Trial, year_starts: int) -> list[tuple[int, int, int]]:
    """Year, its days in the run, and its dry days."""
    labels = year_labels(trial.days, year_starts)
    years, number = np.unique(labels, return_counts=True)
    dry = np.bincount(labels - labels[0], weights=trial.dry, minlength=years.size)
    return [(int(y), int(n), int(d)) for y, n, d in zip(years, number, dry, strict=True)]


def numbers(trial: Trial, scenario: Scenario, lines: Sequence[cost.Line], system: System) -> dict[str, Any]:
    """The figures beside the verdict."""
    years = trial.days.size / 365.25
    spells = trial.spells
    longest = int((spells[:, 1] - spells[:, 0]).max(initial=0))
    total, unserved = int(trial.dry.sum()), int(trial.unserved.sum())
    beds = [f"{words.plain(name)} {days:,}" for name, days in trial.beds.items()]
    water, unpriced = cost.water_text(trial, scenario)
    price, left = cost.changes_text(lines)
    return {
        "dry_days": {"value": total, "text": f"{total:,}"},
        "per_year": {"value": total / years, "text": units.figures(total / years, 2)},
        "longest": {"value": longest, "text": words.count(longest, "day") if longest else "none"},
        "water": {"value": cost.a_year(trial), "text": water, "note": unpriced},
        "price": {"value": cost.one_off(lines)[0], "text": price, "note": left},
        "unserved": {"value": unserved, "text": f"{unserved:,}"},
        "backup": _backup(trial, system),
        "lowest": _lowest(trial, system),
        "beds": {
            "value": sum(trial.beds.values()),
            "text": ", ".join(beds),
            "brief": ", ".join(f"{days:,}" for days in trial.beds.values()),
        },
    }


def _backup(trial: Trial, system: System) -> dict[str, Any]:
    loads = f", {words.count(trial.loads, 'load')}" if trial.loads else ""
    return {"value": trial.supplied, "text": units.show(trial.supplied, "volume", system) + loads}


def _lowest(trial: Trial, system: System) -> dict[str, Any]:
    day = int(np.argmin(trial.drawable))
    level = float(trial.drawable[day])
    when = words.briefly(trial.days[day].item())
    return {"value": level, "text": f"{units.show(level, 'volume', system)}, {when}"}


def change(line: cost.Line) -> dict[str, Any]:
    """One change for the list of changes."""
    priced = "" if line.price is None or not line.price else f"{line.price:,.0f}"
    note = f"{priced} ({line.note})" if priced else line.note
    return {"path": line.path, "text": f"{line.label}: {line.was} to {line.now}", "note": note}


def price(dial: Dial, rate: cost.Rate | None) -> dict[str, Any]:
    """The price of one more unit, for its field on the page."""
    known = None if rate is None else float(units.figures(rate.price, 3).replace(",", ""))
    return {
        "path": dial.path,
        "label": f"{dial.label}: one {dial.unit} more",
        "value": known,
        "note": cost.NOT_GIVEN if rate is None else f"by {rate.source}",
    }


def droughts(trial: Trial) -> list[dict[str, Any]]:
    """Stretches of the run to look at: the worst by what was short, the last year, the longest without rain."""
    found = joined(trial.dry, APART)
    lacking = [float(trial.lacking[a:b].sum()) for a, b in found]
    order = sorted(range(len(found)), key=lambda i: (-lacking[i], found[i][0]))[:MOST_DROUGHTS]
    listed = []
    for place, i in enumerate(order):
        name = "worst drought" if place == 0 else f"drought no. {place + 1}"
        listed.append(_stretch(trial, name, *found[i]))
    if not found:
        low = int(np.argmin(trial.drawable))
        listed.append(_stretch(trial, "lowest water", low, low + 1))
    year = max(0, trial.days.size - 365)
    if trial.days.size > 366:
        last = {**_stretch(trial, "last 365 days", year, trial.days.size), "around": 0}
        listed.insert(1, last)
    rainless = runs(trial.rain < DRY_DAY_RAIN)
    if len(rainless):
        a, b = rainless[int(np.argmax(rainless[:, 1] - rainless[:, 0]))].tolist()
        listed.append(_stretch(trial, "longest without rain", a, b))
    return listed


def _stretch(trial: Trial, name: str, first: int, stop: int) -> dict[str, Any]:
    a, b = trial.days[first].item(), trial.days[stop - 1].item()
    when = words.briefly(a) if a == b else f"{words.briefly(a)} to {words.briefly(b)}"
    return {"name": f"{name}, {when}", "from": a.isoformat(), "to": b.isoformat(), "around": AROUND}


def window(trial: Trial, first: dt.date | None, last: dt.date | None) -> Window:
    """The days between two dates, or all; a window outside the run shows all of it."""
    if first is None or last is None or first > last:
        return Window(0, trial.days.size)
    a = int(np.searchsorted(trial.days, np.datetime64(first)))
    b = int(np.searchsorted(trial.days, np.datetime64(last), side="right"))
    return Window(a, b) if b > a else Window(0, trial.days.size)


def curve(trial: Trial, shown: Window, system: System) -> dict[str, Any]:
    """Storage, rain and dry days of a window, in shown units."""
    here = slice(shown.first, shown.stop)
    per_volume, volume = units.scale("bulk", system)
    per_depth, depth = units.scale("depth", system)
    level = trial.drawable[here] * per_volume
    width = -(-level.size // MOST_POINTS)
    starts = np.arange(0, level.size, width)
    digits = 0 if system == "us" else 2
    dry, unserved = trial.dry[here], trial.unserved[here]
    return {
        "first": trial.days[shown.first].item().isoformat(),
        "days": level.size,
        "width": width,
        "low": np.minimum.reduceat(level, starts).round(digits).tolist(),
        "high": np.maximum.reduceat(level, starts).round(digits).tolist(),
        "full": round(trial.capacity * per_volume, digits),
        "reserve": round(trial.reserve * per_volume, digits),
        "unit": volume,
        "covered": runs(dry & ~unserved).tolist(),
        "unserved": runs(unserved).tolist(),
        "dry_days": int(dry.sum()),
        "unserved_days": int(unserved.sum()),
        "rain": _rain(trial.days[here], trial.rain[here] * per_depth),
        "rain_unit": depth,
        "rain_every": "day" if level.size <= DAILY_RAIN_UP_TO else "month",
    }


def _rain(days: npt.NDArray[np.datetime64], rain: Floats) -> list[list[float]]:
    """First day, day after the last and depth of every bar: one a day, or one a month in a long window."""
    if days.size <= DAILY_RAIN_UP_TO:
        return [[int(i), int(i) + 1, round(float(rain[i]), 3)] for i in np.flatnonzero(rain > 0.0)]
    months = days.astype("datetime64[M]").astype(np.int64)
    starts = np.flatnonzero(np.diff(months, prepend=months[0] - 1))
    stops = np.append(starts[1:], days.size)
    sums = np.add.reduceat(rain, starts)
    return [
        [int(a), int(b), round(float(r), 2)] for a, b, r in zip(starts, stops, sums, strict=True) if r > 0
    ]


def caption(trial: Trial, shown: Window) -> str:
    """What the chart shows, in one sentence: the finding of the window."""
    first, last = trial.days[shown.first].item(), trial.days[shown.stop - 1].item()
    dry = int(trial.dry[shown.first : shown.stop].sum())
    low = shown.first + int(np.argmin(trial.drawable[shown.first : shown.stop]))
    share = words.share(float(trial.drawable[low]), trial.capacity or 1.0)
    said = f"{words.briefly(first)} to {words.briefly(last)}: {words.count(dry, 'dry day')}"
    return f"{said}; lowest on {words.briefly(trial.days[low].item())}, {share} of full"
