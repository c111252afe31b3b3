"""Spacers: gauges cut from scrap that set the gap between the copies of a row."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from foamwright.design.fields.declare import declared, key
from foamwright.design.fields.part import SheetFields
from foamwright.design.fields.quantities import COUNT, LENGTH, PART_ID
from foamwright.language import Length, Saying, phrase
from foamwright.registry import Kind

if TYPE_CHECKING:
    from foamwright.design.records import PartSpec
    from foamwright.parts.records import FlatBody, Piece
    from foamwright.parts.surroundings import Surroundings

_EVEN, _TURNED = 0.5, 0.002  # mm and radians between steps of a row that are alike


@declared
class Fields(SheetFields):
    """A gauge cut from scrap that sets the gap between the copies of a row. It is as wide as the even gap."""

    of: str = key(PART_ID, "The part whose copies it sets; it is repeated along a curve.")
    length: float = key(LENGTH, "Long enough to hold.", more_than=0, default=100)
    count: int = key(COUNT, "How many.", default=1)


class Spacer(Kind):
    name = "spacer"
    fields = Fields
    in_trade = "spacer cut as a part"
    in_one_piece = True
    shaped_by = ("of",)
    stands = False
    sets_gaps = True

    def body(self, part: PartSpec, among: Surroundings) -> FlatBody:
        from foamwright.parts.loose import spacer_body

        return spacer_body(part.values["length"], among.piece(part.values["of"]))

    def purpose(self, part: PartSpec, of: Piece[Any] | None) -> str | Saying:
        if of is None or not of.gap:
            return ""
        said = phrase("sets the gaps of {gap} between the copies of {label}")
        return Saying(said, (("gap", Length(of.gap, 1)), ("label", of.label)))

    def remark_on(self, of: Piece[Any], own: Piece[Any]) -> str | Saying:
        if not of.gap:
            return ""
        even = phrase("Set the gaps of {gap} with spacer {label}.")
        uneven = phrase(
            "Spacer {label} sets the gaps of {gap}, and no others: where two outlines stand nearer or farther apart, go by these "
            "alone."
        )
        facts = (("gap", Length(of.gap, 1)), ("label", own.label))
        return Saying(even if _is_even(of) else uneven, facts)


def _is_even(of: Piece[Any]) -> bool:
    """Do the copies of a part make one row, in which each stands to the next as the first does to the second?"""
    import numpy as np

    matrices = np.array([place.matrix for place in of.placements])
    steps = np.linalg.inv(matrices[:-1]) @ matrices[1:]
    turned, moved = (np.ptp(part, axis=0).max(initial=0.0) for part in (steps[:, :3, :3], steps[:, :3, 3]))
    return not any(place.mirrored for place in of.placements) and turned < _TURNED and moved < _EVEN


KIND = Spacer()
