"""The chart of a weather record: what it shows is what the record holds."""

from __future__ import annotations

import itertools
from typing import Any, get_args

import numpy as np
import pytest
from matplotlib.collections import PolyCollection
from matplotlib.colors import to_hex
from matplotlib.figure import Figure

from holdwater.charts import look, record
from holdwater.charts.record import record_chart
from holdwater.units import System
from holdwater.weather import Origin, Provenance, Record
from holdwater.weather.record import daily_dataset
from tests.charts.runs import boxes, shown


def made(first: str, last: str, marks: dict[tuple[str, str], Origin] | None = None) -> Record:
    """An invented record, 3 mm every third day, with stretches of other origins."""
    days = np.arange(np.datetime64(first), np.datetime64(last) + 1)
    rain = np.where(np.arange(days.size) % 3 == 0, 3.0, 0.0)
    origin = np.full(days.size, Origin.OBSERVED, dtype=np.int8)
    for (start, stop), code in (marks or {}).items():
        inside = (days >= np.datetime64(start)) & (days <= np.datetime64(stop))
        origin[inside] = code
        if code is Origin.MISSING:
            rain[inside] = np.nan
    known = Provenance(
        "invented.csv", place="nowhere", licence="none needed, invented", units_as_read="rain in mm"
    )
    return Record(daily_dataset(days, rain, origin), known)


HOLES = {
    ("2001-03-05", "2001-03-14"): Origin.MISSING,
    ("2002-07-04", "2002-07-04"): Origin.MISSING,
    ("2003-11-01", "2003-11-30"): Origin.CLIMATE,
    ("2003-01-01", "2003-01-04"): Origin.SPREAD,
}
RECORDS = {
    "holes": made("2000-01-01", "2004-12-31", HOLES),
    "whole": made("1996-01-01", "2025-12-31"),
    "long": made("1871-01-01", "2020-12-31", {("1900-01-01", "1901-12-31"): Origin.MISSING}),
    "short": made("2024-05-01", "2024-05-28", {("2024-05-09", "2024-05-09"): Origin.MISSING}),
}


def title(figure: Figure) -> str:
    """The finding."""
    return " ".join(next(t.get_text() for t in figure.texts if t.get_fontsize() == look.TITLE).split())


def marked(figure: Figure, role: look.Role) -> list[tuple[float, float, float]]:
    """Column, first and last row of every stretch drawn in the look of a role."""
    below = figure.axes[1]
    found = [c for c in below.collections if isinstance(c, PolyCollection) and c.get_label() == role.label]
    corners = [np.asarray(path.vertices) for c in found for path in c.get_paths()]
    return [(float(v[:, 0].mean().round()), float(v[:, 1].min()), float(v[:, 1].max())) for v in corners]


@pytest.mark.parametrize(("system", "factor"), [("metric", 1.0), ("us", 1 / 25.4)])
def test_bars_are_the_rain_of_the_years_and_partly_known_years_are_hatched(
    system: System, factor: float
) -> None:
    source = RECORDS["holes"]
    above: Any = record_chart(source, system).axes[0]
    bars = sorted(above.patches, key=lambda bar: bar.get_x())
    years = source.days.astype("datetime64[Y]").astype(int) + 1970
    rain = source.data["rain"].values
    expected = [np.nansum(rain[years == year]) * factor for year in range(2000, 2005)]
    assert [bar.get_height() for bar in bars] == pytest.approx(expected)
    assert [bool(bar.get_hatch()) for bar in bars] == [False, True, True, False, False]
    mean = np.mean([expected[0], expected[3], expected[4]])
    assert above.lines[0].get_ydata()[0] == pytest.approx(mean)
    assert f"[{'mm' if system == 'metric' else 'in'}]" in above.get_ylabel()


def test_missing_filled_and_spread_days_stand_in_their_year_and_season() -> None:
    figure = record_chart(RECORDS["holes"], "metric")
    assert marked(figure, look.FILLED) == [(3.0, 305.0, 335.0)]
    assert marked(figure, record.SPREAD) == [(3.0, 0.0, 4.0)]
    long, single = sorted(marked(figure, record.MISSING))
    assert long == (1.0, 64.0, 74.0)
    assert single[0] == 2.0
    assert single[2] - single[1] == record.LEAST_SEEN  # a single day is drawn so that it can be seen
    assert (single[1] + single[2]) / 2 == 31 + 29 + 31 + 30 + 31 + 30 + 3.5
    words = [t.get_text() for t in figure.axes[1].texts]
    assert {"10", "1", "days\nmissing"} <= set(words)


@pytest.mark.parametrize(
    ("name", "said"),
    [
        (
            "holes",
            "365 mm of rain in a mean year, from 363 mm (2003) to 366 mm (2000); 11 days are missing, 10 of them "
            "together from 5 March 2001; 30 days are filled in, all together from 1 November 2003.",
        ),
        ("whole", "no day of 30 years is missing."),
        ("long", "730 days are missing, all together from 1 January 1900."),
        ("short", "30 mm of rain on the 27 days known; 1 day is missing, on 9 May 2024."),
    ],
)
def test_the_title_says_the_finding(name: str, said: str) -> None:
    assert said in title(record_chart(RECORDS[name], "metric"))


def test_the_foot_names_source_licence_span_and_units() -> None:
    foot = " ".join(t.get_text().replace("\n", " ") for t in record_chart(RECORDS["holes"], "us").texts)
    assert "Weather: invented.csv, nowhere. Licence: none needed, invented." in foot
    assert "Period: 1 Jan 2000 to 31 Dec 2004 (1,827 days). Read as rain in mm. Day ends: not stated." in foot


@pytest.mark.parametrize("system", get_args(System))
@pytest.mark.parametrize("name", RECORDS)
def test_no_words_are_cut_and_none_lie_on_others(name: str, system: System) -> None:
    figure = record_chart(RECORDS[name], system)
    placed = boxes(figure)
    for text, box in placed:
        assert figure.bbox.x0 <= box.x0, text
        assert box.x1 <= figure.bbox.x1, text
        assert figure.bbox.y0 <= box.y0, text
        assert box.y1 <= figure.bbox.y1, text
    for (text, box), (other, beside) in itertools.combinations(placed, 2):
        wide = min(box.x1, beside.x1) - max(box.x0, beside.x0)
        high = min(box.y1, beside.y1) - max(box.y0, beside.y0)
        assert min(wide, high) < 1.5, f"{text!r} lies on {other!r}"


def test_what_touches_differs_in_grey() -> None:
    solid = [record.OBSERVED, record.SPREAD, record.MISSING]
    for one, two in itertools.combinations(solid, 2):
        assert abs(look.lightness(one.colour) - look.lightness(two.colour)) >= look.LEAST_STEP
    assert all(role.hatch for role in (record.PART, record.DECLARED, look.FILLED))


def test_the_legend_names_only_what_is_in_the_picture() -> None:
    def entries(name: str) -> set[str]:
        return {t.get_text() for t in record_chart(RECORDS[name], "us").legends[0].get_texts()}

    assert entries("whole") == {"rain of a complete year", record.MEAN.label, record.OBSERVED.label}
    assert {record.MISSING.label, look.FILLED.label, record.SPREAD.label, record.PART.label} <= entries(
        "holes"
    )
    assert to_hex(record.MISSING.colour) == "#560a24"
    assert len(shown(record_chart(RECORDS["short"], "us"))) > 5
