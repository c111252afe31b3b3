"""Whether a part lies on another with a broad face, or touches it with its edge only. Lengths in mm."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace

import manifold3d

from foamwright.geometry import Frame
from foamwright.look.meshes import shape_of
from foamwright.look.records import Copy
from foamwright.model.overlap import solid
from foamwright.parts.records import BandBody, Body, FlatBody
from foamwright.registry import Kind, kind

_LEAST = 1.0  # mm2 before a face, as much as a contact has at least


def lies_flat(copy: Copy, lower: manifold3d.Manifold, reach: float) -> bool:
    """Is there any of `lower` before a broad face of a copy, no further off than `reach`? What is neither flat nor a strip is
    not looked at: True."""
    if not isinstance(copy.piece.body, FlatBody | BandBody) or type(kind(copy.piece.kind)).solid is not Kind.solid:
        return True
    return any((before ^ lower).volume() > _LEAST * reach for before in _before_faces(copy, reach))


def _before_faces(copy: Copy, reach: float) -> Iterator[manifold3d.Manifold]:
    """The room within `reach` before each of a copy's two broad faces."""
    thickness = copy.piece.thickness
    layer = replace(copy.piece, stock=replace(copy.piece.stock, thickness=reach), layers=1)
    for off in (-reach, thickness):
        mesh = shape_of(replace(layer, body=_moved(copy.piece.body, off))).mesh.moved(copy.matrix)
        yield solid(mesh.points, mesh.triangles)


def _moved(body: Body, off: float) -> Body:
    """A flat body or a strip, off its own inside face by so much."""
    if isinstance(body, BandBody):
        return replace(body, inner_offset=body.inner_offset + off)
    assert isinstance(body, FlatBody)
    return replace(body, frame=Frame(body.frame.origin + off * body.frame.axes[:, 2], body.frame.axes))
