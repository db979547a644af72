"""The tables of surfaces and animals: published values, ranges, a source in every row."""

from __future__ import annotations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from holdwater.scenario import tables
from holdwater.scenario.schema import Roof

GALLON = 3.785411784  # L
HOW_KNOWN = {"read", "read in part", "read second-hand", "from memory", "common practice"}
BEEF = {  # gal/head/day by degF: Kansas State University Extension after NRC 1996
    "cow, lactating": {40: 11.4, 60: 14.5, 70: 16.3, 80: 17.9, 90: 21.6},
    "cow, dry": {70: 10.8, 80: 12.4, 90: 17.6},
    "steer, 800 lb": {40: 6.3, 70: 9.3, 80: 10.6, 90: 14.0},
    "bull": {70: 12.7, 80: 14.6, 90: 19.5},
}
POULTRY = {  # gal/100 head/day at 68 and 90 degF: University of Kentucky, Table 12.1
    "hen, laying": (5.55, 10.57),
    "broiler": (6.60, 13.21),
    "turkey tom": (26.42, 47.55),
}


def celsius(fahrenheit: float) -> float:
    return (fahrenheit - 32) / 1.8


@pytest.mark.parametrize("table", ["surfaces", "animals"])
def test_every_row_names_its_source(table: str) -> None:
    for row in tables.rows(table):
        assert row["source"].strip(), row
        assert row["how_known"] in HOW_KNOWN, row
        assert None not in row, f"a field too many in {row}"
        assert all(value is not None for value in row.values()), f"a field too few in {row}"


def test_no_surface_is_given_twice() -> None:
    assert len(tables.rows("surfaces")) == len(tables.surfaces())


@pytest.mark.parametrize("name", list(tables.surfaces()))
def test_coefficients_lie_in_their_range(name: str) -> None:
    row = tables.surfaces()[name]
    assert 0 < row.low <= row.used <= row.high <= 1


def test_smooth_sloping_roofs_shed_most() -> None:
    """Farreny et al. 2011: smooth sloping roofs 0.90 or more; gravel and green roofs far less."""
    table = tables.surfaces()
    assert table["metal"].used >= 0.90
    assert table["metal"].used > table["clay tile"].used > table["gravel, flat"].used > table["green"].used


def test_a_roofs_own_coefficient_counts_before_the_table() -> None:
    words = {"name": "barn", "area": "1000 ft2", "feeds": "upper"}
    assert tables.runoff_coefficient(Roof.model_validate(words | {"surface": "clay tile"})) == 0.80
    assert tables.runoff_coefficient(Roof.model_validate(words | {"runoff_coefficient": "85 %"})) == 0.85


@pytest.mark.parametrize("animal", list(BEEF))
def test_beef_cattle_at_the_published_temperatures(animal: str) -> None:
    for fahrenheit, gallons in BEEF[animal].items():
        assert tables.animals()[animal].litres_at(celsius(fahrenheit)) == pytest.approx(gallons * GALLON)


def test_a_lactating_cow_at_room_temperature() -> None:
    """Between the published 14.5 gal at 60 degF and 16.3 gal at 70 degF, at 68 degF: 15.94 gal."""
    assert tables.animals()["cow, lactating"].litres_at() == pytest.approx(15.94 * GALLON)


@pytest.mark.parametrize("animal", list(POULTRY))
def test_poultry_at_the_published_temperatures(animal: str) -> None:
    mild, hot = POULTRY[animal]
    table = tables.animals()[animal]
    assert table.litres_at(20.0) == pytest.approx(mild / 100 * GALLON)
    assert table.litres_at(celsius(90)) == pytest.approx(hot / 100 * GALLON)
    assert table.litres_at(celsius(79)) == pytest.approx((mild + hot) / 200 * GALLON)


@pytest.mark.parametrize(
    ("animal", "litres"),
    [
        # extension lists, gal/head/day: horse 8-14, ewe 3-4, doe goat 2-3, sow 5; the middle of a range is used
        ("horse", 11 * GALLON),
        ("ewe", 3.5 * GALLON),
        ("doe", 2.5 * GALLON),
        ("sow", 5 * GALLON),
        # old New Zealand list, L/day: lactating cattle 70, dry 45, grazing horse 35, sheep 4, 100 poultry 20
        ("dairy cow, lactating", 70),
        ("dairy cow, dry", 45),
        ("horse, grazing", 35),
        ("sheep", 4),
        ("poultry", 0.2),
    ],
)
def test_animals_without_a_temperature(animal: str, litres: float) -> None:
    table = tables.animals()[animal]
    assert table.litres_at() == pytest.approx(litres)
    assert table.litres_at(-10) == table.litres_at(40)


def test_ranges_are_kept_beside_the_value_used() -> None:
    (row,) = tables.animals()["horse"].rows
    assert (row.low, row.high) == pytest.approx((8 * GALLON, 14 * GALLON))
    assert "middle of the range" in row.note


def test_dry_and_milking_does_take_the_ends_of_the_published_range() -> None:
    """Extension lists give 2-3 gal for a doe goat; which end is which is common practice, and says so."""
    for animal, gallons in (("doe, dry", 2), ("doe, milking", 3)):
        table = tables.animals()[animal]
        assert table.litres_at() == pytest.approx(gallons * GALLON)
        assert table.rows[0].how_known == "common practice"


@pytest.mark.parametrize("animal", list(tables.animals()))
@settings(deadline=None)
@given(cool=st.floats(-30, 45), warmer=st.floats(0, 20))
def test_warmer_air_never_means_less_water(animal: str, cool: float, warmer: float) -> None:
    table = tables.animals()[animal]
    assert 0 < table.litres_at(cool) <= table.litres_at(cool + warmer) * (1 + 1e-12)


def test_sources_of_an_animal_are_named_once() -> None:
    assert tables.animals()["hen, laying"].source == "University of Kentucky, Table 12.1"
