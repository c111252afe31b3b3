"""Copies of parts as bodies on the bench: where the points of their faces and edges are, flat or bent.

A copy is a sheet: `place` takes points of the paper and depths below the drawn face to space. What is flat moves as a
rigid body, what is bent carries the triangles of the surface that keeps its lengths.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import cached_property

import numpy as np
from scipy.spatial import cKDTree

from foamwright.proof.bench.foam import Part
from foamwright.proof.bench.rigid import Motion
from foamwright.proof.bench.shell import inner_sides

_NEAR = 8
_FLAT = 1e-6  # mm
_KNOWN = 64  # sets of points of a paper whose triangles are remembered, of each sheet


@dataclass(frozen=True, eq=False)
class Sheet:
    """Triangles (m, 3) of a part's foam over points (n, 2) of its paper; counter-clockwise there."""

    flat: np.ndarray
    triangles: np.ndarray

    def located(self, points: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
        """The triangle of each point (K, 2), the nearest one where it lies off the foam, and its weights (K, 3).

        Lines of a paper are placed again whenever something has moved, and most are asked for many times.
        """
        key = points.tobytes()
        known = self._known.get(key)
        if known is None:
            known = self._located(points)
            for own in known:
                own.setflags(write=False)
            if len(self._known) == _KNOWN:
                self._known.pop(next(iter(self._known)))
            self._known[key] = known
        return known

    def _located(self, points: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
        count = len(self.triangles)
        if count <= _NEAR:
            near = np.broadcast_to(np.arange(count), (len(points), count))
        else:
            near = self._middles.query(points, k=_NEAR)[1].reshape(len(points), _NEAR)
        x, y = points.T[:, :, None]
        by_x, by_y, at_none = self.weighing
        one, two, three = (by_x[near, k] * x + by_y[near, k] * y + at_none[near, k] for k in range(3))
        best = np.minimum(np.minimum(one, two), three).argmax(axis=1)
        at = np.arange(len(points)), best
        return near[at], np.stack([one[at], two[at], three[at]], axis=1)

    @cached_property
    def _known(self) -> dict[bytes, tuple[np.ndarray, np.ndarray]]:
        return {}

    @cached_property
    def weighing(self) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
        """(m, 3) each: how the weights of the three corners grow with x and with y, and what they are at 0, 0."""
        a, b, c = (self.flat[self.triangles[:, k]] for k in range(3))
        area = ((b - a)[:, 0] * (c - a)[:, 1] - (b - a)[:, 1] * (c - a)[:, 0])[:, None]
        sides = [(b, c), (c, a), (a, b)]
        by_x = np.stack([p[:, 1] - q[:, 1] for p, q in sides], axis=1) / area
        by_y = np.stack([q[:, 0] - p[:, 0] for p, q in sides], axis=1) / area
        at_none = np.stack([p[:, 0] * q[:, 1] - p[:, 1] * q[:, 0] for p, q in sides], axis=1) / area
        return by_x, by_y, at_none

    @cached_property
    def _middles(self) -> cKDTree:
        return cKDTree(self.flat[self.triangles].mean(axis=1))


@dataclass(frozen=True, eq=False)
class Placed:
    """A copy in space. `points` (n, 3) are those of the sheet at the depth that keeps its lengths."""

    part: Part
    mirrored: bool
    sheet: Sheet
    points: np.ndarray

    def place(self, flat: np.ndarray, depth: float | np.ndarray) -> np.ndarray:
        """Points (K, 2) of the paper, `depth` mm below the drawn face, in space."""
        if not len(flat):
            return np.zeros((0, 3))
        below = (self.part.neutral - np.asarray(depth))[..., None]
        if self._level is not None:
            origin, ways, up = self._level
            here: np.ndarray = origin + flat @ ways + below * up
            return here
        which, weights = self.sheet.located(flat)
        corners = self.points[self.sheet.triangles[which]]
        foot = np.einsum("ki,kij->kj", weights, corners)
        return foot + below * self._up(which, weights)

    def up(self, flat: np.ndarray) -> np.ndarray:
        """Unit normals (K, 3) towards the reader of the drawn face."""
        if self._level is not None:
            return np.tile(self._level[2], (len(flat), 1))
        return self._up(*self.sheet.located(flat))

    @cached_property
    def _level(self) -> tuple[np.ndarray, np.ndarray, np.ndarray] | None:
        """Of what lies flat on two triangles: where 0, 0 of its paper is (3,), how it moves with x and with y (2, 3), and
        the unit normal."""
        sheet = self.sheet
        if len(sheet.triangles) > 2:
            return None
        by_x, by_y, at_none = (own[0] @ self.points[sheet.triangles[0]] for own in sheet.weighing)
        ways = np.array([by_x, by_y])
        if np.abs(at_none + sheet.flat @ ways - self.points).max() > _FLAT:
            return None
        up = np.cross(by_x, by_y) * (-1.0 if self.mirrored else 1.0)
        return at_none, ways, up / max(float(np.linalg.norm(up)), 1e-12)

    def _up(self, which: np.ndarray, weights: np.ndarray) -> np.ndarray:
        """Smooth over a bent sheet."""
        blended = np.einsum("ki,kij->kj", np.clip(weights, -0.5, 1.5), self.normals[self.sheet.triangles[which]])
        return blended / np.linalg.norm(blended, axis=1, keepdims=True)

    @cached_property
    def normals(self) -> np.ndarray:
        """(n, 3) unit, towards the reader of the drawn face, whether or not the copy is a mirror image."""
        a, b, c = (self.points[self.sheet.triangles[:, k]] for k in range(3))
        cross = np.cross(b - a, c - a) * (-1.0 if self.mirrored else 1.0)
        sums = np.zeros_like(self.points)
        for corner in range(3):
            np.add.at(sums, self.sheet.triangles[:, corner], cross)
        return sums / np.maximum(np.linalg.norm(sums, axis=1, keepdims=True), 1e-12)

    def stretch(self) -> tuple[float, float]:
        """By how much the foam is stretched or pressed together: the mean of its area, and the most of any triangle.

        Triangles at a border tell how far that is stretched, and all do in a strip one triangle wide, however little its
        middle is. The squared stretches of two that meet, averaged, tell that of the middle; the mean takes half from each.
        """
        flat, here = self.sheet.flat[self.sheet.triangles], self.points[self.sheet.triangles]
        edges = np.stack([flat[:, 1] - flat[:, 0], flat[:, 2] - flat[:, 0]], axis=2)
        bent = np.stack([here[:, 1] - here[:, 0], here[:, 2] - here[:, 0]], axis=2)
        gradient = bent @ np.linalg.inv(edges)
        squared = np.swapaxes(gradient, 1, 2) @ gradient
        area = np.abs(np.linalg.det(edges))
        own = _strain(squared)
        means = [float(own @ area / area.sum())]
        both = inner_sides(self.sheet.triangles)[[2, 4]]
        if both.size:
            weight = area[both]
            between = np.einsum("kh,khij->hij", weight, squared[both]) / weight.sum(axis=0)[:, None, None]
            means.append(float(_strain(between) @ weight.sum(axis=0) / weight.sum()))
        return float(np.mean(means)), float(own.max())

    def moved(self, motion: Motion) -> Placed:
        return self.moved_to(motion(self.points))

    def moved_to(self, points: np.ndarray) -> Placed:
        return replace(self, points=points)


def _strain(squared: np.ndarray) -> np.ndarray:
    """The larger of both principal strains (m,) of squared stretches (m, 2, 2)."""
    worst: np.ndarray = np.abs(np.sqrt(np.maximum(np.linalg.eigvalsh(squared), 0.0)) - 1.0).max(axis=1)
    return worst


def as_cut(part: Part, mirrored: bool, sheet: Sheet) -> Placed:
    """A copy lying on the bench, its drawn face up at z = 0."""
    side = -1.0 if mirrored else 1.0
    flat = sheet.flat * (side, 1.0)
    return Placed(part, mirrored, sheet, np.column_stack([flat, np.full(len(flat), -part.neutral)]))


def plain_sheet(part: Part) -> Sheet:
    """Two triangles that span all of a flat part: it needs no more to be placed."""
    points = np.vstack([*part.rings, *part.other_rings])
    low, high = points.min(axis=0) - 1.0, points.max(axis=0) + 1.0
    flat = np.array([low, [high[0], low[1]], high, [low[0], high[1]]])
    return Sheet(flat, np.array([[0, 1, 2], [0, 2, 3]]))
