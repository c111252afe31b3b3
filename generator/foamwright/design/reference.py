"""The reference of the design file, written from its schema.

Run as `python -m foamwright.design.reference designs`, which writes `designs/REFERENCE.md`.
"""

from __future__ import annotations

import json
import re
import sys
from collections.abc import Mapping
from pathlib import Path
from typing import Any

from foamwright.design.examples import examples
from foamwright.design.expressions import CONSTANTS, FUNCTIONS
from foamwright.design.schema import applicable, lookup, schema
from foamwright.design.starter import starter
from foamwright.design.usage import usage_markdown

_HEAD = (
    "Written by `python -m foamwright.design.reference designs`; do not change it by hand. A short introduction is "
    "in the [README](../README.md), and `foamwright new lamp.yaml` writes a small design to begin from."
)
_BEGIN = """## To begin with

What `foamwright new lamp.yaml` writes. `foamwright check lamp.yaml` finds mistakes in a moment, `foamwright look lamp.yaml`
draws it with what shares space in red, `foamwright build lamp.yaml` makes the pack.

```yaml
{starter}```

- Space: x is forward, y to the left, z up.
- An id is small letters, digits and _, a letter first. Parts, forms, stock and parameters are named by their ids.
- Forms have no thickness. A panel is `laid` outside or inside of its form; what lies on a panel is `over` it, or has the
  panel's thickness in its own numbers: each stock gives a parameter, as `foam_thickness`.
- Parts may touch and may not share space. Each must be held: by glue, where its faces lie on those of another part, by tabs,
  or by what it `rests_on` or `hangs_from`. Which parts touch is found, and need not be said.
- `mirror` reflects in a plane through the origin, so lay what has two hands out about it.
- The examples under the tables are of one design; its forms and parameters are those shown beside them."""
_SHARED = "#/$defs/part_fields/"
_PLAIN = {
    "string": "text",
    "boolean": "true or false",
    "object": "mapping",
    "array": "list",
    "number": "number",
    "integer": "whole number",
}


def reference_markdown(designs: Path | None = None) -> str:
    """One table per mapping of the design file: key, what it holds, default, meaning.

    A kind of part has its picture, if one lies under `pictures/kinds` in the folder `designs`, and kinds of parts and forms
    an example.
    """
    written = examples()
    blocks = ["## Design file", schema()["description"], _table(schema())]
    for name, definition in schema()["$defs"].items():
        if "properties" in definition and name not in ("form", "part"):
            picture = f"pictures/kinds/{name}.svg"
            drawn = "kind" in definition["properties"] and designs is not None and (designs / picture).exists()
            shown = [f'<img src="{picture}" width="160" alt="{name}">'] if drawn else []
            example = [f"```yaml\n{written[name]}\n```"] if name in written else []
            blocks += [f"## {_title(name)}", definition["description"], *shown, _table(definition), *example]
    quantities = [(n, d) for n, d in schema()["$defs"].items() if "properties" not in d and "reference" not in d]
    blocks += ["## Quantities", "\n".join(f"- **{_title(n)}**: {d['description']}" for n, d in quantities)]
    expressions = (
        "- **Expression**: arithmetic over parameters with + - * / ** and brackets, `a if b > c else d`, "
        f"{', '.join(FUNCTIONS)} and {', '.join(CONSTANTS)}; angles are in degrees. A length with its unit may stand in it: "
        '`radius / 2 + 6 mm`. In a list within [ ] a value with a comma wants quotes: `["max(a, b)", 0]`.'
    )
    return "\n\n".join(blocks) + f"\n{expressions}\n"


def reference_page(designs: Path) -> str:
    """The whole page `REFERENCE.md` in the folder of the designs: what they show, and every field of a design file."""
    shown = f"## What the designs show\n\n{usage_markdown(designs)}"
    begin = _BEGIN.format(starter=starter("Lamp"))
    return f"# Reference of the design file\n\n{_HEAD}\n\n{begin}\n\n{shown}\n{reference_markdown(designs)}"


def _title(name: str) -> str:
    return name.replace("_", " ").capitalize()


def _table(definition: Mapping[str, Any]) -> str:
    rows = ["| key | holds | default | meaning |", "| --- | --- | --- | --- |"]
    required = definition.get("required", ())
    for key, node in definition["properties"].items():
        if node.get("$ref", "").startswith(_SHARED):
            continue  # told once, in the table of those fields
        rules = list(applicable(node, None))
        default = next((rule["default"] for rule in rules if "default" in rule), None)
        shown = "required" if key in required else "" if default is None else f"`{_json(default)}`"
        meaning = next((rule["description"] for rule in rules if "description" in rule), "")
        rows.append(f"| `{key}` | {_holds(node)} | {shown} | {meaning.replace('|', chr(92) + '|')} |")
    return "\n".join(rows)


def _json(value: Any) -> str:
    return value if isinstance(value, str) and value else json.dumps(value)


def _holds(node: Mapping[str, Any]) -> str:
    """What a value is, in a few words: the name of its mapping with a link, or its type."""
    if "$ref" in node:
        name = node["$ref"].rsplit("/", 1)[1]
        definition = lookup(node["$ref"])
        if name in ("form", "part"):
            kinds = definition["properties"]["kind"]["enum"]
            return "one of " + ", ".join(_link(kind) for kind in kinds)
        if "properties" in definition:
            return _link(name)
        if "quantity" in definition:
            return name.replace("_", " ")
        if "reference" in definition:
            return f"id of a {name.removesuffix('_id')}"
        return _holds(definition)
    if "enum" in node:
        return " \\| ".join(f"`{value}`" for value in node["enum"])
    if "const" in node:
        return f"`{node['const']}`"
    if "if" in node:  # one thing or another, by its type
        return f"{_holds(node['then'])} or {_holds(node['else'])}"
    if "items" in node:
        low, high = node.get("minItems", 0), node.get("maxItems")
        return f"{'list' if high is None or low != high else f'list of {high}'}: {_holds(node['items'])}"
    if isinstance(node.get("additionalProperties"), Mapping):
        return f"by id: {_holds(node['additionalProperties'])}"
    return _PLAIN[node["type"]]


def _link(name: str) -> str:
    title = _title(name)
    return f"[{title.lower()}](#{re.sub('[^a-z0-9-]', '', title.lower().replace(' ', '-'))})"


if __name__ == "__main__":
    folder = Path(sys.argv[1])
    (folder / "REFERENCE.md").write_text(reference_page(folder), "utf-8")
