"""Solids that somebody modelled: from a STEP file, from the design's own code, or from an installed package."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import TYPE_CHECKING, Any

from foamwright.design.fields.declare import TEXT, declared, key, mapping, one_required, text
from foamwright.design.fields.part import PartFields
from foamwright.design.fields.planes import Placement
from foamwright.design.fields.quantities import COUNT, FILE, NUMBER, QUANTITY
from foamwright.design.members import member
from foamwright.design.messages import mistake
from foamwright.registry import SOLIDS, Kind, provider

if TYPE_CHECKING:
    from OCP.TopoDS import TopoDS_Face, TopoDS_Shape

    from foamwright.design.records import FormSpec, PartSpec
    from foamwright.design.source import Source
    from foamwright.parts.records import FlatBody, Piece
    from foamwright.parts.surroundings import Surroundings


@one_required("step", "code", "package")
@declared
class Fields(PartFields):
    """A part that somebody modelled as a solid. A prism as thick as its layers is cut from sheets; with `faces` it is
    built from plates, one for each of its flat faces, mitred at their edges, which are parts of their own in a
    pack: id_face_1 is the lowest; a design names it whole."""

    step: str | None = key(FILE, "A STEP file with one solid, in the same repository.", optional=True)
    code: str | None = key(
        FILE,
        "A Python file with a function that returns a CadQuery solid. It is only run if whoever builds the design asks"
        " for it.",
        optional=True,
    )
    package: str | None = key(
        text(least=1),
        "A solid of an installed package: the name of an entry point of the group foamwright.solids, a function that "
        "returns a CadQuery solid.",
        optional=True,
    )
    function: str = key(TEXT, "The function in the file `code`.", default="solid")
    args: Mapping[str, float] = key(
        mapping(QUANTITY), "What the function is given, by name: numbers, or expressions over parameters.", default={}
    )
    scale: float = key(NUMBER, "Times the size in which it was modelled.", more_than=0, default=1)
    layers: int = key(COUNT, "Laminated from so many sheets.", at_most=50, default=1)
    faces: int | None = key(COUNT, "How many flat faces it has, each of which becomes a plate.", optional=True)
    at: Placement = key(
        Placement,
        "Where the solid's own origin lies, the way of its z axis and of its y axis; the face that lies further along "
        "z is the outside.",
        default={"normal": "z"},
    )


class Solid(Kind):
    name = "solid"
    fields = Fields
    in_trade = "solid modelled elsewhere"

    def check(self, part: PartSpec, forms: Mapping[str, FormSpec], source: Source) -> None:
        values = part.values
        if values.get("faces") is not None and values["layers"] != 1:
            raise mistake(
                source.where(("parts", part.id, "layers")), "layers of plates", "`layers` or `faces`, not both"
            )
        if "step" in values and values["args"]:
            raise mistake(
                source.where(("parts", part.id, "args")), "args of a STEP file", "args with `code` or `package`"
            )

    def packages(self, part: PartSpec) -> tuple[str, ...]:
        """The one that its solid comes from; none while it is not installed, which is an error when it is built."""
        from importlib.metadata import entry_points

        if "package" not in part.values:
            return ()
        return tuple(provider(point) for point in entry_points(group=SOLIDS, name=part.values["package"]))

    def members(self, part: PartSpec, thickness: float) -> tuple[PartSpec, ...]:
        """A plate for each face, if it is built from its faces."""
        count = part.values.get("faces")
        if count is None:
            return (part,)
        return tuple(member(part, f"face_{k}", f"face {k}", face=k) for k in range(1, count + 1))

    def body(self, part: PartSpec, among: Surroundings) -> FlatBody:
        from foamwright.parts.own_solids import layered_body, own_solid, plate_of
        from foamwright.parts.placing import frame_at

        values, thickness = part.values, among.stock(part).thickness
        solid = own_solid(values, among.folder, among.run_own_code)
        frame = frame_at(values["at"], among.surface)
        if values.get("faces") is not None:
            return plate_of(solid, frame, thickness, values["face"], values["faces"], values["whole"])
        return layered_body(solid, frame, thickness, values["layers"])

    def solid(self, piece: Piece[Any]) -> tuple[TopoDS_Shape, Mapping[str, Sequence[TopoDS_Face]]] | None:
        """The solid itself where it is cut from sheets; a plate of a face is modelled as any other plate."""
        from foamwright.parts.own_solids import OwnBody

        if not isinstance(piece.body, OwnBody):
            return None
        shape, faces = piece.body.placed()
        return shape.wrapped, {name: tuple(face.wrapped for face in group) for name, group in faces.items()}


KIND = Solid()
