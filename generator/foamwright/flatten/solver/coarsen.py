"""A mesh with fewer of the same vertices, and the way back from its flat shape to that of the full mesh."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from scipy.sparse import coo_array, csr_array

LEAST_SHAPE = 0.1  # height over longest side that a new triangle must have
LEAST_TURN = 0.5  # cosine between a new triangle and the surface at the vertex that went


@dataclass(frozen=True, eq=False)
class Coarse:
    """The triangles `F` of a coarse mesh, whose vertices are the `kept` ones of the full mesh, in order."""

    F: np.ndarray
    kept: np.ndarray
    count: int  # vertices of the full mesh
    _removed: tuple[tuple[np.ndarray, csr_array], ...]  # vertices of each round, their weights on the others

    def prolong(self, flat: np.ndarray) -> np.ndarray:
        """Positions (count, 2) of the full mesh: every vertex keeps its place among its last neighbours."""
        full = np.zeros((self.count, flat.shape[1]))
        full[self.kept] = flat
        for vertices, weights in reversed(self._removed):
            full[vertices] = weights @ full
        return full


def coarsen(V: np.ndarray, F: np.ndarray, faces: int) -> Coarse:
    """Removes vertices in rounds until about `faces` triangles are left, or no more can go.

    In a round, vertices that are not neighbours are pulled into one of their neighbours each, the nearest
    that keeps the mesh a mesh; a boundary vertex only along the boundary.
    """
    n = len(V)
    N = _vertex_normals(V, F)
    removed = []
    scatter = np.random.default_rng(0)  # a fixed seed: breaks ties without regard to the mesh's numbering
    while len(F) > faces:
        mesh = _Rings(F, n)
        gone, into = mesh.independent_pulls(V, N, scatter)
        # no more than are needed, so that the last round does not overshoot
        gone, into = gone[: (len(F) - faces) // 2 + 1], into[: (len(F) - faces) // 2 + 1]
        if len(gone) < 1 + len(F) // 100:
            break
        removed.append((gone, _affine_weights(V, N, mesh.adjacency[gone], gone)))
        moved = np.arange(n)
        moved[gone] = into
        F = moved[F]
        F = F[(F[:, 0] != F[:, 1]) & (F[:, 1] != F[:, 2]) & (F[:, 2] != F[:, 0])]
    kept = np.unique(F)
    new = np.zeros(n, np.int64)
    new[kept] = np.arange(len(kept))
    return Coarse(new[F], kept, n, tuple(removed))


def _vertex_normals(V: np.ndarray, F: np.ndarray) -> np.ndarray:
    normal = np.cross(V[F[:, 1]] - V[F[:, 0]], V[F[:, 2]] - V[F[:, 0]])
    sums = np.stack([np.bincount(F.T.ravel(), np.tile(c, 3), len(V)) for c in normal.T], axis=1)
    return sums / np.maximum(np.linalg.norm(sums, axis=1, keepdims=True), 1e-300)


class _Rings:
    """Who is next to whom in a mesh of which only some of the `n` vertices are still used."""

    def __init__(self, F: np.ndarray, n: int):
        self.F, self.n = F, n
        tail, head = F.ravel(), F[:, [1, 2, 0]].ravel()
        ones = np.ones(len(tail))
        half = coo_array((ones, (tail, head)), (n, n)).tocsr()
        both = half + half.T  # 2 on inner edges, 1 on the boundary
        both.sort_indices()
        self.adjacency = csr_array((np.ones(both.nnz), both.indices, both.indptr), (n, n))
        self.row = np.repeat(np.arange(n), np.diff(both.indptr))
        self.column = both.indices.astype(np.int64)
        self.edge_faces = both.data
        self.boundary = np.zeros(n, bool)
        self.boundary[self.row[self.edge_faces == 1.0]] = True

    def independent_pulls(
        self, V: np.ndarray, N: np.ndarray, scatter: np.random.Generator
    ) -> tuple[np.ndarray, np.ndarray]:
        """Vertices to remove and the neighbour that takes the place of each, the shortest moves first."""
        row, column = self.row, self.column
        length = np.linalg.norm(V[row] - V[column], axis=1)
        degree = np.diff(self.adjacency.indptr)
        allowed = (~self.boundary[row] | (self.edge_faces == 1.0)) & (degree[row] >= 3) & (degree[column] <= 9)
        # of each vertex about the shortest allowed edge; another one in the next round if that one will not
        # do
        cost = np.where(allowed, length * (1.0 + 0.5 * scatter.random(len(row))), np.inf)
        used = np.flatnonzero(degree)
        starts = self.adjacency.indptr[used]
        least = np.full(self.n, np.inf)
        least[used] = np.minimum.reduceat(cost, starts)
        chosen = np.flatnonzero((cost == least[row]) & np.isfinite(cost))
        into = np.full(self.n, -1)
        into[row[chosen]] = column[chosen]

        pulled = np.zeros(self.n, bool)
        rank = np.where(np.isfinite(least), least, np.inf)
        for _ in range(3):
            near = np.full(self.n, np.inf)
            near[used] = np.minimum.reduceat(rank[column], starts)
            new = np.isfinite(rank) & (rank < near)
            pulled |= new
            rank[new] = np.inf
            rank[row[new[column]]] = np.inf
        gone = np.flatnonzero(pulled)
        gone = gone[np.argsort(least[gone], kind="stable")]
        gone = gone[self._keeps_mesh(gone, into[gone])]
        gone = gone[self._keeps_shape(gone, into, V, N)]
        gone = gone[self._apart(gone, into[gone])]
        return gone, into[gone]

    def _keeps_mesh(self, gone: np.ndarray, into: np.ndarray) -> np.ndarray:
        """The link condition: the two ends share no more neighbours than the edge has triangles."""
        A = self.adjacency
        shared = np.asarray(A[gone].multiply(A[into]).sum(axis=1)).ravel()
        triangles = np.where(self.boundary[gone], 1, 2)
        return shared == triangles

    def _keeps_shape(self, gone: np.ndarray, into: np.ndarray, V: np.ndarray, N: np.ndarray) -> np.ndarray:
        """No new triangle is thin or faces away from the surface."""
        going = np.zeros(self.n, bool)
        going[gone] = True
        touched = going[self.F]
        faces = np.flatnonzero(touched.any(axis=1))
        centre = self.F[faces, np.argmax(touched[faces], axis=1)]
        moved = np.where(self.F[faces] == centre[:, None], into[centre][:, None], self.F[faces])
        stays = (moved[:, 0] != moved[:, 1]) & (moved[:, 1] != moved[:, 2]) & (moved[:, 2] != moved[:, 0])
        centre, moved = centre[stays], moved[stays]
        p, q, r = V[moved[:, 0]], V[moved[:, 1]], V[moved[:, 2]]
        normal = np.cross(q - p, r - p)
        size = np.linalg.norm(normal, axis=1)
        longest = np.max([np.sum(side**2, axis=1) for side in (q - p, r - q, p - r)], axis=0)
        facing = np.sum(normal * N[centre], axis=1)
        bad = (size < LEAST_SHAPE * longest) | (facing < LEAST_TURN * size)
        return np.bincount(centre[bad], minlength=self.n)[gone] == 0

    def _apart(self, gone: np.ndarray, into: np.ndarray) -> np.ndarray:
        """No two pulls make the same new edge: of each such pair the first alone is kept."""
        A = self.adjacency[gone]
        pair = (A @ A.T).tocoo()
        i, j = pair.coords
        later = i > j
        i, j = i[later], j[later]
        both = (self._next_to(gone[i], into[j])) & (self._next_to(gone[j], into[i]))
        keep = np.ones(len(gone), bool)
        keep[i[both]] = False
        return keep

    def _next_to(self, a: np.ndarray, b: np.ndarray) -> np.ndarray:
        keys = self.row * self.n + self.column
        at = np.minimum(np.searchsorted(keys, a * self.n + b), len(keys) - 1)
        return keys[at] == a * self.n + b


def _affine_weights(V: np.ndarray, N: np.ndarray, ring: csr_array, centre: np.ndarray) -> csr_array:
    """Weights of each centre on its ring that are exact for every affine map of the ring laid out around it.

    Of all such weights the ones nearest to zero, near neighbours counting more.
    """
    row = np.repeat(np.arange(len(centre)), np.diff(ring.indptr))
    spoke = V[ring.indices] - V[centre][row]
    normal = N[centre]
    axis = np.eye(3)[np.argmin(np.abs(normal), axis=1)]
    x = np.cross(normal, axis)
    x /= np.linalg.norm(x, axis=1)[:, None]
    y = np.cross(normal, x)
    flat = np.stack([np.sum(spoke * x[row], axis=1), np.sum(spoke * y[row], axis=1)], axis=1)
    length = np.linalg.norm(spoke, axis=1)
    flat *= (length / np.maximum(np.linalg.norm(flat, axis=1), 1e-9 * length))[:, None]
    mean = (np.bincount(row, length) / np.bincount(row))[row]
    terms = np.concatenate([np.ones((len(row), 1)), flat / mean[:, None]], axis=1)
    trust = (mean / length) ** 2
    starts = ring.indptr[:-1]
    normal_matrix = np.add.reduceat(trust[:, None, None] * terms[:, :, None] * terms[:, None, :], starts, axis=0)
    wanted = np.zeros((len(centre), 3, 1))
    wanted[:, 0] = 1.0
    solution = np.linalg.solve(normal_matrix + 1e-9 * np.eye(3), wanted)[:, :, 0]
    weights = trust * np.sum(terms * solution[row], axis=1)
    weights /= np.bincount(row, weights)[row]
    return csr_array((weights, ring.indices, ring.indptr), ring.shape)
