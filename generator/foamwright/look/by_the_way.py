"""What is to be lifted off, and touches by the way what other things are glued to, in a prop of flat parts alone: their meshes
are as true as their solids, so that what touches is what a build finds. Lengths in mm."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from foamwright.contacts.find import find_contacts
from foamwright.contacts.glued_down import by_the_way_told
from foamwright.contacts.joins import clearance_of, joined
from foamwright.contacts.records import Face, Solid
from foamwright.contacts.solids import faces_of
from foamwright.look.records import Copy
from foamwright.parts.records import FlatBody, Prop

_BROAD = 0.999  # cosine


def by_the_way_seen(prop: Prop, copies: Sequence[Copy]) -> list[str]:
    """The lines of `by_the_way_told`; none for a prop in which something is bent, or nothing rests or hangs."""
    flat = all(isinstance(piece.body, FlatBody) for piece in prop.pieces)
    if not flat or not any(piece.carried_by for piece in prop.pieces):
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
    return by_the_way_told(joined(prop, contacts), contacts)


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
