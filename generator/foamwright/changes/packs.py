"""Reading a pack back: a folder, its archive, or its record."""

from __future__ import annotations

import csv
import gc
import io
import json
import lzma
import zipfile
import zlib
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

from foamwright.changes.records import Side
from foamwright.errors import DesignError
from foamwright.pack.held import carried_all, fault_of

_RECORD, _SHOPPING = "pack.json", "shopping-list.csv"
_MOST_BYTES = 256 * 2**20  # a record of a thousand parts has a few
_SECTIONS = ("design", "parts", "seams", "pages")
# what reading a damaged, locked or unknown sort of archive ends with
_NO_ARCHIVE = (OSError, zipfile.BadZipFile, RuntimeError, EOFError, zlib.error, lzma.LZMAError)


def is_pack(path: Path) -> bool:
    """Whether the path looks like a pack: a folder with a record, an archive, or the record itself."""
    return path.is_dir() or path.suffix == ".zip" or path.name == _RECORD


def read_pack(path: Path) -> Side:
    """The pack in a folder or a zip archive. DesignError, one line: there is none, or it cannot be read."""
    if path.is_dir():
        return _side(str(path), lambda name: _file(path / name))
    if path.suffix == ".zip":
        try:
            with zipfile.ZipFile(path) as archive:
                inside = {name.rpartition("/")[2]: name for name in archive.namelist() if name.count("/") <= 1}
                return _side(str(path), lambda name: _member(archive, inside.get(name)))
        except _NO_ARCHIVE as error:
            raise DesignError(f"{path}: cannot be read as a zip archive: {error}") from error
    return _side(str(path), lambda name: _file(path.parent / name))


def side(source: str, record: Any, shopping: bytes | None) -> Side:
    """A pack in memory as one side of a comparison. DesignError: the record is none."""
    return Side(source, record, _costs(shopping or b""))


def _side(source: str, read: Callable[[str], bytes | None]) -> Side:
    content = read(_RECORD)
    if content is None:
        raise DesignError(f"{source}: holds no {_RECORD}; expected a folder or archive that `foamwright build` made")
    try:
        with _no_collection():
            record = json.loads(content, parse_constant=_no_number)
    except (ValueError, RecursionError) as error:
        raise DesignError(f"{source}: {_RECORD} cannot be read: {error}") from error
    fault = fault_of(record, _SECTIONS)
    if fault:
        raise DesignError(f"{source}: {_RECORD} {fault}")
    return side(source, carried_all(record), read(_SHOPPING))


def _no_number(word: str) -> None:
    raise ValueError(f"{word} is no number")


@contextmanager
def _no_collection() -> Iterator[None]:
    """A record is many small objects of which none is garbage; looking for it would take longer than reading them."""
    was = gc.isenabled()
    gc.disable()
    try:
        yield
    finally:
        if was:
            gc.enable()


def _file(path: Path) -> bytes | None:
    if not path.is_file():
        return None
    if path.stat().st_size > _MOST_BYTES:
        raise DesignError(f"{path}: larger than {_MOST_BYTES} bytes, which no pack needs")
    try:
        return path.read_bytes()
    except OSError as error:
        raise DesignError(f"{path}: cannot be read: {error.strerror}") from error


def _member(archive: zipfile.ZipFile, name: str | None) -> bytes | None:
    if name is None:
        return None
    if archive.getinfo(name).file_size > _MOST_BYTES:
        raise DesignError(f"{archive.filename}: {name} is larger than {_MOST_BYTES} bytes, which no pack needs")
    return archive.read(name)


def _costs(shopping: bytes) -> dict[str, float]:
    """Sum of the shopping list by currency; rows without a price count nothing."""
    totals: dict[str, float] = {}
    for row in csv.DictReader(io.StringIO(shopping.decode("utf-8-sig", "replace"))):
        try:
            totals[row["currency"]] = totals.get(row["currency"], 0.0) + float(row["cost"])
        except (KeyError, TypeError, ValueError):
            continue
    return {currency: round(total, 2) for currency, total in sorted(totals.items())}
