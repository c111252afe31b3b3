"""Shapes side by side in a rectangle: greedy, topmost then leftmost, on a grid of cells.

A cell counts as taken if the shape touches it, so shapes keep at least the stated gap and never overlap.
"""

from __future__ import annotations

import numpy as np
import shapely
from scipy.signal import fftconvolve
from shapely import box
from shapely.geometry.base import BaseGeometry

_CELLS = 280  # along the longer side, at most; no cell is smaller than 1 mm


class Sheet:
    """A rectangle of `width` x `height` mm, its origin the lower left corner, that is filled step by step."""

    def __init__(self, width: float, height: float, gap: float):
        self.width, self.height, self._gap = width, height, gap
        self.step = max(1.0, max(width, height) / _CELLS)
        self._taken = np.zeros((int(height // self.step), int(width // self.step)), bool)  # row 0 is the top

    def find(self, shape: BaseGeometry) -> tuple[float, float] | None:
        """Shift (dx, dy) that takes `shape` to the topmost, then leftmost free place; None if there is none."""
        mask = _raster(shape, self.step)
        rows, columns = self._taken.shape
        if mask.shape[0] > rows or mask.shape[1] > columns:
            return None
        clashes = fftconvolve(self._taken.astype(float), mask[::-1, ::-1].astype(float), mode="valid")
        free = clashes < 0.5  # counts, exact to rounding
        if not free.any():
            return None
        row, column = np.unravel_index(int(np.argmax(free)), free.shape)
        x0, _, _, y1 = shape.bounds
        return float(column * self.step - x0), float(self.height - row * self.step - y1)

    def take(self, shape: BaseGeometry) -> None:
        """Mark the room of `shape`, where it is, and the gap around it, as taken."""
        rows, columns = self._taken.shape
        reach = self._gap + self.step * np.sqrt(0.5)
        x = (np.arange(columns) + 0.5) * self.step
        y = self.height - (np.arange(rows) + 0.5) * self.step
        self._taken |= _covers(shape.buffer(reach), x, y)

    def take_all(self) -> None:
        """Leave no room."""
        self._taken[:] = True


def fits(shape: BaseGeometry, width: float, height: float) -> bool:
    """Does `shape`, as it is turned, fit into an empty sheet?"""
    sheet = Sheet(width, height, 0.0)
    return sheet.find(box(*shape.bounds)) is not None


def _raster(shape: BaseGeometry, step: float) -> np.ndarray:
    """Cells that `shape` touches, from its upper left corner."""
    x0, y0, x1, y1 = shape.bounds
    columns, rows = (max(1, int(np.ceil((d - 1e-9) / step))) for d in (x1 - x0, y1 - y0))
    x = x0 + (np.arange(columns) + 0.5) * step
    y = y1 - (np.arange(rows) + 0.5) * step
    return _covers(shape.buffer(step * np.sqrt(0.5)), x, y)


def _covers(shape: BaseGeometry, x: np.ndarray, y: np.ndarray) -> np.ndarray:
    """(len(y), len(x)) which of the grid's points are in `shape`."""
    shapely.prepare(shape)
    return shapely.contains_xy(shape, *np.meshgrid(x, y))
