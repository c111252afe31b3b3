"""The reference of the design file, written from its schema into the README.

Run as `python -m foamwright.design.reference README.md`.
"""

from __future__ import annotations

import json
import re
import sys
from collections.abc import Mapping
from pathlib import Path
from typing import Any

from foamwright.design.schema import applicable, lookup, schema
from foamwright.design.usage import usage_markdown

START, END = "<!-- reference: start -->", "<!-- reference: end -->"
_SHARED = "#/$defs/part_fields/"
_PLAIN = {
    "string": "text",
    "boolean": "true or false",
    "object": "mapping",
    "array": "list",
    "number": "number",
}


def reference_markdown() -> str:
    """One table per mapping of the design file: key, what it holds, default, meaning."""
    blocks = ["### Design file", schema()["description"], _table(schema())]
    for name, definition in schema()["$defs"].items():
        if "properties" in definition and name not in ("form", "part"):
            blocks += [f"### {_title(name)}", definition["description"], _table(definition)]
    quantities = [(n, d) for n, d in schema()["$defs"].items() if "quantity" in d]
    blocks += ["### Quantities", "\n".join(f"- **{_title(n)}**: {d['description']}" for n, d in quantities)]
    return "\n\n".join(blocks) + "\n"


def update_readme(text: str, designs: Path = Path(__file__).parents[3] / "designs") -> str:
    """`text` with the reference between its two markers; raises ValueError if it has not exactly one pair."""
    if text.count(START) != 1 or text.count(END) != 1 or text.index(START) > text.index(END):
        raise ValueError(f"expected {START} and {END}, once each and in this order")
    before, _, rest = text.partition(START)
    shown = f"### What the designs show\n\n{usage_markdown(designs)}"
    return f"{before}{START}\n\n{shown}\n{reference_markdown()}\n{END}{rest.partition(END)[2]}"


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
    readme = Path(sys.argv[1])
    readme.write_text(update_readme(readme.read_text("utf-8")), "utf-8")
