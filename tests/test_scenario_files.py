"""Reading the file: text, TOML, the starter, and nothing but plain words on any input."""

from __future__ import annotations

import re
import subprocess
import sys
import tomllib
from importlib.resources import files
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from holdwater import scenario
from holdwater.errors import InputError
from holdwater.scenario.file import check_raw
from holdwater.scenario.toml_text import parse
from holdwater.scenario.variants import variant_changes

STARTER = files("holdwater.scenario").joinpath("starter.toml").read_text("utf-8")


@pytest.fixture
def starter(tmp_path: Path) -> Path:
    path = tmp_path / "holding.toml"
    path.write_text(STARTER, "utf-8")
    return path


# ------------------------------------------------------------------------------------------- the text


def test_a_file_that_is_not_there(tmp_path: Path) -> None:
    with pytest.raises(
        InputError, match=r"there is no file .*mine\.toml; `holdwater new .*mine\.toml` writes a start"
    ):
        scenario.load(tmp_path / "mine.toml")


def test_a_file_name_with_a_slip(starter: Path) -> None:
    with pytest.raises(InputError, match=r"there is no file .*holdin\.toml; did you mean .*holding\.toml\?"):
        scenario.load(starter.with_name("holdin.toml"))


def test_a_folder_instead_of_a_file(starter: Path) -> None:
    with pytest.raises(
        InputError, match=r"is a folder; name the scenario file in it, such as .*holding\.toml"
    ):
        scenario.load(starter.parent)


def test_a_folder_without_a_scenario(tmp_path: Path) -> None:
    with pytest.raises(
        InputError, match=r"is a folder; name the scenario file in it; it holds no \.toml file"
    ):
        scenario.load(tmp_path)


def test_a_file_that_fails_while_read(starter: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    def refuse(self: Path) -> bytes:
        raise PermissionError(13, "Permission denied")

    monkeypatch.setattr(Path, "read_bytes", refuse)
    with pytest.raises(InputError, match="cannot be read: Permission denied; check its name and permissions"):
        scenario.load(starter)


def test_text_that_is_not_utf8(tmp_path: Path) -> None:
    path = tmp_path / "old.toml"
    path.write_bytes('title = "Invented"\n# Café\n'.encode("latin-1"))
    with pytest.raises(
        InputError, match=r"old\.toml, line 2: a character is not UTF-8; save the file as UTF-8"
    ):
        scenario.load(path)


def test_text_in_utf16(tmp_path: Path) -> None:
    path = tmp_path / "wide.toml"
    path.write_text(STARTER, "utf-16")
    with pytest.raises(InputError, match=r"wide\.toml is UTF-16 text; save it as UTF-8"):
        scenario.load(path)


def test_a_byte_order_mark_and_windows_line_ends_do_no_harm(tmp_path: Path) -> None:
    path = tmp_path / "windows.toml"
    path.write_bytes(b"\xef\xbb\xbf" + STARTER.replace("\n", "\r\n").encode())
    assert scenario.load(path).scenario.roof[0].name == "barn"


@pytest.mark.parametrize("text", ["", "  \n\t\n"])
def test_an_empty_file(tmp_path: Path, text: str) -> None:
    path = tmp_path / "empty.toml"
    path.write_text(text)
    with pytest.raises(InputError, match=r"empty\.toml is empty; `holdwater new` writes a starter to edit"):
        scenario.load(path)


def test_a_file_far_too_large(tmp_path: Path) -> None:
    path = tmp_path / "weather.csv"
    path.write_text("1996-01-01,0.0\n" * 150_000)
    with pytest.raises(InputError, match=r"far too large for a scenario; is it the weather record\?"):
        scenario.load(path)


# --------------------------------------------------------------------------------------------- TOML


@pytest.mark.parametrize(
    ("line", "cure"),
    [
        ("area = 1480 ft2", 'a quantity with its unit stands in quotes, such as "1480 ft2"'),
        ("area = 1,480", 'a quantity with its unit stands in quotes, such as "1480 ft2"'),
        ("depth = 1 1/2 in", 'a quantity with its unit stands in quotes, such as "1480 ft2"'),
        ("share = 20 %  # of all", 'a quantity with its unit stands in quotes, such as "1480 ft2"'),
        ("planted = 05-10", 'so does "05-10" for 10 May'),
        ('name = "barn', "a closing quote is missing"),
        ("name = 'barn", "a closing quote is missing"),
        ("name = “barn”", "plain quotes are needed, not curly ones"),
        (
            'file = "C:\\data"',
            "a backslash cannot stand in double quotes; write a slash, or use single quotes",
        ),
        ("surface = metal", 'text stands in quotes, such as surface = "metal"'),
        ("name", 'a key, an equals sign and a value are needed, such as name = "upper"'),
        ("= 3", 'a key, an equals sign and a value are needed, such as name = "upper"'),
        ("name: 3", 'a key, an equals sign and a value are needed, such as name = "upper"'),
        ("name =", "a value is missing after the equals sign"),
        ("name == 3", "not TOML: invalid value"),
        ("first flush = 3", "a key with a space in it stands in quotes"),
        ("[variant.third tank]", 'a name with a space stands in quotes, such as [variant."third tank"]'),
        ("[place", "a closing bracket is missing"),
        ("[pl@ce]", "not a table of the file: "),
        ("from = 2012-02-30", "there is no such day; a date is written year-month-day, such as 1996-01-31"),
        ('file = "again"', "this key is there already; keep one of the two"),
        ("[roof]\n[roof]", "[roof] is there already; where there are several, each is written [[roof]]"),
        (
            "[weather]",
            "[weather] is there already; put all its keys under one",
        ),
        (
            "[[weather]]",
            "[weather] stands in the file too; a table that may come several times is always [[weather]]",
        ),
        (
            "feeds = { upper = 0.6,",
            "a closing bracket is missing (what stands in curly braces must stand on one line)",
        ),
        ("months = [1, 2", "a closing bracket is missing"),
    ],
)
def test_a_line_that_toml_cannot_read(line: str, cure: str) -> None:
    text = f'title = "x"\n[weather]\nfile = "a"\n{line}\n[run]\n'
    number = 4 + line.count("\n")
    with pytest.raises(InputError) as caught:
        parse(text, Path("mine.toml"))
    (fault,) = caught.value.faults
    assert fault.startswith(f"mine.toml, line {number}: ")
    assert cure in fault


def test_a_fault_at_the_end_of_the_file() -> None:
    with pytest.raises(
        InputError, match=r"mine\.toml, line 2: \"tanks = \[\"a\",\": a closing bracket is missing"
    ):
        parse('title = "x"\ntanks = ["a",', Path("mine.toml"))


def test_brackets_without_end() -> None:
    with pytest.raises(InputError, match="brackets in brackets without end; this is no scenario file"):
        parse("a = " + "[" * 100_000, Path("mine.toml"))


def test_a_number_of_thousands_of_digits() -> None:
    with pytest.raises(InputError, match=r"line 1: "):
        parse("a = " + "9" * 10_000, Path("mine.toml"))


# ------------------------------------------------------------------------------------------ the starter


def test_the_starter_is_sound(starter: Path) -> None:
    file = scenario.check(starter)
    assert file.warnings == []
    assert file.path == starter
    assert file.text == STARTER
    assert [tank.name for tank in file.scenario.tank] == ["upper", "lower"]
    assert scenario.variant_names(file) == ["bigger barn roof", "third tank"]


def test_every_switched_off_line_of_the_starter_is_sound_too() -> None:
    """Each "# key = value" is tried alone in its place; a commented table is tried as a whole."""
    lines = STARTER.split("\n")
    tried = 0
    at = 0
    while at < len(lines):
        if not re.match(r"# (\w+ = |\[\[)", lines[at]):
            at += 1
            continue
        end = at + 1
        while lines[at].startswith("# [[") and end < len(lines) and lines[end].startswith("# "):
            end += 1
        block = [line.removeprefix("# ") for line in lines[at:end]]
        raw = tomllib.loads("\n".join([*_without_rivals(lines[:at], block[0]), *block, *lines[end:]]))
        if block[0].startswith("overflow_to"):  # only for tanks that are not linked, as the line says
            del raw["link"]
        if block[0].startswith("levels"):
            raw["tank"][1] = {key: raw["tank"][1][key] for key in ("name", "levels", "outlet")}
        if block[0].startswith("[[transfer]]"):
            del raw["link"]
        check_raw(raw)
        tried += 1
        at = end
    assert tried >= 20


def _without_rivals(lines: list[str], line: str) -> list[str]:
    """Leave out the key that the switched-off one stands in for."""
    if not line.startswith("runoff_coefficient"):
        return lines
    last = max(n for n, each in enumerate(lines) if each.startswith("surface"))
    return lines[:last] + lines[last + 1 :]


# ------------------------------------------------------------------------------------------- robustness

VALUES = st.recursive(
    st.one_of(
        st.none().map(lambda _: "ground"),
        st.booleans(),
        st.integers(),
        st.floats(),
        st.dates(),
        st.datetimes(),
        st.times(),
        st.text(max_size=20),
        st.sampled_from(
            ["upper", "lower", "2500 gal", "6 in", "20 %", "38 gal/day", "05-10", "36 h", "metal"]
        ),
    ),
    lambda inner: st.one_of(
        st.lists(inner, max_size=3),
        st.dictionaries(
            st.sampled_from(["name", "from", "to", "kind", "volume", "level", "upper", "", "odd key"]),
            inner,
            max_size=3,
        ),
    ),
    max_leaves=6,
)


def places(node: Any) -> list[tuple[Any, Any]]:
    """Every place in a scenario as written that can be put out of order."""
    keys = list(node) if isinstance(node, dict) else list(range(len(node))) if isinstance(node, list) else []
    return [(node, key) for key in keys] + [place for key in keys for place in places(node[key])]


@settings(deadline=None)
@given(data=st.data())
def test_whatever_stands_in_the_file_it_is_read_or_refused(data: st.DataObject) -> None:
    """Values swapped, dropped or added anywhere in the starter never raise anything but InputError."""
    raw = tomllib.loads(STARTER)
    for _ in range(data.draw(st.integers(1, 4), "changes")):
        holder, key = data.draw(st.sampled_from(places(raw)), "place")
        how = data.draw(st.sampled_from(["swap", "drop", "add"]), "how")
        if how == "swap":
            holder[key] = data.draw(VALUES, "value")
        elif how == "drop":
            del holder[key]
        elif isinstance(holder, dict):
            holder[data.draw(st.text(max_size=8), "key")] = data.draw(VALUES, "value")
        else:
            holder.append(data.draw(VALUES, "value"))
        if not places(raw):
            break
    faults: list[str] = []
    try:
        check_raw(raw)
        for name in scenario.variant_names(raw):
            variant_changes(raw, name)
    except InputError as error:
        faults = error.faults
        assert faults
    for fault in faults:
        assert "\n" not in fault
        assert not re.search(r"\b(roof|tank|draw|link|backup)(\.\d|\[\d)|pydantic|Traceback", fault)


@settings(deadline=None)
@given(cut=st.integers(0, len(STARTER)), noise=st.text(max_size=5), at=st.integers(0, len(STARTER)))
def test_a_torn_or_mistyped_file_is_read_or_refused(cut: int, noise: str, at: int) -> None:
    text = STARTER[:at] + noise + STARTER[at:]
    for torn in (text, STARTER[:cut]):
        faults = ["none"]
        try:
            check_raw(parse(torn, Path("mine.toml")))
        except InputError as error:
            faults = error.faults
        assert faults


# ---------------------------------------------------------------------------------------------- imports


def test_reading_a_scenario_loads_nothing_heavy(starter: Path) -> None:
    code = (
        "import sys; from holdwater import scenario; scenario.check(sys.argv[1]);"
        " print(sorted({'pint', 'numpy', 'pandas', 'xarray', 'matplotlib', 'scipy', 'numba'} & set(sys.modules)))"
    )
    out = subprocess.run(
        [sys.executable, "-c", code, str(starter)], capture_output=True, text=True, check=True
    )
    assert out.stdout.strip() == "[]"
