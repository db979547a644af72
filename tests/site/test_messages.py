"""What the homesteader reads, word for word."""

from __future__ import annotations

from dataclasses import replace

from holdwater.site import overflow_checks, roof_checks, suction_checks, supply_checks, tank_checks
from holdwater.site.checks import CAUTIONS, ORDER
from holdwater.site.result import Value, Verdict, judged, unchecked
from tests.site.cases import GAL, IN, LINE, PUMP, ROOF, STAND, STORM, STUB, WIDE


def test_overflow_too_small() -> None:
    check = overflow_checks.overflow(ROOF, [STUB], STORM)
    assert check.sentence("us") == (
        "The 1 1/2 in overflow of tank 'upper' passes about 14 gal/min with 4 in of water above its bottom; the roofs"
        " give 83 gal/min in a storm of 4 in/h: not enough. A 4 in overflow would need 5.2 in of water, a 6 in one"
        " 3.8 in."
    )
    assert check.sentence("metric") == (
        "The 1 1/2 in overflow of tank 'upper' passes about 52 L/min with 10 cm of water above its bottom; the roofs"
        " give 314 L/min in a storm of 102 mm/h: not enough. A 4 in overflow would need 13 cm of water, a 6 in one"
        " 9.8 cm."
    )


def test_overflow_large_enough() -> None:
    assert (
        overflow_checks.overflow(ROOF, [WIDE], STORM).sentence("us").endswith("in a storm of 4 in/h: enough.")
    )


def test_overflow_that_comes_too_late() -> None:
    check = overflow_checks.overflow(ROOF, [replace(STUB, room=0.0)], STORM)
    assert check.verdict is Verdict.FAILS
    assert "spills lower, before this pipe can carry: bring the lips to one height." in check.sentence("us")


def test_levels() -> None:
    check = tank_checks.levels(["upper", "lower"], "lower", 5500 * GAL, 330 * GAL, 198 * GAL, 9.4 * IN)
    assert check.sentence("us") == (
        "Of the 5,500 gal of tanks 'upper' and 'lower', 330 gal can never fill: joined at the bottom they spill at the"
        " lip of 'lower', the lowest, and the lips stand 9.4 in apart. Bring them to one height. 198 gal below the"
        " outlets cannot be drawn."
    )
    alone = tank_checks.levels(["lower"], "lower", 2500 * GAL, 0.0, 0.0, 0.0)
    assert alone.sentence("us") == "Of the 2,500 gal of tank 'lower', 2,500 gal can fill."


def test_first_flush() -> None:
    assert roof_checks.first_flush("barn", 10 * GAL, ROOF).sentence("us") == (
        "The first flush of roof 'barn' holds 10 gal, the first 0.008 in of rain on 1,996 ft2; published rules ask"
        " for 20 gal to 40 gal: too small, 87 % of the dirt still follows."
    )


def test_supply_line() -> None:
    assert supply_checks.pressure(LINE).sentence("us") == (
        "At 10 gal/min line 'house' starts with 30 psi, loses 2 psi to friction and 4.8 psi to the climb; 23 psi is"
        " left at the tap and 20 psi is wanted: enough."
    )
    downhill = replace(LINE, gravity=True, start=0.0, rise=-60 * 304.8)
    assert supply_checks.pressure(downhill).sentence("us") == (
        "At 10 gal/min line 'house' loses 2 psi to friction and gains 26 psi from the fall; 24 psi is left at the tap"
        " and 20 psi is wanted: enough."
    )


def test_weight() -> None:
    assert tank_checks.weight("upper", 3000 * GAL, STAND).sentence("metric") == (
        "Full, tank 'upper' weighs 11,556 kg and presses on the ground with 22 kPa; sand may carry 96 kPa: enough."
    )


def test_what_is_missing_is_named_with_its_key() -> None:
    check = suction_checks.npsh(replace(PUMP, npsh_required=None), None, 30.0)
    assert check.verdict_text == (
        "not checked: needs the altitude (place.elevation) and what the pump requires (site.pump.npsh_required)"
    )
    assert check.sentence("us") == (
        "Not checked: suction head left at the pump (NPSH). It needs the altitude (place.elevation) and what the pump"
        " requires (site.pump.npsh_required)."
    )


def test_unequal_numbers_never_read_as_equal() -> None:
    """83.2 against 83.3 gal/min would both round to 83: more figures are shown."""
    topic = ORDER[0]
    gpm = GAL / 60
    values = {"have": Value("there", 83.2 * gpm, "flow"), "need": Value("wanted", 83.3 * gpm, "flow")}
    says = ("{have} for {need}.", "{have} is less than {need}.")
    check = judged(topic, "", have="have", need="need", says=says, inputs=values, computed={})
    assert check.sentence("us") == "83.2 gal/min is less than 83.3 gal/min."


def test_names_with_braces_are_only_names() -> None:
    check = overflow_checks.overflow(ROOF, [replace(STUB, tank="{odd}", size="{x}")], STORM)
    assert "tank '{odd}'" in check.sentence("us")
    assert "'{odd}'" in unchecked(ORDER[0], "tank '{odd}'", ("more",)).sentence("us")
    assert "'{odd}'" in tank_checks.levels(["{odd}"], "{odd}", 100.0, 50.0, 0.0, 30.0).sentence("us")


def test_cautions_that_always_stand() -> None:
    whole = " ".join(CAUTIONS)
    for words in (
        "drinking",
        "air gap",
        "mosquitoes",
        "8.34 lb",
        "enter a tank",
        "licensed",
        "asbestos",
        "drain what",
    ):
        assert words in whole
    assert "worse drought" in whole


def test_every_kind_of_check_names_its_source_once() -> None:
    assert all(topic.source for topic in ORDER)
    assert len({topic.key for topic in ORDER}) == len(ORDER)
    storms = [topic for topic in ORDER if topic.key in ("gutter", "leader", "overflow", "link_flow")]
    assert len(storms) == 4
    assert all("NOAA Atlas 14" in topic.cautions[-1] for topic in storms)


def test_inch_is_an_inch() -> None:
    assert Value("", 38.1, "size").text("us") == "1.5 in"
    assert Value("", IN, "height").text("metric") == "2.5 cm"
