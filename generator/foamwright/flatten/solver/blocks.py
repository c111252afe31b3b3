"""The sparse symmetric matrices of a mesh with a 2 x 2 block for each vertex and each edge."""

from __future__ import annotations

import numpy as np
from scipy.sparse import csc_array
from scipy.sparse.linalg import SuperLU, splu

from foamwright.flatten.solver.failure import CannotFlatten


class BlockPattern:
    """Where the blocks of a mesh's matrix go; made once, then filled and solved many times.

    The vertices are put in the order of least fill-in that the scalar matrix of the mesh asks for.
    """

    def __init__(self, F: np.ndarray, n: int):
        self._F, self._n = F, n
        tail, head = F.ravel(), F[:, [1, 2, 0]].ravel()
        keys = np.sort(np.concatenate([tail * n + head, head * n + tail]))
        keys = keys[np.concatenate([[True], keys[1:] != keys[:-1]])]
        self._rows, self._cols = keys // n, keys % n
        self._keys = keys
        self._half_edges = np.searchsorted(keys, F * n + F[:, [1, 2, 0]]).T.ravel()
        self._turned = np.searchsorted(keys, self._cols * n + self._rows)
        self._place()

    def _place(self) -> None:
        """Index pointers, row indices and the slot of each block entry in the reordered 2n x 2n matrix."""
        n = self._n
        degree = np.bincount(self._cols, minlength=n)
        scalar = csc_array(
            (
                np.concatenate([np.full(len(self._keys), -1.0), degree + 1.0]),
                (np.concatenate([self._rows, np.arange(n)]), np.concatenate([self._cols, np.arange(n)])),
            ),
            (n, n),
        )
        self._position = splu(
            scalar, permc_spec="MMD_AT_PLUS_A", diag_pivot_thresh=0.0, options={"SymmetricMode": True}
        ).perm_c.astype(np.int64)
        rows = self._position[np.concatenate([self._rows, np.arange(n)])]
        cols = self._position[np.concatenate([self._cols, np.arange(n)])]
        order = np.argsort(cols * n + rows)
        count = np.bincount(cols, minlength=n)
        start = np.concatenate([[0], np.cumsum(count)])
        slot = np.empty(len(order), np.int64)
        slot[order] = np.arange(len(order))
        within = slot - start[cols]
        first = 4 * start[cols] + 2 * within
        next_column = first + 2 * count[cols]
        self._slots = np.stack([first, next_column, first + 1, next_column + 1])  # xx, xy, yx, yy
        self._indptr = np.empty(2 * n + 1, np.int32)
        self._indptr[0::2] = 4 * start
        self._indptr[1::2] = 4 * start[:-1] + 2 * count
        self._indices = np.empty(4 * len(order), np.int32)
        self._indices[self._slots[:2]] = 2 * rows
        self._indices[self._slots[2:]] = 2 * rows + 1

    def slots_of(self, tail: np.ndarray, head: np.ndarray) -> np.ndarray:
        """Where the edges from `tail` to `head` stand among the edge blocks. ValueError if one is no edge."""
        keys = tail * self._n + head
        slots = np.minimum(np.searchsorted(self._keys, keys), len(self._keys) - 1)
        if np.any(self._keys[slots] != keys):
            raise ValueError("a constrained segment is not an edge of the mesh")
        return slots

    def gather(self, corners: np.ndarray) -> np.ndarray:
        """Sums (axes, 3, m) values at the triangles' corners into (n, axes) at the vertices."""
        index = self._F.T.ravel()
        return np.stack([np.bincount(index, c.ravel(), minlength=self._n) for c in corners], axis=1)

    def sum_blocks(self, blocks: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
        """Sums (4, 6, m) blocks of triangles into blocks (4, n) of vertices and (4, pairs) of directed edges.

        Axis 0 is xx, xy, yx, yy; axis 1 the corner pairs 00, 11, 22, 01, 12, 20. An edge's block is the part
        of it that its own direction has; `system` adds that of the other direction.
        """
        corners = self._F.T.ravel()
        diagonal = np.stack([np.bincount(corners, b[:3].ravel(), minlength=self._n) for b in blocks])
        across = np.stack([np.bincount(self._half_edges, b[3:].ravel(), minlength=len(self._keys)) for b in blocks])
        return diagonal, across

    def system(self, diagonal: np.ndarray, across: np.ndarray) -> System:
        """The matrix with these blocks, ready to be solved.

        It is made definite by a hundred-billionth of its size on the diagonal: enough for the motions of the
        whole mesh that cost nothing, too little to be seen in any other.
        """
        whole = across + across[[0, 2, 1, 3]][:, self._turned]
        ground = 1e-11 * float(np.mean(diagonal[0] + diagonal[3]))
        data = np.empty(len(self._indices))
        data[self._slots[:, : len(self._keys)]] = whole
        data[self._slots[:, len(self._keys) :]] = diagonal + ground * np.array([[1.0], [0.0], [0.0], [1.0]])
        matrix = csc_array((data, self._indices, self._indptr), (2 * self._n, 2 * self._n))
        return System(matrix, self._position)


class System:
    """A symmetric positive definite matrix over (n, 2) vectors, the vertices ordered by `position` (n,)."""

    def __init__(self, matrix: csc_array, position: np.ndarray):
        self._matrix, self._position = matrix, position

    def factor(self) -> SuperLU:
        """Raises CannotFlatten where the matrix has no inverse, as that of a triangle without size."""
        try:
            return splu(
                self._matrix,
                permc_spec="NATURAL",
                diag_pivot_thresh=0.0,
                relax=10,
                panel_size=10,
                options={"SymmetricMode": True},
            )
        except RuntimeError as error:
            raise CannotFlatten("a part of the mesh has collapsed") from error

    def solve(self, factor: SuperLU, right: np.ndarray) -> np.ndarray:
        """The solution (n, 2) for `right` (n, 2), given the matrix's own factor."""
        return self._unordered(factor.solve(self._ordered(right)))

    def solve_nearby(self, factor: SuperLU, right: np.ndarray, most: int, tolerance: float) -> np.ndarray | None:
        """The solution to a relative `tolerance`, given the factor of a matrix that is nearly the same.

        Conjugate gradients with that factor as the preconditioner; None if `most` steps are not enough or the
        matrix turns out not to be positive definite.
        """
        x = np.zeros(2 * len(right))
        residual = self._ordered(right)
        z = factor.solve(residual)
        p = z
        size = first = float(residual @ z)
        for _ in range(most):
            image = self._matrix @ p
            curvature = float(p @ image)
            if curvature <= 0.0:
                return None
            step = size / curvature
            x = x + step * p
            residual = residual - step * image
            z = factor.solve(residual)
            before, size = size, float(residual @ z)
            if size <= tolerance**2 * first:
                return self._unordered(x)
            p = z + size / before * p
        return None

    def _ordered(self, vectors: np.ndarray) -> np.ndarray:
        ordered = np.empty(vectors.shape)
        ordered[self._position] = vectors
        return ordered.ravel()

    def _unordered(self, vector: np.ndarray) -> np.ndarray:
        return vector.reshape(-1, 2)[self._position]
