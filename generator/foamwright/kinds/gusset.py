"""Gussets: triangles that stiffen the corner between two faces at a right angle."""

from __future__ import annotations

from collections.abc import Mapping
from typing import TYPE_CHECKING

from foamwright.design.fields.declare import declared, exactly, key
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
    """A triangle that stiffens the corner between two faces at a right angle, its two legs glued to them."""

    legs: tuple[float, ...] = key(
        exactly(2, LENGTH, more_than=0), "Lengths of its two legs: across the placement's up, and along it."
    )
    at: Placement = key(
        Placement, "The corner of the two faces, the way the thickness goes, and the way of the second leg."
    )
    tips: float = key(LENGTH, "Width that is left where a leg ends, since a sharp tip tears.", at_least=0, default=3)
    corner: float = key(
        LENGTH,
        "Cut off the right angle, so far along both legs, where it must clear a bead of glue or a lining.",
        at_least=0,
        default=0,
    )


class Gusset(Kind):
    name = "gusset"
    fields = Fields
    in_trade = "gusset in a corner"
    in_rows = True

    def check(self, part: PartSpec, forms: Mapping[str, FormSpec], source: Source) -> None:
        least = min(part.values["legs"])
        for name in ("tips", "corner"):
            if part.values[name] >= least:
                wrong = f"{name} of {part.values[name]:g} mm on a leg of {least:g} mm"
                raise mistake(source.where(("parts", part.id, name)), wrong, "less than the shorter leg")

    def body(self, part: PartSpec, among: Surroundings) -> FlatBody:
        from shapely.geometry import Polygon

        from foamwright.parts.flat import flat_body
        from foamwright.parts.placing import frame_at

        (across, along), tip, cut = part.values["legs"], part.values["tips"], part.values["corner"]
        points = [(cut, 0.0), (across, 0.0), (across, tip), (tip, along), (0.0, along), (0.0, cut)]
        shape = Polygon(dict.fromkeys(points))  # without tips or a cut corner some of them are one
        return flat_body(shape, frame_at(part.values["at"], among.surface))


KIND = Gusset()
