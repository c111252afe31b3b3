"""The cross-section of a copy by a plane: what a saw would show. Lengths in mm."""

from __future__ import annotations

import numpy as np
import shapely

from foamwright.assembly.bodies import Bodies

_NUDGE = 1.3e-4  # mm: a plane through corners of triangles is moved off them
_GRID = 1e-5  # mm


def sliced(bodies: Bodies, copy: int, at: np.ndarray, view: np.ndarray) -> shapely.Geometry:
    """What a closed mesh has in the plane through `at` square to the third row of `view` (3, 3), in coordinates along
    the first two from `at`; empty where the plane misses it."""
    corners = (bodies.points[bodies.triangles[slice(*bodies.spans[copy])]] - at) @ view.T  # (m, 3, 3)
    level = corners[:, :, 2] - _NUDGE
    over = level > 0.0
    crossing = over.any(axis=1) & ~over.all(axis=1)
    corners, level, over = corners[crossing], level[crossing], over[crossing]
    if not len(corners):
        return shapely.Polygon()
    # the corner that is alone on its side, and the two that its edges lead to
    alone = np.where(over.sum(axis=1) == 1, over.argmax(axis=1), (~over).argmax(axis=1))
    rows = np.arange(len(corners))
    ends = []
    for step in (1, 2):
        other = (alone + step) % 3
        share = level[rows, alone] / (level[rows, alone] - level[rows, other])
        start, end = corners[rows, alone, :2], corners[rows, other, :2]
        ends.append(start + share[:, None] * (end - start))
    lines = shapely.set_precision(shapely.linestrings(np.stack(ends, axis=1)), _GRID)
    rings = shapely.get_parts(shapely.polygonize([shapely.union_all(lines)]))
    # a ring inside another is a hole: what an odd number of them cover is foam
    section: shapely.Geometry = shapely.Polygon()
    for ring in sorted((shapely.Polygon(r.exterior) for r in rings), key=lambda r: -r.area):
        section = shapely.symmetric_difference(section, ring)
    return section
