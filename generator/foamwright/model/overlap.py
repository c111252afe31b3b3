"""Which of several closed meshes share space. Lengths in mm."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import manifold3d
import numpy as np

TOLERANCE = 0.3  # mm


@dataclass(frozen=True, eq=False)
class Shared:
    """What two bodies, by their numbers, share: how much (mm3), how thick (mm), about where, and the space itself."""

    a: int
    b: int
    volume: float
    depth: float
    at: tuple[float, float, float]
    pieces: tuple[manifold3d.Manifold, ...]


def solid(points: np.ndarray, triangles: np.ndarray) -> manifold3d.Manifold:
    """The body within a closed mesh: points (n, 3), triangles (m, 3); its `status` tells whether it is closed."""
    return manifold3d.Manifold(manifold3d.Mesh64(np.array(points, order="C"), triangles.astype(np.uint64)))


def shared(bodies: Sequence[manifold3d.Manifold], tolerance: float = TOLERANCE) -> Iterator[Shared]:
    """Every pair of bodies whose common space is thicker than `tolerance`.

    Thickness is twice volume over surface, that of a thin plate: the triangles of two curved faces that only
    touch overlap in slivers, which are wide but far thinner than any true fault.
    """
    boxes = np.array([body.bounding_box() for body in bodies]).reshape(-1, 6)
    for i, j in near(boxes, tolerance):
        overlap = between(i, j, bodies[i], bodies[j], tolerance)
        if overlap is not None:
            yield overlap


def near(boxes: np.ndarray, tolerance: float = TOLERANCE) -> Iterator[tuple[int, int]]:
    """Every pair of bodies, by their numbers, whose boxes (n, 6), lowest corner and highest, share more than
    `tolerance`."""
    for i in range(len(boxes)):
        meet = (boxes[i, :3] < boxes[i + 1 :, 3:] - tolerance).all(axis=1)
        meet &= (boxes[i + 1 :, :3] < boxes[i, 3:] - tolerance).all(axis=1)
        for j in (np.flatnonzero(meet) + i + 1).tolist():
            yield i, j


def between(
    a: int, b: int, body_a: manifold3d.Manifold, body_b: manifold3d.Manifold, tolerance: float = TOLERANCE
) -> Shared | None:
    """What two bodies of these numbers share, less the pieces thinner than `tolerance`."""
    volume, depth, at = 0.0, 0.0, (0.0, 0.0, 0.0)
    thick_enough = []
    for part in (body_a ^ body_b).decompose():
        thick = 2.0 * part.volume() / max(part.surface_area(), 1e-9)
        if thick > tolerance:
            volume += part.volume()
            thick_enough.append(part)
            if thick > depth:
                box = np.array(part.bounding_box()).reshape(2, 3)
                x, y, z = box.mean(axis=0).tolist()
                depth, at = thick, (x, y, z)
    return Shared(a, b, volume, depth, at, tuple(thick_enough)) if thick_enough else None
