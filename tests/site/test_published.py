"""Published values, each beside its source."""

from __future__ import annotations

import math

import pytest

from holdwater.site import cross_connection, ground, pipes, pump, spill, storm, tanks_link, water
from holdwater.site.pipes import Pipe
from holdwater.site.sizes import HORSEPOWER

IN, FT, GPM, GAL = 25.4, 304.8, 3.785411784 / 60.0, 3.785411784
PSI, PSF, LB, FT2 = 6.894757293168, 0.04788025898, 0.45359237, 0.09290304

ILLINOIS = "Illinois Adm. Code 77-906 App. A"


@pytest.mark.parametrize(
    ("size", "gpm", "feet_per_100"),
    [
        ("1 1/4 in", 5, 0.39),
        ("1 1/4 in", 10, 1.46),
        ("1 1/4 in", 15, 3.06),
        ("1 1/4 in", 20, 5.23),
        ("1 1/2 in", 10, 0.70),
        ("1 1/2 in", 15, 1.45),
        ("1 1/2 in", 20, 2.46),
        ("1 1/2 in", 25, 3.75),
    ],
)
def test_friction_in_pvc_schedule_40(size: str, gpm: float, feet_per_100: float) -> None:
    """Illinois Adm. Code 77-906 App. A, C 150."""
    lost = pipes.friction_hazen_williams(gpm * GPM, pipes.pipe("PVC schedule 40", size), 100 * FT) / FT
    assert abs(lost - feet_per_100) <= max(0.015, 0.03 * feet_per_100)


@pytest.mark.parametrize(("gpm", "feet_per_100"), [(5, 0.46), (10, 1.66), (20, 6.0), (25, 9.0)])
def test_friction_in_polyethylene(gpm: float, feet_per_100: float) -> None:
    """A polyethylene pipe maker's chart, C 140, 1-1/4 in."""
    lost = pipes.friction_hazen_williams(gpm * GPM, pipes.pipe("PE", "1 1/4 in"), 100 * FT) / FT
    assert abs(lost - feet_per_100) <= max(0.015, 0.03 * feet_per_100)


@pytest.mark.parametrize(
    ("fitting", "at_1_1_4", "at_1_1_2"),
    [("tee, branch", 7.3, 8.4), ("90 elbow", 3.8, 4.0), ("45 elbow", 1.8, 2.1)],
)
def test_fittings_in_equivalent_length(fitting: str, at_1_1_4: float, at_1_1_2: float) -> None:
    """Illinois Adm. Code 77-906 App. A; the ratios used for other sizes (Crane TP-410) come near it."""
    for size, feet in (("1 1/4 in", at_1_1_4), ("1 1/2 in", at_1_1_2)):
        bore = pipes.pipe("PVC schedule 40", size)
        assert pipes.equivalent_length(fitting, bore) / FT == pytest.approx(feet)
        assert pipes.equivalent_length(fitting, Pipe("", "", bore.inside)) / FT == pytest.approx(
            feet, rel=0.1
        )


@pytest.mark.parametrize(("size", "vertical", "horizontal"), [(2, 34, 31), (3, 87, 79), (4, 180, 163)])
def test_code_table_of_leaders(size: float, vertical: float, horizontal: float) -> None:
    """IPC 2018 table 1106.2, horizontal at 1/4 in per ft."""
    found = storm.code_leader(size * IN)
    assert found is not None
    assert found[0] / GPM == pytest.approx(vertical)
    assert found[1] / GPM == pytest.approx(horizontal)
    assert storm.code_leader(pipes.pipe("PVC schedule 40", f"{size} in").inside) == found


@pytest.mark.parametrize(("size", "printed", "exact"), [(2, 23, 22.7), (3, 67, 66.8), (4, 144, 143.9)])
def test_leader_by_wyly_eaton(size: float, printed: float, exact: float) -> None:
    """EN 12056-3, 7/24 full, roughness 0.25 mm; printed in the National Standard Plumbing Code 2006."""
    flow = storm.leader_flow(size * IN) / GPM
    assert flow == pytest.approx(printed, rel=0.015)
    assert flow == pytest.approx(exact, rel=0.003)


@pytest.mark.parametrize(
    ("width", "litres"), [(75, 0.38), (100, 0.78), (115, 1.11), (125, 1.37), (150, 2.16)]
)
def test_half_round_gutter(width: float, litres: float) -> None:
    """Approved Document H3 (England) table 2, level half-round gutters, from memory.

    Its 100 mm row, 37 m2 of roof at 0.021 L/s per m2, is confirmed by a textbook's quotation.
    """
    assert storm.half_round_gutter(width) == pytest.approx(litres, rel=0.01)
    if width == 100:
        assert storm.half_round_gutter(width) == pytest.approx(37 * 0.021, rel=0.01)


@pytest.mark.parametrize(("depths", "keeps"), [(20, 1.0), (50, 1.0), (100, 0.93), (150, 0.86), (200, 0.80)])
def test_long_gutter_factor(depths: float, keeps: float) -> None:
    """Reduction printed in gutter makers' tables after EN 12056-3."""
    assert storm.long_gutter_factor(depths * 75.0, 75.0) == pytest.approx(keeps)


def test_roof_peak() -> None:
    """Plumbing codes: 0.0104 x 135,000 ft2 x 4 in/h = 5,616 gal/min; the exact factor gives 0.1 % less."""
    assert storm.roof_peak(135_000 * FT2, 4 * IN) / GPM == pytest.approx(5616, rel=0.0015)


def test_first_flush_depth() -> None:
    """Texas Water Development Board manual 2005, ch. 2, as quoted: 10 gal per 1,000 ft2 is 0.407 mm."""
    assert pytest.approx(0.407, abs=0.0006) == storm.TEN_GALLONS_PER_THOUSAND_FT2


@pytest.mark.parametrize(("size", "inches"), [(3, 32.7), (4, 18.4), (6, 8.2), (8, 4.6)])
def test_standpipe_per_gallon(size: float, inches: float) -> None:
    """Geometry: length of upright pipe that holds a gallon."""
    assert storm.standpipe(GAL, size * IN) / IN == pytest.approx(inches, abs=0.05)


def test_contamination_halves_per_millimetre() -> None:
    """Martinson & Thomas 2005, abstract."""
    assert storm.contamination_left(1.0) == pytest.approx(0.5)
    assert storm.contamination_left(3.0) == pytest.approx(0.125)


def test_tank_draining() -> None:
    """Textbook example: Cd 0.62, 1 m2, hole of 0.01 m2, 2 m: 102.99 s (there with g = 9.81)."""
    assert tanks_link.drain_time(1.0, 0.01, 2000.0) == pytest.approx(102.99, rel=3e-4)


def test_link_time_to_stand_level() -> None:
    """Calculated: two 95 in tanks, 20 ft of 1-1/2 in schedule 40, K 3, 20 degC, 12 in to 1/4 in: 16.3 min."""
    surface = math.pi / 4 * (95 * IN / 1000) ** 2
    bore = pipes.pipe("PVC schedule 40", "1 1/2 in")
    time = tanks_link.equalise_time((surface, surface), bore, 20 * FT, 3.0, start=12 * IN, end=0.25 * IN)
    assert time / 60 == pytest.approx(16.3, abs=0.05)


@pytest.mark.parametrize(("head", "gpm"), [(3.068, 30), (6.0, 59)])
def test_overflow_stub(head: float, gpm: float) -> None:
    """FHWA HDS-5 inlet control, thin-wall projecting pipe, 3 in at its crown and at 6 in: within 20 %."""
    assert spill.overflow_flow(head * IN, 3.068 * IN) / GPM == pytest.approx(gpm, rel=0.2)
    assert spill.overflow_flow(head * IN, 3.068 * IN) / GPM == pytest.approx(gpm, rel=0.01)


def test_npsh_available() -> None:
    """Pump handbook example: flooded 10 ft, 3.2 ft of friction, 68 degF, sea level: 40 ft."""
    assert pump.npsh_available(0.0, 20.0, 10 * FT, 3.2 * FT) / FT == pytest.approx(40, abs=0.1)


@pytest.mark.parametrize(("feet", "column"), [(0, 33.9), (5000, 28.2), (10000, 23.4)])
def test_atmosphere_in_feet_of_water(feet: float, column: float) -> None:
    """Pump handbook table of atmospheric pressure by altitude."""
    assert water.head(water.atmosphere(feet * 0.3048), 20.0) / FT == pytest.approx(column, abs=0.07)


@pytest.mark.parametrize(("feet", "lift"), [(0, 22), (2640, 20), (5280, 17), (7920, 15)])
def test_practical_suction_lift(feet: float, lift: float) -> None:
    """Pump maker's installation table; between its rows a straight line, below sea level its first row."""
    assert pump.practical_lift(feet * 0.3048) / FT == pytest.approx(lift)
    assert pump.practical_lift(-100.0) / FT == pytest.approx(22)
    assert pump.practical_lift(1320 * 0.3048) / FT == pytest.approx(21)


def test_pressure_tank_drawdown() -> None:
    """Pressure tank maker's table: 85 gal, pre-charge 28 psi, 30/50 psi: 25.1 gal."""
    given = pump.drawdown(85 * GAL, 28 * PSI, 30 * PSI, 50 * PSI)
    assert given / GAL == pytest.approx(25.1, abs=0.05)


@pytest.mark.parametrize(
    ("horses", "single", "limit"),
    [
        (0.5, True, 300),
        (0.75, True, 300),
        (1.0, True, 100),
        (5.5, True, 100),
        (1.0, False, None),
        (7.5, True, None),
    ],
)
def test_starts_limit(horses: float, single: bool, limit: int | None) -> None:
    """Pump maker's manual: up to 0.75 hp 300 a day; 1 to 5.5 hp single-phase 100 a day; no figure beyond."""
    assert pump.starts_limit(horses * HORSEPOWER, single) == limit


@pytest.mark.parametrize(("gpm", "feet", "horses"), [(20, 20, 0.101), (100, 50, 1.26)])
def test_water_power(gpm: float, feet: float, horses: float) -> None:
    """Pump handbook: gal/min x ft / 3960."""
    assert pump.water_power(gpm * GPM, feet * FT) / HORSEPOWER == pytest.approx(horses, rel=0.003)


@pytest.mark.parametrize("index", [50.0, 500.0, 1500.0])
def test_frost_depth(index: float) -> None:
    """Fair, Geyer & Okun eq. 5.41b in mm and degC-days, worked through logarithms; Stefan lies deeper."""
    assert ground.frost_depth(index) == pytest.approx(math.exp(math.log(55.18) + 0.468 * math.log(index)))
    assert ground.stefan_depth(index) > ground.frost_depth(index)


def test_frost_depth_of_a_500_degree_day_winter() -> None:
    """55.18 x 500^0.468 = 1,011 mm, by hand."""
    assert ground.frost_depth(500.0) == pytest.approx(1011, abs=1)


def test_pvc_movement() -> None:
    """Pipe maker's rule 0.36 in per 100 ft per 10 degF: 500 ft over 60 degF moves 10.8 in."""
    per_degree = pipes.movement_of("PVC schedule 40")
    assert per_degree is not None
    assert per_degree * 500 * FT * 60 / 1.8 / IN == pytest.approx(10.8, abs=0.005)


def test_weight_of_water() -> None:
    """8.34 lb per gal and 62.4 lb/ft2 per ft of depth."""
    assert ground.water_mass(GAL) / LB == pytest.approx(8.34, abs=0.006)
    assert ground.bearing(ground.water_mass(FT), 1.0) / PSF == pytest.approx(62.4, abs=0.04)


@pytest.mark.parametrize(("soil", "pounds"), [("sand", 2000), ("clay or silt", 1500), ("gravel", 3000)])
def test_presumptive_bearing(soil: str, pounds: float) -> None:
    """IBC 2012 table 1806.2."""
    assert ground.presumptive_bearing(soil) / PSF == pytest.approx(pounds)


@pytest.mark.parametrize(("outlet", "gap"), [(0.375, 1.0), (0.5, 1.0), (0.75, 1.5), (2.0, 4.0)])
def test_air_gap(outlet: float, gap: float) -> None:
    """Local codes, ASME A112.1.2: twice the outlet's diameter, at least 1 in."""
    assert cross_connection.air_gap(outlet * IN) / IN == pytest.approx(gap)


def test_vapour_pressure() -> None:
    """Steam tables (from memory): 2.339 kPa at 20 degC, 0.611 at 0, 7.384 at 40."""
    assert water.vapour_pressure(20.0) == pytest.approx(2.339, rel=5e-4)
    assert water.vapour_pressure(0.0) == pytest.approx(0.6112, rel=1e-3)
    assert water.vapour_pressure(40.0) == pytest.approx(7.384, rel=1e-3)
