"""Plain strips that stand nowhere in the prop: listed by length and width."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from foamwright.design.fields.declare import declared, key
from foamwright.design.fields.part import SheetFields
from foamwright.design.fields.quantities import COUNT, LENGTH, PARTS
from foamwright.registry import Kind

if TYPE_CHECKING:
    from foamwright.design.records import PartSpec
    from foamwright.parts.records import FlatBody, Piece
    from foamwright.parts.surroundings import Surroundings


@declared
class Fields(SheetFields):
    """A plain strip that stands nowhere in the prop: it is listed by length and width, and has no template."""

    length: float = key(LENGTH, "Its length.", more_than=0)
    width: float = key(LENGTH, "Its width.", more_than=0)
    count: int = key(COUNT, "How many.", default=1)
    after: tuple[str, ...] = key(
        PARTS, "Parts that must be in place first: the booklet tells of the strip once they are.", default=[]
    )


class Strip(Kind):
    name = "strip"
    fields = Fields
    in_trade = "plain strip, listed and not drawn"
    stands = False

    def body(self, part: PartSpec, among: Surroundings) -> FlatBody:
        from foamwright.parts.loose import strip_body

        return strip_body(part.values["length"], part.values["width"])

    def listed_only(self, piece: Piece[Any]) -> bool:
        return True


KIND = Strip()
