"""A design as it stood in a git revision: its whole repository at that revision, unpacked into a folder of its own."""

from __future__ import annotations

import io
import subprocess
import zipfile
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from tempfile import TemporaryDirectory

from foamwright.errors import DesignError

_MOST_SECONDS = 120
_MOST_BYTES = 2_000_000_000  # of all files of a revision: git packs a file of nothing but zeros into almost nothing


def is_revision(name: str) -> bool:
    """Whether a name is written as git names a file in a revision, REVISION:PATH, and is no file itself."""
    revision, colon, path = name.partition(":")
    return bool(colon and revision and path) and not Path(name).exists()


@contextmanager
def checked_out(name: str) -> Iterator[Path]:
    """The design file that REVISION:PATH names, until the block ends. PATH counts from the current folder.

    DesignError, one line: git or the revision is not there, or holds no such file.
    """
    revision, _, path = name.partition(":")
    if revision.startswith("-"):
        raise DesignError(f"{name}: a revision does not begin with a dash")
    wanted = Path(path).absolute()
    top = Path(_git(name, wanted.parent if wanted.parent.is_dir() else Path.cwd(), "rev-parse", "--show-toplevel"))
    commit = _git(name, top, "rev-parse", "--verify", "--quiet", f"{revision}^{{commit}}")
    try:
        inside = wanted.resolve().relative_to(top.resolve())
    except ValueError:
        raise DesignError(f"{name}: {wanted} lies outside the repository {top}") from None
    with TemporaryDirectory(prefix="foamwright-") as folder:
        # unpacking a zip writes plain files only, none outside the folder; a link becomes a file that holds its target
        content = _run(name, top, "archive", "--format=zip", commit)
        try:
            with zipfile.ZipFile(io.BytesIO(content)) as archive:
                if sum(one.file_size for one in archive.infolist()) > _MOST_BYTES:
                    raise DesignError(f"{name}: the revision holds more than {_MOST_BYTES / 1e9:g} GB of files")
                archive.extractall(folder)
        except (OSError, zipfile.BadZipFile) as error:
            raise DesignError(f"{name}: the revision cannot be unpacked: {error}") from error
        file = Path(folder) / inside
        if not file.is_file():
            raise DesignError(f"{name}: revision {revision} has no file {inside.as_posix()}")
        yield file


def _git(name: str, folder: Path, *arguments: str) -> str:
    return _run(name, folder, *arguments).decode("utf-8", "surrogateescape").strip()


def _run(name: str, folder: Path, *arguments: str) -> bytes:
    try:
        done = subprocess.run(
            ["git", *arguments], cwd=folder, capture_output=True, timeout=_MOST_SECONDS, stdin=subprocess.DEVNULL
        )
    except FileNotFoundError:
        raise DesignError(f"{name}: git is not installed") from None
    except subprocess.TimeoutExpired:
        raise DesignError(f"{name}: git did not answer in {_MOST_SECONDS} s") from None
    if done.returncode:
        words = " ".join(done.stderr.decode("utf-8", "replace").split())
        raise DesignError(f"{name}: git knows no such revision or file{': ' + words if words else ''}")
    return done.stdout
