"""Yearly water budget: above the line what came in, below it where it went, as long as each other."""

from __future__ import annotations

import numpy as np
from matplotlib.axes import Axes
from matplotlib.figure import Figure

from holdwater import units, words
from holdwater.charts import look
from holdwater.charts.fates import BEFORE_TANKS, SMALLEST_TOLD, base, of_100, stored, to_beds
from holdwater.charts.reading import Numbers, amounts, daily, stack
from holdwater.charts.sheet import LEFT, MARGIN, WIDTH, Sheet, sheet
from holdwater.ledger import Ledger
from holdwater.scores import Scores

TALL = 4.3
WIDEST_BAR = 0.9  # [in]
FEW = 4  # years, beside whose bars there is room for the amounts
LOWEST_WRITTEN = 0.06
LEAST_SHOWN = 1e-6
"""A part that never exceeds this share of the largest year is left out of the picture."""

Parts = dict[look.Role, Numbers]


def budget_chart(ledger: Ledger, scores: Scores, system: units.System) -> Figure:
    """Draw what came in and where it went, year by year.

    Parameters
    ----------
    ledger : Ledger
        The run.
    scores : Scores
        What it says; its years are the bars.
    system : str
        "us" or "metric".

    Returns
    -------
    matplotlib.figure.Figure
        Stacked bars [gal or m3 a year]; every year's two stacks are equally long.
    """
    with look.style():
        came, went = parts(ledger, scores)
        factor, label = units.scale("bulk", system)
        made = sheet(ledger, finding(came, went, system), 0.75 + TALL)
        most = float(np.sum(list(came.values()), axis=0).max(initial=0.0)) or 1.0
        came, went = ({k: v for k, v in p.items() if v.max() > LEAST_SHOWN * most} for p in (came, went))
        top = _key(made, came, went)
        axes = made.axes(LEFT, made.bottom + 0.42, WIDTH - LEFT - MARGIN, top - made.bottom - 0.47)
        for parts_of, side in ((came, 1), (went, -1)):
            _stack(axes, parts_of, side * factor)
            if parts_of and len(scores.years) <= FEW:
                _write_amounts(axes, parts_of, side * factor, most * factor, system)
        axes.axhline(0, color=look.INK, linewidth=1.0, zorder=4)
        limit = most * factor * 1.04
        axes.set_ylim(-limit, limit)
        amounts(axes, -limit, limit, steps=8)
        axes.grid(axis="y")
        axes.set_ylabel(f"Where it went ← [{label} a year] → What came in")
        _years(axes, ledger, scores)
        return made.figure


def parts(ledger: Ledger, scores: Scores) -> tuple[Parts, Parts]:
    """Split every year's water by where it came from and where it went.

    Parameters
    ----------
    ledger : Ledger
        The run.
    scores : Scores
        Gives the years.

    Returns
    -------
    tuple of dict
        What came in and where it went, one value a year [L]. All rain on the roofs is counted, so that
        what never reached a tank stands among the losses; both sides have the same sum, and the same base
        as the flow of each gallon.
    """
    starts = np.cumsum([0] + [year.days for year in scores.years])

    def a_year(*names: str) -> Numbers:
        total: Numbers = np.add.reduceat(sum(daily(ledger, name) for name in names), starts[:-1])
        return total

    kept = np.diff(stored(ledger)[starts])
    served, flushed = a_year("backup_served"), np.add.reduceat(to_beds(ledger), starts[:-1])
    came = {
        look.ROOF: a_year("rain_on_roof"),
        look.BACKUP: a_year("refill") + served,
        look.FROM_STORAGE: np.maximum(-kept, 0.0),
    }
    went = {
        look.DELIVERED: a_year("drawn") + served + flushed,
        look.OVERFLOW: a_year("to_ground"),
        look.BEFORE_TANKS: a_year(*BEFORE_TANKS) - flushed,
        look.LEAK: a_year("leak", "evaporation"),
        look.INTO_STORAGE: np.maximum(kept, 0.0),
    }
    return came, went


def finding(came: Parts, went: Parts, system: units.System) -> str:
    """Say how much of every 100 gallons or litres was used, spilled and lost, and how much backup brought."""
    kept = float(went[look.INTO_STORAGE].sum() - came[look.FROM_STORAGE].sum())
    out = {role: float(litres.sum()) for role, litres in went.items() if role is not look.INTO_STORAGE}
    everything = sum(out.values()) + max(kept, 0.0)
    unit = "gal" if system == "us" else "L"
    if everything <= 0:
        return "No water came in and none went out."
    rain, backup = (float(came[role].sum()) for role in (look.ROOF, look.BACKUP))
    if rain <= 0:
        used = units.show(out[look.DELIVERED], "volume", system)
        sources = ["storage"] * (kept < 0) + ["backup"] * bool(backup > 0)
        return f"No rain fell on the roofs: the {used} delivered came from {' and '.join(sources)}."

    fates = [
        ("came to use", out[look.DELIVERED]),
        ("overflowed", out[look.OVERFLOW]),
        ("never reached a tank", out[look.BEFORE_TANKS]),
        ("leaked or evaporated", out[look.LEAK]),
        ("stayed in the tanks", max(kept, 0.0)),
    ]
    shares = zip(fates, of_100([litres for _, litres in fates]), strict=True)
    said = [f"{share} {fate}" for (fate, litres), share in shares if litres > SMALLEST_TOLD * everything]
    listed = ", ".join(said[:-1]) + " and " + said[-1] if len(said) > 1 else said[0]
    came_from = (rain, backup, max(-kept, 0.0))
    bought = f"; {of_100(came_from)[1]} of the 100 came from backup" if backup > 0 else ""
    return f"Of every 100 {unit} {base(*came_from)}, {listed}{bought}."


def _key(made: Sheet, came: Parts, went: Parts) -> float:
    """Legend in two rows, in the order of the stacks; a side with nothing on it has none."""
    top = made.top
    for heading, side in (("Came in", came), ("Went", went)):
        if side:
            top = made.key([role.patch() for role in side], top, LEFT + 0.8, heading) + 0.06
    return top - 0.06


def _stack(axes: Axes, parts_of: Parts, factor: float) -> None:
    """Stack the parts of every year from the line outwards, downwards where the factor is negative."""
    base = np.zeros(len(next(iter(parts_of.values()), [])))
    for role, litres in parts_of.items():
        base = stack(axes, base, litres * factor, bar_width(base.size), role, role.label)


def _write_amounts(axes: Axes, parts_of: Parts, factor: float, limit: float, system: units.System) -> None:
    """Write what each part comes to beside the bars of a few years, where the part is high enough."""
    base = np.zeros(len(next(iter(parts_of.values()), [])))
    right = bar_width(base.size) / 2 + 0.012 * base.size
    for role, litres in parts_of.items():
        for i in np.flatnonzero(np.abs(litres * factor) > LOWEST_WRITTEN * limit):
            middle = base[i] + litres[i] * factor / 2
            shown = units.show(float(litres[i]), "volume", system)
            if base.size == 1:
                shown = f"{shown} {role.label}"
            axes.text(i + right, middle, shown, fontsize=look.TICK, va="center", ha="left")
        base = base + litres * factor


def bar_width(number: int) -> float:
    """Width of a bar as a share of its place, so that few bars do not become walls."""
    place = (WIDTH - LEFT - MARGIN) / number
    return min(0.82, WIDEST_BAR / place)


def _years(axes: Axes, ledger: Ledger, scores: Scores) -> None:
    """Name the years; years that the record does not cover are marked."""
    number = len(scores.years)
    every = max(1, -(-number // 16))
    axes.set_xlim(-0.5, number - 0.5)
    names = [f"{y.year}*" if y.days < 365 else str(y.year) for y in scores.years]
    shown = [i for i, y in enumerate(scores.years) if y.year % every == 0 or number == 1]
    axes.set_xticks(shown, [names[i] for i in shown])
    said = []
    if ledger.scenario.run.year_starts > 1:
        said.append(f"years end in {words.MONTHS[ledger.scenario.run.year_starts - 2]}")
    if any(y.days < 365 for y in scores.years):
        said.append("* part of a year")
    if said:
        axes.set_xlabel("; ".join(said), fontsize=look.NOTE, color=look.FAINT, loc="right", labelpad=1)
