"""An imported form: a smooth surface over a closed triangle mesh, parted into sheets by its creases."""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property

import igl
import numpy as np
from scipy.sparse import coo_matrix
from scipy.sparse.csgraph import connected_components
from scipy.spatial import cKDTree

from foamwright.forms import remesh
from foamwright.forms.one_sheet import OneSheet
from foamwright.forms.parting import run_on, sheets
from foamwright.forms.skirt import with_skirt
from foamwright.forms.surface import BEND, NARROW, SAMPLES, Crease, Surface, Triangulation
from foamwright.geometry import Mesh

# Two triangles of a mesh that turn by more than this meet at a sharp edge unless the design says otherwise; the
# surface is smooth across the others.
CREASE = 40.0  # degrees
# Faces of a solid whose own normals turn by more than this at an edge meet in a crease.
_TANGENT = math.radians(0.5)
_RUN_ON = 64  # places along a crease past the rim of its sheets
_MEETS = 1e-6  # mm from a crease: a point of the rim in which it ends
_PLACES = 8, 1024  # along a side of a triangle on a crease at least, and along the form's diagonal


class CurvedTriangles:
    """Curved triangles through the corners of a mesh: cubic in position, quadratic in the normal, after Vlachos,
    Peters, Boyd, Mitchell, "Curved PN triangles", I3D 2001.

    Coordinates are points (N, 3) of the flat triangles, or near them: the nearest point of the mesh is meant.
    `normals` (m, 3, 3) are those at the corners of each triangle; its sides where `sharp` (m, 3) stay straight, so
    that the faces on both sides of them keep meeting. `sheet_of` (m,) numbers the sheet that each triangle is of.
    """

    def __init__(self, mesh: Mesh, normals: np.ndarray, sharp: np.ndarray, sheet_of: np.ndarray):
        self.mesh = mesh
        # the library of the search writes to nothing, but asks for arrays that it may write to
        self._vertices, self._faces = np.array(mesh.points), np.array(mesh.triangles)
        self._tree = igl.AABB()
        self._tree.init(self._vertices, self._faces)
        self._size = mesh.diagonal
        self._triangulations: dict[int, Triangulation] = {}
        self._points, self._normals = _patches(mesh.corners, normals, sharp)
        self._sheet_of = sheet_of

    def point(self, coords: np.ndarray) -> np.ndarray:
        return self.unbent(coords)[0]

    def normal(self, coords: np.ndarray) -> np.ndarray:
        return self._evaluate(coords)[1]

    def offset(self, coords: np.ndarray, distance: float | np.ndarray) -> np.ndarray:
        point, normal = self._evaluate(coords)
        return point + np.reshape(distance, (-1, 1)) * normal

    def unbent(self, coords: np.ndarray) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
        face, place = self._nearest(coords)
        return *self._on_patch(face, place), self._sheet_of[face]

    def moved(self, coords: np.ndarray, step: np.ndarray) -> np.ndarray:
        # from the mesh itself: above an edge of it all points of a wedge have one nearest point
        coords = self.within(coords)
        du, dv = self.tangents(coords)
        step = np.broadcast_to(step, (len(coords), 2))
        return self.within(coords + step[:, :1] * du + step[:, 1:] * dv)

    def tangents(self, coords: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
        """As long as the form's diagonal, square to each other and to the normal."""
        normal = self.normal(coords)
        # Duff et al., "Building an orthonormal basis, revisited", JCGT 2017
        x, y, z = normal.T
        sign = np.where(z < 0, -1.0, 1.0)
        a = -1.0 / (sign + z)
        b = x * y * a
        du = np.column_stack([1.0 + sign * x * x * a, sign * b, -sign * x])
        dv = np.column_stack([b, sign + y * y * a, -y])
        return self._size * du, self._size * dv

    def within(self, coords: np.ndarray) -> np.ndarray:
        return self._nearest(coords)[1]

    def coarse_search(self) -> tuple[np.ndarray, Callable[[np.ndarray], np.ndarray]]:
        return self.mesh.points, self.within  # its coordinates are points

    def blend(self, corners: np.ndarray, weights: np.ndarray) -> np.ndarray:
        return self.within((corners * weights[:, :, None]).sum(1))

    def near(self, coords: np.ndarray, reference: np.ndarray) -> np.ndarray:
        return coords

    def at_pole(self, coords: np.ndarray) -> np.ndarray:
        return np.zeros(len(coords), bool)

    def triangulation(self, faces: int) -> Triangulation:
        if faces not in self._triangulations:
            made = remesh.even(self.mesh, faces)
            none = np.zeros(0, int)
            self._triangulations[faces] = Triangulation(self.within(made.points), made.triangles, none, none)
        return self._triangulations[faces]

    def _nearest(self, coords: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
        """Face (N,) and point (N, 3) of the mesh nearest to each of the coordinates."""
        if not len(coords):
            return np.zeros(0, int), np.zeros((0, 3))
        _, face, point = self._tree.squared_distance(self._vertices, self._faces, np.ascontiguousarray(coords, float))
        return face, point

    def _evaluate(self, coords: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
        """Points (N, 3), and the normals (N, 3) that what lies beside the surface follows there."""
        return self.unbent(coords)[:2]

    def _on_patch(self, face: np.ndarray, point: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
        """The curved triangles' points and normals (N, 3) over points (N, 3) of flat `face`s (N,)."""
        a, b, c = self._vertices[self._faces[face]].transpose(1, 0, 2)
        u, v, w = _barycentric(a, b, c, point)
        cubic = np.stack(
            [
                u**3,
                v**3,
                w**3,
                3 * u * u * v,
                3 * u * v * v,
                3 * v * v * w,
                3 * v * w * w,
                3 * w * w * u,
                3 * w * u * u,
                6 * u * v * w,
            ]
        )
        square = np.stack([u * u, v * v, w * w, 2 * u * v, 2 * v * w, 2 * w * u])
        normal = np.einsum("kn,nkd->nd", square, self._normals[face])
        normal /= np.linalg.norm(normal, axis=1, keepdims=True)
        return np.einsum("kn,nkd->nd", cubic, self._points[face]), normal


@dataclass(frozen=True, eq=False)
class Bend:
    """How foam leaves one sheet beside the creases over which it is bent: at points (K, 3) of them its normal leans by
    `lean` (K, 3), and ever less up to `width` (K,) mm from there."""

    points: np.ndarray
    lean: np.ndarray
    width: np.ndarray

    @cached_property
    def tree(self) -> cKDTree:
        return cKDTree(self.points)

    def leaning(self, points: np.ndarray, normals: np.ndarray) -> np.ndarray:
        """The normals (N, 3) beside the creases at points (N, 3) of the sheet."""
        away, nearest = self.tree.query(points)
        share = np.maximum(1.0 - away / self.width[nearest], 0.0)[:, None]
        normals = normals + share * self.lean[nearest]
        return normals / np.linalg.norm(normals, axis=1, keepdims=True)


class MeshSheet(CurvedTriangles, OneSheet):
    """Sheets of an imported form as one, carried on past their outer creases. Beside `bent`, those between them, the
    normal turns evenly as `bends`, by sheet, say."""

    def __init__(
        self,
        mesh: Mesh,
        normals: np.ndarray,
        sharp: np.ndarray,
        sheet_of: np.ndarray,
        bent: tuple[Crease, ...],
        bends: Mapping[int, Bend],
    ):
        super().__init__(mesh, normals, sharp, sheet_of)
        self._bent, self._bends = bent, bends

    def creases(self) -> tuple[Crease, ...]:
        return self._bent

    def _evaluate(self, coords: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
        points, normals, sheet = self.unbent(coords)
        for number, bend in self._bends.items():
            mine = sheet == number
            if mine.any():
                normals[mine] = bend.leaning(points[mine], normals[mine])
        return points, normals


class MeshSurface(CurvedTriangles):
    """The surface of an imported form.

    `mesh` is one closed manifold; `notes` says what was done to make it so, in a few words each. Where the solid
    states its normals, they are given as `normals` (m, 3, 3) at the corners of each triangle, and its creases are
    the edges at which they differ. Else normals follow Max, "Weights for computing vertex normals from facet
    normals", JGT 1999, exact where the corners lie on a sphere, and triangles that turn by more than `crease`
    degrees meet in a crease.
    """

    def __init__(
        self,
        mesh: Mesh,
        notes: tuple[str, ...] = (),
        crease: float = CREASE,
        normals: np.ndarray | None = None,
    ):
        self.notes = notes
        across = opposite(mesh.triangles)
        turns = face_turns(mesh, across)
        if normals is None:
            sharp = turns > math.radians(crease)
            normals = corner_normals(mesh.corners, across, sharp)
        else:
            sharp = _stated_creases(mesh.triangles, normals, across)
        self.sheet_count, sheet_of = sheets(across, run_on(mesh, across, sharp))
        super().__init__(mesh, normals, sharp, sheet_of)
        self._corner_normals, self._sharp, self._across = normals, sharp, across
        self._sheets: dict[tuple[tuple[int, ...], float], MeshSheet] = {}

    def sheet(self, numbers: tuple[int, ...], reach: float) -> Surface:
        if self.sheet_count == 1:
            return self
        if (numbers, reach) not in self._sheets:
            own = np.isin(self._sheet_of, numbers)
            made = with_skirt(
                self.mesh.points, self.mesh.triangles[own], self._corner_normals[own], self._sheet_of[own], reach
            )
            sharp = np.zeros((len(made.mesh.triangles), 3), bool)
            # creases between them, and those that part no sheets, since they end within one
            sharp[: own.sum()] = self._sharp[own] & np.isin(self._sheet_of[self._across[own] // 3], numbers)
            bent = tuple(crease for crease in self.creases() if set(crease.sheets) <= set(numbers))
            ways = self.mesh.points[made.rim], made.outermost
            self._sheets[(numbers, reach)] = MeshSheet(
                made.mesh,
                made.normals,
                sharp,
                made.sheet_of,
                bent,
                bends([_run_on(crease, *ways) for crease in bent], self.creases(), BEND * reach),
            )
        return self._sheets[(numbers, reach)]

    def creases(self) -> tuple[Crease, ...]:
        return self._creases

    @cached_property
    def _creases(self) -> tuple[Crease, ...]:
        sheet, beyond = np.broadcast_to(self._sheet_of[:, None], self._across.shape), self._sheet_of[self._across // 3]
        face, corner = np.nonzero(sheet < beyond)
        pairs = np.column_stack([sheet[face, corner], beyond[face, corner]])
        a, b = (self.mesh.points[self.mesh.triangles[face, (corner + k) % 3]] for k in (0, 1))
        other, side = self._across[face, corner] // 3, self._across[face, corner] % 3
        # the side runs the other way in the triangle across
        leaving = (
            [self._corner_normals[face, (corner + k) % 3] for k in (0, 1)],
            [self._corner_normals[other, (side + 1 - k) % 3] for k in (0, 1)],
        )
        creases = []
        for pair in np.unique(pairs, axis=0):
            mine = (pairs == pair).all(axis=1)
            least, across = _PLACES
            length = np.linalg.norm(b[mine] - a[mine], axis=1)
            steps = np.maximum(least, np.ceil(length * across / self.mesh.diagonal)).astype(int)
            number = np.repeat(np.arange(len(steps)), steps + 1)
            share = np.concatenate([np.linspace(0.0, 1.0, n + 1) for n in steps])[:, None]
            points = a[mine][number] + share * (b[mine] - a[mine])[number]
            ahead = ((b[mine] - a[mine]) / np.maximum(length, 1e-300)[:, None])[number]
            normals = np.stack([n[mine][number] + share * (m[mine] - n[mine])[number] for n, m in leaving])
            normals /= np.linalg.norm(normals, axis=2, keepdims=True)
            creases.append(Crease((int(pair[0]), int(pair[1])), points, ahead, normals))
        return tuple(creases)

    def samples(self) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
        corners, areas = self.mesh.corners, self.mesh.areas
        # each triangle divided into so many times the same number along its sides
        times = np.maximum(1, np.ceil(np.sqrt(SAMPLES * areas / areas.sum()))).astype(int)
        points, share, sheet = [], [], []
        for n in np.unique(times):
            rows = np.flatnonzero(times == n)
            i, j = (grid.ravel() for grid in np.meshgrid(np.arange(n), np.arange(n), indexing="ij"))
            up, down = i + j < n, i + j < n - 1
            u = np.concatenate([i[up] + 1 / 3, i[down] + 2 / 3]) / n
            v = np.concatenate([j[up] + 1 / 3, j[down] + 2 / 3]) / n
            weights = np.column_stack([1 - u - v, u, v])
            points.append(np.einsum("sk,mkd->msd", weights, corners[rows]).reshape(-1, 3))
            share.append(np.repeat(areas[rows] / n**2, n**2))
            sheet.append(np.repeat(self._sheet_of[rows], n**2))
        return np.vstack(points), np.concatenate(share), np.concatenate(sheet)

    def height(self, points: np.ndarray) -> np.ndarray:
        place, normal = self._evaluate(points)
        return ((points - place) * normal).sum(1)


def face_turns(mesh: Mesh, across: np.ndarray) -> np.ndarray:
    """(m, 3) the angle by which the surface turns over side k of each face, from its corner k to the next.

    `across` is `opposite` of the triangles.
    """
    normals = mesh.face_normals
    cosine = (normals[:, None] * normals[across // 3]).sum(2)
    return np.arccos(np.clip(cosine, -1.0, 1.0))


def opposite(faces: np.ndarray) -> np.ndarray:
    """(m, 3) for side k of each face of a closed mesh, the number 3 face + side of the same side seen from across."""
    directed = faces[:, [[0, 1], [1, 2], [2, 0]]].reshape(-1, 2)
    size = int(faces.max()) + 1
    forward, back = directed @ [size, 1], directed @ [1, size]
    order = np.argsort(forward)
    return order[np.searchsorted(forward, back, sorter=order)].reshape(-1, 3)


def corner_normals(corners: np.ndarray, across: np.ndarray, sharp: np.ndarray) -> np.ndarray:
    """(m, 3, 3) unit normal at each corner of each face: one for all corners of a vertex that no crease parts."""
    face, side = np.nonzero(~sharp)
    other = across[face, side]
    # the side runs the other way in the face across, so its ends change places
    i = np.concatenate([3 * face + side, 3 * face + (side + 1) % 3])
    j = np.concatenate([3 * (other // 3) + (other % 3 + 1) % 3, other])
    count = 3 * len(corners)
    groups, label = connected_components(coo_matrix((np.ones(len(i)), (i, j)), shape=(count, count)), directed=False)
    a = np.roll(corners, -1, axis=1) - corners
    b = np.roll(corners, 1, axis=1) - corners
    square = (a * a).sum(2) * (b * b).sum(2)
    weighted = np.cross(a, b) / np.maximum(square, 1e-300)[:, :, None]
    total = np.zeros((groups, 3))
    np.add.at(total, label, weighted.reshape(-1, 3))
    total /= np.maximum(np.linalg.norm(total, axis=1, keepdims=True), 1e-300)
    return total[label].reshape(-1, 3, 3)


def _run_on(crease: Crease, rim: np.ndarray, outermost: np.ndarray) -> Crease:
    """A crease run on where it comes to a point of the rim (k, 3), to the outermost (k, 3) beyond that."""
    gap, nearest = cKDTree(crease.points).query(rim)
    points, rows = [crease.points], [np.arange(len(crease.points))]
    share = np.linspace(0.0, 1.0, _RUN_ON)[:, None]
    for end in np.flatnonzero(gap < _MEETS):
        points.append(rim[end] + share * (outermost[end] - rim[end]))
        rows.append(np.repeat(nearest[end], _RUN_ON))
    row = np.concatenate(rows)
    return Crease(crease.sheets, np.vstack(points), crease.ahead[row], crease.normals[:, row])


def bends(bent: Sequence[Crease], creases: Sequence[Crease], width: float) -> dict[int, Bend]:
    """For each sheet beside creases over which foam is bent how it does so, up to `width` mm beside them and no further
    than nearly half way to the next of all `creases` of the form."""
    found: dict[int, list[tuple[np.ndarray, np.ndarray, np.ndarray]]] = {}
    for crease in bent:
        middle = crease.normals.sum(axis=0)
        middle /= np.maximum(np.linalg.norm(middle, axis=1, keepdims=True), 1e-300)
        for number, normal in zip(crease.sheets, crease.normals):
            others = [c.points for c in creases if number in c.sheets and c.sheets != crease.sheets]
            # in the middle of them: near a corner of the sheet two creases come together
            gap = np.median(cKDTree(np.vstack(others)).query(crease.points)[0]) if others else np.inf
            narrower = np.full(len(middle), min(width, NARROW * float(gap)))
            found.setdefault(number, []).append((crease.points, middle - normal, narrower))
    return {number: Bend(*(np.concatenate(column) for column in zip(*lines))) for number, lines in found.items()}


def _stated_creases(faces: np.ndarray, normals: np.ndarray, across: np.ndarray) -> np.ndarray:
    """(m, 3) the sides along which the two triangles have normals of their own.

    At both ends, or at one from which no other such side leaves: there a crease ends smoothly, or goes over from convex to
    hollow. Around the tip of a cone every triangle has its own, and that is no crease.
    """
    flat = normals.reshape(-1, 3)
    other = 3 * (across // 3), across % 3
    here, ahead = normals, np.roll(normals, -1, axis=1)
    there = flat[other[0] + (other[1] + 1) % 3], flat[other[0] + other[1]]
    cosine = np.stack([(here * there[0]).sum(2), (ahead * there[1]).sum(2)])
    turned = np.arccos(np.clip(cosine, -1.0, 1.0)) > _TANGENT
    one = turned[0] != turned[1]
    end = np.where(turned[0], faces, np.roll(faces, -1, axis=1))
    leaving = np.bincount(end[one], minlength=int(faces.max()) + 1) // 2  # each side is one of two triangles
    return turned.all(axis=0) | (one & (leaving[end] == 1))


def _patches(p: np.ndarray, n: np.ndarray, sharp: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """Control points (m, 10, 3) and control normals (m, 6, 3), in the order in which `_evaluate` weighs them."""
    ahead_p, ahead_n = np.roll(p, -1, axis=1), np.roll(n, -1, axis=1)
    chord = ahead_p - p
    rise_here = np.where(sharp, 0.0, (chord * n).sum(2))[:, :, None]
    rise_there = np.where(sharp, 0.0, -(chord * ahead_n).sum(2))[:, :, None]
    near_here = (2 * p + ahead_p - rise_here * n) / 3
    near_there = (p + 2 * ahead_p - rise_there * ahead_n) / 3
    sides = np.stack([near_here, near_there], axis=2).reshape(-1, 6, 3)
    middle = sides.mean(1) * 1.5 - p.mean(1) / 2
    points = np.concatenate([p, sides, middle[:, None]], axis=1)
    total = n + ahead_n
    square = np.maximum((chord * chord).sum(2), 1e-300)[:, :, None]
    between = total - 2 * (chord * total).sum(2)[:, :, None] / square * chord
    between /= np.maximum(np.linalg.norm(between, axis=2, keepdims=True), 1e-300)
    return points, np.concatenate([n, between], axis=1)


def _barycentric(a: np.ndarray, b: np.ndarray, c: np.ndarray, p: np.ndarray) -> tuple[np.ndarray, ...]:
    """Three weights (N,) of points in triangles of space."""
    ab, ac, ap = b - a, c - a, p - a
    d00, d01, d11 = (ab * ab).sum(1), (ab * ac).sum(1), (ac * ac).sum(1)
    d20, d21 = (ap * ab).sum(1), (ap * ac).sum(1)
    det = np.maximum(d00 * d11 - d01 * d01, 1e-300)
    v, w = (d11 * d20 - d01 * d21) / det, (d00 * d21 - d01 * d20) / det
    return 1 - v - w, v, w
