"""A file checked against the schema, and what is wrong with it put into one line."""

from __future__ import annotations

import re
from collections.abc import Mapping
from typing import Any

from foamwright.design.fields.declare import NO_IDS
from foamwright.design.messages import mistake, one_of
from foamwright.design.records import Where
from foamwright.design.schema import applicable, bounds_broken, validator
from foamwright.design.source import Route, Source
from foamwright.errors import TYPES, DesignError, nearest
from foamwright.registry import kinds

_SHOWN = 60  # letters of a text in a message
_MISSPELT = 0.7  # how alike a key must be to one that is missing: of kind, these are kin, iknd and kinnd, and not end
_NOTHING = ("", "-", "none", "no", "nothing", "nil")  # what stands where nothing is meant
_NUMBER = re.compile(r"[-+]?\d+(\.\d*)?")
_FEW = 5  # keys that a message names


def validate(source: Source, definition: str | None) -> None:
    """Check the data of a file against the whole schema, or one of its definitions.

    Raises DesignError for the first thing wrong, in the order of the file.
    """
    errors = list(validator(definition, kinds()).iter_errors(source.data))
    if errors:
        # a misspelt key is at once unknown and missing, a value of the wrong type may break any other rule:
        # only the first is the mistake
        misspelt = {tuple(e.absolute_path) for e in errors if e.validator == "additionalProperties"}
        mistyped = {tuple(e.absolute_path) for e in errors if e.validator == "type"}
        errors = [
            e
            for e in errors
            if (e.validator not in ("required", "oneOf") or tuple(e.absolute_path) not in misspelt)
            and (e.validator == "type" or tuple(e.absolute_path) not in mistyped)
        ]
        raise min((_message(error, source) for error in errors), key=lambda pair: pair[0])[1]


def _message(error: Any, source: Source) -> tuple[tuple[bool, int, int], DesignError]:
    """The message for an error of the validator, with its place as a key to sort by."""
    route = tuple(error.absolute_path)
    place, words = _words(error, route, source)
    return (place.file != source.file, place.line, place.column), mistake(place, *words)


def _around_a_comma(data: Mapping[str, Any], key: str) -> str:
    """What was meant where a comma within { } made a key without a value of what follows it; empty if that is not known."""
    before = list(data.values())[: list(data).index(key)]
    if key[:1].isdigit() and (not before or _NUMBER.fullmatch(str(before[-1]).strip())):  # {width: 80,5 mm}
        return "a point in a number, as in 2.5"
    if before and str(before[-1]).count("(") > str(before[-1]).count(")"):  # {count: max(1, floor(scale))}
        return 'quotes around a value with a comma in it, as in "max(a, b)"'
    if before and isinstance(before[-1], str) and " " in key:  # {note: bent cold, and warmed}
        return 'quotes around a text with a comma in it, as in "cut, glue"'
    return ""


def _words(error: Any, route: Route, source: Source) -> tuple[Where, tuple[Any, ...]]:
    """Place and clauses of the message for an error of the validator."""
    kind, value, data = error.validator, error.validator_value, error.instance
    at = source.where(route)
    if "propertyNames" in error.absolute_schema_path:
        if data in NO_IDS:
            return source.where_key((*route, data)), (f"{data!r} means something in YAML", "another name")
        wrong = f"{data!r} is not an id"
        return source.where_key((*route, data)), (wrong, "small letters, digits and _, a letter first")
    if kind == "additionalProperties":
        known = list(error.schema.get("properties", {}))
        key = next(k for k in data if k not in known)
        unused = [
            k for k, rule in error.schema.get("properties", {}).items() if k not in data and "renamed" not in rule
        ]
        if data[key] is None and (meant := _around_a_comma(data, key)):
            return source.where_key((*route, key)), (f"unknown key {key!r}{_of(route)}", meant)
        return source.where_key((*route, key)), (f"unknown key {key!r}{_of(route)}", "", key, unused)
    if kind == "required":
        missing = next(k for k in value if k not in data)
        known = error.schema.get("properties", {})
        alike = nearest(missing, [key for key in data if key not in known], _MISSPELT)
        if alike is not None:
            return source.where_key((*route, alike)), (f"unknown key {alike!r}{_of(route)}", "", alike, [missing])
        rules = list(applicable(error.schema.get("properties", {}).get(missing, {}), None))
        text = next((rule["description"] for rule in rules if "description" in rule), "").split(". ")[0]
        text = next((one_of(rule["enum"]) for rule in rules if "enum" in rule), text[:1].lower() + text[1:])
        text = text.rstrip(".")
        if route == ("parameters",):
            text = "{value: ...}"
        expected = f"{missing}: {text}" if text not in ("", missing) else missing
        return source.where_key(route), (f"{missing!r} is missing{_of(route)}", expected)
    if kind == "dependentRequired":
        key, needs = next((k, n) for k, n in value.items() if k in data and not set(n) <= data.keys())
        return source.where_key((*route, key)), (f"{key!r} without {needs[0]!r}", "both of them")
    if kind == "oneOf":
        choices = [option["required"][0] for option in value]
        given = [k for k in data if k in choices]
        wrong = f"{' and '.join(given)} together" if given else f"no {' or '.join(choices)}"
        return source.where_key(route), (f"{wrong}{_of(route)}", f"exactly {one_of(choices)}")
    if kind in ("enum", "const"):
        choices = [str(v) for v in (value if kind == "enum" else [value])]
        if data in choices:  # it is text there
            return at, (f"{_shown(data)}{_of(route)}", f"{data} without quotes")
        return at, (f"{_shown(data)}{_of(route)}", one_of(choices), str(data), choices)
    if kind == "type":
        if "enum" in error.schema:
            return at, (f"{_shown(data)}{_of(route)}", one_of(error.schema["enum"]))
        names = [value] if isinstance(value, str) else value
        both = sorted(names) == ["number", "string"]
        expected = "a number, or an expression such as 6 mm * scale" if both else " or ".join(TYPES[n] for n in names)
        example = error.schema.get("examples")
        hint = f' such as "{example[0]}"' if example else _hint(error.schema, names, data)
        return at, (f"{_shown(data)}{_of(route)}", expected + hint)
    if kind == "pattern":
        example = str(error.schema["examples"][0])
        colour = _in_hex(data) if example.startswith("#") else ""
        expected = f'"{colour}", in quotes' if colour else f'text such as "{example}"'
        return at, (f"{_shown(data)}{_of(route)}", expected)
    if kind in ("minItems", "maxItems", "minProperties", "maxProperties", "minLength", "maxLength"):
        what = {"Items": "a list", "Properties": "a mapping", "Length": "text"}[kind[3:]]
        exact = error.schema.get("minItems") == error.schema.get("maxItems")
        few = "exactly" if exact and kind.endswith("Items") else "at least" if kind.startswith("min") else "at most"
        return at, (f"{what} of length {len(data)}{_of(route)}", f"{few} {value}")
    if kind == "uniqueItems":
        twice = next(i for i, item in enumerate(data) if item in data[:i])
        return source.where((*route, twice)), (f"{_shown(data[twice])} stands twice", "each of them once")
    return at, (f"{_shown(data)}{_of(route)}", bounds_broken(error.schema, data))


def _in_hex(word: str) -> str:
    """The colour that a style sheet means by a word (CSS Color Module Level 4), as #rrggbb; "" where it means none."""
    from PIL import ImageColor

    try:
        red, green, blue, *_ = ImageColor.getrgb(word)
    except ValueError:
        return ""
    return f"#{red:02x}{green:02x}{blue:02x}"


def _hint(schema: Mapping[str, Any], names: list[str], data: Any) -> str:
    """How a value that stands alone would be written where a list or a mapping belongs."""
    plain = data is not None and not isinstance(data, Mapping | list | bool) and len(str(data)) <= _SHOWN
    if names == ["array"]:
        few, most = schema.get("minItems", 0), schema.get("maxItems")
        items = schema.get("items", {})
        words = items.get("type") == "string" or items.get("$ref", "").endswith("_id")
        if most is not None and few == most:
            numbers = ", ".join(str(10 * i) for i in range(1, few + 1))
            return f" of {few}" if words or few > _FEW else f" of {few}, as in [{numbers}]"
        bare = str(data).strip("[]")  # one bracket of two is lost
        if bare.lower() in _NOTHING:
            return "" if few else ", [] for an empty one"
        return f" such as [{bare}]" if plain and words and "," not in bare else ""
    if names == ["object"] and isinstance(data, list) and "propertyNames" in schema:
        return ": before each of them its id and a colon, and no -"
    if names == ["object"]:
        required = schema.get("required", [])
        if plain and len(required) == 1:
            return f" such as {{{required[0]}: {data}}}"
        if data is None and not required and not schema.get("minProperties") and not schema.get("oneOf"):
            return ", {} for an empty one"
        keys = required or list(schema.get("properties", {}))
        return f" with {', '.join(keys)}" if 0 < len(keys) <= _FEW else ""
    return ""


def _of(route: Route) -> str:
    """ " in parts.fin.at", or nothing at the top of the file."""
    return f" in {'.'.join(str(step) for step in route)}" if route else ""


def _shown(data: Any) -> str:
    if isinstance(data, Mapping):
        return "a mapping"
    if isinstance(data, list):
        return "a list"
    return (
        "nothing"
        if data is None
        else str(data).lower()
        if isinstance(data, bool)
        else repr(data if not isinstance(data, str) or len(data) <= _SHOWN else f"{data[:_SHOWN]}...")
    )
