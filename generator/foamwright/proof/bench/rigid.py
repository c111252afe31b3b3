"""Rigid motions of arrays of points (N, 3): the best fit of points to points, and of lines to lines."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from scipy.spatial import cKDTree

from foamwright.geometry import chord_length


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

    def inverse(self) -> Motions:
        back = np.swapaxes(self.turns, 1, 2)
        return Motions(back, -(back @ self.shifts[:, :, None])[:, :, 0])


STILL = Motion(np.eye(3), np.zeros(3))


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


@dataclass(frozen=True, eq=False)
class Lines:
    """Lines in space, for the nearest of their points."""

    starts: np.ndarray  # (S, 3)
    ends: np.ndarray
    tree: cKDTree
    reach: int

    @staticmethod
    def of(lines: Sequence[np.ndarray], spacing: float = 2.0) -> Lines:
        dense = [sampled(line, spacing) for line in lines]
        starts, ends = (np.vstack([d[part] for d in dense]) for part in (slice(0, -1), slice(1, None)))
        return Lines(starts, ends, cKDTree((starts + ends) / 2), min(4, len(starts)))

    def nearest(self, points: np.ndarray) -> np.ndarray:
        """The points (N, 3) of the lines that are nearest to points (N, 3)."""
        if not len(points):
            return points
        _, near = self.tree.query(points, k=self.reach)
        near = near.reshape(len(points), -1)
        a, step = self.starts[near], self.ends[near] - self.starts[near]
        share = np.clip(((points[:, None] - a) * step).sum(2) / np.maximum((step * step).sum(2), 1e-18), 0.0, 1.0)
        feet = a + share[..., None] * step
        best = ((feet - points[:, None]) ** 2).sum(2).argmin(axis=1)
        return feet[np.arange(len(points)), best]
