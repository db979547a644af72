"""The plan in a real browser: offline, without a complaint, every picture drawn, printed on a sane number of pages."""

from __future__ import annotations

import base64
import re
import shutil
import subprocess
from pathlib import Path

import pytest

from holdwater.plan.browser import FIREFOXES, Browser, printed
from holdwater.plan.plan import page
from tests.plan.conftest import Plan
from tests.plan.devtools import Chromium

DRAWN = """
[...document.querySelectorAll('svg.drawing')].map(svg => {
  const box = svg.getBoundingClientRect(), ink = svg.getBBox();
  return [svg.getAttribute('aria-label'), box.width, box.height, ink.width, ink.height,
          svg.querySelectorAll('path,rect,polyline,polygon,use,image').length];
})
"""
OUTSIDE = """
[...document.querySelectorAll('svg.drawing text')].filter(text => {
  const box = text.getBoundingClientRect(), around = text.ownerSVGElement.getBoundingClientRect();
  return box.left < around.left - 1 || box.right > around.right + 1 ||
         box.top < around.top - 1 || box.bottom > around.bottom + 1;
}).map(text => text.textContent)
"""
WIDER = "document.documentElement.scrollWidth > document.documentElement.clientWidth + 1"
PAPERS = {"letter": (612, 792), "a4": (595, 842)}


def written(folder: Path, html: str, name: str = "plan.html") -> str:
    """Address of a page put into a folder."""
    (folder / name).write_text(html, "utf-8")
    return (folder / name).as_uri()


def test_it_opens_offline_without_a_complaint(chromium: Chromium, everything: Plan, tmp_path: Path) -> None:
    seen = chromium.open(written(tmp_path, everything.html))
    assert seen.console == []
    assert [url for url in seen.requests if not url.startswith(("file:", "data:"))] == []
    assert len([url for url in seen.requests if url.startswith("file:")]) == 1
    assert seen.dialogs == []


def test_every_picture_is_drawn(chromium: Chromium, everything: Plan, tmp_path: Path) -> None:
    chromium.open(written(tmp_path, everything.html))
    drawn = chromium.value(DRAWN)
    assert len(drawn) == sum(len(section.charts) for section in everything.sections.values()) == 15
    for alt, wide, high, ink_wide, ink_high, strokes in drawn:
        assert min(wide, high) > 100, alt
        assert min(ink_wide, ink_high) > 50, alt
        assert strokes > 5, alt


def test_no_words_leave_their_picture(chromium: Chromium, everything: Plan, tmp_path: Path) -> None:
    chromium.open(written(tmp_path, everything.html))
    assert chromium.value(OUTSIDE) == []


def test_nothing_is_wider_than_the_window(chromium: Chromium, everything: Plan, tmp_path: Path) -> None:
    chromium.open(written(tmp_path, everything.html))
    for width in (1200, 800):
        chromium.ask(
            "Emulation.setDeviceMetricsOverride", width=width, height=900, deviceScaleFactor=1, mobile=False
        )
        assert chromium.value(WIDER) is False
    chromium.ask("Emulation.clearDeviceMetricsOverride")


def test_a_style_or_a_script_of_a_stranger_is_not_let_in(
    chromium: Chromium, everything: Plan, tmp_path: Path
) -> None:
    broken = everything.html.replace(
        "<main>", "<main><script>window.pwned = 1</script><style>p{color:red}</style>"
    )
    seen = chromium.open(written(tmp_path, broken))
    assert chromium.value("window.pwned") is None
    assert len([said for said in seen.console if "Content Security Policy" in said]) == 2


def test_hostile_words_do_nothing(chromium: Chromium, hostile: Plan, tmp_path: Path) -> None:
    seen = chromium.open(written(tmp_path, hostile.html))
    assert seen.console == []
    assert seen.dialogs == []
    assert chromium.value("window.pwned") is None
    assert (
        chromium.value("document.querySelectorAll('script,img,iframe,object,b,[onload],[onerror]').length")
        == 0
    )
    assert chromium.value("document.querySelector('h1').textContent").startswith(
        "<script>window.pwned=1</script>"
    )
    assert chromium.value(OUTSIDE) == []
    chromium.ask(
        "Emulation.setDeviceMetricsOverride", width=900, height=900, deviceScaleFactor=1, mobile=False
    )
    assert chromium.value(WIDER) is False
    chromium.ask("Emulation.clearDeviceMetricsOverride")


@pytest.mark.parametrize("paper", list(PAPERS))
def test_it_prints_on_a_sane_number_of_pages(
    chromium: Chromium, everything: Plan, tmp_path: Path, paper: str
) -> None:
    html = page("Hillside", everything.sections.values(), everything.matter.asked, paper)
    chromium.open(written(tmp_path, html))
    pdf = base64.b64decode(
        chromium.ask("Page.printToPDF", preferCSSPageSize=True, printBackground=False)["data"]
    )
    assert pdf.startswith(b"%PDF")
    boxes = re.findall(rb"/MediaBox \[0 0 ([\d.]+) ([\d.]+)\]", pdf)
    assert 10 <= len(boxes) <= 22
    wide, high = PAPERS[paper]
    assert all(abs(float(w) - wide) < 1 and abs(float(h) - high) < 1 for w, h in boxes)


def text_of(pdf: Path) -> str:
    """Words of a PDF; the test skips, and says so, where they cannot be read."""
    reader = shutil.which("pdftotext")
    if reader is None:
        pytest.skip("NOT CHECKED ON PAPER: no pdftotext (poppler-utils) on the path")
    return subprocess.run([reader, "-layout", pdf, "-"], capture_output=True, text=True, check=True).stdout


@pytest.mark.parametrize("kind", ["chromium", "firefox"])
def test_the_pdf_holds_the_verdict_every_section_and_page_numbers(
    kind: str, everything: Plan, tmp_path: Path
) -> None:
    names = FIREFOXES if kind == "firefox" else ("chromium", "chromium-browser", "google-chrome")
    found = next((path for name in names if (path := shutil.which(name))), None)
    if found is None:
        pytest.skip(f"NOT PRINTED BY {kind.upper()}: it is not on the path")
    html = page("Hillside", everything.sections.values(), everything.matter.asked, "letter")
    written(tmp_path, html)
    assert printed(tmp_path / "plan.html", tmp_path / "plan.pdf", Browser(found, kind == "firefox")) == ""
    words = " ".join(text_of(tmp_path / "plan.pdf").split())
    assert "Hillside would have run dry on" in words
    for section in list(everything.sections.values())[1:]:
        assert section.title in words
    assert "SHA-256" in words
    if kind == "chromium":
        pages = int(re.findall(r"page \d+ of (\d+)", words)[0])
        assert re.findall(r"page (\d+) of", words) == [str(n) for n in range(1, pages + 1)]
