from __future__ import annotations

import re
from itertools import pairwise
from typing import Any

import numpy as np
import pytest
from matplotlib.figure import Figure
from matplotlib.patches import PathPatch

from holdwater.charts import gallons_chart, look
from holdwater.charts.gallons import LOST, streams
from holdwater.units import show
from tests.charts.gardens import bed, garden_run
from tests.charts.runs import HOUSE_100, TANK_1000, Result, boxes, result, title


def volumes(run: Result, side: int) -> dict[str, float]:
    return {stream.name: stream.volume for stream in streams(*run)[side]}


def bands(figure: Figure) -> list[tuple[str, float, float]]:
    """Label of every band, and how thick it is at both ends [in]."""
    found = []
    for patch in figure.axes[0].patches:
        if isinstance(patch, PathPatch) and len(patch.get_path().vertices) == 9:
            y = patch.get_path().vertices[:, 1]
            found.append((str(patch.get_label()), float(y[0] - y[7]), float(y[3] - y[4])))
    return found


@pytest.mark.parametrize("name", ["thirty_years", "one_year", "hauled", "never_dry", "once_dry", "nothing"])
def test_what_came_is_what_went(name: str, request: pytest.FixtureRequest) -> None:
    run: Result = request.getfixturevalue(name)
    came, went = (sum(volumes(run, side).values()) for side in (0, 1))
    assert came == pytest.approx(went, rel=1e-3, abs=1.0), "up to what is too small to draw"


def test_every_end_by_hand() -> None:
    # 10 mm on 20 m2 at 0.8: 200 L of rain, 40 L never run off, 160 L into a tank of 1000 L that starts with
    # 900 L; two days of 100 L asked, yield after spillage: spilled 900 + 160 - 1000 = 60 L on the first day
    roof = {"name": "roof", "area": "20 m2", "runoff_coefficient": 0.8, "feeds": "tank"}
    run = result([10.0, 0.0], roof=[roof], tank=[TANK_1000], draw=[HOUSE_100], run={"start_full": 0.9})
    assert volumes(run, 0) == pytest.approx({"rain on the roofs": 200.0, "taken out of storage": 100.0})
    assert volumes(run, 1) == pytest.approx(
        {"never reached a gutter": 40.0, "overflow": 60.0, "house": 200.0}
    )
    figure = gallons_chart(*run, "metric")
    assert (
        title(figure)
        == "Of every 100 L of rain and stored water, 67 came to use; the largest loss, 20, was the overflow."
    )
    said = [text for text, _ in boxes(figure)]
    assert "200 L, 67 %" in said
    assert "60 L, 20 %" in said
    assert "40 L, 13 %" in said


def test_bands_are_as_thick_as_their_water_at_both_ends(thirty_years: Result) -> None:
    figure = gallons_chart(*thirty_years, "us")
    went = [stream for stream in streams(*thirty_years)[1] if stream.volume > 0]
    drawn = bands(figure)
    assert [label for label, _, _ in drawn] == [stream.role.label for stream in went]
    thick = np.array([left for _, left, _ in drawn])
    assert [right for *_, right in drawn] == pytest.approx(thick.tolist())
    shares = np.array([stream.volume for stream in went])
    assert (thick / thick.sum()).tolist() == pytest.approx((shares / shares.sum()).tolist())


@pytest.mark.parametrize("system", ["us", "metric"])
def test_amounts_are_those_of_an_average_year(system: Any, thirty_years: Result) -> None:
    figure = gallons_chart(*thirty_years, system)
    years = thirty_years[0].days.size / 365.25
    rain = show(thirty_years[1].totals_L["rain_on_roofs"] / years, "volume", system)
    assert any(text.startswith(f"{rain} a year, ") for text, _ in boxes(figure))


def test_draws_and_backup_come_by_name(thirty_years: Result) -> None:
    ledger, scores = thirty_years
    came, went = streams(*thirty_years)
    served = (ledger.data["delivered"] + ledger.data["backup_served"]).sum("time")
    for name in ("house", "garden"):
        (stream,) = [s for s in went if s.name == name]
        assert stream.use
        assert stream.volume == pytest.approx(float(served.sel(draw=name)))
    (backup,) = [s for s in came if s.name == "backup"]
    assert backup.volume == pytest.approx(scores.totals_L["backup"])
    assert {s.name for s in went if not s.use} >= {"overflow", "first flush", "leak"}


def test_first_flush_led_to_a_bed_counts_as_used() -> None:
    flush = {"volume": "100 L", "drains_in": "1 day", "to": "tomatoes"}
    roof = {"name": "barn", "area": "50 m2", "runoff_coefficient": 1.0, "feeds": "tank", "first_flush": flush}
    run = garden_run([5.0] * 60, "2021-05-01", [bed()], roof=[roof])
    led = [s for s in streams(*run)[1] if s.name == "first flush led to a bed"]
    assert led[0].volume == pytest.approx(6000.0)
    assert led[0].use
    assert "first flush" not in volumes(run, 1)


def test_titles(nothing: Result, never_dry: Result) -> None:
    assert title(gallons_chart(*nothing, "us")) == "No water came in and none went out."
    assert title(gallons_chart(*never_dry, "us")) == (
        "Of every 100 gal of stored water, 100 came to use, and next to nothing was lost."
    )
    bare = {"name": "roof", "area": "20 m2", "runoff_coefficient": 0.5, "feeds": "tank"}
    run = result([10.0] * 3, roof=[bare], tank=[TANK_1000], draw=[HOUSE_100])
    assert re.search(
        r"the largest loss, \d+, was what never reached a gutter\.$", title(gallons_chart(*run, "us"))
    )


def test_long_names_are_cut_to_their_room() -> None:
    long = {"name": "the washing machine and the bath of the guests in the far barn"[:60], "kind": "fixed"}
    run = result([1.0] * 400, draw=[long | {"per_day": "10 L/day"}])
    figure = gallons_chart(*run, "us")
    (name,) = [(text, box) for text, box in boxes(figure) if text.startswith("the washing")]
    assert name[0].endswith("…")
    assert name[1].x1 < figure.bbox.x1


def test_what_touches_differs_in_grey() -> None:
    in_order = (
        LOST.colour,
        look.FIRST_FLUSH.colour,
        look.OVERFLOW.colour,
        look.LEAK.colour,
        look.DELIVERED.colour,
    )
    for one, two in pairwise(in_order):
        assert abs(look.lightness(one) - look.lightness(two)) >= look.LEAST_STEP, (one, two)
