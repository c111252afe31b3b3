"""How deep pieces run into each other, for many places at once. Lengths in mm.

Two convex polygons a and b overlap where the place of b relative to a lies inside the sum of a and -b, which is
bounded by the normals of the sides of both; how deep is the distance to the nearest of those bounds.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field

import numpy as np


@dataclass(frozen=True, eq=False)
class Turned:
    """A piece in one way: `corners` (parts, K, 2), short polygons filled up with their last point."""

    angle: float
    flipped: bool
    corners: np.ndarray
    normals: np.ndarray  # (parts, K, 2) outward and unit, of the side from each corner to the next
    reach: np.ndarray  # (parts, K) of the part along each normal
    low: np.ndarray  # (2,) corners of the box around it
    high: np.ndarray

    @property
    def size(self) -> np.ndarray:
        return self.high - self.low


def turned(parts: Sequence[np.ndarray], angle: float, flipped: bool = False) -> Turned:
    """The convex polygons of a piece, reflected (x to -x) if `flipped`, then turned by `angle` degrees."""
    if flipped:
        parts = [p[::-1] * (-1.0, 1.0) for p in parts]
    a = np.radians(angle)
    turn = np.round(np.array([[np.cos(a), np.sin(a)], [-np.sin(a), np.cos(a)]]), 15)
    most = max(len(p) for p in parts)
    corners = np.stack([p[np.minimum(np.arange(most), len(p) - 1)] for p in parts]) @ turn
    side = np.roll(corners, -1, axis=1) - corners
    length = np.linalg.norm(side, axis=2, keepdims=True)
    with np.errstate(invalid="ignore", divide="ignore"):
        normals = np.stack([side[..., 1], -side[..., 0]], axis=-1) / length
    first = normals[:, :1]  # a side without length repeats a bound that holds anyway
    normals = np.where(length > 1e-9, normals, first)
    reach = np.einsum("pki,pli->pkl", normals, corners).max(axis=2)
    points = corners.reshape(-1, 2)
    return Turned(angle, flipped, corners, normals, reach, points.min(axis=0), points.max(axis=0))


@dataclass(frozen=True, eq=False)
class Bounds:
    """Where one turned piece overlaps another: for each pair of their parts half planes n . r <= d.

    r is the place of the second piece less that of the first.
    """

    normals: np.ndarray  # (2, width, pairs)
    limits: np.ndarray  # (width, pairs)

    def depths(self, r: np.ndarray) -> np.ndarray:
        """(N, pairs) how deep each pair of parts overlaps at the places `r` (N, 2); negative is apart."""
        x, y = r.T[:, :, None, None]
        return (self.limits - x * self.normals[0] - y * self.normals[1]).min(axis=1)


def bounds(a: Turned, b: Turned) -> Bounds:
    """Where `b` overlaps `a`."""
    na, nb = a.normals, -b.normals
    reach_b = -np.einsum("pki,qli->pqkl", na, b.corners).min(axis=3)  # of -b along the normals of a
    reach_a = np.einsum("qki,pli->pqkl", nb, a.corners).max(axis=3)  # of a along the normals of -b
    limits = np.concatenate([a.reach[:, None] + reach_b, reach_a + b.reach[None]], axis=2)
    shape = (len(na), len(nb))
    normals = np.concatenate(
        [
            np.broadcast_to(na[:, None], (*shape, *na.shape[1:])),
            np.broadcast_to(nb[None], (*shape, *nb.shape[1:])),
        ],
        axis=2,
    )
    width = limits.shape[2]
    return Bounds(
        np.ascontiguousarray(normals.reshape(-1, width, 2).T),
        np.ascontiguousarray(limits.reshape(-1, width).T),
    )


@dataclass(eq=False)
class Table:
    """The bounds of every two turned shapes that were asked for; `shapes[s][t]` is shape s at its t-th angle."""

    shapes: Sequence[Sequence[Turned]]
    _known: dict[tuple[int, int, int, int], Bounds] = field(default_factory=dict)

    def between(self, a: tuple[int, int], b: tuple[int, int]) -> Bounds:
        """Where shape and angle `b` overlaps shape and angle `a`."""
        key = (*a, *b)
        if key not in self._known:
            self._known[key] = bounds(self.shapes[a[0]][a[1]], self.shapes[b[0]][b[1]])
        return self._known[key]
