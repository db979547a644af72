"""The page as a file: self-contained, strict, light, and everything a stranger wrote shown as text."""

from __future__ import annotations

import html
import itertools
import re
from collections import Counter
from html.parser import HTMLParser

import pytest

from holdwater.plan.plan import SECTIONS, page, spelt, stylesheet
from holdwater.plan.section import style_hash, visible
from tests.plan.conftest import Plan
from tests.plan.holdings import HOSTILE_FILE, LONG, NAME, TITLE

VOID = {"meta", "link", "img", "br", "hr", "input"}


class Reader(HTMLParser):
    """Every tag with its attributes, ids, and whether each tag was closed."""

    def __init__(self, text: str) -> None:
        super().__init__(convert_charrefs=True)
        self.tags: list[tuple[str, dict[str, str | None]]] = []
        self.open: list[str] = []
        self.words = ""
        self.feed(text)
        self.close()

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.tags.append((tag, dict(attrs)))
        if tag not in VOID:
            self.open.append(tag)

    def handle_startendtag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.tags.append((tag, dict(attrs)))

    def handle_endtag(self, tag: str) -> None:
        assert self.open, tag
        assert self.open.pop() == tag

    def handle_data(self, data: str) -> None:
        self.words += data


@pytest.fixture(params=["everything", "hostile"])
def plan(request: pytest.FixtureRequest) -> Plan:
    found: Plan = request.getfixturevalue(request.param)
    return found


def test_every_tag_is_closed_and_no_id_stands_twice(plan: Plan) -> None:
    read = Reader(plan.html)
    assert read.open == []
    ids = Counter(str(attrs["id"]) for _, attrs in read.tags if "id" in attrs)
    assert [name for name, times in ids.items() if times > 1] == []
    assert len(ids) > 30


def test_every_reference_leads_to_something_on_the_page(plan: Plan) -> None:
    read = Reader(plan.html)
    ids = {attrs["id"] for _, attrs in read.tags if "id" in attrs}
    values = [v for tag, attrs in read.tags if tag != "style" for v in attrs.values() if v]
    inside = {found for v in values for found in re.findall(r"^url\(#([^)]+)\)$", v)}
    inside |= {attrs["href"][1:] for _, attrs in read.tags if (attrs.get("href") or "").startswith("#")}  # type: ignore[index]
    assert len(inside) > 20
    assert inside <= ids


def test_nothing_is_asked_of_anywhere_else(plan: Plan) -> None:
    read = Reader(plan.html)
    for tag, attrs in read.tags:
        assert tag not in ("script", "iframe", "object", "embed", "form", "img", "base", "audio", "video")
        assert not any(name.startswith("on") for name in attrs), (tag, attrs)
        assert "style" not in attrs
        for name in ("src", "href", "srcset", "data", "action", "xlink:href"):
            value = attrs.get(name)
            assert value is None or value.startswith(("#", "data:image/png;base64,", "data:,")), (tag, value)
    style = re.search(r"<style>(.*?)</style>", plan.html, re.S)
    assert style is not None
    assert "url(" not in style[1]
    assert "@import" not in style[1]


def test_the_policy_lets_in_this_style_and_nothing_else(plan: Plan) -> None:
    policy = html.unescape(
        re.findall(r'http-equiv="Content-Security-Policy" content="([^"]*)"', plan.html)[0]
    )
    style = re.findall(r"<style>(.*?)</style>", plan.html, re.S)
    assert len(style) == 1
    assert policy.split("; ") == [
        "default-src 'none'",
        f"style-src '{style_hash(style[0])}'",
        "img-src data:",
        "base-uri 'none'",
        "form-action 'none'",
    ]


def test_every_picture_has_words_for_those_who_do_not_see_it(plan: Plan) -> None:
    drawings = [attrs for _, attrs in Reader(plan.html).tags if attrs.get("class") == "drawing"]
    charts = [chart for section in plan.sections.values() for chart in section.charts]
    assert len(drawings) == len(charts) >= 11
    for attrs, chart in zip(drawings, charts, strict=True):
        assert attrs["role"] == "img"
        assert attrs["aria-label"] == chart.alt
        assert chart.alt.endswith(".")
        assert len(chart.alt.split()) > 8
        assert chart.finding in chart.alt


def test_headings_go_down_step_by_step_and_the_contents_name_them(plan: Plan) -> None:
    read = Reader(plan.html)
    levels = [int(tag[1]) for tag, _ in read.tags if re.fullmatch(r"h[1-6]", tag)]
    assert levels[0] == 1
    assert levels.count(1) == 1
    assert all(after - before <= 1 for before, after in itertools.pairwise(levels))
    listed = re.findall(r'<li><a href="#([\w-]+)">', plan.html)
    assert listed == list(plan.sections)[1:]


def test_the_first_page_answers_every_question(plan: Plan) -> None:
    listed = re.findall(
        r'<li><a href="#([\w-]+)">([^<]*)</a> <span class="answer">(.*?)</span></li>', plan.html
    )
    assert [key for key, _, _ in listed] == list(plan.sections)[1:]
    for key, question, answer in listed:
        section = plan.sections[key]
        assert html.unescape(question) == section.title
        assert section.answer.endswith(".")
        assert html.unescape(answer) == " ".join(section.answer.split())
        assert len(section.answer) < 260, key


def test_the_sections_stand_in_the_order_of_a_readers_questions(everything: Plan) -> None:
    assert list(everything.sections) == [
        "front",
        "holding",
        "years",
        "last-year",
        "worst",
        "water",
        "garden",
        "what-ifs",
        "next",
        "sizes",
        "outlook",
        "cautions",
        "assumptions",
        "weather",
        "reproduce",
    ]
    assert len(SECTIONS) == len(everything.sections) + 1  # the site checks need a [site] table


def test_it_is_light(everything: Plan) -> None:
    assert len(everything.html.encode()) < 1_000_000


def test_the_same_run_makes_the_same_page(everything: Plan) -> None:
    scenario, asked = everything.matter.scenario, everything.matter.asked
    assert page(scenario.title, everything.sections.values(), asked) == everything.html


# ------------------------------------------------------------------------------------------------ hostile words


def test_hostile_words_are_shown_as_text(hostile: Plan) -> None:
    words = Reader(hostile.html).words
    assert TITLE in words
    assert f"{NAME} one" in words
    assert LONG in words
    assert HOSTILE_FILE in words
    assert "<svg onload=pwned=5>" in words
    assert "{{7*7}}" in words
    assert "49" not in re.findall(r"<h1[^>]*>(.*?)</h1>", hostile.html)[0]
    assert "../../../etc/passwd" in words


def test_signs_that_turn_the_line_are_shown_by_number(hostile: Plan) -> None:
    assert "\u202e" not in hostile.html
    assert "\N{WHITE SQUARE}U+202E txt.exe" in Reader(hostile.html).words


def test_what_cannot_be_seen_is_made_visible() -> None:
    shown = visible("a\tb\n<i>\u0000\u202e\u200f\x1b[31m")
    square = "\N{WHITE SQUARE}U+"
    assert shown == f"a\tb\n&lt;i&gt;{square}0000{square}202E{square}200F{square}001B[31m"


@pytest.mark.parametrize("title", [TITLE, '";}*{background:url(//x)}/*', "\\", "</style>", "\n\r\f", "été"])
def test_a_title_cannot_leave_its_place_in_the_style(title: str) -> None:
    sheet = stylesheet(title)
    content = re.findall(r'@top-left\{content:"(.*)"\}\}', sheet)
    assert len(content) == 1
    assert re.fullmatch(r"(?:[A-Za-z0-9]|\\[0-9a-f]+ )*", content[0])
    assert "</" not in sheet


def test_a_spelt_text_reads_back() -> None:
    """CSS Syntax Module Level 3, section 4.3.7: an escaped code point and the blank that ends it."""
    text = 'A "B" & שלום\\'
    back = re.sub(r"\\([0-9a-f]+) ", lambda found: chr(int(found[1], 16)), spelt(text))
    assert back == text


def test_an_unknown_paper_is_refused() -> None:
    assert "@page{size:a4}" in stylesheet("x", "a4")
    with pytest.raises(ValueError, match="paper 'b5' is none of letter, a4"):
        stylesheet("x", "b5")
