"""What a grid of lines of sight meets first, by arrays alone: nothing is compiled, so that the first look is quick."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

_SAMPLES = 1 << 16  # looked at together: what the processor's cache holds
_NONE = np.iinfo(np.int64).max
_DEPTHS = 1 << 30  # steps between the nearest and the farthest point


@dataclass(frozen=True, eq=False)
class Scan:
    """`face` (rows, columns) numbers the triangle that is met first, -1 where none is; `depth` (rows, columns) says how
    far away in mm. Rows count upwards."""

    face: np.ndarray
    depth: np.ndarray


@dataclass(frozen=True, eq=False)
class View:
    """Rows of `frame` (3, 3) are to the right, upwards and towards the eye; cells `step` mm wide from `low` (2,)."""

    frame: np.ndarray
    low: np.ndarray
    step: float
    rows: int
    columns: int

    def cells(self, points: np.ndarray) -> np.ndarray:
        """(N, 3): column, row and mm away from the eye, of points (N, 3) in space."""
        turned = points @ self.frame.T
        return np.column_stack([(turned[:, :2] - self.low) / self.step, -turned[:, 2]])


def view_from(direction: tuple[float, float, float], points: np.ndarray, columns: int, rows: int, border: int) -> View:
    """The view against `direction` (from the prop to the eye), z up, with points (n, 3) in it; `border` cells stay free."""
    eye = np.array(direction) / np.linalg.norm(direction)
    right = np.cross([0.0, 0.0, 1.0], eye)
    right /= np.linalg.norm(right)
    frame = np.stack([right, np.cross(eye, right), eye])
    flat = points @ frame[:2].T
    span = np.maximum(np.ptp(flat, axis=0), 1e-6)
    step = float((span / (columns - 2 * border, rows - 2 * border)).max())
    middle = (flat.min(axis=0) + flat.max(axis=0)) / 2.0
    return View(frame, middle - step * np.array([columns - 1, rows - 1]) / 2.0, step, rows, columns)


def scan(points: np.ndarray, triangles: np.ndarray, view: View) -> Scan:
    """What is met of triangles (m, 3), counter-clockwise from outside, of points (n, 3); their backs are not seen."""
    cells = view.cells(points)
    corners = cells[triangles]
    x, y, z = corners[..., 0], corners[..., 1], corners[..., 2]
    low_x, high_x = np.minimum(np.minimum(*x.T[:2]), x[:, 2]), np.maximum(np.maximum(*x.T[:2]), x[:, 2])
    low_y, high_y = np.minimum(np.minimum(*y.T[:2]), y[:, 2]), np.maximum(np.maximum(*y.T[:2]), y[:, 2])
    area = (x[:, 1] - x[:, 0]) * (y[:, 2] - y[:, 0]) - (x[:, 2] - x[:, 0]) * (y[:, 1] - y[:, 0])
    low = np.maximum(np.ceil(np.stack([low_x, low_y], 1)).astype(int), 0)
    high = np.minimum(np.floor(np.stack([high_x, high_y], 1)).astype(int), (view.columns - 1, view.rows - 1))
    size = high - low + 1
    seen = np.flatnonzero((area > 1e-9) & (size[:, 0] > 0) & (size[:, 1] > 0))
    nearest, farthest = (z.min(), z.max()) if len(z) else (0.0, 1.0)
    scale = _DEPTHS / max(farthest - nearest, 1e-9)
    best = np.full(view.rows * view.columns, _NONE)
    # triangles of about one size together: small ones exactly, from 8 cells by steps of a quarter or less
    step = 1 << np.maximum(np.floor(np.log2(np.maximum(size[seen], 1))).astype(int) - 2, 0)
    grid = -(-size[seen] // step) * step
    key = grid[:, 0] * (view.rows + view.columns) + grid[:, 1]
    order = np.argsort(key, kind="stable")
    for numbers in np.split(order, np.flatnonzero(np.diff(key[order])) + 1) if len(order) else ():
        (width, height), alike = grid[numbers[0]].tolist(), seen[numbers]
        together = max(1, _SAMPLES // (width * height))
        for start in range(0, len(alike), together):
            t = alike[start : start + together]
            columns = low[t, 0, None, None] + np.arange(width)
            rows = low[t, 1, None, None] + np.arange(height)[:, None]
            dx, dy = columns - x[t, 0, None, None], rows - y[t, 0, None, None]
            a = area[t, None, None]
            s = (dx * (y[t, 2] - y[t, 0])[:, None, None] - (x[t, 2] - x[t, 0])[:, None, None] * dy) / a
            r = ((x[t, 1] - x[t, 0])[:, None, None] * dy - dx * (y[t, 1] - y[t, 0])[:, None, None]) / a
            inside = (s >= -1e-9) & (r >= -1e-9) & (s + r <= 1.0 + 1e-9)
            inside &= (columns <= high[t, 0, None, None]) & (rows <= high[t, 1, None, None])
            hit, i, j = np.nonzero(inside)
            depth = z[t[hit], 0] + s[hit, i, j] * (z[t[hit], 1] - z[t[hit], 0])
            depth += r[hit, i, j] * (z[t[hit], 2] - z[t[hit], 0])
            step = np.clip((depth - nearest) * scale, 0, _DEPTHS).astype(np.int64)
            place = (low[t[hit], 1] + i) * view.columns + low[t[hit], 0] + j
            np.minimum.at(best, place, (step << 32) | t[hit])
    cells_met = best.reshape(view.rows, view.columns)
    hit = cells_met != _NONE
    face = np.where(hit, cells_met & 0xFFFFFFFF, -1)
    return Scan(face, np.where(hit, nearest + (cells_met >> 32) / scale, np.inf))
