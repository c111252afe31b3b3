"""From a design to its first look."""

from __future__ import annotations

from collections.abc import Sequence

import manifold3d
import numpy as np

from foamwright.errors import BuildError
from foamwright.geometry import Mesh
from foamwright.look.meshes import shape_of
from foamwright.look.records import Copy, Look, Overlap
from foamwright.model.overlap import shared, solid
from foamwright.parts.attempt import Attempt, Failure
from foamwright.parts.records import Piece
from foamwright.store import Store


def first_look(placed: Attempt, store: Store | None = None) -> Look:
    """Every copy in place and what shares space. What has no closed shape joins the failures and is not shown.

    The meshes of parts, and what two of them share, are taken from the `store` while they stay.
    """
    store = store or Store(None)
    copies: list[Copy] = []
    bodies: list[manifold3d.Manifold] = []
    failures = list(placed.failures)
    for piece in placed.pieces:
        try:
            here = copies_of(piece, store)
            bodies += _bodies(piece.id, [copy.mesh for copy in here])
        except BuildError as error:
            failures.append(Failure(piece.id, str(error)))
            continue
        copies += here
    meant = {frozenset(pair) for pair in placed.design.expected_overlaps}
    overlaps = []
    for s in shared(bodies):
        a, b = copies[s.a], copies[s.b]
        declared = frozenset((a.piece.id, b.piece.id)) in meant
        overlaps.append(Overlap(a, b, s.volume, s.depth, s.at, declared, _joined(s.pieces)))
    overlaps.sort(key=lambda overlap: -overlap.volume)
    return Look(placed.design, tuple(copies), tuple(overlaps), tuple(failures))


def copies_of(piece: Piece, store: Store | None = None) -> tuple[Copy, ...]:
    """Every copy of a part in its place. BuildError: no closed shape can be made of it."""
    told = (piece.kind, piece.body, piece.stock.thickness, piece.layers)
    shape = (store or Store(None)).kept("shape", told, lambda: shape_of(piece))
    return tuple(
        Copy(piece, number, shape.mesh.moved(place.matrix), shape.mesh, shape.smooth, place.matrix)
        for number, place in enumerate(piece.placements, 1)
    )


def _bodies(part: str, meshes: Sequence[Mesh]) -> list[manifold3d.Manifold]:
    bodies = [solid(mesh.points, mesh.triangles) for mesh in meshes]
    if any(body.status() != manifold3d.Error.NoError for body in bodies):
        raise BuildError(f"part {part}: its shape is not closed")
    return bodies


def _joined(pieces: Sequence[manifold3d.Manifold]) -> Mesh:
    meshes = [piece.to_mesh64() for piece in pieces]
    return Mesh.joined([Mesh(np.asarray(m.vert_properties)[:, :3], np.asarray(m.tri_verts)) for m in meshes])
