"""Names in the paths of what-ifs: with dots, spaces, quotes and brackets, in quotes or without."""

from __future__ import annotations

import copy
import tomllib
from importlib.resources import files
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from holdwater.errors import InputError
from holdwater.scenario.variants import changed, variant_changes

RAW = tomllib.loads(files("holdwater.scenario").joinpath("starter.toml").read_text("utf-8"))


def called(*names: str) -> dict[str, Any]:
    """The starter with roofs of these names."""
    raw = copy.deepcopy(RAW)
    raw["roof"] = [{**RAW["roof"][0], "name": name} for name in names]
    return raw


def area(raw: dict[str, Any], name: str) -> str:
    """Area of the one roof of this name."""
    (found,) = (roof["area"] for roof in raw["roof"] if roof["name"] == name)
    return str(found)


@pytest.mark.parametrize(
    ("path", "name"),
    [
        ('roof."x. y".area', "x. y"),
        ("roof.'x. y'.area", "x. y"),
        ("roof.x. y.area", "x. y"),
        ('roof."x.y".area', "x. y"),
        ('roof."x . y".area', "x.y"),
        ('roof."No. 2 . north".area', "No. 2 . north"),
        ('roof."..".area', ".."),
        ("roof.Bob's barn.area", "Bob's barn"),
        ('roof."Bob\'s barn".area', "Bob's barn"),
        ("roof.'the \"long\" shed. east'.area", 'the "long" shed. east'),
        ("roof.the 12\" pipe's shed.area", "the 12\" pipe's shed"),
        ("roof.barn [old].area", "barn [old]"),
        ('roof."barn [old] {2} (north)".area', "barn [old] {2} (north)"),
        ("roof.'a=b'.area", "a=b"),
        ('roof."barn+".area', "barn+"),
        (' roof . "north  end" . area ', "north  end"),
    ],
)
def test_names_with_dots_spaces_quotes_and_brackets(path: str, name: str) -> None:
    for change in (f"{path}=10 m2", f"{path} = '10 m2'", (path, "10 m2")):
        assert [roof["area"] for roof in changed(called("other", name), [change])["roof"]] == [
            "1200 ft2",
            "10 m2",
        ]


def test_a_name_in_quotes_is_whole_and_one_without_may_take_several_steps() -> None:
    raw = called("barn", "barn.area")
    assert area(changed(raw, ['roof."barn".area=10 m2']), "barn") == "10 m2"
    assert area(changed(raw, ['roof."barn.area".area=10 m2']), "barn.area") == "10 m2"
    assert area(changed(raw, ["roof.barn.area.area=10 m2"]), "barn.area") == "10 m2"


def test_the_very_name_comes_before_one_with_other_spaces() -> None:
    raw = called("x.y", "x. y")
    for name, other in (("x.y", "x. y"), ("x. y", "x.y")):
        new = changed(raw, [f'roof."{name}".area=10 m2'])
        assert area(new, name) == "10 m2"
        assert area(new, other) == "1200 ft2"


def test_a_dotted_name_in_links_lists_and_removals() -> None:
    raw = copy.deepcopy(RAW)
    next(tank for tank in raw["tank"] if tank["name"] == "upper")["name"] = "No. 2"
    raw["link"] = [{"tanks": ["No. 2", "lower"]}]
    raw["run"]["start_full"] = {"No. 2": 0.5, "lower": 0.5}
    new = changed(
        raw,
        ['link."No. 2".tanks+=third', "link.No. 2.closed=[]", 'run.start_full."No. 2"=0.2', 'tank-="No. 2"'],
    )
    assert new["link"] == [{"tanks": ["No. 2", "lower", "third"], "closed": []}]
    assert new["run"]["start_full"] == {"No. 2": 0.2, "lower": 0.5}
    assert [tank["name"] for tank in new["tank"]] == ["lower"]


NAMES = st.text(st.sampled_from("ab .'\"[]=+-#\\ä"), min_size=1, max_size=8).filter(
    lambda name: name.strip() and not {"'", '"'} <= set(name)
)


@settings(deadline=None)
@given(name=NAMES)
def test_every_name_without_both_kinds_of_quotes_can_be_reached(name: str) -> None:
    sign = "'" if '"' in name else '"'
    new = changed(called("other roof", name), [f"roof.{sign}{name}{sign}.area=10 m2"])
    assert [roof["area"] for roof in new["roof"]] == ["1200 ft2", "10 m2"]
    table = {"variant": {"x": {"roof": {name: {"area": "10 m2"}}}}}
    assert changed(called("other roof", name), variant_changes(table, "x")) == new


def test_a_wrong_name_in_quotes_says_what_there_is() -> None:
    for path, said in (
        ('roof."x. z".area', "there is no roof 'x. z'; did you mean 'x. y'?"),
        ("roof.'barn [odl]'.area", "there is no roof 'barn [odl]'; did you mean 'barn [old]'?"),
    ):
        with pytest.raises(InputError) as caught:
            changed(called("x. y", "barn [old]"), [f"{path}=1 m2"])
        assert caught.value.faults == [f"{path}: {said}"]
    with pytest.raises(InputError, match=r"""write roof\.'the "long" shed'\.area, or roof\+ to add"""):
        changed(called('the "long" shed'), ["roof=1"])
