"""What a build tells of glue, of a prop of flat parts alone: their meshes are as true as their solids, so that what touches is
what a build finds. Lengths in mm, masses in kg."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from foamwright.contacts.find import find_contacts
from foamwright.contacts.glued_down import by_the_way_told
from foamwright.contacts.joins import clearance_of, glued_groups, joined
from foamwright.contacts.records import Face, Solid
from foamwright.contacts.solids import faces_of
from foamwright.contacts.weak_joints import weak_joints_told
from foamwright.look.records import Copy
from foamwright.model.placed import placed
from foamwright.model.stability import centroid
from foamwright.parts.records import FlatBody, Prop

_BROAD = 0.999  # cosine


def told_as_built(prop: Prop, copies: Sequence[Copy]) -> list[str]:
    """The lines of `by_the_way_told` and `weak_joints_told`; none for a prop in which something is bent."""
    if not all(isinstance(piece.body, FlatBody) for piece in prop.pieces):
        return []
    faces: dict[str, tuple[Face, ...]] = {}
    for copy in copies:
        if copy.piece.id not in faces:
            faces[copy.piece.id] = _faces(copy)
    solids = [
        Solid(copy.piece.id, copy.number, faces[copy.piece.id], copy.matrix, copy.piece.stock.thickness)
        for copy in copies
    ]
    contacts = find_contacts(solids, clearance_of(prop.design))
    prop = joined(prop, contacts)
    masses, points = {}, {}
    for copy in copies:
        volume, middle = centroid(copy.mesh.points, copy.mesh.triangles)
        mass = placed(copy.piece, copy.number, copy.mesh, volume).mass
        masses[copy.piece.id, copy.number], points[copy.piece.id, copy.number] = (mass, middle), copy.mesh.points
    weak = weak_joints_told(prop, contacts, glued_groups(prop, contacts), masses, points)
    return [*by_the_way_told(prop, contacts), *weak]


def _faces(copy: Copy) -> tuple[Face, ...]:
    """The faces of a flat part as modelled; what was cut has one name."""
    assert isinstance(copy.piece.body, FlatBody)
    square = copy.piece.body.frame.axes[:, 2]
    made = faces_of("cut", [(copy.modelled.points, copy.modelled.triangles)])
    along = [float(face.plane.normal @ square) if face.plane is not None else 0.0 for face in made]
    return tuple(
        replace(face, id="outside" if way > 0.0 else "inside") if abs(way) > _BROAD else face
        for face, way in zip(made, along)
    )
