"""Coordinates (u, v) of the forms that a formula gives: once around in v, from end to end in u."""

from __future__ import annotations

import math

import numpy as np

from foamwright.forms.surface import Triangulation

_DELTA = 1e-6  # of u and v, for derivatives
_ROWS_TO_COLUMNS = 60 / 96  # of the grid: v is the long way on most forms


class PeriodicCoordinates:
    """u runs 0 to 1 from one end to the other; v goes once around in 0 to 1 and is periodic: any real v is
    allowed, so that a panel across v = 0 keeps continuous coordinates. At a pole v means nothing.

    Right-handed with the normal outwards: dS/du x dS/dv points out of the form.
    """

    poles: tuple[bool, bool]  # is u = 0, u = 1 a single point?

    def point(self, coords: np.ndarray) -> np.ndarray:
        raise NotImplementedError

    def moved(self, coords: np.ndarray, step: np.ndarray) -> np.ndarray:
        return coords + step

    def tangents(self, coords: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
        u, v = _DELTA * np.eye(2)
        around = self.point(np.concatenate([coords + u, coords - u, coords + v, coords - v]))
        a, b, c, d = around.reshape(4, len(coords), 3)
        return (a - b) / (2 * _DELTA), (c - d) / (2 * _DELTA)

    def within(self, coords: np.ndarray) -> np.ndarray:
        return np.column_stack([np.clip(coords[:, 0], 0.0, 1.0), coords[:, 1]])

    def at_pole(self, coords: np.ndarray) -> np.ndarray:
        low, high = self.poles
        return (low & (coords[:, 0] <= 0)) | (high & (coords[:, 0] >= 1))

    def near(self, coords: np.ndarray, reference: np.ndarray) -> np.ndarray:
        turn = (coords[:, 1] - reference[:, 1] + 0.5) % 1.0 - 0.5
        turn = np.where(self.at_pole(coords), 0.0, turn)
        return np.column_stack([coords[:, 0], reference[:, 1] + turn])

    def blend(self, corners: np.ndarray, weights: np.ndarray) -> np.ndarray:
        """v goes the short way; a pole has no say in it."""
        n, m = weights.shape
        pole = self.at_pole(corners.reshape(-1, 2)).reshape(n, m)
        base = corners[np.arange(n), np.argmax(~pole, axis=1), 1]
        turn = (corners[:, :, 1] - base[:, None] + 0.5) % 1.0 - 0.5
        share = np.where(pole, 0.0, weights)
        total = share.sum(1)[:, None]
        share = np.where(np.abs(total) > 1e-12, share / np.where(total == 0, 1, total), ~pole)
        return self.within(np.column_stack([(weights * corners[:, :, 0]).sum(1), base + (share * turn).sum(1)]))

    def triangulation(self, faces: int) -> Triangulation:
        return grid(faces, self.poles)


def grid(faces: int, poles: tuple[bool, bool], ends: tuple[float, float] | None = None) -> Triangulation:
    """About so many triangles between lines of u and v, `poles` closed by fans; once around in v, or from one of `ends` to the
    other."""
    columns = round(math.sqrt(faces / 2 / _ROWS_TO_COLUMNS))
    rows = round(columns * _ROWS_TO_COLUMNS)
    u = np.linspace(0, 1, rows + 1)
    v = np.arange(columns) / columns if ends is None else np.linspace(*ends, columns + 1)
    index = -np.ones((rows + 1, len(v)), int)
    coords: list[np.ndarray] = []
    count = 0
    for i, ui in enumerate(u):
        pole = (i == 0 and poles[0]) or (i == rows and poles[1])
        around = np.array([v.mean() if ends else 0.0]) if pole else v
        index[i] = count if pole else np.arange(count, count + len(v))
        coords.append(np.column_stack([np.full(len(around), ui), around]))
        count += len(around)
    left, right = index[:, :columns], np.roll(index, -1, axis=1)[:, :columns]
    a, b, c, d = left[:-1], left[1:], right[1:], right[:-1]
    # the diagonal alternates, so that no direction is preferred
    even = (np.add.outer(np.arange(rows), np.arange(columns)) % 2 == 0)[..., None]
    first = np.where(even, np.stack([a, b, c], -1), np.stack([a, b, d], -1)).reshape(-1, 3)
    second = np.where(even, np.stack([a, c, d], -1), np.stack([b, c, d], -1)).reshape(-1, 3)
    triangles = np.vstack([first, second])
    a, b, c = triangles.T
    triangles = triangles[(a != b) & (b != c) & (c != a)]
    none = np.zeros(0, int)
    start, end = (none if pole else row for pole, row in zip(poles, index[[0, -1]]))
    return Triangulation(np.vstack(coords), triangles, start, end)
