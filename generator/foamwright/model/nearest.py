"""The place on a mesh that is nearest to a solid. Lengths in mm."""

from __future__ import annotations

import numpy as np

from foamwright.geometry import boxes_apart
from foamwright.model.figure_solids import Solid

# mm, of the least distance over the triangles. Where the distance is not convex, the number of triangles looked
# at grows with the square of its inverse.
_FINE, _COARSE = 0.05, 1.0

Place = tuple[float, float, float]


def least_distance(
    points: np.ndarray, triangles: np.ndarray, solid: Solid, wanted: float = np.inf
) -> tuple[float, Place]:
    """(least distance, where) over a mesh: points (n, 3), triangles (m, 3).

    What does not come below `wanted` is not looked into further, and may be given too large. Over a triangle
    the distance is nowhere less than its tangent plane at the middle if it is convex, and else nowhere less
    than it is at the middle by more than the way to the corners: only the triangles that could still hold the
    least are divided.
    """
    corners = points[triangles]
    corners = corners[boxes_apart(solid.box, _boxes(corners)) <= max(wanted, 0.0)]
    resolution = _FINE if solid.convex else _COARSE
    best, at = np.inf, points[0]
    if len(corners):
        ends = np.unique(corners.reshape(-1, 3), axis=0)
        gap = solid.distance(ends)[0]
        best, at = float(gap.min()), ends[gap.argmin()]
    while len(corners):
        middle = corners.mean(axis=1)
        arms = corners - middle[:, None]
        reach = np.linalg.norm(arms, axis=2).max(axis=1)
        gap, gradient = solid.distance(middle)
        if gap.min() < best:
            best, at = float(gap.min()), middle[gap.argmin()]
        rise = np.einsum("nk,nik->ni", gradient, arms).min(axis=1) if solid.convex else -reach
        corners = corners[gap + rise < min(best, wanted) - resolution]
        corners = _halved(corners)
    x, y, z = map(float, at)
    return best, (x, y, z)


def _boxes(corners: np.ndarray) -> np.ndarray:
    """(n, 2, 3) around triangles (n, 3, 3)."""
    return np.stack([corners.min(axis=1), corners.max(axis=1)], axis=1)


def _halved(corners: np.ndarray) -> np.ndarray:
    """Triangles (n, 3, 3) divided in the middle of their longest sides, (2 n, 3, 3)."""
    sides = np.linalg.norm(np.roll(corners, -1, axis=1) - corners, axis=2)
    first = sides.argmax(axis=1)
    a, b, c = (corners[np.arange(len(corners)), (first + k) % 3] for k in range(3))
    middle = (a + b) / 2.0
    return np.vstack([np.stack(half, axis=1) for half in ((a, middle, c), (middle, b, c))])
