"""`shopping-list.csv`: what to buy, how much of it, and what it costs where a price is known."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from foamwright.assembly.records import Purchase, Step
from foamwright.booklet.pages.materials import shopping
from foamwright.flatten.records import Patterns
from foamwright.language import spoken
from foamwright.layout.records import FoamSheet
from foamwright.outputs.records import Files, Output
from foamwright.outputs.tables import csv_bytes
from foamwright.parts.records import Prop

SHOPPING_COLUMNS = ("item", "amount", "unit", "basis", "cost", "currency", "sellers")


@spoken
def files(prop: Prop, patterns: Patterns, sheets: Sequence[FoamSheet], steps: Sequence[Step]) -> Files:
    return {"shopping-list.csv": shopping_list(shopping(prop, patterns, sheets, steps))}


def shopping_list(purchases: Iterable[Purchase]) -> bytes:
    """One row for each thing to buy, with the basis of its amount and its cost where a price is known."""
    rows = (
        (
            p.item,
            f"{p.amount:g}",
            p.unit,
            p.basis,
            "" if p.cost is None else f"{p.cost:.2f}",
            p.currency,
            "; ".join(p.sellers),
        )
        for p in purchases
    )
    return csv_bytes(SHOPPING_COLUMNS, rows)


OUTPUT = Output("shopping_list", "what to buy", files)
