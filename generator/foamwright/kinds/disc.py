"""Discs: flat round parts."""

from __future__ import annotations

from typing import TYPE_CHECKING

from foamwright.design.fields.declare import declared, key
from foamwright.design.fields.part import FlatFields
from foamwright.design.fields.planes import Placement
from foamwright.design.fields.quantities import LENGTH
from foamwright.registry import Kind

if TYPE_CHECKING:
    from foamwright.design.records import PartSpec
    from foamwright.parts.records import FlatBody
    from foamwright.parts.surroundings import Surroundings


@declared
class Fields(FlatFields):
    """A flat disc."""

    radius: float = key(LENGTH, "Radius.", more_than=0)
    at: Placement = key(Placement)


class Disc(Kind):
    name = "disc"
    fields = Fields
    rank = "disc"
    in_trade = "disc"
    in_rows = True

    def body(self, part: PartSpec, among: Surroundings) -> FlatBody:
        from foamwright.parts.flat import disc_body

        return disc_body(part, among.surface)


KIND = Disc()
