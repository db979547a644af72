"""`holdwater plan` as a user types it: what it writes, where, and what it says."""

from __future__ import annotations

import json
import os
import shutil
import stat
import subprocess
import sys
from pathlib import Path

import pytest

from holdwater.plan.browser import Browser, at_hand, printed
from tests.plan.conftest import Command
from tests.plan.holdings import EVERYTHING


def files(folder: Path) -> set[str]:
    return {str(path.relative_to(folder)) for path in folder.rglob("*") if path.is_file()}


def test_it_writes_one_page_and_says_so(here: Path, holdwater: Command) -> None:
    done = holdwater("plan", "holding.toml")
    assert done.code == 0
    assert files(here / "outputs") == {"holding/plan.html"}
    first, _, rest = done.out.partition("\n")
    assert first.startswith("Hillside would have run dry on")
    assert "Written: outputs/holding/plan.html (" in rest
    text = (here / "outputs/holding/plan.html").read_text("utf-8")
    assert text.startswith("<!DOCTYPE html>")
    assert text.endswith("</html>")


def test_a_missing_browser_is_told_loudly_even_when_quiet(here: Path, holdwater: Command) -> None:
    done = holdwater("plan", "holding.toml", "--quiet")
    assert done.out == ""
    assert done.err.startswith("holdwater: NO PDF: HOLDWATER_BROWSER names no browser that is there; open ")
    assert holdwater("plan", "holding.toml", "--quiet", "--no-pdf").err == ""


def test_it_writes_where_it_is_told(here: Path, holdwater: Command) -> None:
    assert holdwater("plan", "holding.toml", "--out", "here/mine.html", "--no-pdf").code == 0
    assert holdwater("plan", "holding.toml", "--out", "there", "--no-pdf").code == 0
    (here / "old.stuff").mkdir()
    assert holdwater("plan", "holding.toml", "--out", "old.stuff", "--no-pdf").code == 0
    assert files(here) == {
        "holding.toml",
        "weather.csv",
        "here/mine.html",
        "there/plan.html",
        "old.stuff/plan.html",
    }


@pytest.mark.parametrize(
    ("out", "said"),
    [
        ("plan.pdf", 'name a file that ends in .html, or a folder; found ".pdf"'),
        ("holding.toml", 'name a file that ends in .html, or a folder; found ".toml"'),
        ("holding.toml/plan.html", "cannot write into the output folder holding.toml"),
    ],
)
def test_a_place_it_cannot_write_to_is_refused(here: Path, holdwater: Command, out: str, said: str) -> None:
    done = holdwater("plan", "holding.toml", "--out", out, "--no-pdf")
    assert done.code == 2
    assert said in done.err
    assert files(here) == {"holding.toml", "weather.csv"}
    assert (here / "holding.toml").read_text("utf-8") == EVERYTHING


def test_names_in_the_scenario_do_not_steer_where_it_writes(here: Path, holdwater: Command) -> None:
    text = EVERYTHING.replace('title = "Hillside', 'title = "../../x/y\\\\z: Hillside').replace(
        '"barn"', '"../../../barn"'
    )
    (here / "holding.toml").write_text(text.replace("roof.barn.area", "roof.'../../../barn'.area"), "utf-8")
    before = files(here.parent)
    assert holdwater("plan", "holding.toml", "--no-pdf").code == 0
    assert files(here.parent) - before == {f"{here.name}/outputs/holding/plan.html"}


def test_an_amount_held_adds_the_outlook(here: Path, holdwater: Command) -> None:
    done = holdwater("plan", "holding.toml", "--holding", "40 %", "--on", "2020-12-01", "--json", "--no-pdf")
    told = json.loads(done.out)
    assert "outlook" in told["sections"]
    text = (here / told["plan"]).read_text("utf-8")
    assert "holdwater plan holding.toml --holding &#39;40 %&#39; --on 2020-12-01" in text
    assert "written on 1 December 2020" in text


def test_an_amount_that_cannot_be_is_refused_and_nothing_is_written(here: Path, holdwater: Command) -> None:
    done = holdwater("plan", "holding.toml", "--holding", "99999 gal", "--on", "2020-12-01")
    assert done.code == 2
    assert "there is room for" in done.err
    assert files(here) == {"holding.toml", "weather.csv"}


def test_json_tells_what_was_made(here: Path, holdwater: Command) -> None:
    told = json.loads(holdwater("plan", "holding.toml", "--json").out)
    assert set(told) == {"scenario", "verdict", "plan", "bytes", "sections", "pdf", "why_no_pdf"}
    assert told["bytes"] == (here / told["plan"]).stat().st_size
    assert told["pdf"] is None
    assert told["why_no_pdf"] == "HOLDWATER_BROWSER names no browser that is there"
    assert told["sections"][0] == "front"


def test_changes_are_made_and_told(here: Path, holdwater: Command) -> None:
    done = holdwater(
        "plan",
        "holding.toml",
        "--variant",
        "bigger roof",
        "--set",
        "draw.house.people=1",
        "--units",
        "metric",
        "--no-pdf",
    )
    assert done.code == 0
    text = (here / "outputs/holding/plan.html").read_text("utf-8")
    assert "1 person, " in text
    assert "139 m2 of metal" in text
    assert (
        "The scenario was changed for this plan: <code>variant bigger roof</code>, <code>draw.house.people=1</code>"
        in text
    )
    assert "--variant &#39;bigger roof&#39; --set draw.house.people=1 --units metric" in text


def test_a_plan_that_fails_leaves_the_old_one_whole(
    here: Path, holdwater: Command, monkeypatch: pytest.MonkeyPatch
) -> None:
    assert holdwater("plan", "holding.toml", "--no-pdf").code == 0
    before = (here / "outputs/holding/plan.html").read_bytes()

    def broken(*_: object) -> None:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr("os.replace", broken)
    done = holdwater("plan", "holding.toml", "--no-pdf")
    assert done.code == 2
    assert "No space left on device" in done.err
    assert files(here / "outputs") == {"holding/plan.html"}
    assert (here / "outputs/holding/plan.html").read_bytes() == before


# ------------------------------------------------------------------------------------------------ printing


def browser(folder: Path, name: str, script: str) -> Path:
    """A stand-in for a browser: a shell script."""
    made = folder / name
    made.write_text(f"#!/bin/sh\n{script}\n", "utf-8")
    made.chmod(made.stat().st_mode | stat.S_IEXEC)
    return made


PRINTS = """
for each in "$@"; do
  case "$each" in --print-to-pdf=*) echo %PDF-1.4 > "${each#--print-to-pdf=}";; esac
done
"""


def test_the_browser_chosen_prints_and_the_pdf_lies_beside_the_page(
    here: Path, holdwater: Command, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("HOLDWATER_BROWSER", str(browser(here, "mybrowser", PRINTS)))
    done = holdwater("plan", "holding.toml", "--out", "a/b.html")
    assert done.err == ""
    assert "Printed: a/b.pdf" in done.out
    assert files(here / "a") == {"b.html", "b.pdf"}


def test_a_pdf_that_is_out_of_date_goes_when_none_can_be_printed(here: Path, holdwater: Command) -> None:
    (here / "a").mkdir()
    (here / "a/b.pdf").write_bytes(b"%PDF old")
    holdwater("plan", "holding.toml", "--out", "a/b.html", "--no-pdf")
    assert files(here / "a") == {"b.html", "b.pdf"}
    holdwater("plan", "holding.toml", "--out", "a/b.html")
    assert files(here / "a") == {"b.html"}


@pytest.mark.parametrize(
    ("script", "said"),
    [
        ("exit 3", "wrote no PDF"),
        ("sleep 30", "it took more than 0 s"),
        (PRINTS.replace("%PDF-1.4", "rubbish"), "wrote no PDF"),
    ],
    ids=["fails", "hangs", "rubbish"],
)
def test_a_browser_that_does_not_print_is_told(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, script: str, said: str
) -> None:
    monkeypatch.setattr("holdwater.plan.browser.PATIENCE", 0.3)
    chosen = Browser(str(browser(tmp_path, "mybrowser", script)), gecko=False)
    (tmp_path / "page.html").write_text("<p>", "utf-8")
    assert said in printed(tmp_path / "page.html", tmp_path / "page.pdf", chosen)
    assert not (tmp_path / "page.pdf").exists()


def test_a_firefox_that_does_not_start_is_told(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("holdwater.plan.browser.PATIENCE", 0.3)
    chosen = Browser(str(browser(tmp_path, "firefox", "exit 0")), gecko=True)
    assert "firefox could not print it (it did not start)" in printed(
        tmp_path / "p.html", tmp_path / "p.pdf", chosen
    )


def test_browsers_are_looked_up_on_the_path(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.delenv("HOLDWATER_BROWSER", raising=False)
    monkeypatch.setenv("PATH", str(tmp_path))
    assert at_hand() is None
    assert printed(tmp_path / "p.html", tmp_path / "p.pdf") == (
        "no browser was found (chromium, google-chrome, firefox)"
    )
    browser(tmp_path, "firefox", "exit 0")
    found = at_hand()
    assert found is not None
    assert (found.command, found.gecko) == (str(tmp_path / "firefox"), True)
    browser(tmp_path, "chromium", "exit 0")
    found = at_hand()
    assert found is not None
    assert (Path(found.command).name, found.gecko) == ("chromium", False)


def test_the_page_that_is_printed_has_the_paper_of_its_units(
    here: Path, holdwater: Command, monkeypatch: pytest.MonkeyPatch
) -> None:
    keeps = (
        'for each in "$@"; do case "$each" in file:*) cp "${each#file://}" '
        + str(here / "seen.html")
        + ";; esac; done"
    )
    monkeypatch.setenv("HOLDWATER_BROWSER", str(browser(here, "mybrowser", keeps)))
    for units, paper in (("us", "letter"), ("metric", "a4")):
        holdwater("plan", "holding.toml", "--units", units)
        assert f"@page{{size:{paper}}}" in (here / "seen.html").read_text("utf-8")
        assert "@page{size:" not in (here / "outputs/holding/plan.html").read_text("utf-8")
    assert shutil.which("mybrowser") is None
    assert os.environ["HOLDWATER_BROWSER"].endswith("mybrowser")


def test_its_help_loads_nothing_heavy() -> None:
    code = """
import sys
sys.argv = ["holdwater", "plan", "--help"]
from holdwater.cli import main
try:
    main()
except SystemExit as end:
    assert not end.code
heavy = {"pandas", "xarray", "numba", "scipy", "pint", "matplotlib", "meteostat", "jinja2"}
sys.exit(str(heavy & set(sys.modules)) if heavy & set(sys.modules) else 0)
"""
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=False)
    assert done.returncode == 0, done.stderr
    assert "printable plan" in done.stdout
