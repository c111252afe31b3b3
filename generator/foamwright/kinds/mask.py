"""Stencils to paint through: windows in card or paper."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from foamwright.design.fields.declare import declared, key, listed
from foamwright.design.fields.outlines import Outline
from foamwright.design.fields.part import SheetFields
from foamwright.design.fields.quantities import COUNT, LENGTH, PART_ID, PARTS
from foamwright.language import Saying, phrase
from foamwright.registry import Kind

if TYPE_CHECKING:
    from foamwright.design.records import PartSpec
    from foamwright.parts.records import FlatBody, Piece
    from foamwright.parts.surroundings import Surroundings


@declared
class Fields(SheetFields):
    """A stencil: windows in card or paper. Bridges hold what would fall out of a window."""

    windows: tuple[Outline, ...] = key(listed(Outline, least=1), "What is painted, as seen from outside.")
    of: str | None = key(
        PART_ID,
        "The flat part that is painted: the stencil has its outline, and windows are given in the outline's "
        "axes, so that the pictures show what it gives. Without it: a rectangle around the windows.",
        optional=True,
    )
    paints: tuple[str, ...] = key(
        PARTS, "Parts that are painted through it, beside `of`: it is used in the step that paints them.", default=[]
    )
    border: float | None = key(
        LENGTH,
        "Card left around the windows, no further than the outline of `of`. Without it: all of that outline, or 15 mm.",
        more_than=0,
        optional=True,
    )
    bridge: float = key(LENGTH, "Width of a bridge.", more_than=0, default=2)
    count: int = key(COUNT, "How many.", default=1)


class Mask(Kind):
    name = "mask"
    fields = Fields
    in_trade = "stencil to paint through"
    in_one_piece = True
    paints = True
    shaped_by = ("of",)
    stands = False

    def body(self, part: PartSpec, among: Surroundings) -> FlatBody:
        from foamwright.parts.loose import mask_body

        return mask_body(part.values, among.made_for(part), among.areas_in_plane())

    def purpose(self, part: PartSpec, of: Piece[Any] | None) -> str | Saying:
        from foamwright.parts.loose import turned_over

        if of is None:
            return ""
        said = (
            phrase("It lies on the outside of {label}. Turn it over for the mirrored {label}.")
            if turned_over(of)
            else phrase("It lies on the outside of {label}.")
        )
        return Saying(said, (("label", of.label),))


KIND = Mask()
