"""How the fields of a design file are declared: frozen dataclasses whose fields say what they hold.

A class is a mapping of the file, its docstring the description; each field is made by `key`. The schema that a
file is checked against, the completion in an editor and the reference are all written from these classes. What a
file says is kept as plain mappings with the same keys, so none of these classes is ever made an object of.
"""

from __future__ import annotations

import dataclasses
import inspect
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from typing import Any, TypeVar, dataclass_transform

Node = Mapping[str, Any]  # of JSON Schema; a `$ref` in it names a class, a Named or the name of one
_Class = TypeVar("_Class", bound=type)
_ABSENT: Any = object()
FINEST = 0.01  # mm: the least that a length can be which must be more than 0
MOST_ITEMS = 1000  # of a list that says no other number
NO_IDS = ("true", "false", "null")  # YAML does not read these as words where they stand as values
_RULES = "_schema_rules"
_BOUNDS = {
    "at_least": "minimum",
    "more_than": "exclusiveMinimum",
    "at_most": "maximum",
    "less_than": "exclusiveMaximum",
}


@dataclass(frozen=True, eq=False)
class Named:
    """A value that has a name of its own in the schema, where it is told once."""

    name: str
    node: Node


What = Node | Named | type | str  # what a key holds; a string is the name of a class that is declared later


def key(
    what: What,
    text: str = "",
    *,
    default: Any = _ABSENT,
    optional: bool = False,
    at_least: float | None = None,
    more_than: float | None = None,
    at_most: float | None = None,
    less_than: float | None = None,
    formerly: str = "",
) -> Any:
    """A key of a mapping: what it holds and what it means.

    It is required unless it has a `default` (as the file would write it) or is `optional`, and then None. The
    bounds are those of a number: `at_least` and `at_most` with their ends, `more_than` and `less_than` without. Files
    may still call it what it was called `formerly`.
    """
    bounds = {"at_least": at_least, "more_than": more_than, "at_most": at_most, "less_than": less_than}
    node: dict[str, Any] = dict(node_of(what))
    if text:
        node["description"] = text
    node |= _bounds(what, bounds)
    if default is not _ABSENT:
        node["default"] = default
    metadata = {"node": node, "required": default is _ABSENT and not optional, "formerly": formerly}
    if metadata["required"]:
        return dataclasses.field(metadata=metadata)
    return dataclasses.field(default=None, metadata=metadata)


def _bounds(what: What, bounds: Mapping[str, float | None]) -> dict[str, float]:
    """Bounds as the schema writes them. A length that must be more than 0 is at least as long as can be cut."""
    keywords = {_BOUNDS[name]: value for name, value in bounds.items() if value is not None}
    if isinstance(what, Named) and what.node.get("quantity") == "length" and keywords.get("exclusiveMinimum") == 0:
        del keywords["exclusiveMinimum"]
        keywords["minimum"] = FINEST
    return keywords


@dataclass_transform(kw_only_default=True, frozen_default=True, field_specifiers=(key,))
def declared(shape: _Class) -> _Class:
    """A frozen dataclass of keys. Without the methods of objects, of which there are none: writing them for every
    class would take longer than checking a design."""
    dataclass(frozen=True, kw_only=True, init=False, repr=False, eq=False)(shape)
    return shape


def node_of(what: What) -> Node:
    """The node that stands for `what` where it is used."""
    return what if isinstance(what, Mapping) else {"$ref": what}


def listed(
    what: What, *, least: int = 0, most: int = MOST_ITEMS, unique: bool = False, bounds: Node | None = None
) -> Node:
    """A list of `least` to `most` items, each of them once if `unique`."""
    node: dict[str, Any] = {"type": "array", "items": {**node_of(what), **(bounds or {})}}
    if least:
        node["minItems"] = least
    node["maxItems"] = most
    if unique:
        node["uniqueItems"] = True
    return node


def exactly(number: int, what: What, **bounds: float) -> Node:
    """A list of `number` items; the bounds, named as for `key`, are those of each item."""
    return listed(what, least=number, most=number, bounds=_bounds(what, bounds))


def by_id(what: What, *, least: int = 0, most: int = MOST_ITEMS) -> Node:
    """A mapping of `least` to `most` entries whose keys are ids of the maker's own."""
    node: dict[str, Any] = {
        "type": "object",
        "propertyNames": {"pattern": f"^(?!({'|'.join(NO_IDS)})$)[a-z][a-z0-9_]*$", "examples": ["bow_upper"]},
        "additionalProperties": node_of(what),
    }
    if least:
        node["minProperties"] = least
    node["maxProperties"] = most
    return node


def mapping(what: What) -> Node:
    """A mapping whose keys are names that stand elsewhere in the file."""
    return {"type": "object", "additionalProperties": node_of(what), "maxProperties": MOST_ITEMS}


def one_of(*words: str) -> Node:
    """One of some words."""
    return {"type": "string", "enum": list(words)}


def text(*, pattern: str = "", example: str = "", least: int = 0, most: int = 2000) -> Node:
    """Text of `least` to `most` letters; with a pattern an `example` of what fits it."""
    node: dict[str, Any] = {"type": "string", "maxLength": most}
    if least:
        node["minLength"] = least
    if pattern:
        node["pattern"] = pattern
    if example:
        node["examples"] = [example]
    return node


def by_type(**choices: What) -> Node:
    """One thing or another by its type in the file, as in `by_type(string=..., array=...)`; at least two."""
    *firsts, last = choices.items()
    node: dict[str, Any] = dict(node_of(last[1]))
    for kind, what in reversed(firsts):
        node = {"if": {"type": kind}, "then": dict(node_of(what)), "else": node}
    return {"type": list(choices), **node}


def by_kind(choices: Mapping[str, type], noun: str) -> Node:
    """A mapping whose `kind` says which of some classes it is. `noun` is what they are kinds of."""
    return {
        "type": "object",
        "required": ["kind"],
        "properties": {
            "kind": {"description": f"Kind of {noun}.", "type": "string", "enum": list(choices)},
        },
        "allOf": [
            {
                "if": {"required": ["kind"], "properties": {"kind": {"const": name}}},
                "then": {"$ref": Variant(name, shape)},
            }
            for name, shape in choices.items()
        ],
    }


@dataclass(frozen=True)
class Variant:
    """A class as it is written under a `kind`: with that key before its own."""

    kind: str
    shape: type


FLAG: Node = {"type": "boolean"}
TEXT: Node = text()
LINE: Node = text(pattern=r"^(\S(.*\S)?)?$", example="Base plate", most=120)  # without blanks around it
NAME: Node = text(pattern=r"^\S(.*\S)?$", example="Base plate", most=120)  # a line that says something


def one_required(*names: str) -> Callable[[_Class], _Class]:
    """Of these keys a mapping has exactly one."""
    return _ruled({"oneOf": [{"required": [name]} for name in names]})


def together(**needs: str | Sequence[str]) -> Callable[[_Class], _Class]:
    """A key that needs others beside it."""
    lists = {_written(k): [needed] if isinstance(needed, str) else list(needed) for k, needed in needs.items()}
    return _ruled({"dependentRequired": lists})


def marked(name: str) -> Callable[[_Class], _Class]:
    """A mapping of which the resolver must know something; see `schema`."""
    return _ruled({name: True})


def _ruled(more: Node) -> Callable[[_Class], _Class]:
    def add(shape: _Class) -> _Class:
        setattr(shape, _RULES, {**rules_of(shape), **more})
        return shape

    return add


def rules_of(shape: type) -> Node:
    """What a class says of its keys together."""
    rules: Node = getattr(shape, _RULES, {})
    return rules


def keys_of(shape: type) -> dict[str, Mapping[str, Any]]:
    """`node`, `required` and `formerly` of each key of a class by its name in the file: its own first, then what it inherits."""
    keys: dict[str, Mapping[str, Any]] = {}
    declared = {field.name: field.metadata for field in dataclasses.fields(shape)}
    for ancestor in shape.__mro__:
        for name in inspect.get_annotations(ancestor):
            if name in declared:
                keys.setdefault(_written(name), declared[name])
    return keys


def _written(name: str) -> str:
    """The key of a field: `from_` is written `from`, which is no name in Python."""
    return name.removesuffix("_")
