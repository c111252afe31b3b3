"""What a grid of lines of sight meets first, by arrays alone: nothing is compiled, so that the first look is quick."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

_SAMPLES = 1 << 16  # looked at together: what the processor's cache holds
_NONE = np.iinfo(np.int64).max
_DEPTHS = 1 << 30  # steps between the nearest and the farthest point
_SLACK = 1e-6  # cells that a run may go past the sides of its triangle before each cell is looked at


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
    corners = view.cells(points)[triangles]
    x, y, z = (np.ascontiguousarray(corners[..., k].T) for k in range(3))  # (3, m): corner, triangle
    area = (x[1] - x[0]) * (y[2] - y[0]) - (x[2] - x[0]) * (y[1] - y[0])
    low = np.maximum(np.ceil(np.stack([x.min(axis=0), y.min(axis=0)])).astype(int), 0)
    ends = np.array([[view.columns - 1], [view.rows - 1]])
    high = np.minimum(np.floor(np.stack([x.max(axis=0), y.max(axis=0)])).astype(int), ends)
    seen = np.flatnonzero((area > 1e-9) & (high >= low).all(axis=0))
    nearest, farthest = (z.min(), z.max()) if z.size else (0.0, 1.0)
    scale = _DEPTHS / max(farthest - nearest, 1e-9)
    best = np.full(view.rows * view.columns, _NONE)
    across, up, away = x - x[0], y - y[0], z - z[0]
    of, row, first, count = _runs(x, y, low, high, seen)
    ends = np.cumsum(count)
    starts = np.searchsorted(ends, np.arange(0, ends[-1] if len(ends) else 0, _SAMPLES), side="right")
    for some in np.split(np.arange(len(of)), starts[1:]):
        t = np.repeat(of[some], count[some])
        i = np.repeat(row[some], count[some])
        j = np.arange(len(t)) - np.repeat(np.cumsum(count[some]) - count[some] - first[some], count[some])
        dx, dy, a = j - x[0, t], i - y[0, t], area[t]
        s = (dx * up[2, t] - across[2, t] * dy) / a
        r = (across[1, t] * dy - dx * up[1, t]) / a
        hit = (s >= -1e-9) & (r >= -1e-9) & (s + r <= 1.0 + 1e-9)
        t, s, r = t[hit], s[hit], r[hit]
        depth = z[0, t] + s * away[1, t]
        depth += r * away[2, t]
        step = np.clip((depth - nearest) * scale, 0, _DEPTHS).astype(np.int64)
        np.minimum.at(best, i[hit] * view.columns + j[hit], (step << 32) | t)
    cells_met = best.reshape(view.rows, view.columns)
    hit = cells_met != _NONE
    face = np.where(hit, cells_met & 0xFFFFFFFF, -1)
    return Scan(face, np.where(hit, nearest + (cells_met >> 32) / scale, np.inf))


def _runs(
    x: np.ndarray, y: np.ndarray, low: np.ndarray, high: np.ndarray, seen: np.ndarray
) -> tuple[np.ndarray, np.ndarray, np.ndarray, np.ndarray]:
    """Row by row the cells between the sides of triangles with corners x, y (3, m) and boxes of cells `low` to `high`
    (2, m): the triangle of each run, one of `seen`, its row, its first column and how many cells it has."""
    tall = high[1, seen] - low[1, seen] + 1
    of = np.repeat(seen, tall)
    row = np.arange(len(of)) - np.repeat(np.cumsum(tall) - tall - low[1, seen], tall)
    left, right = np.full(len(of), np.inf), np.full(len(of), -np.inf)
    for i, j in ((0, 1), (1, 2), (2, 0)):
        rise, run = y[j] - y[i], x[j] - x[i]
        share = row - y[i][of]
        with np.errstate(divide="ignore", invalid="ignore"):
            share /= rise[of]
        crossed = (share >= 0.0) & (share <= 1.0)  # a level side has no share, and ends where the others do
        at = x[i][of] + share * run[of]
        np.minimum(left, at, out=left, where=crossed)
        np.maximum(right, at, out=right, where=crossed)
    first = np.maximum(np.ceil(np.minimum(left - _SLACK, high[0, of] + 1)), low[0, of]).astype(int)
    last = np.minimum(np.floor(np.maximum(right + _SLACK, -1.0)), high[0, of]).astype(int)
    some = np.flatnonzero(last >= first)
    return of[some], row[some], first[some], (last - first + 1)[some]
