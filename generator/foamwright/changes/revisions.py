"""A design as it stood in a git revision: its whole repository at that revision, unpacked into a folder of its own.

A repository may come from anybody, and git runs what its settings name: filters, archivers, transports. So its files are
asked for as git keeps them (`ls-tree`, `cat-file`), which runs none of these, nothing is fetched, and a folder of the
repository that looks like a repository itself is not taken for one.
"""

from __future__ import annotations

import os
import subprocess
import tempfile
import threading
from collections.abc import Iterator
from contextlib import contextmanager
from io import BytesIO
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import IO, NamedTuple

from foamwright.design.files import UnreadableError, resolved
from foamwright.errors import DesignError

_MOST_SECONDS = 120
_MOST_BYTES = 2_000_000_000  # of all files of a revision: git packs a file of nothing but zeros into almost nothing
_MOST_LISTED = (
    20_000_000  # bytes of the list of files, some 200,000; a few folders within each other can stand for billions
)
_AT_ONCE = 1 << 20
_GUARD = ("-c", "safe.bareRepository=explicit", "--no-optional-locks", "--no-replace-objects")
_SURROUNDINGS = {"GIT_ALLOW_PROTOCOL": "none", "GIT_NO_LAZY_FETCH": "1", "GIT_TERMINAL_PROMPT": "0"}


class _File(NamedTuple):
    path: str  # from the top of the repository, with slashes
    object: str  # its name in git
    size: int


def is_revision(name: str) -> bool:
    """Whether a name is written as git names a file in a revision, REVISION:PATH, and is no file itself."""
    revision, colon, path = name.partition(":")
    return bool(colon and revision and path) and not os.path.exists(name)


@contextmanager
def checked_out(name: str) -> Iterator[Path]:
    """The design file that REVISION:PATH names, until the block ends. PATH counts from the current folder.

    Files are as git keeps them: a link is a file that holds its target, and what Git LFS keeps elsewhere is not there.
    DesignError, one line: git or the revision is not there, or holds no such file, or more than a disk should.
    """
    revision, _, path = name.partition(":")
    if revision.startswith("-"):
        raise DesignError(f"{name}: a revision does not begin with a dash")
    wanted = Path(path).absolute()
    top = Path(_line(name, wanted.parent if wanted.parent.is_dir() else Path.cwd(), "rev-parse", "--show-toplevel"))
    commit = _line(name, top, "rev-parse", "--verify", "--quiet", f"{revision}^{{commit}}")
    try:
        inside = wanted.resolve().relative_to(top.resolve())
    except ValueError:
        raise DesignError(f"{name}: {wanted} lies outside the repository {top}") from None
    with TemporaryDirectory(prefix="foamwright-") as place:
        folder = Path(place).resolve()
        try:
            (folder / ".git").mkdir()  # files that the design names may lie anywhere below
            _unpack(name, top, commit, folder)
        except OSError as error:
            raise DesignError(f"{name}: the revision cannot be unpacked: {error.strerror or error}") from error
        file = folder / inside
        if not file.is_file():
            raise DesignError(f"{name}: revision {revision} has no file {inside.as_posix()}")
        yield file


def _unpack(name: str, top: Path, commit: str, folder: Path) -> None:
    """Write all files of a commit into a folder that is there, and nothing outside it."""
    files = _listed(name, top, commit)
    if sum(one.size for one in files) > _MOST_BYTES:
        raise DesignError(f"{name}: the revision holds more than {_MOST_BYTES / 1e9:g} GB of files")
    with tempfile.TemporaryFile() as asked, tempfile.TemporaryFile() as told:
        asked.write("".join(f"{one.object}\n" for one in files).encode())
        asked.seek(0)
        most = sum(one.size + 100 for one in files)  # each has a line before it
        _ask(name, top, ["cat-file", "--batch", "--buffer"], told, most, asked)
        told.seek(0)
        for one in files:
            if told.readline() != f"{one.object} blob {one.size}\n".encode():
                raise DesignError(f"{name}: git does not have {one.path!r} of the revision")
            path = _within(name, folder, one.path)
            path.parent.mkdir(parents=True, exist_ok=True)
            with path.open("xb") as file:
                for at in range(0, one.size, _AT_ONCE):
                    file.write(told.read(min(_AT_ONCE, one.size - at)))
            told.read(1)


def _listed(name: str, top: Path, commit: str) -> list[_File]:
    """All files of a commit. Repositories within it, of which it holds the name of a commit only, are left out."""
    told = BytesIO()
    _ask(name, top, ["ls-tree", "-r", "-z", "--long", "--full-tree", commit], told, _MOST_LISTED)
    files = []
    for line in told.getvalue().split(b"\0")[:-1]:
        entry, _, path = line.partition(b"\t")
        _, sort, object_, size = entry.decode().split()
        if sort == "blob" and not size.isdigit():  # BAD: a clone without all of its files
            raise DesignError(f"{name}: git does not have {os.fsdecode(path)!r} of the revision")
        if sort == "blob":
            files.append(_File(os.fsdecode(path), object_, int(size)))
    return files


def _within(name: str, folder: Path, path: str) -> Path:
    """Where a file of the revision is written. DesignError for a name that leads out of the folder: git can hold such."""
    try:
        place = resolved(folder / path)
        if place.is_relative_to(folder):
            return place
    except UnreadableError:
        pass
    raise DesignError(f"{name}: the revision holds {path!r}, which is no name of a file in a repository")


def _line(name: str, folder: Path, *arguments: str) -> str:
    told = BytesIO()
    _ask(name, folder, arguments, told, 100_000)
    return os.fsdecode(told.getvalue()).strip()


def _ask(name: str, folder: Path, arguments: list[str] | tuple[str, ...], told: IO[bytes], most: int,
         asked: IO[bytes] | int = subprocess.DEVNULL) -> None:  # fmt: skip
    """Have git write what it says into `told`, at most so many bytes. DesignError if it fails, says more or takes long."""
    with tempfile.TemporaryFile() as errors:
        try:
            process = subprocess.Popen(
                ["git", *_GUARD, *arguments], cwd=folder, stdin=asked, stdout=subprocess.PIPE, stderr=errors,
                env={**os.environ, **_SURROUNDINGS},
            )  # fmt: skip
        except FileNotFoundError:
            raise DesignError(f"{name}: git is not installed") from None
        late = threading.Event()

        def stop() -> None:
            late.set()
            process.kill()

        clock = threading.Timer(_MOST_SECONDS, stop)
        clock.start()
        assert process.stdout is not None
        size = 0
        try:
            while size <= most and (content := process.stdout.read(_AT_ONCE)):
                size += len(content)
                told.write(content)
            if size > most:
                raise DesignError(f"{name}: the revision holds more files than a repository of designs has")
        except BaseException:
            process.kill()
            raise
        finally:
            clock.cancel()
            process.stdout.close()
            process.wait()
        if late.is_set():
            raise DesignError(f"{name}: git did not answer in {_MOST_SECONDS} s")
        if process.returncode:
            errors.seek(0)
            words = " ".join(errors.read(2000).decode("utf-8", "replace").split())
            raise DesignError(f"{name}: git knows no such revision or file{': ' + words if words else ''}")
