"""Fillers: flat parts in the room that others leave."""

from __future__ import annotations

from collections.abc import Mapping
from typing import TYPE_CHECKING

from foamwright.design.checks import check_inside
from foamwright.design.fields.declare import declared, key
from foamwright.design.fields.outlines import Outline
from foamwright.design.fields.part import PartFields
from foamwright.design.fields.planes import Plane
from foamwright.design.fields.quantities import COUNT, FLAT_POINT, FORM_ID, LENGTH, PARTS, FlatPoint
from foamwright.registry import Kind

if TYPE_CHECKING:
    from foamwright.design.records import FormSpec, PartSpec
    from foamwright.design.source import Source
    from foamwright.parts.records import FlatBody
    from foamwright.parts.surroundings import Surroundings


@declared
class Fields(PartFields):
    """A flat part in the room that other flat parts leave at a plane, inside a form, an outline, or both."""

    plane: Plane = key(Plane, "The plane of its lower face; the thickness goes along the normal.")
    parts: tuple[str, ...] = key(PARTS, "Flat parts that bound it.")
    form: str | None = key(FORM_ID, "A form inside which it stays.", optional=True)
    inside: tuple[str, ...] = key(PARTS, "Parts whose thickness lies inside the form and must be cleared.", default=[])
    within: Outline | None = key(Outline, "An outline within which it stays, in the plane's own axes.", optional=True)
    around: FlatPoint | None = key(
        FLAT_POINT, "A point of the room that is meant, where the parts divide it.", optional=True
    )
    clearance: float = key(LENGTH, "Gap to the form and to every part.", at_least=0, default="clearance")
    layers: int = key(COUNT, "Laminated from so many sheets.", at_most=50, default=1)


class Filler(Kind):
    name = "filler"
    fields = Fields
    in_trade = "filler between parts"
    shaped_by = ("parts", "inside")

    def check(self, part: PartSpec, forms: Mapping[str, FormSpec], source: Source) -> None:
        check_inside(part, source)

    def body(self, part: PartSpec, among: Surroundings) -> FlatBody:
        from foamwright.parts.filler import filler_body

        between = [among.piece(other) for other in part.values["parts"]]
        offset = among.offset_inside(part)
        return filler_body(part, among.stock(part), among.folder, among.surface, offset, between)


KIND = Filler()
