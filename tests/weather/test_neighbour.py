"""Filling from the nearest good station in the ratio of normals."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest

from holdwater.errors import InputError
from holdwater.scenario.schema import Weather
from holdwater.weather import Origin, Record, read_weather
from holdwater.weather.neighbour import normal_ratio
from tests.weather.files import days_from, plausible_rain, rain_of, table


def test_normal_ratio_worked_example() -> None:
    """P 98.9, 120.5, 110.0 mm; normals 331.3 against 290.8, 325.9, 360.5: 112.3 mm, a textbook's worked example.

    The published figure comes from rounded ratios; unrounded it is 112.1.
    """
    values, normals, own = [98.9, 120.5, 110.0], [290.8, 325.9, 360.5], 331.3
    ratios = [own / n for n in normals]
    assert ratios == pytest.approx([1.139, 1.017, 0.919], abs=0.001)
    assert normal_ratio(values, normals, own) == pytest.approx(112.1, abs=0.05)
    rounded = sum(round(r, 2) * v for r, v in zip(ratios, values, strict=True)) / 3
    assert rounded == pytest.approx(112.3, abs=0.1)


DAYS = days_from("2010-01-01", 800)
RAIN = plausible_rain(800, seed=9)


def fill(
    tmp_path: Path, own: list[float | str], theirs: list[float | str] | None, shift: int = 0, **keys: object
) -> Record:
    """Own gauge with holes and a neighbour with 1.25 times the rain (or as given)."""
    other = theirs if theirs is not None else [round(r * 1.25, 2) for r in RAIN]
    other_days = days_from("2010-01-01", 800 + shift)[shift:]
    (tmp_path / "own.csv").write_text(table("date,rain_mm", list(zip(DAYS, own, strict=True))))
    (tmp_path / "other.csv").write_text(table("date,rain_mm", list(zip(other_days, other, strict=False))))
    weather = Weather.model_validate(
        {"file": "own.csv", "missing_days": "neighbour", "neighbour": "other.csv", **keys}
    )
    return read_weather(weather, tmp_path)


def holed(*holes: int) -> list[float | str]:
    return ["" if i in holes else r for i, r in enumerate(RAIN)]


def test_missing_days_take_the_neighbours_rain_times_the_ratio(tmp_path: Path) -> None:
    holes = range(100, 140)
    record = fill(tmp_path, holed(*holes), None)
    filled = record.data["origin"].values == Origin.NEIGHBOUR
    assert filled.sum() == 40
    np.testing.assert_allclose(rain_of(record)[100:140], RAIN[100:140], rtol=0.01, atol=0.01)
    wet = np.array(RAIN) > 0
    assert (rain_of(record) > 0).sum() == wet.sum()  # no drizzle is invented
    notes = " | ".join(record.provenance.notes)
    assert "40 days filled from the neighbour 'other.csv' times 0.80" in notes
    assert "760 common days" in notes
    assert record.provenance.filled == 40


def test_days_the_neighbour_does_not_know_either_stop_the_run(tmp_path: Path) -> None:
    theirs = [round(r * 1.25, 2) if i != 101 else "" for i, r in enumerate(RAIN)]
    with pytest.raises(InputError, match=r"and at the neighbour: 1 day has no rain value .* on 2010-04-12"):
        fill(tmp_path, holed(100, 101), theirs)


def test_a_neighbour_with_too_few_days_in_common(tmp_path: Path) -> None:
    with pytest.raises(InputError, match=r"shares 98 days with 'own.csv'; at least 365 are needed"):
        fill(tmp_path, holed(50, 51), list(RAIN[:100]))


def test_a_neighbour_in_the_wrong_unit_or_of_another_climate(tmp_path: Path) -> None:
    with pytest.raises(InputError, match=r"no neighbour, or one of the units is wrong"):
        fill(tmp_path, holed(50), [round(r / 6, 2) for r in RAIN])


def test_a_neighbour_a_day_apart_is_told(tmp_path: Path) -> None:
    record = fill(tmp_path, holed(400), [round(r * 1.25, 2) for r in RAIN], shift=1)
    assert any("agrees better with this record one day earlier" in n for n in record.provenance.notes)


def test_the_neighbour_has_keys_of_its_own(tmp_path: Path) -> None:
    inches = [round(r / 25.4, 3) for r in RAIN]
    (tmp_path / "other.txt").write_text(table("date,rain", list(zip(DAYS, inches, strict=True))))
    record = fill(tmp_path, holed(10), None, neighbour={"file": "other.txt", "rain_unit": "in"})
    assert rain_of(record)[10] == pytest.approx(RAIN[10], abs=0.05)


def test_gaps_outside_the_run_are_left_alone(tmp_path: Path) -> None:
    theirs: list[float | str] = [round(r * 1.25, 2) if i != 5 else "" for i, r in enumerate(RAIN)]
    fill(tmp_path, holed(100), theirs)
    weather = Weather.model_validate(
        {"file": "own.csv", "missing_days": "neighbour", "neighbour": "other.csv"}
    )
    (tmp_path / "own.csv").write_text(table("date,rain_mm", list(zip(DAYS, holed(5, 100), strict=True))))
    record = read_weather(weather, tmp_path, first=DAYS[50])
    assert record.provenance.filled == 1
