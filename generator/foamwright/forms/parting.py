"""Where a form is parted into sheets: along its creases, and beyond the end of one that fades out."""

from __future__ import annotations

import numpy as np
from scipy.sparse import coo_matrix
from scipy.sparse.csgraph import connected_components

from foamwright.geometry import Mesh

_LEAST = 0.1  # of the form's diagonal: shorter runs of sharp sides are roughness and no crease
_STRAIGHT = 0.7  # cosine of the most that a crease turns from side to side where it is run on


def sheets(across: np.ndarray, parted: np.ndarray) -> tuple[int, np.ndarray]:
    """How many sheets the sides `parted` (m, 3) leave, and the number (m,) of that of each triangle; `across` is `opposite`."""
    face = np.nonzero(~parted)[0]
    count = len(parted)
    graph = coo_matrix((np.ones(len(face)), (face, across[~parted] // 3)), shape=(count, count))
    found, sheet_of = connected_components(graph, directed=False)
    return int(found), sheet_of


def run_on(mesh: Mesh, across: np.ndarray, sharp: np.ndarray) -> np.ndarray:
    """The sides (m, 3) along which sheets part: the `sharp` ones and, where a crease fades out within a sheet, as the
    groove of a pumpkin does towards its stalk, the sides that lead on straight from its end until they meet others.

    A panel cut along such a crease would else follow now the one and now the other of its faces.
    """
    ways = _ways_on(mesh, across, sharp)
    if not ways:
        return sharp
    ahead_of = _neighbours(mesh)
    sides = np.sort(np.stack([mesh.triangles, np.roll(mesh.triangles, -1, axis=1)], axis=2), axis=2)
    keys = sides @ [len(mesh.points), 1]
    taken, met = set(keys[sharp].tolist()), set(mesh.triangles[sharp].tolist())
    met |= set(np.roll(mesh.triangles, -1, axis=1)[sharp].tolist())
    while ways:
        going = []
        for before, here in ways:
            ahead = _straight_on(mesh.points, before, here, ahead_of[here])
            if ahead < 0:
                continue
            taken.add(min(here, ahead) * len(mesh.points) + max(here, ahead))
            if ahead not in met:
                going.append((here, ahead))
            met.add(ahead)
        ways = going
    return np.isin(keys, list(taken))


def _ways_on(mesh: Mesh, across: np.ndarray, sharp: np.ndarray) -> list[tuple[int, int]]:
    """The loose ends of long creases that part no sheets: the vertex before the end, and the end."""
    _, sheet_of = sheets(across, sharp)
    if not (sharp & (sheet_of[:, None] == sheet_of[across // 3])).any():
        return []
    a, b = mesh.triangles[sharp], np.roll(mesh.triangles, -1, axis=1)[sharp]
    once = a < b
    a, b = a[once], b[once]
    size = len(mesh.points)
    _, line = connected_components(coo_matrix((np.ones(len(a)), (a, b)), shape=(size, size)), directed=False)
    length = np.bincount(line[a], np.linalg.norm(mesh.points[b] - mesh.points[a], axis=1), size)
    sides_at = np.bincount(np.concatenate([a, b]), minlength=size)
    ways = [*zip(a.tolist(), b.tolist()), *zip(b.tolist(), a.tolist())]
    return [way for way in ways if sides_at[way[1]] == 1 and length[line[way[1]]] > _LEAST * mesh.diagonal]


def _neighbours(mesh: Mesh) -> list[np.ndarray]:
    """The vertices beside each vertex."""
    sides = mesh.triangles[:, [[0, 1], [1, 2], [2, 0]]].reshape(
        -1, 2
    )  # on a closed mesh each comes once from either end
    sides = sides[np.lexsort(sides.T[::-1])]
    return np.split(sides[:, 1], np.searchsorted(sides[:, 0], np.arange(1, len(mesh.points))))


def _straight_on(points: np.ndarray, before: int, here: int, beside: np.ndarray) -> int:
    """The neighbour that lies straightest on from `before` to `here`; -1 where none lies ahead."""
    come, on = points[here] - points[before], points[beside] - points[here]
    cosine = on @ come / (np.linalg.norm(on, axis=1) * np.linalg.norm(come))
    best = int(np.argmax(cosine))
    return int(beside[best]) if cosine[best] > _STRAIGHT else -1
