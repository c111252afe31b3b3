"""True lengths of a mesh's edges within the smooth surface, and the flat triangles that have them."""

from __future__ import annotations

import numpy as np

from foamwright.flatten.solver.failure import CannotFlatten
from foamwright.geometry import arc_lengths


def edge_lengths(V: np.ndarray, N: np.ndarray, F: np.ndarray) -> np.ndarray:
    """Lengths in the surface of the edges of each triangle, (m, 3); column i is the edge opposite corner i.

    `V` (n, 3) vertices, `N` (n, 3) unit normals of the smooth surface at them, `F` (m, 3).
    """
    ends = F[:, [[1, 2], [2, 0], [0, 1]]]
    return arc_lengths(V[ends[..., 0]], V[ends[..., 1]], N[ends[..., 0]], N[ends[..., 1]])


def rest_triangles(lengths: np.ndarray) -> np.ndarray:
    """Each triangle laid flat: (m, 2, 2) matrices whose columns lead from corner 0 to corners 1 and 2.

    Corner 1 lies on the x axis and the triangle runs counter-clockwise, so the matrices are upper triangular.
    Raises CannotFlatten where three lengths do not make a triangle.
    """
    base, left, right = lengths[:, 2], lengths[:, 1], lengths[:, 0]
    x = (base**2 + left**2 - right**2) / (2.0 * base)
    high = left**2 - x**2
    if not np.all(high > 1e-12 * left**2):
        raise CannotFlatten("the mesh of a panel has a triangle without area")
    matrices = np.zeros((len(lengths), 2, 2))
    matrices[:, 0, 0] = base
    matrices[:, 0, 1] = x
    matrices[:, 1, 1] = np.sqrt(high)
    return matrices


def areas(rest: np.ndarray) -> np.ndarray:
    """Areas (m,) of the triangles of `rest_triangles`."""
    return 0.5 * rest[:, 0, 0] * rest[:, 1, 1]
