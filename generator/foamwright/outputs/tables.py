"""CSV as the lists of a pack have it (RFC 4180)."""

from __future__ import annotations

import csv
import io
import re
from collections.abc import Iterable, Sequence

# Spreadsheets work out what begins so (OWASP, "CSV Injection"); an apostrophe before it makes it text again.
_FORMULA = re.compile(r"\s*[=+\-@|\t\r]")
_NUMBER = re.compile(r"-?\d+(\.\d+)?")


def csv_bytes(columns: Sequence[str], rows: Iterable[Sequence[object]]) -> bytes:
    """The header and a line for each row, in UTF-8. No cell is a formula."""
    out = io.StringIO(newline="")
    writer = csv.writer(out)
    writer.writerow(columns)
    writer.writerows([_text(cell) for cell in row] for row in rows)
    return out.getvalue().encode()


def _text(cell: object) -> object:
    if isinstance(cell, str) and _FORMULA.match(cell) and not _NUMBER.fullmatch(cell):
        return f"'{cell}"
    return cell
