"""What a build tells of glue, of a prop of flat parts alone: their meshes are as true as their solids, so that what touches is
what a build finds. Lengths in mm, masses in kg."""

from __future__ import annotations

from collections.abc import Sequence

from foamwright.contacts.find import find_contacts
from foamwright.contacts.gaps import gaps_told
from foamwright.contacts.glued_down import by_the_way_told
from foamwright.contacts.joins import clearance_of, glued_groups, joined
from foamwright.contacts.weak_joints import weak_joints_told
from foamwright.look.records import Copy
from foamwright.look.touching import solids_of
from foamwright.model.placed import placed
from foamwright.model.stability import centroid
from foamwright.parts.records import FlatBody, Prop


def told_as_built(prop: Prop, copies: Sequence[Copy]) -> list[str]:
    """The lines of `by_the_way_told` and `weak_joints_told`; none for a prop in which something is bent."""
    if not all(isinstance(piece.body, FlatBody) for piece in prop.pieces):
        return []
    solids = solids_of(copies)
    contacts = find_contacts(solids, clearance_of(prop.design))
    prop = joined(prop, contacts)
    masses, points = {}, {}
    for copy in copies:
        volume, middle = centroid(copy.mesh.points, copy.mesh.triangles)
        mass = placed(copy.piece, copy.number, copy.mesh, volume).mass
        masses[copy.piece.id, copy.number], points[copy.piece.id, copy.number] = (mass, middle), copy.mesh.points
    weak = weak_joints_told(prop, contacts, glued_groups(prop, contacts), masses, points)
    return [*by_the_way_told(prop, contacts), *gaps_told(prop, contacts), *weak]
