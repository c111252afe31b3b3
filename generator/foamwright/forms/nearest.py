"""The nearest point of a form, and on which side of it a point lies."""

from __future__ import annotations

from collections.abc import Sequence
from functools import cached_property

import numpy as np
from scipy.spatial import cKDTree

from foamwright.forms.surface import Crease, Surface

_LONGEST = 1 / 96  # step, about the spacing of the samples of a coarse search
_STEPS = 12
_SQUARE = 0.9999  # cosine between the way to the nearest place and the normal there; less, and that place is on a crease or a rim
_ON_CREASE = 1e-3  # of the form's size beside a crease that is on it
_BESIDE = 6  # places on creases that are looked at
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
        best, least = coords.copy(), np.full(len(points), np.inf)  # at a crease the steps go to and fro
        for _ in range(_STEPS):
            miss = points[active] - self.surface.point(coords[active])
            away = (miss * miss).sum(1)
            nearer = away < least[active]
            least[active[nearer]], best[active[nearer]] = away[nearer], coords[active[nearer]]
            step = self._newton(miss, coords[active])
            coords[active] = self.surface.within(self.surface.moved(coords[active], step))
            active = active[np.abs(step).max(axis=1) > 1e-10]
            if not len(active):
                break
        coords[active] = best[active]
        return coords

    def _newton(self, miss: np.ndarray, coords: np.ndarray) -> np.ndarray:
        """The step (N, 2) to where the miss (N, 3) is square to the surface, by how its normal turns underway."""
        surface = self.surface
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
        """Distance to the surface, negative inside. (N, 3) to (N,), mm.

        Where the nearest place is on a crease it is that to the faces beside it, carried on straight: to the farther of them
        outside a ridge, so that what lies at a distance has its corner there as mitred foam has; to the nearer in a valley.
        """
        points = np.asarray(points, float)
        coords = self.coords(points)
        foot = self.surface.point(coords)
        miss = points - foot
        height = (miss * self.surface.normal(coords)).sum(1)
        askew = np.flatnonzero(np.abs(height) < _SQUARE * np.linalg.norm(miss, axis=1))
        if len(askew) and self._creases is not None:
            height[askew] = self._creases.heights(points[askew], np.linalg.norm(miss[askew], axis=1), height[askew])
        return height

    @cached_property
    def _creases(self) -> _Creases | None:
        creases = self.surface.creases()
        return _Creases(creases, float(np.linalg.norm(np.ptp(self.samples, axis=0)))) if creases else None


class _Creases:
    """All creases of a form, to be asked for the faces beside a place on one of them."""

    def __init__(self, creases: Sequence[Crease], size: float):
        self.points = np.vstack([crease.points for crease in creases])
        self.ahead = np.vstack([crease.ahead for crease in creases])
        self.normals = np.concatenate([crease.normals.transpose(1, 0, 2) for crease in creases])  # (K, 2, 3)
        self.hollow = np.concatenate([crease.turns < 0.0 for crease in creases])
        self.gap = np.concatenate([np.full(len(c.points), _gap(c.points)) for c in creases])
        self.tree = cKDTree(self.points)
        self.near = _ON_CREASE * size

    def heights(self, points: np.ndarray, away: np.ndarray, heights: np.ndarray) -> np.ndarray:
        """Heights (N,) of points (N, 3) over the faces beside the creases that are as near to them as the form is, `away` (N,);
        as they are for points that no crease is so near to."""
        found = self.tree.query(points, k=min(_BESIDE, len(self.points)))[1].reshape(len(points), -1)
        off = points[:, None] - self.points[found]
        along = np.clip((off * self.ahead[found]).sum(2), -self.gap[found], self.gap[found])
        off = off - along[:, :, None] * self.ahead[found]
        far = np.linalg.norm(off, axis=2)
        least = far.min(axis=1, keepdims=True)
        here = (far <= least + self.near) & (least <= away[:, None] + self.near)  # several meet in a corner
        over = np.einsum("nkfd,nkd->nkf", self.normals[found], off)
        farthest = np.where(here[:, :, None], over, -np.inf).max(axis=(1, 2))
        nearest = np.where(here[:, :, None], over, np.inf).min(axis=(1, 2))
        hollow = np.take_along_axis(self.hollow[found], far.argmin(axis=1)[:, None], axis=1)[:, 0]
        return np.where(here.any(axis=1), np.where(hollow, nearest, farthest), heights)


def _gap(points: np.ndarray) -> float:
    """How far one of points (K, 3) along a crease is from the next, as most are."""
    return float(np.median(np.linalg.norm(np.diff(points, axis=0), axis=1))) if len(points) > 1 else 0.0
