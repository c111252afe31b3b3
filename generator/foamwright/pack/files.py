"""The files of a pack as bytes in memory: what each is, and the archive of all of them."""

from __future__ import annotations

import hashlib
import io
import zipfile
from collections.abc import Mapping
from pathlib import PurePosixPath
from typing import Any

RECORD = "pack.json"  # the file by which a folder is known as a pack

# Media types: the IANA registry.
MEDIA_TYPES = {
    ".csv": "text/csv",
    ".dxf": "image/vnd.dxf",
    ".glb": "model/gltf-binary",
    ".html": "text/html",
    ".json": "application/json",
    ".md": "text/markdown",
    ".pdf": "application/pdf",
    ".png": "image/png",
    ".step": "model/step",
    ".svg": "image/svg+xml",
    ".txt": "text/plain",
    ".yaml": "application/yaml",
    ".zip": "application/zip",
}
_LEVEL = 6  # of compression: the flagship's archive is half a percent larger than at 9, in half the time
OLDEST_DATE = (1980, 1, 1, 0, 0, 0)  # the first that the format can hold; nothing here reads the clock


def media_type(path: str) -> str:
    """Of a file of a pack, by its suffix."""
    return MEDIA_TYPES.get(PurePosixPath(path).suffix, "application/octet-stream")


def file_entries(files: Mapping[str, bytes]) -> list[dict[str, Any]]:
    """path, sha256, bytes and kind (media type) of each file, sorted by path."""
    return [
        {
            "path": path,
            "sha256": hashlib.sha256(files[path]).hexdigest(),
            "bytes": len(files[path]),
            "kind": media_type(path),
        }
        for path in sorted(files)
    ]


def zip_bytes(files: Mapping[str, bytes], folder: str) -> bytes:
    """A ZIP archive of `files` under one `folder`: sorted names, fixed dates and permissions."""
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w", zipfile.ZIP_DEFLATED, compresslevel=_LEVEL) as archive:
        for path in sorted(files):
            entry = zipfile.ZipInfo(f"{folder}/{path}", OLDEST_DATE)
            entry.compress_type = zipfile.ZIP_DEFLATED
            entry.create_system = 3  # Unix, so that the permissions count wherever the archive is made
            entry.external_attr = 0o100644 << 16
            archive.writestr(entry, files[path])
    return out.getvalue()
