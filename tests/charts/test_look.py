from __future__ import annotations

import itertools

import pytest

from holdwater.charts import look, sheet


@pytest.mark.parametrize(("colour", "expected"), [("#ffffff", 100.0), ("#000000", 0.0), ("#777777", 50.03)])
def test_lightness_of_greys(colour: str, expected: float) -> None:
    # CIE 1976 L* of sRGB white and black by definition, of #777777 worked by hand from IEC 61966-2-1:
    # linear (0.46667 + 0.055) / 1.055 to the power 2.4 = 0.18448; 116 x 0.18448^(1/3) - 16 = 50.03
    assert look.lightness(colour) == pytest.approx(expected, abs=0.01)


def test_primaries_are_weighted_by_their_luminance() -> None:
    # sRGB weights 0.2126, 0.7152, 0.0722 (IEC 61966-2-1), hence L* 53.24, 87.73, 32.30
    found = [look.lightness(c) for c in ("#ff0000", "#00ff00", "#0000ff")]
    assert found == pytest.approx([53.24, 87.73, 32.30], abs=0.01)


@pytest.mark.parametrize("group", look.TOUCHING)
def test_colours_that_may_touch_differ_in_grey(group: tuple[str, ...]) -> None:
    assert len(group) > 2
    for one, other in itertools.combinations(group, 2):
        assert abs(look.lightness(one) - look.lightness(other)) >= look.LEAST_STEP, (one, other)


@pytest.mark.parametrize("stack", [look.CAME_IN, look.WENT, look.SERVED])
def test_hatches_tell_the_paler_parts_of_a_stack_apart_without_colour(stack: tuple[look.Role, ...]) -> None:
    hatches = [role.hatch for role in stack if role.hatch]
    assert hatches
    assert len(set(hatches)) == len(hatches)


def test_lines_into_the_tanks_differ_in_style() -> None:
    assert look.INFLOW.line != look.REFILL.line
    assert look.FULL.line != look.RESERVE.line


def test_lines_break_between_words_and_keep_them_all() -> None:
    text = "The longest rainless spell, 61 days from 2 July 2002, brought 41 dry days to the tanks. " * 3
    lines = sheet.wrap(text, look.TITLE, 9.4, bold=True)
    assert " ".join(lines) == text.strip()
    assert max(sheet.width(line, look.TITLE, bold=True) for line in lines) <= 9.4
    assert len(lines) > 2


def test_lines_of_a_title_are_about_equally_long() -> None:
    text = "Larkfield ran dry on 575 days in 30 years; the longest dry spell was 59 days from 3 July 2025."
    first, second = (
        sheet.width(line, look.TITLE, bold=True) for line in sheet.wrap(text, look.TITLE, 9.4, True)
    )
    assert 0.7 < first / second < 1.4


def test_a_word_longer_than_a_line_is_cut() -> None:
    lines = sheet.wrap("x" * 400, look.KICKER, 4.0)
    assert "".join(lines) == "x" * 400
    assert all(sheet.width(line, look.KICKER) <= 4.0 for line in lines)
