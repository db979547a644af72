"""The band of a curve: what it shows is the interval of every design, and it can be read in grey."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from matplotlib.axes import Axes
from matplotlib.collections import PolyCollection
from matplotlib.colors import to_hex
from matplotlib.figure import Figure

from holdwater.charts import files, look
from holdwater.charts.curve import BAND, HELD, MEAN, WORST, curve_chart, of_sweep
from holdwater.scenario import load
from holdwater.studies.batch import Site
from holdwater.studies.dials import Grid, dial
from holdwater.studies.redrawn import Drawing
from holdwater.studies.sweep import Sweep, sweep
from holdwater.studies.sweep_confidence import SweepConfidence, sweep_confidence
from holdwater.units import System
from holdwater.weather import read_weather
from tests.charts.runs import boxes, foot, legend, title
from tests.studies.conftest import DEMO

Swept = Callable[..., Sweep]


@pytest.fixture(scope="module")
def swept() -> Swept:
    """Sweeps over ten of the demo's years, with their intervals."""
    known: dict[tuple[str, str], Sweep] = {}

    def run(asked: str, first: str = "1997-01-01") -> Sweep:
        if (asked, first) not in known:
            file = load(DEMO, [f"run.from={first}", "run.to=2006-12-31"])
            span = file.scenario.run
            record = read_weather(file.scenario.weather, DEMO.parent, first=span.from_, last=span.to)
            grid = Grid((dial(asked),))
            found = sweep(file, Site.of(file.scenario, record), grid)
            lot = Drawing(record, 19, 2)
            known[asked, first] = replace(found, confidence=sweep_confidence(file, grid, lot))
        return known[asked, first]

    return run


def bands(figure: Figure) -> list[tuple[Axes, PolyCollection]]:
    """Filled areas of the chart."""
    found = ((axes, each) for axes in figure.axes for each in axes.collections)
    return [(axes, each) for axes, each in found if isinstance(each, PolyCollection)]


def drawn(found: Sweep) -> SweepConfidence:
    assert found.confidence is not None
    return found.confidence


ROOFS = "roof.house.area=1500 ft2..4000 ft2:6"


@pytest.mark.parametrize("system", ["us", "metric"])
def test_the_bands_are_the_bounds_of_every_design(swept: Swept, system: System) -> None:
    found = swept(ROOFS)
    figure = curve_chart(of_sweep(found, system), system)
    (above, mean), (below, held) = bands(figure)
    assert "Dry days" in above.get_ylabel()
    assert "Years with" in below.get_ylabel()
    dry = [drawn(found).low["dry_days_per_year"], drawn(found).high["dry_days_per_year"]]
    years = [10 * (1 - drawn(found).high["dry_years_share"]), 10 * (1 - drawn(found).low["dry_years_share"])]
    x = found.axes[0].shown(system)[0]
    for area, (low, high) in ((mean, dry), (held, years)):
        corners = {(round(float(a), 6), round(float(b), 6)) for a, b in area.get_paths()[0].vertices}
        for at, bottom, top in zip(x, low, high, strict=True):
            assert (round(float(at), 6), round(float(bottom), 6)) in corners
            assert (round(float(at), 6), round(float(top), 6)) in corners
    assert above.get_ylim()[1] > dry[1].max()
    assert title(figure).startswith("Larkfield had ")
    assert legend(figure)[-1] == "90 % of records drawn by lot"
    assert "Bands: the mean, and the years that hold, in 90 % of 19 records made of whole years" in foot(
        figure
    )


def test_without_confidence_there_is_no_band(swept: Swept) -> None:
    figure = curve_chart(of_sweep(replace(swept(ROOFS), confidence=None), "us"), "us")
    assert bands(figure) == []
    assert "90 % of records drawn by lot" not in legend(figure)
    assert "Bands" not in foot(figure)


def test_a_part_of_a_year_counts_in_neither_line_nor_band(swept: Swept) -> None:
    found = swept(ROOFS, "1996-07-01")
    figure = curve_chart(of_sweep(found, "us"), "us")
    _, (below, _) = bands(figure)
    assert "of 10" in below.get_ylabel()
    (held,) = [line for line in below.lines if line.get_label() == HELD.label]
    assert held.get_ydata().tolist() == (found.outcome.by_year["dry_days"][1:] == 0).sum(axis=0).tolist()


@pytest.mark.parametrize("asked", ["run.rule=YAS,YBS", "roof.barn.area=2000 ft2"])
def test_words_and_a_single_value_have_a_band_too(swept: Swept, asked: str, tmp_path: Path) -> None:
    figure = curve_chart(of_sweep(swept(asked), "us"), "us")
    assert sum(len(axes.collections) for axes in figure.axes) == 2
    files.save(figure, tmp_path, "curve")
    assert (tmp_path / "curve.png").stat().st_size > 10_000


def test_the_band_is_told_from_paper_and_lines_in_grey(swept: Swept) -> None:
    grey = look.lightness(BAND.colour)
    assert look.lightness(look.PAPER) - grey > look.LEAST_STEP
    assert all(grey - look.lightness(role.colour) > 2 * look.LEAST_STEP for role in (MEAN, WORST, HELD))
    figure = curve_chart(of_sweep(swept(ROOFS), "us"), "us")
    for _, area in bands(figure):
        assert to_hex(np.asarray(area.get_facecolor())[0]) == BAND.colour
        assert area.get_zorder() < min(
            line.get_zorder() for line in area.axes.lines if line.get_marker() == "o"
        )
    inside = [box for _, box in boxes(figure)]
    assert all(box.x0 >= 0 and box.x1 <= figure.bbox.width for box in inside), "no words are cut"
