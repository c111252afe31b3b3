"""Rods: bars between two points, bought round, laminated from strips or folded from one sheet."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from foamwright.design.fields.declare import declared, key, one_of
from foamwright.design.fields.part import PartFields
from foamwright.design.fields.quantities import COUNT, LENGTH, POINT, Point
from foamwright.registry import Kind

if TYPE_CHECKING:
    from foamwright.design.records import PartSpec, Stock
    from foamwright.parts.records import BandBody, Piece, RodBody
    from foamwright.parts.surroundings import Surroundings


@declared
class Fields(PartFields):
    """A bar between two points."""

    from_: Point = key(POINT, "Middle of one end.")
    to: Point = key(POINT, "Middle of the other end.")
    diameter: float | None = key(
        LENGTH,
        "Its diameter, or across the flats of a wrapped one. Without it: the thickness of its stock.",
        more_than=0,
        optional=True,
    )
    made: str = key(
        one_of("bought", "laminated", "wrapped"),
        "bought: round stock cut to length (no template; `thickness` of the stock is its diameter, the longer side "
        "of `sheet` the length in which it is sold). laminated: strips of sheet glued to a square bar and rounded. "
        "wrapped: one sheet scored lengthwise from the inside to its outer skin, folded to a many-sided bar and "
        "closed with mitred edges.",
        default="bought",
    )
    sides: int = key(COUNT, "Of a wrapped bar.", at_least=3, at_most=24, default=8)


class Rod(Kind):
    name = "rod"
    fields = Fields

    def layers(self, part: PartSpec, stock: Stock) -> int:
        from foamwright.parts.rod import layers_of

        return layers_of(part, stock)

    def from_sheet(self, part: PartSpec) -> bool:
        return bool(part.values["made"] != "bought")

    def body(self, part: PartSpec, among: Surroundings) -> RodBody | BandBody:
        from foamwright.parts.rod import rod_body

        return rod_body(part, among.stock(part))

    def listed_only(self, piece: Piece[Any]) -> bool:
        return piece.bought


KIND = Rod()
