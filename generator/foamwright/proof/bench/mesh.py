"""Triangles over the foam of a part as it lies on the bench."""

from __future__ import annotations

from collections.abc import Sequence
from functools import lru_cache

import numpy as np
import shapely
from scipy.spatial import Delaunay

from foamwright.geometry import chord_length
from foamwright.proof.bench.foam import Part, corners
from foamwright.proof.bench.pieces import Sheet

_CLEAR = 0.62  # of the spacing: how far inner points keep from the lines
_TURN = 25.0  # degrees of a line: what turns more at a point is a corner
_ROUNDS = 8


@lru_cache(maxsize=256)
def sheet_of(part: Part, spacing: float) -> Sheet:
    """A sheet of about equilateral triangles of side `spacing` mm, darts and holes cut out.

    Where the sides of triangles do not follow a line, points are added to it.
    """
    rings = [_spaced(ring, _corners(ring, part), spacing) for ring in part.neutral_rings]
    shape = shapely.Polygon(rings[0], rings[1:])
    inner = _lattice(shape if shape.is_valid else shape.buffer(0.0), spacing)
    for _ in range(_ROUNDS):
        flat = np.vstack([*rings, inner])
        triangles = _triangles(flat, rings)
        missing = _missing(rings, triangles)
        if not any(missing):
            break
        rings = [_halved(ring, at) for ring, at in zip(rings, missing)]
    used = np.unique(triangles)
    renumbered = np.full(len(flat), -1)
    renumbered[used] = np.arange(len(used))
    return Sheet(flat[used], renumbered[triangles])


def _corners(ring: np.ndarray, part: Part) -> np.ndarray:
    """Indices of the points of a ring that must be kept: corners, and where darts begin and end."""
    kept = set(corners(ring, _TURN).tolist())
    for dart in part.darts:
        for point in (dart.first[0], dart.first[-1], dart.second[0]):
            away = np.linalg.norm(ring - point, axis=1)
            if away.min() < 3.0:
                kept.add(int(away.argmin()))
    if not kept:
        kept = {0}
    return np.array(sorted(kept))


def _spaced(ring: np.ndarray, kept: np.ndarray, spacing: float) -> np.ndarray:
    pieces = []
    span = len(ring)
    for i, j in zip(kept, np.roll(kept, -1)):
        line = ring[np.arange(i, i + ((j - i) % span or span) + 1) % span]
        s = chord_length(line)
        if s[-1] < 0.2:
            continue
        count = max(8 if len(kept) == 1 else 1, int(np.ceil(s[-1] / spacing)))
        at = np.linspace(0.0, s[-1], count + 1)[:-1]
        pieces.append(np.column_stack([np.interp(at, s, column) for column in line.T]))
    return np.vstack(pieces)


def _lattice(shape: shapely.Geometry, spacing: float) -> np.ndarray:
    x0, y0, x1, y1 = shape.bounds
    rows = np.arange(y0 + spacing / 2, y1, spacing * np.sqrt(3) / 2)
    points = [
        np.column_stack([x, np.full(len(x), y)])
        for i, y in enumerate(rows)
        for x in [np.arange(x0 + (i % 2) * spacing / 2, x1, spacing)]
    ]
    lattice = np.vstack([*points, np.zeros((0, 2))])
    room = shape.buffer(-_CLEAR * spacing)
    shapely.prepare(room)
    return lattice[shapely.contains_xy(room, lattice[:, 0], lattice[:, 1])]


def _triangles(flat: np.ndarray, rings: Sequence[np.ndarray]) -> np.ndarray:
    triangles = Delaunay(flat, qhull_options="Qbb Qc Qz Q12").simplices
    a, b, c = (flat[triangles[:, k]] for k in range(3))
    area = (b - a)[:, 0] * (c - a)[:, 1] - (b - a)[:, 1] * (c - a)[:, 0]
    triangles = np.where((area < 0)[:, None], triangles[:, ::-1], triangles)
    shape = shapely.Polygon(rings[0], rings[1:])
    shape = shape if shape.is_valid else shape.buffer(0.0)
    shapely.prepare(shape)
    kept = (np.abs(area) > 1e-6) & shapely.contains_xy(shape, *flat[triangles].mean(axis=1).T)
    return triangles[kept]


def _missing(rings: Sequence[np.ndarray], triangles: np.ndarray) -> list[list[int]]:
    sides = np.sort(triangles[:, [[0, 1], [1, 2], [2, 0]]].reshape(-1, 2), axis=1)
    present = set(map(tuple, sides.tolist()))
    missing, behind = [], 0
    for ring in rings:
        own = np.arange(behind, behind + len(ring))
        pairs = np.sort(np.column_stack([own, np.roll(own, -1)]), axis=1)
        missing.append([k for k, pair in enumerate(pairs.tolist()) if tuple(pair) not in present])
        behind += len(ring)
    return missing


def _halved(ring: np.ndarray, at: Sequence[int]) -> np.ndarray:
    middles = (ring + np.roll(ring, -1, axis=0)) / 2
    return np.insert(ring, [k + 1 for k in at], middles[list(at)], axis=0) if at else ring


def rounded(
    points: np.ndarray, normals: np.ndarray, triangles: np.ndarray
) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """Points (n, 3) in space, unit normals there and triangles, with every side halved at a point above its middle: as high as
    the arc stands that has these normals at both ends, (q - p) . (n_q - n_p) / 8 to second order (on a circle h^2 / 8 R)."""
    sides = np.sort(triangles[:, [[0, 1], [1, 2], [2, 0]]].reshape(-1, 2), axis=1)
    sides, number = np.unique(sides, axis=0, return_inverse=True)
    p, q = points[sides[:, 0]], points[sides[:, 1]]
    one, two = normals[sides[:, 0]], normals[sides[:, 1]]
    between = one + two
    between /= np.maximum(np.linalg.norm(between, axis=1, keepdims=True), 1e-9)
    rise = ((q - p) * (two - one)).sum(axis=1) / 8.0
    middles = (p + q) / 2 + rise[:, None] * between
    i, j, k = triangles.T
    ij, jk, ki = (number.reshape(-1, 3) + len(points)).T
    halved = np.concatenate([np.stack(own, axis=1) for own in ((i, ij, ki), (ij, j, jk), (ki, jk, k), (ij, jk, ki))])
    return np.vstack([points, middles]), np.vstack([normals, between]), halved
