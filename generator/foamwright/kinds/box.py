"""Boxes: six plates or fewer, mitred or butted, opposite ones alike."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from typing import TYPE_CHECKING

from foamwright.design.fields.declare import declared, exactly, key, listed, one_of
from foamwright.design.fields.outlines import Outline
from foamwright.design.fields.part import PartFields
from foamwright.design.fields.planes import Placement
from foamwright.design.fields.quantities import LENGTH
from foamwright.design.members import member
from foamwright.registry import Kind

if TYPE_CHECKING:
    from foamwright.design.records import PartSpec
    from foamwright.forms.surface import Surface
    from foamwright.parts.records import FlatBody
    from foamwright.parts.records import Placement as Place
    from foamwright.parts.surroundings import Surroundings


FACES = ("top", "bottom", "front", "back", "left", "right")
_LONGER, _SHORTER = "side", "end"  # walls that are cut alike, whichever way the box is turned
_OPPOSITE = dict(zip(FACES, ("bottom", "top", "back", "front", "right", "left"), strict=True))


@declared
class BoxOpenings:
    """Outlines cut from the plates of a box, seen from outside; 0, 0 is the middle of that side of the whole box, also where
    its plate goes less far at one edge than at the other, y the box's way up (on top and bottom: forward)."""

    top: tuple[Outline, ...] | None = key(listed(Outline), "Of the top.", optional=True)
    bottom: tuple[Outline, ...] | None = key(listed(Outline), "Of the bottom.", optional=True)
    front: tuple[Outline, ...] | None = key(listed(Outline), "Of the front.", optional=True)
    back: tuple[Outline, ...] | None = key(listed(Outline), "Of the back.", optional=True)
    left: tuple[Outline, ...] | None = key(listed(Outline), "Of the left.", optional=True)
    right: tuple[Outline, ...] | None = key(listed(Outline), "Of the right.", optional=True)


@declared
class Fields(PartFields):
    """A box of up to six plates. Opposite plates without openings, or with the same, are one part cut twice; in a pack the
    members are parts of their own: id_top_bottom, id_front_back, id_left_right, or id_top and so on; a design names it
    whole."""

    size: tuple[float, ...] = key(
        exactly(3, LENGTH, more_than=0),
        "Length (along the placement's up), width and height (along its normal) over all.",
    )
    joint: str = key(
        one_of("butt", "mitred"),
        "butt: top and bottom cover the edges of the walls, front and back those of left and right. "
        "mitred: all edges cut at 45 degrees.",
        default="butt",
    )
    without: tuple[str, ...] = key(
        listed(
            {
                **one_of(*FACES),
                "description": "A plate; front is the way of the placement's up, left and right as one looks that way.",
            },
            most=5,
            unique=True,
        ),
        "Plates that are left out.",
        default=[],
    )
    openings: BoxOpenings = key(BoxOpenings, default={})
    at: Placement = key(
        Placement, "The middle of its bottom, the way up, and the way that its front faces.", default={"normal": "z"}
    )


class Box(Kind):
    name = "box"
    fields = Fields
    in_trade = "closed box"
    encloses = True

    def members(self, part: PartSpec, thickness: float) -> tuple[PartSpec, ...]:
        """Opposite plates with the same openings, or none, are alike, where no tabs enter the box: one part, cut twice."""
        left_out = part.values["without"]
        length, width, _ = part.values["size"]
        names = {"front": _LONGER, "left": _SHORTER} if width > length else {"front": _SHORTER, "left": _LONGER}
        plates_of_all: list[PartSpec] = []
        done: set[str] = set()
        for face in FACES:
            if face in left_out or face in done:
                continue
            other = _OPPOSITE[face]
            both = other not in left_out and other not in done and not part.values.get("slotted")
            alike = both and _cut_alike(part, face, other)
            faces = (face, other) if alike else (face,)
            done.update(faces)
            title = names.get(face, " and ".join(faces)) if alike else face
            plates_of_all.append(member(part, "_".join(faces), title, faces=faces))
        plates = {one.id: one.values["faces"] for one in plates_of_all}
        return tuple(replace(one, values={**one.values, "plates": plates}) for one in plates_of_all)

    def body(self, part: PartSpec, among: Surroundings) -> FlatBody:
        from foamwright.parts.box import box_body

        return box_body(part, among.stock(part), among.folder, among.surface)

    def places(self, part: PartSpec, surface_of: Callable[[str], Surface]) -> tuple[Place, ...]:
        from foamwright.parts.box import box_places

        return box_places(part, surface_of)


def _cut_alike(part: PartSpec, face: str, other: str) -> bool:
    if not any(part.values["openings"].get(name) for name in (face, other)):
        return True
    from foamwright.parts.box import opposite_alike

    return opposite_alike(part, face, other, [name for name in FACES if name not in part.values["without"]])


KIND = Box()
