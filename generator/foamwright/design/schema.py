"""The schema of the design file, written from the declared fields of the file and of every kind of part.

Beside the keywords of JSON Schema (draft 2020-12) it carries a few of its own, read by `resolve`: `quantity`
(length, angle, number, count, any), `reference` (the section that an id belongs to), `input_file`, `placement`,
`nonzero` and `renamed` (the name that a key has now).
"""

from __future__ import annotations

import inspect
import re
from collections.abc import Iterator, Mapping
from functools import cache
from typing import Any

from foamwright.design.fields.declare import Named, Variant, by_kind, keys_of, rules_of
from foamwright.design.fields.file import Design, Fragment, OnHand
from foamwright.design.fields.part import PartFields, SheetFields
from foamwright.registry import Kind, kinds

Schema = Mapping[str, Any]

_DEFS = "#/$defs/"


def schema(known: tuple[Kind, ...] | None = None) -> Schema:
    """The whole schema, with the kinds of part `known`; None: all that are known now."""
    return _written(kinds() if known is None else known)


@cache
def _written(known: tuple[Kind, ...]) -> Schema:
    return _Writer(known).whole()


class _Writer:
    """Writes classes and named values as definitions, each when it is first referred to."""

    def __init__(self, known: tuple[Kind, ...]):
        self.known = known
        self.made: dict[str, Any] = {}  # name of a definition -> what it was written from
        self.defs: dict[str, Any] = {}

    def whole(self) -> Schema:
        shapes = {kind.name: kind.fields for kind in self.known}
        part = Named("part", {"description": "One part of the prop.", **by_kind(shapes, "part")})
        top = self._mapping(Design)
        self._define("part_fields", PartFields)
        for named in (part, Fragment, OnHand):
            self._reference(named)
        return {
            "$schema": "https://json-schema.org/draft/2020-12/schema",
            "$id": "urn:foamwright:design:1",
            "title": "Foamwright design",
            **top,
            "$defs": self.defs,
        }

    def _mapping(self, shape: type, kind: str = "") -> dict[str, Any]:
        keys = keys_of(shape)
        shared = (
            keys_of(PartFields).keys() & keys.keys()
            if issubclass(shape, SheetFields) and shape is not PartFields
            else set()
        )
        own = {name: self._node(key["node"]) for name, key in keys.items() if name not in shared}
        inherited = {name: {"$ref": f"{_DEFS}part_fields/properties/{name}"} for name in keys_of(PartFields)}
        properties: dict[str, Any] = {}
        text = _described(shape)
        if kind:
            properties["kind"] = {"description": text.split(". ")[0].rstrip(".") + ".", "const": kind}
        properties |= {name: node for name, node in inherited.items() if name in shared} | own
        required = [name for name in properties if name == "kind" or keys[name]["required"]]
        properties |= {key["formerly"]: _former(name, key["node"]) for name, key in keys.items() if key["formerly"]}
        return {
            "description": text,
            "type": "object",
            **({"required": required} if required else {}),
            "properties": properties,
            "additionalProperties": False,
            **rules_of(shape),
        }

    def _node(self, node: Any) -> Any:
        """The node with its references written out, and all they refer to defined."""
        if isinstance(node, list):
            return [self._node(item) for item in node]
        if not isinstance(node, Mapping):
            return node
        return {k: self._reference(v) if k == "$ref" else self._node(v) for k, v in node.items()}

    def _reference(self, what: Any) -> str:
        if isinstance(what, str):
            return _DEFS + what if what[0].islower() else _DEFS + _snake(what)
        if isinstance(what, Named):
            return self._define(what.name, what)
        if isinstance(what, Variant):
            taken = self.made.get(what.kind, what)
            return self._define(what.kind if taken == what else f"{what.kind}_part", what)
        return self._define(_snake(what.__name__), what)

    def _define(self, name: str, what: Any) -> str:
        if self.made.setdefault(name, what) != what:
            raise ValueError(f"two different things are called {name!r} in the schema: {self.made[name]} and {what}")
        if name not in self.defs:
            self.defs[name] = {}  # keeps its place, and ends circles
            if isinstance(what, Named):
                written = self._node(what.node)
            elif isinstance(what, Variant):
                written = self._mapping(what.shape, what.kind)
            else:
                written = self._mapping(what)
            self.defs[name] = written
        return _DEFS + name


def _former(name: str, node: Schema) -> Schema:
    """What stands for a key under the name that it had before."""
    held = {k: v for k, v in node.items() if k != "default"}
    return {**held, "description": f"What `{name}` was called before.", "deprecated": True, "renamed": name}


def _snake(name: str) -> str:
    return re.sub("(?<!^)(?=[A-Z])", "_", name).lower()


def _described(shape: type) -> str:
    return " ".join(inspect.cleandoc(shape.__doc__ or "").split())


def lookup(reference: str) -> Schema:
    """The definition that a local reference such as `#/$defs/length` names."""
    node = schema()
    for key in reference.removeprefix("#/").split("/"):
        node = node[key]
    return node


@cache
def validator(definition: str | None, whole: tuple[Kind, ...]) -> Any:
    """A validator of the whole schema, or of one of its definitions, with the kinds of part `whole`."""
    from jsonschema import Draft202012Validator
    from jsonschema.validators import extend

    # an if of ours is met or not at a glance; to validate data against it, for each kind, takes far longer
    quick = extend(Draft202012Validator, {"if": _chosen_branch, "pattern": _pattern})
    written = _written(whole)
    if definition is None:
        return quick(written)
    return quick({"$ref": _DEFS + definition, "$defs": written["$defs"]})


def _pattern(validator: Any, pattern: str, data: Any, node: Schema) -> Iterator[Any]:
    """As the standard means it: `$` is the very end, where Python's own also takes a last line break."""
    from jsonschema import ValidationError

    if isinstance(data, str) and not _compiled(pattern).search(data):
        yield ValidationError(f"{data!r} does not match {pattern!r}")


@cache
def _compiled(pattern: str) -> re.Pattern[str]:
    return re.compile(re.sub(r"\$$", r"\\Z", pattern))


def _chosen_branch(validator: Any, condition: Schema, data: Any, node: Schema) -> Iterator[Any]:
    branch = "then" if _meets(condition, data) else "else"
    if branch in node:
        yield from validator.descend(data, node[branch], schema_path=branch)


def applicable(node: Schema, data: Any) -> Iterator[Schema]:
    """Every part of the schema that speaks of `data`: itself, what it refers to, what its ifs choose."""
    yield node
    if "$ref" in node:
        yield from applicable(lookup(node["$ref"]), data)
    for part in node.get("allOf", ()):
        yield from applicable(part, data)
    if "if" in node:
        chosen = "then" if _meets(node["if"], data) else "else"
        if chosen in node:
            yield from applicable(node[chosen], data)


def _meets(condition: Schema, data: Any) -> bool:
    """Does `data` meet the condition of an if? It is one of two sorts: a type, or the word of a `kind`."""
    if "type" in condition:
        return isinstance(data, {"string": str, "array": list, "object": Mapping}[condition["type"]])
    return not isinstance(data, Mapping) or data.get("kind") == condition["properties"]["kind"]["const"]


def bounds_broken(node: Schema, value: float) -> str:
    """What a number breaks of the bounds that a part of the schema sets, in words; "" if nothing."""
    for keyword, words, good in (
        ("minimum", "at least", lambda a, b: a >= b),
        ("exclusiveMinimum", "more than", lambda a, b: a > b),
        ("maximum", "at most", lambda a, b: a <= b),
        ("exclusiveMaximum", "less than", lambda a, b: a < b),
    ):
        if keyword in node and not good(value, node[keyword]):
            return f"{words} {node[keyword]:g}"
    return ""
