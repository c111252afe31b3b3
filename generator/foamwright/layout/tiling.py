"""Splitting a shape that is larger than the paper over the fewest pages."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from itertools import product
from math import ceil

import numpy as np
import shapely
from shapely.geometry.base import BaseGeometry

OVERLAP = 10.0  # mm that neighbouring pages share; the join runs along its middle
SLIVER = 25.0  # mm; a page that shows less than this of a shape, across the join, is avoided
_HOPELESS = 2  # times the fewest pages so far: a grid of more cells is no better for those that stay blank
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


@dataclass(frozen=True, eq=False)
class View:
    """What is to be split, as it lies when it is turned by `angle` degrees: the room of each shape, and the (N, 2) corners of
    each label, which should not be cut."""

    angle: float
    shapes: tuple[BaseGeometry, ...]
    labels: tuple[np.ndarray, ...]


def split(lying: Sequence[View], areas: Sequence[tuple[bool, float, float]]) -> Tiling:
    """The tiling, of the shapes of one of these views taken as one, with the fewest pages; of those the one with the fewest
    slivers, then the one that cuts the fewest labels.

    `areas` are the (landscape, width, height) of the room on a page. Earlier views and areas win a tie. Nothing is scaled.
    """
    views = [shapely.GeometryCollection(list(view.shapes)) for view in lying]
    shapely.prepare(views)
    grids: list[tuple[int, bool, int, Tiling]] = []
    fewest = None
    for rank, (one, view) in enumerate(zip(lying, views)):
        for landscape, width, height in areas:
            rows, columns = _extent(view, width, height)
            if fewest is not None and rows * columns > _HOPELESS * fewest:
                continue
            placed = _grids(view, one.angle, landscape, width, height)
            grids += [(rank, landscape, order, grid) for order, grid in enumerate(placed)]
            fewest = min(len(grid.used) for *_, grid in grids)
    boxes = {rank: _bounds_of(one.labels) for rank, one in enumerate(lying)}
    least = [(_cut(own[-1], boxes[own[0]]), *own) for own in grids if len(own[-1].used) == fewest]
    best: tuple[int, Tiling] | None = None
    for _, rank, _, _, grid in sorted(least, key=lambda own: own[:4]):
        slivers = _slivers(shapely.get_parts(views[rank]), grid)
        if best is None or slivers < best[0]:
            best = slivers, grid
        if not slivers:
            break
    if best is None:
        raise ValueError("nothing to split, or no page to split it over")
    return _trimmed(best[1])


def _extent(view: BaseGeometry, width: float, height: float) -> tuple[int, int]:
    """Rows and columns of windows of that size that the shape needs at least."""
    x0, y0, x1, y1 = view.bounds
    return _count(y1 - y0, height), _count(x1 - x0, width)


def _grids(view: BaseGeometry, angle: float, landscape: bool, width: float, height: float) -> list[Tiling]:
    """The smallest grid of windows over the turned shape, in every place in which it is tried."""
    x0, y0, x1, y1 = view.bounds
    rows, columns = _extent(view, width, height)
    loose_x = columns * (width - OVERLAP) + OVERLAP - (x1 - x0)
    loose_y = rows * (height - OVERLAP) + OVERLAP - (y1 - y0)
    cells = list(product(range(rows), range(columns)))
    grids = [
        Tiling(angle, landscape, x0 - sx * loose_x, y1 + sy * loose_y, width, height, rows, columns, ())
        for sx, sy in product(_SHARES, _SHARES)
    ]
    first = grids[0]  # all places have the same windows, at a shift
    corners = np.array([(grid.left - first.left, grid.top - first.top) * 2 for grid in grids])
    cores = corners[:, None] + np.array([first.core(*cell) for cell in cells])
    hit = shapely.intersects(view, shapely.box(*np.moveaxis(cores, -1, 0)))
    return [replace(grid, used=tuple(cell for cell, seen in zip(cells, own) if seen)) for grid, own in zip(grids, hit)]


def _slivers(shapes: np.ndarray, grid: Tiling) -> int:
    """How often no more than a narrow piece of a shape runs over onto a page."""
    cores = np.array([grid.core(*cell) for cell in grid.used])
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
    down, across = max(rows) - min(rows) + 1, max(columns) - min(columns) + 1
    return replace(grid, left=x0, top=y1, used=shifted, rows=down, columns=across)


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
