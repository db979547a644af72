"""Every way in which input can be at fault: a plain message, exit code 2, nothing half-written, no traceback."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

from tests.cli.conftest import Command, contents
from tests.cli.holding import HOLDING, days, rain_in, weather_csv

OLD = {"summary.json": b'{"old": true}\n', "mine.txt": b"notes\n"}


@pytest.fixture
def out(here: Path) -> Path:
    """An output folder with files of an earlier run and one of the user's own."""
    folder = here / "out"
    folder.mkdir()
    for name, content in OLD.items():
        (folder / name).write_bytes(content)
    return folder


def write(here: Path, name: str, text: str | bytes) -> None:
    (here / name).write_bytes(text.encode() if isinstance(text, str) else text)


def table(*columns: list[object]) -> str:
    return "\n".join(",".join(map(str, row)) for row in zip(*columns, strict=True)) + "\n"


def rows() -> list[str]:
    return weather_csv().splitlines(keepends=True)


SCENARIOS = {
    "unknown key": (("area =", "arae ="), r"roof 'barn': unknown key arae; did you mean area\?"),
    "unknown table": (("[[tank]]", "[[tnak]]"), r"unknown key tnak; did you mean tank\?"),
    "no unit": (('"2500 gal"', "2500"), r"tank 'main': capacity = 2500 has no unit; write \"2500 gal\" or"),
    "wrong unit": (('"1000 ft2"', '"1000 gal"'), r"roof 'barn': area = \"1000 gal\": a volume, but an area"),
    "negative area": (('"1000 ft2"', '"-1000 ft2"'), r"area = \"-1000 ft2\": an area cannot be negative"),
    "unknown tank": (('feeds = "main"', 'feeds = "mian"'), r"feeds: there is no tank 'mian'; did you mean"),
    "unknown crop": (('"tomato"', '"tomatoe"'), r"there is no crop 'tomatoe'; did you mean 'tomato'\?"),
    "unknown soil": (('"loam"', '"lome"'), r"there is no soil 'lome'; did you mean 'loam'\?"),
    "30 February": (('"05-10"', '"02-30"'), r"planted = \"02-30\": February has no day 30"),
    "beyond the pole": (("latitude = 40.0", "latitude = 91"), r"place: latitude = 91: it must be at most 90"),
    "bed of no size": (('"100 ft2"', '"0 ft2"'), r"draw 'tomatoes': area must be above 0"),
    "not TOML": (("[[tank]]", "[[tank]"), r"line \d+"),
    "no such weather": (('"weather.csv"', '"wether.csv"'), r"'wether.csv' was not found .*'weather.csv'\?"),
    "folder as weather": (('"weather.csv"', '"out"'), r"weather file 'out' is a folder"),
}


@pytest.mark.parametrize("name", SCENARIOS)
@pytest.mark.parametrize("command", ["run", "check"])
def test_faults_of_a_scenario(name: str, command: str, here: Path, out: Path, holdwater: Command) -> None:
    (old, new), said = SCENARIOS[name]
    assert old in HOLDING
    write(here, "holding.toml", HOLDING.replace(old, new, 1))
    done = holdwater(command, "holding.toml", *(["--out", out] if command == "run" else []))
    assert (done.code, done.out) == (2, "")
    assert re.search(said, done.err), done.err
    assert all(line.startswith("holdwater: ") for line in done.err.splitlines())
    assert contents(out) == OLD


def test_all_faults_are_told_at_once(here: Path, holdwater: Command) -> None:
    text = HOLDING.replace("area =", "arae =", 1).replace('"2500 gal"', '"2500 ft2"')
    write(here, "holding.toml", text.replace('feeds = "main"', 'feeds = "mian"'))
    done = holdwater("check", "holding.toml")
    assert done.code == 2
    assert {"arae", "2500 ft2", "mian"} <= set(re.findall(r"arae|2500 ft2|mian", done.err))
    assert len(done.err.splitlines()) >= 3


LINKED = """
[[tank]]
name = "second"
capacity = "500 gal"
diameter = "50 in"
overflow_to = "main"
"""


def test_a_loop_of_overflows(here: Path, out: Path, holdwater: Command) -> None:
    text = HOLDING.replace('diameter = "95 in"', 'diameter = "95 in"\noverflow_to = "second"')
    write(here, "holding.toml", text.replace("[[draw]]", f"{LINKED}[[draw]]", 1))
    done = holdwater("run", "holding.toml", "--out", out)
    assert done.code == 2
    assert 'the overflows run in a loop: main -> second -> main; let one of them go to "ground"' in done.err
    assert contents(out) == OLD


def test_a_link_of_an_unknown_tank(here: Path, out: Path, holdwater: Command) -> None:
    write(here, "holding.toml", HOLDING + '[[link]]\ntanks = ["main", "secnod"]\n')
    done = holdwater("run", "holding.toml", "--out", out)
    assert done.code == 2
    assert "there is no tank 'secnod'" in done.err
    assert contents(out) == OLD


def test_a_tank_that_nothing_fills_is_a_warning(here: Path, holdwater: Command) -> None:
    write(here, "holding.toml", HOLDING.replace("[[draw]]", f"{LINKED.replace('main', 'ground')}[[draw]]", 1))
    done = holdwater("check", "holding.toml")
    assert (done.code, done.err) == (0, "")
    assert (
        "Note: nothing fills tank 'second': no roof, overflow, transfer, link or backup leads to it."
        in done.out
    )


WEATHERS: dict[str, tuple[str | bytes, str]] = {
    "empty": ("", r"weather file 'weather.csv' is empty"),
    "header only": (rows()[0], r"weather file 'weather.csv' holds a header line and no data"),
    "tenths of mm": (
        table(["date", *days()], ["rain_mm", *(round(r * 254) for r in rain_in())]),
        r"looks like tenths of a millimetre.*rain_unit = \"tenths of mm\"",
    ),
    "two orders": (
        table(
            ["date", *(d.strftime(("%d/%m/%Y", "%m/%d/%Y")[i % 2]) for i, d in enumerate(days()))],
            ["rain_in", *rain_in()],
        ),
        r"column 'date' mixes two orders: day before month on lines .*, month before day on lines",
    ),
    "a gap of 40 days": (
        "".join(rows()[:101] + rows()[141:]),
        r"40 days have no rain value \(2019: 40\); the longest gap is 40 days, 2019-04-11 to 2019-05-20\."
        r".*missing_days",
    ),
    "not UTF-8": (
        table(["date", *days()], ["rain_in", *rain_in()], ["ort", *["Bäch"] * len(days())]).encode("latin-1"),
        r"is not UTF-8 text: line 2 holds the byte 0xe4; .*encoding = \"latin-1\"",
    ),
    "no temperatures for the garden": (
        table(["date", *days()], ["rain_in", *rain_in()]),
        r"ET0 cannot be computed: no t_min column, no t_max column; .*twelve monthly ET0 values",
    ),
    "Tmax below Tmin": (
        "".join(row.replace(",25,43", ",43,25") for row in rows()),
        r"maximum lies below its minimum on .* days?: 2019-01-0[1-9]",
    ),
    "temperatures in one month only": (
        "".join(
            row if row.startswith(("date", "2019-01")) else row.rsplit(",", 2)[0] + ",,\n" for row in rows()
        ),
        r"ET0 cannot be computed: no t_min column, no t_max column",
    ),
    "the year 3019": (weather_csv().replace("2020-12-31", "3020-12-31"), r"more than 400 years|3020-12-31"),
}


@pytest.mark.parametrize("name", WEATHERS)
@pytest.mark.parametrize("command", ["run", "check"])
def test_faults_of_the_weather(name: str, command: str, here: Path, out: Path, holdwater: Command) -> None:
    text, said = WEATHERS[name]
    write(here, "weather.csv", text)
    done = holdwater(command, "holding.toml", *(["--out", out] if command == "run" else []))
    assert (done.code, done.out) == (2, "")
    assert re.search(said, done.err), done.err
    assert contents(out) == OLD


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (
            ["--from", "2018-01-01"],
            r"asks for 2018-01-01 to 2020-12-31, but the weather covers 2019-01-01 to",
        ),
        (["--to", "2021-01-01"], r"asks for 2019-01-01 to 2021-01-01, but the weather covers"),
        (["--from", "2031-01-01"], r"weather.csv' covers 2019-01-01 to 2020-12-31, none of the days"),
        (
            ["--from", "2020-01-01", "--to", "2019-05-01"],
            r"from 2020-01-01 is after to 2019-05-01; swap them",
        ),
        (["--from", "yesterday"], r"'--from'.*yesterday"),
        (["--set", "roof.barn.area"], r"\"roof.barn.area\": write a path and a value"),
        (["--set", "roof.brn.area=5 ft2"], r"brn.*'?barn'?"),
        (["--set", "roof.barn.area=5 gal"], r"roof 'barn': area = \"5 gal\": a volume"),
        (["--variant", "biger roof"], r"no variant 'biger roof'; did you mean 'bigger roof'\?"),
        (["--units", "imperial"], r"'--units'.*imperial"),
        (["--frobnicate"], r"--frobnicate"),
    ],
)
def test_faults_of_the_command_line(words: list[str], said: str, out: Path, holdwater: Command) -> None:
    done = holdwater("run", "holding.toml", "--out", out, *words)
    assert (done.code, done.out) == (2, "")
    assert re.search(said, " ".join(done.err.split())), done.err
    assert contents(out) == OLD


@pytest.mark.parametrize("command", ["run", "check"])
def test_scenario_paths_that_lead_nowhere(command: str, here: Path, holdwater: Command) -> None:
    for path, said in (
        ("holdng.toml", "there is no file holdng.toml; did you mean holding.toml?"),
        (".", ". is a folder; name the scenario file in it"),
        ("weather.csv", "weather.csv, line 1"),
        ("/dev/null", "/dev/null"),
    ):
        done = holdwater(command, path)
        assert (done.code, done.out) == (2, "")
        assert said in done.err
    write(here, "latin.toml", 'title = "Bäch"\n'.encode("latin-1"))
    done = holdwater(command, "latin.toml")
    assert done.code == 2
    assert "UTF-8" in done.err
    assert not (here / "outputs").exists()


def test_output_folders_that_cannot_be_written(here: Path, holdwater: Command) -> None:
    before = contents(here)
    for folder, said in (
        (
            "holding.toml",
            "cannot write into the output folder holding.toml: it is a file; choose another with --out",
        ),
        ("holding.toml/deep", "cannot write into the output folder holding.toml/deep: it is a file"),
        ("/proc/holdwater", "cannot write into the output folder /proc/holdwater: "),
    ):
        done = holdwater("run", "holding.toml", "--out", folder)
        assert (done.code, done.out) == (2, "")
        assert said in done.err
        assert len(done.err.splitlines()) == 1
    assert contents(here) == before
