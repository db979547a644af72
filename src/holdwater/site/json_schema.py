"""The JSON Schema of the whole scenario file, `[site]` included; it ships as scenario.schema.json.

After a change to the classes of `holdwater.scenario.schema` or `holdwater.site.inputs`, write it anew:
``python -m holdwater.site.json_schema``.
"""

from __future__ import annotations

import json
from importlib.resources import files
from pathlib import Path
from typing import Any

from holdwater.scenario import json_schema as rest
from holdwater.site import inputs


def json_schema() -> dict[str, Any]:
    """Make the schema of the file: that of the scenario, with the classes of the `[site]` table in it."""
    made, site = rest.json_schema(), rest.schema_of(inputs.Site, [inputs])
    parts = site.pop("$defs")
    shared = parts.keys() & made["$defs"].keys()
    if shared:
        raise ValueError(f"two classes of one name, which the schema cannot tell apart: {sorted(shared)}")
    made["$defs"] |= {**parts, inputs.Site.__name__: site}
    said = made["properties"]["site"]["description"]
    made["properties"]["site"] = {"$ref": f"#/$defs/{inputs.Site.__name__}", "description": said}
    return made


def as_text() -> str:
    """Write the schema as it stands in the file."""
    return json.dumps(json_schema(), indent=2, ensure_ascii=False) + "\n"


if __name__ == "__main__":
    Path(str(files("holdwater.scenario").joinpath(rest.FILE))).write_text(as_text(), encoding="utf-8")
