"""What a section says, without its mark-up and its drawings."""

from __future__ import annotations

import html
import re

from holdwater.plan.section import Section


def plain(section: Section | str) -> str:
    """The words of a section, without its drawings."""
    text = section if isinstance(section, str) else str(section.html)
    text = re.sub(r"<svg.*?</svg>", " ", text, flags=re.S)
    return " ".join(html.unescape(re.sub(r"<[^>]+>", " ", text)).split())


def rows(section: Section, kind: str) -> list[list[str]]:
    """Cells of the body of the first table of a class."""
    table = re.search(rf'<table class="{kind}[^"]*">.*?<tbody>(.*?)</tbody>', section.html, re.S)
    assert table is not None
    return [
        [plain(cell) for cell in re.findall(r"<t[hd][^>]*>(.*?)</t[hd]>", row, re.S)]
        for row in re.findall(r"<tr[^>]*>(.*?)</tr>", table[1], re.S)
    ]


def heads(section: Section) -> list[str]:
    """Columns of the first table of a section."""
    return [
        plain(cell) for cell in re.findall(r'<th scope="col">(.*?)</th>', section.html.split("<tbody>")[0])
    ]
