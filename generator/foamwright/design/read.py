"""A design file read with the fragments that it includes, all of them checked against the schema."""

from __future__ import annotations

import posixpath
from pathlib import Path, PurePosixPath

from foamwright.design.messages import mistake
from foamwright.design.records import Where
from foamwright.design.source import Source, parse
from foamwright.design.validate import validate


def read_source(path: str | Path) -> Source:
    """Read a design file with its fragments, both checked against the schema.

    Raises DesignError for a file that cannot be read, is not YAML, or is not a design.
    """
    path = Path(path)
    root = repository(path.parent)
    try:
        content = path.read_bytes()
    except OSError as error:
        raise mistake(path.as_posix(), f"cannot be read: {error.strerror}", "a design file") from None
    source = parse(path.as_posix(), path.name, content)
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
        raise mistake(path.as_posix(), f"cannot be read: {error.strerror}", "a YAML file") from None
    source = parse(path.as_posix(), path.name, content)
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
        raise mistake(where, f"{what} {name!r} lies outside the repository", "a relative path that stays inside it")
    try:
        return path, real.read_bytes()
    except OSError as error:
        near = sorted(p.name for p in real.parent.glob(f"*{real.suffix}")) if real.parent.is_dir() else []
        wrong = f"{what} {name!r} cannot be read: {error.strerror}"
        raise mistake(where, wrong, "a file relative to this one", real.name, near) from None


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
            raise mistake(where, f"fragments include each other: {' -> '.join(files)}")
        inner = _tidy(relative / name)
        fragment = parse(_tidy(PurePosixPath(source.file).parent / name), inner, content)
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
