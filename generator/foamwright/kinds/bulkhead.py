"""Bulkheads: flat parts that fit inside a form at a plane, as floors and frames do."""

from __future__ import annotations

from collections.abc import Mapping
from typing import TYPE_CHECKING

from foamwright.design.checks import check_inside
from foamwright.design.fields.declare import declared, key, listed
from foamwright.design.fields.outlines import Outline
from foamwright.design.fields.part import TabbedFields
from foamwright.design.fields.planes import Plane
from foamwright.design.fields.quantities import FORM_ID, LENGTH, PARTS
from foamwright.registry import Kind

if TYPE_CHECKING:
    from foamwright.design.records import FormSpec, PartSpec
    from foamwright.design.source import Source
    from foamwright.parts.records import FlatBody
    from foamwright.parts.surroundings import Surroundings


@declared
class Fields(TabbedFields):
    """A flat part that fits inside a form at a plane."""

    form: str = key(FORM_ID, "The form it fits inside.")
    plane: Plane = key(Plane, "The plane of its lower face; the thickness goes along the normal.")
    inside: tuple[str, ...] = key(PARTS, "Parts whose thickness lies inside the form and must be cleared.", default=[])
    clearance: float = key(LENGTH, "Gap to the wall.", at_least=0, default="clearance")
    within: Outline | None = key(Outline, "Only what lies inside this outline.", optional=True)
    minus: tuple[Outline, ...] = key(listed(Outline), "Outlines taken away from it.", default=[])


class Bulkhead(Kind):
    name = "bulkhead"
    fields = Fields
    rank = "bulkhead"
    in_trade = "bulkhead or floor fitted to an inside"
    rim_only = True
    shaped_by = ("inside",)

    def check(self, part: PartSpec, forms: Mapping[str, FormSpec], source: Source) -> None:
        check_inside(part, source)

    def body(self, part: PartSpec, among: Surroundings) -> FlatBody:
        from foamwright.parts.flat import bulkhead_body

        offset = among.offset_inside(part)
        return bulkhead_body(part, among.stock(part), among.folder, among.surface, offset)


KIND = Bulkhead()
