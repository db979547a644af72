"""The region: dry days a year of the same holding in every cell of a grid, or at many stations."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
import xarray as xr
from matplotlib.artist import Artist
from matplotlib.axes import Axes
from matplotlib.colors import BoundaryNorm, ListedColormap
from matplotlib.figure import Figure
from matplotlib.lines import Line2D
from matplotlib.ticker import FuncFormatter, MaxNLocator

from holdwater import words
from holdwater.charts import look
from holdwater.charts.region_words import coordinate, degrees, every_place, figure, finding, kind, sources
from holdwater.charts.sheet import LEFT, MARGIN, WIDTH, Sheet, page
from holdwater.studies.region_place import State

Numbers = npt.NDArray[np.float64]

NONE = look.NO_DRY_DAY
CLASSES = ("#f2ba7c", "#d98c49", "#b4632f", "#833523", "#4a0a22")
"""From few dry days to many; neighbours differ in lightness."""
NOT_RUN = look.Role("not run", look.PAPER, hatch="xxx")
HOME = look.Role("the holding's own place", look.INK)
STEPS = (0.1, 0.2, 0.5, 1, 2, 5, 10, 20, 25, 50, 100)
HIGHEST, BARS = 6.8, 40
FINE = 2500
"""Cells beyond which the map is drawn as a picture inside the SVG."""
NAMED = 30
"""Stations up to which their names are written."""


@dataclass(frozen=True)
class Classes:
    """Classes of dry days a year: above `edges[i]`, up to `edges[i + 1]`; none at all is a class of its own."""

    edges: list[float]

    @classmethod
    def of(cls, values: Numbers) -> Classes:
        """Round classes, as many as there are colours at most, for the values above 0."""
        some = values[values > 0.0]
        if not some.size:
            return cls([])
        low, high = float(some.min()), float(some.max())
        for step in STEPS:
            first = math.ceil(low / step - 1e-9) - 1
            count = max(1, math.ceil(high / step - 1e-9) - first)
            if count <= len(CLASSES):
                return cls([round((first + i) * step, 1) for i in range(count + 1)])
        raise AssertionError(high)  # a year has no more than 366 days

    @property
    def colours(self) -> list[str]:
        """One colour per class, few classes spread over all colours."""
        count = len(self.edges) - 1
        if count < 2:
            return [CLASSES[2]][:count]
        return [CLASSES[round(i * (len(CLASSES) - 1) / (count - 1))] for i in range(count)]

    def label(self, i: int) -> str:
        """ "5 to 10", "up to 5"."""
        low, high = self.edges[i], self.edges[i + 1]
        return f"up to {high:g}" if low == 0.0 else f"{low:g} to {high:g}"

    def numbers(self, values: Numbers) -> Numbers:
        """0 for none, 1 for the first class and so on; NaN stays."""
        found = np.searchsorted(np.array(self.edges[1:-1]), values, side="left") + 1.0
        return np.where(np.isnan(values), np.nan, np.where(values > 0.0, found, 0.0))


def region_map(data: xr.Dataset, home: tuple[float, float] | None = None) -> Figure:
    """Draw where the holding would run dry, and how often.

    Parameters
    ----------
    data : xarray.Dataset
        Of `holdwater.studies.region_run.run`.
    home : (float, float), optional
        Latitude and longitude of the holding itself, marked where it lies within the map [degrees].

    Returns
    -------
    matplotlib.figure.Figure
        Dry days a year by place: a map, or bars where the places of the stations are not known.
    """
    values = data["dry_days_per_year"].values.ravel()
    classes = Classes.of(values)
    with look.style():
        if not _known(data):
            return _bars(data, classes)
        north, east = _middles(data)
        box = _extent(north, east)
        wide, high = _room(box)
        made = page(data.attrs["title"], finding(data), sources(data), 0.5 + high + 0.42)
        top = made.key(_entries(data, classes), made.top, LEFT + 1.25, "dry days a year:") - 0.06
        axes = made.axes((WIDTH - wide) / 2, top - high, wide, high)
        if north.ndim == 2 and np.isfinite(north + east).all():
            _cells(axes, data, classes, north, east)
        else:
            _dots(axes, data, classes, north.ravel(), east.ravel())
        axes.set_xlim(box[0], box[1])
        axes.set_ylim(box[2], box[3])
        _degrees(axes)
        if home is not None:
            _mark(axes, home, box, east)
        return made.figure


def _entries(data: xr.Dataset, classes: Classes) -> list[Artist]:
    """Legend: only what is in the picture."""
    values = data["dry_days_per_year"].values
    known: list[Artist] = [NONE.patch("none")] if (values == 0.0).any() else []
    known += [look.Role(classes.label(i), colour).patch() for i, colour in enumerate(classes.colours)]
    placed = np.isfinite(every_place(data, "latitude") + every_place(data, "longitude"))
    if not (_refused(data) & placed).any():
        return known
    if kind(data) == "cell":
        return [*known, NOT_RUN.patch()]
    cross = Line2D([], [], linestyle="none", marker="x", color=look.FAINT, markeredgewidth=1.4)
    cross.set_label(NOT_RUN.label)
    return [*known, cross]


def _refused(data: xr.Dataset) -> npt.NDArray[np.bool_]:
    """Places that have weather, and were not run."""
    codes = data["state"].values
    return np.asarray((codes != State.RUN) & (codes != State.NO_DATA))


def _known(data: xr.Dataset) -> bool:
    """Whether it can be drawn as a map."""
    if coordinate(data, "latitude") is None or coordinate(data, "longitude") is None:
        return False
    known = np.isfinite(every_place(data, "latitude") + every_place(data, "longitude"))
    return bool(known[data["state"].values == State.RUN].all()) and bool(known.any())


def _middles(data: xr.Dataset) -> tuple[Numbers, Numbers]:
    """Latitudes and longitudes of the places, longitudes counted so that the region hangs together."""
    north, east = every_place(data, "latitude"), every_place(data, "longitude")
    west_first, east_first = (east + 180.0) % 360.0 - 180.0, east % 360.0
    return north, west_first if _span(west_first) <= _span(east_first) else east_first


def _span(places: Numbers) -> float:
    return float(np.nanmax(places) - np.nanmin(places))


def _extent(north: Numbers, east: Numbers) -> tuple[float, float, float, float]:
    """West, east, south and north edge of the map: half a cell beyond the outer middles, or a margin."""
    box: list[float] = []
    for middles in (east, north):
        places = np.unique(middles[np.isfinite(middles)].round(6))
        if middles.ndim == 2:
            room = float(np.median(np.diff(places))) / 2 if places.size > 1 else 0.5
        else:
            room = max(0.12 * float(np.ptp(places)), 0.05)
        box += [float(places[0]) - room, float(places[-1]) + room]
    return box[0], box[1], max(box[2], -90.0), min(box[3], 90.0)


def _room(box: tuple[float, float, float, float]) -> tuple[float, float]:
    """Width and height of the map on the sheet, true to scale in its middle [in]."""
    west, east, south, north = box
    shape = (north - south) / ((east - west) * max(0.1, math.cos(math.radians((south + north) / 2))))
    wide = WIDTH - 2 * MARGIN - 1.2
    high = min(max(wide * shape, 1.2), HIGHEST)
    return min(wide, max(high / shape, 1.2)), high


def _cells(axes: Axes, data: xr.Dataset, classes: Classes, north: Numbers, east: Numbers) -> None:
    """Every cell in the colour of its class, cells that were not run hatched."""
    numbers = classes.numbers(data["dry_days_per_year"].values)
    refused = _refused(data)
    if (north[:, :1] == north).all() and (east[:1] == east).all():  # a straight grid may be turned and cut
        across, up = np.argsort(east[0]), np.argsort(north[:, 0])
        numbers, refused = numbers[np.ix_(up, across)], refused[np.ix_(up, across)]
        edges_east, edges_north = edges(east[0][across]), edges(north[:, 0][up])
    elif (north[:1] == north).all() and (east[:, :1] == east).all():  # the same with longitude first
        across, up = np.argsort(east[:, 0]), np.argsort(north[0])
        numbers, refused = numbers[np.ix_(across, up)].T, refused[np.ix_(across, up)].T
        edges_east, edges_north = edges(east[:, 0][across]), edges(north[0][up])
    else:
        edges_east, edges_north = east, north
    colours = ListedColormap([NONE.colour, *classes.colours])
    norm = BoundaryNorm(np.arange(colours.N + 1) - 0.5, colours.N)
    mesh = axes.pcolormesh(
        edges_east,
        edges_north,
        np.ma.masked_invalid(numbers),
        cmap=colours,
        norm=norm,
        rasterized=numbers.size > FINE,
        label="dry days a year",
    )
    mesh.set_zorder(1)
    if refused.any():
        hatched = axes.pcolor(
            edges_east,
            edges_north,
            np.ma.masked_where(~refused, np.zeros(refused.shape)),
            cmap=ListedColormap([look.PAPER]),
            hatch=NOT_RUN.hatch,
            edgecolor=look.FAINT,
            linewidth=0.0,
            label=NOT_RUN.label,
        )
        hatched.set_zorder(1.5)


def edges(middles: Numbers) -> Numbers:
    """Edges of cells half way between their middles; a single cell is one degree wide."""
    if middles.size == 1:
        return np.array([middles[0] - 0.5, middles[0] + 0.5])
    between = (middles[1:] + middles[:-1]) / 2
    first, last = 2 * middles[0] - between[0], 2 * middles[-1] - between[-1]
    return np.asarray([first, *between, last], dtype=float)


def _dots(axes: Axes, data: xr.Dataset, classes: Classes, north: Numbers, east: Numbers) -> None:
    """A dot in the colour of its class for every place, a cross where it was not run."""
    numbers = classes.numbers(data["dry_days_per_year"].values.ravel())
    palette = np.array([NONE.colour, *classes.colours])
    ran, crossed = ~np.isnan(numbers), _refused(data).ravel() & np.isfinite(north + east)
    axes.scatter(
        east[ran],
        north[ran],
        s=90,
        c=palette[numbers[ran].astype(int)].tolist(),
        edgecolors=look.INK,
        linewidths=0.7,
        zorder=3,
        label="dry days a year",
    )
    axes.scatter(
        east[crossed],
        north[crossed],
        s=60,
        c=look.FAINT,
        marker="x",
        linewidths=1.4,
        zorder=3,
        label=NOT_RUN.label,
    )
    axes.grid(visible=True)
    if numbers.size <= NAMED and kind(data) == "station":
        for name, x, y in zip(data["station"].values[ran], east[ran], north[ran], strict=True):
            said = words.plain(str(name))
            axes.annotate(
                said, (x, y), (8, 0), textcoords="offset points", fontsize=look.TICK - 1, va="center"
            )


def _degrees(axes: Axes) -> None:
    """Mark latitudes and longitudes."""
    for axis, signs in ((axes.xaxis, "EW"), (axes.yaxis, "NS")):
        low, high = axis.get_view_interval()
        digits = max(0, math.ceil(-math.log10(max(high - low, 1e-9) / 5)))
        axis.set_major_locator(MaxNLocator(nbins=6, steps=[1, 2, 2.5, 5, 10]))
        digits += 1 if digits else 0

        def name(value: float, _place: int | None = None, signs: str = signs, digits: int = digits) -> str:
            around = (value + 180.0) % 360.0 - 180.0 if signs == "EW" else value
            text = degrees(round(around, digits), signs, digits)
            number, _, rest = text.partition("°")
            return (number.rstrip("0").rstrip(".") if "." in number else number) + "°" + rest

        axis.set_major_formatter(FuncFormatter(name))


def _mark(
    axes: Axes, home: tuple[float, float], box: tuple[float, float, float, float], east: Numbers
) -> None:
    """Mark the holding's own place, if it lies within the map."""
    middle = (box[0] + box[1]) / 2
    x, y = middle + (home[1] - middle + 180.0) % 360.0 - 180.0, home[0]
    if not (box[0] <= x <= box[1] and box[2] <= y <= box[3]):
        return
    axes.plot(
        x,
        y,
        marker="*",
        markersize=13,
        color=look.PAPER,
        markeredgecolor=HOME.colour,
        zorder=5,
        label=HOME.label,
    )
    axes.annotate(
        HOME.label,
        (x, y),
        (9, 0),
        textcoords="offset points",
        fontsize=look.TICK,
        va="center",
        bbox=look.LIFTED,
        zorder=5,
    )


def _bars(data: xr.Dataset, classes: Classes) -> Figure:
    """Stations by dry days a year, most first, where their places are not known."""
    values = data["dry_days_per_year"].values
    ran = np.flatnonzero(~np.isnan(values))
    order = ran[np.argsort(-values[ran], kind="stable")][:BARS]
    high = 0.2 * max(order.size, 1) + 0.1
    notes = sources(data)
    if ran.size > order.size:
        notes.append(f"The {order.size} with most dry days of {words.count(ran.size, kind(data))} are shown.")
    made: Sheet = page(data.attrs["title"], finding(data), notes, high + 0.5)
    axes = made.axes(2.6, made.top - high, WIDTH - 2.6 - MARGIN - 0.5, high)
    palette = [NONE.colour, *classes.colours]
    colours = [palette[int(i)] for i in classes.numbers(values[order])]
    rows = np.arange(order.size)
    axes.barh(rows, values[order], color=colours, edgecolor=look.INK, linewidth=0.4, label="dry days a year")
    names: Sequence[str] = [words.plain(str(n)) for n in data["station"].values[order]]
    axes.set_yticks(rows, [n if len(n) < 30 else n[:28] + "…" for n in names])
    for row, value in zip(rows, values[order], strict=True):
        axes.annotate(
            figure(value), (value, row), (4, 0), textcoords="offset points", va="center", fontsize=look.TICK
        )
    axes.set_ylim(order.size - 0.5, -0.5)
    axes.set_xlim(left=0.0)
    axes.grid(axis="x")
    axes.set_xlabel("dry days a year")
    return made.figure
