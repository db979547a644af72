"""The `[site]` table: quantities come in with units, every fault is told at once and by name."""

from __future__ import annotations

import json
import tomllib
from typing import Any

import pytest
from pydantic import TypeAdapter, ValidationError

from holdwater.errors import InputError
from holdwater.scenario.schema import Scenario
from holdwater.site import quantities
from holdwater.site.inputs import Site
from holdwater.site.reading import read_site
from tests.holdings import holding


def linked() -> Scenario:
    """Two linked tanks under one roof, a hauler and a well (invented)."""
    tanks = [
        {"name": "upper", "capacity": "3000 gal", "diameter": "102 in", "base": "6 in", "outlet": "3 in"},
        {"name": "lower", "capacity": "2500 gal", "diameter": "95 in", "outlet": "3 in"},
    ]
    return holding(
        place={"latitude": 38.4, "longitude": -109.2, "elevation": "5200 ft"},
        roof=[{"name": "barn", "area": "1996 ft2", "runoff_coefficient": 1.0, "feeds": "upper"}],
        tank=tanks,
        link=[{"tanks": ["upper", "lower"]}],
        backup=[
            {"name": "hauler", "kind": "refill", "into": "upper", "starts_below": "10 %", "load": "2000 gal"},
            {"name": "well", "kind": "direct"},
        ],
    )


def faults_of(text: str, scenario: Scenario | None = None) -> list[str]:
    """What is said of a site table."""
    with pytest.raises(InputError) as told:
        read_site(tomllib.loads(text), scenario or linked())
    return told.value.faults


def test_an_empty_table_is_a_table() -> None:
    assert read_site({}, linked()) == Site()


def test_quantities_come_in_in_the_inside_units() -> None:
    text = """
    soil = "sand"
    frost_depth = "30 in"
    warmest_water = "86 degF"
    storm = { in_5_minutes = "4 in/h", in_60_minutes = "50 mm/h" }
    pump = { height = "-1 ft", flow = "10 gal/min", power = "3/4 hp", draws = "900 W" }
    pressure_tank = { volume = "44 gal", cut_in = "30 psi", cut_out = "3.5 bar" }
    [[overflow]]
    tank = "upper"
    pipe = "PVC schedule 40"
    size = "1-1/2 in"
    [[stand]]
    tank = "lower"
    empty_weight = "450 lb"
    """
    site = read_site(tomllib.loads(text), linked())
    assert site.frost_depth == pytest.approx(762.0)
    assert site.warmest_water == pytest.approx(30.0)
    assert site.storm.in_5_minutes == pytest.approx(101.6)
    assert site.storm.in_60_minutes == pytest.approx(50.0)
    assert site.pump is not None
    assert site.pump.height == pytest.approx(-304.8)
    assert site.pump.flow == pytest.approx(10 * 3.785411784 * 1440)
    assert site.pump.power == pytest.approx(0.559275, rel=1e-5)
    assert site.pump.draws == pytest.approx(0.9)
    assert site.pressure_tank.cut_in == pytest.approx(206.843, rel=1e-5)
    assert site.pressure_tank.cut_out == pytest.approx(350.0)
    assert site.stand[0].empty_weight == pytest.approx(204.117, rel=1e-5)
    bore = site.overflow[0].chosen()
    assert bore is not None
    assert bore.inside == pytest.approx(40.894)


def test_pipe_that_is_in_no_table() -> None:
    site = read_site(tomllib.loads('suction = { inside = "33 mm", length = "4 m" }'), linked())
    bore = site.suction.chosen()
    assert bore is not None
    assert (bore.inside, bore.hazen_williams) == (33.0, 140.0)
    half_said = read_site(tomllib.loads('suction = { size = "1 in" }'), linked())
    assert half_said.suction.chosen() is None


CASES = {
    'soils = "sand"': "site: unknown key soils; did you mean soil?",
    'soil = "sands"': "site: soil = 'sands'; did you mean 'sand'?",
    'frost_depth = "30"': "site: frost_depth = .* has no unit; write",
    'storm = { in_5_minutes = "4 in" }': "site.storm: in_5_minutes = \"4 in\": 'in' is no unit for a rain intensity",
    "storm = { in_5_minutes = 4 }": 'site.storm: in_5_minutes = 4 has no unit; write "4 in/h"',
    'storm = { in_5_minutes = "0 in/h" }': 'site.storm: in_5_minutes = "0 in/h": input should be greater than 0',
    'storm = { burst = "4 in/h" }': "site.storm: unknown key burst; the keys here are in_5_minutes, in_60_minutes",
    '[gutter]\nroof = "barn"': r"site.gutter: there may be several, so write \[\[site.gutter\]\]",
    '[[gutter]]\nwidth = "5 in"': "the first site.gutter: roof is missing",
    '[[gutter]]\nroof = "bran"': "site.gutter: there is no roof 'bran'; did you mean 'barn'?",
    '[[gutter]]\nroof = "barn"\nwidth = "0 in"': "site.gutter of roof 'barn': width = \"0 in\": input should be",
    '[[gutter]]\nroof = "barn"\nshape = "ogee"': "site.gutter of roof 'barn': shape = \"ogee\"",
    '[[leader]]\nroof = "barn"\n[[leader]]\nroof = "barn"': "site.leader: roof 'barn' is given twice; use `count`",
    '[[leader]]\nroof = "barn"\npipe = "PVC"\nsize = "3 in"': "site.leader of roof 'barn': pipe 'PVC' is not in the",
    '[[leader]]\nroof = "barn"\npipe = "PE"\nsize = "9 in"': "site.leader of roof 'barn': PE pipe: size '9 in' is not",
    '[[overflow]]\ntank = "uper"': "site.overflow: there is no tank 'uper'; did you mean 'upper'?",
    '[[link]]\ntanks = ["upper", "third"]': "site.link of tanks 'upper', 'third': the scenario has no such",
    'suction = { fittings = { "90 elbo" = 2 } }': "site.suction: fitting '90 elbo' is not in the table; did you mean",
    'suction = { fittings = { "90 elbow" = -2 } }': "site.suction: .*90 elbow.* at least 0",
    'pump = { serves = ["hose"] }': "site.pump: there is no draw 'hose'; did you mean 'house'?",
    'pump = { power = "3/4 horses" }': "site.pump: power = \"3/4 horses\": 'horses' is no unit for a power",
    'pressure_tank = { cut_in = "50 psi", cut_out = "30 psi" }': "site.pressure_tank: cut_out must be higher",
    "pump = { flow = 3 }": 'site.pump: flow = 3 has no unit; write "3 gal/min" or "30 L/min"',
    'warmest_water = "150 degF"': 'site: warmest_water = "150 degF": it must be at most 60',
    '[[line]]\nname = "barn"\nfed_by = "hope"': "site.line 'barn': fed_by = \"hope\"",
    '[[filling]]\nbackup = "spring"': "site.filling: there is no backup 'spring'",
    "pump = 3": "site.pump = 3: a table is needed",
}


@pytest.mark.parametrize("text", CASES)
def test_faults_are_told_by_name(text: str) -> None:
    faults = faults_of(text)
    assert len(faults) == 1, faults
    with pytest.raises(InputError, match=CASES[text]):
        raise InputError(faults)


def test_all_faults_at_once() -> None:
    text = """
    soil = "moon dust"
    storm = { in_5_minutes = 4 }
    [[overflow]]
    tank = "third"
    [[leader]]
    roof = "barn"
    pipe = "bamboo"
    size = "3 in"
    """
    assert len(faults_of(text)) == 4


def test_no_holding_lies_above_the_atmosphere_table() -> None:
    high = holding(place={"latitude": 38.4, "longitude": -109.2, "elevation": "52000 ft"})
    assert faults_of("", high) == [
        'place: elevation = 15849.6 m; no holding lies there, write it as "5200 ft" or "1585 m"'
    ]


def test_the_schema_can_be_written_for_editors() -> None:
    schema = Site.model_json_schema()
    assert schema["$defs"]["Storm"]["properties"]["in_5_minutes"]["anyOf"][0]["examples"] == [
        "4 in/h",
        "100 mm/h",
    ]
    assert json.dumps(schema)


@pytest.mark.parametrize(
    ("kind", "text", "value"),
    [
        (quantities.Intensity, "4 in per hour", 101.6),
        (quantities.Intensity, "100mm/h", 100.0),
        (quantities.Pressure, "30 PSI", 206.8427),
        (quantities.Pressure, "2 bar", 200.0),
        (quantities.Bearing, "1,500 psf", 71.8204),
        (quantities.Power, "½ hp", 0.37285),
        (quantities.Power, "1 1/2 hp", 1.11855),
        (quantities.Mass, "1.2 t", 1200.0),
    ],
)
def test_site_quantities(kind: Any, text: str, value: float) -> None:
    assert TypeAdapter(kind).validate_python(text) == pytest.approx(value, rel=1e-5)


@pytest.mark.parametrize(
    ("kind", "text", "said"),
    [
        (quantities.Pressure, "30", 'has no unit; write "30 psi" or "207 kPa"'),
        (quantities.Pressure, True, "not a pressure"),
        (quantities.Pressure, "much", "not a pressure"),
        (quantities.Pressure, "30 psy", "did you mean 'psi'"),
        (quantities.Mass, "-3 lb", "a weight cannot be negative"),
        (quantities.Power, "1/0 hp", "not a power"),
    ],
)
def test_site_quantities_refused(kind: Any, text: object, said: str) -> None:
    with pytest.raises(ValidationError) as told:
        TypeAdapter(kind).validate_python(text)
    assert said in told.value.errors()[0]["msg"]
