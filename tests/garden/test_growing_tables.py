"""The tables of crops, soils, methods, fixtures and animals: sources, ranges, sums."""

from __future__ import annotations

import numpy as np
import pytest

from holdwater.animals import herd_litres, litres_per_head
from holdwater.errors import InputError
from holdwater.scenario import tables
from holdwater.scenario.tables.growing import crops, fixtures, methods, soils

GALLON = 3.785411784


def at(*fahrenheit: float) -> list[float]:
    """Temperatures in degC."""
    return [(t - 32.0) / 1.8 for t in fahrenheit]


@pytest.mark.parametrize("table", ["crops", "soils", "methods", "fixtures"])
def test_every_row_names_its_source_and_how_it_is_known(table: str) -> None:
    for row in tables.rows(table):
        assert row["source"].strip(), row
        assert row["how_known"] in {"read", "read second-hand", "from memory"}, row


def test_crops_are_possible() -> None:
    assert len(crops()) == 24
    for crop in crops().values():
        assert 0.1 < crop.kc_ini <= 1.2, crop
        assert crop.kc_ini < crop.kc_mid <= 1.25, crop
        assert 0.2 < crop.kc_end <= crop.kc_mid + 0.001, crop
        assert 150.0 < crop.root_depth < crop.deepest <= 2000.0, crop
        assert 0.1 <= crop.p <= 0.8, crop
        assert crop.stages is None or (min(crop.stages) >= 5 and sum(crop.stages) <= 365), crop


@pytest.mark.parametrize(
    ("name", "kc", "stages", "roots", "p"),
    [
        ("tomato", (0.60, 1.15, 0.80), (30, 40, 45, 30), (700, 1500), 0.40),
        ("zucchini", (0.50, 0.95, 0.75), (20, 30, 25, 15), (600, 1000), 0.50),
        ("sweet corn", (0.30, 1.15, 1.05), (20, 25, 25, 10), (800, 1200), 0.50),
        ("strawberry", (0.40, 0.85, 0.75), None, (200, 300), 0.20),
        ("stone fruit", (0.45, 0.90, 0.65), (20, 70, 90, 30), (1000, 2000), 0.50),
        ("pasture, grazed", (0.40, 0.95, 0.85), None, (500, 1500), 0.60),
    ],
)
def test_rows_as_printed(
    name: str, kc: tuple[float, ...], stages: tuple[int, ...] | None, roots: tuple[float, ...], p: float
) -> None:
    """FAO-56 (1998) Tables 12, 11 and 22."""
    crop = crops()[name]
    assert (crop.kc_ini, crop.kc_mid, crop.kc_end) == kc
    assert crop.stages == stages
    assert (crop.root_depth, crop.deepest) == pytest.approx(roots)
    assert crop.p == p


def test_soils_hold_what_table_19_lets_them() -> None:
    """FAO-56 Table 19; sand holds least."""
    assert soils()["clay"].field_capacity == (0.32, 0.40)
    assert soils()["clay"].wilting_point == (0.20, 0.24)
    held = {name: soil.holds for name, soil in soils().items()}
    assert min(held, key=held.__getitem__) == "sand"
    assert all(0.05 < h < 0.20 for h in held.values())


def test_methods() -> None:
    """FAO training manual 4, second-hand."""
    assert methods() == {"drip": 0.90, "sprinkler": 0.75, "surface": 0.60}


def test_fixtures_add_up_to_138_gallons() -> None:
    """Residential End Uses of Water 2016: 138 gal per US household and day, indoors."""
    assert sum(float(row["gal_per_day"]) for row in tables.rows("fixtures")) == 138.0
    assert sum(fixtures().values()) == pytest.approx(138.0 * GALLON, abs=0.3)
    for row in tables.rows("fixtures"):
        assert float(row["L_per_day"]) == pytest.approx(float(row["gal_per_day"]) * GALLON, abs=0.05)


@pytest.mark.parametrize(
    ("kind", "fahrenheit", "gallons"),
    [
        ("cow, lactating", (40, 60, 70, 80, 90), (11.4, 14.5, 16.3, 17.9, 21.6)),
        ("cow, dry", (70, 80, 90), (10.8, 12.4, 17.6)),
        ("steer, 800 lb", (40, 70, 80, 90), (6.3, 9.3, 10.6, 14.0)),
        ("bull", (70, 80, 90), (12.7, 14.6, 19.5)),
        ("hen, laying", (68, 90), (0.0555, 0.1057)),
        ("broiler", (68, 90), (0.0660, 0.1321)),
        ("turkey tom", (68, 90), (0.2642, 0.4755)),
    ],
)
def test_animals_drink_the_published_amounts_and_more_in_the_heat(
    kind: str, fahrenheit: tuple[float, ...], gallons: tuple[float, ...]
) -> None:
    """Beef: Kansas State University after NRC 1996; poultry: University of Kentucky Table 12.1."""
    animal = tables.animals()[kind]
    assert litres_per_head(animal, at(*fahrenheit)) == pytest.approx(np.array(gallons) * GALLON, rel=1e-12)
    sweep = litres_per_head(animal, np.linspace(-30.0, 50.0, 801))
    assert (np.diff(sweep) >= 0.0).all()
    assert sweep[0] == pytest.approx(gallons[0] * GALLON)
    assert sweep[-1] == pytest.approx(gallons[-1] * GALLON)


def test_halfway_between_two_temperatures_is_halfway_between_their_amounts() -> None:
    cow = tables.animals()["cow, lactating"]
    assert litres_per_head(cow, at(75.0)) == pytest.approx([(16.3 + 17.9) / 2 * GALLON])


def test_an_animal_without_temperatures_drinks_the_same_always() -> None:
    """Extension lists: horse 8 to 14 gal/day, the middle is used."""
    horse = tables.animals()["horse"]
    assert litres_per_head(horse, [-10.0, np.nan, 40.0]) == pytest.approx([11.0 * GALLON] * 3)


def test_every_animal_agrees_with_the_tables_own_reading() -> None:
    grid = np.linspace(-20.0, 45.0, 14)
    for animal in tables.animals().values():
        one_by_one = [animal.litres_at(float(t)) for t in grid]
        assert litres_per_head(animal, grid) == pytest.approx(one_by_one, rel=1e-12), animal.name


def test_a_herd_is_the_sum_of_its_heads() -> None:
    day = at(70.0, 90.0)
    found = herd_litres("draw 'barn'", {"cow, lactating": 2, "hen, laying": 30}, day)
    hens = litres_per_head(tables.animals()["hen, laying"], day)
    assert found == pytest.approx(2 * np.array([16.3, 21.6]) * GALLON + 30 * hens)
    assert herd_litres("draw 'barn'", {}, day).tolist() == [0.0, 0.0]


def test_unknown_animals_are_all_named_with_a_did_you_mean() -> None:
    with pytest.raises(
        InputError, match=r"draw 'barn': animal 'hen, layin' .*did you mean 'hen, laying'\?"
    ) as told:
        herd_litres("draw 'barn'", {"hen, layin": 3, "unicorn": 1}, [20.0])
    assert (
        "animal 'unicorn' is not in the table; `holdwater tables animals` lists them" in told.value.faults[1]
    )
