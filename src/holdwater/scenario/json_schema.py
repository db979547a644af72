"""The JSON Schema of the scenario file, so that editors complete and explain its keys.

It is made from the classes of `schema` and shipped as scenario.schema.json. After a change there, write it
anew: ``python -m holdwater.scenario.json_schema``.
"""

from __future__ import annotations

import ast
import inspect
import json
from importlib.resources import files
from pathlib import Path
from typing import Any

from holdwater.scenario import schema

FILE = "scenario.schema.json"


def json_schema() -> dict[str, Any]:
    """Make the schema: quantities are texts with a unit, every key says what it is."""
    made = _without_null(schema.Scenario.model_json_schema(by_alias=True))
    said = _texts_under_keys()
    for name, table in {**made["$defs"], "Scenario": made}.items():
        model = getattr(schema, name)
        for key, info in model.model_fields.items():
            entry = table["properties"][info.alias or key]
            entry.pop("title", None)
            homes = [each.__name__ for each in model.__mro__ if (each.__name__, key) in said]
            text = said[homes[0], key] if homes else ""
            description = f"{text} {entry.get('description', '')}".strip()
            if description:
                entry["description"] = description
    return {"$schema": "https://json-schema.org/draft/2020-12/schema", **made, "title": "holdwater scenario"}


def _without_null(node: Any) -> Any:
    """Leave out "or null", which a TOML file cannot say, and the choice of one that is left."""
    if isinstance(node, list):
        return [_without_null(each) for each in node if each != {"type": "null"}]
    if not isinstance(node, dict):
        return node
    plain = {
        key: _without_null(value) for key, value in node.items() if not (key == "default" and value is None)
    }
    if isinstance(plain.get("anyOf"), list) and len(plain["anyOf"]) == 1:
        return plain.pop("anyOf")[0] | plain
    return plain


def _texts_under_keys() -> dict[tuple[str, str], str]:
    """Text under each key of each class of `schema`."""
    said: dict[tuple[str, str], str] = {}
    for part in ast.parse(inspect.getsource(schema)).body:
        if not isinstance(part, ast.ClassDef):
            continue
        for key, text in zip(part.body, part.body[1:], strict=False):
            match key, text:
                case ast.AnnAssign(target=ast.Name(id=name)), ast.Expr(value=ast.Constant(value=str(words))):
                    said[part.name, name] = " ".join(words.split())
    return said


def as_text() -> str:
    """Write the schema as it stands in the file."""
    return json.dumps(json_schema(), indent=2, ensure_ascii=False) + "\n"


if __name__ == "__main__":
    Path(str(files("holdwater.scenario").joinpath(FILE))).write_text(as_text(), encoding="utf-8")
