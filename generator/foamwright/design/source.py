"""A design file as plain data that remembers the line and column of everything in it, fragments merged in."""

from __future__ import annotations

import posixpath
import re
from dataclasses import dataclass, field
from decimal import Decimal
from pathlib import Path, PurePosixPath
from typing import Any, ClassVar

import yaml

from foamwright.design.messages import complaint
from foamwright.design.records import Where
from foamwright.design.schema import validate

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


class _Loader(getattr(yaml, "CSafeLoader", yaml.SafeLoader)):
    """Plain scalars by the core schema of YAML 1.2: `no`, `on`, dates and `1:30` stay text."""

    yaml_implicit_resolvers: ClassVar[dict] = {}


for _tag, _pattern, _first in (
    ("bool", r"true|True|TRUE|false|False|FALSE", "tTfF"),
    ("null", r"~|null|Null|NULL|", ["~", "n", "N", ""]),
    ("int", r"[-+]?[0-9]+", "-+0123456789"),
    ("float", r"[-+]?(\.[0-9]+|[0-9]+(\.[0-9]*)?)([eE][-+]?[0-9]+)?", "-+.0123456789"),
):
    _Loader.add_implicit_resolver(f"tag:yaml.org,2002:{_tag}", re.compile(f"^(?:{_pattern})$"), list(_first))

_SCALARS = {
    "tag:yaml.org,2002:str": str,
    "tag:yaml.org,2002:int": int,
    "tag:yaml.org,2002:float": float,
    "tag:yaml.org,2002:bool": lambda text: text.lower() == "true",
    "tag:yaml.org,2002:null": lambda text: None,
}


def read_source(path: str | Path) -> Source:
    """Read a design file with its fragments, both checked against the schema.

    Raises DesignError for a file that cannot be read, is not YAML, or is not a design.
    """
    path = Path(path)
    root = repository(path.parent)
    try:
        content = path.read_bytes()
    except OSError as error:
        raise complaint(path.as_posix(), f"cannot be read: {error.strerror}", "a design file") from None
    source = _parse(path.as_posix(), path.name, content)
    for fragment in _fragments(source, path.parent, PurePosixPath(), root, (path.resolve(),)):
        _merge(source, fragment)
    validate(source, None)
    return source


def read_file(path: str | Path, definition: str) -> Source:
    """Read a YAML file by itself, checked against one definition of the schema.

    Raises DesignError for a file that cannot be read, is not YAML, or is not what the definition says.
    """
    path = Path(path)
    try:
        content = path.read_bytes()
    except OSError as error:
        raise complaint(path.as_posix(), f"cannot be read: {error.strerror}", "a YAML file") from None
    source = _parse(path.as_posix(), path.name, content)
    validate(source, definition)
    return source


def repository(folder: Path) -> Path:
    """Where files named in a design must lie: the nearest folder up that holds `.git`, else its own."""
    folder = folder.resolve()
    return next((f for f in (folder, *folder.parents) if (f / ".git").exists()), folder)


def read_input(folder: Path, name: str, root: Path, where: Where, what: str) -> tuple[Path, bytes]:
    """Place and bytes of a file named in a design, relative to `folder`; it must lie inside `root`."""
    path = folder / name
    real = path.resolve()
    if PurePosixPath(name).is_absolute() or not real.is_relative_to(root):
        raise complaint(where, f"{what} {name!r} lies outside the repository", "a relative path that stays inside it")
    try:
        return path, real.read_bytes()
    except OSError as error:
        near = sorted(p.name for p in real.parent.glob(f"*{real.suffix}")) if real.parent.is_dir() else []
        wrong = f"{what} {name!r} cannot be read: {error.strerror}"
        raise complaint(where, wrong, "a file relative to this one", real.name, near) from None


def _fragments(source: Source, folder: Path, relative: PurePosixPath, root: Path, chain: tuple[Path, ...]):
    """The fragments that `source` includes, first to win first, each followed by those it includes itself."""
    names = source.data.get("include", ())
    if not isinstance(names, list):
        return
    for index, name in reversed(list(enumerate(names))):
        if not isinstance(name, str):
            continue
        where = source.where(("include", index))
        path, content = read_input(folder, name, root, where, "fragment")
        if path.resolve() in chain:
            files = [p.name for p in (*chain[chain.index(path.resolve()) :], path)]
            raise complaint(where, f"fragments include each other: {' -> '.join(files)}")
        inner = _tidy(relative / name)
        fragment = _parse(_tidy(PurePosixPath(source.file).parent / name), inner, content)
        validate(fragment, "fragment")
        yield fragment
        inside = PurePosixPath(inner).parent
        yield from _fragments(fragment, path.parent, inside, root, (*chain, path.resolve()))


def _tidy(path: PurePosixPath) -> str:
    """The path without `..` in its middle."""
    return posixpath.normpath(path.as_posix())


def _merge(source: Source, fragment: Source) -> None:
    """Add what `fragment` has and `source` has not."""
    source.inputs.update(fragment.inputs)
    for section in ("parameters", "stock"):
        mine = source.data.setdefault(section, {})
        if not isinstance(mine, dict):
            continue  # the schema says so in a moment
        for name, value in fragment.data.get(section, {}).items():
            if name not in mine:
                mine[name] = value
                route = (section, name)
                source.values |= {r: w for r, w in fragment.values.items() if r[:2] == route}
                source.keys |= {r: w for r, w in fragment.keys.items() if r[:2] == route}


def _parse(file: str, name: str, content: bytes) -> Source:
    """`file` names it in messages, `name` in the digest."""
    try:
        loader = _Loader(content.decode("utf-8-sig"))
        node = loader.get_single_node()
    except UnicodeDecodeError as error:
        raise complaint(file, f"byte {error.start} is not UTF-8 text", "a text file") from None
    except yaml.MarkedYAMLError as error:
        mark = error.problem_mark or error.context_mark
        place = Where(file, mark.line + 1, mark.column + 1) if mark else file
        raise complaint(place, f"not YAML: {error.problem or error.context}") from None
    except yaml.YAMLError as error:
        raise complaint(file, f"not YAML: {error}") from None
    if not isinstance(node, yaml.MappingNode):
        raise complaint(Where(file, 1, 1), "no keys at the top", "a mapping that starts with format: 1")
    source = Source(file, {}, inputs={name: content})
    source.data = _plain(node, (), source, ())
    return source


def _place(source: Source, node: yaml.Node) -> Where:
    return Where(source.file, node.start_mark.line + 1, node.start_mark.column + 1)


def _plain(node: yaml.Node, route: Route, source: Source, open_nodes: tuple[int, ...]) -> Any:
    """The value of a node, its places noted on the way."""
    place = _place(source, node)
    if id(node) in open_nodes:
        raise complaint(place, "an anchor that contains itself")
    if len(source.values) > LARGEST:
        raise complaint(place, f"more than {LARGEST} values", "a smaller file, or fewer aliases")
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
                raise complaint(key_place, "a key that is not a word", "key: value")
            if key in data:
                first = source.keys[(*route, key)]
                raise complaint(key_place, f"the key {key!r} stands twice; first in line {first.line}")
            source.keys[(*route, key)] = key_place
            data[key] = _plain(value_node, (*route, key), source, inside)
        return data
    if node.tag not in _SCALARS:
        raise complaint(place, f"the tag {node.tag!r}", "plain values without tags")
    return _SCALARS[node.tag](node.value)
