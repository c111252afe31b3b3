"""Rings: flat round parts with a round hole in the middle."""

from __future__ import annotations

from collections.abc import Mapping
from typing import TYPE_CHECKING

from foamwright.design.fields.declare import declared, key
from foamwright.design.fields.part import FlatFields
from foamwright.design.fields.planes import Placement
from foamwright.design.fields.quantities import LENGTH
from foamwright.design.messages import mistake
from foamwright.registry import Kind

if TYPE_CHECKING:
    from foamwright.design.records import FormSpec, PartSpec
    from foamwright.design.source import Source
    from foamwright.parts.records import FlatBody
    from foamwright.parts.surroundings import Surroundings


@declared
class Fields(FlatFields):
    """A flat ring."""

    outer_radius: float = key(LENGTH, "Outer radius.", more_than=0)
    inner_radius: float = key(LENGTH, "Inner radius.", more_than=0)
    at: Placement = key(Placement)


class Ring(Kind):
    name = "ring"
    fields = Fields
    rank = "ring"
    in_trade = "ring"
    in_rows = True

    def check(self, part: PartSpec, forms: Mapping[str, FormSpec], source: Source) -> None:
        inner, outer = part.values["inner_radius"], part.values["outer_radius"]
        if inner >= outer:
            place = source.where(("parts", part.id, "inner_radius"))
            raise mistake(
                place, f"an inner radius of {inner:g} in an outer one of {outer:g}", "less than the outer radius"
            )

    def body(self, part: PartSpec, among: Surroundings) -> FlatBody:
        from foamwright.parts.flat import ring_body

        return ring_body(part, among.surface)


KIND = Ring()
