"""Splitting a shape that is larger than the paper over the fewest pages."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from itertools import product
from math import ceil

import numpy as np
import shapely
from shapely.affinity import rotate
from shapely.geometry.base import BaseGeometry

OVERLAP = 10.0  # mm that neighbouring pages share; the join runs along its middle
SLIVER = 25.0  # mm; a page that shows less than this of a shape, across the join, is avoided
_SHARES = (0.5, 0.0, 1.0, 0.25, 0.75)  # where the shape stands in the room that is left


@dataclass(frozen=True)
class Tiling:
    """A grid of windows over a shape that is turned by `angle` degrees about the origin.

    `left` and `top` are the grid's upper left corner on the turned shape; every window is `width` x `height`
    mm and shares OVERLAP with the next. `used` lists the (row, column) of windows that hold any of the shape,
    counted from 0, rows from the top.
    """

    angle: float
    landscape: bool
    left: float
    top: float
    width: float
    height: float
    rows: int
    columns: int
    used: tuple[tuple[int, int], ...]

    def window(self, row: int, column: int) -> tuple[float, float, float, float]:
        """(x0, y0, x1, y1) of what a page shows, on the turned shape."""
        x0 = self.left + column * (self.width - OVERLAP)
        y1 = self.top - row * (self.height - OVERLAP)
        return x0, y1 - self.height, x0 + self.width, y1

    def neighbours(self, row: int, column: int) -> dict[str, tuple[int, int]]:
        """The used windows next to one, by side: "left", "right", "top", "bottom"."""
        around = {
            "left": (row, column - 1),
            "right": (row, column + 1),
            "top": (row - 1, column),
            "bottom": (row + 1, column),
        }
        return {side: cell for side, cell in around.items() if cell in self.used}

    def core(self, row: int, column: int) -> tuple[float, float, float, float]:
        """(x0, y0, x1, y1) of a window between its joins; the cores of a grid cover it without overlap."""
        x0, y0, x1, y1 = self.window(row, column)
        half = OVERLAP / 2.0
        return (
            x0 + half if column > 0 else x0,
            y0 + half if row < self.rows - 1 else y0,
            x1 - half if column < self.columns - 1 else x1,
            y1 - half if row > 0 else y1,
        )


def join_line(window: tuple[float, float, float, float], side: str) -> np.ndarray:
    """(2, 2) start and end of the join at one side of a window, in the middle of the overlap."""
    x0, y0, x1, y1 = window
    half = OVERLAP / 2.0
    ends = {
        "left": ((x0 + half, y0), (x0 + half, y1)),
        "right": ((x1 - half, y0), (x1 - half, y1)),
        "top": ((x0, y1 - half), (x1, y1 - half)),
        "bottom": ((x0, y0 + half), (x1, y0 + half)),
    }
    return np.array(ends[side])


def cross_points(line: np.ndarray) -> np.ndarray:
    """(3, 2) where the registration crosses of a join stand."""
    return line[0] + np.array([[0.12], [0.5], [0.88]]) * (line[1] - line[0])


def split(
    shapes: Sequence[BaseGeometry],
    labels: Callable[[float], Sequence[np.ndarray]],
    areas: Sequence[tuple[bool, float, float]],
    angles: Sequence[float],
) -> Tiling:
    """The tiling of `shapes`, taken as one, with the fewest pages; of those the one with the fewest slivers,
    then the one that cuts the fewest labels.

    `labels` gives, for an angle, the (N, 2) corners of each label, which should not be cut, where they then are; it is
    asked only where it matters. `areas` are the (landscape, width, height) of the room on a page. Earlier angles
    and areas win a tie. Nothing is scaled.
    """
    best: Tiling | None = None
    best_score: tuple | None = None
    for rank, angle in enumerate(angles):
        views = rotate(shapely.GeometryCollection(list(shapes)), angle, origin=(0, 0))
        shapely.prepare(views)
        boxes = None
        for landscape, width, height in areas:
            x0, y0, x1, y1 = views.bounds
            columns, rows = _count(x1 - x0, width), _count(y1 - y0, height)
            if best_score and rows * columns > 2 * best_score[0]:
                continue  # even with blank pages left out it would not be the smallest
            loose_x = columns * (width - OVERLAP) + OVERLAP - (x1 - x0)
            loose_y = rows * (height - OVERLAP) + OVERLAP - (y1 - y0)
            for order, (sx, sy) in enumerate(product(_SHARES, _SHARES)):
                left, top = x0 - sx * loose_x, y1 + sy * loose_y
                grid = Tiling(angle, landscape, left, top, width, height, rows, columns, ())
                cells = list(product(range(rows), range(columns)))
                cores = np.array([grid.core(*c) for c in cells])
                used = tuple(c for c, hit in zip(cells, views.intersects(shapely.box(*cores.T))) if hit)
                if best_score and len(used) > best_score[0]:
                    continue
                slivers = _slivers(shapely.get_parts(views), cores)
                if best_score and (len(used), slivers) > best_score[:2]:
                    continue
                boxes = _bounds_of(labels(angle)) if boxes is None else boxes
                score = (len(used), slivers, _cut(grid, boxes), rank, landscape, order)
                if best_score is None or score < best_score:
                    best, best_score = Tiling(**(vars(grid) | {"used": used})), score
    if best is None:
        raise ValueError("nothing to split, or no page to split it over")
    return _trimmed(best)


def _slivers(shapes: np.ndarray, cores: np.ndarray) -> int:
    """How often no more than a narrow piece of a shape runs over onto a page."""
    count = 0
    for shape in shapes:
        low, high = shapely.bounds(shape).reshape(2, 2)
        near = cores[((cores[:, :2] < high) & (cores[:, 2:] > low)).all(axis=1)]
        if len(near) == 1:
            continue
        pieces = shapely.intersection(shape, shapely.box(*near.T))
        bounds = shapely.bounds(pieces[~shapely.is_empty(pieces)])
        sides = bounds[:, 2:] - bounds[:, :2]
        parted = high - low > sides.max(axis=0) + OVERLAP / 2
        count += int(((sides < SLIVER) & parted).any(axis=1).sum())
    return count


def _trimmed(grid: Tiling) -> Tiling:
    """The grid without rows and columns at its rim that hold nothing."""
    rows = [r for r, _ in grid.used]
    columns = [c for _, c in grid.used]
    x0, _, _, y1 = grid.window(min(rows), min(columns))
    shifted = tuple((r - min(rows), c - min(columns)) for r, c in grid.used)
    size = {"rows": max(rows) - min(rows) + 1, "columns": max(columns) - min(columns) + 1}
    return Tiling(**(vars(grid) | {"left": x0, "top": y1, "used": shifted} | size))


def _count(length: float, window: float) -> int:
    return max(1, ceil((length - OVERLAP) / (window - OVERLAP) - 1e-9))


def _bounds_of(labels: Sequence[np.ndarray]) -> np.ndarray:
    """(B, 4) bounds of the labels."""
    return np.array([[*b.min(axis=0), *b.max(axis=0)] for b in labels]).reshape(-1, 4)


def _cut(grid: Tiling, boxes: np.ndarray) -> int:
    """How many of the boxes a join runs through."""
    x = grid.left + np.arange(1, grid.columns) * (grid.width - OVERLAP) + OVERLAP / 2.0
    y = grid.top - np.arange(1, grid.rows) * (grid.height - OVERLAP) - OVERLAP / 2.0
    across = (boxes[:, 0, None] < x) & (boxes[:, 2, None] > x)
    upright = (boxes[:, 1, None] < y) & (boxes[:, 3, None] > y)
    return int((across.any(axis=1) | upright.any(axis=1)).sum())
