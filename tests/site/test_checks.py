"""Every check on constructed holdings (invented): it passes, it fails, and without input it does neither."""

from __future__ import annotations

from dataclasses import fields, replace

import pytest

from holdwater.site import (
    link_checks,
    overflow_checks,
    roof_checks,
    suction_checks,
    supply_checks,
    tank_checks,
)
from holdwater.site.checks import ORDER, in_order, needs_weather
from holdwater.site.ground import Frost
from holdwater.site.pipes import given, pipe, pipes
from holdwater.site.pump_set import PressureTank, Pump
from holdwater.site.result import Verdict
from holdwater.site.roof_checks import Storm
from holdwater.site.supply_checks import Line
from tests.site.cases import ALTITUDE, CASES, COLD, FT, IN, LINE, LINK, NOTES, PUMP, ROOF, STORM, STUB, WIDE


def test_no_check_is_left_out() -> None:
    assert {*CASES, *NOTES} == {topic.key for topic in ORDER}


@pytest.mark.parametrize("key", CASES)
def test_it_passes_a_sound_holding(key: str) -> None:
    check = CASES[key].passes()
    assert check.topic.key == key
    assert check.verdict is Verdict.HOLDS
    assert check.verdict_text == "holds"
    assert check.margin is None or check.margin >= 0.0


@pytest.mark.parametrize("key", CASES)
def test_it_fails_a_faulty_holding(key: str) -> None:
    check = CASES[key].fails()
    assert check.topic.key == key
    assert check.verdict is Verdict.FAILS
    assert check.verdict_text == "does not hold"
    if key == "cascade":  # weighed against nothing, which a share cannot tell
        assert check.margin is None
    else:
        assert check.margin is not None
        assert check.margin < 0.0


@pytest.mark.parametrize("key", NOTES)
def test_it_notes_and_judges_nothing(key: str) -> None:
    for check in (NOTES[key].passes(), NOTES[key].fails()):
        assert check.topic.key == key
        assert check.verdict is Verdict.NOTE
        assert check.margin is None


LACKING = [(key, i) for key, case in (CASES | NOTES).items() for i in range(len(case.lacking))]


@pytest.mark.parametrize(("key", "place"), LACKING)
def test_missing_input_never_passes(key: str, place: int) -> None:
    check = (CASES | NOTES)[key].lacking[place]()
    assert check.topic.key == key
    assert check.verdict is Verdict.UNCHECKED
    assert check.needs
    assert check.verdict_text.startswith("not checked: needs ")
    assert check.margin is None
    assert "enough" not in check.sentence("us")


@pytest.mark.parametrize("bad", [float("nan"), float("inf")])
def test_a_number_that_is_none_never_passes(bad: float) -> None:
    assert roof_checks.first_flush("barn", bad, ROOF).verdict is Verdict.UNCHECKED
    assert tank_checks.air_gap("well", 2 * IN, bad).verdict is Verdict.UNCHECKED


@pytest.mark.parametrize("key", [*CASES, *NOTES])
@pytest.mark.parametrize("system", ["us", "metric"])
def test_every_outcome_can_be_read_and_written(key: str, system: str) -> None:
    case = (CASES | NOTES)[key]
    for make in (case.passes, case.fails, *case.lacking):
        check = make()
        row = check.as_dict(system)  # type: ignore[arg-type]
        assert row["source"]
        assert "{" not in str(row["sentence"])
        assert str(row["sentence"]).endswith(".")
        assert row["verdict"] in ("holds", "does not hold", "not checked", "note")
        if check.verdict in (Verdict.HOLDS, Verdict.FAILS):
            assert check.weighed is not None
            assert {*check.weighed} <= {*check.inputs, *check.computed}
            foreign = ("gal", "psi", " ft") if system == "metric" else ("kPa", "L/min", " cm")
            assert not any(unit in value.text(system) for value in check.inputs.values() for unit in foreign)  # type: ignore[arg-type]


def test_the_hour_alone_can_only_condemn() -> None:
    """A roof that fails on the 60-minute rain fails; one that passes on it is not known to pass."""
    hour = Storm(None, 4 * IN)
    failed = overflow_checks.overflow(ROOF, [STUB], hour)
    assert failed.verdict is Verdict.FAILS
    assert failed.sentence("us").endswith("already so for the 60-minute rain; bursts bring more.")
    open_ = overflow_checks.overflow(ROOF, [WIDE], hour)
    assert open_.verdict is Verdict.UNCHECKED
    assert "over 5 minutes" in open_.verdict_text
    both = overflow_checks.overflow(ROOF, [replace(WIDE, room=None)], hour)
    assert "over 5 minutes" in both.verdict_text
    assert "room above the overflow" in both.verdict_text


def test_a_flooded_pump_fills_by_itself() -> None:
    check = suction_checks.lift(replace(PUMP, above=4 * FT), ALTITUDE)
    assert check.verdict is Verdict.HOLDS
    assert "fills by itself" in check.sentence("us")
    assert "primed" in suction_checks.lift(PUMP, ALTITUDE).sentence("us")


def test_frost_between_the_two_estimates_is_a_note() -> None:
    """A line below the likely frost but above Stefan's bound is neither sound nor condemned."""
    check = supply_checks.frost(LINE, COLD, None)
    assert check.verdict is Verdict.NOTE
    assert "ask the building office" in check.sentence("us")
    assert supply_checks.frost(LINE, COLD, 30 * IN).verdict is Verdict.HOLDS
    assert supply_checks.frost(LINE, None, 42 * IN).verdict is Verdict.FAILS


def test_a_drained_line_is_reminded_of_draining() -> None:
    check = supply_checks.frost(replace(LINE, buried=0.0, drained=True), COLD, None)
    assert check.verdict is Verdict.NOTE
    assert "before the first frost" in check.sentence("us")


def test_linked_overflows_count_together() -> None:
    """Two overflow pipes of one group carry twice what one does."""
    four = replace(STUB, inside=pipe("PVC schedule 40", "4 in").inside, room=4 * IN, size="4 in")
    one = overflow_checks.overflow(ROOF, [four], STORM)
    two = overflow_checks.overflow(ROOF, [four, replace(four, tank="lower")], STORM)
    assert one.verdict is Verdict.FAILS
    assert two.verdict is Verdict.HOLDS
    assert two.computed["capacity"].number == pytest.approx(2 * one.computed["capacity"].number)


def test_order_of_printing() -> None:
    checks = [case.passes() for case in (CASES | NOTES).values()]
    assert [check.topic for check in in_order(reversed(checks))] == list(ORDER)


def test_nothing_wanted_has_no_margin() -> None:
    """Roofs shared out evenly ask nothing of the link."""
    check = link_checks.link_flow(["a", "b"], [5.0, 5.0], [80.0, 80.0], LINK, STORM)
    assert check.verdict is Verdict.HOLDS
    assert check.margin is None


def test_the_cases_leave_every_optional_part_out_once() -> None:
    """The lists of missing keys above keep up with the classes."""
    assert {f.name for f in fields(Pump) if f.default is None} == {
        "above",
        "flow",
        "npsh_required",
        "power",
        "draws",
        "suction",
        "suction_length",
    }
    assert {f.name for f in fields(PressureTank)} == {"volume", "precharge", "cut_in", "cut_out"}
    assert {f.name for f in fields(Line) if f.default is None} == {
        "pipe",
        "length",
        "flow",
        "rise",
        "start",
        "wanted",
        "buried",
    }


def test_a_line_in_the_open_freezes_however_mild_the_winter() -> None:
    """Night frosts alone give no freezing index and no frost in the ground, yet they burst a bare pipe."""
    mild = Frost(12.0, 0.0, 0.0, -3.0, 30.0, 10)
    bare = replace(LINE, buried=0.0)
    check = supply_checks.frost(bare, mild, None)
    assert check.verdict is Verdict.FAILS
    assert check.sentence("us") == (
        "Line 'house' lies in the open and freezes. Bury it, or drain it before the first frost. The record has 12"
        " days of frost a year, down to 27 degF."
    )
    assert supply_checks.frost(replace(bare, drained=True), mild, None).verdict is Verdict.NOTE
    assert supply_checks.frost(replace(bare, buried=100.0), mild, None).verdict is Verdict.HOLDS
    frostless = Frost(0.0, 0.0, 0.0, 4.0, 35.0, 10)
    assert supply_checks.frost(bare, frostless, None).verdict is Verdict.HOLDS


def test_pipe_of_an_unknown_kind_moves_by_no_known_amount() -> None:
    check = supply_checks.movement(replace(LINE, pipe=given(30.0, "copper")), COLD)
    assert check.verdict is Verdict.UNCHECKED
    assert check.needs == ("the kind of its pipe, one of the table (site.line.pipe)",)


def test_advice_keeps_to_the_kind_of_pipe() -> None:
    drain = replace(STUB, inside=pipe("PVC drain", "50 mm").inside, size="50 mm", kind="PVC drain")
    assert "A 110 mm overflow would need 13 cm of water, a 160 mm one 9.8 cm." in (
        overflow_checks.overflow(ROOF, [drain], STORM).sentence("metric")
    )
    narrow = replace(STUB, kind="PE")
    assert "a 6 in one" in overflow_checks.overflow(ROOF, [narrow], STORM).sentence("us"), "PE ends at 2 in"


def test_rooms_that_differ_are_both_told() -> None:
    low = replace(WIDE, tank="lower", room=2 * IN)
    said = overflow_checks.overflow(ROOF, [replace(STUB, room=4 * IN), low], STORM).sentence("us")
    assert said.startswith("The overflows of tanks 'upper' and 'lower' together pass about ")
    assert "with 2 in to 4 in of water above their bottom" in said


def test_pipe_without_a_nominal_size_leaves_no_hole_in_the_sentence() -> None:
    link = replace(LINK, pipe=given(40.0))
    for check in (
        overflow_checks.overflow(ROOF, [replace(STUB, size="")], STORM),
        link_checks.equalise(["upper", "lower"], [5.27, 4.57], link),
        link_checks.link_flow(["upper", "lower"], [5.27, 4.57], [ROOF, 0.0], link, STORM),
    ):
        assert check.verdict is not Verdict.UNCHECKED
        assert "  " not in check.sentence("us")


def test_pipe_in_no_table_is_taken_for_rough() -> None:
    roughest = given(40.0)
    assert roughest.hazen_williams == min(p.hazen_williams for p in pipes().values())
    assert roughest.roughness == max(p.roughness for p in pipes().values())


def test_the_storm_is_named_with_its_source() -> None:
    named = overflow_checks.overflow(ROOF, [STUB], replace(STORM, source="the county"))
    assert named.inputs["intensity"].label == "5-minute rain of the design storm (the county)"
    hour = overflow_checks.overflow(ROOF, [STUB], Storm(None, 4 * IN))
    assert hour.inputs["intensity"].label == "60-minute rain of the design storm (source not given)"


def test_what_only_the_weather_lacks_is_known() -> None:
    assert needs_weather(supply_checks.movement(LINE, None))
    assert not needs_weather(supply_checks.movement(replace(LINE, length=None), None))
    assert not needs_weather(supply_checks.movement(LINE, COLD))
