"""First flat shapes of a mesh, before any strain is minimised."""

from __future__ import annotations

import numpy as np
from scipy.sparse import csc_array
from scipy.sparse.linalg import splu

from foamwright.flatten.solver.blocks import BlockPattern
from foamwright.flatten.solver.failure import CannotFlatten


def boundary_loops(F: np.ndarray) -> list[np.ndarray]:
    """Closed loops of boundary vertices, each in the direction of the faces beside it, the longest first."""
    n = int(F.max()) + 1
    tail, head = F.ravel(), F[:, [1, 2, 0]].ravel()
    open_edge = ~np.isin(tail * n + head, head * n + tail)
    tail, head = tail[open_edge], head[open_edge]
    if len(np.unique(tail)) != len(tail):
        raise CannotFlatten("the mesh of a panel touches itself at a vertex")
    follow = dict(zip(tail.tolist(), head.tolist()))
    loops = []
    while follow:
        at = min(follow)
        loop = []
        while at in follow:
            loop.append(at)
            at = follow.pop(at)
        loops.append(np.array(loop))
    return sorted(loops, key=len, reverse=True)


def conformal(V: np.ndarray, F: np.ndarray, shape: np.ndarray, area: np.ndarray, pattern: BlockPattern) -> np.ndarray:
    """The least-squares conformal map with two far vertices held at their distance; it may have flips.

    Levy, Petitjean, Ray, Maillot: Least Squares Conformal Maps, SIGGRAPH 2002. `shape` (m, 3, 2) holds the
    gradients of the hat functions, `area` (m,) the true areas.
    """
    i, j = [0, 1, 2, 0, 1, 2], [0, 1, 2, 1, 2, 0]
    gx, gy = shape[:, :, 0].T, shape[:, :, 1].T
    dot = area * (gx[i] * gx[j] + gy[i] * gy[j])
    cross = area * (gx[i] * gy[j] - gy[i] * gx[j])
    diagonal, across = pattern.sum_blocks(np.stack([dot, -cross, cross, dot]))
    a = int(np.argmax(np.sum((V - V.mean(axis=0)) ** 2, axis=1)))
    b = int(np.argmax(np.sum((V - V[a]) ** 2, axis=1)))
    hold = 1e6 * diagonal[0].max()
    right = np.zeros((len(V), 2))
    right[b, 0] = hold * np.linalg.norm(V[b] - V[a])
    for vertex in (a, b):
        diagonal[0, vertex] += hold
        diagonal[3, vertex] += hold
    system = pattern.system(diagonal, across)
    flat = system.solve(system.factor(), right)
    p, q, r = flat[F[:, 0]], flat[F[:, 1]], flat[F[:, 2]]
    signed = 0.5 * np.sum((q - p)[:, 0] * (r - p)[:, 1] - (q - p)[:, 1] * (r - p)[:, 0])
    return flat * np.sqrt(area.sum() / signed) if signed > 0.0 else flat


def convex(F: np.ndarray, n: int, area: float) -> np.ndarray:
    """The longest boundary on a circle and every other vertex at the mean of its neighbours: never a flip.

    W. T. Tutte: How to Draw a Graph, 1963. Each hole is spanned by one more vertex, which is then dropped.
    """
    outer, *holes = boundary_loops(F)
    if len(np.unique(F)) != n:
        raise CannotFlatten("the mesh of a panel has a vertex without a face")
    edges = F[:, [0, 1, 1, 2, 2, 0]].reshape(-1, 2)
    spokes = [np.stack([np.full(len(loop), n + k), loop], axis=1) for k, loop in enumerate(holes)]
    edges = np.concatenate([edges, *spokes])
    both = np.unique(np.concatenate([edges, edges[:, ::-1]]), axis=0)
    count = n + len(holes)
    fixed = np.zeros(count, bool)
    fixed[outer] = True
    angle = 2.0 * np.pi * np.arange(len(outer)) / len(outer)
    flat = np.zeros((count, 2))
    flat[outer] = np.sqrt(area / np.pi) * np.stack([np.cos(angle), np.sin(angle)], axis=1)
    if not np.all(fixed):
        row, col = both.T
        inner = np.cumsum(~fixed) - 1
        free_row = ~fixed[row]
        right = np.stack(
            [np.bincount(row[free_row], np.where(fixed[col], flat[col, k], 0.0)[free_row], count) for k in (0, 1)],
            axis=1,
        )[~fixed]
        keep = free_row & ~fixed[col]
        degree = np.bincount(row, minlength=count)[~fixed].astype(float)
        size = len(degree)
        matrix = csc_array((np.full(keep.sum(), -1.0), (inner[row[keep]], inner[col[keep]])), (size, size))
        matrix = matrix + csc_array((degree, (np.arange(size), np.arange(size))), (size, size))
        flat[~fixed] = splu(
            csc_array(matrix),
            permc_spec="MMD_AT_PLUS_A",
            diag_pivot_thresh=0.0,
            options={"SymmetricMode": True},
        ).solve(right)
    return flat[:n]
