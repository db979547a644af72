"""Words on charts that keep clear of lines and of each other: beside a mark, and along lines of equal value."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

import numpy as np
import numpy.typing as npt
from matplotlib.axes import Axes
from matplotlib.contour import QuadContourSet
from matplotlib.text import Annotation, Text
from matplotlib.transforms import Bbox

from holdwater.charts import look
from holdwater.charts.sheet import width

Floats = npt.NDArray[np.float64]

STEP = 2.0
"""Distance of the points that lines are taken apart into [pixels]."""
ROOM = 3.0
"""Room left around words [pixels]."""
AWAY = 9.0
"""Distance of words from their mark [points]."""
SIDES = (
    (1, 1),
    (1, 0),
    (1, -1),
    (-1, 1),
    (-1, 0),
    (-1, -1),
    (0, 1),
    (0, -1),
)
"""Where words may stand beside their mark, to the right and up; the first that is free is taken."""
BENT, CROSSED, OFF_MIDDLE = 10.0, 1.0, 0.5
"""What counts against a place along a line: that it is bent there, other lines through it, far from its middle."""
MOST_BENT = 0.15
"""Share by which the way along a line may be longer than straight on, for a name to stand on it."""


def lines_of(axes: Axes, drawn: QuadContourSet) -> list[list[Floats]]:
    """Take the lines of every level apart into points close together, before they are labelled [pixels]."""
    found = []
    for path in drawn.get_paths():
        pieces = [axes.transData.transform(piece) for piece in path.to_polygons(closed_only=False)]
        found.append([_points(piece) for piece in pieces if len(piece) > 1])
    return found


def _points(line: Floats) -> Floats:
    """Points at even steps along a line."""
    along = np.concatenate([[0.0], np.cumsum(np.hypot(*np.diff(line, axis=0).T))])
    at = np.linspace(0.0, along[-1], max(2, int(along[-1] / STEP) + 1))
    return np.stack([np.interp(at, along, line[:, i]) for i in (0, 1)], axis=1)


def drawn_on(axes: Axes) -> Floats:
    """Points of all lines of a chart, shape (n, 2) [pixels]."""
    lines = [line.get_transform().transform(np.asarray(line.get_xydata())) for line in axes.lines]
    return _joined([_points(line) for line in lines if len(line) > 1])


def _joined(lines: Iterable[Floats]) -> Floats:
    return np.concatenate([np.empty((0, 2)), *lines])


def at_height(words: Annotation, heights: Sequence[float], points: Floats) -> None:
    """Move words up or down to the first of some heights where the fewest points lie under them.

    Parameters
    ----------
    words : Annotation
        Its anchor's height is told as a share of the axes.
    heights : sequence of float
        Where it may stand [0..1].
    points : ndarray, shape (n, 2)
        From `drawn_on` [pixels].
    """

    def crossed(height: float) -> int:
        words.xy = (words.xy[0], height)
        return _within(points, words.get_window_extent().padded(ROOM))

    words.xy = (words.xy[0], min(heights, key=crossed))


def beside(axes: Axes, words: Annotation, mark: Bbox, lines: Iterable[Floats]) -> Bbox:
    """Move words to the side of their mark where they stay on the map and the fewest lines cross them.

    Parameters
    ----------
    axes : Axes
        The map.
    words : Annotation
        They point at the mark, `AWAY` points from it.
    mark : Bbox
        Room of the mark, kept free [pixels].
    lines : iterable of ndarray, shape (n, 2)
        Points of the lines of the map [pixels].

    Returns
    -------
    Bbox
        Room of the words [pixels].
    """
    points, inside = _joined(lines), axes.bbox
    tried: list[tuple[int, int, Bbox]] = []
    for order, side in enumerate(SIDES):
        box = _put(words, side)
        clear = _holds(inside, box) and not box.overlaps(mark)
        tried.append((_within(points, box) if clear else len(points) + 1, order, box))
    _, best, box = min(tried, key=lambda each: each[:2])
    _put(words, SIDES[best])
    return box


def _put(words: Annotation, side: tuple[int, int]) -> Bbox:
    """Stand words at a side of their mark; the room they take there."""
    across, up = side
    words.set_horizontalalignment({1: "left", 0: "center", -1: "right"}[across])  # type: ignore[arg-type]
    words.set_verticalalignment({1: "bottom", 0: "center", -1: "top"}[up])  # type: ignore[arg-type]
    words.xyann = (AWAY * across, AWAY * up if across else 1.2 * AWAY * up)
    return words.get_window_extent().padded(ROOM)


def along(
    axes: Axes, drawn: QuadContourSet, names: Sequence[str], lines: list[list[Floats]], taken: Sequence[Bbox]
) -> list[Text]:
    """Write its name on the line of every level, clear of all other words; on none where there is no room.

    Parameters
    ----------
    axes : Axes
        The map; its limits stand.
    drawn : QuadContourSet
        Its lines.
    names : sequence of str
        Name of every level.
    lines : list of list of ndarray
        From `lines_of`.
    taken : sequence of Bbox
        Room of what must stay free [pixels].
    """
    used, places = list(taken), []
    for i, name in enumerate(names):
        others = _joined(piece for j, each in enumerate(lines) if j != i for piece in each)
        found = _place(axes, name, lines[i], others, used)
        if found is not None:
            places.append(found[0])
            used.append(found[1])
    known = dict(zip(drawn.levels, names, strict=True))
    at = [tuple(axes.transData.inverted().transform(place)) for place in places]
    if not at:
        return []
    drawn.clabel(fmt=known, fontsize=look.TICK, inline=True, inline_spacing=6, manual=at)
    return list(drawn.labelTexts)


def _place(
    axes: Axes, name: str, pieces: list[Floats], others: Floats, used: list[Bbox]
) -> tuple[Floats, Bbox] | None:
    """Where along the pieces of a line its name stands best, and the room it takes."""
    dpi = axes.figure.dpi
    wide, high = width(name, look.TICK) * dpi, look.TICK / 72 * dpi
    half = int(wide / STEP / 2) + 2
    best: tuple[float, Floats, Bbox] | None = None
    for line in pieces:
        n = len(line)
        for k in range(half, n - half, max(1, half // 4)):
            reach = line[k + half] - line[k - half]
            chord = float(np.hypot(*reach))
            box = _turned(line[k], reach / max(chord, 1e-9), wide, high)
            if not _holds(axes.bbox, box) or any(box.overlaps(each) for each in used):
                continue
            bent = 1.0 - chord / (2 * half * STEP)
            if bent > MOST_BENT:
                continue
            against = BENT * bent + CROSSED * _within(others, box) + OFF_MIDDLE * abs(k / n - 0.5)
            if best is None or against < best[0]:
                best = against, line[k], box
    return None if best is None else best[1:]


def _turned(middle: Floats, along_line: Floats, wide: float, high: float) -> Bbox:
    """Room of words that run along a line."""
    cos, sin = np.abs(along_line)
    across, up = (wide * cos + high * sin) / 2 + ROOM, (wide * sin + high * cos) / 2 + ROOM
    x, y = middle
    return Bbox([[x - across, y - up], [x + across, y + up]])


def _holds(outer: Bbox, inner: Bbox) -> bool:
    return bool(
        outer.x0 <= inner.x0 and inner.x1 <= outer.x1 and outer.y0 <= inner.y0 and inner.y1 <= outer.y1
    )


def _within(points: Floats, box: Bbox) -> int:
    """How many points lie in a box."""
    x, y = points.T
    return int(((box.x0 < x) & (x < box.x1) & (box.y0 < y) & (y < box.y1)).sum())
