"""Columns by their everyday names, values in the unit of the file, cures where they are written."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest
from matplotlib.collections import PolyCollection

from holdwater.charts import look
from holdwater.charts import record as chart
from holdwater.errors import InputError
from holdwater.scenario.schema import Weather
from holdwater.weather import cures, inspect, read_weather, reference_et, written
from holdwater.weather.formats.headers import T_MAX, T_MIN, understand
from tests.weather.files import Reader, days_from, plausible_rain, table

DAYS = days_from("2009-01-01", 3 * 365)
RAIN = plausible_rain(len(DAYS))
INCHES = [round(r / 25.4, 2) for r in RAIN]


@pytest.mark.parametrize(
    ("name", "quantity", "unit"),
    [
        ("High (F)", T_MAX, "degF"),
        ("Low (F)", T_MIN, "degF"),
        ("Hi °F", T_MAX, "degF"),
        ("lo_c", T_MIN, "degC"),
        ("Max (°C)", T_MAX, "degC"),
        ("Daily high (F)", T_MAX, "degF"),
        ("Low temperature [F]", T_MIN, "degF"),
        ("Temp hi (F)", T_MAX, "degF"),
        ("Warmest (F)", T_MAX, "degF"),
        ("High", None, None),
        ("High (ft)", None, None),
        ("low water (in)", None, None),
        ("Max wind (mph)", None, None),
    ],
)
def test_everyday_names_of_temperatures_need_a_unit_of_temperature(
    name: str, quantity: str | None, unit: str | None
) -> None:
    assert (understand(name).quantity, understand(name).unit) == (quantity, unit)


def test_rain_in_inches_is_rain_in_inches(read: Reader) -> None:
    assert read("date,Rain in inches\n2012-01-01,1\n").column("rain") == pytest.approx([25.4])


def test_high_and_low_make_the_temperatures(read: Reader) -> None:
    record = read("Date,Rain (in),High (F),Low (F)\n1/31/2014,0,50,32\n")
    assert record.column("t_max") == pytest.approx([10.0])
    assert record.column("t_min") == pytest.approx([0.0])
    assert record.provenance.units_as_read == "rain in inches, t_min in degF, t_max in degF"


def test_a_bare_high_is_used_once_the_unit_is_named(read: Reader) -> None:
    text = "date,rain_in,High,Low\n2014-01-31,0,50,32\n"
    assert read(text).provenance.not_used == ("High", "Low")
    assert read(text, temperature_unit="degF").column("t_max") == pytest.approx([10.0])


def test_the_full_name_goes_before_the_short_one(read: Reader) -> None:
    record = read("date,rain_in,t_max_f,High (F)\n2014-01-31,0,50,99\n")
    assert record.column("t_max") == pytest.approx([10.0])
    assert record.provenance.not_used == ("High (F)",)


def test_a_column_without_a_unit_is_told_what_it_may_be(tmp_path: Path) -> None:
    (tmp_path / "a.csv").write_text("date,rain_in,High,,note\n2014-01-31,0,50,,x\n")
    uses = dict(inspect(tmp_path / "a.csv").columns)
    assert uses["High"] == (
        "not used: its name has no unit; if it is t_max, the day's highest temperature, say "
        'temperature_unit = "degF" or "degC"'
    )
    assert (uses["column 4, without a name"], uses["note"]) == ("not used", "not used")


def test_the_hint_offers_both_units(read: Reader) -> None:
    with pytest.raises(InputError, match=r'name it "Rain \(in\)" or "Rain \(mm\)"'):
        read("date,Rain\n2012-01-01,1\n")
    with pytest.raises(InputError, match=r'name it "tmax \(F\)" or "tmax \(C\)"'):
        read("date,rain_in,tmax\n2012-01-01,1,2\n")


def test_evapotranspiration_is_explained_and_the_columns_not_used_are_named() -> None:
    days = np.array(["2014-01-01"], dtype="datetime64[D]")
    with pytest.raises(InputError) as caught:
        reference_et.reference(days, {"rain": [0.0]}, latitude=36.0, not_used=("Warm", "Low", "Notes"))
    said = str(caught.value)
    assert said.startswith("ET0 cannot be computed: no t_min column, no t_max column; ")
    assert "not used ('Warm', 'Low', 'Notes')" in said
    assert 'say t_min_column = "Low" and t_max_column = "..." under [weather]' in said
    assert "reference evapotranspiration, what a lawn would use up" in said
    with pytest.raises(InputError, match=r"`holdwater weather inspect FILE` lists the columns"):
        reference_et.reference(days, {"rain": [0.0]}, latitude=36.0)


@pytest.mark.parametrize(
    ("depth", "unit", "said"),
    [
        (94 * 25.4, "in", "94 in, that is 2388 mm"),
        (0.15 * 25.4, "in", "0.15 in, that is 3.81 mm"),
        (12.5, "mm", "12.5 mm"),
        (1826.0, "tenths of mm", "18260 tenths of mm, that is 1826 mm"),
    ],
)
def test_rain_as_it_stands_in_the_file(depth: float, unit: str, said: str) -> None:
    assert written.rain(depth, unit) == said


def test_temperatures_as_they_stand_in_the_file() -> None:
    assert written.temperature(260.0, "degF") == "500 degF, that is 260 degC"
    assert written.temperature(-3.5, "degC") == "-3.5 degC"
    assert written.below(-10 / 3, 10.0, "degF") == "26 below 50 degF, that is -3.33 below 10 degC"


def of_inches(day: int, value: float | str) -> str:
    cells = [value if i == day else r for i, r in enumerate(INCHES)]
    return table("date,rain_in", list(zip(DAYS, cells, strict=True)))


@pytest.mark.parametrize(
    ("text", "said"),
    [
        (of_inches(10, -0.25), r"negative rain on 2009-01-11 \(-0.25 in, that is -6.35 mm\)"),
        (of_inches(10, 94), r"\(71.9 in\) on 2009-01-11 \(94 in, that is 2388 mm\)"),
        (
            table(
                "date,rain_in",
                [
                    (d, 0.4 if 100 <= i < 120 else r)
                    for i, (d, r) in enumerate(zip(DAYS, INCHES, strict=True))
                ],
            ),
            r"20 days of 0.4 in, that is 10.16 mm, from 2009-04-11",
        ),
        (
            table(
                "date,rain_in",
                [(d, 0 if d.year == 2010 else r) for d, r in zip(DAYS, INCHES, strict=True)],
            ),
            r"\(2010: 0 in; the middle year has \d\d\.?\d* in\)",
        ),
        (
            table("date,rain_in,t_max_f,t_min_f", [("2009-01-01", 0, 26, 50), ("2009-01-02", 0, 50, 30)]),
            r"2009-01-01 \(26 below 50 degF, that is -3.33 below 10 degC\)",
        ),
    ],
)
def test_findings_speak_in_the_unit_of_the_file(read: Reader, text: str, said: str) -> None:
    with pytest.raises(InputError, match=said):
        read(text)


@pytest.mark.parametrize(
    ("fault", "said"),
    [
        ('x; say rain_unit = "in"', "(write it under [weather], or --set weather.rain_unit=in)"),
        (
            'x; say rain_unit = "tenths of mm"',
            '(write it under [weather], or --set "weather.rain_unit=tenths of mm")',
        ),
        ('x; say dates = "mdy" or "dmy"', "(write it under [weather], or --set weather.dates=...)"),
        (
            'x; strike it, or accept = ["negative"]',
            "(write it under [weather], or --set 'weather.accept=[\"negative\"]')",
        ),
        (
            'x; say rain_unit = "in", or accept = ["inches"]',
            "(write such a key under [weather], or --set weather.rain_unit=in)",
        ),
        ("x has no date", ""),
        ('x is read as format = "csv", on which station has no effect; leave it out', ""),
    ],
)
def test_where_a_cure_is_written(fault: str, said: str) -> None:
    assert cures.placed(fault) == f"{fault} {said}".rstrip()
    assert cures.placed(cures.placed(fault)) == cures.placed(fault)


@pytest.mark.parametrize("beside", ["diary", "neighbour"])
def test_a_record_beside_the_record_has_its_own_table(tmp_path: Path, beside: str) -> None:
    (tmp_path / "a.csv").write_text(table("date,rain_mm", list(zip(DAYS, RAIN, strict=True))))
    (tmp_path / "b.csv").write_text("date,rain\n2012-01-01,1\n")
    keys = {"file": "a.csv", beside: "b.csv", "missing_days": "neighbour"}
    with pytest.raises(InputError, match=rf'as {beside} = {{ file = "b.csv", rain_unit = \.\.\. }} under'):
        read_weather(Weather.model_validate(keys), tmp_path)


def test_a_value_that_cannot_be_is_marked_and_left_out_of_the_picture(tmp_path: Path) -> None:
    (tmp_path / "a.csv").write_text(of_inches(500, 94))
    record = inspect(tmp_path / "a.csv").record
    assert record.provenance.doubtful == ("2010-05-16",)
    figure = chart.record_chart(record, "us")
    above, below = figure.axes
    assert above.get_ylim()[1] < 94
    marked = [c for c in below.collections if c.get_label() == chart.DOUBTFUL.label]
    assert len(marked) == 1
    assert isinstance(marked[0], PolyCollection)
    corners = np.asarray(marked[0].get_paths()[0].vertices)
    assert corners[:, 0].mean().round() == 1  # the second year
    assert corners[:4, 1].mean() == pytest.approx(31 + 29 + 31 + 30 + 15.5)
    title = " ".join(next(t.get_text() for t in figure.texts if t.get_fontsize() == look.TITLE).split())
    assert title.startswith("2 of 3 years are complete: ")
    assert title.endswith("1 day is left out, with a value that cannot be, on 16 May 2010.")
    assert chart.DOUBTFUL.label in {t.get_text() for t in figure.legends[0].get_texts()}
    for other in (chart.OBSERVED, chart.MISSING, chart.SPREAD):
        assert abs(look.lightness(other.colour) - look.lightness(chart.DOUBTFUL.colour)) >= look.LEAST_STEP
