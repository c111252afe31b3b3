"""Writing a pack to disk: all of it or nothing."""

from __future__ import annotations

import tempfile
from collections.abc import Mapping
from pathlib import Path, PurePosixPath

from foamwright.errors import BuildError
from foamwright.pack.files import RECORD


def write_pack(folder: str | Path, files: Mapping[str, bytes]) -> None:
    """Write `files` (path in the pack -> bytes) as `folder`, in place of the pack that stands there.

    Everything is written beside it first; the old pack goes only when the new one is complete.
    BuildError: the folder holds something that is no pack, or the disk refuses.
    """
    target = Path(folder).absolute()
    if target.is_symlink():
        target = target.resolve()
    _refuse_foreign(target)
    try:
        target.parent.mkdir(parents=True, exist_ok=True)
        with tempfile.TemporaryDirectory(prefix=f".{target.name}-", dir=target.parent) as beside:
            new = Path(beside, "new")
            _write_all(new, files)
            _swap(new, target, Path(beside, "old"))
    except OSError as error:
        raise BuildError(f"cannot write the pack to {folder}: {error.strerror or error}") from error


def _refuse_foreign(target: Path) -> None:
    if not target.exists():
        return
    if not target.is_dir():
        raise BuildError(f"{target} is a file; a pack needs a folder of its own")
    if any(target.iterdir()) and not (target / RECORD).is_file():
        raise BuildError(f"{target} holds other files and no pack; choose a new or empty folder")


def _write_all(new: Path, files: Mapping[str, bytes]) -> None:
    new.mkdir()
    for path, content in files.items():
        parts = PurePosixPath(path).parts
        if not parts or parts[0] == "/" or ".." in parts:
            raise ValueError(f"not a path inside a pack: {path!r}")
        file = new.joinpath(*parts)
        file.parent.mkdir(parents=True, exist_ok=True)
        file.write_bytes(content)


def _swap(new: Path, target: Path, old: Path) -> None:
    had_old = target.exists()
    if had_old:
        target.rename(old)
    try:
        new.rename(target)
    except OSError:
        if had_old:
            old.rename(target)
        raise
