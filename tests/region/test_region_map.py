"""The map shows what was found: the title says it, every cell has its colour, what was not run is marked."""

from __future__ import annotations

import itertools
from pathlib import Path

import numpy as np
import pytest
import xarray as xr
from matplotlib.collections import PathCollection, QuadMesh
from matplotlib.colors import to_hex
from matplotlib.figure import Figure

from holdwater.charts import files, look
from holdwater.charts.region_map import CLASSES, NONE, NOT_RUN, Classes, edges, region_map
from holdwater.charts.region_words import finding
from holdwater.studies.region_place import State
from tests.charts.runs import boxes, foot, legend, title

ATTRIBUTES = {
    "title": "Stony Fold: two roofs, two tanks",
    "source": "pr.nc",
    "license": "invented",
    "weather_change": "",
    "operating_rule": "YAS",
    "missing_days_policy": "refuse",
    "first_day": "2001-01-01",
    "last_day": "2004-12-31",
}


def region(
    values: np.ndarray, north: np.ndarray, east: np.ndarray, states: np.ndarray | None = None
) -> xr.Dataset:
    """A region that was run, made up: dry days a year by row and column."""
    states = np.where(np.isnan(values), State.NO_DATA, State.RUN) if states is None else states
    dims = ("lat", "lon")
    where = {"lat": ("lat", north), "lon": ("lon", east)}
    if north.ndim == 2:
        dims = ("y", "x")
        where = {"lat": (dims, north), "lon": (dims, east)}
    return xr.Dataset(
        {"dry_days_per_year": (dims, values), "state": (dims, states)},
        {
            name: (*each, {"standard_name": f"{name}itude" if name == "lat" else "longitude"})
            for name, each in where.items()
        },
        ATTRIBUTES,
    )


def station_region(values: list[float], north: list[float], east: list[float]) -> xr.Dataset:
    states = [State.MISSING_DAYS if np.isnan(v) else State.RUN for v in values]
    names = [f"creek {i}" for i in range(len(values))]
    return xr.Dataset(
        {"dry_days_per_year": ("station", values), "state": ("station", states)},
        {
            "station": names,
            "latitude": ("station", north, {"standard_name": "latitude"}),
            "longitude": ("station", east, {"standard_name": "longitude"}),
        },
        ATTRIBUTES,
    )


VALUES = np.array([[0.0, 4.0, 9.0], [12.0, 33.0, 41.0]])
NORTH, EAST = np.array([40.0, 39.5]), np.array([250.0, 250.5, 251.0])


def colours(figure: Figure) -> dict[tuple[float, float], str]:
    """Colour of every cell, by latitude and longitude of its middle."""
    (mesh,) = [c for c in figure.axes[0].collections if isinstance(c, QuadMesh)]
    corners = mesh.get_coordinates()
    middles = (corners[:-1, :-1] + corners[1:, 1:]) / 2
    numbers = mesh.get_array()
    found = {}
    for at in np.ndindex(*numbers.shape):
        x, y = middles[at].round(6).tolist()
        shade = (
            to_hex(mesh.cmap(mesh.norm(numbers[at])), keep_alpha=True)
            if not np.ma.is_masked(numbers[at])
            else ""
        )
        found[y, x] = shade[:7]
    return found


def test_every_cell_has_the_colour_of_its_class() -> None:
    figure = region_map(region(VALUES, NORTH, EAST))
    shown = colours(figure)
    assert legend(figure) == ["none", "up to 10", "10 to 20", "30 to 40", "40 to 50"] or legend(figure) == [
        "none",
        "up to 10",
        "10 to 20",
        "20 to 30",
        "30 to 40",
        "40 to 50",
    ]
    assert shown[40.0, -110.0] == NONE.colour
    assert shown[40.0, -109.5] == shown[40.0, -109.0] == CLASSES[0]  # 4 and 9 days
    assert shown[39.5, -110.0] == CLASSES[1]  # 12 days
    assert shown[39.5, -109.0] == CLASSES[4]  # 41 days


def test_the_title_says_the_finding() -> None:
    figure = region_map(region(VALUES, NORTH, EAST))
    assert title(figure) == (
        "Stony Fold would be dry on 0 to 41 days a year over 6 cells (median 10), most at 39.50° N, 109.00° W;"
        " never in 1 cell."
    )
    assert "2001-01-01 to 2004-12-31" in foot(figure)
    assert "mean of an area" in foot(figure)
    assert "Licence: invented" in foot(figure)


@pytest.mark.parametrize(
    ("values", "says"),
    [
        ([[0.0, 0.0]], "Stony Fold would not have run dry in any of 2 cells."),
        ([[0.02, np.nan]], "Stony Fold would be dry on 0.1 days a year at 10.00° N, 0.00°."),
        (
            [[1.0, 1.0]],
            "Stony Fold would be dry on 1 to 1 day a year over 2 cells (median 1), most at 10.00° N, 0.00°.",
        ),
        ([[np.nan, np.nan]], "Stony Fold could not be run anywhere."),
    ],
)
def test_findings(values: list[list[float]], says: str) -> None:
    data = region(np.array(values), np.array([10.0]), np.array([0.0, 1.0]))
    assert finding(data) == says
    files.png(region_map(data))


def test_what_was_not_run_is_hatched_and_sea_is_blank() -> None:
    values, states = VALUES.copy(), np.zeros(VALUES.shape, dtype=int)
    values[0, 1], states[0, 1] = np.nan, State.MISSING_DAYS
    values[1, 2], states[1, 2] = np.nan, State.NO_DATA
    figure = region_map(region(values, NORTH, EAST, states))
    hatched = [c for c in figure.axes[0].collections if c.get_hatch()]
    assert [c.get_hatch() for c in hatched] == [NOT_RUN.hatch]
    (path,) = hatched[0].get_paths()
    assert path.get_extents().bounds == pytest.approx((-109.75, 39.75, 0.5, 0.5))
    assert "not run" in legend(figure)
    assert "Not run: 1 cell with no value at all (sea, or masked), 1 cell with rain missing" in foot(figure)
    assert colours(figure)[39.5, -109.0] == ""


def test_a_grid_over_the_date_line_or_greenwich_hangs_together() -> None:
    over = region_map(region(VALUES, NORTH, np.array([179.5, 180.0, -179.5])))
    assert np.ptp(over.axes[0].get_xlim()) == pytest.approx(1.5)
    home = region_map(region(VALUES, NORTH, np.array([359.5, 0.0, 0.5])))
    assert home.axes[0].get_xlim() == pytest.approx((-0.75, 0.75))
    assert colours(home)[39.5, 0.5] == CLASSES[4]


def test_the_holding_is_marked_where_it_lies_within() -> None:
    inside = region_map(region(VALUES, NORTH, EAST), (39.6, -109.6))
    assert "the holding's own place" in [line.get_label() for line in inside.axes[0].lines]
    outside = region_map(region(VALUES, NORTH, EAST), (10.0, 10.0))
    assert not outside.axes[0].lines


def test_longitude_first_and_turned_grids_show_the_same() -> None:
    data = region(VALUES, NORTH, EAST)
    expected = colours(region_map(data))
    assert colours(region_map(data.transpose("lon", "lat"))) == expected
    assert colours(region_map(data.isel(lat=slice(None, None, -1)))) == expected


def test_two_dimensional_coordinates() -> None:
    east, north = np.meshgrid(EAST, NORTH)
    straight = region(VALUES, north, east)
    assert len(colours(region_map(straight))) == 6
    bent = region(VALUES, north + 0.1 * np.sin(east), east)
    files.png(region_map(bent))
    north = north.copy()
    north[0, 0] = np.nan
    values = VALUES.copy()
    values[0, 0] = np.nan
    dots = region_map(region(values, north, east))
    assert any(isinstance(c, PathCollection) for c in dots.axes[0].collections)
    files.png(dots)


def test_stations_are_dots_with_their_names() -> None:
    figure = region_map(
        station_region([0.0, 5.0, 20.0, np.nan], [38.0, 38.5, 39.0, 38.2], [-109.0, -108.5, -108.0, -108.2])
    )
    dots, crosses = [c for c in figure.axes[0].collections if isinstance(c, PathCollection)]
    assert dots.get_offsets().tolist() == [[-109.0, 38.0], [-108.5, 38.5], [-108.0, 39.0]]
    assert crosses.get_offsets().tolist() == [[-108.2, 38.2]]
    assert {t.get_text() for t in figure.axes[0].texts} >= {"creek 0", "creek 1", "creek 2"}
    assert title(figure).endswith("most at creek 2; never at 1 station.")


def test_stations_without_a_place_become_bars() -> None:
    figure = region_map(station_region([3.0, 20.0, np.nan], [np.nan] * 3, [np.nan] * 3))
    axes = figure.axes[0]
    assert [bar.get_width() for bar in axes.patches] == [20.0, 3.0]
    assert [label.get_text() for label in axes.get_yticklabels()] == ["creek 1", "creek 0"]
    assert axes.get_xlabel() == "dry days a year"


@pytest.mark.parametrize("high", [0.3, 1.0, 4.9, 5.0, 17.0, 88.6, 366.0])
@pytest.mark.parametrize("low", [0.05, 0.5, 0.93])
def test_classes_are_round_and_hold_every_value(high: float, low: float) -> None:
    values = np.array([np.nan, 0.0, low * high, high])
    classes = Classes.of(values)
    assert 1 <= len(classes.colours) <= len(CLASSES)
    assert classes.edges[0] < low * high
    assert classes.edges[-1] >= high
    numbers = classes.numbers(values)
    assert np.isnan(numbers[0])
    assert numbers[1] == 0
    for value, number in zip(values[2:], numbers[2:], strict=True):
        below, above = classes.edges[int(number) - 1], classes.edges[int(number)]
        assert below - 1e-9 <= value <= above + 1e-9


def test_classes_differ_in_grey() -> None:
    shades = [look.lightness(colour) for colour in (NONE.colour, *CLASSES)]
    assert all(a - b >= 13.5 for a, b in itertools.pairwise(shades))


def test_no_words_lie_on_others() -> None:
    values = np.where(np.arange(6).reshape(2, 3) == 4, np.nan, VALUES)
    states = np.where(np.isnan(values), State.MISSING_DAYS, State.RUN)
    figure = region_map(region(values, NORTH, EAST, states), (39.9, -109.9))
    placed = boxes(figure)
    for text, box in placed:
        assert figure.bbox.x0 <= box.x0, text
        assert box.x1 <= figure.bbox.x1, text
    for (text, box), (other, beside) in itertools.combinations(placed, 2):
        wide = min(box.x1, beside.x1) - max(box.x0, beside.x0)
        high = min(box.y1, beside.y1) - max(box.y0, beside.y0)
        assert min(wide, high) < 1.5, f"{text!r} lies on {other!r}"


def test_edges() -> None:
    assert edges(np.array([1.0, 2.0, 4.0])).tolist() == [0.5, 1.5, 3.0, 5.0]
    assert edges(np.array([7.0])).tolist() == [6.5, 7.5]


def test_pictures_are_written(tmp_path: Path) -> None:
    written = files.save(region_map(region(VALUES, NORTH, EAST)), tmp_path, "region")
    assert [p.name for p in written] == ["region.png", "region.svg"]
    assert all(p.stat().st_size > 5000 for p in written)
