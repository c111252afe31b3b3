"""Prisms and frustums of pyramids: identical sides with mitred edges, and plates that close the ends."""

from __future__ import annotations

from collections.abc import Callable
from typing import TYPE_CHECKING

from foamwright.design.fields.declare import NAME, declared, key, listed, one_of, one_required, together
from foamwright.design.fields.outlines import Outline
from foamwright.design.fields.part import PartFields
from foamwright.design.fields.planes import Placement
from foamwright.design.fields.quantities import COUNT, LENGTH
from foamwright.design.members import and_after, member
from foamwright.design.messages import mistake
from foamwright.registry import Kind

if TYPE_CHECKING:
    from foamwright.design.records import PartSpec
    from foamwright.forms.surface import Surface
    from foamwright.parts.records import FlatBody
    from foamwright.parts.records import Placement as Place
    from foamwright.parts.surroundings import Surroundings


@declared
class UnlikeSides:
    """Sides that have other openings than the rest: a door, say, or none."""

    name: str = key(NAME, "What they are called, as door side; the rest are sides.")
    sides: tuple[int, ...] = key(
        listed(COUNT, least=1, unique=True),
        "Which: the first faces up, the others follow counter-clockwise as seen from the head.",
    )
    openings: tuple[Outline, ...] = key(listed(Outline), "Outlines cut from each of them alone.", default=[])


@one_required("radius", "width")
@together(top_radius="radius", top_width="width")
@declared
class Fields(PartFields):
    """A prism, or a frustum of a pyramid, built from sides with mitred edges, alike but for their openings; the first side faces
    up. In a pack its members are parts of their own: id_side, id_floor, id_roof, and id_side_3 for one that is unlike the rest;
    a design names it whole."""

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
    unlike: tuple[UnlikeSides, ...] = key(listed(UnlikeSides), "Sides with other openings.", default=[])
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
        """One side for all that are alike, by their numbers from 1, then the ends that are closed."""
        count, unlike = part.values["sides"], part.values["unlike"]
        taken = [number for group in unlike for number in group["sides"]]
        for number in taken:
            if not 1 <= number <= count:
                raise mistake(part.where, f"side {number} of {count} under unlike", f"a number from 1 to {count}")
            if taken.count(number) > 1:
                raise mistake(part.where, f"side {number} twice under unlike", "each side once")
        rest = tuple(number for number in range(1, count + 1) if number not in taken)
        groups = [("side", "side", rest, part.values["openings"])] if rest else []
        groups += [
            (f"side_{'_'.join(map(str, group['sides']))}", group["name"], tuple(group["sides"]), group["openings"])
            for group in unlike
        ]
        ids = {number: f"{part.id}_{role}" for role, _, numbers, _ in groups for number in numbers}
        sides = tuple(
            member(part, role, title, numbers=numbers, openings=openings, side_ids=ids)
            for role, title, numbers, openings in groups
        )
        after = and_after(part, *(role for role, *_ in groups))
        ends = [end for end in ("floor", "roof") if part.values[end] != "open"]
        return (*sides, *(member(part, end, end, after=after, side_ids=ids) for end in ends))

    def body(self, part: PartSpec, among: Surroundings) -> FlatBody:
        from foamwright.parts.prism import prism_body

        return prism_body(part, among.stock(part), among.folder, among.surface)

    def places(self, part: PartSpec, surface_of: Callable[[str], Surface]) -> tuple[Place, ...]:
        from foamwright.parts.prism import prism_places

        return prism_places(part, surface_of)


KIND = Prism()
