"""Panels: parts cut from a curved form and laid flat."""

from __future__ import annotations

from collections.abc import Mapping
from typing import TYPE_CHECKING

from foamwright.design.checks import check_on_form
from foamwright.design.fields.declare import declared
from foamwright.design.fields.part import PanelFields
from foamwright.registry import Kind

if TYPE_CHECKING:
    from foamwright.design.records import FormSpec, PartSpec
    from foamwright.design.source import Source
    from foamwright.parts.records import PanelBody
    from foamwright.parts.surroundings import Surroundings


@declared
class Fields(PanelFields):
    """A part cut from a curved form, laid flat."""


class Panel(Kind):
    name = "panel"
    fields = Fields
    rank = "panel"
    rank_on_shell = "skin"
    follows_form = True
    is_shell = True
    shaped_by = ("over",)

    def check(self, part: PartSpec, forms: Mapping[str, FormSpec], source: Source) -> None:
        check_on_form(part, forms, source)

    def body(self, part: PartSpec, among: Surroundings) -> PanelBody:
        from foamwright.parts.on_form import panel_on_form

        return panel_on_form(part, among)


KIND = Panel()
