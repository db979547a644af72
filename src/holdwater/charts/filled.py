"""A quiet mark for days whose rain was filled in: a dot for one day, a bar with round ends for more."""

from __future__ import annotations

from collections.abc import Sequence

from matplotlib.artist import Artist
from matplotlib.axes import Axes
from matplotlib.lines import Line2D
from matplotlib.transforms import ScaledTranslation

from holdwater.charts import look

THICK, RIM = 3.4, 1.1
"""Width of the mark, and of the pale rim that lifts it off what it lies on [points]."""
Span = tuple[float, float]


def entry() -> Artist:
    """Legend entry of the mark."""
    return Line2D(
        [],
        [],
        linestyle="none",
        marker="o",
        color=look.FAINT,
        markeredgewidth=0,
        markersize=THICK + 1.0,
        label=look.FILLED.label,
    )


def mark(axes: Axes, spans: Sequence[tuple[Span, float]]) -> list[Line2D]:
    """Mark days along the horizontal axis, each span at a height of the vertical one.

    Parameters
    ----------
    axes : Axes
        With its limits set.
    spans : sequence of ((float, float), float)
        Start of the first day, end of the last one, and the height, in the units of the axes.

    Returns
    -------
    list of Line2D
        The rim and the mark on it; none where there is no span.
    """
    if not spans:
        return []
    gap = float("nan")
    x = [at for (a, b), _ in spans for at in (a + 0.5, b - 0.5, gap)]
    y = [at for _, height in spans for at in (height, height, gap)]
    made = [
        Line2D(
            x,
            y,
            color=colour,
            linewidth=thick,
            marker="o",
            markersize=thick,
            markeredgewidth=0,
            zorder=zorder,
            label=label,
        )
        for colour, thick, zorder, label in (
            (look.PAPER, THICK + 2 * RIM, 6.0, "_rim"),
            (look.FAINT, THICK, 6.1, look.FILLED.label),
        )
    ]
    for line in made:
        axes.add_line(line)
    return made


def mark_above(axes: Axes, spans: Sequence[Span], points: float) -> None:
    """Mark days along the upper edge of a panel, so many points above it."""
    figure = axes.get_figure()
    assert figure is not None
    lifted = axes.get_xaxis_transform() + ScaledTranslation(0.0, points / 72.0, figure.dpi_scale_trans)
    for line in mark(axes, [(span, 1.0) for span in spans]):
        line.set_transform(lifted)
        line.set_clip_on(False)
