"""The page in a real browser: changes are listed, priced, undone and kept; edits of the file by hand are noticed."""

from __future__ import annotations

import json
from pathlib import Path

from tests.page.chromium import Chromium
from tests.page.hands import FAULTS, NEEDS_BROWSER, field_of, open_page, put, text_of, turn
from tests.page.holding import Page, served, write

pytestmark = NEEDS_BROWSER


def test_what_is_changed_is_listed_priced_and_put_back(browser: Chromium, demo: Page) -> None:
    open_page(browser, demo)
    verdict = text_of(browser, "#verdict")
    assert text_of(browser, "#changed-head") == "Nothing is changed"
    assert text_of(browser, "#price") == "none"
    turn(browser, "roof.barn.area", 1840)
    # the file's what-if "bigger barn roof" asks 5,400 for 720 ft2 more
    assert text_of(browser, "#price") == "2,700"
    assert 'what-if "bigger barn roof"' in text_of(browser, "#changes li")
    turn(browser, "tank.upper.capacity", 9000)
    assert text_of(browser, "#was-price") == "and 1 unpriced"
    assert text_of(browser, "#changed-head") == "Changed against the scenario: 2 things"
    fields = "[...document.querySelectorAll('.price')]"
    mine = browser.run(
        f"{fields}.find((box) => box.textContent.includes('upper tank')).querySelector('input').id"
    )
    put(browser, mine, "1.5", "input")
    browser.until("document.getElementById('price').textContent === '4,950'")
    assert "your price" in text_of(browser, "#changes li:nth-child(2)")
    assert "--set 'roof.barn.area=1840 ft2'" in text_of(browser, "#command")
    browser.run("document.querySelector('#changes button').click()")
    browser.until("document.getElementById('price').textContent === '2,250'")
    assert browser.run(f"document.getElementById('{field_of(browser, 'roof.barn.area')}').value") == "1480"
    browser.run("document.querySelector('#changes button').click()")
    browser.until(f"document.getElementById('verdict').textContent === {json.dumps(verdict)}")
    assert text_of(browser, "#changed-head") == "Nothing is changed"
    assert browser.run("document.activeElement.id") == "changed-head", "the focus is not lost"
    assert browser.complaints() == []


def test_turns_are_undone_one_by_one(browser: Chromium, demo: Page) -> None:
    open_page(browser, demo)
    assert browser.run("document.getElementById('undo').disabled") is True
    turn(browser, "roof.barn.area", 1840)
    turn(browser, "draw.house.people", 5)
    browser.run("document.querySelector('input[value=YBS]').click()")
    browser.until("document.querySelectorAll('#changes li').length === 3")
    put(browser, "first", "2001-01-01", "change")
    browser.until("document.querySelectorAll('#changes li').length === 4")
    for left in (3, 2, 1, 0):
        browser.run("document.getElementById('undo').click()")
        browser.until(f"document.querySelectorAll('#changes li').length === {left}")
    assert browser.run("document.getElementById('undo').disabled") is True
    assert browser.run("document.getElementById('first').value") == "1996-01-01"
    assert browser.run("document.querySelector('input[name=rule]:checked').value") == "YAS"
    assert browser.complaints() == []


def test_reset_leads_from_a_variant_back_to_the_scenario(browser: Chromium, demo: Page) -> None:
    open_page(browser, demo)
    verdict = text_of(browser, "#verdict")
    put(browser, "start", "0", "change")
    browser.until("document.querySelectorAll('#changes li').length === 1")
    assert "third tank" in text_of(browser, "#changes li")
    assert text_of(browser, "#price") == "4,900"
    assert text_of(browser, "#verdict") != verdict
    browser.run("document.getElementById('reset').click()")
    browser.until("document.getElementById('changed-head').textContent === 'Nothing is changed'")
    assert text_of(browser, "#verdict") == verdict
    assert browser.run("document.getElementById('start').value") == ""


def test_enter_in_a_field_saves_nothing(browser: Chromium, demo: Page) -> None:
    open_page(browser, demo)
    before = demo.desk.path.read_bytes()
    browser.run(f"document.getElementById('{field_of(browser, 'roof.barn.area')}').focus()")
    browser.key("Enter", 13)
    browser.run("new Promise((done) => setTimeout(done, 300))")
    assert text_of(browser, "#kept") == ""
    assert demo.desk.path.read_bytes() == before


def test_saving_names_variant_file_and_command_and_offers_it(browser: Chromium, tmp_path: Path) -> None:
    path = write(tmp_path)
    with served(path) as page:
        open_page(browser, page)
        turn(browser, "roof.barn.area", 1000)
        put(browser, "name", "a bit more", "input")
        browser.run("document.getElementById('save').click()")
        browser.until("document.getElementById('kept').textContent.startsWith('Saved')")
        assert text_of(browser, "#kept") == (
            'Saved as variant "a bit more" at the end of holding.toml.'
            " In a terminal: holdwater run holding.toml --variant 'a bit more'"
        )
        assert "variant: a bit more" in text_of(browser, "#start")
        verdict = text_of(browser, "#verdict")
        put(browser, "start", "1", "change")
        browser.until("document.querySelectorAll('#changes li').length === 1")
        assert text_of(browser, "#verdict") == verdict
        assert browser.complaints() == []


def test_an_edit_by_hand_is_noticed_and_read_again(browser: Chromium, tmp_path: Path) -> None:
    path = write(tmp_path)
    with served(path) as page:
        open_page(browser, page)
        assert browser.run("document.getElementById('edited').hidden") is True
        path.write_text(path.read_text("utf-8").replace("people = 2", "people = 4"), "utf-8")
        turn(browser, "roof.barn.area", 1000)
        assert browser.run("document.getElementById('edited').hidden") is False
        assert "holding.toml was changed on the disk" in text_of(browser, "#edited")
        browser.run("document.getElementById('reread').click()")
        browser.until("document.getElementById('edited').hidden")
        assert (
            browser.run(f"document.getElementById('{field_of(browser, 'draw.house.people')}').value") == "4"
        )
        assert browser.run(f"document.getElementById('{field_of(browser, 'roof.barn.area')}').value") == "900"


def test_weather_that_goes_missing_is_told_and_found_again(browser: Chromium, tmp_path: Path) -> None:
    path = write(tmp_path)
    record = tmp_path / "weather.csv"
    with served(path) as page:
        open_page(browser, page)
        record.rename(tmp_path / "away.csv")
        turn(browser, "roof.barn.area", 1000)
        assert browser.run(FAULTS) == "", "what is read already still answers"
        browser.go(page.address)
        browser.until("!document.getElementById('fault').hidden")
        assert "weather.csv" in browser.run(FAULTS)
        assert text_of(browser, "#title") == "This holding cannot be shown"
        (tmp_path / "away.csv").rename(record)
        open_page(browser, page)
        assert browser.run(FAULTS) == ""
