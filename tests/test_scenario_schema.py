"""The JSON Schema of the scenario file: made from the classes, shipped, and true to the starter."""

from __future__ import annotations

import json
import re
import tomllib
from importlib.resources import files
from pathlib import Path
from typing import Any

import pytest

from holdwater.scenario.json_schema import FILE
from holdwater.site import json_schema

STARTER = files("holdwater.scenario").joinpath("starter.toml").read_text("utf-8")


def test_the_schema_shipped_is_the_one_the_classes_make() -> None:
    shipped = files("holdwater.scenario").joinpath(FILE).read_text("utf-8")
    assert shipped == json_schema.as_text(), "run python -m holdwater.site.json_schema"


def test_every_key_of_the_schema_says_what_it_is() -> None:
    made = json_schema.json_schema()
    silent = [
        f"{name}.{key}"
        for name, table in {**made["$defs"], "Scenario": made}.items()
        for key, entry in table["properties"].items()
        if key not in ("kind", "from", "to") and "description" not in entry and "$ref" not in entry
    ]
    assert silent == []


def test_quantities_in_the_schema_say_which_gallon() -> None:
    capacity = json_schema.json_schema()["$defs"]["Tank"]["properties"]["capacity"]
    assert 'A "gallon" is the US gallon' in capacity["description"]
    assert "2500 gal" in capacity["examples"]


SCHEMA = json.loads(files("holdwater.scenario").joinpath(FILE).read_text("utf-8"))
SILENT = {"title", "description", "examples", "default", "format", "discriminator", "$schema", "$defs"}


def mismatches(value: Any, schema: dict[str, Any], where: str = "") -> list[str]:
    """Where a value breaks a JSON Schema; only the words that the shipped schema uses, and no other."""
    words = {key: each for key, each in schema.items() if key not in SILENT}
    found: list[str] = []
    for word, each in words.items():
        found += [f"{where}: {said}" for said in _BREAKS[word](value, each, where)]
    if isinstance(value, dict):
        known = schema.get("properties", {})
        more = schema.get("additionalProperties", True)
        for key, inner in value.items():
            if key in known:
                found += mismatches(inner, known[key], f"{where}.{key}")
            elif more is False:
                found.append(f"{where}: unknown key {key}")
            elif isinstance(more, dict):
                found += mismatches(inner, more, f"{where}.{key}")
    if isinstance(value, list) and "items" in schema:
        for inner in value:
            found += mismatches(inner, schema["items"], f"{where}[]")
    return found


def _is(value: Any, name: str) -> bool:
    number = isinstance(value, int | float) and not isinstance(value, bool)
    return {
        "string": isinstance(value, str),
        "number": number,
        "integer": number and float(value).is_integer(),
        "boolean": isinstance(value, bool),
        "array": isinstance(value, list),
        "object": isinstance(value, dict),
    }[name]


def _one_of(value: Any, options: list[dict[str, Any]], where: str) -> list[str]:
    tried = [mismatches(value, option, where) for option in options]
    return [] if any(not each for each in tried) else [str(tried)]


def _says(true: bool, word: str) -> list[str]:
    return [] if true else [word]


_BREAKS: dict[str, Any] = {
    "$ref": lambda v, ref, w: mismatches(v, SCHEMA["$defs"][ref.rsplit("/", 1)[1]], w),
    "type": lambda v, name, w: _says(_is(v, name), f"no {name}: {v}"),
    "anyOf": _one_of,
    "oneOf": _one_of,
    "const": lambda v, c, w: _says(v == c and type(v) is type(c), f"{v} is not {c}"),
    "enum": lambda v, c, w: _says(v in c, f"{v} is none of {c}"),
    "minLength": lambda v, n, w: _says(not isinstance(v, str) or len(v) >= n, "too short"),
    "maxLength": lambda v, n, w: _says(not isinstance(v, str) or len(v) <= n, "too long"),
    "pattern": lambda v, p, w: _says(not isinstance(v, str) or re.search(p, v) is not None, "pattern"),
    "minimum": lambda v, n, w: _says(not _is(v, "number") or v >= n, f"{v} < {n}"),
    "maximum": lambda v, n, w: _says(not _is(v, "number") or v <= n, f"{v} > {n}"),
    "exclusiveMinimum": lambda v, n, w: _says(not _is(v, "number") or v > n, f"{v} <= {n}"),
    "minItems": lambda v, n, w: _says(not isinstance(v, list) or len(v) >= n, "too few"),
    "maxItems": lambda v, n, w: _says(not isinstance(v, list) or len(v) <= n, "too many"),
    "required": lambda v, keys, w: [f"{k} is missing" for k in keys if isinstance(v, dict) and k not in v],
    "propertyNames": lambda v, s, w: (
        [m for key in v for m in mismatches(key, s, w)] if isinstance(v, dict) else []
    ),
    "properties": lambda v, s, w: [],
    "additionalProperties": lambda v, s, w: [],
    "items": lambda v, s, w: [],
}


def as_editors_see_it(raw: Any) -> Any:
    """TOML dates are texts to a JSON Schema."""
    return json.loads(json.dumps(raw, default=str))


def test_the_schema_accepts_the_starter() -> None:
    assert mismatches(as_editors_see_it(tomllib.loads(STARTER)), SCHEMA) == []


@pytest.mark.parametrize(
    ("old", "new"),
    [
        ('area = "1200 ft2"', "area = 1200"),
        ('name = "barn"', 'nam = "barn"'),
        ('rule = "YAS"', 'rule = "YAZ"'),
        ("latitude = 40.0", "latitude = 95.0"),
        ('kind = "household"', 'kind = "houshold"'),
        ('title = "Our holding: two roofs, two linked tanks"', ""),
    ],
)
def test_the_schema_refuses_a_fault(old: str, new: str) -> None:
    assert old in STARTER
    assert mismatches(as_editors_see_it(tomllib.loads(STARTER.replace(old, new, 1))), SCHEMA) != []


DEMO = (Path(__file__).parents[1] / "scenarios" / "larkfield.toml").read_text("utf-8")


def test_the_schema_knows_the_site_table() -> None:
    site = SCHEMA["$defs"]["Site"]["properties"]
    assert site["soil"]["description"].startswith("Soil under the tanks")
    flow = SCHEMA["$defs"]["Pump"]["properties"]["flow"]
    assert flow["examples"] == ["8 gal/min", "30 L/min"]
    assert flow["description"].startswith("Flow it is to give.")


def test_the_schema_accepts_the_demo_and_refuses_a_fault_in_its_site_table() -> None:
    assert mismatches(as_editors_see_it(tomllib.loads(DEMO)), SCHEMA) == []
    for old, new in (
        ('soil = "sand" ', 'soils = "sand" '),
        ("runs = 2", 'runs = "two"'),
        ('tank = "upper"\npipe', "pipe"),
    ):
        assert old in DEMO
        assert mismatches(as_editors_see_it(tomllib.loads(DEMO.replace(old, new, 1))), SCHEMA) != []
