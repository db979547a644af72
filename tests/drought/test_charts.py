"""The outlook, the calibration and the SPI rows of the drought timeline: what the pictures show."""

from __future__ import annotations

import datetime as dt
import itertools
from typing import Any, get_args

import numpy as np
import pytest

from holdwater import spi
from holdwater.charts import look
from holdwater.charts.calibration import FOUND, READ, WRITTEN, calibration_chart
from holdwater.charts.drought import NOT_DRY, SPI_CLASSES, drought_chart
from holdwater.charts.outlook import DRY, FULL_AGAIN, INNER, LEANEST, MEDIAN, OUTER, calm, outlook_chart
from holdwater.scores import score
from holdwater.simulation import simulate
from holdwater.studies import saving
from holdwater.studies.calibrate import Calibration, calibrate
from holdwater.studies.gauges import read_held
from holdwater.studies.odds import by_date, fan
from holdwater.studies.outlook import Outlook, outlook
from holdwater.units import System, scale
from tests.charts.runs import Result, boxes, foot, legend, shown, ticks, title, wet_winters
from tests.drought.test_calibrate import TRUE, log_of, rain
from tests.drought.test_calibrate import WRITTEN as BARN
from tests.holdings import holding, record

SYSTEMS = pytest.mark.parametrize("system", get_args(System))
ROOF = {"name": "barn", "area": "200 m2", "runoff_coefficient": 0.9, "feeds": "tank"}
TANK = {"name": "tank", "capacity": "20 m3", "diameter": "3 m", "outlet": "8 cm"}
HOUSE = {"name": "house", "kind": "fixed", "per_day": "240 L/day"}


@pytest.fixture(scope="module")
def seen() -> Outlook:
    """Thirty years ahead of a dry summer."""
    scenario = holding(
        title="Larkfield: invented", roof=[ROOF], tank=[TANK], draw=[HOUSE], reserve={"volume": "500 L"}
    )
    weather = record(wet_winters("1991-01-01", "2020-12-31").tolist(), "1991-01-01")
    return outlook(scenario, weather, read_held(["60 %"], scenario), dt.date(2021, 5, 1), 150)


@pytest.fixture(scope="module")
def few() -> Outlook:
    """Three years."""
    scenario = holding(tank=[TANK], roof=[ROOF], draw=[HOUSE])
    weather = record(wet_winters("2018-01-01", "2020-12-31").tolist(), "2018-01-01")
    return outlook(scenario, weather, read_held(["60 %"], scenario), dt.date(2021, 5, 1), 30)


@pytest.fixture(scope="module")
def fitted() -> Calibration:
    """Sixty days of readings."""
    weather = rain(60)
    return calibrate(BARN, weather, log_of(TRUE, weather, 3, 40.0, 1))


@pytest.fixture(scope="module")
def thirty() -> Result:
    """Thirty years of rain."""
    ledger = simulate(
        holding(roof=[ROOF], tank=[TANK], draw=[HOUSE]),
        record(wet_winters("1991-01-01", "2020-12-31").tolist(), "1991-01-01"),
    )
    return ledger, score(ledger)


def tidy(figure: Any) -> None:
    """No words are cut, and none lie on others."""
    placed, page = boxes(figure), figure.bbox
    assert len(placed) > 5
    for text, box in placed:
        assert page.x0 <= box.x0, text
        assert box.x1 <= page.x1, text
        assert page.y0 <= box.y0, text
        assert box.y1 <= page.y1, text
    for (text, box), (other, beside) in itertools.combinations(placed, 2):
        wide = min(box.x1, beside.x1) - max(box.x0, beside.x0)
        high = min(box.y1, beside.y1) - max(box.y0, beside.y0)
        assert min(wide, high) < 1.5, f"{text!r} lies on {other!r}"


def line(axes: Any, role: look.Role) -> Any:
    (found,) = [made for made in axes.lines if made.get_label() == role.label]
    return found


def grey(roles: list[look.Role]) -> list[float]:
    return [look.lightness(role.colour) for role in roles]


@SYSTEMS
def test_the_outlook_is_tidy_with_many_years_and_with_few(
    system: System, seen: Outlook, few: Outlook
) -> None:
    shares = saving.read_saving(["40 %"], seen.scenario)
    tidy(outlook_chart(seen, system, saving.first_day(seen, shares)))
    tidy(outlook_chart(few, system))


@SYSTEMS
def test_median_and_leanest_year_stand_where_the_numbers_are(system: System, seen: Outlook) -> None:
    figure: Any = outlook_chart(seen, system)
    factor, unit = scale("bulk", system)
    median = fan(seen.storage, 0.5)
    assert median is not None
    np.testing.assert_allclose(line(figure.axes[0], MEDIAN).get_ydata(), calm(median * factor))
    leanest = seen.storage.mean(axis=1).argmin()
    np.testing.assert_allclose(line(figure.axes[0], LEANEST).get_ydata(), seen.storage[leanest] * factor)
    assert f"leanest year, {seen.years[leanest]}" in legend(figure)
    assert figure.axes[0].get_ylabel() == f"water above the outlets\nin the evening [{unit}]"
    drawn = [made for made in figure.axes[0].lines if len(made.get_xdata()) == seen.days.size + 1]
    assert len(drawn) == 2, "no line for every single year"
    assert figure.axes[0].get_xlim() == figure.axes[1].get_xlim()


def test_a_load_makes_no_tooth_and_the_ends_stay_where_they_are() -> None:
    saw = np.array([3.0, 2.0, 1.0, 8.0, 7.0, 6.0, 5.0, 4.0, 3.0])
    assert calm(saw) == pytest.approx([3.0, 2.0, 4.2, 32 / 7, 33 / 7, 34 / 7, 5.0, 4.0, 3.0])
    assert calm(np.full(30, 5.0)) == pytest.approx(np.full(30, 5.0))


def test_bands_hold_the_years_they_name(seen: Outlook) -> None:
    figure: Any = outlook_chart(seen, "metric")
    for role, low, high in ((OUTER, 0.1, 0.9), (INNER, 0.25, 0.75)):
        (band,) = [c for c in figure.axes[0].collections if c.get_label() == role.label]
        heights = band.get_paths()[0].vertices[:, 1]
        bottom, top = fan(seen.storage, low), fan(seen.storage, high)
        assert bottom is not None
        assert top is not None
        assert heights.min() == pytest.approx(calm(bottom).min() / 1000.0)
        assert heights.max() == pytest.approx(calm(top).max() / 1000.0)


def test_three_years_have_no_band_of_eight_in_ten(few: Outlook) -> None:
    said = legend(outlook_chart(few, "us"))
    assert OUTER.label not in said
    assert INNER.label in said


def test_odds_are_shares_of_the_years_and_counted_at_the_end(seen: Outlook) -> None:
    figure: Any = outlook_chart(seen, "us")
    below = figure.axes[1]
    for role, first in ((DRY, seen.first_dry), (FULL_AGAIN, seen.first_full)):
        share = line(below, role).get_ydata()
        np.testing.assert_allclose(share, 100.0 * by_date(first, 150) / 30)
        assert f"{np.isfinite(first).sum()} of 30" in [t.get_text() for t in below.texts]
    assert ticks(below.yaxis) == ["0 %", "25 %", "50 %", "75 %", "100 %"]


def test_the_title_of_an_outlook_counts_the_years_that_run_dry(seen: Outlook, few: Outlook) -> None:
    dry = int(np.isfinite(seen.first_dry).sum())
    assert 0 < dry < 30
    assert title(outlook_chart(seen, "metric")).startswith(
        f"With 11.7 m3 on 1 May 2021 the tanks run dry by 27 September 2021 in the weather of {dry} of 30 years; in"
    )
    assert title(outlook_chart(few, "us")) == (
        "With 3,080 gal on 1 May 2021 the tanks do not run dry by 30 May 2021 in the weather of any of 3 years on"
        " record."
    )


def test_the_foot_of_an_outlook_says_how_it_was_made(seen: Outlook) -> None:
    said = foot(outlook_chart(seen, "us"))
    assert "through the weather of 30 past years (1991 to 2020), one year at a time." in said
    assert "of ten years one was drier than the pale band and one wetter" in said
    assert "Levels are those at the end of the day, after the draws. Rule: YAS" in said
    assert "i/(n+1)" not in said
    assert "A worse year than any on record can come." in said


def test_the_day_to_start_saving_is_marked_in_both_parts(seen: Outlook) -> None:
    found = saving.first_day(seen, {"house": 0.6})
    assert found.start is not None
    assert 0.0 < found.start < 150.0
    figure: Any = outlook_chart(seen, "us", found)
    day = (seen.days[0] + int(found.start)).item()
    assert f"start saving by\n{day.day} {day:%b} {day.year}" in [t.get_text() for t in shown(figure)]
    place = float(seen.days[0].astype(int)) + found.start
    for axes in figure.axes:
        assert any(list(made.get_xdata()) == [place, place] for made in axes.lines)


def test_the_outlook_can_be_read_in_grey() -> None:
    assert np.diff(grey([MEDIAN, INNER, OUTER])).min() >= look.LEAST_STEP
    assert abs(np.diff(grey([DRY, FULL_AGAIN]))[0]) >= look.LEAST_STEP
    assert DRY.line != FULL_AGAIN.line


@SYSTEMS
def test_the_calibration_is_tidy(system: System, fitted: Calibration) -> None:
    tidy(calibration_chart(fitted, system))


def test_readings_and_both_simulations_stand_where_the_numbers_are(fitted: Calibration) -> None:
    figure: Any = calibration_chart(fitted, "metric")
    levels, misfits = figure.axes
    np.testing.assert_allclose(line(levels, WRITTEN).get_ydata(), fitted.before / 1000.0)
    np.testing.assert_allclose(line(levels, FOUND).get_ydata(), fitted.after / 1000.0)
    read = [one.drawable_L / 1000.0 for one in fitted.readings]
    np.testing.assert_allclose(line(levels, READ).get_ydata(), read)
    (bars,) = misfits.collections
    ends = [segment[1][1] for segment in bars.get_segments()]
    np.testing.assert_allclose(ends, fitted.residuals)
    assert (levels.get_ylabel(), misfits.get_ylabel()) == ("water above the outlets [m3]", "misfit [L]")
    first = (fitted.readings[0].on - dt.date(1970, 1, 1)).days + 1.0  # an evening
    assert line(levels, READ).get_xdata()[0] == first


def test_the_calibration_says_what_it_found_and_how_sure_it_is(fitted: Calibration) -> None:
    figure: Any = calibration_chart(fitted, "metric")
    assert title(figure).startswith("21 readings say: a runoff coefficient of 0.")
    assert "With 95 % confidence for all together: runoff 0." in foot(figure)
    assert "A leak found this way is every loss or use that the scenario does not know." in foot(figure)
    assert legend(figure) == [READ.label, WRITTEN.label, FOUND.label]
    assert abs(np.diff(grey([WRITTEN, FOUND]))[0]) >= look.LEAST_STEP


@SYSTEMS
def test_the_timeline_with_spi_is_tidy(system: System, thirty: Result) -> None:
    tidy(drought_chart(*thirty, system))


def test_every_month_of_the_index_has_its_class(thirty: Result) -> None:
    ledger, scores = thirty
    axes: Any = drought_chart(ledger, scores, "us").axes[2]
    index = spi.spi(ledger.days, ledger.flux("rain"))
    for row, values in enumerate(index.values.values()):
        for low, high, role in ((np.inf, -1.0, NOT_DRY), *SPI_CLASSES):
            wanted = ((values <= low) & (values > high)).sum()
            drawn = 0.0
            for made in axes.collections:
                if made.get_label() == role.label:
                    for path in made.get_paths():
                        x, y = path.vertices[:, 0], path.vertices[:, 1]
                        if row < y.min() < row + 1:
                            drawn += (x.max() - x.min()) / 30.44
            assert drawn == pytest.approx(wanted, rel=0.1, abs=0.3)
    assert ticks(axes.yaxis) == ["1", "3", "6", "12"]
    assert axes.get_xlim() == drought_chart(ledger, scores, "us").axes[0].get_xlim()
    assert [t.get_text() for t in axes.get_legend().get_texts()] == [role.label for _, _, role in SPI_CLASSES]


def test_the_classes_of_the_index_darken_with_dryness() -> None:
    steps = np.diff(grey([NOT_DRY, *(role for _, _, role in SPI_CLASSES)]))
    assert steps.max() <= -look.LEAST_STEP


def test_a_short_record_says_why_the_index_is_not_shown() -> None:
    ledger = simulate(
        holding(roof=[ROOF], tank=[TANK], draw=[HOUSE]),
        record(wet_winters("2016-01-01", "2020-12-31").tolist(), "2016-01-01"),
    )
    figure: Any = drought_chart(ledger, score(ledger), "us")
    assert len(figure.axes) == 2
    (said,) = [t.get_text() for t in figure.texts if "SPI" in t.get_text()]
    assert said == (
        "Not shown: the standardised precipitation index (SPI) needs 30 years of daily rain; this record has 5.0."
    )
