"""A household's own rain log out of a spreadsheet, with all that is usually wrong with one, told in one go."""

from __future__ import annotations

import datetime as dt
import json
import re
import sys
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from holdwater.cli import main
from holdwater.errors import InputError
from holdwater.scenario.schema import Weather, WeatherFile
from holdwater.weather import inspect, read_weather
from holdwater.weather.conversion import convert
from holdwater.weather.formats.recognise import read_file
from holdwater.weather.reading import prepare, to_daily
from tests.weather.files import Reader, days_from, plausible_rain, rain_of

DAYS = days_from("2014-03-14", 900)
HEADER = "Date,Rain (in),High (F),Low (F),Notes"
BLANK = (40, 41, 300, 500)


def rows() -> list[list[str]]:
    """An invented log: inches to the hundredth, degF, a trace now and then, some days left blank."""
    told = []
    for i, (day, mm) in enumerate(zip(DAYS, plausible_rain(len(DAYS), seed=3), strict=True)):
        rain = "" if i in BLANK else "T" if i % 60 == 7 else f"{mm / 25.4:.2f}"
        note = '"frost, light"' if i % 97 == 0 else ""
        told.append([f"{day.month}/{day.day}/{day.year}", rain, str(60 + i % 20), str(35 + i % 20), note])
    return told


def text(made: list[list[str]], header: str = HEADER) -> str:
    return "\r\n".join([header, *(",".join(row) for row in made)]) + "\r\n"


def ugly() -> str:
    """The log with a title, a line of totals, a day twice, 94 inches, 810 degF and blank days."""
    made = rows()
    made[200][1], made[250][2] = "94", "810"
    made[100][1] = "0.10"
    made.insert(101, [*made[100][:1], "0.35", *made[100][2:]])
    return "Rain at our place,,,,\r\n" + text([*made, ["Total", "98.21", "", "", ""]])


SAID = (  # every fault, and the cure where it is written
    r"columns are named on line 2 \('Date,Rain \(in\).*is line 1 a title\? Then delete it, or begin it with #",
    r"column 'Date': 'Total' \(line 904\) is no date; is it a line of totals\? then delete it",
    r"two different readings for 2014-06-22 \(0.1 in on line 103, 0.35 in on line 104\); strike one, or say "
    r"same_day = \"last\" .* \(write it under \[weather\], or --set weather.same_day=last\)",
    r"no place on Earth has had: t_max on 2014-11-19 \(810 degF, that is 432.2 degC\)",
    r"ever measured in 24 hours \(71.9 in\) on 2014-09-30 \(94 in, that is 2388 mm\); .*write such a key under",
    r"4 days have no rain value \(2014: 2, 2015: 2\).*they are 2014-04-23 to 2014-04-24, 2015-01-08, 2015-07-27\. "
    r".*write such a key under \[weather\], or --set weather.missing_days=climate",
)


def test_all_that_is_wrong_is_told_at_once_with_its_cure(read: Reader) -> None:
    with pytest.raises(InputError) as caught:
        read(ugly())
    faults = caught.value.faults
    assert len(faults) == len(SAID)
    for fault, said in zip(faults, SAID, strict=True):
        assert re.search(said, fault), fault


def test_inspection_goes_on_and_names_each_stop(tmp_path: Path) -> None:
    (tmp_path / "log.csv").write_text(ugly())
    found = inspect(tmp_path / "log.csv")
    stops = [f.name for f in found.findings if f.hard]
    assert stops == ["rows", "rows", "rows", "temperature-range", "above-record"]
    for finding, said in zip(found.findings, SAID[:3], strict=False):
        assert re.search(said, f"{finding.what}; {finding.cure}")
    assert found.missing_dates == ["2014-04-23", "2014-04-24", "2015-01-08", "2015-07-27"]
    assert (found.days, found.missing, found.wettest_on) == (900, 4, "2014-09-30")
    assert found.columns == [
        ("Date", "the date"),
        ("Rain (in)", "rain in inches"),
        ("High (F)", "t_max, the day's highest temperature, in degF"),
        ("Low (F)", "t_min, the day's lowest temperature, in degF"),
        ("Notes", "not used"),
    ]
    assert found.notes[0].startswith("of the columns 'Date' is the date; 'Rain (in)' is rain in inches;")
    gaps = found.notes[-1]
    assert gaps.startswith("without a rain value: 2014-04-23 to 2014-04-24, 2015-01-08, 2015-07-27. ")
    assert "--set weather.missing_days=climate" in gaps
    json.dumps(found.summary())


def test_once_mended_the_log_runs_through(tmp_path: Path) -> None:
    (tmp_path / "log.csv").write_text(text(rows()))
    record = read_weather(Weather(file="log.csv", missing_days="zero"), tmp_path)
    assert record.provenance.not_used == ("Notes",)
    assert record.column("t_max") is not None
    tidy = convert(tmp_path / "log.csv", tmp_path / "tidy.csv")
    again = read_weather(Weather(file="tidy.csv", missing_days="zero"), tmp_path)
    np.testing.assert_allclose(rain_of(again), rain_of(record), rtol=0, atol=1e-4 * 25.4)
    inches = rain_of(again) / 25.4
    np.testing.assert_allclose(inches, inches.round(2), rtol=0, atol=1e-9)  # hundredths, as they were written
    cells = [line.split(",") for line in tidy.read_text().splitlines() if line[:1].isdigit()]
    assert max(len(cell.partition(".")[2]) for row in cells for cell in row[1:2]) <= 4
    assert max(len(cell.partition(".")[2]) for row in cells for cell in row[2:4]) <= 2


def test_no_rows_are_lost_on_the_way_into_a_tidy_file(tmp_path: Path) -> None:
    path = tmp_path / "log.csv"
    path.write_text(ugly())
    with pytest.raises(InputError) as caught:
        convert(path, tmp_path / "tidy.csv")
    assert len(caught.value.faults) == 3
    assert all(fault.startswith("weather file 'log.csv'") for fault in caught.value.faults)
    assert not (tmp_path / "tidy.csv").exists()
    path.write_text(ugly().partition("\n")[2].replace("Total,", "#Total,"))
    convert(path, tmp_path / "tidy.csv", WeatherFile(file="log.csv", same_day="last"))


def test_nothing_reads_past_the_faults_of_a_reading(tmp_path: Path) -> None:
    (tmp_path / "log.csv").write_text(ugly())
    keys = WeatherFile(file="log.csv", same_day="last")
    _, reading = read_file(tmp_path / "log.csv", keys)
    assert len(reading.faults) == 2
    for strict in (lambda: prepare(reading, keys), lambda: to_daily(reading, same_day="last")):
        with pytest.raises(InputError, match="is line 1 a title"):
            strict()


def test_cells_that_are_no_number_do_not_hide_the_rest(read: Reader) -> None:
    made = rows()
    made[10][1], made[200][1], made[20][3] = "some", "94", "cold"
    with pytest.raises(InputError) as caught:
        read(text(made))
    some, cold, much, gaps = caught.value.faults
    assert "column 'Rain (in)' holds 'some' (line 12): not a usable number" in some
    assert 'missing_marks = ["some"] (write it under [weather], or --set \'weather.missing_marks=' in some
    assert "column 'Low (F)' holds 'cold' (line 22)" in cold
    assert "2014-09-30 (94 in, that is 2388 mm)" in much
    assert "4 days have no rain value" in gaps, "the day of 'some' is told by its cell, not as a gap too"


def test_a_table_of_mostly_strange_cells_stops_at_them(read: Reader) -> None:
    made = rows()
    for row in made[:200]:
        row[1] = "wet"
    with pytest.raises(InputError) as caught:
        read(text(made))
    assert len(caught.value.faults) == 1
    assert "holds 'wet' (lines 2, 3, 4 and 197 more)" in caught.value.faults[0]


@pytest.mark.parametrize(
    ("above", "said"),
    [
        ("Rain at our place,,,,\n", r"on line 2 .* is line 1 a title\?"),
        ("Our rain since we moved in\n", r"on line 2 .* is line 1 a title\?"),
        ("Rain\n\n", r"on line 3 .* is line 1 a title\?"),
        (
            "Rain at our place,,,,\n# by hand\nmeasured at 7,,,,\n",
            r"on line 4 .* are lines 1, 3 a title\? Then delete them",
        ),
        (",,,,\n", r"on line 2 .* is line 1 a title\?"),
    ],
)
def test_a_title_above_the_columns(read: Reader, above: str, said: str) -> None:
    with pytest.raises(InputError, match=said) as caught:
        read(above + text(rows()), missing_days="zero")
    assert len(caught.value.faults) == 1


def test_a_title_over_nothing_that_can_be_told(read: Reader) -> None:
    with pytest.raises(
        InputError, match=r"no column of date .*is line 1 a title\? then delete it; else choose with"
    ):
        read("Rain at our place,,,,\nWhen,Gauge,,,\n1/1/2014,0.1,,,\n")


@pytest.mark.parametrize(
    ("cell", "said"),
    [
        ("Total", "is it a line of totals? then delete it"),
        ("2014 totals", "is it a line of totals? then delete it"),
        ("", "delete lines that are not readings, such as a line of totals"),
        ("see below", "write dates as 2012-07-04 or 7/4/2012, and delete lines that are not readings"),
    ],
)
def test_a_row_that_is_no_reading(read: Reader, cell: str, said: str) -> None:
    with pytest.raises(InputError) as caught:
        read(text([*rows(), [cell, "98.2", "", "", ""]]), missing_days="zero")
    assert len(caught.value.faults) == 1
    assert said in caught.value.faults[0]


def test_earlier_readings_that_gave_way_are_named(read: Reader) -> None:
    made = rows()
    made.insert(101, [*made[100][:1], "0.35", *made[100][2:]])
    made[100][1] = "0.10"
    notes = read(text(made), same_day="last", missing_days="zero").provenance.notes
    assert any(
        "gave way to its last one: 1, on 2014-06-22 (0.1 in on line 102, 0.35 in on line 103)" in note
        for note in notes
    )


def test_readings_that_differ_in_a_temperature_alone_say_so(read: Reader) -> None:
    with pytest.raises(
        InputError,
        match=r"2014-01-01 \(0.1 in with t_max 50 degF, that is 10 degC on line 2, 0.1 in with t_max blank on",
    ):
        read("date,rain_in,t_max_f\n2014-01-01,0.1,50\n2014-01-01,0.1,\n")


def test_up_to_thirty_gaps_are_listed_by_date(read: Reader) -> None:
    made = rows()
    for i in range(0, 80, 2):
        made[i + 100][1] = ""
    made = [row for i, row in enumerate(made) if i not in BLANK]
    with pytest.raises(InputError) as caught:
        read(text(made))
    listed = caught.value.faults[0].partition("they are ")[2].partition(". Missing")[0]
    assert listed.endswith(" and 13 more gaps")
    assert len(re.findall(r"\d{4}-\d\d-\d\d", listed)) == 31  # of 43 gaps, the first has two days


Typed = Any


@pytest.fixture
def typed(tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]) -> Typed:
    """The command as a user types it, in the folder of the log; gives its code and all it says."""
    (tmp_path / "log.csv").write_text(ugly())
    monkeypatch.chdir(tmp_path)

    def run(*words: str) -> tuple[int, str]:
        monkeypatch.setattr(sys, "argv", ["holdwater", *words])
        with pytest.raises(SystemExit) as end:
            main()
        return int(end.value.code or 0), " ".join("".join(capsys.readouterr()).split())

    return run


def test_what_the_commands_say(typed: Typed, tmp_path: Path) -> None:
    code, said = typed("weather", "inspect", "log.csv", "--no-chart")
    assert code == 0
    for stop in SAID[:3]:
        assert re.search(rf"A run stops here \(rows\): weather file 'log.csv'.*{stop}", said)
    assert "'High (F)' is t_max, the day's highest temperature, in degF" in said
    assert "without a rain value: 2014-04-23 to 2014-04-24" in said
    code, said = typed("weather", "convert", "log.csv", "--out", "tidy.csv")
    assert code == 2
    assert "--set weather.same_day=last" in said
    made = [line for line in ugly().splitlines() if not line.startswith(("Rain at", "Total"))]
    (tmp_path / "log.csv").write_text("\n".join(made))
    code, said = typed("weather", "convert", "log.csv", "--out", "tidy.csv", "--set", "weather.same_day=last")
    assert (code, said.startswith("Wrote tidy.csv")) == (0, True)


def test_days_are_counted_from_the_log_s_own_dates() -> None:
    """The invented log says what the other tests expect of its lines and dates."""
    assert DAYS[200] == dt.date(2014, 9, 30)
    assert DAYS[100] == dt.date(2014, 6, 22)
    assert ugly().splitlines()[903].startswith("Total,")
