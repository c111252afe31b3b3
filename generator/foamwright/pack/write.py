"""Writing a pack to disk: all of it or nothing, and nothing of the maker's is lost.

The new folder is made beside the old one, in a hidden folder with a fixed name, and takes its place in one moment.
Whatever lies in the old folder and is not of the pack (a note, a photograph) is put into the new one before that, under
a second name for the same file. So a build that is killed leaves the old pack or the new one, whole; the next build
into that folder clears away what lies beside it.
"""

from __future__ import annotations

import json
import os
import shutil
import tempfile
from collections.abc import Iterable, Iterator, Mapping
from contextlib import contextmanager, suppress
from pathlib import Path, PurePosixPath

from foamwright.errors import BuildError
from foamwright.pack.files import RECORD
from foamwright.pack.folder import alone_in, entries, exchange, link, refuse_dangling

FIRST_LOOK = frozenset({"look.svg", "look.png", "look.glb"})  # a folder with nothing else takes a pack beside them


def write_pack(folder: str | Path, files: Mapping[str, bytes]) -> tuple[str, ...]:
    """Write `files` (path in the pack -> bytes) into `folder`, in place of the pack that stands there.

    Returns what else lies in the folder and was left as it was, by its path in the folder; a first look is not told.
    BuildError: the folder holds no pack but other files, or a file of the maker's where the pack needs the name;
    another build writes there; a link leads nowhere; the disk refuses.
    """
    try:
        target = Path(folder).absolute()  # fails where the folder that we are in is gone
        refuse_dangling(target)
        if target.is_symlink():
            target = target.resolve()
        beside = target.parent / f".{target.name}.foamwright"
        with _folder_for(target), alone_in(target.parent):
            _recover(target, beside)
            foreign = _foreign(target)
            _refuse_collisions(target, foreign, files)
            try:
                _stage(beside / "new", files, target, foreign)
                if target.exists():
                    shutil.copymode(target, beside / "new")
                    exchange(beside / "new", target, beside / "old")
                else:
                    (beside / "new").rename(target)
            finally:
                _recover(target, beside)
        return tuple(path for path in foreign if path not in FIRST_LOOK)
    except OSError as error:
        place = f"{error.filename}: " if error.filename and os.fspath(error.filename) != str(folder) else ""
        raise BuildError(f"cannot write the pack to {folder}: {place}{error.strerror or error}") from error


def refuse_occupied(folder: str | Path) -> None:
    """What `write_pack` would say of what lies in the folder now, before anything is worked out for it.

    BuildError: it is a file, or holds no pack but other files.
    """
    with suppress(OSError):  # what cannot be looked into is told where it is written
        _foreign(Path(folder).absolute().resolve())


def write_files(files: Mapping[str, bytes], folder: Path) -> None:
    """Each of `files` (name -> bytes) into `folder`, whole or not at all, and nothing else there is touched. None of them
    takes its name before there was room for all.

    BuildError: the folder cannot be written.
    """
    place = folder
    parts: dict[str, Path] = {}
    refuse_dangling(folder)
    try:
        folder.mkdir(parents=True, exist_ok=True)
        try:
            for name, content in files.items():
                place = folder / name
                with tempfile.NamedTemporaryFile(dir=folder, prefix=f".{name}.", delete=False) as part:
                    parts[name] = Path(part.name)
                    part.write(content)
                os.chmod(part.name, 0o644)
            for name in files:
                place = folder / name
                parts[name].replace(place)
                del parts[name]
        finally:
            for left in parts.values():
                left.unlink()
    except OSError as error:
        raise BuildError(f"{place}: cannot be written: {error.strerror or error}") from error


@contextmanager
def _folder_for(target: Path) -> Iterator[None]:
    """The folders above `target` are there; those made for it go again if nothing came into them."""
    made = [folder for folder in target.parents if not folder.exists()]
    target.parent.mkdir(parents=True, exist_ok=True)
    try:
        yield
    except BaseException:
        with suppress(OSError):
            for folder in made:
                folder.rmdir()
        raise


def _foreign(target: Path) -> list[str]:
    """What lies in the folder and does not belong to the pack there. BuildError: it is no place for a pack."""
    if not target.exists():
        return []
    if not target.is_dir():
        raise BuildError(f"{target} is a file; a pack needs a folder of its own")
    if not any(os.scandir(target)):
        return []
    own = _listed(target / RECORD)
    if own is None:
        there = _beside(frozenset(), target)
        if set(there) <= FIRST_LOOK:
            return there
        one = min(path for path in there if path not in FIRST_LOOK)
        raise BuildError(f"{target} holds other files, as {one}, and no pack; choose a new or empty folder")
    return _beside(own, target)


def _beside(own: frozenset[str], folder: Path) -> list[str]:
    """Paths in the folder that are not among its `own`."""
    return [path for path in (entry.relative_to(folder).as_posix() for entry in entries(folder)) if path not in own]


def _listed(record: Path) -> frozenset[str] | None:
    """Paths of the files of a pack by its record; None for a file that is none."""
    if record.is_symlink() or not record.is_file():
        return None
    try:
        content = json.loads(record.read_bytes())
        if content["format"] != 1 or not content["design"]:
            return None
        return frozenset({RECORD, content.get("archive", RECORD), *(entry["path"] for entry in content["files"])})
    except (ValueError, TypeError, KeyError, AttributeError, RecursionError):
        return None


def _refuse_collisions(target: Path, foreign: Iterable[str], files: Iterable[str]) -> None:
    """The maker's own files keep their names, so the pack may need none of them."""
    wanted = set(files)
    folders = {str(parent) for path in files for parent in PurePosixPath(path).parents}
    for path in foreign:
        above = [str(parent) for parent in PurePosixPath(path).parents]
        is_empty_folder = (target / path).is_dir() and not (target / path).is_symlink()
        if path in wanted or (path in folders and not is_empty_folder) or wanted.intersection(above):
            raise BuildError(f"{target / path} is not of the pack that stands there, and the new one needs its name")


def _stage(new: Path, files: Mapping[str, bytes], old: Path, foreign: Iterable[str]) -> None:
    """The whole new folder; its record comes last, so that one with a record is complete."""
    new.mkdir(parents=True)
    for path in sorted(files.keys() - {RECORD}):
        _write(new, path, files[path])
    _carry(old, new, foreign)
    if RECORD in files:
        _write(new, RECORD, files[RECORD])


def _write(folder: Path, path: str, content: bytes) -> None:
    parts = PurePosixPath(path).parts
    if not parts or parts[0] == "/" or ".." in parts:
        raise ValueError(f"not a path inside a pack: {path!r}")
    file = folder.joinpath(*parts)
    file.parent.mkdir(parents=True, exist_ok=True)
    file.write_bytes(content)


def _carry(source: Path, target: Path, paths: Iterable[str]) -> None:
    """Give `target` what lies in `source` at these paths, where it has nothing of that name."""
    for path in paths:
        if not os.path.lexists(target / path):
            link(source / path, target / path)


def _recover(target: Path, beside: Path) -> None:
    """Bring back what a build that ended early has set aside, and clear away what it left."""
    if beside.is_symlink() or not beside.is_dir():
        return
    if not target.exists() and (beside / "old").exists():
        (beside / "old").rename(target)
    for left in (beside / "old", beside / "new"):
        own = _listed(left / RECORD)
        if own is not None and target.is_dir():
            # what came into the old folder while the new one was made; all else is there already
            _carry(left, target, _beside(own, left))
    shutil.rmtree(beside)
