"""One visual language for every chart: a colour, a hatch and a line for each role, and the type.

No two roles that touch may look alike in grey: neighbours differ by at least `LEAST_STEP` in CIE
lightness, and a hatch or a line style tells them apart besides.
"""

from __future__ import annotations

import warnings
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from typing import Any, Literal

import matplotlib as mpl
from matplotlib.colors import to_rgb
from matplotlib.patches import Patch

LEAST_STEP = 15.0
INK = "#1d242b"
FAINT = "#5b6670"
GRID = "#dde2e6"
PAPER = "#ffffff"

TITLE, KICKER, LABEL, TICK, NOTE = 13.5, 8.5, 9.0, 8.5, 7.0
DOTS_PER_INCH = 150
LIFTED = {"facecolor": PAPER, "edgecolor": "none", "alpha": 0.8, "pad": 0.6}  # under words on a busy ground

_STYLE: dict[Any, Any] = {
    "text.hinting": "none",  # letters keep their drawn shape, and are set faster
    "text.parse_math": False,
    "text.usetex": False,
    "text.color": INK,
    "font.family": ["sans-serif"],
    "font.sans-serif": ["DejaVu Sans", "Verdana", "Arial", "Helvetica", "sans-serif"],
    "font.size": TICK,
    "axes.edgecolor": FAINT,
    "axes.facecolor": PAPER,
    "axes.labelcolor": INK,
    "axes.labelsize": LABEL,
    "axes.linewidth": 0.8,
    "axes.spines.top": False,
    "axes.spines.right": False,
    "axes.axisbelow": True,
    "axes.grid": False,
    "axes.unicode_minus": True,
    "figure.facecolor": PAPER,
    "figure.dpi": DOTS_PER_INCH,
    "grid.color": GRID,
    "grid.linewidth": 0.7,
    "hatch.linewidth": 0.6,
    "legend.frameon": False,
    "legend.fontsize": TICK,
    "lines.linewidth": 1.0,
    "path.simplify": True,
    "path.simplify_threshold": 0.25,
    "savefig.dpi": DOTS_PER_INCH,
    "savefig.facecolor": PAPER,
    "svg.fonttype": "none",
    "svg.hashsalt": "holdwater",
    "svg.image_inline": True,
    "xtick.color": FAINT,
    "xtick.labelcolor": INK,
    "xtick.labelsize": TICK,
    "ytick.color": FAINT,
    "ytick.labelcolor": INK,
    "ytick.labelsize": TICK,
}


@dataclass(frozen=True)
class Role:
    """What a colour stands for, the same in every chart.

    Attributes
    ----------
    label : str
        Words for the legend.
    colour : str
        Fill or line.
    hatch : str
        Pattern that tells it apart without colour; "" for none.
    line : str
        Line style where it is drawn as a line.
    """

    label: str
    colour: str
    hatch: str = ""
    line: Literal["-", "--", ":"] = "-"

    def patch(self, label: str = "") -> Patch:
        """Legend entry for a filled area."""
        return Patch(
            facecolor=self.colour, edgecolor=INK, hatch=self.hatch, linewidth=0.4, label=label or self.label
        )


RAIN = Role("rain", "#6fa8d3")
WATER = Role("water that can be drawn", "#bdd6e9")
WATER_LINE = Role("water that can be drawn", "#0d3b66")
FULL = Role("full", INK)
RESERVE = Role("reserve", "#8c2d04", line="--")
NO_DRY_DAY = Role("no dry day", "#e6ecf1")
COVERED = Role("dry day, backup covered the rest", "#ee9f45")
UNSERVED = Role("dry day, unserved", "#560a24")
FILLED = Role("rain filled in", PAPER, hatch="xxx")
ROOF = Role("rain on the roofs", "#14476e")
BACKUP = Role("backup", "#f3cf8e", hatch="////")
INFLOW = Role("came off the roofs into the tanks", "#14476e")
REFILL = Role("backup filled into the tanks", "#4d3300", line=":")
FROM_STORAGE = Role("taken out of storage", "#8a99a6", hatch="|||")
DELIVERED = Role("came to use", "#4b92c6")
OVERFLOW = Role("overflow", "#9fcbe6")
FIRST_FLUSH = Role("first flush", "#86561b", hatch="\\\\\\\\")
BEFORE_TANKS = Role("lost before the tanks: roof, first flush, filter", "#86561b", hatch="\\\\\\\\")
LEAK = Role("leak and evaporation", "#343434")
INTO_STORAGE = Role("put into storage", "#eef1f3", hatch="|||")
ASKED = Role("asked for", INK, line="-")
RAINLESS = Role("rainless spell", "#cfae62")
SHADE = Role("dry days, shaded", "#e6ecf1")

CAME_IN = (ROOF, BACKUP, FROM_STORAGE)
WENT = (DELIVERED, OVERFLOW, BEFORE_TANKS, LEAK, INTO_STORAGE)
SERVED = (DELIVERED, BACKUP, UNSERVED)
CALENDAR = (NO_DRY_DAY.colour, COVERED.colour, UNSERVED.colour)
TOUCHING = (
    tuple(role.colour for role in CAME_IN),
    tuple(role.colour for role in WENT),
    tuple(role.colour for role in SERVED),
    CALENDAR,
    (WATER.colour, WATER_LINE.colour, PAPER, RAIN.colour),
    (RAINLESS.colour, UNSERVED.colour, PAPER),
)


def lightness(colour: str) -> float:
    """CIE 1976 lightness L* of a colour, white 100, black 0.

    Parameters
    ----------
    colour : str
        Any colour matplotlib knows.

    Returns
    -------
    float
        L* under D65 [0..100].

    References
    ----------
    IEC 61966-2-1 (sRGB transfer function and luminance weights); CIE 15, CIE 1976 L*a*b* (from memory).
    """
    linear = [c / 12.92 if c <= 0.04045 else ((c + 0.055) / 1.055) ** 2.4 for c in to_rgb(colour)]
    luminance = 0.2126 * linear[0] + 0.7152 * linear[1] + 0.0722 * linear[2]
    cube = luminance ** (1 / 3) if luminance > (6 / 29) ** 3 else luminance / (3 * (6 / 29) ** 2) + 4 / 29
    return 116 * cube - 16


@contextmanager
def style() -> Iterator[None]:
    """Draw and save inside this: the look holds here and leaves matplotlib's own settings alone.

    A sign that no font at hand can show (a name in another script) becomes a box without a word.
    """
    with mpl.rc_context(_STYLE), warnings.catch_warnings():
        warnings.filterwarnings("ignore", message=r"Glyph \d+ .* missing from font")
        yield
