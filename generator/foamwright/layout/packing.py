"""Shapes side by side in a rectangle: greedy, topmost then leftmost, on a grid of cells.

A cell counts as taken if the shape touches it, so shapes keep at least the stated gap and never overlap.
"""

from __future__ import annotations

from dataclasses import dataclass, field

import numpy as np
import shapely
from scipy.fft import irfft2, next_fast_len, rfft2
from shapely.geometry.base import BaseGeometry

CELL = 2.0  # mm
_REACH = CELL * np.sqrt(0.5)  # from the middle of a cell to its corner


@dataclass(frozen=True, eq=False)
class Mask:
    """A shape as cells counted from the upper left corner of its bounds, with those bounds."""

    cells: np.ndarray  # (rows, columns) bool, row 0 on top
    bounds: tuple[float, float, float, float]
    _spectra: dict[tuple[int, int], np.ndarray] = field(default_factory=dict)

    def spectrum(self, shape: tuple[int, int]) -> np.ndarray:
        """Fourier transform of the cells on a sheet of `shape` cells; kept, as every sheet asks for it."""
        if shape not in self._spectra:
            self._spectra[shape] = np.conj(rfft2(self.cells.astype(np.float32), shape))
        return self._spectra[shape]


def mask_of(shape: BaseGeometry) -> Mask:
    """Every cell that `shape` touches."""
    x0, y0, x1, y1 = shape.bounds
    columns, rows = _count(x1 - x0), _count(y1 - y0)
    x = x0 + (np.arange(columns) + 0.5) * CELL
    y = y1 - (np.arange(rows) + 0.5) * CELL
    return Mask(_covers(shape.buffer(_REACH), x, y), shape.bounds)


class Sheet:
    """A rectangle of `width` x `height` mm, its origin the lower left corner, that is filled step by step."""

    def __init__(self, width: float, height: float):
        self.width, self.height = width, height
        self._taken = np.zeros((_count(height), _count(width)), bool)  # row 0 is the top
        self._padded = tuple(next_fast_len(n, real=True) for n in self._taken.shape)
        self._spectrum: np.ndarray | None = None  # of _taken; None when that has changed

    def find(self, mask: Mask) -> tuple[float, float] | None:
        """Shift (dx, dy) that takes a shape to the topmost, then leftmost free place, if there is one."""
        x0, y0, x1, y1 = mask.bounds
        rows = int((self.height - (y1 - y0) + 1e-6) // CELL) + 1
        columns = int((self.width - (x1 - x0) + 1e-6) // CELL) + 1
        if rows < 1 or columns < 1 or mask.cells.sum() > (~self._taken).sum():
            return None
        if self._spectrum is None:
            self._spectrum = rfft2(self._taken.astype(np.float32), self._padded)
        # Cells taken under the shape at every place, by circular correlation; places that wrap are cut off.
        clashes = irfft2(self._spectrum * mask.spectrum(self._padded), self._padded)
        free = clashes[:rows, :columns] < 0.5  # counts, rounded by far less
        if not free.any():
            return None
        row, column = np.unravel_index(int(np.argmax(free)), free.shape)
        return float(column * CELL - x0), float(self.height - row * CELL - y1)

    def copy(self) -> Sheet:
        """A sheet filled as far as this one, to be filled further on its own."""
        other = Sheet(self.width, self.height)
        other._taken, other._spectrum = self._taken.copy(), self._spectrum
        return other

    def take(self, shape: BaseGeometry, gap: float) -> None:
        """Mark the room of `shape`, where it is, and `gap` mm around it, as taken."""
        wide = shape.buffer(gap + _REACH)
        if wide.is_empty:
            return
        rows, columns = self._taken.shape
        x0, y0, x1, y1 = wide.bounds
        across = np.arange(max(int(x0 // CELL), 0), min(_count(x1), columns))
        down = np.arange(max(int((self.height - y1) // CELL), 0), min(_count(self.height - y0), rows))
        if len(across) and len(down):
            x, y = (across + 0.5) * CELL, self.height - (down + 0.5) * CELL
            self._taken[down[0] : down[-1] + 1, across[0] : across[-1] + 1] |= _covers(wide, x, y)
        self._spectrum = None

    def take_all(self) -> None:
        """Leave no room."""
        self._taken[:] = True
        self._spectrum = None


def _count(length: float) -> int:
    """Cells that a length touches."""
    return max(1, int(np.ceil((length - 1e-6) / CELL)))


def _covers(shape: BaseGeometry, x: np.ndarray, y: np.ndarray) -> np.ndarray:
    """(len(y), len(x)) which of the grid's points are in `shape`."""
    shapely.prepare(shape)
    return shapely.contains_xy(shape, *np.meshgrid(x, y))
