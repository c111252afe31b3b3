"""The nearest point of a form, and on which side of it a point lies."""

from __future__ import annotations

import numpy as np
from scipy.spatial import cKDTree

from generator.forms.surface import Surface

_SAMPLES = 24000  # triangles of the coarse search
_LONGEST = 1 / 96  # step, about the spacing of the samples


class NearestPoint:
    """Made once for a surface, asked many times: a coarse search among its samples, then Gauss-Newton steps."""

    def __init__(self, surface: Surface):
        self.surface = surface
        self._coords = surface.triangulation(_SAMPLES).coords
        self.samples = surface.point(self._coords)  # (n, 3), for its extent
        self._tree = cKDTree(self.samples)

    def coords(self, points: np.ndarray) -> np.ndarray:
        """(N, 3) points to the (N, k) coordinates of the nearest point of the surface."""
        points = np.asarray(points, float)
        coords = self._coords[self._tree.query(points)[1]].copy()
        for _ in range(12):
            here = self.surface.point(coords)
            du, dv = self.surface.tangents(coords)
            miss = points - here
            a, b, c = (du * du).sum(1), (du * dv).sum(1), (dv * dv).sum(1)
            p, q = (du * miss).sum(1), (dv * miss).sum(1)
            det = np.maximum(a * c - b * b, 1e-12 * np.maximum(a * c, 1e-300))
            step = np.column_stack([(c * p - b * q) / det, (a * q - b * p) / det])
            step = np.clip(step, -_LONGEST, _LONGEST)
            coords = self.surface.within(self.surface.moved(coords, step))
            if np.max(np.abs(step), initial=0.0) < 1e-10:
                break
        return coords

    def signed_distance(self, points: np.ndarray) -> np.ndarray:
        """Distance to the surface, negative inside. (N, 3) to (N,), mm."""
        points = np.asarray(points, float)
        coords = self.coords(points)
        return ((points - self.surface.point(coords)) * self.surface.normal(coords)).sum(1)
