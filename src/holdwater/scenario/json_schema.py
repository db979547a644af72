"""The JSON Schema of the scenario file, so that editors complete and explain its keys.

It is made from the classes of `schema`; `holdwater.site.json_schema` adds the `[site]` table and writes
scenario.schema.json, which ships.
"""

from __future__ import annotations

import ast
import inspect
from collections.abc import Sequence
from types import ModuleType
from typing import Any

from pydantic import BaseModel

from holdwater.scenario.schema import backup, catchment, draws, part, weather, whole

FILE = "scenario.schema.json"
ROOMS = (part, weather, catchment, draws, backup, whole)
"""Where the classes of the file are written."""


def json_schema() -> dict[str, Any]:
    """Make the schema of all but `[site]`: quantities are texts with a unit, every key says what it is."""
    made = schema_of(whole.Scenario, ROOMS)
    return {"$schema": "https://json-schema.org/draft/2020-12/schema", **made, "title": "holdwater scenario"}


def schema_of(model: type[BaseModel], modules: Sequence[ModuleType]) -> dict[str, Any]:
    """Make the schema of one class, with the text under each key as its description.

    Parameters
    ----------
    model : type
        The class.
    modules : sequence of module
        Where the class, its parts and its bases are written.
    """
    made: dict[str, Any] = _without_null(model.model_json_schema(by_alias=True))
    said = {key: text for module in modules for key, text in _texts_under_keys(module).items()}
    for name, table in {**made["$defs"], model.__name__: made}.items():
        part = next(getattr(module, name) for module in modules if hasattr(module, name))
        for key, info in part.model_fields.items():
            entry = table["properties"][info.alias or key]
            entry.pop("title", None)
            homes = [each.__name__ for each in part.__mro__ if (each.__name__, key) in said]
            text = said[homes[0], key] if homes else ""
            description = f"{text} {entry.get('description', '')}".strip()
            if description:
                entry["description"] = description
    return made


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


def _texts_under_keys(module: ModuleType) -> dict[tuple[str, str], str]:
    """Text under each key of each class of a module."""
    said: dict[tuple[str, str], str] = {}
    for made in ast.parse(inspect.getsource(module)).body:
        if not isinstance(made, ast.ClassDef):
            continue
        for key, text in zip(made.body, made.body[1:], strict=False):
            match key, text:
                case ast.AnnAssign(target=ast.Name(id=name)), ast.Expr(value=ast.Constant(value=str(words))):
                    said[made.name, name] = " ".join(words.split())
    return said
