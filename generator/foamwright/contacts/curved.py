"""Contact of two faces of which at least one is curved, by their triangles.

The face with the smaller area is divided into small triangles; its vertices are told to touch the other face or
not; where the two differ along a side the border of the contact is found by halving, and the triangles are cut
there. Lengths in mm.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import igl
import numpy as np

from foamwright.contacts.patch import Patch, strip_length
from foamwright.contacts.records import Face
from foamwright.contacts.rings import chained
from foamwright.geometry.mesh import connected

STEP = 2.5  # mm, the longest side of the triangles that a face is divided into
FACING = -0.766  # cosine: faces that lean further than 40 degrees from each other do not lie against each other
LEVEL = -0.966  # cosine: faces that lean less than 15 degrees may overlap; others would beside every mitre
_TURN = 0.35  # what the cosine may change over a small triangle
_SKIN = 0.08  # mm that leaning faces may overlap
BESIDE = 0.12  # mm that a foot may lie beside the other face: both borders are that far from true
LEANING = 0.25  # of the gap, the same where triangles stand for a curve: they turn by up to 0.2 radians
_HALVINGS = 6
_LEAST = 0.05  # mm2


@dataclass(frozen=True, eq=False)
class Target:
    """A face made ready to be asked for the nearest place on it."""

    points: np.ndarray  # (n, 3)
    triangles: np.ndarray  # (m, 3) int64
    normals: np.ndarray  # (m, 3) of the triangles
    tree: igl.AABB


def target(face: Face) -> Target:
    points = np.ascontiguousarray(face.points)
    triangles = np.ascontiguousarray(face.triangles, dtype=np.int64)
    tree = igl.AABB()
    tree.init(points, triangles)
    return Target(points, triangles, triangle_normals(points, triangles), tree)


def triangle_normals(points: np.ndarray, triangles: np.ndarray) -> np.ndarray:
    """Unit normals (m, 3) of triangles; (0, 0, 0) where one has no area."""
    p, q, r = (points[triangles[:, k]] for k in range(3))
    cross = np.cross(q - p, r - p)
    return np.asarray(cross / np.maximum(np.linalg.norm(cross, axis=1, keepdims=True), 1e-300))


def may_face(a: Face, b: Face, turn: np.ndarray) -> bool:
    """Could two faces look at each other anywhere? `turn` (3, 3) takes directions of `a` to those of `b`."""
    lean = np.arccos(np.clip(-(turn @ a.mean_normal) @ b.mean_normal, -1.0, 1.0))
    return bool(lean - a.spread - b.spread <= np.arccos(-FACING))


def curved_contact(a: Face, on: Target, back: np.ndarray, reach: float, depth: float) -> Patch | None:
    """Where face `a` lies against the face `on`: no further off than `reach`, no deeper in than `depth`.

    `back` (4, 4) takes places as `a` is modelled to those as the other one is; the outlines are given there.
    """
    return patch_where(a, Field(on, reach, depth), back)


def patch_where(a: Face, field: Field, back: np.ndarray) -> Patch | None:
    """The part of face `a`, moved by `back` (4, 4), where the field says that it touches."""
    triangles = a.triangles if np.linalg.det(back[:3, :3]) > 0.0 else a.triangles[:, ::-1]
    mesh = _Mesh(a.points @ back[:3, :3].T + back[:3, 3], a.normals @ back[:3, :3].T, triangles)
    mesh = _divided(_near(mesh, field), field)
    if not len(mesh.triangles):
        return None
    touches, gaps = field(mesh.points, mesh.normals)
    if not touches.any():
        return None
    return _measured(mesh, touches, gaps, field)


def least_lean(patch: Patch, on: Target) -> float:
    """The least cosine between what touches and the face that it touches: -1 where they look straight at each other."""
    normals = triangle_normals(patch.points, patch.triangles)
    _, facing, _ = Field(on, 0.0, 0.0).beside(patch.points[patch.triangles].mean(axis=1))
    return float((normals * facing).sum(axis=1).min())


@dataclass(frozen=True, eq=False)
class _Mesh:
    points: np.ndarray
    normals: np.ndarray
    triangles: np.ndarray

    def kept(self, triangles: np.ndarray) -> _Mesh:
        """Some of the triangles, and the points that they use."""
        used = np.zeros(len(self.points), bool)
        used[triangles] = True
        return _Mesh(self.points[used], self.normals[used], (np.cumsum(used) - 1)[triangles])


class Field:
    """Which points with outward normals lie against the target, and how far off it they are."""

    def __init__(self, on: Target, reach: float, depth: float):
        self.on, self.reach, self.depth = on, reach, depth
        self.box = on.points.min(axis=0) - reach, on.points.max(axis=0) + reach

    def __call__(self, points: np.ndarray, normals: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
        gap, facing, beside = self.beside(points)
        lean = (normals * facing).sum(axis=1)
        depth = self.deep(lean)
        touches = lean < FACING
        touches &= (gap <= self.reach) & (gap >= -depth) & (beside <= BESIDE + LEANING * np.abs(gap))
        return touches, gap

    def beside(self, points: np.ndarray) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
        """How far points (n, 3) are off the target along its normal, that normal (n, 3), and how far beside its border."""
        _, triangle, foot = self.nearest(points)
        facing = self.on.normals[triangle]
        away = points - foot
        gap = (away * facing).sum(axis=1)
        return gap, facing, np.linalg.norm(away - gap[:, None] * facing, axis=1)

    def deep(self, lean: np.ndarray) -> np.ndarray:
        """How far places may lie in the other face that look at it with these cosines (n,)."""
        return np.where(lean < LEVEL, self.depth, _SKIN)

    def nearest(self, points: np.ndarray) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
        squared, triangle, foot = self.on.tree.squared_distance(
            self.on.points, self.on.triangles, np.ascontiguousarray(points)
        )
        return np.sqrt(np.reshape(squared, -1)), np.reshape(triangle, -1), np.reshape(foot, (-1, 3))


def _near(mesh: _Mesh, field: Field, first: int = 0) -> _Mesh:
    """Without the triangles that cannot reach the target; those before the `first` are known to be near."""
    triangles = mesh.triangles[first:]
    low, high = field.box
    a, b, c = (mesh.points[corner] for corner in triangles.T)
    least, most = np.minimum(np.minimum(a, b), c), np.maximum(np.maximum(a, b), c)
    triangles = triangles[((least <= high) & (most >= low)).all(axis=1)]
    corners = mesh.points[triangles]
    middle = corners.mean(axis=1)
    radius = np.linalg.norm(corners - middle[:, None], axis=2).max(axis=1, initial=0.0)
    distance, nearest, _ = field.nearest(middle)
    near = distance <= radius + field.reach + field.depth
    small = radius <= 2.0 * STEP  # so that the face that is near its middle is the one that it could touch
    lean = (triangle_normals(mesh.points, triangles) * field.on.normals[nearest]).sum(axis=1)
    near &= ~(small & (lean > FACING + _TURN))
    return mesh.kept(np.vstack([mesh.triangles[:first], triangles[near]]))


def _divided(mesh: _Mesh, field: Field) -> _Mesh:
    """With no side longer than STEP where the target is near. Sides are halved, so neighbours stay matched."""
    while len(mesh.triangles):
        unique, number, _ = _sides(mesh.triangles)
        length = np.linalg.norm(mesh.points[unique[:, 0]] - mesh.points[unique[:, 1]], axis=1)
        # of the long sides only those that are about the longest of a triangle, so that slender ones grow stout
        longest = length[number].max(axis=1)
        long = np.zeros(len(unique), bool)
        long[number[length[number] > 0.7 * longest[:, None]]] = True
        long &= length > STEP
        if not long.any():
            return mesh
        whole = int((~long[number].any(axis=1)).sum())
        mesh = _near(_halved(mesh, unique, number, long), field, whole)
    return mesh


def border(triangles: np.ndarray) -> np.ndarray:
    """The sides (s, 2) that only one of the triangles (m, 3) has."""
    ends, _, uses = _sides(triangles)
    return np.asarray(ends[uses == 1])


def _sides(triangles: np.ndarray) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """Every side once (s, 2), its number (m, 3) in the triangles as sides 01, 12, 20, and how many have it (s,)."""
    a, b = triangles.ravel(), triangles[:, [1, 2, 0]].ravel()
    key = np.minimum(a, b) * (int(triangles.max()) + 1) + np.maximum(a, b)
    _, first, number, uses = np.unique(key, return_index=True, return_inverse=True, return_counts=True)
    ends = np.stack([np.minimum(a, b), np.maximum(a, b)], axis=1)[first]
    return ends, number.reshape(-1, 3), uses


def _halved(mesh: _Mesh, sides: np.ndarray, number: np.ndarray, long: np.ndarray) -> _Mesh:
    count = len(mesh.points)
    middle = np.full(len(sides), -1)
    middle[long] = count + np.arange(int(long.sum()))
    ends = sides[long]
    normals = mesh.normals[ends].sum(axis=1)
    normals = normals / np.maximum(np.linalg.norm(normals, axis=1, keepdims=True), 1e-300)
    points = np.vstack([mesh.points, mesh.points[ends].mean(axis=1)])
    mids = middle[number]  # (m, 3): on the sides 01, 12, 20
    split = mids >= 0
    made = [mesh.triangles[~split.any(axis=1)]]  # those that stay whole come first
    both = np.hstack([mesh.triangles, mids])  # corners a, b, c and what lies between them
    for k in range(3):
        turned = [(k + i) % 3 for i in range(3)]
        s_ab, s_bc, s_ca = split[:, turned].T
        order = [*turned, *(3 + i for i in turned)]
        made += _parted(both[s_ab & ~s_bc & ~s_ca][:, order], _ONE)
        made += _parted(both[s_ab & s_bc & ~s_ca][:, order], _TWO)
    made += _parted(both[split.all(axis=1)], _EVERY)
    return _Mesh(points, np.vstack([mesh.normals, normals]), np.vstack(made))


# the triangles that one is parted into, by the columns of its corners a, b, c (0, 1, 2) and of ab, bc, ca (3, 4, 5)
_ONE = ((0, 3, 2), (3, 1, 2))
_TWO = ((0, 3, 2), (3, 4, 2), (3, 1, 4))
_EVERY = ((0, 3, 5), (3, 1, 4), (5, 4, 2), (3, 4, 5))


def _parted(whole: np.ndarray, into: Sequence[Sequence[int]]) -> list[np.ndarray]:
    return [whole[:, columns] for columns in into] if len(whole) else []


def _measured(mesh: _Mesh, touches: np.ndarray, gaps: np.ndarray, field: Field) -> Patch | None:
    """Area, length and outlines of the part of the mesh that touches, cut along its border."""
    unique, number, uses = _sides(mesh.triangles)
    cut = touches[unique[:, 0]] != touches[unique[:, 1]]
    crossing, crossing_gap = _crossings(mesh, touches, unique[cut], field)
    place = np.full(len(unique), -1)
    place[cut] = len(mesh.points) + np.arange(int(cut.sum()))
    points = np.vstack([mesh.points, crossing])
    gap = np.concatenate([gaps, crossing_gap])

    inside = touches[mesh.triangles].sum(axis=1)
    kept = [mesh.triangles[inside == 3]]
    border = []  # directed segments, the contact on their left
    for k in range(3):
        a, b, c = (mesh.triangles[:, (k + i) % 3] for i in range(3))
        ab, ca = place[number[:, k]], place[number[:, (k + 2) % 3]]
        one = (inside == 1) & touches[a]
        kept.append(np.stack([a, ab, ca], axis=1)[one])
        border.append(np.stack([ab, ca], axis=1)[one])
        two = (inside == 2) & ~touches[a]
        kept += [np.stack(t, axis=1)[two] for t in ((ab, b, c), (ab, c, ca))]
        border.append(np.stack([ca, ab], axis=1)[two])
        rim = uses[number[:, k]] == 1  # the side from a to b is the face's own border
        starts, ends = np.where(touches[a], a, ab), np.where(touches[b], b, ab)
        rim &= touches[a] | touches[b]
        border.append(np.stack([starts, ends], axis=1)[rim])
    triangles, segments = np.vstack(kept), np.vstack(border)
    p, q, r = (points[triangles[:, k]] for k in range(3))
    areas = np.linalg.norm(np.cross(q - p, r - p), axis=1) / 2.0
    area = float(areas.sum())
    if area < _LEAST:
        return None
    mean = float((areas * gap[triangles].mean(axis=1)).sum() / area)
    loops = sorted((points[loop] for loop in chained(segments)), key=_span, reverse=True)
    outlines = tuple(_thinned(loop) for loop in loops if _span(loop) > 4.0 * BESIDE)
    length = _length(points, triangles, areas, segments)
    return Patch(area, length, float(gap[np.unique(triangles)].min()), mean, outlines, points, triangles)


def _crossings(mesh: _Mesh, touches: np.ndarray, sides: np.ndarray, field: Field) -> tuple[np.ndarray, np.ndarray]:
    """The places (c, 3) along sides where the contact ends, and the gap (c,) there."""
    swap = ~touches[sides[:, 0]]
    ends = np.where(swap[:, None], sides[:, ::-1], sides)
    near, far = mesh.points[ends[:, 0]], mesh.points[ends[:, 1]]
    n_near, n_far = mesh.normals[ends[:, 0]], mesh.normals[ends[:, 1]]
    low, high = np.zeros(len(sides)), np.ones(len(sides))
    for _ in range(_HALVINGS if len(sides) else 0):
        share = (low + high) / 2.0
        normals = n_near + share[:, None] * (n_far - n_near)
        normals = normals / np.maximum(np.linalg.norm(normals, axis=1, keepdims=True), 1e-300)
        touch, _ = field(near + share[:, None] * (far - near), normals)
        low, high = np.where(touch, share, low), np.where(touch, high, share)
    points = near + low[:, None] * (far - near)
    return points, field(points, n_near)[1] if len(sides) else np.zeros(0)


def _length(points: np.ndarray, triangles: np.ndarray, areas: np.ndarray, segments: np.ndarray) -> float:
    """Length of all pieces, each as a strip."""
    piece = connected(triangles, len(points))
    area = np.bincount(piece[triangles[:, 0]], areas, minlength=len(points))
    steps = np.linalg.norm(points[segments[:, 1]] - points[segments[:, 0]], axis=1)
    around = np.bincount(piece[segments[:, 0]], steps, minlength=len(points))
    # corners less sides and faces: 1 for a piece without a hole, 0 or less for one that closes on itself
    sides = _sides(triangles)[0]
    euler = np.bincount(piece[np.unique(triangles)], minlength=len(points))
    euler = euler - np.bincount(piece[sides[:, 0]], minlength=len(points))
    euler = euler + np.bincount(piece[triangles[:, 0]], minlength=len(points))
    return sum(
        strip_length(float(area[i]), float(around[i]), int(euler[i]) < 1) for i in np.unique(piece[triangles[:, 0]])
    )


def _span(loop: np.ndarray) -> float:
    return float(np.linalg.norm(np.ptp(loop, axis=0)))


def _thinned(loop: np.ndarray) -> np.ndarray:
    """Without the points that lie on the line between their neighbours."""
    off = np.linalg.norm(loop - (np.roll(loop, 1, axis=0) + np.roll(loop, -1, axis=0)) / 2.0, axis=1)
    kept = loop[off > 1e-6]
    return kept if len(kept) > 2 else loop
