"""A rough flat map of a curved region, in which fine meshes and darts are laid out later."""

from __future__ import annotations

import igl
import numpy as np

from foamwright.errors import BuildError
from foamwright.parts.region import boundary_loops


def rough_map(space: np.ndarray, faces: np.ndarray) -> np.ndarray:
    """Flat positions (n, 2) of a sheet with or without holes, near true length and without overlap.

    Starts from Tutte's map with the holes filled (which never folds) and lowers the symmetric Dirichlet
    energy by SLIM: Rabinovich, Poranne, Panozzo, Sorkine-Hornung, "Scalable Locally Injective Mappings",
    ACM TOG 2017, as libigl has it.
    """
    loops = sorted(boundary_loops(faces), key=lambda loop: -len(loop))
    start = _tutte(space, faces, loops)
    scale = np.sqrt(_area(space, faces) / np.pi)
    start = start * scale
    f = np.asfortranarray(faces, np.int32)
    v = np.asfortranarray(space)
    none = np.zeros(0, np.int32)
    data = igl.slim_precompute(
        v, f, np.asfortranarray(start), igl.MappingEnergyType.SYMMETRIC_DIRICHLET, none, np.zeros((0, 2)), 0.0
    )
    flat = np.asarray(igl.slim_solve(data, 25))[:, :2]
    if not np.isfinite(flat).all():
        raise BuildError("a panel cannot be laid flat; divide it with another cut")
    return np.ascontiguousarray(flat)


def _area(space, faces) -> float:
    a, b, c = (space[faces[:, i]] for i in range(3))
    return float(np.linalg.norm(np.cross(b - a, c - a), axis=1).sum() / 2)


def _tutte(space, faces, loops) -> np.ndarray:
    """Tutte's map to the unit disc with equal weights; each hole is closed by a fan about a point of its own."""
    from scipy.sparse import coo_matrix, diags
    from scipy.sparse.linalg import splu

    outer = max(loops, key=lambda loop: np.linalg.norm(np.diff(space[loop], axis=0), axis=1).sum())
    n = len(space)
    filled = [faces]
    for loop in loops:
        if loop is outer:
            continue
        following = np.roll(loop, -1)
        filled.append(np.column_stack([following, loop, np.full(len(loop), n)]))
        n += 1
    f = np.vstack(filled)
    i = f[:, [0, 1, 2, 1, 2, 0]].ravel()
    j = f[:, [1, 2, 0, 0, 1, 2]].ravel()
    adjacency = coo_matrix((np.ones(len(i)), (i, j)), shape=(n, n)).tocsr()
    adjacency.data[:] = 1.0
    laplacian = (diags(np.asarray(adjacency.sum(1)).ravel()) - adjacency).tocsc()
    chords = np.linalg.norm(space[np.roll(outer, -1)] - space[outer], axis=1)
    angle = 2 * np.pi * np.concatenate([[0], np.cumsum(chords)[:-1]]) / chords.sum()
    fixed = np.column_stack([np.cos(angle), np.sin(angle)])
    free = np.setdiff1d(np.arange(n), outer)
    flat = np.zeros((n, 2))
    flat[outer] = fixed
    if len(free):
        right = -(laplacian[free][:, outer] @ fixed)
        flat[free] = splu(laplacian[free][:, free]).solve(right)
    return flat[: len(space)]
