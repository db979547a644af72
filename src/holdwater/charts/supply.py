"""Monthly supply against demand: an average day of each calendar month."""

from __future__ import annotations

import numpy as np
import numpy.typing as npt
from matplotlib.artist import Artist
from matplotlib.axes import Axes
from matplotlib.figure import Figure
from matplotlib.lines import Line2D

from holdwater import units, words
from holdwater.charts import look
from holdwater.charts.reading import Days, Numbers, amounts, daily, stack
from holdwater.charts.sheet import LEFT, MARGIN, WIDTH, sheet
from holdwater.ledger import Ledger
from holdwater.scores import Scores

TALL = 4.0
SHORT = 0.99
"""Share of the demand below which a month is told to fall short."""

Months = dict[str, Numbers]


def supply_chart(ledger: Ledger, scores: Scores, system: units.System) -> Figure:
    """Draw what was asked, what the tanks and backup gave, and what the roofs brought, month by month.

    Parameters
    ----------
    ledger : Ledger
        The run.
    scores : Scores
        What it says; not needed here, all charts are called alike.
    system : str
        "us" or "metric".

    Returns
    -------
    matplotlib.figure.Figure
        Mean flows of the days of each calendar month [gal/day or L/day].
    """
    del scores
    with look.style():
        mean = means(ledger)
        factor, label = units.scale("flow", system)
        shown = {name: flow * factor for name, flow in mean.items()}
        made = sheet(ledger, finding(mean, system), 0.95 + TALL)
        top = made.key(_entries(shown), made.top)
        axes = made.axes(LEFT, made.bottom + 0.52, WIDTH - LEFT - MARGIN, top - made.bottom - 0.57)
        _bars(axes, shown)
        _lines(axes, shown)
        most = max(float(np.nanmax(flow, initial=0.0)) for flow in shown.values())
        axes.set_ylim(0, most * 1.06 or 1.0)
        amounts(axes, 0, most * 1.06 or 1.0, steps=7)
        axes.grid(axis="y")
        axes.set_ylabel(f"Average day of the month [{label}]")
        _name_months(axes, mean)
        return made.figure


def means(ledger: Ledger) -> Months:
    """Mean flows over the days of each calendar month, January first, shape (12,) each.

    Returns
    -------
    dict of str to ndarray
        `asked`, `delivered` by the tanks, `backup` served to the draws, `unserved`, `inflow` from
        the roofs and `refill` of the tanks by backup; NaN for months the record does not have [L/day].
    """
    month = _months(ledger.days)
    number = np.bincount(month, minlength=12)

    def mean(name: str) -> Numbers:
        total = np.bincount(month, weights=daily(ledger, name), minlength=12)
        means: Numbers = np.divide(total, number, out=np.full(12, np.nan), where=number > 0)
        return means

    return {
        "asked": mean("asked"),
        "delivered": mean("delivered"),
        "backup": mean("backup_served"),
        "unserved": mean("unserved"),
        "inflow": mean("roof_inflow"),
        "refill": mean("refill"),
    }


def finding(mean: Months, system: units.System) -> str:
    """Say in which months the tanks fall short of the demand, and how far in the worst of them."""
    asked = np.nan_to_num(mean["asked"])
    if asked.sum() <= 0:
        return "Nothing was asked of the tanks."
    share = np.divide(np.nan_to_num(mean["delivered"]), asked, out=np.ones(12), where=asked > 0)
    short = share < SHORT
    worst = int(np.argmin(share))
    wanted = units.show(float(asked[worst]), "flow", system, digits=2)
    if not short.any():
        nearly = "all of" if share[worst] > 1 - 1e-9 else "nearly all of"
        on_record = " on record" if np.isnan(mean["asked"]).any() else ""
        filled = float(np.nansum(mean["refill"]) / np.nansum(mean["delivered"]))
        bought = f", about {words.share(filled, 1.0)} of it filled in by backup" if filled > 0 else ""
        return f"In every month{on_record} the tanks gave {nearly} what was asked on an average day{bought}."
    gave = f"{words.share(float(share[worst]), 1.0)} of the {wanted} asked for"
    lacking = float(asked[worst]) * (1 - float(share[worst]))
    helped = float(np.nan_to_num(mean["backup"])[worst]) / lacking
    rest = "" if helped <= 0 else f", and backup {words.share(min(helped, 1.0), 1.0)} of the rest"
    if helped > 1 - 1e-9:
        rest = ", and backup gave the rest"
    when = words.months(short.tolist())
    if short.sum() == 1:
        return f"The tanks fell short only {when}: they gave {gave}{rest}."
    return f"The tanks fell short {when}; in {words.MONTHS[worst]}, the worst month, they gave {gave}{rest}."


def _months(days: Days) -> npt.NDArray[np.int64]:
    """Calendar month of each day, January 0."""
    return days.astype("datetime64[M]").astype(np.int64) % 12


def _entries(shown: Months) -> list[Artist]:
    """Legend: only what is in the picture."""
    known: list[Artist] = [look.DELIVERED.patch("delivered by the tanks")]
    if np.nansum(shown["backup"]) > 0:
        known.append(look.BACKUP.patch("served by backup"))
    if np.nansum(shown["unserved"]) > 0:
        known.append(look.UNSERVED.patch("unserved"))
    known.append(Line2D([], [], color=look.ASKED.colour, linewidth=1.8, label="asked for"))
    known.append(_line("inflow"))
    if np.nansum(shown["refill"]) > 0:
        known.append(_line("refill"))
    return known


_LINES = {"inflow": (look.INFLOW, "o"), "refill": (look.REFILL, "s")}


def _line(name: str) -> Line2D:
    """Line of a flow into the tanks, with its label."""
    role, marker = _LINES[name]
    return Line2D(
        [],
        [],
        color=role.colour,
        linestyle=role.line,
        marker=marker,
        markersize=5,
        markeredgecolor=look.PAPER,
        linewidth=1.6,
        label=role.label,
    )


def _bars(axes: Axes, shown: Months) -> None:
    """Stack what the draws got and what they lacked, and lay what they asked for over it."""
    base = np.zeros(12)
    for name, role in (("delivered", look.DELIVERED), ("backup", look.BACKUP), ("unserved", look.UNSERVED)):
        heights = np.nan_to_num(shown[name])
        if heights.sum() > 0:
            base = stack(axes, base, heights, 0.72, role, name)
    asked = shown["asked"]
    axes.hlines(
        asked,
        np.arange(12) - 0.42,
        np.arange(12) + 0.42,
        color=look.ASKED.colour,
        linewidth=1.8,
        zorder=4,
        label="asked",
    )


def _lines(axes: Axes, shown: Months) -> None:
    """Draw what came into the tanks, each month's mean as a point."""
    for name in _LINES:
        if name == "inflow" or np.nansum(shown[name]) > 0:
            line = _line(name)
            line.set_data(np.arange(12), shown[name])
            line.set_label(name)
            line.set_zorder(5)
            axes.add_line(line)


def _name_months(axes: Axes, mean: Months) -> None:
    """Months from January on, with the share of the demand that the tanks gave."""
    axes.set_xlim(-0.6, 11.6)
    names = []
    for m, word in enumerate(words.MONTHS):
        asked, delivered = mean["asked"][m], mean["delivered"][m]
        told = (
            "no record"
            if np.isnan(asked)
            else words.share(delivered, asked, brief=True)
            if asked > 0
            else "none asked"
        )
        names.append(f"{word[:3]}\n{told}")
    axes.set_xticks(np.arange(12), names)
    axes.set_xlabel(
        "share of what was asked that the tanks gave",
        fontsize=look.NOTE,
        color=look.FAINT,
        loc="right",
        labelpad=1,
    )
