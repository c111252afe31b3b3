"""Shapes side by side in a rectangle: greedy, topmost then leftmost, on a grid of cells.

A cell counts as taken if the shape touches it, so shapes keep at least the stated gap and never overlap.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from functools import cache, lru_cache

import numpy as np
import shapely
from scipy.fft import irfft2, next_fast_len, rfft2
from shapely.affinity import translate
from shapely.geometry.base import BaseGeometry

CELL = 2.0  # mm
_STEP = 48  # cells by which the grids grow on which transforms are made, so that many are the same
_SPECTRA = 40  # transforms that are kept, of up to 4 MB each
_MOST_CELLS = 500  # along a shape that is laid beside another; a longer one is counted in larger cells


@dataclass(frozen=True, eq=False)
class Mask:
    """A shape as cells counted from the upper left corner of its bounds, with those bounds."""

    cells: np.ndarray  # (rows, columns) bool, row 0 on top
    bounds: tuple[float, float, float, float]
    _spectra: dict[tuple[int, int], np.ndarray] = field(default_factory=dict)

    def spectrum(self, shape: tuple[int, int]) -> np.ndarray:
        """Fourier transform of the cells on a sheet of `shape` cells; kept, as every sheet asks for it."""
        if shape not in self._spectra:
            self._spectra[shape] = _spectrum(self, shape)
        return self._spectra[shape]


def mask_of(shape: BaseGeometry, cell: float = CELL) -> Mask:
    """Every cell, `cell` mm wide, that `shape` touches."""
    x0, y0, x1, y1 = shape.bounds
    columns, rows = _count(x1 - x0, cell), _count(y1 - y0, cell)
    x = x0 + (np.arange(columns) + 0.5) * cell
    y = y1 - (np.arange(rows) + 0.5) * cell
    return Mask(_covers(shape.buffer(_reach(cell)), x, y), shape.bounds)


class Sheet:
    """A rectangle of `width` x `height` mm, its origin the lower left corner, that is filled step by step."""

    def __init__(self, width: float, height: float, cell: float = CELL):
        self.width, self.height, self.cell = width, height, cell
        self._taken = np.zeros((_count(height, cell), _count(width, cell)), bool)  # row 0 is the top
        self._padded = tuple(next_fast_len(n, real=True) for n in self._taken.shape)
        self._spectrum: np.ndarray | None = None  # of _taken; None when that has changed

    def find(self, mask: Mask) -> tuple[float, float] | None:
        """Shift (dx, dy) that takes a shape to the topmost, then leftmost free place, if there is one.

        Its `mask` has cells as wide as those of the sheet.
        """
        free = self.free(mask)
        if not free.any():
            return None
        x0, _, _, y1 = mask.bounds
        row, column = np.unravel_index(int(np.argmax(free)), free.shape)
        return float(column * self.cell - x0), float(self.height - row * self.cell - y1)

    def free(self, mask: Mask) -> np.ndarray:
        """(rows, columns) bool: with its upper left corner in which cells a shape takes nothing that is taken."""
        x0, y0, x1, y1 = mask.bounds
        rows, columns = _places(self.height - (y1 - y0), self.cell), _places(self.width - (x1 - x0), self.cell)
        if rows < 1 or columns < 1 or mask.cells.sum() > (~self._taken).sum():
            return np.zeros((0, 0), bool)
        if self._spectrum is None:
            self._spectrum = rfft2(self._taken.astype(np.float32), self._padded)
        # Cells taken under the shape at every place, by circular correlation; places that wrap are cut off.
        clashes = irfft2(self._spectrum * mask.spectrum(self._padded), self._padded)
        return np.asarray(clashes[:rows, :columns] < 0.5)  # counts, rounded by far less

    def copy(self) -> Sheet:
        """A sheet filled as far as this one, to be filled further on its own."""
        other = Sheet(self.width, self.height, self.cell)
        other._taken, other._spectrum = self._taken.copy(), self._spectrum
        return other

    def take(self, shape: BaseGeometry, gap: float) -> None:
        """Mark the room of `shape`, where it is, and `gap` mm around it, as taken."""
        cell = self.cell
        wide = shape.buffer(gap + _reach(cell))
        if wide.is_empty:
            return
        rows, columns = self._taken.shape
        x0, y0, x1, y1 = wide.bounds
        across = np.arange(max(int(x0 // cell), 0), min(_count(x1, cell), columns))
        down = np.arange(max(int((self.height - y1) // cell), 0), min(_count(self.height - y0, cell), rows))
        if len(across) and len(down):
            x, y = (across + 0.5) * cell, self.height - (down + 0.5) * cell
            self._taken[down[0] : down[-1] + 1, across[0] : across[-1] + 1] |= _covers(wide, x, y)
        self._spectrum = None

    @property
    def taken(self) -> np.ndarray:
        """(rows, columns) bool, row 0 on top: the cells in which there is no room."""
        return self._taken

    def take_all(self) -> None:
        """Leave no room."""
        self._taken[:] = True
        self._spectrum = None


@dataclass(frozen=True, eq=False)
class Beside:
    """Where a shape of some `size` (width, height) finds room beside another, which stands in the upper left corner.

    `leftmost` (rows,) is the first column of cells, `cell` mm wide, in which its upper left corner may stand, by rows
    from the top; past all columns where there is none. On no sheet is the topmost place further down or to the right.
    """

    cell: float
    size: tuple[float, float]
    leftmost: np.ndarray

    def on(self, width: float, height: float) -> tuple[float, float] | None:
        """How far (across, down) the topmost, then leftmost place on a sheet of that size is from its corner."""
        columns, rows = (_places(room - own, self.cell) for room, own in zip((width, height), self.size))
        free = np.flatnonzero(self.leftmost[: max(rows, 0)] < columns)
        return (float(self.leftmost[free[0]] * self.cell), float(free[0] * self.cell)) if len(free) else None


class Rooms:
    """The room for one shape at `gap` mm from another, whatever the sheet: what is looked for on every sheet is found once.

    Each shape is counted in cells once, and the transforms of the last ones are kept: every one stands beside many others."""

    def __init__(self, gap: float):
        self._gap = gap
        self._with_gap, self._alone = cache(self._grown), cache(mask_of)
        self._spectrum = lru_cache(_SPECTRA)(_spectrum)

    def __call__(self, first: BaseGeometry, second: BaseGeometry) -> Beside:
        """The room for `second` beside `first`."""
        x0, y0, x1, y1 = first.bounds
        a0, b0, a1, b1 = second.bounds
        longest = max(x1 - x0, y1 - y0, a1 - a0, b1 - b0)
        cell = CELL * max(1, int(np.ceil(longest / (_MOST_CELLS * CELL))))
        room = x1 - x0 + self._gap + 4.0 * cell, y1 - y0 + self._gap + 4.0 * cell  # beyond which nothing is in the way
        taken, other = self._with_gap(first, cell), self._alone(second, cell)
        sheet = [_count(own + size, cell) for own, size in zip(room[::-1], (b1 - b0, a1 - a0))]
        if other.cells.sum() > sheet[0] * sheet[1] - taken.cells.sum():
            return Beside(cell, (a1 - a0, b1 - b0), np.zeros(0, int))
        padded = tuple(next_fast_len(-(-n // _STEP) * _STEP, real=True) for n in sheet)
        clashes = irfft2(np.conj(self._spectrum(taken, padded)) * self._spectrum(other, padded), padded)
        free = clashes[: _places(room[1], cell), : _places(room[0], cell)] < 0.5
        leftmost = np.where(free.any(axis=1), free.argmax(axis=1), np.iinfo(np.int64).max)
        return Beside(cell, (a1 - a0, b1 - b0), leftmost)

    def _grown(self, shape: BaseGeometry, cell: float) -> Mask:
        """A shape with the gap around it, in cells from the upper left corner of its own bounds."""
        x0, y0, x1, y1 = shape.bounds
        rows, columns = (_count(size + self._gap + 2.0 * cell, cell) for size in (y1 - y0, x1 - x0))
        sheet = Sheet(columns * cell, rows * cell, cell)
        sheet.take(translate(shape, -x0, sheet.height - y1), self._gap)
        return Mask(sheet.taken, shape.bounds)


def _spectrum(mask: Mask, shape: tuple[int, int]) -> np.ndarray:
    """As `Mask.spectrum`, and not kept with the mask."""
    return np.asarray(np.conj(rfft2(mask.cells.astype(np.float32), shape)))


def _reach(cell: float) -> float:
    """From the middle of a cell to its corner."""
    return cell * float(np.sqrt(0.5))


def _places(room: float, cell: float) -> int:
    """Cells in which a shape may begin that leaves so much room; less than 1 where it does not fit."""
    return int((room + 1e-6) // cell) + 1


def _count(length: float, cell: float) -> int:
    """Cells that a length touches."""
    return max(1, int(np.ceil((length - 1e-6) / cell)))


def _covers(shape: BaseGeometry, x: np.ndarray, y: np.ndarray) -> np.ndarray:
    """(len(y), len(x)) which points of a grid are in an area: `x` ascends, `y` descends.

    Along each row a point is inside if an odd number of the area's sides lies to its left.
    """
    rings = shapely.get_rings(shapely.get_parts(shape))
    points, ring = shapely.get_coordinates(rings, return_index=True)
    goes_on = ring[1:] == ring[:-1]
    (ax, ay), (bx, by) = points[:-1][goes_on].T, points[1:][goes_on].T
    # A side meets the rows from its lower end to below its upper one, so that rows through a corner meet it rightly.
    first = np.searchsorted(-y, -np.maximum(ay, by), side="right")
    rows = np.searchsorted(-y, -np.minimum(ay, by), side="right") - first
    side = np.repeat(np.arange(len(ax)), rows)
    row = np.arange(len(side)) - np.repeat(np.cumsum(rows) - rows, rows) + first[side]
    met = ax[side] + (y[row] - ay[side]) * ((bx[side] - ax[side]) / (by[side] - ay[side]))
    column = np.searchsorted(x, met, side="right")
    turns = np.bincount(row * (len(x) + 1) + column, minlength=len(y) * (len(x) + 1))
    return np.asarray(np.cumsum(turns.reshape(len(y), -1)[:, :-1], axis=1) % 2 == 1)
