"""Covers: narrow panels over the seams of others."""

from __future__ import annotations

from collections.abc import Mapping
from typing import TYPE_CHECKING

from foamwright.design.checks import check_on_form, cut_of
from foamwright.design.fields.declare import TEXT, declared, key, mapping
from foamwright.design.fields.part import SIDE, PanelFields
from foamwright.design.fields.quantities import LENGTH
from foamwright.registry import Kind

if TYPE_CHECKING:
    from foamwright.design.records import FormSpec, PartSpec
    from foamwright.design.source import Source
    from foamwright.parts.records import PanelBody
    from foamwright.parts.surroundings import Surroundings


@declared
class Fields(PanelFields):
    """A narrow panel over a seam: it follows the line of a cut, to the same distance in the surface on both sides."""

    seam: str = key(
        TEXT,
        "The cut of the form whose line it covers. Its long edges are named seam_far and seam_near after it.",
    )
    width: float = key(LENGTH, "Its width, half to each side of the line.", more_than=0)
    where: Mapping[str, str] = key(mapping(SIDE), "Cuts that end it, as for a panel.", default={})


class Cover(Kind):
    name = "cover"
    fields = Fields
    rank_on_shell = "skin"
    in_trade = "seam cover that follows a line"
    follows_form = True
    shaped_by = ("over",)

    def check(self, part: PartSpec, forms: Mapping[str, FormSpec], source: Source) -> None:
        seam, form = part.values["seam"], forms[part.values["form"]]
        check_on_form(part, forms, source, (f"{seam}_far", f"{seam}_near"))
        cut_of(form, seam, source.where(("parts", part.id, "seam")))

    def body(self, part: PartSpec, among: Surroundings) -> PanelBody:
        from foamwright.parts.on_form import cover_on_form

        return cover_on_form(part, among)


KIND = Cover()
