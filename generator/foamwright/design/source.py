"""A YAML file as plain data that remembers the line and column of everything in it."""

from __future__ import annotations

import math
import re
from collections.abc import Callable
from dataclasses import dataclass, field
from decimal import Decimal
from typing import Any, ClassVar

import yaml

from foamwright.design.letters import unfit
from foamwright.design.messages import mistake
from foamwright.design.not_yaml import not_yaml
from foamwright.design.records import Where

Route = tuple[str | int, ...]  # keys and list positions that lead from the top of a file to one of its values

LARGEST = 20_000  # values in one file, aliases followed; an alias of an alias of an alias grows fast
DEEPEST = 40  # lists and mappings within each other
LONGEST_NUMBER = 40  # characters
LONGEST_KEY = 100


@dataclass
class Source:
    """The data of a design file and where each value and each key of it stands."""

    file: str
    data: dict[str, Any]
    values: dict[Route, Where] = field(default_factory=dict)
    keys: dict[Route, Where] = field(default_factory=dict)
    inputs: dict[str, bytes] = field(default_factory=dict)  # every file read, by its name from the design's folder

    def where(self, route: Route) -> Where:
        """The value at `route`, or the nearest thing around it that is written in a file."""
        while route and route not in self.values:
            route = route[:-1]
        return self.values[route]

    def where_key(self, route: Route) -> Where:
        """The key at `route`; the value itself for what has no key."""
        return self.keys.get(route) or self.where(route)

    def in_inches(self, route: Route) -> bool:
        """Are bare numbers of length fields at `route` inches? Fragments are in mm."""
        return self.data.get("units") == "in" and self.where(route).file == self.file

    def with_unit(self, raw: float | str, route: Route) -> float | str:
        """A length at `route` with its unit: bare numbers are in the design's `units`, in a fragment mm."""
        if not self.in_inches(route) or not _bare(raw):
            return raw
        if isinstance(raw, str) and _FRACTION.fullmatch(raw):
            return f"{raw.strip()} in"
        # the same digits without an exponent, which no unit can follow; a number too large or small stays as it is
        exact = Decimal(str(raw).strip())
        return f"{exact:f} in" if abs(exact.adjusted()) < LONGEST_NUMBER else raw


_FRACTION = re.compile(r"\s*([0-9]{1,4} )?[0-9]{1,4}/[0-9]{1,4}\s*")


def _bare(raw: float | str) -> bool:
    """A number without a unit, quoted or not, also as the trade writes it: 1/8, 1 1/8."""
    if not isinstance(raw, str) or _FRACTION.fullmatch(raw):
        return True
    try:
        return math.isfinite(float(raw))
    except ValueError:
        return False


try:
    from yaml import CSafeLoader as _AnyLoader
except ImportError:  # PyYAML without its C library
    from yaml import SafeLoader as _AnyLoader


class _Loader(_AnyLoader):
    """Plain scalars by the core schema of YAML 1.2: `no`, `on`, dates and `1:30` stay text."""

    yaml_implicit_resolvers: ClassVar[dict] = {}


for _tag, _pattern, _first in (
    ("bool", r"true|True|TRUE|false|False|FALSE", "tTfF"),
    ("null", r"~|null|Null|NULL|", ["~", "n", "N", ""]),
    ("int", r"[-+]?[0-9]+", "-+0123456789"),
    ("float", r"[-+]?(\.[0-9]+|[0-9]+(\.[0-9]*)?)([eE][-+]?[0-9]+)?", "-+.0123456789"),
):
    _Loader.add_implicit_resolver(f"tag:yaml.org,2002:{_tag}", re.compile(f"^(?:{_pattern})$"), list(_first))

_SCALARS: dict[str, Callable[[str], Any]] = {
    "tag:yaml.org,2002:str": str,
    "tag:yaml.org,2002:int": int,
    "tag:yaml.org,2002:float": float,
    "tag:yaml.org,2002:bool": lambda text: text.lower() == "true",
    "tag:yaml.org,2002:null": lambda text: None,
}
_NUMBERS = ("tag:yaml.org,2002:int", "tag:yaml.org,2002:float")


def parse(file: str, name: str, content: bytes) -> Source:
    """`file` names it in messages, `name` in the digest."""
    try:
        text = content.decode("utf-8-sig")
        _look_through(file, text)
        node = _Loader(text).get_single_node()
    except UnicodeDecodeError as error:
        before = error.object[: error.start].decode()  # `object` begins behind a byte order mark, and so does `start`
        raise mistake(_after(file, before), "not UTF-8 text", "a text file that is saved as UTF-8") from None
    except yaml.MarkedYAMLError as error:
        raise not_yaml(file, text, error) from None
    except yaml.reader.ReaderError as error:
        before = text[: error.position] if isinstance(error.position, int) else ""
        wrong = f"not YAML: the character U+{_code(error.character):04X}"
        raise mistake(_after(file, before), wrong, "text without it") from None
    except yaml.YAMLError as error:
        raise mistake(file, f"not YAML: {error}") from None
    if not isinstance(node, yaml.MappingNode):
        wrong = "a list at the top" if isinstance(node, yaml.SequenceNode) else "no keys at the top"
        expected = "a mapping that starts with format: 1"
        if not isinstance(node, yaml.CollectionNode) and not getattr(node, "value", ""):
            wrong, expected = "it says nothing", f"{expected}; foamwright new writes one to begin from"
        raise mistake(Where(file, 1, 1), wrong, expected)
    source = Source(file, {}, inputs={name: content})
    source.data = _plain(node, (), source, ())
    return source


def _after(file: str, before: str) -> Where:
    """The place behind so much of a file."""
    return Where(file, before.count("\n") + 1, len(before) - before.rfind("\n"))


def _code(character: Any) -> int:
    return character if isinstance(character, int) else ord(str(character)[:1] or "\0")


def _look_through(file: str, text: str) -> None:
    """Refuses what would take long or go deep before anything is made of it: depth, number of values, tags."""
    depth = 0
    for count, event in enumerate(yaml.parse(text, Loader=_Loader)):
        if isinstance(event, yaml.CollectionStartEvent):
            depth += 1
        elif isinstance(event, yaml.CollectionEndEvent):
            depth -= 1
        wrong: tuple[str, ...] = ()
        if depth > DEEPEST:
            wrong = f"more than {DEEPEST} lists and mappings within each other", "fewer"
        elif count > 2 * LARGEST:
            wrong = f"more than {LARGEST} values", "a smaller file"
        elif getattr(event, "tag", None) is not None:
            wrong = f"the tag {event.tag[:40]!r}", "plain values without tags"
        if wrong:
            raise mistake(Where(file, event.start_mark.line + 1, event.start_mark.column + 1), *wrong)


def _place(source: Source, node: yaml.Node) -> Where:
    return Where(source.file, node.start_mark.line + 1, node.start_mark.column + 1)


def _plain(node: yaml.Node, route: Route, source: Source, open_nodes: tuple[int, ...]) -> Any:
    """The value of a node, its places noted on the way."""
    place = _place(source, node)
    if id(node) in open_nodes:
        raise mistake(place, "an anchor that contains itself")
    if len(route) > DEEPEST:
        raise mistake(place, f"more than {DEEPEST} lists and mappings within each other", "aliases that are less deep")
    if len(source.values) > LARGEST:
        raise mistake(place, f"more than {LARGEST} values", "a smaller file, or fewer aliases")
    source.values[route] = place
    inside = (*open_nodes, id(node))
    if isinstance(node, yaml.SequenceNode):
        return [_plain(item, (*route, i), source, inside) for i, item in enumerate(node.value)]
    if isinstance(node, yaml.MappingNode):
        data: dict[str, Any] = {}
        for key_node, value_node in node.value:
            key_place = _place(source, key_node)
            key = key_node.value
            if not isinstance(key, str):
                raise mistake(key_place, "a key that is not a word", "key: value")
            _refuse_unfit(key, key_place)
            if key == "<<":
                raise mistake(key_place, "a merge key (<<)", "every key written out, or an anchor for a whole value")
            if len(key) > LONGEST_KEY:
                raise mistake(key_place, f"a key of {len(key)} letters", f"at most {LONGEST_KEY}")
            if key in data:
                first = source.keys[(*route, key)]
                raise mistake(
                    key_place,
                    f"the key {key!r} stands twice; first in line {first.line}",
                    "one of them, or another name",
                )
            source.keys[(*route, key)] = key_place
            data[key] = _plain(value_node, (*route, key), source, inside)
        return data
    if node.tag not in _SCALARS:
        raise mistake(place, f"the tag {node.tag!r}", "plain values without tags")
    if node.tag in _NUMBERS:
        if len(node.value) > LONGEST_NUMBER:
            raise mistake(place, f"a number of {len(node.value)} digits", f"at most {LONGEST_NUMBER}")
        if not math.isfinite(float(node.value)):
            raise mistake(place, f"{node.value} is too large a number", "one that can be cut from foam")
    _refuse_unfit(node.value, place)
    return _SCALARS[node.tag](node.value)


def _refuse_unfit(text: str, place: Where) -> None:
    wrong = unfit(text)
    if wrong:
        raise mistake(place, f"{wrong} in a text", "letters that can be printed")
