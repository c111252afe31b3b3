"""What of a form lies so far beyond a cut that fine triangles there would be worked out for nothing."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from scipy.spatial import cKDTree

from foamwright.parts.panel_walls import Wall
from foamwright.parts.region import Region, compact

_SIDES = 3.0  # of the coarse triangles, so far beyond a wall nothing is kept: levels grow about as fast as distances


def far_off(coarse: Region, walls: Sequence[Wall], keep: Sequence[int], offset: float) -> np.ndarray:
    """(n,) which vertices of a form with large triangles lie far on the wrong side of one of `walls`, met at `offset`,
    and all their neighbours too; `keep` is the side (1 or -1) of each wall that stays.

    Ends of a form are no walls here: their levels are not in mm."""
    points = coarse.surface.point(coarse.coords)
    corners = points[coarse.faces]
    longest = float(np.linalg.norm(np.roll(corners, 1, axis=1) - corners, axis=2).max())
    far = np.zeros(len(points), bool)
    for wall, sign in zip(walls, keep):
        if wall.end is None:
            far |= sign * wall.at(offset)(coarse.coords) < -_SIDES * longest
    near = np.zeros(len(points), bool)
    near[coarse.faces[~far[coarse.faces].all(axis=1)]] = True
    return ~near


def without(region: Region, coarse: Region, far: np.ndarray) -> Region:
    """The region without the triangles of which all corners are nearest to a vertex of `coarse` that is `far` (n,); whole
    where that would leave nothing. What is left keeps its order."""
    if not far.any():
        return region
    nearest = cKDTree(coarse.surface.point(coarse.coords)).query(region.surface.point(region.coords))[1]
    kept = ~far[nearest][region.faces].all(axis=1)
    return compact(Region(region.surface, region.coords, region.faces[kept], region.tags)) if kept.any() else region
