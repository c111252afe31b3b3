"""True lengths of a mesh's edges within the smooth surface, and the flat triangles that have them."""

from __future__ import annotations

import numpy as np

from foamwright.flatten.solver.failure import CannotFlatten


def edge_lengths(V: np.ndarray, N: np.ndarray, F: np.ndarray) -> np.ndarray:
    """Lengths in the surface of the edges of each triangle, (m, 3); column i is the edge opposite corner i.

    `V` (n, 3) vertices, `N` (n, 3) unit normals of the smooth surface at them, `F` (m, 3).
    """
    ends = F[:, [[1, 2], [2, 0], [0, 1]]]
    return arc_lengths(V[ends[..., 0]], V[ends[..., 1]], N[ends[..., 0]], N[ends[..., 1]])


def arc_lengths(p: np.ndarray, q: np.ndarray, n_p: np.ndarray, n_q: np.ndarray) -> np.ndarray:
    """Length of the shortest line in the surface from `p` to `q`, points and unit normals of shape (..., 3).

    A line that turns by the angle f about an axis at radius r while it may also advance along that axis (an
    arc or a helix) has length^2 = chord^2 + r^2 (f^2 - 4 sin^2(f/2)), and its end normals differ by a vector
    of length 2 sin(f/2) whose product with the chord is 4 r sin^2(f/2). So the result is exact on spheres and
    cylinders; elsewhere its relative error is of the fourth order in the chord. Never less than the chord.
    """
    chord = q - p
    turn = n_q - n_p
    square = np.sum(chord**2, axis=-1)
    bend = np.sum(turn * chord, axis=-1)
    return np.sqrt(square + bend**2 / 12.0 * _arc_factor(np.sum(turn**2, axis=-1)))


def _arc_factor(x: np.ndarray) -> np.ndarray:
    """12 (f^2 - x) / x^2 for x = 4 sin^2(f/2) in 0 to 4; 1 at x = 0."""
    small = x < 0.02
    safe = np.where(small, 1.0, np.minimum(x, 4.0))
    angle = 2.0 * np.arcsin(np.minimum(np.sqrt(safe) / 2.0, 1.0))
    # the series of f^2 = 4 arcsin^2(sqrt(x)/2) = x + x^2/12 + x^3/90 + x^4/560 + x^5/3150 + x^6/16632 + ...
    series = 1.0 + x * (12 / 90 + x * (12 / 560 + x * (12 / 3150 + x * 12 / 16632)))
    return np.where(small, series, 12.0 * (angle**2 - safe) / safe**2)


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
