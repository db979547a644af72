"""Hands for the tests in a browser: open a page, turn a dial, read what it says; and a word for when there is none."""

from __future__ import annotations

import json
import sys

import pytest

from tests.page.chromium import Chromium, at_hand
from tests.page.holding import Page

NEEDS_BROWSER = pytest.mark.skipif(
    at_hand() is None or sys.platform == "win32",
    reason="NO BROWSER: chromium is not on the path, so THE PAGE WAS NOT TRIED IN A BROWSER; install chromium",
)
READY = "document.body.dataset.answers && !document.body.classList.contains('stale')"
FAULTS = "document.getElementById('fault').textContent"


def open_page(browser: Chromium, page: Page) -> None:
    """Open a page and wait for its first answer."""
    browser.events.clear()
    browser.go(page.address)
    browser.until(READY)


def place_of(browser: Chromium, selector: str) -> dict[str, float]:
    script = f"""(() => {{
      const e = document.querySelector({json.dumps(selector)});
      e.scrollIntoView({{block: "center"}});
      const b = e.getBoundingClientRect();
      return {{x: b.x, y: b.y, w: b.width, h: b.height}};
    }})()"""
    found: dict[str, float] = browser.run(script)
    return found


def put(browser: Chromium, field: str, value: str, event: str) -> None:
    """Set a field and say so."""
    browser.run(
        f"""(() => {{ const e = document.getElementById({json.dumps(field)}); e.value = {json.dumps(value)};
        e.dispatchEvent(new Event({json.dumps(event)})); }})()"""
    )


def field_of(browser: Chromium, path: str) -> str:
    """Id of the number field of a dial."""
    script = f"[...document.querySelectorAll('.dial')].find((box) => box.dataset.path === {json.dumps(path)})"
    found: str = browser.run(f"{script}.querySelector('input[type=number]').id")
    return found


def text_of(browser: Chromium, selector: str) -> str:
    """Text of an element."""
    found: str = browser.run(f"document.querySelector({json.dumps(selector)}).textContent")
    return found


def turn(browser: Chromium, path: str, value: float) -> None:
    """Type a value into the field of a dial and leave it."""
    field = field_of(browser, path)
    before = browser.run("document.body.dataset.answers")
    browser.run(
        f"""(() => {{ const e = document.getElementById({json.dumps(field)}); e.value = {value};
        for (const kind of ["input", "change"]) e.dispatchEvent(new Event(kind, {{bubbles: true}})); }})()"""
    )
    browser.until(f"document.body.dataset.answers !== {json.dumps(before)} && {READY}")
