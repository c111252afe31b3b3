"""Where on a sheet a piece would overlap the others least, for all places at once, on a grid of cells.

The weighted overlap of a piece at every place is the correlation of its cells with those of all others, which
one Fourier transform gives. It only points out places worth a closer look: cells are coarse.
"""

from __future__ import annotations

from dataclasses import dataclass, field

import numpy as np
from scipy.fft import irfft2, next_fast_len, rfft2

from generator.layout.nesting.overlap import Table, Turned


@dataclass(frozen=True, eq=False)
class _Cells:
    """A turned piece as cells (rows along y, columns along x), the lower left one at cell `corner`."""

    filled: np.ndarray  # float32
    corner: np.ndarray  # (2,) x and y, in cells


@dataclass(eq=False)
class Grid:
    """The cells of sheets of at most `width` x `length` mm, with what was worked out for pieces on them."""

    table: Table
    width: float
    length: float
    cell: float
    _cells: dict[tuple[int, int], _Cells] = field(default_factory=dict)
    _spectra: dict[tuple[int, int], np.ndarray] = field(default_factory=dict)

    @property
    def _shape(self) -> tuple[int, int]:
        return tuple(
            next_fast_len(int(np.ceil(n / self.cell)) + 2, real=True) for n in (self.length, self.width)
        )

    def cells(self, shape: int, turn: int) -> _Cells:
        key = (shape, turn)
        if key not in self._cells:
            self._cells[key] = _cells(self.table.shapes[shape][turn], self.cell)
        return self._cells[key]

    def spectrum(self, shape: int, turn: int) -> np.ndarray:
        key = (shape, turn)
        if key not in self._spectra:
            self._spectra[key] = np.conj(rfft2(self.cells(shape, turn).filled, self._shape))
        return self._spectra[key]

    def load(self, pieces) -> np.ndarray:
        """Spectrum of the weighted cells of `pieces`: (shape, turn, place on the sheet, weight) each."""
        rows, columns = self._shape
        total = np.zeros((rows, columns), np.float32)
        for shape, turn, place, weight in pieces:
            own = self.cells(shape, turn)
            x, y = np.round(place / self.cell).astype(int) + own.corner
            h, w = own.filled.shape
            x, y = min(max(x, 0), columns - w), min(max(y, 0), rows - h)
            total[y : y + h, x : x + w] += np.float32(weight) * own.filled
        return rfft2(total)

    def best(
        self, load: np.ndarray, shape: int, turn: int, room: np.ndarray, count: int
    ) -> list[tuple[float, np.ndarray]]:
        """Up to `count` places apart from each other, with the load on their cells, on a sheet of size `room`."""
        own = self.cells(shape, turn)
        cost = irfft2(load * self.spectrum(shape, turn), self._shape)
        span = np.floor((room - self.table.shapes[shape][turn].size) / self.cell).astype(int) + 1
        cost = cost[: span[1], : span[0]]
        apart = np.maximum(np.array(own.filled.shape) // 4, 1)
        found = []
        for _ in range(count):
            row, column = np.unravel_index(int(np.argmin(cost)), cost.shape)
            if not np.isfinite(cost[row, column]):
                break
            found.append((float(cost[row, column]), (np.array([column, row]) - own.corner) * self.cell))
            y, x = max(row - apart[0], 0), max(column - apart[1], 0)
            cost[y : row + apart[0] + 1, x : column + apart[1] + 1] = np.inf
        return found


def _cells(piece: Turned, cell: float) -> _Cells:
    """A cell is filled if its middle is in the piece."""
    corner = np.floor(piece.low / cell).astype(int)
    count = np.ceil(piece.high / cell).astype(int) - corner
    x = (corner[0] + np.arange(count[0]) + 0.5) * cell
    y = (corner[1] + np.arange(count[1]) + 0.5) * cell
    filled = np.zeros((len(y), len(x)), bool)
    for normals, reach in zip(piece.normals, piece.reach):
        over = normals[:, 0, None, None] * x + normals[:, 1, None, None] * y[:, None]
        filled |= (over <= reach[:, None, None]).all(axis=0)
    return _Cells(filled.astype(np.float32), corner)
