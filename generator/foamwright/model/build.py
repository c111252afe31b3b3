"""Every part as a solid with named faces, and every copy in its place. Lengths in mm."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import replace

import numpy as np
from OCP.BRepBuilderAPI import BRepBuilderAPI_Transform
from OCP.TopoDS import TopoDS, TopoDS_Face, TopoDS_Shape

from foamwright.errors import BuildError
from foamwright.model.band import band_solid
from foamwright.model.brep import volume
from foamwright.model.facets import band_facets, panel_facets
from foamwright.model.failure import SHAPE_ERRORS, ShapeFailure
from foamwright.model.flat import flat_solid
from foamwright.model.meshes import face_meshes, fineness, is_closed, tessellate, turn_over
from foamwright.model.packed import Packed, packed, unpacked
from foamwright.model.panel import panel_solid
from foamwright.model.records import Copy, Model, NamedSolid, Prototype, transformation
from foamwright.model.rod import rod_solid
from foamwright.parts.records import BandBody, FlatBody, PanelBody, Piece, Placement, Prop, RodBody
from foamwright.registry import kind
from foamwright.store import Store
from foamwright.working import working_on

MIRROR = np.diag([1.0, -1.0, 1.0, 1.0])  # a mirrored copy is modelled as the image in the plane y = 0
FACETS = "its solid is made of flat facets, since no smooth one could be made"
UNBEVELLED = "its solid is cut square, since none with its bevels could be made"


def build_model(prop: Prop, store: Store | None = None) -> Model:
    """Model every part once, and once more for its mirror image, and place all copies. The `store` keeps the solids; none keeps
    nothing.

    Raises BuildError naming a part of which no solid can be made.
    """
    prototypes: list[Prototype] = []
    copies: list[Copy] = []
    for piece in prop.pieces:
        own = {False: prototype(piece, store)}
        if any(_reflects(p) for p in piece.placements):
            own[True] = mirror_image(own[False])
        prototypes += own.values()
        for number, placement in enumerate(piece.placements, 1):
            mirrored = _reflects(placement)
            matrix = placement.matrix @ MIRROR if mirrored else placement.matrix
            copies.append(Copy(piece, number, own[mirrored], matrix))
    return Model(prop, tuple(prototypes), tuple(copies))


def prototype(piece: Piece, store: Store | None = None) -> Prototype:
    """The part as modelled: exact if that can be, else the nearest that can. Raises BuildError for neither."""
    working_on(f"part {piece.id}")
    store = Store(None) if store is None else store
    own = kind(piece.kind).solid(piece)
    if own is None:
        # the kernel rounds what it reads, so what has just been made is read as well: cold and warm packs are the same
        made, size, shortfall = store.kept("solid", (piece.body, _thickness(piece)), lambda: _modelled(piece))
        solid = unpacked(made)
    else:
        solid, size, shortfall = _of_its_kind(piece, *own), volume(own[0]), ""
    return Prototype(piece.id, piece, False, solid.shape, solid.faces, face_meshes(solid.shape), size, shortfall)


def mirror_image(original: Prototype) -> Prototype:
    """The reflection of a part as modelled, with the faces named alike and the same triangles."""
    reflection = BRepBuilderAPI_Transform(original.solid, transformation(MIRROR), True, True)
    shape = reflection.Shape()
    turn_over(shape)
    meshes = tuple(mesh.mirrored(MIRROR) for mesh in original.face_meshes)

    def image(face: TopoDS_Face) -> TopoDS_Face:
        return TopoDS.Face_s(reflection.ModifiedShape(face))

    named = {name: tuple(map(image, faces)) for name, faces in original.named.items()}
    key = f"{original.key}-mirrored"
    return replace(original, key=key, mirrored=True, solid=shape, named=named, face_meshes=meshes)


def _of_its_kind(piece: Piece, shape: TopoDS_Shape, faces: Mapping[str, Sequence[TopoDS_Face]]) -> NamedSolid:
    """The solid that a kind makes by itself, with its triangles."""
    if volume(shape) <= 0.0:
        raise BuildError(f"part {piece.id}: the solid of its kind {piece.kind} is empty or inside out")
    tessellate(shape, fineness(piece.body, shape))
    return NamedSolid(shape, {name: tuple(own) for name, own in faces.items()})


def _modelled(piece: Piece) -> tuple[Packed, float, str]:
    """The solid with its triangles, its volume in mm3, and what it lacks."""
    for attempt, shortfall in _ATTEMPTS[type(piece.body)]:
        try:
            made = attempt(piece.body, _thickness(piece))
            size = volume(made.shape)
            if size <= 0.0:
                raise ShapeFailure("the solid is inside out")
            tessellate(made.shape, fineness(piece.body, made.shape))
            # where a panel closes on itself within a face, as a slit dome does, the kernel was seen to lose whole faces
            if isinstance(piece.body, PanelBody) and not is_closed(face_meshes(made.shape)):
                raise ShapeFailure("the kernel makes no closed mesh of the solid")
            return packed(made), size, shortfall
        except SHAPE_ERRORS as error:
            reason = error
    raise BuildError(f"part {piece.id}: no solid can be made of it: {reason}{_hint(piece)}") from reason


def _hint(piece: Piece) -> str:
    """What most often stands behind a panel of which no solid can be made, as the end of a sentence."""
    if not isinstance(piece.body, PanelBody):
        return ""
    return (
        f"; it may be too narrow, or bent too tightly, for {_thickness(piece):g} mm of foam somewhere, as at a fine tip: end it "
        "before that with another cut, or take thinner foam"
    )


def _thickness(piece: Piece) -> float:
    return piece.stock.thickness * piece.layers


def _square_cut(body: FlatBody, thickness: float) -> NamedSolid:
    return flat_solid(replace(body, runs=tuple(replace(run, bevel=(0.0,)) for run in body.runs)), thickness)


_Attempt = tuple[Callable[..., NamedSolid], str]
_ATTEMPTS: Mapping[type, tuple[_Attempt, ...]] = {
    PanelBody: ((panel_solid, ""), (panel_facets, FACETS)),
    BandBody: ((band_solid, ""), (band_facets, FACETS)),
    FlatBody: ((flat_solid, ""), (_square_cut, UNBEVELLED)),
    RodBody: ((rod_solid, ""),),
}


def _reflects(placement: Placement) -> bool:
    return bool(np.linalg.det(placement.matrix[:3, :3]) < 0.0)
