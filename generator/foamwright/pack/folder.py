"""Folders as wholes: one writer at a time, two of them exchanged in one moment, links to what lies in another."""

from __future__ import annotations

import ctypes
import errno
import os
import shutil
import sys
import time
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from foamwright.errors import BuildError

_PATIENCE, _PAUSE = 60.0, 0.1  # seconds to wait for another writer, who needs a few at most, and between looks
_AT_FDCWD, _RENAME_EXCHANGE = -100, 2  # Linux, include/uapi/linux/fcntl.h and fs.h
_NO_EXCHANGE = (errno.ENOSYS, errno.EINVAL, errno.ENOTSUP)


@contextmanager
def alone_in(folder: Path) -> Iterator[None]:
    """Hold the folder's lock, which leaves no file and ends with the process. BuildError: somebody else keeps it."""
    try:
        import fcntl
    except ImportError:  # a system without such locks
        yield
        return
    handle = os.open(folder, os.O_RDONLY)
    try:
        until = time.monotonic() + _PATIENCE
        while True:
            try:
                fcntl.flock(handle, fcntl.LOCK_EX | fcntl.LOCK_NB)
                break
            except BlockingIOError:
                if time.monotonic() > until:
                    raise BuildError(
                        f"{folder}: another build has been writing there for a minute; try again"
                    ) from None
                time.sleep(_PAUSE)
            except OSError:  # a file system without locks
                break
        yield
    finally:
        os.close(handle)


def refuse_dangling(folder: Path) -> None:
    """BuildError: the folder, or one above it, is a link that leads nowhere. Nothing is made where it points to."""
    for place in (folder, *folder.parents):
        if place.is_symlink() and not place.exists():
            raise BuildError(
                f"{place} is a link to {os.readlink(place)}, which is not there; expected a folder or a free name"
            )


def exchange(new: Path, old: Path, aside: Path) -> None:
    """`new` under the name of `old`; what `old` was lies at `new` or at `aside` afterwards.

    In one moment where the system can; elsewhere by two renames, between which `old` is at `aside`.
    """
    if _exchanged(new, old):
        return
    old.rename(aside)
    try:
        new.rename(old)
    except OSError:
        aside.rename(old)
        raise


def _exchanged(a: Path, b: Path) -> bool:
    """Whether the system has exchanged the two names (renameat2 of Linux since 3.15)."""
    if not sys.platform.startswith("linux"):
        return False
    try:
        rename = ctypes.CDLL(None, use_errno=True).renameat2
    except AttributeError:
        return False
    if rename(_AT_FDCWD, os.fsencode(a), _AT_FDCWD, os.fsencode(b), ctypes.c_uint(_RENAME_EXCHANGE)) == 0:
        return True
    number = ctypes.get_errno()
    if number in _NO_EXCHANGE:
        return False
    raise OSError(number, os.strerror(number), os.fspath(b))


def entries(folder: Path) -> Iterator[Path]:
    """Everything below the folder that is no folder, and folders that are empty. Links are never followed."""
    inside = sorted(os.scandir(folder), key=lambda entry: entry.name)
    for entry in inside:
        path = Path(entry.path)
        if not entry.is_dir(follow_symlinks=False):
            yield path
        elif os.path.ismount(path):
            raise OSError(errno.EBUSY, "another disk is mounted there", os.fspath(path))
        else:
            below = list(entries(path))
            yield from below or [path]


def link(source: Path, target: Path) -> None:
    """The same file or link, or an empty folder, under another name as well; a copy where the disk has no links."""
    target.parent.mkdir(parents=True, exist_ok=True)
    if source.is_symlink():
        target.symlink_to(os.readlink(source))
    elif source.is_dir():
        target.mkdir(exist_ok=True)
    else:
        try:
            os.link(source, target, follow_symlinks=False)
        except OSError as error:
            if error.errno not in (errno.EPERM, errno.ENOTSUP, errno.ENOSYS, errno.EMLINK, errno.EXDEV):
                raise
            shutil.copy2(source, target, follow_symlinks=False)
