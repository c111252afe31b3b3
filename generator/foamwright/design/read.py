"""A design file read with the fragments that it includes, all of them checked against the schema."""

from __future__ import annotations

import os
import posixpath
from pathlib import Path, PurePosixPath

from foamwright.design.files import (
    DEEPEST,
    MOST_FRAGMENTS,
    MOST_INPUT,
    MOST_YAML,
    UnreadableError,
    regular_bytes,
    resolved,
)
from foamwright.design.messages import mistake
from foamwright.design.records import Where
from foamwright.design.source import Source, parse
from foamwright.design.validate import validate


def read_source(path: str | Path) -> Source:
    """Read a design file with its fragments, both checked against the schema.

    Raises DesignError for a file that cannot be read, is not YAML, or is not a design.
    """
    path = Path(path)
    source = _parsed(path, "a design file")
    root = repository(path.parent)
    for fragment in _fragments(source, path.parent, root):
        _merge(source, fragment)
    validate(source, None)
    return source


def read_file(path: str | Path, definition: str) -> Source:
    """Read a YAML file by itself, checked against one definition of the schema.

    Raises DesignError for a file that cannot be read, is not YAML, or is not what the definition says.
    """
    source = _parsed(Path(path), "a YAML file")
    validate(source, definition)
    return source


def _parsed(path: Path, what: str) -> Source:
    try:
        if path.is_symlink() and (lies := _lies(resolved(path), repository(path.parent))):
            raise mistake(path.as_posix(), f"is a link to what lies {lies}", f"{what} of the repository itself")
        content = regular_bytes(path, MOST_YAML)
    except UnreadableError as error:
        raise mistake(path.as_posix(), f"cannot be read: {error}", what, path.name, _like(path)) from None
    return parse(path.as_posix(), path.name, content)


def repository(folder: Path) -> Path:
    """Where files named in a design must lie: the nearest folder up that holds `.git`, else its own."""
    folder = folder.resolve()
    return next((f for f in (folder, *folder.parents) if (f / ".git").exists()), folder)


def _lies(real: Path, root: Path) -> str:
    """Where a file lies that is not one of the repository `root`, "" for one that is. What git keeps for itself is not."""
    if not real.is_relative_to(root):
        return "outside the repository"
    return "in .git" if ".git" in (part.lower() for part in real.relative_to(root).parts) else ""


def read_input(
    folder: Path, name: str, root: Path, where: Where, what: str, most: int = MOST_INPUT
) -> tuple[Path, bytes]:
    """Place and bytes of a file named in a design, relative to `folder`; it must lie inside `root`.

    Links are followed to where they lead.
    """
    path = folder / name
    try:
        real = resolved(path)
    except UnreadableError as error:
        raise mistake(where, f"{what} {name!r} cannot be read: {error}", "a file relative to this one") from None
    lies = "outside the repository" if PurePosixPath(name).is_absolute() else _lies(real, root)
    if lies:
        raise mistake(where, f"{what} {name!r} lies {lies}", "a relative path to a file of the repository itself")
    try:
        return path, regular_bytes(real, most)
    except UnreadableError as error:
        wrong = f"{what} {name!r} cannot be read: {error}"
        raise mistake(where, wrong, "a file relative to this one", real.name, _like(real)) from None


def _like(path: Path) -> list[str]:
    """Names of the files beside `path` that end as it does, or as designs do; none if there is something of its name."""
    endings = (path.suffix, ".yaml")
    try:
        beside = sorted(other.name for other in path.parent.iterdir() if other.suffix in endings)
        return [] if os.path.lexists(path) else beside
    except (OSError, ValueError):
        return []


def _fragments(source: Source, folder: Path, root: Path) -> list[Source]:
    """The fragments that `source` includes, first to win first, each followed by those it includes itself.

    A fragment that is named again gives nothing new and is passed over. Takes time in proportion to the files.
    """
    fragments: dict[Path, Source] = {}
    open_: list[tuple[Source, Path, PurePosixPath, tuple[Path, ...], int]] = []

    def enter(one: Source, folder: Path, relative: PurePosixPath, chain: tuple[Path, ...]) -> None:
        names = one.data.get("include", ())
        if isinstance(names, list):
            open_.extend(
                (one, folder, relative, chain, index) for index, name in enumerate(names) if isinstance(name, str)
            )  # the last one is taken first

    enter(source, folder, PurePosixPath(), (Path(source.file).resolve(),))
    while open_:
        one, folder, relative, chain, index = open_.pop()
        name, where = one.data["include"][index], one.where(("include", index))
        path, content = read_input(folder, name, root, where, "fragment", MOST_YAML)
        real = path.resolve()
        if real in chain:
            files = [p.name for p in (*chain[chain.index(real) :], path)]
            raise mistake(where, f"fragments include each other: {' -> '.join(files)}")
        if real in fragments:
            continue
        if len(fragments) >= MOST_FRAGMENTS or len(chain) > DEEPEST:
            wrong = f"more than {MOST_FRAGMENTS} fragments, or {DEEPEST} in a chain"
            raise mistake(where, wrong, "fewer")
        inner = _tidy(relative / name)
        fragment = parse(_tidy(PurePosixPath(one.file).parent / name), inner, content)
        validate(fragment, "fragment")
        fragments[real] = fragment
        enter(fragment, path.parent, PurePosixPath(inner).parent, (*chain, real))
    return list(fragments.values())


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
