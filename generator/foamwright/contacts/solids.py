"""The solids in place with their faces named: the one place that knows how the model keeps them.

A face is told by where it lies in its part: the broad faces of a sheet by their level, every other face by the
edge that it was cut along. Lengths in mm.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import TYPE_CHECKING

import numpy as np
import shapely
from scipy.sparse import coo_matrix
from scipy.sparse.csgraph import connected_components
from scipy.spatial import cKDTree

from foamwright.contacts.curved import triangle_normals
from foamwright.contacts.records import Face, Plane, Solid
from foamwright.contacts.rings import covered
from foamwright.parts.records import BandBody, FlatBody, PanelBody, Piece, RodBody

if TYPE_CHECKING:  # the model is heavy, and only its triangles are read here
    from foamwright.model.assembly import Assembly

_FLAT = 1e-3  # mm that the points of a flat face may lie off its plane
_SMOOTH = 0.94  # cosine of 20 degrees: triangles of one curve turn less from one to the next
_ALONG = 0.7  # cosine: a face that looks along an axis more than this belongs to it

# From the middles and normals of triangles, all (m, 3), and to which face of the kernel each belongs (m,), the
# name of the face of the part that each lies on.
_Namer = Callable[[np.ndarray, np.ndarray, np.ndarray], list[str]]


def solids(assembly: Assembly) -> tuple[Solid, ...]:
    """Every copy of the assembly, in its order."""
    from foamwright.model.assembly import MIRROR
    from foamwright.model.meshes import face_meshes

    made: dict[str, tuple[Face, ...]] = {}
    found = []
    for copy in assembly.copies:
        piece, placement = copy.piece, copy.piece.placements[copy.number - 1]
        if piece.id not in made:
            meshes = [(m.points, m.triangles) for m in face_meshes(copy.hand.wrapped)]
            if np.linalg.det(placement.matrix[:3, :3]) < 0.0:  # the hand is the image of the part as modelled
                meshes = [(points @ MIRROR[:3, :3].T, triangles[:, ::-1]) for points, triangles in meshes]
            made[piece.id] = named_faces(piece, meshes)
        found.append(Solid(piece.id, copy.number, made[piece.id], placement.matrix))
    return tuple(found)


def named_faces(piece: Piece, meshes: Sequence[tuple[np.ndarray, np.ndarray]]) -> tuple[Face, ...]:
    """The faces of a part from the triangulated faces (points, triangles) of its solid as modelled."""
    starts = np.cumsum([0] + [len(points) for points, _ in meshes[:-1]])
    points = np.vstack([points for points, _ in meshes])
    triangles = np.vstack([mesh + start for (_, mesh), start in zip(meshes, starts)])
    owner = np.repeat(np.arange(len(meshes)), [len(mesh) for _, mesh in meshes])
    _, first, number = np.unique(np.round(points, 5), axis=0, return_index=True, return_inverse=True)
    triangles = number.reshape(-1)[triangles]
    points = points[first]
    a, b, c = triangles.T
    kept = (a != b) & (b != c) & (c != a)
    triangles, owner = triangles[kept], owner[kept]
    normals = triangle_normals(points, triangles)
    names = np.array(_namer(piece)(points[triangles].mean(axis=1), normals, owner))
    return tuple(
        _face(name, points, triangles[names == name][smooth])
        for name in dict.fromkeys(names.tolist())
        for smooth in _smooth(triangles[names == name], normals[names == name])
    )


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


def _namer(piece: Piece) -> _Namer:
    body, thickness = piece.body, piece.stock.thickness * piece.layers
    if isinstance(body, FlatBody):
        return _flat_namer(body)
    if isinstance(body, BandBody):
        return _band_namer(body)
    if isinstance(body, RodBody):
        return _rod_namer(body)
    return _panel_namer(body, thickness)


def _flat_namer(body: FlatBody) -> _Namer:
    loops = [body.outline, *body.holes]
    names, sides = [], []
    for number, loop in enumerate(loops):
        sides.append(np.stack([loop, np.roll(loop, -1, axis=0)], axis=1))
        mine = [f"hole_{number}" if number else "edge"] * len(loop)
        for run in body.runs if number == 0 else ():
            for i in range(run.start, run.stop):
                mine[i % len(loop)] = run.id
        names += mine
    lines = shapely.linestrings(np.vstack(sides))
    tree = shapely.STRtree(lines)

    def name(middles: np.ndarray, normals: np.ndarray, _: np.ndarray) -> list[str]:
        across = normals @ body.frame.axes[:, 2]
        flat = body.frame.to_frame(middles)[:, :2]
        near = tree.nearest(shapely.points(flat))
        return [
            "outside" if z > 0.99 else "inside" if z < -0.99 else names[i]
            for z, i in zip(across.tolist(), near.tolist())
        ]

    return name


def _band_namer(body: BandBody) -> _Namer:
    tree = cKDTree((body.curve[:-1] + body.curve[1:]) / 2.0)
    out = body.normals[:-1] + body.normals[1:]
    out /= np.linalg.norm(out, axis=1, keepdims=True)

    def name(middles: np.ndarray, normals: np.ndarray, _: np.ndarray) -> list[str]:
        near = tree.query(middles)[1]
        across, outwards = normals @ body.across, (normals * out[near]).sum(axis=1)
        first = near < len(out) / 2
        return [
            ("high" if a > 0 else "low")
            if abs(a) > _ALONG
            else ("outside" if o > 0 else "inside")
            if abs(o) > 0.5
            else ("start" if s else "end")
            for a, o, s in zip(across.tolist(), outwards.tolist(), first.tolist())
        ]

    return name


def _rod_namer(body: RodBody) -> _Namer:
    axis = (body.end - body.start) / body.length

    def name(middles: np.ndarray, normals: np.ndarray, _: np.ndarray) -> list[str]:
        along = (normals @ axis).tolist()
        return ["end" if a > _ALONG else "start" if a < -_ALONG else "outside" for a in along]

    return name


def _panel_namer(body: PanelBody, thickness: float) -> _Namer:
    """The two broad faces keep one level of the form; an edge's face runs from one to the other."""
    space, normal = body.surface.point(body.chart.coords), body.surface.normal(body.chart.coords)
    tree = cKDTree(space)
    owners = np.repeat(np.arange(len(body.edges)), [3 * len(edge.points) for edge in body.edges])
    rims = cKDTree(np.vstack([points for edge in body.edges for points in (edge.inner, edge.points, edge.outer)]))

    def name(middles: np.ndarray, normals: np.ndarray, faces: np.ndarray) -> list[str]:
        near = tree.query(middles)[1]
        up = (normals * normal[near]).sum(axis=1)
        level = ((middles - space[near]) * normal[near]).sum(axis=1) - body.inner_offset - thickness / 2.0
        # a face of the kernel is one face of the part: the mean of its triangles tells which
        count = np.bincount(faces)
        mean_up, mean_level = (np.bincount(faces, v)[faces] / count[faces] for v in (up, level))
        beside = np.zeros((len(count), len(body.edges)))
        np.add.at(beside, (faces, owners[rims.query(middles)[1]]), 1.0)
        edge = beside.argmax(axis=1)[faces]
        broad = (np.abs(mean_up) > 0.8) | ((np.abs(mean_up) > 0.5) & (np.abs(mean_level) > thickness / 3.0))
        return [
            ("outside" if u > 0 else "inside") if wide else body.edges[i].id
            for wide, u, i in zip(broad.tolist(), mean_up.tolist(), edge.tolist())
        ]

    return name
