from __future__ import annotations

import numpy as np
import pytest

from holdwater.charts import calendar_chart, look
from holdwater.charts.calendar import COVERED, NO_DRY_DAY, OUTSIDE, UNSERVED, season
from tests.charts.runs import Result, dry_from, legend, ticks, title


def cells(run: Result) -> np.ndarray:
    """What the picture's cells stand for."""
    (image,) = calendar_chart(*run, "us").axes[0].images
    return np.asarray(image.get_array())


def test_every_day_has_one_cell(thirty_years: Result) -> None:
    ledger, scores = thirty_years
    found = cells(thirty_years)
    assert found.shape == (30, 366)
    assert (found != OUTSIDE).sum() == ledger.days.size
    assert (found == UNSERVED).sum() == scores.unserved_days
    assert ((found == COVERED) | (found == UNSERVED)).sum() == scores.dry_days.total
    assert (found == NO_DRY_DAY).sum() == (~scores.dry_day).sum()
    assert 0 < scores.unserved_days < scores.dry_days.total


def test_rows_are_years_and_columns_days(thirty_years: Result) -> None:
    ledger, scores = thirty_years
    found = cells(thirty_years)
    first = ledger.days[np.flatnonzero(scores.dry_day)[0]].item()
    row, column = np.argwhere(found >= COVERED)[0]
    assert row == first.year - 1996
    leap_year_day = first.replace(year=2000).timetuple().tm_yday
    assert column == leap_year_day - 1
    by_year = (found >= COVERED).sum(axis=1).tolist()
    assert by_year == [scores.dry_days.by_year[year] for year in range(1996, 2026)]


def test_the_29_february_is_there_in_leap_years_only(thirty_years: Result) -> None:
    found = cells(thirty_years)[:, 31 + 28]
    leap = [year for year, cell in zip(range(1996, 2026), found, strict=True) if cell != OUTSIDE]
    assert leap == list(range(1996, 2026, 4))


def test_dry_and_unserved_days_differ_in_grey_from_each_other_and_from_the_rest(thirty_years: Result) -> None:
    figure = calendar_chart(*thirty_years, "us")
    (image,) = figure.axes[0].images
    dark = [look.lightness(image.cmap(image.norm(code))[:3]) for code in (COVERED, UNSERVED)]
    ground = look.lightness(look.NO_DRY_DAY.colour)
    assert ground - dark[0] >= look.LEAST_STEP
    assert dark[0] - dark[1] >= look.LEAST_STEP
    assert image.cmap(image.norm(OUTSIDE))[3] == image.cmap(image.norm(NO_DRY_DAY))[3] == 0
    assert {look.NO_DRY_DAY.label, look.COVERED.label, look.UNSERVED.label} <= set(legend(figure))


def test_years_and_their_dry_days_are_written(thirty_years: Result) -> None:
    _, scores = thirty_years
    axes = calendar_chart(*thirty_years, "us").axes[0]
    assert ticks(axes.yaxis) == [str(y) for y in range(1996, 2026)]
    counts = [t.get_text() for t in axes.texts if t.get_text().isdigit()]
    assert counts == [str(n) for n in scores.dry_days.by_year.values()]


def test_months_carry_their_dry_days(thirty_years: Result) -> None:
    ledger, scores = thirty_years
    said = ticks(calendar_chart(*thirty_years, "us").axes[0].xaxis)
    months = ledger.days[scores.dry_day].astype("datetime64[M]").astype(int) % 12
    assert [s.split("\n")[0] for s in said][::11] == ["Jan", "Dec"]
    assert [int(s.split("\n")[1].replace(",", "")) for s in said] == np.bincount(
        months, minlength=12
    ).tolist()


def test_months_without_record_carry_no_number() -> None:
    said = ticks(calendar_chart(*dry_from(2, 20), "us").axes[0].xaxis)
    assert said[0] == "Jan\n2"
    assert said[1:] == ["Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec"]


def test_water_years_begin_with_their_month(hauled: Result) -> None:
    ledger, _ = hauled
    axes = calendar_chart(*hauled, "us").axes[0]
    assert [s.split("\n")[0] for s in ticks(axes.xaxis)][:2] == ["Oct", "Nov"]
    assert axes.get_ylabel() == "Year ending in September"
    assert ticks(axes.yaxis) == ["2020", "2021", "2022", "2023", "2024", "2025"]
    found = cells(hauled)
    assert (found != OUTSIDE).sum() == ledger.days.size
    assert np.flatnonzero(found[0] != OUTSIDE)[0] == 31 + 30 + 31 + 31 + 29 + 31  # 1 April
    assert (found[-1] != OUTSIDE).sum() == 10


def test_titles(thirty_years: Result) -> None:
    assert title(calendar_chart(*dry_from(0, 30), "us")) == (
        "No dry day in 30 days: the tanks gave every draw all it asked for."
    )
    assert title(calendar_chart(*dry_from(1, 365), "us")) == "The only dry day in 2001 was 31 December 2001."
    assert title(calendar_chart(*dry_from(2, 365), "us")) == "Both dry days fell in December."
    assert title(calendar_chart(*dry_from(20, 365), "us")) == "All 20 dry days fell in December."
    assert title(calendar_chart(*dry_from(50, 380, "2001-01-01"), "us")) == (
        "46 of 50 dry days fell in December and January; the worst year was 2001 with 35."
    )
    scores = thirty_years[1]
    said = title(calendar_chart(*thirty_years, "us"))
    worst = max(scores.dry_days.by_year, key=lambda year: scores.dry_days.by_year[year])
    late = np.isin(thirty_years[0].days.astype("datetime64[M]").astype(int) % 12, [7, 8])
    within = int((scores.dry_day & late).sum())
    assert f"{within} of {scores.dry_days.total:,} dry days fell in August and September" in said
    assert f"the worst year was {worst} with {scores.dry_days.by_year[worst]}" in said
    without = sum(n == 0 for n in scores.dry_days.by_year.values())
    assert without > 0
    assert f"{without} of 30 years had none" in said


@pytest.mark.parametrize(
    ("by_month", "months"),
    [
        ([0, 0, 0, 0, 0, 0, 0, 10, 0, 0, 0, 0], [8]),
        ([5, 0, 0, 0, 0, 0, 0, 0, 0, 0, 1, 6], [12, 1]),
        ([0, 0, 0, 0, 0, 1, 30, 40, 30, 1, 0, 0], [7, 8, 9]),
        ([1] * 12, [1, 2, 3, 4, 5, 6, 7, 8, 9]),
    ],
)
def test_the_shortest_run_of_months_with_three_quarters_of_the_dry_days(
    by_month: list[int], months: list[int]
) -> None:
    found = season(np.array(by_month))
    assert sorted(np.flatnonzero(found) + 1) == sorted(months)
