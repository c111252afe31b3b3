"""A YAML file as plain data that remembers the line and column of everything in it."""

from __future__ import annotations

import re
from collections.abc import Callable
from dataclasses import dataclass, field
from decimal import Decimal
from typing import Any, ClassVar

import yaml

from foamwright.design.messages import mistake
from foamwright.design.records import Where

Route = tuple[str | int, ...]  # keys and list positions that lead from the top of a file to one of its values

LARGEST = 100_000  # values in one file, aliases followed; an alias of an alias of an alias grows fast


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

    def with_unit(self, raw: float | str, route: Route) -> float | str:
        """A length at `route` with its unit: bare numbers are in the design's `units`, in a fragment mm."""
        if self.data.get("units") != "in" or self.where(route).file != self.file or not _bare(raw):
            return raw
        return f"{Decimal(str(raw)):f} in"


def _bare(raw: float | str) -> bool:
    """A number without a unit, quoted or not."""
    if not isinstance(raw, str):
        return True
    try:
        float(raw)
    except ValueError:
        return False
    return True


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


def parse(file: str, name: str, content: bytes) -> Source:
    """`file` names it in messages, `name` in the digest."""
    try:
        loader = _Loader(content.decode("utf-8-sig"))
        node = loader.get_single_node()
    except UnicodeDecodeError as error:
        raise mistake(file, f"byte {error.start} is not UTF-8 text", "a text file") from None
    except yaml.MarkedYAMLError as error:
        mark = error.problem_mark or error.context_mark
        place = Where(file, mark.line + 1, mark.column + 1) if mark else file
        raise mistake(place, f"not YAML: {error.problem or error.context}") from None
    except yaml.YAMLError as error:
        raise mistake(file, f"not YAML: {error}") from None
    if not isinstance(node, yaml.MappingNode):
        raise mistake(Where(file, 1, 1), "no keys at the top", "a mapping that starts with format: 1")
    source = Source(file, {}, inputs={name: content})
    source.data = _plain(node, (), source, ())
    return source


def _place(source: Source, node: yaml.Node) -> Where:
    return Where(source.file, node.start_mark.line + 1, node.start_mark.column + 1)


def _plain(node: yaml.Node, route: Route, source: Source, open_nodes: tuple[int, ...]) -> Any:
    """The value of a node, its places noted on the way."""
    place = _place(source, node)
    if id(node) in open_nodes:
        raise mistake(place, "an anchor that contains itself")
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
            if key in data:
                first = source.keys[(*route, key)]
                raise mistake(key_place, f"the key {key!r} stands twice; first in line {first.line}")
            source.keys[(*route, key)] = key_place
            data[key] = _plain(value_node, (*route, key), source, inside)
        return data
    if node.tag not in _SCALARS:
        raise mistake(place, f"the tag {node.tag!r}", "plain values without tags")
    return _SCALARS[node.tag](node.value)
