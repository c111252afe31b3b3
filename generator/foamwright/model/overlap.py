"""Which of several closed meshes share space. Lengths in mm."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import igl
import manifold3d
import numpy as np

from foamwright.geometry import Mesh
from foamwright.geometry.mesh import along_sides, connected

TOLERANCE = 0.3  # mm
_BEGUN = 300  # about as many places of a surface at which balls within it are begun
_GROWN = 5  # of them, the largest, that are moved to where they have more room,
_ROUNDS = 24  # in so many steps, each half as long as the last where that gives none
_NEARER = 1e-3  # share of its radius by which a ball may reach through the surface
_SHRUNK = 30  # times at most, where it mostly takes ten
_AROUND = np.array([d for d in np.ndindex(3, 3, 3) if d != (1, 1, 1)]) - 1.0  # (26, 3)


@dataclass(frozen=True, eq=False)
class Shared:
    """What two bodies, by their numbers, share: how much (mm3), how deep (mm) and where, and the space itself. The depth is
    the diameter of the largest ball that has room in it, and `at` the middle of that."""

    a: int
    b: int
    volume: float
    depth: float
    at: tuple[float, float, float]
    pieces: tuple[Mesh, ...]


def solid(points: np.ndarray, triangles: np.ndarray) -> manifold3d.Manifold:
    """The body within a closed mesh: points (n, 3), triangles (m, 3); its `status` tells whether it is closed."""
    return manifold3d.Manifold(manifold3d.Mesh64(np.array(points, order="C"), triangles.astype(np.uint64)))


def shared(bodies: Sequence[manifold3d.Manifold], tolerance: float = TOLERANCE) -> Iterator[Shared]:
    """Every pair of bodies whose common space is thicker than `tolerance`.

    Thickness is twice volume over surface, that of a thin plate: the triangles of two curved faces that only
    touch overlap in slivers, which are wide but far thinner than any true fault.
    """
    boxes = np.array([body.bounding_box() for body in bodies]).reshape(-1, 6)
    for i, j in near(boxes, tolerance):
        overlap = between(i, j, bodies[i], bodies[j], tolerance)
        if overlap is not None:
            yield overlap


def near(boxes: np.ndarray, tolerance: float = TOLERANCE) -> Iterator[tuple[int, int]]:
    """Every pair of bodies, by their numbers, whose boxes (n, 6), lowest corner and highest, share more than
    `tolerance`."""
    for i in range(len(boxes)):
        meet = (boxes[i, :3] < boxes[i + 1 :, 3:] - tolerance).all(axis=1)
        meet &= (boxes[i + 1 :, :3] < boxes[i, 3:] - tolerance).all(axis=1)
        for j in (np.flatnonzero(meet) + i + 1).tolist():
            yield i, j


def between(
    a: int, b: int, body_a: manifold3d.Manifold, body_b: manifold3d.Manifold, tolerance: float = TOLERANCE
) -> Shared | None:
    """What two bodies of these numbers share, less the pieces thinner than `tolerance`."""
    common = (body_a ^ body_b).to_mesh64()
    mesh = Mesh(np.asarray(common.vert_properties)[:, :3], np.asarray(common.tri_verts))
    volume, pieces = _thick_pieces(mesh, tolerance)
    if not pieces:
        return None
    radius, (x, y, z) = max(map(roomiest, pieces), key=lambda ball: ball[0])
    return Shared(a, b, volume, 2.0 * radius, (float(x), float(y), float(z)), tuple(pieces))


def _thick_pieces(mesh: Mesh, tolerance: float) -> tuple[float, list[Mesh]]:
    """Those of the pieces that a closed mesh falls into that are thicker than `tolerance` on the mean, and what they hold in all,
    mm3. Two fine meshes that touch share thousands of slivers, so all are measured at once."""
    points, triangles = mesh.points, mesh.triangles
    piece = connected(triangles, len(points))[triangles[:, 0]]
    volumes = np.bincount(piece, (points[triangles[:, 0]] * mesh.area_vectors).sum(axis=1) / 3.0)
    areas = np.bincount(piece, mesh.areas)
    thick = np.flatnonzero(2.0 * volumes > tolerance * np.maximum(areas, 1e-9))
    made = []
    for number in thick.tolist():
        used, own = np.unique(triangles[piece == number], return_inverse=True)
        made.append(Mesh(points[used], own.reshape(-1, 3)))
    return float(volumes[thick].sum()), made


def roomiest(mesh: Mesh) -> tuple[float, np.ndarray]:
    """Radius and middle (3,) of about the largest ball within a closed mesh.

    Balls that touch the surface from within at places of it are shrunk until they touch it at a second place (J. Ma, S. W.
    Bae and S. Choi, "3D medial axis point approximation using nearest neighbors and the normal field", 2012), and the
    largest of them are moved to where there is more room.
    """
    places, outward = _places(mesh)
    tree = igl.AABB()
    tree.init(mesh.points, mesh.triangles)

    def nearest(middles: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
        squared, _, foot = tree.squared_distance(mesh.points, mesh.triangles, np.ascontiguousarray(middles))
        return np.sqrt(np.reshape(squared, -1)), np.reshape(foot, (-1, 3))

    radius = np.full(len(places), float(np.ptp(mesh.points, axis=0).min()) / 2.0)  # no ball within it is larger
    for _ in range(_SHRUNK):
        room, foot = nearest(places - radius[:, None] * outward)
        through = room < (1.0 - _NEARER) * radius
        if not through.any():
            break
        away = (places - foot)[through]
        touching = (away**2).sum(axis=1) / np.maximum(2.0 * (away * outward[through]).sum(axis=1), 1e-12)
        radius[through] = np.minimum(touching, radius[through])
    middles = places - radius[:, None] * outward
    off = np.linalg.norm(middles - (mesh.points.min(axis=0) + mesh.points.max(axis=0)) / 2.0, axis=1)
    # of those that are as large, as all are in a plate, the one nearest to the middle of it all
    middles = middles[np.lexsort((off, -np.round(radius / radius.max(), 3)))[:_GROWN]]
    room, _ = nearest(middles)
    step = room / 2.0  # less than a radius, so that no middle gets out
    for _ in range(_ROUNDS):
        tried = middles[:, None] + step[:, None, None] * _AROUND / np.sqrt(3.0)
        rooms = nearest(tried.reshape(-1, 3))[0].reshape(len(middles), -1)
        best = rooms.argmax(axis=1)
        own = np.arange(len(middles))
        more = rooms[own, best] > (1.0 + _NEARER) * room
        middles[more], room[more] = tried[own, best][more], rooms[own, best][more]
        step[~more] /= 2.0
        if (step < _NEARER * room).all():
            break
    most = int(np.round(room / room.max(), 2).argmax())
    return float(room[most]), middles[most]


def _places(mesh: Mesh) -> tuple[np.ndarray, np.ndarray]:
    """Places (n, 3) of a surface with its outward normals (n, 3): the middles of its largest triangles, and places along
    their sides, which on flat ground lie all over it."""
    largest = np.argsort(-mesh.areas, kind="stable")[: _BEGUN // 2]
    corners, normals = mesh.corners[largest], mesh.face_normals[largest]
    sides = np.linalg.norm(corners - np.roll(corners, 1, axis=1), axis=2).sum()
    own = np.arange(3 * len(largest)).reshape(-1, 3)  # each triangle with corners of its own
    along, ends = along_sides(corners.reshape(-1, 3), own, 2.0 * float(sides) / _BEGUN)
    return np.vstack([corners.mean(axis=1), along]), np.vstack([normals, normals[ends[:, 0] // 3]])
