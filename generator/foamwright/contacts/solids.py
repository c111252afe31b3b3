"""The solids in place with their faces named: the one place that knows how the model keeps them.

Lengths in mm.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING, Any

import numpy as np
from scipy.sparse import coo_matrix
from scipy.sparse.csgraph import connected_components

from foamwright.contacts.curved import triangle_normals
from foamwright.contacts.records import Face, Plane, Solid
from foamwright.contacts.rings import covered

if TYPE_CHECKING:  # the model is heavy, and only its triangles are read here
    from foamwright.model.meshes import FaceMesh
    from foamwright.model.records import Model, Prototype

_FLAT = 1e-3  # mm that the points of a flat face may lie off its plane
_SMOOTH = 0.94  # cosine of 20 degrees: triangles of one curve turn less from one to the next


def solids(model: Model) -> tuple[Solid, ...]:
    """Every copy of the model, in its order."""
    made: dict[str, tuple[Face, ...]] = {}
    named = []
    for copy in model.copies:
        piece = copy.piece
        if piece.id not in made:
            made[piece.id] = _named(model.prototype(piece.id))
        place = piece.placements[copy.number - 1].matrix
        named.append(Solid(piece.id, copy.number, made[piece.id], place, piece.stock.thickness))
    return tuple(named)


def _named(part: Prototype) -> tuple[Face, ...]:
    """Its faces, turned as they are in the solid: by themselves the kernel's faces may look either way."""
    from foamwright.model.meshes import triangulations

    turned: dict[int, list[tuple[Any, FaceMesh]]] = {}
    for (face, _, _), mesh in zip(triangulations(part.solid), part.face_meshes):
        turned.setdefault(hash(face), []).append((face, mesh))
    all_faces: list[Face] = []
    for name, faces in part.named.items():
        own = [mesh for face in faces for other, mesh in turned.get(hash(face), ()) if face.IsSame(other)]
        all_faces += faces_of(name, [(mesh.points, mesh.triangles) for mesh in own])
    return tuple(all_faces)


def faces_of(name: str, meshes: Sequence[tuple[np.ndarray, np.ndarray]]) -> tuple[Face, ...]:
    """The faces of one name from the triangles (points, triangles) that the kernel gives of them."""
    starts = np.cumsum([0] + [len(points) for points, _ in meshes[:-1]])
    points = np.vstack([points for points, _ in meshes])
    triangles = np.vstack([mesh + start for (_, mesh), start in zip(meshes, starts)])
    # faces share the points along their common edges to the last few bits only
    _, first, number = np.unique(np.round(points, 5), axis=0, return_index=True, return_inverse=True)
    triangles = number.reshape(-1)[triangles]
    points = points[first]
    a, b, c = triangles.T
    triangles = triangles[(a != b) & (b != c) & (c != a)]
    normals = triangle_normals(points, triangles)
    return tuple(_face(name, points, triangles[smooth]) for smooth in _smooth(triangles, normals))


def _smooth(triangles: np.ndarray, normals: np.ndarray) -> list[np.ndarray]:
    """The numbers of the triangles of each stretch without a corner, as of the sides of a slot."""
    a, b = triangles.ravel(), triangles[:, [1, 2, 0]].ravel()
    key = np.minimum(a, b) * (int(triangles.max()) + 1) + np.maximum(a, b)
    order = np.argsort(key, kind="stable")
    same = key[order[1:]] == key[order[:-1]]
    one, other = order[:-1][same] // 3, order[1:][same] // 3
    flat = (normals[one] * normals[other]).sum(axis=1) > _SMOOTH
    graph = coo_matrix((np.ones(int(flat.sum())), (one[flat], other[flat])), shape=(len(triangles), len(triangles)))
    number = connected_components(graph, directed=False)[1]
    return [np.flatnonzero(number == i) for i in range(int(number.max()) + 1)]


def _face(name: str, points: np.ndarray, triangles: np.ndarray) -> Face:
    used, triangles = np.unique(triangles, return_inverse=True)
    points, triangles = points[used], triangles.reshape(-1, 3)
    p, q, r = (points[triangles[:, k]] for k in range(3))
    each = np.cross(q - p, r - p)
    normals = np.zeros_like(points)
    for k in range(3):
        np.add.at(normals, triangles[:, k], each)
    normals /= np.maximum(np.linalg.norm(normals, axis=1, keepdims=True), 1e-300)
    plane = _plane(points, each)
    area = None
    if plane is not None:
        flat = (points - plane.origin) @ plane.axes[:, :2]
        area = covered(flat, triangles)
    doubled = np.linalg.norm(each, axis=1)
    total = each.sum(axis=0)
    mean = total / np.linalg.norm(total) if np.linalg.norm(total) > 1e-9 * doubled.sum() else np.array([0.0, 0.0, 1.0])
    turn = (each @ mean)[doubled > 0.0] / doubled[doubled > 0.0]
    spread = float(np.arccos(np.clip(turn.min(initial=1.0), -1.0, 1.0)))
    for array in (points, triangles, normals, mean):
        array.setflags(write=False)
    return Face(name, points, triangles, normals, plane, area, float(doubled.sum() / 2.0), mean, spread)


def _plane(points: np.ndarray, cross: np.ndarray) -> Plane | None:
    """The plane that all points lie in, looking where the triangles do; None if there is none."""
    total = cross.sum(axis=0)
    size = np.linalg.norm(total)
    if size < 0.999 * np.linalg.norm(cross, axis=1).sum() or size == 0.0:
        return None
    normal = total / size
    origin = points.mean(axis=0)
    if np.abs((points - origin) @ normal).max() > _FLAT:
        return None
    x = np.eye(3)[int(np.argmin(np.abs(normal)))]
    x = x - (x @ normal) * normal
    x /= np.linalg.norm(x)
    return Plane(origin, np.column_stack([x, np.cross(normal, x), normal]))
