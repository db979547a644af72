"""`holdwater site` from the command line: what it says, writes and leaves alone. Holdings and weather are invented."""

from __future__ import annotations

import datetime as dt
import json
import math
import subprocess
import sys
import tomllib
from pathlib import Path
from typing import Any, NamedTuple

import pytest

from holdwater import cli, scenario
from holdwater.errors import InputError
from holdwater.site.checks import CAUTIONS, ORDER
from holdwater.site.reading import read_site
from holdwater.site.result import Verdict

DEMO = Path(__file__).parents[2] / "scenarios" / "larkfield.toml"
HOLDING = """
title = "Little holding: one roof, two linked tanks (invented)"
[place]
latitude = 40.0
longitude = -100.0
elevation = "5200 ft"
[weather]
file = "rain.csv"
[run]
start_full = 1.0
[[roof]]
name = "barn"
area = "1996 ft2"
surface = "metal"
first_flush = { volume = "40 gal" }
feeds = "upper"
[[tank]]
name = "upper"
capacity = "3000 gal"
diameter = "102 in"
base = "6 in"
outlet = "3 in"
[[tank]]
name = "lower"
capacity = "2500 gal"
diameter = "95 in"
outlet = "3 in"
[[link]]
tanks = ["upper", "lower"]
[[draw]]
name = "house"
kind = "fixed"
per_day = "50 gal/day"
[[draw]]
name = "trough"
kind = "fixed"
per_day = "10 gal/day"
"""
SITE = """
[site]
soil = "sand"
storm = { in_5_minutes = "4 in/h", source = "a table of the county" }
pressure_tank = { volume = "20 gal", precharge = "28 psi", cut_in = "30 psi", cut_out = "50 psi" }
pump = { flow = "10 gal/min", power = "1/2 hp", draws = "750 W" }
[[site.overflow]]
tank = "upper"
pipe = "PVC schedule 40"
size = "1 1/2 in"
water_above = "4 in"
[[site.overflow]]
tank = "lower"
count = 0
[[site.line]]
name = "house"
pipe = "PE"
size = "1 in"
length = "100 ft"
flow = "10 gal/min"
buried = "4 in"
[variant."two wide overflows"]
"site.overflow.lower.count" = 1
"site.overflow.lower.size" = "6 in"
"site.overflow.lower.pipe" = "PVC schedule 40"
"site.overflow.lower.water_above" = "6 in"
"site.overflow.upper.size" = "6 in"
"site.overflow.upper.water_above" = "4 in"
"tank.upper.base" = "-3 in"
"""


class Told(NamedTuple):
    """What a command returned and printed."""

    code: int
    out: str
    err: str


@pytest.fixture
def command(monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str], tmp_path: Path) -> Any:
    """Run the command in an empty folder."""
    monkeypatch.chdir(tmp_path)

    def run(*words: object) -> Told:
        monkeypatch.setattr(sys, "argv", ["holdwater", *map(str, words)])
        with pytest.raises(SystemExit) as ended:
            cli.main()
        printed = capsys.readouterr()
        return Told(int(ended.value.code or 0), printed.out, printed.err)

    return run


def winters(path: Path, *, temperatures: bool = True, gap: bool = False) -> None:
    """Two years and a half: 1 in of rain every tenth day, ten days at -6 degC each January."""
    lines = ["date,rain_in,t_min_c,t_max_c" if temperatures else "date,rain_in"]
    for n in range(913):
        day = dt.date(2001, 7, 1) + dt.timedelta(n)
        cold = day.month == 1 and day.day <= 10
        rain = "" if gap and n == 500 else "1" if n % 10 == 0 else "0"
        lines.append(f"{day},{rain}" + (f",{-8 if cold else 6},{-4 if cold else 18}" if temperatures else ""))
    path.write_text("\n".join(lines) + "\n", "utf-8")


@pytest.fixture
def holding(tmp_path: Path) -> Path:
    """A scenario with a [site] table, and its weather."""
    winters(tmp_path / "rain.csv")
    path = tmp_path / "little.toml"
    path.write_text(HOLDING + SITE, "utf-8")
    return path


def rows(told: dict[str, Any], key: str) -> list[dict[str, Any]]:
    """Checks of one kind."""
    return [row for row in told["checks"] if row["check"] == key]


def unwrapped(out: str) -> str:
    """The text without its line breaks."""
    return " ".join(out.split())


def air_psi() -> float:
    """Standard atmosphere at 5,200 ft by its own formula, T falling 6.5 degC per km."""
    return 14.6959 * float((1 - 0.0065 * 5200 * 0.3048 / 288.15) ** 5.25588)


# ------------------------------------------------------------------------------------------- what it prints


def test_it_says_first_what_does_not_hold(command: Any, holding: Path) -> None:
    told = command("site", holding)
    assert told.code == 0
    lines = told.out.splitlines()
    assert lines[0] == (
        "Little holding: 4 of 22 site checks do not hold, 4 hold, 2 are for you to know, 12 lack input."
    )
    assert [line.strip() for line in lines[1:5]] == [
        "Does not hold: levels and stranded water: tanks 'upper' and 'lower'.",
        "Does not hold: overflow against the design storm: tank 'upper'.",
        "Does not hold: pressure tank: shortest run of the pump.",
        "Does not hold: frost over the line: line 'house'.",
    ]
    assert told.err == ""


def test_every_check_tells_its_numbers_its_source_its_margin_and_its_caution(
    command: Any, holding: Path
) -> None:
    said = unwrapped(command("site", holding).out)
    assert (
        "Pressure tank: shortest run of the pump DOES NOT HOLD: Between stop and start the pressure tank gives 6.1 gal,"
        in said
    )
    assert (
        "from: pressure tank 20 gal; pre-charge 28 psi; cut-in 30 psi; cut-out 50 psi; flow of the pump 10 gal/min;"
        " shortest run 60 s margin: 39 % short Source: Boyle; pump maker's manual: at least one minute a run."
        " Caution: The thinner air of your altitude is counted." in said
    )
    assert "5-minute rain of the design storm (a table of the county) 4 in/h" in said
    assert (
        "A tank of the group spills lower, before this pipe can carry: bring the lips to one height." in said
    )


def test_what_lacks_input_says_what_it_needs(command: Any, holding: Path) -> None:
    said = unwrapped(command("site", holding).out)
    open_ = said.partition("Not checked ")[2]
    assert (
        "gutter against the design storm: roof 'barn': needs the width of the gutter (site.gutter.width)"
        in open_
    )
    assert (
        "full weight and bearing: tank 'upper', tank 'lower': needs the weight of the empty tank"
        " (site.stand.empty_weight)." in open_
    ), "alike for both tanks, told once"


def test_the_general_cautions_stand_at_the_end_and_once(command: Any, holding: Path) -> None:
    said = unwrapped(command("site", holding).out)
    for caution in CAUTIONS:
        assert said.count(caution) == 1
    assert said.index("Always") < min(said.index(caution) for caution in CAUTIONS)


def test_a_caution_of_several_checks_is_told_once(command: Any, holding: Path) -> None:
    assert unwrapped(command("site", holding).out).count("NOAA Atlas 14") == 1
    assert unwrapped(command("site", DEMO).out).count("NOAA Atlas 14") == 1


@pytest.mark.parametrize("system", ["us", "metric"])
def test_every_sentence_keeps_to_its_units(command: Any, holding: Path, system: str) -> None:
    told = json.loads(command("site", holding, "--json", "--units", system).out)
    foreign = {"us": (" L", " cm", " kPa", " mm"), "metric": (" gal", " psi", " ft", " in/h", " lb")}[system]
    for row in told["checks"]:
        texts = [value["text"] for value in (*row["inputs"].values(), *row["computed"].values())]
        for text in [*texts, row["sentence"].replace("1 in overflow", "")]:
            assert not any(unit in text for unit in foreign), (row["name"], text)


def test_quiet_prints_nothing_and_writes_all(command: Any, holding: Path, tmp_path: Path) -> None:
    told = command("site", holding, "--quiet")
    assert told == (0, "", "")
    written = tmp_path / "outputs" / "little"
    assert sorted(str(path.relative_to(written)) for path in written.rglob("*") if path.is_file()) == [
        "charts/levels.png",
        "charts/levels.svg",
        "site.json",
    ]


# ------------------------------------------------------------------------------------------- what it writes


def test_json_is_what_is_written(command: Any, holding: Path, tmp_path: Path) -> None:
    told = json.loads(command("site", holding, "--json", "--out", tmp_path / "there").out)
    assert told == json.loads((tmp_path / "there" / "site.json").read_text("utf-8"))
    assert told["scenario"] == "Little holding: one roof, two linked tanks (invented)"
    assert told["verdicts"] == {"holds": 4, "does not hold": 4, "not checked": 12, "note": 2}
    assert told["run"] == {"made": True, "why_not": None, "left_out": []}
    assert told["cautions"] == list(CAUTIONS)


def test_every_number_in_the_json_has_its_unit(command: Any, holding: Path) -> None:
    units = set()
    for row in json.loads(command("site", holding, "--json").out)["checks"]:
        assert row["source"]
        assert row["verdict"] != "not checked" or row["needs"]
        for value in (*row["inputs"].values(), *row["computed"].values()):
            assert math.isfinite(value["value"])
            assert value["label"]
            units.add(value["unit"])
    assert {"L", "mm", "mm/h", "m2", "L/s", "kPa", "kW", "kWh", "h", "1", "degC", "s"} <= units
    told = json.loads(command("site", holding, "--json").out)
    (run_time,) = rows(told, "run_time")
    assert run_time["inputs"]["flow"]["value"] == pytest.approx(10 * 3.785411784 / 60)
    drawdown = 20 * (28 + air_psi()) * (1 / (30 + air_psi()) - 1 / (50 + air_psi()))
    assert run_time["margin"] == pytest.approx(drawdown / 10 - 1, rel=1e-3)
    assert run_time["margin_text"] == "39 % short"


def test_the_levels_stand_in_the_json(command: Any, holding: Path) -> None:
    """The lower lip: 2,500 gal (577,500 in3) over 95 in of diameter; the upper tank's volume above it is stranded."""
    upper, lower = json.loads(command("site", holding, "--json").out)["levels_mm"]
    lip = 25.4 * 2500 * 231 / (math.pi / 4 * 95**2)
    assert (upper["tank"], upper["joined_with"], upper["base"]) == ("upper", ["lower"], pytest.approx(152.4))
    assert lower["lip"] == pytest.approx(lip)
    assert upper["full"] == lower["full"] == pytest.approx(lip)
    assert upper["empty"] == pytest.approx(152.4 + 76.2)
    above = 152.4 + 25.4 * 3000 * 231 / (math.pi / 4 * 102**2) - lip
    assert upper["stranded_L"]["top"] == pytest.approx(above * math.pi * (102 * 0.0254 / 2) ** 2)
    assert lower["stranded_L"]["top"] == 0.0


def test_old_files_stay_whole_when_drawing_fails(
    command: Any, holding: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    from holdwater.charts import levels

    command("site", holding, "--quiet")
    written = tmp_path / "outputs" / "little"
    before = {path: path.read_bytes() for path in written.rglob("*") if path.is_file()}

    def fails(*_: object) -> None:
        raise InputError("no ink")

    monkeypatch.setattr(levels, "levels_chart", fails)
    told = command("site", holding, "--set", "site.soil=gravel")
    assert told.code == 2
    assert told.err == "holdwater: no ink\n"
    assert {path: path.read_bytes() for path in written.rglob("*") if path.is_file()} == before


def test_a_folder_that_cannot_be_written_is_told(command: Any, holding: Path, tmp_path: Path) -> None:
    (tmp_path / "taken").write_text("a file", "utf-8")
    told = command("site", holding, "--out", tmp_path / "taken")
    assert told.code == 2
    assert "choose another with --out" in told.err


# ---------------------------------------------------------------------------------------- weather and runs


def test_the_run_gives_the_pumps_water(command: Any, holding: Path) -> None:
    """50 + 10 gal every day of an always full holding, through a pump of 10 gal/min: 36.5 h of 0.75 kW a year."""
    (energy,) = rows(json.loads(command("site", holding, "--json").out), "energy")
    assert energy["computed"]["hours"]["value"] == pytest.approx(60 * 365.2425 / 600, rel=1e-3)
    assert energy["computed"]["energy"]["value"] == pytest.approx(0.75 * 60 * 365.2425 / 600, rel=1e-3)
    served = json.loads(command("site", holding, "--json", "--set", 'site.pump.serves=["trough"]').out)
    assert rows(served, "energy")[0]["computed"]["hours"]["value"] == pytest.approx(
        10 * 365.2425 / 600, rel=1e-3
    )


def test_without_weather_the_rest_is_checked_and_the_left_out_named(
    command: Any, holding: Path, tmp_path: Path
) -> None:
    (tmp_path / "rain.csv").unlink()
    told = command("site", holding)
    assert told.code == 0
    said = unwrapped(told.out)
    assert "No run could be made: weather file 'rain.csv' was not found" in said
    assert (
        "Left out for want of one: pump starts on the busiest day; pump hours and energy in a year; frost over the"
        " line: line 'house'; movement of the line with warmth: line 'house'." in said
    )
    assert "Does not hold: overflow against the design storm: tank 'upper'." in said
    plain = json.loads((tmp_path / "outputs" / "little" / "site.json").read_text("utf-8"))
    assert plain["run"]["made"] is False
    assert len(plain["run"]["left_out"]) == 4


def test_a_gap_in_the_rain_is_named(command: Any, holding: Path, tmp_path: Path) -> None:
    winters(tmp_path / "rain.csv", gap=True)
    told = json.loads(command("site", holding, "--json").out)
    assert told["run"]["made"] is False
    assert "2002-11-13" in told["run"]["why_not"]
    assert "pump starts on the busiest day" in told["run"]["left_out"]


def test_a_record_that_does_not_cover_the_run_still_tells_of_frost(command: Any, holding: Path) -> None:
    told = json.loads(command("site", holding, "--json", "--set", "run.from=1999-01-01").out)
    assert "the run asks for 1999-01-01" in told["run"]["why_not"]
    assert told["run"]["left_out"] == ["pump starts on the busiest day", "pump hours and energy in a year"]
    (frost,) = rows(told, "frost")
    assert frost["verdict"] == "does not hold"
    assert frost["inputs"]["index"]["value"] == pytest.approx(10 * 6)


def test_a_record_without_temperatures_leaves_frost_open(command: Any, holding: Path, tmp_path: Path) -> None:
    winters(tmp_path / "rain.csv", temperatures=False)
    told = json.loads(command("site", holding, "--json").out)
    assert told["run"]["made"] is True
    (frost,) = rows(told, "frost")
    assert frost["verdict"] == "not checked"
    assert rows(told, "starts")[0]["verdict"] == "holds"


# ----------------------------------------------------------------------------------- changes, faults, check


def test_variants_and_set_reach_the_site_table(command: Any, holding: Path) -> None:
    wide = json.loads(command("site", holding, "--json", "--variant", "two wide overflows").out)
    (overflow,) = rows(wide, "overflow")
    assert overflow["verdict"] == "holds"
    assert overflow["subject"] == "tanks 'upper' and 'lower'"
    larger = json.loads(command("site", holding, "--json", "--set", "site.pressure_tank.volume=44 gal").out)
    assert rows(larger, "run_time")[0]["verdict"] == "holds"
    added = json.loads(
        command("site", holding, "--json", "--set", 'site.stand+={tank="lower", empty_weight="450 lb"}').out
    )
    assert [row["verdict"] for row in rows(added, "weight")] == ["not checked", "holds"]


@pytest.mark.parametrize("name", ["site", "check"])
def test_faults_of_the_table_are_told_all_at_once(
    command: Any, holding: Path, name: str, tmp_path: Path
) -> None:
    told = command(
        name, holding, "--set", "site.soil=sandy", "--set", "site.pump.flow=3", "--set", "site.pumps={}"
    )
    assert told.code == 2
    assert told.out == ""
    assert sorted(told.err.splitlines()) == [
        'holdwater: site.pump: flow = 3 has no unit; write "3 gal/min" or "30 L/min"',
        "holdwater: site: soil = 'sandy'; did you mean 'sand'?",
        "holdwater: site: unknown key pumps; did you mean pump?",
    ]
    assert not (tmp_path / "outputs").exists()


def test_check_reads_a_sound_table_and_notes_a_variant_that_breaks_it(command: Any, holding: Path) -> None:
    assert "variant '" not in command("check", holding).out
    extra = '[variant."one tank"]\n"link-" = "upper"\n"tank-" = "lower"\n'
    holding.write_text(holding.read_text("utf-8") + extra, "utf-8")
    told = command("check", holding)
    assert told.code == 0
    assert (
        "Note: variant 'one tank': site.overflow: there is no tank 'lower'; the tank is 'upper'; a run does not mind,"
        " `holdwater site` does." in told.out
    )
    assert command("site", holding, "--variant", "one tank").code == 2


def test_a_run_does_not_read_the_table(command: Any, holding: Path) -> None:
    assert command("run", holding, "--quiet", "--set", "site.soil=moon dust").code == 0


def test_a_holding_without_a_table_is_told_where_the_keys_are(
    command: Any, holding: Path, tmp_path: Path
) -> None:
    holding.write_text(HOLDING, "utf-8")
    said = unwrapped(command("site", holding).out)
    assert "The file has no [site] table, so little can be checked: the starter of `holdwater new`" in said
    told = json.loads((tmp_path / "outputs" / "little" / "site.json").read_text("utf-8"))
    judged = {row["check"] for row in told["checks"] if row["verdict"] in ("holds", "does not hold")}
    assert judged == {"levels", "first_flush"}


# ---------------------------------------------------------------------------------------- demo and starter


def test_the_demo_shows_what_fails_and_what_holds(command: Any) -> None:
    told = json.loads(command("site", DEMO, "--json").out)
    assert [row["check"] for row in told["checks"] if row["verdict"] == str(Verdict.FAILS)] == [
        "levels",
        "overflow",
        "inlets",
        "air_gap",
    ]
    assert told["verdicts"]["not checked"] == 0
    assert {topic.key for topic in ORDER} - {row["check"] for row in told["checks"]} == {
        "cascade",
        "cross_connection",
    }


def test_the_demos_variants_have_sound_tables() -> None:
    for name in (None, *scenario.variant_names(scenario.load(DEMO))):
        file = scenario.load(DEMO, variant=name)
        assert read_site(file.scenario.site, file.scenario).pump is not None


def test_the_starters_switched_off_keys_are_sound() -> None:
    starter = Path(scenario.__file__).with_name("starter.toml").read_text("utf-8")
    head, _, rest = starter.partition("[site]\n")
    block = rest.partition("\n\n")[0]
    keys = "\n".join(line.removeprefix("# ") for line in block.splitlines())
    raw = tomllib.loads(f"{head}[site]\n{keys}")
    from holdwater.scenario.file import check_raw

    made, _ = check_raw(raw)
    site = read_site(made.site, made)
    assert {*made.site} == {*type(site).model_fields} - {"allowed_bearing", "warmest_water"}


def test_help_loads_nothing_heavy() -> None:
    heavy = ("pandas", "xarray", "numba", "scipy", "pint", "matplotlib", "meteostat", "fluids")
    for words in (["--help"], ["site", "--help"]):
        code = f"import sys; sys.argv = ['holdwater', *{words!r}]\nfrom holdwater.cli import main\n"
        code += "try:\n    main()\nfinally:\n    print('LOADED', *sys.modules)"
        done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
        loaded = done.stdout.rpartition("LOADED")[2].split()
        assert "typer" in loaded
        assert not [
            name for name in loaded if name.split(".")[0] in heavy or name.startswith("holdwater.site")
        ]
    assert "exit code is 0 whether the checks hold or not" in unwrapped(done.stdout)
