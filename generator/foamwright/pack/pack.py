"""A pack in memory: its files and its record."""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path
from types import MappingProxyType
from typing import Any


class Pack:
    """`files` holds the bytes of each file by its path in the pack, `record` what `pack.json` says. Both are fixed."""

    __slots__ = ("files", "record")

    files: Mapping[str, bytes]
    record: Mapping[str, Any]

    def __init__(self, files: Mapping[str, bytes], record: Mapping[str, Any]) -> None:
        object.__setattr__(self, "files", MappingProxyType(dict(files)))
        object.__setattr__(self, "record", MappingProxyType(dict(record)))

    def __setattr__(self, name: str, value: object) -> None:
        raise AttributeError(f"a pack does not change: {name}")

    def __repr__(self) -> str:
        design = self.record["design"]
        return f"<Pack {design['name']} {design['version']}, size {design['size']}: {len(self.files)} files>"

    def write(self, folder: str | Path) -> tuple[str, ...]:
        """Write the files into `folder`, all or none; returns what else lies there and was left as it was.

        BuildError: the folder holds no pack but something else, or the disk refuses.
        """
        from foamwright.pack.write import write_pack

        return write_pack(folder, self.files)
