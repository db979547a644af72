"""The page wears the colours of the charts, each in the same role, and needs nothing from elsewhere."""

from __future__ import annotations

import re
from importlib.resources import files

from holdwater.charts import look

STATIC = files("holdwater.page").joinpath("static")


def test_the_colours_are_those_of_the_charts() -> None:
    sheet = STATIC.joinpath("page.css").read_text("utf-8")
    found = dict(re.findall(r"--([a-z]+): (#[0-9a-f]{6});", sheet))
    assert found == {
        "ink": look.INK,
        "faint": look.FAINT,
        "grid": look.GRID,
        "paper": look.PAPER,
        "shade": look.SHADE.colour,
        "water": look.WATER.colour,
        "line": look.WATER_LINE.colour,
        "rain": look.RAIN.colour,
        "covered": look.COVERED.colour,
        "unserved": look.UNSERVED.colour,
        "reserve": look.RESERVE.colour,
    }


def test_nothing_comes_from_elsewhere_and_no_text_becomes_markup() -> None:
    for name in ("page.html", "page.css", "page.js", "controls.js", "chart.js"):
        text = STATIC.joinpath(name).read_text("utf-8")
        addresses = set(re.findall(r"https?://[^\s\"']+", text))
        assert addresses <= {"http://www.w3.org/2000/svg"}, name
        for risky in (
            "innerHTML",
            "outerHTML",
            "insertAdjacentHTML",
            "document.write",
            "eval(",
            "new Function",
            "@import",
        ):
            assert risky not in text, (name, risky)


def test_words_on_the_page_stand_out_from_their_ground() -> None:
    for ink, ground in (
        (look.INK, look.PAPER),
        (look.INK, look.SHADE.colour),
        (look.FAINT, look.PAPER),
        ("#4c565f", look.SHADE.colour),
        (look.WATER_LINE.colour, look.PAPER),
        (look.RESERVE.colour, look.PAPER),
    ):
        assert _contrast(ink, ground) >= 4.5, (ink, ground)  # WCAG 2.1, success criterion 1.4.3


def _contrast(a: str, b: str) -> float:
    """Contrast ratio of WCAG 2.1."""
    light, dark = sorted((_luminance(a), _luminance(b)), reverse=True)
    return (light + 0.05) / (dark + 0.05)


def _luminance(colour: str) -> float:
    parts = [int(colour[i : i + 2], 16) / 255 for i in (1, 3, 5)]
    linear = [c / 12.92 if c <= 0.04045 else ((c + 0.055) / 1.055) ** 2.4 for c in parts]
    return 0.2126 * linear[0] + 0.7152 * linear[1] + 0.0722 * linear[2]
