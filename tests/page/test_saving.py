"""A design kept as a variant: what is added, that the rest of the file stays, and what is refused."""

from __future__ import annotations

import datetime as dt
import os
import stat
import sys
import tomllib
from pathlib import Path

import pytest

from holdwater.errors import InputError
from holdwater.page import saving
from holdwater.page.asked import Asked
from holdwater.page.desk import Desk
from holdwater.scenario import load

DEMO = Path(__file__).parents[2] / "scenarios" / "larkfield.toml"
TURNED = [("roof.barn.area", "1200 ft2"), ("draw.house.people", 3)]


def _left_alone(path: Path, before: bytes) -> None:
    assert path.read_bytes() == before
    assert sorted(each.name for each in path.parent.iterdir()) == ["holding.toml", "weather.csv"]


@pytest.mark.parametrize(
    "name",
    [
        "bigger roof",
        'the "best" one',
        "it's.dotted",
        "<script>alert(1)</script>",
        "../../etc/passwd",
        "C:\\temp\\x",
        "كبير",
        "]\n"[:1],
        "a = 1 # no",
    ],
)
def test_a_variant_is_added_and_nothing_else_changes(scenario: Path, name: str) -> None:
    before = scenario.read_bytes()
    assert saving.save(scenario, name, TURNED) == name
    after = scenario.read_bytes()
    assert after.startswith(before), "comments and spacing stay, byte for byte"
    assert tomllib.loads(after.decode())["variant"][name] == dict(TURNED)
    kept = load(scenario, variant=name).scenario
    assert kept.roof[0].area == pytest.approx(1200 * 0.09290304)
    assert sorted(each.name for each in scenario.parent.iterdir()) == ["holding.toml", "weather.csv"]


def test_the_demo_takes_a_variant_and_keeps_its_comments(tmp_path: Path) -> None:
    path = tmp_path / "larkfield.toml"
    path.write_bytes(DEMO.read_bytes())
    saving.save(path, "mine", [("roof.barn.area", "2200 ft2")])
    assert path.read_bytes() == DEMO.read_bytes() + b'\n[variant.mine]\n"roof.barn.area" = "2200 ft2"\n'


@pytest.mark.parametrize(
    ("name", "told"),
    [
        ("", "give the variant a name"),
        ("   ", "give the variant a name"),
        ("x" * 61, "61 characters long; 60 are the most"),
        ("x" * 10_000, "10,000 characters long"),
        ("two\nlines", "cannot be printed"),
        ("zero\0", "cannot be printed"),
        ("right \u202e left", "cannot be printed"),
        ("more roof", 'already a variant "more roof" in holding.toml'),
    ],
)
def test_a_name_that_cannot_be_used_changes_nothing(scenario: Path, name: str, told: str) -> None:
    before = scenario.read_bytes()
    with pytest.raises(InputError, match=told):
        saving.save(scenario, name, TURNED)
    _left_alone(scenario, before)


def test_nothing_turned_is_nothing_saved(scenario: Path) -> None:
    with pytest.raises(InputError, match="nothing is changed"):
        saving.save(scenario, "same", [])


def test_a_design_that_does_not_hold_together_is_not_saved(scenario: Path) -> None:
    before = scenario.read_bytes()
    desk = Desk(scenario, compiles=False)
    with pytest.raises(InputError, match="reserve: volume = 99,999 gal is not below"):
        desk.save(Asked(name="dry", values={"reserve.volume": 99_999.0}))
    _left_alone(scenario, before)


def test_variants_in_one_line_are_told_not_broken(scenario: Path) -> None:
    text = scenario.read_text("utf-8").split("[variant")[0]
    scenario.write_text('variant = { a = { "run.rule" = "YBS" } }\n' + text, "utf-8")
    before = scenario.read_bytes()
    with pytest.raises(InputError, match=r"does not take another variant at its end.*add it by hand"):
        saving.save(scenario, "b", TURNED)
    _left_alone(scenario, before)


def test_line_ends_rights_and_mark_of_order_stay(scenario: Path) -> None:
    text = scenario.read_text("utf-8").replace("\n", "\r\n")
    scenario.write_bytes(b"\xef\xbb\xbf" + text.encode())
    scenario.chmod(0o640)
    before = scenario.read_bytes()
    saving.save(scenario, "b", TURNED)
    after = scenario.read_bytes()
    assert after.startswith(before)
    assert after.count(b"\n") == after.count(b"\r\n")
    assert after.count(b"\xef\xbb\xbf") == 1
    if sys.platform != "win32":
        assert stat.S_IMODE(scenario.stat().st_mode) == 0o640


@pytest.mark.skipif(sys.platform == "win32", reason="links need rights there")
def test_a_link_to_a_file_elsewhere_is_not_written_through(tmp_path: Path, scenario: Path) -> None:
    elsewhere = tmp_path / "other"
    elsewhere.mkdir()
    real = elsewhere / "real.toml"
    scenario.rename(real)
    scenario.symlink_to(real)
    before = real.read_bytes()
    with pytest.raises(InputError, match="link to a file elsewhere"):
        saving.save(scenario, "b", TURNED)
    assert real.read_bytes() == before
    assert scenario.is_symlink()


def test_a_stop_while_writing_leaves_the_file_whole(scenario: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    before = scenario.read_bytes()

    def full(*about: object) -> None:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(os, "replace", full)
    with pytest.raises(InputError, match="cannot be written: No space left on device"):
        saving.save(scenario, "b", TURNED)
    _left_alone(scenario, before)


def test_a_file_edited_meanwhile_keeps_the_edit(scenario: Path) -> None:
    desk = Desk(scenario, compiles=False)
    edited = scenario.read_text("utf-8") + "# a note written meanwhile\n"
    scenario.write_text(edited, "utf-8")
    desk.save(Asked(name="b", values={"roof.barn.area": 1000.0}))
    assert scenario.read_text("utf-8") == edited + '\n[variant.b]\n"roof.barn.area" = "1000 ft2"\n'


def test_an_edit_by_hand_is_told_until_it_is_read(scenario: Path) -> None:
    desk = Desk(scenario, compiles=False)
    assert desk.answer(Asked())["edited"] is False
    text = scenario.read_text("utf-8").replace("people = 2", "people = 3  # the baby")
    scenario.write_text(text, "utf-8")
    assert desk.answer(Asked())["edited"] is True
    saved = desk.save(Asked(name="b", values={"roof.barn.area": 1000.0}))
    assert saved["edited"] is True
    assert scenario.read_text("utf-8").startswith(text)
    opened = desk.opening(Asked(), fresh=True)
    assert next(dial["value"] for dial in opened["dials"] if dial["path"] == "draw.house.people") == 3.0
    assert desk.answer(Asked())["edited"] is False


def test_saving_itself_is_no_edit_by_hand(scenario: Path) -> None:
    desk = Desk(scenario, compiles=False)
    desk.save(Asked(name="b", values={"roof.barn.area": 1000.0}))
    assert desk.answer(Asked())["edited"] is False
    assert desk.opening(Asked(variant="b"))["variants"] == ["more roof", "b"]


def test_a_design_that_the_edited_file_cannot_take_is_not_saved(scenario: Path) -> None:
    desk = Desk(scenario, compiles=False)
    scenario.write_text(scenario.read_text("utf-8").replace("barn", "stable"), "utf-8")
    before = scenario.read_bytes()
    with pytest.raises(
        InputError, match=r"not saved, holding\.toml would not load: .*there is no roof 'barn'"
    ):
        desk.save(Asked(name="b", values={"roof.barn.area": 1000.0}))
    _left_alone(scenario, before)


def test_a_file_broken_or_gone_meanwhile_is_told(scenario: Path) -> None:
    desk = Desk(scenario, compiles=False)
    scenario.write_text("title = \n", "utf-8")
    assert desk.answer(Asked())["edited"] is True
    with pytest.raises(InputError, match=r"holding\.toml"):
        desk.save(Asked(name="b", values={"roof.barn.area": 1000.0}))
    assert scenario.read_text("utf-8") == "title = \n"
    scenario.unlink()
    assert desk.answer(Asked())["edited"] is True
    with pytest.raises(InputError, match="there is no file"):
        desk.save(Asked(name="b", values={"roof.barn.area": 1000.0}))
    assert not scenario.exists()


def test_an_edit_at_the_moment_of_saving_is_kept(scenario: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    fsync = os.fsync

    def edit(handle: int) -> None:
        fsync(handle)
        scenario.write_text("# mine\n" + text, "utf-8")

    text = scenario.read_text("utf-8")
    monkeypatch.setattr(os, "fsync", edit)
    with pytest.raises(InputError, match="changed at this very moment"):
        saving.save(scenario, "b", TURNED)
    _left_alone(scenario, ("# mine\n" + text).encode())


def test_what_is_dropped_from_one_part_adds_up() -> None:
    changes = [("roof.a-", "surface"), ("run.rule", "YAS"), ("roof.a-", "collects"), ("run.rule", "YBS")]
    assert saving.merged(changes) == {"roof.a-": ["surface", "collects"], "run.rule": "YBS"}


def test_mixed_line_ends_stay_as_they_are(scenario: Path) -> None:
    scenario.write_bytes(scenario.read_bytes().replace(b"\n[run]", b"\r\n[run]"))
    before = scenario.read_bytes()
    saving.save(scenario, "b", TURNED)
    assert scenario.read_bytes().startswith(before)


def test_a_variant_of_a_variant_holds_both_changes(scenario: Path) -> None:
    desk = Desk(scenario, compiles=False)
    desk.save(
        Asked(
            variant="more roof",
            name="more roof, one person",
            values={"draw.house.people": 1.0},
            rule="YBS",
            first=dt.date(2002, 1, 1),
        )
    )
    kept = load(scenario, variant="more roof, one person").scenario
    assert kept.roof[0].area == pytest.approx(1400 * 0.09290304)
    assert kept.draw[0].people == 1  # type: ignore[union-attr]
    assert (kept.run.rule, str(kept.run.from_)) == ("YBS", "2002-01-01")
    assert "more roof, one person" in desk.opening(Asked(), fresh=True)["variants"]


def test_a_variant_that_adds_a_tank_is_written_in_one_line() -> None:
    third = {
        "tank+": {"name": "third", "capacity": "5000 gal", "levels": [{"level": "1 in"}]},
        "n": [1, 2.5, True],
    }
    text = saving.section('a "b"', third)
    assert tomllib.loads(text) == {"variant": {'a "b"': third}}
    assert text.count("\n") == 3
