"""Where each gallon went: one flow from the rain on the roofs to every end of it."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
from matplotlib.axes import Axes
from matplotlib.figure import Figure
from matplotlib.patches import PathPatch
from matplotlib.path import Path

from holdwater import units
from holdwater.charts import look
from holdwater.charts.fates import apportioned, base, to_beds
from holdwater.charts.fitting import shortened
from holdwater.charts.sheet import MARGIN, WIDTH, sheet, width
from holdwater.ledger import Ledger
from holdwater.scores import Scores

LINE = 0.22  # height that the words of one end need [in]
TWO_LINES = 0.4  # height that the words of one source need [in]
GAP = 0.06  # between two ends [in]
TALLEST_BAR = 3.4  # of all the water, where the ends leave room [in]
LEFT_BAR, RIGHT_BAR, THICK = 2.35, 5.7, 0.14  # [in]
SMALLEST = 1e-4
"""A loss below this share of all the water is left out of the picture."""

LOST = look.Role("lost on the way to the tanks", "#cfae62")
SPILLED = look.OVERFLOW
SOURCES = (look.ROOF, look.BACKUP, look.FROM_STORAGE)
KINDS = ("use", "overflow", "before the tanks", "leak", "stored")
LOSSES = {
    "snow_lost": "snow that slid or blew off",
    "not_run_off": "never reached a gutter",
    "wetting_loss": "wetted the roofs and dried",
    "gutter_off": "ran off with the gutter off",
    "filter_loss": "lost at the filter",
}


@dataclass(frozen=True)
class Stream:
    """Water that comes from or goes to one place [L]."""

    name: str
    volume: float
    role: look.Role
    use: bool = False


def gallons_chart(ledger: Ledger, scores: Scores, system: units.System) -> Figure:
    """Draw all water of the run as one flow from where it came to where it went.

    Parameters
    ----------
    ledger : Ledger
        The run.
    scores : Scores
        What it says.
    system : str
        "us" or "metric".

    Returns
    -------
    matplotlib.figure.Figure
        Bands as thick as their share of the water; amounts in an average year [gal or m3].
    """
    with look.style():
        came, went = streams(ledger, scores)
        room = max(TALLEST_BAR + 0.4, len(went) * (LINE + GAP) + 1.2)
        made = sheet(ledger, finding(came, went, system), room)
        axes = made.axes(0.0, made.bottom, WIDTH, room)
        axes.set(xlim=(0.0, WIDTH), ylim=(0.0, room), xticks=[], yticks=[])
        axes.spines[:].set_visible(False)
        shares = [*apportioned([stream.volume for stream in came]), *shares_of(went)]
        told = dict(zip((*came, *went), shares, strict=True))
        _flow(axes, came, went, room, _Teller(ledger.days.size, system, told))
        return made.figure


def streams(ledger: Ledger, scores: Scores) -> tuple[list[Stream], list[Stream]]:
    """Split all water of the run by where it came from and where it went.

    Returns
    -------
    tuple of list of Stream
        Both sides have the same sum, as the ledger closes. Rain, draws and overflow are always there,
        everything else where there is any.
    """
    totals = scores.totals_L
    stored = totals["storage_change"]
    came = [
        Stream("rain on the roofs", totals["rain_on_roofs"], look.ROOF),
        Stream("backup", totals["backup"], look.BACKUP),
        Stream("taken out of storage", max(-stored, 0.0), look.FROM_STORAGE),
    ]
    flushed = float(to_beds(ledger).sum())
    names = ledger.data["draw"].values.tolist()
    served = (ledger.flux("delivered") + ledger.flux("backup_served")).sum(axis=1)
    went = [
        *(Stream(name, totals[key], LOST) for key, name in LOSSES.items()),
        Stream("first flush", max(totals["first_flush"] - flushed, 0.0), look.FIRST_FLUSH),
        Stream("overflow", totals["overflow"], SPILLED),
        Stream("leak", totals["leak"], look.LEAK),
        Stream("evaporation", totals["evaporation"], look.LEAK),
        Stream("put into storage", max(stored, 0.0), look.INTO_STORAGE),
        Stream("first flush led to a bed", flushed, look.DELIVERED, use=True),
        *(
            Stream(name, float(volume), look.DELIVERED, use=True)
            for name, volume in zip(names, served, strict=True)
        ),
    ]
    least = SMALLEST * max(_total(came), 1.0)
    always = {"rain on the roofs", "overflow", *names}
    return (
        [stream for stream in came if stream.volume > least or stream.name in always],
        [stream for stream in went if stream.volume > least or stream.name in always],
    )


def finding(came: Sequence[Stream], went: Sequence[Stream], system: units.System) -> str:
    """Say how much of every 100 gallons or litres came to use, and what the largest loss was."""
    everything = _total(came)
    if everything <= 0.0:
        return "No water came in and none went out."
    unit = "gal" if system == "us" else "L"
    shares = shares_of(went)
    used = sum(share for stream, share in zip(went, shares, strict=True) if stream.use)
    of = base(*(sum(s.volume for s in came if s.role is role) for role in SOURCES))
    said = f"Of every 100 {unit} {of}, {used or 'less than 1'} came to use"
    lost = [i for i, s in enumerate(went) if not s.use and s.role is not look.INTO_STORAGE]
    largest = max(lost, key=lambda i: went[i].volume)
    if shares[largest] == 0:
        return f"{said}, and next to nothing was lost."
    name = went[largest].name
    what = {"first flush": "the first flush", "overflow": "the overflow"}.get(name, f"what {name}")
    return f"{said}; the largest loss, {shares[largest]}, was {what}."


def shares_of(went: Sequence[Stream]) -> list[int]:
    """Whole shares of a hundred for every end, which add up to those of the kinds of end, and these to 100."""
    kinds = [_kind(stream) for stream in went]
    named = list(dict.fromkeys(sorted(kinds, key=KINDS.index)))
    whole = apportioned(
        [sum(s.volume for s, k in zip(went, kinds, strict=True) if k == kind) for kind in named]
    )
    shares = [0] * len(went)
    for kind, total in zip(named, whole, strict=True):
        places = [i for i, k in enumerate(kinds) if k == kind]
        for i, share in zip(places, apportioned([went[i].volume for i in places], total), strict=True):
            shares[i] = share
    return shares


def _kind(stream: Stream) -> str:
    if stream.use:
        return "use"
    roles = {SPILLED: "overflow", look.LEAK: "leak", look.INTO_STORAGE: "stored"}
    return roles.get(stream.role, "before the tanks")


def _total(streams: Sequence[Stream]) -> float:
    return sum(stream.volume for stream in streams)


@dataclass(frozen=True)
class _Teller:
    """Writes amounts: of an average year, or of the whole run where it is shorter than a year."""

    days: int
    system: units.System
    shares: dict[Stream, int]

    def __call__(self, stream: Stream) -> str:
        by_year = self.days >= 365
        amount = stream.volume * 365.25 / self.days if by_year else stream.volume
        number = self.shares[stream]
        share = "<1 %" if stream.volume > 0.0 and number == 0 else f"{number} %"
        return f"{units.show(amount, 'volume', self.system)}{' a year' if by_year else ''}, {share}"


def _flow(axes: Axes, came: Sequence[Stream], went: Sequence[Stream], room: float, tell: _Teller) -> None:
    """Draw both bars, the bands between them, and the words beside them."""
    whole = _total(came) or 1.0
    scale = _scale([stream.volume for stream in went], room)
    top = (room + whole * scale) / 2
    edge = top
    for stream in came:
        _bar(axes, LEFT_BAR, edge, stream.volume * scale, stream.role)
        edge -= stream.volume * scale
    _before(axes, came, top, scale, tell)
    slots = [max(stream.volume * scale, LINE) for stream in went]
    start, end = top, (room + sum(slots) + GAP * (len(went) - 1)) / 2
    for stream, slot in zip(went, slots, strict=True):
        thick = stream.volume * scale
        middle = end - slot / 2
        if thick > 0.0:
            _band(axes, start, middle + thick / 2, thick, stream.role)
            _bar(axes, RIGHT_BAR, middle + thick / 2, thick, stream.role)
        _beside(axes, stream.name, tell(stream), middle)
        start, end = start - thick, end - slot - GAP


def _scale(volumes: Sequence[float], room: float) -> float:
    """Inches for a litre, so that every end has room for its words and all fit."""
    most = sum(volumes) or 1.0
    low, high = 0.0, TALLEST_BAR / most
    for _ in range(40):
        tried = (low + high) / 2
        tall = sum(max(volume * tried, LINE) for volume in volumes) + GAP * (len(volumes) - 1)
        low, high = (tried, high) if tall <= room - 0.1 else (low, tried)
    return low


def _bar(axes: Axes, left: float, top: float, thick: float, role: look.Role) -> None:
    corners = [(left, top), (left + THICK, top), (left + THICK, top - thick), (left, top - thick)]
    path = Path([*corners, corners[0]], closed=True)
    axes.add_patch(PathPatch(path, facecolor=role.colour, edgecolor=look.PAPER, linewidth=0.5))


def _band(axes: Axes, start: float, end: float, thick: float, role: look.Role) -> None:
    """A band from the left bar to the right one, as thick at both ends."""
    a, b = LEFT_BAR + THICK, RIGHT_BAR
    middle = (a + b) / 2
    path = Path(
        [
            (a, start),
            (middle, start),
            (middle, end),
            (b, end),
            (b, end - thick),
            (middle, end - thick),
            (middle, start - thick),
            (a, start - thick),
            (a, start),
        ],
        [Path.MOVETO, *[Path.CURVE4] * 3, Path.LINETO, *[Path.CURVE4] * 3, Path.CLOSEPOLY],
    )
    axes.add_patch(
        PathPatch(
            path,
            facecolor=role.colour,
            edgecolor=look.INK if role.hatch else look.PAPER,
            hatch=role.hatch or None,
            linewidth=0.5,
            label=role.label,
        )
    )


def _beside(axes: Axes, name: str, amount: str, middle: float) -> None:
    """Name and amount of an end, in one line to the right of its bar."""
    x = RIGHT_BAR + THICK + 0.12
    name = shortened(name, WIDTH - MARGIN - x - width(amount, look.TICK) - 0.12)
    style: dict[str, Any] = {"fontsize": look.TICK, "ha": "left", "va": "center"}
    axes.text(x, middle, name, fontweight="bold", **style)
    axes.text(x + width(name, look.TICK, bold=True) + 0.12, middle, amount, **style)


def _before(axes: Axes, came: Sequence[Stream], top: float, scale: float, tell: _Teller) -> None:
    """Name and amount of every source, in two lines to the left of its bar, pushed apart from below."""
    ends = top - np.cumsum([stream.volume * scale for stream in came])
    floor = TWO_LINES / 2
    for stream, end in reversed(list(zip(came, ends.tolist(), strict=True))):
        middle = max(end + stream.volume * scale / 2, floor)
        for text, up, weight in ((stream.name, 0.09, "bold"), (tell(stream), -0.09, "normal")):
            axes.text(
                LEFT_BAR - 0.12,
                middle + up,
                text,
                fontsize=look.TICK,
                fontweight=weight,
                ha="right",
                va="center",
            )
        floor = middle + TWO_LINES
