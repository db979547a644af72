"""The sheet a chart is drawn on: the holding and the finding above, the source below, room between.

All places are in inches, and the sheet grows with its words, so no title is ever cut.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache

import numpy as np
from matplotlib.artist import Artist
from matplotlib.axes import Axes
from matplotlib.backends.backend_agg import FigureCanvasAgg
from matplotlib.figure import Figure
from matplotlib.font_manager import FontProperties
from matplotlib.textpath import text_to_path

from holdwater import words
from holdwater.charts import look
from holdwater.ledger import Ledger
from holdwater.weather.record import FILLED

WIDTH = 10.0
MARGIN = 0.3
LEFT, RIGHT = 1.0, 1.0
LINE_HEIGHT = 1.32
POINTS = 72.0
KEY = 0.5  # swatch and gaps of a legend entry [in]
RULES = {"YAS": "yield after spillage", "YBS": "yield before spillage"}


@dataclass(frozen=True)
class Sheet:
    """A figure with its words set, and the room left for the chart.

    Attributes
    ----------
    figure : matplotlib.figure.Figure
        With an Agg canvas.
    height : float
        Height of the whole figure [in].
    top : float
        Upper edge of the room for axes and legend, from the foot of the figure [in].
    bottom : float
        Lower edge of that room [in].
    """

    figure: Figure
    height: float
    top: float
    bottom: float

    def axes(self, left: float, bottom: float, width: float, height: float) -> Axes:
        """Add axes at a place on the sheet.

        Parameters
        ----------
        left, bottom, width, height : float
            From the lower left corner of the figure [in].
        """
        axes = self.figure.add_axes((left / WIDTH, bottom / self.height, width / WIDTH, height / self.height))
        axes.tick_params(length=3, width=0.8)
        return axes

    def key(self, entries: Sequence[Artist], top: float, left: float = LEFT, heading: str = "") -> float:
        """Add a legend in rows below `top` and return its lower edge.

        Parameters
        ----------
        entries : sequence of Artist
            Handles that carry their labels.
        top : float
            Upper edge [in].
        left : float, optional
            Left edge [in].
        heading : str, optional
            Words before the first entry.

        Returns
        -------
        float
            Where the next thing may begin [in].
        """
        line = look.TICK * LINE_HEIGHT / POINTS
        if heading:
            self.words(heading, LEFT, top + 0.012, look.TICK, bold=True)
        room = WIDTH - MARGIN - left
        columns = _columns([width(str(e.get_label()), look.TICK) for e in entries], room)
        legend = self.figure.legend(
            handles=list(entries),
            loc="upper left",
            bbox_to_anchor=(left / WIDTH, top / self.height),
            ncols=columns,
            borderpad=0,
            borderaxespad=0,
            handlelength=1.8,
            handleheight=0.9,
            handletextpad=0.6,
            columnspacing=1.6,
            labelspacing=0.45,
        )
        legend.set_zorder(5)
        return top - -(-len(entries) // columns) * line - 0.1

    def words(
        self, text: str, left: float, top: float, size: float, bold: bool = False, colour: str = look.INK
    ) -> None:
        """Set words with their upper left corner at a place on the sheet [in]."""
        self.figure.text(
            left / WIDTH,
            top / self.height,
            text,
            fontsize=size,
            fontweight="bold" if bold else "normal",
            color=colour,
            ha="left",
            va="top",
            linespacing=LINE_HEIGHT * 0.95,
        )


def sheet(ledger: Ledger, finding: str, room: float) -> Sheet:
    """Open a sheet: the holding's title, the finding and the source line, and `room` for the chart.

    Parameters
    ----------
    ledger : Ledger
        The run the chart is about.
    finding : str
        The title: one sentence that says what the chart shows.
    room : float
        Height wanted between the title and the source line [in].
    """
    return page(ledger.scenario.title, finding, source(ledger), room)


def page(subject: str, finding: str, sources: Sequence[str], room: float) -> Sheet:
    """Open a sheet on any subject; `sheet` does so for a run.

    Parameters
    ----------
    subject : str
        What it is about, above the title.
    finding : str
        The title: one sentence that says what the chart shows.
    sources : sequence of str
        Paragraphs at the foot.
    room : float
        Height wanted between the title and the foot [in].
    """
    wide = WIDTH - 2 * MARGIN
    kicker = wrap(words.plain(subject), look.KICKER, wide)
    title = wrap(finding, look.TITLE, wide, bold=True)
    foot = [line for part in sources for line in wrap(part, look.NOTE, wide)]
    kicker_high, title_high, foot_high = (
        len(lines) * size * LINE_HEIGHT / POINTS
        for lines, size in ((kicker, look.KICKER), (title, look.TITLE), (foot, look.NOTE))
    )
    height = MARGIN * 0.8 + kicker_high + 0.05 + title_high + 0.12 + room + 0.1 + foot_high + MARGIN * 0.6
    figure = Figure(figsize=(WIDTH, height))
    FigureCanvasAgg(figure)
    bottom = MARGIN * 0.6 + foot_high + 0.1
    made = Sheet(figure, height, bottom + room, bottom)
    top = height - MARGIN * 0.8
    made.words("\n".join(kicker), MARGIN, top, look.KICKER, colour=look.FAINT)
    made.words("\n".join(title), MARGIN, top - kicker_high - 0.05, look.TITLE, bold=True)
    made.words("\n".join(foot), MARGIN, MARGIN * 0.6 + foot_high, look.NOTE, colour=look.FAINT)
    return made


def source(ledger: Ledger) -> list[str]:
    """Say where the weather comes from, under which rule and for which days the run was made."""
    known = ledger.record.provenance
    days = ledger.days
    named = [known.source, known.station, known.place]
    where = ", ".join(dict.fromkeys(words.plain(part) for part in named if part and part.strip()))
    licence = words.plain(known.licence)
    rule = ledger.scenario.run.rule
    period = " to ".join(words.briefly(day) for day in ledger.period)
    number = int(np.isin(ledger.record.data["origin"].values, [int(o) for o in FILLED]).sum())
    filled = f" Rain of {words.count(number, 'day')} was filled in." if number else ""
    return [
        f"Weather: {where or 'source not stated'}." + (f" Licence: {licence}." if licence else ""),
        f"Rule: {rule} ({RULES[rule]}). Period: {period} ({words.count(len(days), 'day')}).{filled}",
    ]


def _columns(widths: list[float], room: float) -> int:
    """Most columns of a legend, filled column by column as matplotlib does, that fit side by side [in]."""
    for columns in range(len(widths), 1, -1):
        total = sum(part.max() + KEY for part in np.array_split(np.array(widths), columns))
        if total <= room:
            return columns
    return 1


@lru_cache(maxsize=4096)
def width(text: str, size: float, bold: bool = False) -> float:
    """Width of a text in the charts' typeface.

    Parameters
    ----------
    text : str
        One line.
    size : float
        Type size [points].
    bold : bool, optional
        Heavy type.

    Returns
    -------
    float
        Width [in].
    """
    face = FontProperties(size=size, weight="bold" if bold else "normal")
    return float(text_to_path.get_text_width_height_descent(text, face, ismath=False)[0]) / POINTS


def wrap(text: str, size: float, room: float, bold: bool = False) -> list[str]:
    """Break a text into lines that fit and are about equally long.

    It breaks between words where it can, within a word where it must.

    Parameters
    ----------
    text : str
        Words with single spaces.
    size : float
        Type size [points].
    room : float
        Width of a line [in].
    bold : bool, optional
        Heavy type.
    """
    lines = _fill(text, size, room, bold)
    low, high = room / len(lines), room
    while len(lines) > 1 and high - low > 0.05:
        tried = (low + high) / 2
        if len(_fill(text, size, tried, bold)) > len(lines):
            low = tried
        else:
            high = tried
    return _fill(text, size, high, bold)


def _fill(text: str, size: float, room: float, bold: bool) -> list[str]:
    """Break a text into lines, each as long as fits."""
    space = width("n n", size, bold) - width("nn", size, bold)
    lines, used = [""], 0.0
    for word in (part for whole in text.split() for part in _cut(whole, size, room, bold)):
        wide = width(word, size, bold)
        if lines[-1] and used + space + wide > room:
            lines.append("")
            used = 0.0
        used += wide + (space if lines[-1] else 0.0)
        lines[-1] = f"{lines[-1]} {word}".strip()
    return lines


def _cut(word: str, size: float, room: float, bold: bool) -> list[str]:
    """Cut a word that is longer than a line."""
    parts = []
    while width(word, size, bold) > room and len(word) > 1:
        fits = next(n for n in range(len(word) - 1, 0, -1) if n == 1 or width(word[:n], size, bold) <= room)
        parts.append(word[:fits])
        word = word[fits:]
    return [*parts, word]
