"""Quantities at the door: what is accepted, what is refused and in which words, what is shown."""

from __future__ import annotations

import math
import subprocess
import sys

import pint
import pytest
from hypothesis import example, given, settings
from hypothesis import strategies as st

from holdwater import units
from holdwater.errors import InputError
from holdwater.units import Kind, Level, System, read, scale, show
from holdwater.units.kinds import SPECS
from holdwater.units.words import UNITS, words

GALLON = 231 * 0.0254**3 * 1000  # L, by definition 231 cubic inches


@pytest.mark.parametrize(
    ("text", "kind", "expected"),
    [
        ("2500 gal", "volume", 2500 * GALLON),
        ("2,500 gal", "volume", 2500 * GALLON),
        ("2 500 gal", "volume", 2500 * GALLON),
        ("2500 gallons", "volume", 2500 * GALLON),
        ("2500 US gallons", "volume", 2500 * GALLON),
        ("1e3 gal", "volume", 1000 * GALLON),
        ("10 imperial gallons", "volume", 45.4609),
        ("10 UK gal", "volume", 45.4609),
        ("11.4 m3", "volume", 11_400),
        ("11.4 m^3", "volume", 11_400),
        ("11.4 m**3", "volume", 11_400),
        ("11.4 m³", "volume", 11_400),
        ("11.4 cubic metres", "volume", 11_400),
        ("5 liters", "volume", 5),
        ("5 Litres", "volume", 5),
        ("2 kL", "volume", 2000),
        ("1 ML", "volume", 1e6),
        ("1 ml", "volume", 0.001),
        ("231 cu in", "volume", GALLON),
        ("1 acre-foot", "volume", 43_560 * 12**3 / 231 * GALLON),
        ("1 acre-inch", "volume", 43_560 * 144 / 231 * GALLON),
        ("2 acre inches", "volume", 2 * 43_560 * 144 / 231 * GALLON),
        ("2.5 kgal", "volume", 2500 * GALLON),
        ("3 ccf", "volume", 300 * 12**3 / 231 * GALLON),
        ("3 HCF", "volume", 300 * 12**3 / 231 * GALLON),
        ("4 ft x 4 ft x 3 ft", "volume", 48 * 12**3 / 231 * GALLON),
        ("1 1/2 in", "height", 38.1),
        ("1-1/2 in", "height", 38.1),
        ("1½ in", "height", 38.1),
        ("1/2 in", "depth", 12.7),
        ("½ in", "depth", 12.7),
        ("0.5 mm", "depth", 0.5),
        ("6 ft", "height", 1828.8),
        ("6 ft 3 in", "height", 1905),
        ("6'3\"", "height", 1905),
        ("6' 3 1/2\"", "height", 1917.7),
        ("6’3”", "height", 1905),
        ("95 inches", "height", 2413),
        ("1480 ft2", "area", 1480 * 0.09290304),
        ("1480 sq ft", "area", 1480 * 0.09290304),
        ("1,480 square feet", "area", 1480 * 0.09290304),
        ("137 m²", "area", 137),
        ("1 acre", "area", 4046.8564224),
        ("2 ha", "area", 20_000),
        ("30 ft x 48 ft", "area", 1440 * 0.09290304),
        ("30 ft × 48 ft", "area", 1440 * 0.09290304),
        ("30 ft X 48 ft", "area", 1440 * 0.09290304),
        ("30 ft by 48 ft", "area", 1440 * 0.09290304),
        ("30 ft * 48 ft", "area", 1440 * 0.09290304),
        ("30x48 ft", "area", 1440 * 0.09290304),
        ("30' x 48'", "area", 1440 * 0.09290304),
        ("30 ft 6 in x 48 ft", "area", 1464 * 0.09290304),
        ("9 m x 14.5 m", "area", 130.5),
        ("38 gal/day", "flow", 38 * GALLON),
        ("38 gal per day", "flow", 38 * GALLON),
        ("38 gal / d", "flow", 38 * GALLON),
        ("70 gal/week", "flow", 10 * GALLON),
        ("45 gallons a day", "flow", 45 * GALLON),
        ("45 gal per day", "flow", 45 * GALLON),
        ("45 gal each day", "flow", 45 * GALLON),
        ("45 gal every day", "flow", 45 * GALLON),
        ("45 gallons daily", "flow", 45 * GALLON),
        ("70 gal a week", "flow", 10 * GALLON),
        ("70 gallons weekly", "flow", 10 * GALLON),
        ("2 gal an hour", "flow", 48 * GALLON),
        ("1 gpm", "flow", 1440 * GALLON),
        ("1 gph", "flow", 24 * GALLON),
        ("1 cfs", "flow", 86_400 * 12**3 / 231 * GALLON),
        ("1 lpm", "flow", 1440),
        ("1 lps", "flow", 86_400),
        ("150 L/day", "flow", 150),
        ("20 %", "share", 0.2),
        ("20%", "share", 0.2),
        ("20 percent", "share", 0.2),
        ("0.2", "share", 0.2),
        (0.2, "share", 0.2),
        (1, "share", 1.0),
        ("36 h", "duration", 1.5),
        ("1 day", "duration", 1),
        ("2 weeks", "duration", 14),
        ("1 day 12 h", "duration", 1.5),
        ("5200 ft", "altitude", 1584.96),
        ("-430 m", "altitude", -430),
        ("-6 in", "base", -152.4),
        ("−6 in", "base", -152.4),
        ("12 per 1000 gal", "price", 12 / (1000 * GALLON)),
        ("$12 per 1,000 gal", "price", 12 / (1000 * GALLON)),
        ("$12/kgal", "price", 12 / (1000 * GALLON)),
        ("12 dollars per 1000 gallons", "price", 12 / (1000 * GALLON)),
        ("2 dollars a gallon", "price", 2 / GALLON),
        ("3.20 per m3", "price", 0.0032),
        ("3.20 €/m3", "price", 0.0032),
        (0, "volume", 0),
        ("0", "flow", 0),
        # any product of known words, worked out by pint
        ("1 acre in", "volume", 43_560 * 144 / 231 * GALLON),
        ("1 acre*inch", "volume", 43_560 * 144 / 231 * GALLON),
        ("0.001 m3/s", "flow", 86_400),
        ("2 mm m2", "volume", 2),
        ("1 ft ft", "area", 0.09290304),
    ],
)
def test_accepted(text: object, kind: Kind, expected: float) -> None:
    assert read(text, kind) == pytest.approx(expected, rel=1e-7, abs=1e-12)


@pytest.mark.parametrize(
    ("text", "level"),
    [
        ("20 %", Level(share=0.2)),
        (0.25, Level(share=0.25)),
        ("300 L", Level(volume=300.0)),
        (0, Level(share=0.0)),
    ],
)
def test_level_is_a_share_or_a_volume(text: object, level: Level) -> None:
    assert read(text, "level") == level


def test_level_of_a_drawable_capacity() -> None:
    assert Level(share=0.25).of(8000) == 2000
    assert Level(volume=300).of(8000) == 300


@pytest.mark.parametrize(
    ("text", "kind", "message"),
    [
        (1480, "area", '1480 has no unit; write "1480 ft2" or "137 m2"'),
        ("1480", "area", '"1480" has no unit; write "1480 ft2" or "137 m2"'),
        (0.5, "depth", '0.5 has no unit; write "0.5 in" or "12.7 mm"'),
        (2, "duration", '2 has no unit; write "2 h" or "2 days"'),
        (
            "3000 ft",
            "volume",
            '"3000 ft": a length, but a volume is needed, such as "3000 gal" or "11.4 m3"',
        ),
        (
            "38 gal",
            "flow",
            '"38 gal": a volume, but a volume per time is needed, such as "38 gal/day" or "144 L/day"',
        ),
        ("3 %", "area", '"3 %": a share, but an area is needed, such as "1480 ft2" or "137 m2"'),
        (
            "3 gal/gal",
            "height",
            '"3 gal/gal": a quantity of another kind, but a length is needed, such as "3 in" or "7.62 cm"',
        ),
        ("-3 gal", "volume", '"-3 gal": a volume cannot be negative'),
        (-0.1, "share", "-0.1: a share cannot be negative"),
        ("120 %", "share", '"120 %" is more than the whole; a share runs from 0 to 1, or "0 %" to "100 %"'),
        (20, "share", '20 is more than the whole; a share runs from 0 to 1, or "0 %" to "100 %"'),
        (math.nan, "share", 'nan: not a finite number; write "20 %" or "0.2"'),
        ("1e999 gal", "volume", '"1e999 gal": not a finite number; write "2500 gal" or "9.5 m3"'),
        ("nan gal", "volume", '"nan gal": no number in it; write "2500 gal" or "9.5 m3"'),
        ("1e15 gal", "volume", '"1e15 gal": too large to be meant; write "2500 gal" or "9.5 m3"'),
        ("full", "volume", '"full": no number in it; write "2500 gal" or "9.5 m3"'),
        ("", "volume", '"": no number in it; write "2500 gal" or "9.5 m3"'),
        (
            "2,5 m3",
            "volume",
            '"2,5 m3": a comma separates thousands here, a point decimals; write "2.5 m3"',
        ),
        (
            "0,500 m3",
            "volume",
            '"0,500 m3": a comma separates thousands here, a point decimals; write "0.500 m3"',
        ),
        (
            "1.500,5 m3",
            "volume",
            '"1.500,5 m3": a comma separates thousands here, a point decimals; write "1500.5 m3"',
        ),
        (
            "6 ft 2,5 in",
            "height",
            '"6 ft 2,5 in": a comma separates thousands here, a point decimals; write "6 ft 2.5 in"',
        ),
        ("-2,5 cm", "base", '"-2,5 cm": a comma separates thousands here, a point decimals; write "-2.5 cm"'),
        ("0,5", "level", '"0,5": a comma separates thousands here, a point decimals; write "0.5"'),
        (
            "2,50 per m3",
            "price",
            '"2,50 per m3": a comma separates thousands here, a point decimals; write "2.50 per m3"',
        ),
        ("0 500 m3", "volume", '"0 500 m3": not understood; write "2500 gal" or "9.5 m3"'),
        (
            "38 gal/person/day",
            "flow",
            '"38 gal/person/day": "person" is no unit; leave it out; write "38 gal/day" or "144 L/day"',
        ),
        (
            "45 gal a month",
            "flow",
            '"45 gal a month": a month has no fixed length; give it per day or per week;'
            ' write "38 gal/day" or "144 L/day"',
        ),
        ("30 ft x 48", "area", '"30 ft x 48": give each side its unit, such as "30 ft x 48 ft"'),
        ("30 x 48", "area", '"30 x 48": give each side its unit, such as "30 ft x 48 ft"'),
        ("30 x 48 ft 6 in", "area", '"30 x 48 ft 6 in": give each side its unit, such as "30 ft x 48 ft"'),
        (
            "2 x 1000 gal",
            "volume",
            '"2 x 1000 gal": only lengths are multiplied ("30 ft x 48 ft"); write "2500 gal" or "9.5 m3"',
        ),
        (
            "1 ft x 2 ft x 3 ft x 4 ft",
            "area",
            '"1 ft x 2 ft x 3 ft x 4 ft": only lengths are multiplied ("30 ft x 48 ft");'
            ' write "1480 ft2" or "137 m2"',
        ),
        (
            "30 ft x 48 ft",
            "volume",
            '"30 ft x 48 ft": an area, but a volume is needed, such as "30 gal" or "114 L"',
        ),
        ("x 48 ft", "area", '"x 48 ft": not understood; write "1480 ft2" or "137 m2"'),
        (
            "150 per load",
            "price",
            '"150 per load": "load" is no unit known here; write "12 per 1000 gal" or "3.20 per m3"',
        ),
        (
            "12 galons",
            "volume",
            '"12 galons": "galons" is no unit known here; did you mean "gallons"? Write "2500 gal" or "9.5 m3"',
        ),
        (
            "900 gal/month",
            "flow",
            '"900 gal/month": a month has no fixed length; give it per day or per week;'
            ' write "38 gal/day" or "144 L/day"',
        ),
        ("1/0 in", "height", '"1/0": a fraction over zero; write "6 in" or "15 cm"'),
        (
            "3 ft 2 gal",
            "height",
            '"3 ft 2 gal": the parts do not add up to one quantity; write "6 in" or "15 cm"',
        ),
        (
            "3 in 6 ft",
            "height",
            '"3 in 6 ft": the parts do not add up to one quantity; write "6 in" or "15 cm"',
        ),
        ("--3 in", "base", '"--3 in": a second sign in front of it; write "6 in" or "15 cm"'),
        ("9**9**9 m", "height", '"9**9**9 m": not understood; write "6 in" or "15 cm"'),
        ("3 gal 4", "volume", '"3 gal 4": not understood; write "2500 gal" or "9.5 m3"'),
        (True, "volume", 'true: not a volume; write "2500 gal" or "9.5 m3"'),
        (None, "area", 'None: not an area; write "1480 ft2" or "137 m2"'),
        ("12", "price", '"12": not a price per volume; write "12 per 1000 gal" or "3.20 per m3"'),
        (12, "price", '12 has no unit; write "12 per 1000 gal" or "3.20 per m3"'),
        (
            "12 per ft",
            "price",
            '"12 per ft": a price per ft, but a price per volume is needed;'
            ' write "12 per 1000 gal" or "3.20 per m3"',
        ),
        ("-2 per m3", "price", '"-2 per m3": a price per volume cannot be negative'),
        (
            30,
            "level",
            "30 has no unit; write it as a share of what the tanks can give,"
            ' "20 %", or as a volume, "300 gal" or "1100 L"',
        ),
        (
            "6 ft",
            "level",
            '"6 ft": a length, but a level is needed; write it as a share of what the tanks can give,'
            ' "20 %", or as a volume, "300 gal" or "1100 L"',
        ),
    ],
)
def test_refused_with_the_cure(text: object, kind: Kind, message: str) -> None:
    with pytest.raises(InputError) as caught:
        read(text, kind)
    assert caught.value.faults == [message]


@pytest.mark.parametrize(
    ("text", "value"),
    [
        (140, 140),
        (2.5, 2.5),
        (0, 0),
        ("140", 140),
        ("$140", 140),
        ("$ 1,140.50", 1140.5),
        ("1,140", 1140),
        ("140 dollars", 140),
        ("140 USD", 140),
        ("€140", 140),
        ("140 €", 140),
        ("EUR 140", 140),
        ("1 Euro", 1),
        ("£140", 140),
        ("140 pounds", 140),
    ],
)
def test_money_comes_with_or_without_a_currency(text: object, value: float) -> None:
    assert units.read_money(text) == value


@pytest.mark.parametrize(
    ("text", "message"),
    [
        ("cheap", '"cheap": not a sum of money; write 140 or "$140"'),
        ("1.140,00", '"1.140,00": not a sum of money; write 140 or "$140"'),
        ("0,500", '"0,500": not a sum of money; write 140 or "$140"'),
        ("140 gal", '"140 gal": not a sum of money; write 140 or "$140"'),
        (True, 'true: not a sum of money; write 140 or "$140"'),
        (math.nan, 'nan: not a sum of money; write 140 or "$140"'),
        ("-$5", '"-$5": a price cannot be negative'),
        (-5, "-5: a price cannot be negative"),
        (math.inf, "inf: a price so large is not meant"),
        (10**400, f"1{'0' * 56}...: a price so large is not meant"),
    ],
)
def test_what_is_no_money_is_refused(text: object, message: str) -> None:
    with pytest.raises(InputError) as caught:
        units.read_money(text)
    assert caught.value.faults == [message]


@pytest.mark.parametrize(
    ("text", "kind", "value"),
    [
        ("0,500 m3", "volume", 500.0),
        ("2,5 m3", "volume", 2500.0),
        ("1.500,5 m3", "volume", 1_500_500.0),
        ("-2,5 cm", "base", -25.0),
        ("6 ft 2,5 in", "height", 1892.3),
        ("0,5 %", "share", 0.005),
        ("2,50 per m3", "price", 0.0025),
        ("30 x 48", "area", 1440 * 0.09290304),
    ],
)
def test_what_a_message_says_to_write_is_read(text: str, kind: Kind, value: float) -> None:
    with pytest.raises(InputError) as caught:
        read(text, kind)
    written = caught.value.faults[0].split('"')[-2]
    assert read(written, kind) == pytest.approx(value, rel=1e-9)


def test_long_text_is_refused_and_cut() -> None:
    with pytest.raises(InputError, match=r'^"9{57}\.\.\.": too long for one quantity'):
        read("9" * 200, "volume")


def test_every_cure_is_itself_accepted() -> None:
    """Whatever a message tells the user to write must be readable."""
    for kind, spec in SPECS.items():
        for text in spec.examples:
            assert read(text, kind) > 0


def test_sizes_agree_with_the_registry_of_pint() -> None:
    """An independent witness for every size in the table; pint's acre is that of the US survey foot."""
    witness = pint.UnitRegistry()
    names = {"inch": "inch", "imperial_gallon": "imperial_gallon", "gal": "gallon", "acre_foot": "acre_foot"}
    inside = {"length": "mm", "area": "m**2", "volume": "liter", "time": "day", "flow": "liter/day"}
    others = {"gpd": "gallon/day", "gpm": "gallon/minute", "ha": "hectare", "qt": "quart"}
    others |= {"gph": "gallon/hour", "cfs": "foot**3/second", "lpm": "liter/minute", "lps": "liter/second"}
    others |= {"kgal": "kilogallon", "ccf": "foot**3", "acre_inch": "acre * inch"}
    for name, dimension, size, _ in UNITS:
        if dimension == "share":
            continue
        count = 100 if name == "ccf" else 1
        theirs = witness.Quantity(count, (names | others).get(name, name)).to(inside[dimension]).magnitude
        assert size == pytest.approx(float(theirs), rel=1e-5 if "acre" in name else 1e-12), name


def test_the_table_and_the_small_registry_agree() -> None:
    """A word looked up and the same word multiplied out by pint give the same size."""
    from holdwater.units.words import _by_pint

    for word, known in words().items():
        if known.dimension != "share" and " " not in word and "." not in word:
            dimension, size = _by_pint(f"{word}", word)
            assert dimension == known.dimension
            assert size == pytest.approx(known.size, rel=1e-12), word


def test_an_inch_on_a_square_foot() -> None:
    """1 in on 1 ft2 = 144/231 US gal, by definition."""
    litres = read("1 in", "depth") * read("1 ft2", "area")
    assert litres / read("1 gal", "volume") == pytest.approx(144 / 231, rel=1e-12)


@pytest.mark.parametrize(("area", "published"), [("1600 ft2", "30,000 gal"), ("2500 ft2", "46,875 gal")])
def test_thirty_inches_on_a_roof(area: str, published: str) -> None:
    """Handout of the state of Oregon: 30 in with the rounded factor 0.625; the exact factor gives 0.26 % less."""
    litres = read("30 in", "depth") * read(area, "area")
    exact = (144 / 231) / 0.625
    assert exact == pytest.approx(1 - 0.0026, abs=5e-5)
    assert litres == pytest.approx(read(published, "volume") * exact, rel=1e-9)


@pytest.mark.parametrize(
    ("value", "kind", "us", "metric"),
    [
        (2500 * GALLON, "volume", "2,500 gal", "9,464 L"),
        (11_356.2, "volume", "3,000 gal", "11.4 m3"),
        (1.2e6, "bulk", "317,006 gal", "1,200 m3"),
        (38.1, "depth", "1.5 in", "38.1 mm"),
        (152.4, "height", "6 in", "15.2 cm"),
        (-152.4, "base", "-6 in", "-15.2 cm"),
        (1480 * 0.09290304, "area", "1,480 ft2", "137 m2"),
        (38 * GALLON, "flow", "38 gal/day", "144 L/day"),
        (0.58, "share", "58 %", "58 %"),
        (0, "volume", "0 gal", "0 L"),
        (-1e-9, "volume", "0 gal", "0 L"),
        (1, "duration", "1 day", "1 day"),
        (2.5, "duration", "2.5 days", "2.5 days"),
        (1584.96, "altitude", "5,200 ft", "1,585 m"),
        (12 / (1000 * GALLON), "price", "12 per 1,000 gal", "3.17 per m3"),
    ],
)
def test_shown(value: float, kind: Kind, us: str, metric: str) -> None:
    assert show(value, kind, "us") == us
    assert show(value, kind, "metric") == metric


def test_levels_and_digits_shown() -> None:
    assert show(Level(share=0.2), "level", "us") == "20 %"
    assert show(Level(volume=300 * GALLON), "level", "us") == "300 gal"
    assert show(0.25, "level", "us") == "25 %"
    assert show(1234.56, "volume", "metric", digits=6) == "1,234.56 L"
    assert show(1234.56, "volume", "metric", digits=1) == "1,235 L"
    assert units.figures(9.999) == "10"


@pytest.mark.parametrize("value", [math.nan, math.inf])
def test_what_is_no_number_cannot_be_shown(value: float) -> None:
    with pytest.raises(ValueError, match="cannot be shown"):
        show(value, "volume", "us")


KINDS = st.sampled_from([kind for kind in SPECS if kind != "share"])
SYSTEMS: st.SearchStrategy[System] = st.sampled_from(["us", "metric"])


@settings(deadline=None)
@given(value=st.floats(1e-3, 1e9), kind=KINDS, system=SYSTEMS, digits=st.integers(3, 9))
def test_reading_what_is_shown_gives_it_back(value: float, kind: Kind, system: System, digits: int) -> None:
    """To the digits shown: half a unit of the last decimal."""
    text = show(value, kind, system, digits)
    shown = float(text.split(" ")[0].replace(",", ""))
    decimals = min(max(digits - 1 - math.floor(math.log10(shown)), 0), 6) if shown else 6
    factor = value / shown if shown else scale(kind, system)[0]
    assert read(text, kind) == pytest.approx(
        value, abs=0.51 * 10**-decimals * max(factor, 1 / scale(kind, system)[0])
    )


@settings(deadline=None)
@given(share=st.floats(0, 1))
def test_shares_round_trip(share: float) -> None:
    assert read(show(share, "share", "us", 9), "share") == pytest.approx(share, abs=1e-8)


TEXTS = st.one_of(
    st.text(max_size=100),
    st.text("0123456789.,/ -+eE%'\"^*()½²galftinmprdy$", max_size=30),
    st.builds(
        " ".join,
        st.lists(st.sampled_from([*words(), "1", "2.5", "1/2", "/", "*", "per", "^2", "-"]), max_size=7),
    ),
)
ANYTHING = st.one_of(
    TEXTS, st.integers(), st.floats(), st.booleans(), st.none(), st.lists(st.integers()), st.dates()
)


@settings(deadline=None)
@example("1 gal per gal per gal", "volume")
@example("2 in^2^2", "area")
@example(10**400, "share")
@given(text=ANYTHING, kind=st.sampled_from([*SPECS, "level"]))
def test_nothing_but_input_error(text: object, kind: Kind) -> None:
    """Whatever is written, it is read as a finite number or refused in plain words."""
    faults: list[str] = []
    value: float | Level = 0.0
    try:
        value = read(text, kind)
    except InputError as error:
        faults = error.faults
    assert len(faults) <= 1
    assert all(len(fault) < 400 and "\n" not in fault for fault in faults)
    assert isinstance(value, Level) or math.isfinite(value)


def test_plain_units_do_not_load_pint() -> None:
    code = (
        "import sys; from holdwater.units import read; read('2500 gal', 'volume'); read('38 gal/day', 'flow');"
        " print('pint' in sys.modules); read('1 acre in', 'volume'); print('pint' in sys.modules)"
    )
    out = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert out.stdout.split() == ["False", "True"]
