"""The nearest point of a form, and on which side of it a point lies."""

from __future__ import annotations

import numpy as np
from scipy.spatial import cKDTree

from generator.forms.surface import Surface

_ROWS, _COLUMNS = 96, 128
_STEP = 1e-5


class NearestPoint:
    """Made once for a surface, asked many times: a coarse search in a grid, then Gauss-Newton steps."""

    def __init__(self, surface: Surface):
        self.surface = surface
        u = (np.arange(_ROWS) + 0.5) / _ROWS
        v = np.arange(_COLUMNS) / _COLUMNS
        self._coords = np.stack(np.meshgrid(u, v, indexing="ij"), axis=-1).reshape(-1, 2)
        self.samples = surface.point(self._coords)  # (n, 3) of the grid, for its extent
        self._tree = cKDTree(self.samples)

    def coords(self, points: np.ndarray) -> np.ndarray:
        """(N, 3) points to the (N, 2) coordinates of the nearest point of the surface."""
        points = np.asarray(points, float)
        coords = self._coords[self._tree.query(points)[1]].copy()
        for _ in range(12):
            here = self.surface.point(coords)
            du, dv = _partials(self.surface, coords)
            miss = points - here
            a, b, c = (du * du).sum(1), (du * dv).sum(1), (dv * dv).sum(1)
            p, q = (du * miss).sum(1), (dv * miss).sum(1)
            det = np.maximum(a * c - b * b, 1e-12 * np.maximum(a * c, 1e-300))
            step = np.column_stack([(c * p - b * q) / det, (a * q - b * p) / det])
            step = np.clip(step, -1 / _ROWS, 1 / _ROWS)
            coords += step
            coords[:, 0] = np.clip(coords[:, 0], 0.0, 1.0)
            if np.max(np.abs(step), initial=0.0) < 1e-13:
                break
        return coords

    def signed_distance(self, points: np.ndarray) -> np.ndarray:
        """Distance to the surface, negative inside. (N, 3) to (N,), mm."""
        points = np.asarray(points, float)
        coords = self.coords(points)
        return ((points - self.surface.point(coords)) * self.surface.normal(coords)).sum(1)


def _partials(surface: Surface, coords: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """dS/du and dS/dv by central differences, one-sided at the ends of u. Two (N, 3)."""
    high = np.minimum(coords[:, 0] + _STEP, 1.0)
    low = np.maximum(coords[:, 0] - _STEP, 0.0)
    v = coords[:, 1]
    du = surface.point(np.column_stack([high, v])) - surface.point(np.column_stack([low, v]))
    dv = surface.point(np.column_stack([coords[:, 0], v + _STEP])) - surface.point(
        np.column_stack([coords[:, 0], v - _STEP])
    )
    return du / (high - low)[:, None], dv / (2 * _STEP)
