"""Rigid motions of arrays of points (N, 3): the best fit of points to points, and of lines to lines."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property

import numpy as np
from scipy.spatial import cKDTree
from scipy.spatial.transform import Rotation

from foamwright.geometry import chord_length

_SPECK = 1e-6  # mm: a shorter step has no direction
_OPEN = 3e-3  # of the firmest direction: one that lines hold less is left open by them
_PAST = 0.3  # sine: what lies further along a line than this beside it is past its end
_UNEVEN = 16  # so many short stretches may be nearer to a point by their middles than a long one is
_SHARP = 0.95  # cosine: a line that turns more is kept to its corner


@dataclass(frozen=True, eq=False)
class Motion:
    """Takes points p to p @ turn.T + shift; `turn` (3, 3) never reflects."""

    turn: np.ndarray
    shift: np.ndarray

    def __call__(self, points: np.ndarray) -> np.ndarray:
        return points @ self.turn.T + self.shift

    def after(self, first: Motion) -> Motion:
        return Motion(self.turn @ first.turn, self.turn @ first.shift + self.shift)

    def inverse(self) -> Motion:
        return Motion(self.turn.T, -self.turn.T @ self.shift)


@dataclass(frozen=True, eq=False)
class Motions:
    """Several motions at once: `turns` (S, 3, 3) and `shifts` (S, 3)."""

    turns: np.ndarray
    shifts: np.ndarray

    @staticmethod
    def of(motions: Sequence[Motion]) -> Motions:
        return Motions(np.array([m.turn for m in motions]), np.array([m.shift for m in motions]))

    def __len__(self) -> int:
        return len(self.turns)

    def __getitem__(self, some: np.ndarray) -> Motions:
        return Motions(self.turns[some], self.shifts[some])

    def one(self, number: int) -> Motion:
        return Motion(self.turns[number], self.shifts[number])

    def __call__(self, points: np.ndarray) -> np.ndarray:
        """(S, N, 3) from points (N, 3), or from those of each motion (S, N, 3)."""
        moved: np.ndarray = points @ np.swapaxes(self.turns, 1, 2) + self.shifts[:, None]
        return moved

    def after(self, first: Motions) -> Motions:
        return Motions(self.turns @ first.turns, (self.turns @ first.shifts[:, :, None])[:, :, 0] + self.shifts)

    def inverse(self) -> Motions:
        back = np.swapaxes(self.turns, 1, 2)
        return Motions(back, -(back @ self.shifts[:, :, None])[:, :, 0])


STILL = Motion(np.eye(3), np.zeros(3))


def lengths(steps: np.ndarray) -> np.ndarray:
    """(...) of steps (..., n), as `numpy.linalg.norm` has them, which takes three times as long for many short ones."""
    found: np.ndarray = np.sqrt(np.einsum("...i,...i->...", steps, steps))
    return found


def best_motion(points: np.ndarray, onto: np.ndarray, weights: np.ndarray | None = None) -> Motion:
    """The motion of least squares that takes points (N, 3) onto others (Kabsch 1976, Acta Cryst. A32, 922)."""
    w = np.ones(len(points)) if weights is None else weights
    return best_motions(points[None], onto[None], w[None]).one(0)


def best_motions(points: np.ndarray, onto: np.ndarray, weights: np.ndarray) -> Motions:
    """As `best_motion`, of several sets of points (S, N, 3) at once, with weights (S, N)."""
    w = (weights / weights.sum(axis=1, keepdims=True))[:, :, None]
    middle, other = (w * points).sum(axis=1), (w * onto).sum(axis=1)
    u, _, vt = np.linalg.svd(np.swapaxes(points - middle[:, None], 1, 2) @ ((onto - other[:, None]) * w))
    v, ut = np.swapaxes(vt, 1, 2), np.swapaxes(u, 1, 2)
    v = np.concatenate([v[:, :, :2], v[:, :, 2:] * np.where(np.linalg.det(v @ ut) < 0.0, -1.0, 1.0)[:, None, None]], 2)
    turns = v @ ut
    return Motions(turns, other - (turns @ middle[:, :, None])[:, :, 0])


def turned_about(axis: np.ndarray, angle: float, through: np.ndarray) -> Motion:
    """A turn by `angle` radians about an axis (3,) through a point."""
    x, y, z = axis / np.linalg.norm(axis)
    k = np.array([[0.0, -z, y], [z, 0.0, -x], [-y, x, 0.0]])
    turn = np.eye(3) + np.sin(angle) * k + (1.0 - np.cos(angle)) * (k @ k)
    return Motion(turn, through - turn @ through)


def all_round(axis: np.ndarray, through: np.ndarray, first: Motion, count: int) -> list[Motion]:
    """A motion, and then turned about an axis (3,) through a point by so many equal steps."""
    axis = axis / np.linalg.norm(axis)
    about = Rotation.from_rotvec(np.outer(2 * np.pi * np.arange(count) / count, axis)).as_matrix()
    return [Motion(turn @ first.turn, turn @ (first.shift - through) + through) for turn in about]


def frame_of(normal: np.ndarray) -> np.ndarray:
    """A right-handed frame (3, 3) by rows whose last row is `normal`."""
    normal = normal / np.linalg.norm(normal)
    side = np.eye(3)[int(np.argmin(np.abs(normal)))]
    x = np.cross(side, normal)
    x /= np.linalg.norm(x)
    return np.array([x, np.cross(normal, x), normal])


def sampled(line: np.ndarray, spacing: float, closed: bool = False) -> np.ndarray:
    """Points (K, 3) along a line at about `spacing`, both ends kept."""
    if closed:
        line = np.vstack([line, line[:1]])
    s = chord_length(line)
    count = max(2, int(np.ceil(s[-1] / spacing)) + 1)
    at = np.linspace(0.0, s[-1], count)
    return np.column_stack([np.interp(at, s, column) for column in line.T])


def with_corners(line: np.ndarray, spacing: float) -> np.ndarray:
    """As `sampled`, with the points at which the line turns sharply kept as well."""
    s = chord_length(line)
    at = np.linspace(0.0, s[-1], max(2, int(np.ceil(s[-1] / spacing)) + 1))
    step = np.diff(line, axis=0)
    size = np.linalg.norm(step, axis=1)
    real = size > _SPECK
    way, begins = step[real] / size[real, None], np.flatnonzero(real)
    turns = begins[1:][(way[1:] * way[:-1]).sum(axis=1) < _SHARP]
    at = np.unique(np.concatenate([at, s[turns]]))
    return np.column_stack([np.interp(at, s, column) for column in line.T])


@dataclass(frozen=True, eq=False)
class Lines:
    """Lines in space, for the nearest of their points."""

    starts: np.ndarray  # (S, 3)
    ends: np.ndarray
    tree: cKDTree
    reach: int

    @cached_property
    def _columns(self) -> np.ndarray:
        """(7, S): where each stretch starts, its step, and one by the square of its length."""
        step = self.ends - self.starts
        square = np.maximum((step * step).sum(axis=1, keepdims=True), _SPECK**3)
        return np.ascontiguousarray(np.hstack([self.starts, step, 1.0 / square]).T)

    @staticmethod
    def of(lines: Sequence[np.ndarray], spacing: float = 2.0) -> Lines:
        dense = [with_corners(line, spacing) for line in lines]
        starts, ends = (np.vstack([d[part] for d in dense]) for part in (slice(0, -1), slice(1, None)))
        return Lines(starts, ends, cKDTree((starts + ends) / 2), min(4, len(starts)))

    @staticmethod
    def between(starts: np.ndarray, ends: np.ndarray, spacing: float = 2.0) -> Lines:
        """Of straight stretches, all as they are; long ones in several."""
        step = ends - starts
        times = np.maximum(np.ceil(np.linalg.norm(step, axis=1) / spacing), 1.0).astype(int)
        which = np.repeat(np.arange(len(starts)), times)
        share = np.concatenate([np.arange(n) / n for n in times])[:, None]
        begin, part = starts[which] + share * step[which], step[which] / times[which, None]
        return Lines(begin, begin + part, cKDTree(begin + part / 2), min(_UNEVEN, len(begin)))

    def nearest(self, points: np.ndarray) -> np.ndarray:
        """The points (N, 3) of the lines that are nearest to points (N, 3)."""
        return self.feet(points)[0]

    def feet(self, points: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
        """The same, and unit steps (N, 3) along the lines there, along which a foot may slide; 0 past the end of a line."""
        if not len(points):
            return points, points
        near = self.tree.query(points, k=self.reach)[1].reshape(len(points), -1)
        # coordinate by coordinate: sums over a last axis of three take most of the time of the bench otherwise
        ax, ay, az, sx, sy, sz, by_square = self._columns[:, near]
        x, y, z = points.T[:, :, None]
        dx, dy, dz = x - ax, y - ay, z - az
        share = np.minimum(np.maximum((dx * sx + dy * sy + dz * sz) * by_square, 0.0), 1.0)
        dx, dy, dz = dx - share * sx, dy - share * sy, dz - share * sz
        square = dx * dx + dy * dy + dz * dz
        at = np.arange(len(points)), square.argmin(axis=1)
        apart = np.stack([dx[at], dy[at], dz[at]], axis=1)
        way = np.stack([sx[at], sy[at], sz[at]], axis=1) * np.sqrt(by_square[at])[:, None]
        past = np.abs((apart * way).sum(axis=1)) > _PAST * np.sqrt(square[at])
        return points - apart, np.where(past[:, None], 0.0, way)


def moves(points: np.ndarray) -> np.ndarray:
    """How points (..., 3) move with three small turns about the axes and three shifts: (..., 3, 6)."""
    found = np.zeros((*points.shape, 6))
    for at, (one, two) in enumerate(((1, 2), (2, 0), (0, 1))):
        found[..., one, at], found[..., two, at] = -points[..., two], points[..., one]
        found[..., at, 3 + at] = 1.0
    return found


def small(step: np.ndarray) -> Motion:
    """The motion of three small turns and three shifts (6,)."""
    angle = float(np.linalg.norm(step[:3]))
    if angle < 1e-15:
        return Motion(np.eye(3), step[3:])
    return Motion(turned_about(step[:3], angle, np.zeros(3)).turn, step[3:])


def slid(points: np.ndarray, feet: np.ndarray, ways: np.ndarray) -> Motion:
    """The small motion of least squares that takes points (K, 3) to lines through `feet` along `ways`, or to the feet
    themselves where a way is 0 (a step of Gauss and Newton). What the lines leave open stays as it is."""
    return all_slid(points[None], feet[None], ways[None], np.ones((1, len(points)))).one(0)


def all_slid(points: np.ndarray, feet: np.ndarray, ways: np.ndarray, counts: np.ndarray) -> Motions:
    """As `slid`, of several sets (S, K, 3) at once; `counts` (S, K) is 0 for points that do not count, else 1."""
    middle = (counts[:, :, None] * points).sum(axis=1) / counts.sum(axis=1)[:, None]
    beside = points - middle[:, None]
    size = np.maximum((np.abs(beside).max(axis=2) * counts).max(axis=1), 1.0)
    off = feet - points
    off = off - (off * ways).sum(axis=2)[:, :, None] * ways
    rows = moves(beside / size[:, None, None]) * counts[:, :, None, None]
    rows = rows - ways[:, :, :, None] * (ways[:, :, None, :] @ rows)
    rows = rows.reshape(len(points), -1, 6)
    across = np.swapaxes(rows, 1, 2)
    values, vectors = np.linalg.eigh(across @ rows)
    firm = values > _OPEN**2 * values[:, -1:]
    by_value = np.where(firm, 1.0 / np.where(firm, values, 1.0), 0.0)
    right = across @ off.reshape(len(points), -1, 1)
    steps = (vectors @ (by_value[:, :, None] * (np.swapaxes(vectors, 1, 2) @ right)))[:, :, 0]
    turns = Rotation.from_rotvec(steps[:, :3] / size[:, None]).as_matrix()
    return Motions(turns, steps[:, 3:] + middle - (turns @ middle[:, :, None])[:, :, 0])
