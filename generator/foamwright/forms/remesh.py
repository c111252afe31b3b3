"""Meshes made coarser or finer, so that their triangles come out of about one size."""

from __future__ import annotations

import math

import igl
import numpy as np

from foamwright.geometry import Mesh

_SPARE = 1.3  # times the wanted number of triangles, beyond which a mesh is simplified
_LONGEST = 1.7  # times the side of even triangles, beyond which a side is halved
_PASSES = 20


def even(mesh: Mesh, count: int) -> Mesh:
    """About `count` triangles near a mesh, all of about one size."""
    longest = _LONGEST * math.sqrt(4 / math.sqrt(3) * float(mesh.areas.sum()) / count)
    vertices, faces = finer(mesh.points, mesh.triangles, longest)
    if len(faces) > _SPARE * count:
        # the shortest side first, drawn together in its middle
        v, f, *_ = igl.decimate(np.asfortranarray(vertices), np.asfortranarray(faces, np.int32), count)
        vertices, faces = np.ascontiguousarray(v), np.ascontiguousarray(f, np.int64)
    return Mesh(vertices, faces)


def finer(vertices: np.ndarray, faces: np.ndarray, longest: float) -> tuple[np.ndarray, np.ndarray]:
    """Sides longer than `longest` halved until none is left; neighbours keep sharing their sides."""
    for _ in range(_PASSES):
        sides = faces[:, [[0, 1], [1, 2], [2, 0]]]
        key = np.sort(sides, axis=2) @ [len(vertices), 1]
        unique, inverse = np.unique(key, return_inverse=True)
        a, b = vertices[unique // len(vertices)], vertices[unique % len(vertices)]
        long = np.linalg.norm(a - b, axis=1) > longest
        if not long.any():
            break
        number = np.where(long, len(vertices) + np.cumsum(long) - 1, -1)
        middle = number[inverse.reshape(-1)].reshape(-1, 3)
        vertices = np.vstack([vertices, (a[long] + b[long]) / 2])
        faces = divided(vertices, faces, middle)
    return vertices, faces


def divided(vertices: np.ndarray, faces: np.ndarray, middle: np.ndarray) -> np.ndarray:
    """Faces with the middles (m, 3) of their sides as new corners, -1 where a side stays whole."""
    made = [faces[(middle < 0).all(axis=1)]]
    for pattern in range(1, 8):
        split = np.array([bool(pattern >> k & 1) for k in range(3)])
        rows = ((middle >= 0) == split).all(axis=1)
        # turned so that the first side is divided, and of two divided ones the second as well
        turn = next(k for k in range(3) if (split[k] and (split[(k + 1) % 3] or split.sum() == 1)) or split.all())
        a, b, c = (faces[rows, (turn + k) % 3] for k in range(3))
        d, e, f = (middle[rows, (turn + k) % 3] for k in range(3))
        if split.sum() == 1:
            made += [np.column_stack([a, d, c]), np.column_stack([d, b, c])]
        elif split.sum() == 3:
            made += [np.column_stack(t) for t in ((a, d, f), (d, b, e), (f, e, c), (d, e, f))]
        else:
            made.append(np.column_stack([d, b, e]))
            shorter = np.linalg.norm(vertices[a] - vertices[e], axis=1) < np.linalg.norm(
                vertices[d] - vertices[c], axis=1
            )
            shorter = shorter[:, None]
            made.append(np.where(shorter, np.column_stack([a, d, e]), np.column_stack([a, d, c])))
            made.append(np.where(shorter, np.column_stack([a, e, c]), np.column_stack([d, e, c])))
    return np.vstack(made)
