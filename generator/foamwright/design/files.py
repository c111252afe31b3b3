"""Bytes of files that anybody may have written: regular files only, and no more than is sensible."""

from __future__ import annotations

import os
import stat
from pathlib import Path

MOST_YAML = 1_000_000  # bytes of one YAML file
MOST_INPUT = 50_000_000  # bytes of one file that a design names: a mesh of a million triangles
MOST_TOGETHER = 100_000_000  # bytes of all of them
MOST_FRAGMENTS = 100
DEEPEST = 16  # fragments that include each other in a chain
_POINTER = b"version https://git-lfs.github.com/spec/"  # how such a file begins (specification of Git LFS)


class UnreadableError(ValueError):
    """Why the bytes of a file cannot be had, in a few words."""


def regular_bytes(path: str | Path, most: int) -> bytes:
    """The bytes of a regular file of at most `most` bytes. Raises UnreadableError for any other; never waits."""
    try:
        number = os.open(path, os.O_RDONLY | os.O_CLOEXEC | getattr(os, "O_NONBLOCK", 0) | getattr(os, "O_NOCTTY", 0))
        with os.fdopen(number, "rb") as file:
            status = os.fstat(file.fileno())
            if not stat.S_ISREG(status.st_mode):
                raise UnreadableError("it is no regular file")
            if status.st_size > most:
                raise UnreadableError(
                    f"{status.st_size / 1e6:.1f} MB, more than the {most / 1e6:g} MB that are allowed"
                )
            content = file.read(most + 1)
    except OSError as error:
        raise UnreadableError(error.strerror or "it cannot be opened") from None
    except ValueError as error:  # a name with NUL in it
        raise error if isinstance(error, UnreadableError) else UnreadableError("no name of a file") from None
    if len(content) > most:  # files of /proc say that they are empty
        raise UnreadableError(f"more than the {most / 1e6:g} MB that are allowed")
    if content.startswith(_POINTER):
        raise UnreadableError("Git LFS has left a pointer in its place, `git lfs pull` fetches it")
    return content


def resolved(path: Path) -> Path:
    """Where a path leads in the end. Raises UnreadableError for a loop of links or no name of a file."""
    try:
        return path.resolve()
    except (OSError, RuntimeError, ValueError):
        raise UnreadableError("a loop of links, or no name of a file") from None
