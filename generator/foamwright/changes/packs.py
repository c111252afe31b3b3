"""Reading a pack back: a folder, its archive, or its record."""

from __future__ import annotations

import csv
import gc
import io
import json
import zipfile
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

from foamwright.changes.records import Side
from foamwright.errors import DesignError

_RECORD, _SHOPPING = "pack.json", "shopping-list.csv"
_MOST_BYTES = 256 * 2**20  # a record of a thousand parts has a few
_SECTIONS = ("design", "parts", "seams", "pages")


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
        except (OSError, zipfile.BadZipFile) as error:
            raise DesignError(f"{path}: cannot be read as a zip archive: {error}") from error
    return _side(str(path), lambda name: _file(path.parent / name))


def side(source: str, record: Any, shopping: bytes | None) -> Side:
    """A pack in memory as one side of a comparison. DesignError: the record is none."""
    problem = _problem(record)
    if problem:
        raise DesignError(f"{source}: {problem}")
    return Side(source, record, _costs(shopping or b""))


def _side(source: str, read: Callable[[str], bytes | None]) -> Side:
    content = read(_RECORD)
    if content is None:
        raise DesignError(f"{source}: holds no {_RECORD}; expected a folder or archive that `foamwright build` made")
    try:
        with _no_collection():
            record = json.loads(content)
    except (ValueError, RecursionError) as error:
        raise DesignError(f"{source}: {_RECORD} cannot be read: {error}") from error
    return side(source, record, read(_SHOPPING))


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


def _problem(record: Any) -> str | None:
    """What keeps it from being compared, or None."""
    if not isinstance(record, dict) or record.get("format") != 1 or not isinstance(record.get("design"), dict):
        return f"{_RECORD} is no record of a pack in format 1"
    missing = [name for name in _SECTIONS if name not in record]
    if missing:
        return f"{_RECORD} has no {missing[0]}: the pack was made of some outputs only; build it whole"
    return None


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
