"""The nearest point of a form, and on which side of it a point lies."""

from __future__ import annotations

import numpy as np

from foamwright.forms.surface import Surface

_LONGEST = 1 / 96  # step, about the spacing of the samples of a coarse search
_STEPS = 12
_DELTA = 1e-6  # of a step, for how the normal turns


class NearestPoint:
    """Made once for a surface, asked many times: a coarse search among its samples, then Newton steps."""

    def __init__(self, surface: Surface):
        self.surface = surface
        self.samples, self._start = surface.coarse_search()  # (n, 3), for its extent

    def coords(self, points: np.ndarray) -> np.ndarray:
        """(N, 3) points to the (N, k) coordinates of the nearest point of the surface."""
        points = np.asarray(points, float)
        coords = self._start(points).copy()
        active = np.arange(len(points))
        for _ in range(_STEPS):
            step = self._newton(points[active], coords[active])
            coords[active] = self.surface.within(self.surface.moved(coords[active], step))
            active = active[np.abs(step).max(axis=1) > 1e-10]
            if not len(active):
                break
        return coords

    def _newton(self, points: np.ndarray, coords: np.ndarray) -> np.ndarray:
        """The step (N, 2) to where the miss is square to the surface, by how its normal turns underway."""
        surface = self.surface
        miss = points - surface.point(coords)
        du, dv = surface.tangents(coords)
        gap = (miss * surface.normal(coords)).sum(1)
        turn_u, turn_v = self._turns(coords)
        p, q = (du * miss).sum(1), (dv * miss).sum(1)
        e, f, g = (du * du).sum(1), (du * dv).sum(1), (dv * dv).sum(1)  # first fundamental form
        a, b, c = (
            e + gap * (du * turn_u).sum(1),
            f + gap * ((du * turn_v).sum(1) + (dv * turn_u).sum(1)) / 2,
            g + gap * (dv * turn_v).sum(1),
        )
        # beyond the surface's centres of curvature there is no minimum to step to: down the slope instead
        valley = (a > 0) & (a * c - b * b > 1e-3 * (e * g - f * f))
        a, b, c = np.where(valley, a, e), np.where(valley, b, f), np.where(valley, c, g)
        det = np.maximum(a * c - b * b, 1e-12 * np.maximum(a * c, 1e-300))
        step = np.column_stack([(c * p - b * q) / det, (a * q - b * p) / det])
        return np.clip(step, -_LONGEST, _LONGEST)

    def _turns(self, coords: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
        """How the normal changes with the two numbers of a step: two (N, 3)."""
        steps = np.array([[_DELTA, 0.0], [-_DELTA, 0.0], [0.0, _DELTA], [0.0, -_DELTA]])
        count = len(coords)
        around = self.surface.moved(np.tile(coords, (4, 1)), np.repeat(steps, count, axis=0))
        a, b, c, d = self.surface.normal(around).reshape(4, count, 3)
        return (a - b) / (2 * _DELTA), (c - d) / (2 * _DELTA)

    def signed_distance(self, points: np.ndarray) -> np.ndarray:
        """Distance to the surface, negative inside. (N, 3) to (N,), mm."""
        points = np.asarray(points, float)
        coords = self.coords(points)
        return ((points - self.surface.point(coords)) * self.surface.normal(coords)).sum(1)
