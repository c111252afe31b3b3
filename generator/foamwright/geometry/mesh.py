"""The one record of a triangle mesh in space."""

from __future__ import annotations

import hashlib
from dataclasses import dataclass
from functools import cached_property

import numpy as np
from scipy.sparse import coo_array
from scipy.sparse.csgraph import connected_components

from foamwright.geometry.fixed import read_only


@dataclass(frozen=True, eq=False)
class Mesh:
    """`points` (n, 3) in mm and `triangles` (m, 3) of their numbers, counter-clockwise seen from outside.

    Whether it is closed is said where it matters. Both arrays are made read-only.
    """

    points: np.ndarray
    triangles: np.ndarray

    def __post_init__(self) -> None:
        points = np.array(self.points, float, order="C").reshape(-1, 3)
        triangles = np.array(self.triangles, np.int64, order="C").reshape(-1, 3)
        for name, array in (("points", points), ("triangles", triangles)):
            object.__setattr__(self, name, read_only(array))

    @property
    def corners(self) -> np.ndarray:
        """(m, 3, 3) the points of each triangle."""
        return self.points[self.triangles]

    @cached_property
    def area_vectors(self) -> np.ndarray:
        """(m, 3) along each triangle's normal, as long as its area in mm2."""
        a, b, c = self.corners.transpose(1, 0, 2)
        return read_only(np.cross(b - a, c - a) / 2)

    @cached_property
    def digest(self) -> bytes:
        """Hash of both arrays, under which is kept what follows from them."""
        return hashlib.sha256(self.points.tobytes() + self.triangles.tobytes()).digest()

    @property
    def areas(self) -> np.ndarray:
        """(m,) mm2."""
        return np.linalg.norm(self.area_vectors, axis=1)

    @property
    def face_normals(self) -> np.ndarray:
        """(m, 3) unit; 0 for a triangle without area."""
        return self.area_vectors / np.maximum(self.areas, 1e-300)[:, None]

    @property
    def volume(self) -> float:
        """Of a closed mesh, mm3; negative where it is inside out (divergence theorem)."""
        return float((self.points[self.triangles[:, 0]] * self.area_vectors).sum() / 3)

    @property
    def diagonal(self) -> float:
        """Of the box around all points, mm."""
        return float(np.linalg.norm(np.ptp(self.points, axis=0)))

    def moved(self, matrix: np.ndarray) -> Mesh:
        """Taken elsewhere by a (4, 4) matrix; a reflection turns the triangles over, so that outside stays outside."""
        points = self.points @ matrix[:3, :3].T + matrix[:3, 3]
        return Mesh(points, self.triangles[:, ::-1] if np.linalg.det(matrix[:3, :3]) < 0 else self.triangles)

    @staticmethod
    def joined(meshes: list[Mesh] | tuple[Mesh, ...]) -> Mesh:
        """Several meshes as one, nothing merged."""
        if not meshes:
            return Mesh(np.zeros((0, 3)), np.zeros((0, 3), np.int64))
        starts = np.cumsum([0] + [len(m.points) for m in meshes[:-1]])
        triangles = [m.triangles + start for m, start in zip(meshes, starts)]
        return Mesh(np.vstack([m.points for m in meshes]), np.vstack(triangles))


def connected(triangles: np.ndarray, count: int) -> np.ndarray:
    """(count,) by point, the number from 0 of the connected piece of triangles (m, 3) that it is in; a point in none is one by
    itself."""
    pairs = triangles[:, [0, 1, 1, 2]].reshape(-1, 2)
    graph = coo_array((np.ones(len(pairs)), pairs.T), shape=(count, count))
    return np.asarray(connected_components(graph, directed=False)[1])


def along_sides(points: np.ndarray, triangles: np.ndarray, spacing: float) -> tuple[np.ndarray, np.ndarray]:
    """Places (k, 3) between the corners along the sides of triangles (m, 3), each side once, so that no gap is wider than
    `spacing` in mm; and the corners (k, 2) at the ends of each place's side."""
    ends = np.unique(np.sort(triangles[:, [[0, 1], [1, 2], [2, 0]]].reshape(-1, 2), axis=1), axis=0)
    start, span = points[ends[:, 0]], points[ends[:, 1]] - points[ends[:, 0]]
    count = (np.linalg.norm(span, axis=1) / spacing).astype(int)
    side = np.repeat(np.arange(len(ends)), count)
    share = (np.arange(len(side)) - np.repeat(np.cumsum(count) - count, count) + 1) / (count[side] + 1)
    return start[side] + share[:, None] * span[side], ends[side]
