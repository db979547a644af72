"""Charts made ready for the page: own ids, no styles, words kept, hatches as lines."""

from __future__ import annotations

import re
from xml.etree import ElementTree as ET

import numpy as np
import pytest
from matplotlib.figure import Figure
from matplotlib.patches import Rectangle

from holdwater.charts import look
from holdwater.charts.sheet import page
from holdwater.plan.drawing import markup, parsed, picture
from holdwater.plan.hatching import unrolled


def chart(hatch: str = "") -> Figure:
    """A sheet with one curve and one box."""
    with look.style():
        made = page("A <holding> & more", "It held in 2 of 3 years.", ["Weather: invented."], 3.0)
        axes = made.axes(1.0, made.bottom + 0.4, 8.0, 2.4)
        axes.plot(np.arange(50), np.arange(50) ** 2, color=look.RAIN.colour)
        axes.add_patch(Rectangle((5, 5), 30, 900, facecolor="#ffeeaa", edgecolor=look.INK, hatch=hatch))
        axes.set_ylabel("water [gal]")
        return made.figure


def read(figure: Figure, name: str = "one") -> ET.Element:
    return ET.fromstring(picture(figure, name, "A curve").svg)


def test_title_and_foot_move_from_the_drawing_to_the_words_beside_it() -> None:
    made = picture(chart(), "one", "A curve")
    assert made.finding == "It held in 2 of 3 years."
    assert made.alt == "A curve. It held in 2 of 3 years."
    words = {text.text for text in ET.fromstring(made.svg).iter("text")}
    assert "water [gal]" in words
    assert not words & {"It held in 2 of 3 years.", "A <holding> & more", "Weather: invented."}


def test_what_is_cut_off_is_empty() -> None:
    root = read(chart())
    left, top, wide, high = (float(n) for n in root.attrib["viewBox"].split())
    for text in root.iter("text"):
        x, y = float(text.get("x", "0")), float(text.get("y", "0"))
        assert left < x < left + wide
        assert top < y < top + high


def test_two_drawings_share_no_id_and_every_reference_is_its_own() -> None:
    one, other = read(chart("//"), "one"), read(chart("//"), "other")
    ids = [{e.get("id") for e in root.iter() if e.get("id")} for root in (one, other)]
    assert ids[0]
    assert not ids[0] & ids[1]
    for root, mine in zip((one, other), ids, strict=True):
        pointed = set(re.findall(r"(?:url\(|href=\")#([\w.-]+)", ET.tostring(root, encoding="unicode")))
        assert pointed
        assert pointed <= mine


def test_no_inline_style_no_typeface_and_no_scripts_are_left() -> None:
    written = str(picture(chart("//"), "one", "A curve").svg)
    for banned in ("style", "font-family", "metadata", "xmlns", "xlink", "<script"):
        assert banned not in written


def test_colours_survive_the_change_from_styles_to_attributes() -> None:
    root = read(chart())
    assert any(path.get("stroke") == look.RAIN.colour for path in root.iter("path"))
    assert any(path.get("fill") == "#ffeeaa" for path in root.iter("path"))
    assert {text.get("font-size") for text in root.iter("text")} == {"8.5", "9"}


def test_a_shorthand_of_type_is_taken_apart() -> None:
    root = parsed(
        b"<svg viewBox='0 0 9 9'><text style=\"font: 700 13.5px 'DejaVu Sans'; fill: red\">a</text></svg>"
    )
    text = ET.fromstring(markup(root, "one", "x")).find("text")
    assert text is not None
    assert text.attrib == {"font-weight": "700", "font-size": "13.5", "fill": "red"}


def test_words_are_escaped_and_kept_to_the_letter() -> None:
    root = parsed(b'<svg viewBox="0 0 9 9"><g><text id="t">  id="a" &lt;script&gt; url(#a) </text></g></svg>')
    written = markup(root, "one", 'He said "<b>"')
    assert '<text>  id="a" &lt;script&gt; url(#a) </text>' in written
    assert 'aria-label="He said &quot;&lt;b&gt;&quot;"' in written


def test_a_chart_without_a_sheet_is_refused() -> None:
    bare = Figure()
    bare.text(0, 0, "no sheet")
    with pytest.raises(ValueError, match="does not stand on a sheet"):
        picture(bare, "one", "A curve")


HATCHED = """
<svg viewBox="0 0 100 100"><defs><pattern id="p" width="10" height="10" patternUnits="userSpaceOnUse">
<rect width="11" height="11" fill="#abc"/><path d="M0 0L10 10" stroke="#000"/></pattern>
<path id="s" d="M0 0L8 0L8 8z"/></defs>
{}</svg>
"""


def hatched(shape: str) -> ET.Element:
    root = ET.fromstring(HATCHED.format(shape))
    unrolled(root)
    return root


def tiles(root: ET.Element) -> set[tuple[str | None, str | None]]:
    return {(use.get("x"), use.get("y")) for use in root.iter("use") if use.get("href") == "#p"}


def test_a_hatched_shape_becomes_ground_lines_and_outline() -> None:
    root = hatched('<path d="M12 12L28 12L28 18z" fill="url(#p)" stroke="#111" stroke-width="2"/>')
    group = root.find("g")
    assert group is not None
    ground, cut, lines, outline = group
    assert (ground.get("fill"), ground.get("stroke")) == ("#abc", None)
    assert (cut.tag, cut[0].attrib) == ("clipPath", {"d": "M12 12L28 12L28 18z"})
    assert lines.get("clip-path") == f"url(#{cut.get('id')})"
    assert (outline.get("fill"), outline.get("stroke"), outline.get("stroke-width")) == ("none", "#111", "2")
    assert tiles(root) == {("10", "10"), ("20", "10")}
    symbol = root.find("defs/symbol")
    assert symbol is not None
    assert [child.tag for child in symbol] == ["path"]
    assert not list(root.iter("pattern"))


@pytest.mark.parametrize(
    ("shape", "places"),
    [
        ('<rect x="31" y="2" width="4" height="10" fill="url(#p)"/>', {("30", "0"), ("30", "10")}),
        ('<use href="#s" x="51" y="51" fill="url(#p)"/>', {("50", "50")}),
        ('<polygon points="1,1 9,1 9,9" fill="url(#p)"/>', {("0", "0")}),
        ('<path d="M-50 -50L9 -50L9 9z" fill="url(#p)"/>', {("0", "0")}),
        ('<path d="M200 200L300 200L300 300z" fill="url(#p)"/>', set()),
        ('<path d="" fill="url(#p)"/>', set()),
    ],
    ids=["box", "a shape used again", "polygon", "half outside", "outside", "empty"],
)
def test_lines_are_laid_only_where_the_shape_is(shape: str, places: set[tuple[str, str]]) -> None:
    assert tiles(hatched(shape)) == places


def test_what_cut_and_moved_the_shape_goes_on_doing_so() -> None:
    root = hatched(
        '<rect x="1" y="1" width="4" height="4" fill="url(#p)" clip-path="url(#c)" transform="scale(2)"/>'
    )
    group = root.find("g")
    assert group is not None
    assert group.attrib == {"clip-path": "url(#c)", "transform": "scale(2)"}
    assert all("transform" not in child.attrib for child in group)
