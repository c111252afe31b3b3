"""Copies of a first look as solids with named faces, of which contacts are found as a build finds them. Lengths in mm."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import replace

import numpy as np

from foamwright.contacts.declared import meant
from foamwright.contacts.find import find_contacts
from foamwright.contacts.joins import clearance_of
from foamwright.contacts.records import Face, Solid
from foamwright.contacts.solids import faces_of
from foamwright.design.records import Design
from foamwright.look.records import Copy
from foamwright.parts.records import BandBody, FlatBody, PanelBody, RodBody

_BROAD = 0.999  # cosine
_SLACK = 0.25  # mm that the mesh of a bent part may stand off its true faces
_NAMES = {PanelBody: {0: "inside", 1: "outside"}, BandBody: {3: "inside", 1: "outside"}, RodBody: {0: "outside"}}


def solids_of(copies: Sequence[Copy]) -> list[Solid]:
    """In the order of the copies."""
    faces: dict[str, tuple[Face, ...]] = {}
    for copy in copies:
        if copy.piece.id not in faces:
            faces[copy.piece.id] = _flat(copy) if isinstance(copy.piece.body, FlatBody) else _bent(copy)
    return [
        Solid(copy.piece.id, copy.number, faces[copy.piece.id], copy.matrix, copy.piece.stock.thickness)
        for copy in copies
    ]


def unglued(design: Design, copies: Sequence[Copy], sharing: Iterable[tuple[int, int]]) -> frozenset[frozenset[int]]:
    """Of pairs of copies, by their numbers, that share space those that do so as the design declares, of which no face lies on
    one of the other, and neither rests on the other."""
    apart, declared = set(), meant(design)
    for pair in sharing:
        one, other = (copies[number].piece for number in pair)
        if {one.id, other.id} in declared and other.id not in one.rests_on and one.id not in other.rests_on:
            bent = sum(not isinstance(piece.body, FlatBody) for piece in (one, other))
            named = solids_of([copies[number] for number in pair])
            if not find_contacts(named, clearance_of(design) + bent * _SLACK).found:
                apart.add(frozenset(pair))
    return frozenset(apart)


def _flat(copy: Copy) -> tuple[Face, ...]:
    """The faces of a flat part as modelled; what was cut has one name."""
    assert isinstance(copy.piece.body, FlatBody)
    square = copy.piece.body.frame.axes[:, 2]
    made = faces_of("cut", [(copy.modelled.points, copy.modelled.triangles)])
    along = [float(face.plane.normal @ square) if face.plane is not None else 0.0 for face in made]
    return tuple(
        replace(face, id="outside" if way > 0.0 else "inside") if abs(way) > _BROAD else face
        for face, way in zip(made, along)
    )


def _bent(copy: Copy) -> tuple[Face, ...]:
    names = _NAMES.get(type(copy.piece.body), {})
    own: list[Face] = []
    for number in np.unique(copy.smooth).tolist():
        triangles = copy.modelled.triangles[copy.smooth == number]
        own += faces_of(names.get(number, f"cut {number}"), [(copy.modelled.points, triangles)])
    return tuple(own)
