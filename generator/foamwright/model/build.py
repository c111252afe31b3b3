"""Every part as a solid with named faces, and every copy in its place. Lengths in mm."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import replace

import numpy as np
from OCP.BRepBuilderAPI import BRepBuilderAPI_Transform
from OCP.TopoDS import TopoDS, TopoDS_Face

from foamwright.errors import BuildError
from foamwright.model.band import band_solid
from foamwright.model.brep import volume
from foamwright.model.facets import band_facets, panel_facets
from foamwright.model.failure import SHAPE_ERRORS, ShapeFailure
from foamwright.model.flat import flat_solid
from foamwright.model.meshes import FaceMesh, face_meshes, fineness, is_closed, tessellate, turn_over
from foamwright.model.panel import panel_solid
from foamwright.model.records import Copy, Model, NamedSolid, Prototype, transformation
from foamwright.model.rod import rod_solid
from foamwright.parts.records import BandBody, FlatBody, PanelBody, Piece, Placement, Prop, RodBody
from foamwright.registry import kind
from foamwright.working import working_on

MIRROR = np.diag([1.0, -1.0, 1.0, 1.0])  # a mirrored copy is modelled as the image in the plane y = 0
FACETS = "its solid is made of flat facets, since no smooth one could be made"
UNBEVELLED = "its solid is cut square, since none with its bevels could be made"


def build_model(prop: Prop) -> Model:
    """Model every part once, and once more for its mirror image, and place all copies.

    Raises BuildError naming a part of which no solid can be made.
    """
    prototypes: list[Prototype] = []
    copies: list[Copy] = []
    for piece in prop.pieces:
        own = {False: prototype(piece)}
        if any(_reflects(p) for p in piece.placements):
            own[True] = mirror_image(own[False])
        prototypes += own.values()
        for number, placement in enumerate(piece.placements, 1):
            mirrored = _reflects(placement)
            matrix = placement.matrix @ MIRROR if mirrored else placement.matrix
            copies.append(Copy(piece, number, own[mirrored], matrix))
    return Model(prop, tuple(prototypes), tuple(copies))


def prototype(piece: Piece) -> Prototype:
    """The part as modelled: exact if that can be, else the nearest that can. Raises BuildError for neither."""
    working_on(f"part {piece.id}")
    made, meshes, size, shortfall = _modelled(piece)
    return Prototype(piece.id, piece, False, made.shape, made.faces, meshes, size, shortfall)


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


def _modelled(piece: Piece) -> tuple[NamedSolid, tuple[FaceMesh, ...], float, str]:
    """The solid with its triangles, its volume in mm3, and what it lacks."""
    thickness = piece.thickness
    own = kind(piece.kind).solid(piece)
    if own is not None:
        made = NamedSolid(own[0], {name: tuple(faces) for name, faces in own[1].items()})
        size = volume(made.shape)
        if size <= 0.0:
            raise BuildError(f"part {piece.id}: the solid of its kind {piece.kind} is empty or inside out")
        tessellate(made.shape, fineness(piece.body, made.shape))
        return made, face_meshes(made.shape), size, ""
    attempts = _ATTEMPTS[type(piece.body)]
    for attempt, shortfall in attempts:
        try:
            made = attempt(piece.body, thickness)
            size = volume(made.shape)
            if size <= 0.0:
                raise ShapeFailure("the solid is inside out")
            tessellate(made.shape, fineness(piece.body, made.shape))
            meshes = face_meshes(made.shape)
            # where a panel closes on itself within a face, as a slit dome does, the kernel was seen to lose whole faces
            if isinstance(piece.body, PanelBody) and not is_closed(meshes):
                raise ShapeFailure("the kernel makes no closed mesh of the solid")
            return made, meshes, size, shortfall
        except SHAPE_ERRORS as error:
            reason = error
    raise BuildError(f"part {piece.id}: no solid can be made of it: {reason}") from reason


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
