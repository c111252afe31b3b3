"""Plates: flat parts of any outline."""

from __future__ import annotations

from typing import TYPE_CHECKING

from foamwright.design.fields.declare import declared, key, listed
from foamwright.design.fields.outlines import Outline
from foamwright.design.fields.part import TabbedFields
from foamwright.design.fields.planes import Placement
from foamwright.registry import Kind

if TYPE_CHECKING:
    from foamwright.design.records import PartSpec
    from foamwright.parts.records import FlatBody
    from foamwright.parts.surroundings import Surroundings


@declared
class Fields(TabbedFields):
    """A flat part of any outline."""

    outline: Outline = key(Outline, "Its outline.")
    minus: tuple[Outline, ...] = key(listed(Outline), "Outlines taken away from it.", default=[])
    at: Placement = key(Placement)


class Plate(Kind):
    name = "plate"
    fields = Fields
    rank_of_small = "detail"
    in_rows = True

    def body(self, part: PartSpec, among: Surroundings) -> FlatBody:
        from foamwright.parts.flat import plate_body

        return plate_body(part, among.stock(part), among.folder, among.surface)


KIND = Plate()
