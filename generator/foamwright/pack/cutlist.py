"""The cut list and the shopping list as CSV (RFC 4180)."""

from __future__ import annotations

import csv
import io
from collections.abc import Iterable, Sequence

from foamwright.booklet.records import Purchase
from foamwright.booklet.wording import split_text
from foamwright.flatten.records import Pattern, Patterns

CUT_COLUMNS = (
    "label",
    "name",
    "material",
    "thickness_mm",
    "quantity",
    "mirrored",
    "layers",
    "length_mm",
    "width_mm",
    "area_mm2",
    "darts",
    "bevel_deg",
    "note",
    "split",
)
SHOPPING_COLUMNS = ("item", "amount", "unit", "basis", "cost", "currency")


def cut_list(patterns: Patterns) -> bytes:
    """One row for each part: what is cut, from what, how often. Length and width are of its upright box."""
    return _csv(CUT_COLUMNS, (_cut_row(pattern) for pattern in patterns.patterns))


def shopping_list(purchases: Iterable[Purchase]) -> bytes:
    """One row for each thing to buy, with the basis of its amount and its cost where a price is known."""
    rows = (
        (p.item, f"{p.amount:g}", p.unit, p.basis, "" if p.cost is None else f"{p.cost:.2f}", p.currency)
        for p in purchases
    )
    return _csv(SHOPPING_COLUMNS, rows)


def _cut_row(pattern: Pattern) -> tuple:
    piece = pattern.piece
    spans = pattern.outline.max(axis=0) - pattern.outline.min(axis=0)
    length, width = pattern.strip or sorted(spans, reverse=True)
    bevels = [angle for edge in pattern.edges for angle in edge.bevel if angle]
    return (
        piece.label,
        piece.name,
        piece.stock.name,
        f"{piece.stock.thickness:g}",
        piece.quantity,
        piece.mirrored,
        piece.layers,
        f"{length:.1f}",
        f"{width:.1f}",
        f"{pattern.area:.1f}",
        len(pattern.darts),
        _range(bevels),
        piece.note,
        split_text(pattern),
    )


def _range(angles: Sequence[float]) -> str:
    if not angles:
        return "0"
    low, high = f"{min(angles):.1f}", f"{max(angles):.1f}"
    return low if low == high else f"{low} to {high}"


def _csv(columns: Sequence[str], rows: Iterable[Sequence]) -> bytes:
    out = io.StringIO(newline="")
    writer = csv.writer(out)
    writer.writerow(columns)
    writer.writerows(rows)
    return out.getvalue().encode()
