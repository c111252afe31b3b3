"""Borders of triangles put together to closed loops."""

from __future__ import annotations

import numpy as np
import shapely
from shapely.geometry import LinearRing, MultiPolygon, Polygon


def chained(segments: np.ndarray) -> list[list[int]]:
    """Directed segments (s, 2) put end to end to closed loops of vertices."""
    ahead: dict[int, list[int]] = {}
    for a, b in segments.tolist():
        if a != b:
            ahead.setdefault(a, []).append(b)
    loops = []
    while ahead:
        start = next(iter(ahead))
        loop, here = [], start
        while here in ahead:
            loop.append(here)
            after = ahead[here].pop()
            if not ahead[here]:
                del ahead[here]
            here = after
            if here == start:
                break
        loops.append(loop)
    return loops


def covered(flat: np.ndarray, triangles: np.ndarray) -> MultiPolygon:
    """What triangles (m, 3) with the corners `flat` (n, 2) cover, counter-clockwise and without overlaps."""
    sides = triangles[:, [[0, 1], [1, 2], [2, 0]]].reshape(-1, 2)
    known = set(map(tuple, sides.tolist()))
    rim = np.array([side for side in sides.tolist() if (side[1], side[0]) not in known]).reshape(-1, 2)
    rings = [LinearRing(flat[loop]) for loop in chained(rim) if len(loop) > 2]
    outer = shapely.union_all([shapely.make_valid(Polygon(ring)) for ring in rings if ring.is_ccw])
    holes = shapely.union_all([shapely.make_valid(Polygon(ring)) for ring in rings if not ring.is_ccw])
    return polygons(outer - holes)


def polygons(shape: shapely.Geometry) -> MultiPolygon:
    """The polygons of a shape, without its lines and points."""
    parts = shapely.get_parts(shape)
    inner = [piece for part in parts for piece in shapely.get_parts(part)]
    return MultiPolygon([piece for piece in inner if isinstance(piece, Polygon)])
