"""Prisms and frustums of pyramids: identical sides with mitred edges, and plates that close the ends."""

from __future__ import annotations

from collections.abc import Callable
from typing import TYPE_CHECKING

from foamwright.design.fields.declare import declared, key, listed, one_of, one_required, together
from foamwright.design.fields.outlines import Outline
from foamwright.design.fields.part import PartFields
from foamwright.design.fields.planes import Placement
from foamwright.design.fields.quantities import COUNT, LENGTH
from foamwright.design.members import and_after, member
from foamwright.registry import Kind

if TYPE_CHECKING:
    from foamwright.design.records import PartSpec
    from foamwright.forms.surface import Surface
    from foamwright.parts.records import FlatBody
    from foamwright.parts.records import Placement as Place
    from foamwright.parts.surroundings import Surroundings


@one_required("radius", "width")
@together(top_radius="radius", top_width="width")
@declared
class Fields(PartFields):
    """A prism, or a frustum of a pyramid, built from identical sides with mitred edges; the first side faces up.
    In a pack its members are parts of their own: id_side, id_floor, id_roof; a design names it whole."""

    sides: int = key(COUNT, "How many.", at_least=3, at_most=60)
    radius: float | None = key(LENGTH, "From the axis to an outer corner of its foot.", more_than=0, optional=True)
    width: float | None = key(
        LENGTH,
        "Instead of `radius`: twice from the axis to a side's outer face, which is across the flats of an"
        " even number of sides.",
        more_than=0,
        optional=True,
    )
    top_radius: float | None = key(
        LENGTH, "With `radius`: the same at its head. Without it: as at its foot.", more_than=0, optional=True
    )
    top_width: float | None = key(
        LENGTH, "With `width`: the same at its head. Without it: as at its foot.", more_than=0, optional=True
    )
    height: float = key(LENGTH, "Along its axis, over all.", more_than=0)
    floor: str = key(
        one_of("open", "inside", "mitred"),
        "The plate at its foot: none (open), inside the sides, or mitred to them.",
        default="open",
    )
    roof: str = key(one_of("open", "inside", "mitred"), "The plate at its head, likewise.", default="open")
    openings: tuple[Outline, ...] = key(
        listed(Outline),
        "Outlines cut from every side, seen from outside; 0, 0 is the middle of the side's outer face, y up.",
        default=[],
    )
    at: Placement = key(
        Placement,
        "The middle of its foot, the way of its axis, and the way that its first side faces.",
        default={"normal": "z"},
    )


class Prism(Kind):
    name = "prism"
    fields = Fields
    in_trade = "prism with mitred edges"

    def members(self, part: PartSpec, thickness: float) -> tuple[PartSpec, ...]:
        """One side that stands for all, then the ends that are closed."""
        ends = [end for end in ("floor", "roof") if part.values[end] != "open"]
        return (
            member(part, "side", "side"),
            *(member(part, end, end, after=and_after(part, "side")) for end in ends),
        )

    def body(self, part: PartSpec, among: Surroundings) -> FlatBody:
        from foamwright.parts.prism import prism_body

        return prism_body(part, among.stock(part), among.folder, among.surface)

    def places(self, part: PartSpec, surface_of: Callable[[str], Surface]) -> tuple[Place, ...]:
        from foamwright.parts.prism import prism_places

        return prism_places(part, surface_of)


KIND = Prism()
