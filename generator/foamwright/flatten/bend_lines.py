"""Where a part stays straight as it is bent, and how hollow it gets: lines on its flat pattern. Lengths in mm."""

from __future__ import annotations

import hashlib
from collections.abc import Iterator, Sequence
from copy import copy
from dataclasses import dataclass, field
from functools import lru_cache

import numpy as np
import shapely
from scipy.interpolate import LinearNDInterpolator
from scipy.spatial import cKDTree

from foamwright.flatten.arrows import laid_flat
from foamwright.flatten.records import FlatMesh, Pattern

_WITHIN = 0.8  # of the radius of the largest circle in a part, from its rim
_LINES = 5  # along which a part is not bent, beside each other through its middle,
_MORE_LINES = 8  # and where foam is bare of them, at most
_STEP = 0.012  # of the size of a part: how far a line is followed at once,
_SMOOTH = 0.06  # and from how far around its direction is taken
_STEADY = 0.9  # cosine between the ways of a line from one step to the next
_SHORT = 0.2  # of the size of a part: what is steady for no longer than that is no line
_NEAR = 64  # corners of triangles that this is looked for among
_EVEN = 0.8  # of the greatest bend at a place that the least is; more, and it bends alike all ways there
_NEARLY_EVEN = 0.4  # more, and a part is bent along its length, whichever way it bends a little more at a place
_OPEN = 0.2  # of a part's area that it faces one way in all; less, and it is closed to a round
_MAINLY = 0.63  # of its main bend that a part is bent across it, and no direction is told
_NEARLY_ALIKE = 0.9  # more, and all of a part tells no better than its middle which of its bends is the main one
_POINTS = 40  # of a straight line
_CLEARLY = 0.8  # cosine between two ways that are meant to be one
_ALIKE = 0.02  # by which the two bends of a saddle differ; less, and they are alike
_FLAT = 1e-3  # by which normals differ, as sines; less, and a part is flat
_LOOKED_AT = 60  # places of a part, for that


def bend_lines(pattern: Pattern) -> list[np.ndarray]:
    """Lines (k, 2) on the flat part along which it is bent least, the one nearest to its middle first; none where it bends alike
    all ways.

    They follow a principal curvature of its surface (M. do Carmo, "Differential Geometry of Curves and Surfaces", section 3-2,
    from memory), on a cylinder and a cone its generating lines. A long strip that is a little hollow across is bent along its
    length, be the little hollow of a smaller radius or not: its lines go across it.
    """
    return [] if pattern.mesh is None else list(_found(_Bent(_told(pattern, pattern.mesh), pattern, pattern.mesh)))


@dataclass(frozen=True)
class _Bent:
    """A pattern that bends, told by what its lines follow from: templates, sentences and pictures ask for them, some of a copy
    of the record that has come from another process."""

    told: bytes
    pattern: Pattern = field(compare=False)
    mesh: FlatMesh = field(compare=False)


def _told(pattern: Pattern, mesh: FlatMesh) -> bytes:
    legs = (leg for dart in pattern.darts for leg in (dart.leg_a, dart.leg_b))
    arrays = (pattern.outline, *legs, mesh.flat, mesh.surface.points, mesh.surface.triangles)
    return hashlib.sha256(b"".join(repr(array.shape).encode() + array.tobytes() for array in arrays)).digest()


@lru_cache(maxsize=64)
def _found(bent: _Bent) -> Sequence[np.ndarray]:
    pattern, mesh = bent.pattern, bent.mesh
    field = _Field(mesh)
    if float(np.ptp(mesh.surface.face_normals, axis=0).max()) < _FLAT:
        return []
    darts = [dart.wedge.buffer(0.1) for dart in pattern.darts]
    foam = shapely.union_all(
        [shapely.Polygon(pattern.outline).buffer(0.0), *darts]
    )  # across holes and closed darts as well
    middle = _middle(foam)
    even = field.evenness()
    if even > _NEARLY_EVEN:  # lines that follow the least bend would wander
        straight = _straight_across(mesh, middle, foam)
        if straight or even > _EVEN:
            return straight
    size = float(np.ptp(pattern.outline, axis=0).max())
    field = field.by_bend(pattern, middle, foam, size)
    around = field.followed_round(middle, foam, size)
    at = np.concatenate([[0.0], np.cumsum(np.linalg.norm(np.diff(around, axis=0), axis=1))])
    seeds = [
        np.array([np.interp(at[-1] * (i + 0.5) / _LINES, at, around[:, k]) for k in (0, 1)]) for i in range(_LINES)
    ]
    apart = at[-1] / _LINES
    lines = []
    for seed in (middle, *(seed for seed in seeds if np.linalg.norm(seed - middle) > 0.5 * apart)):
        line = field.followed(seed, foam, size)
        if len(line) > 2:
            lines.append(line)
    lines.sort(key=lambda line: round(float(_off(middle, line)) / size, 3))
    return [*lines, *_of_bare_foam(lines, apart, field, foam, size)]


def _middle(foam: shapely.Geometry) -> np.ndarray:
    """A place (2,) well within foam: its centroid, or the nearest to that where it lies beside the foam, as of a strip that goes
    round like a collar."""
    if foam.contains(foam.centroid):
        return np.array(foam.centroid.coords[0])
    rim = _WITHIN * shapely.maximum_inscribed_circle(foam).length
    return np.array(shapely.shortest_line(foam.centroid, shapely.buffer(foam, -rim)).coords[1])


def main_bend(points: np.ndarray) -> tuple[np.ndarray, np.ndarray] | None:
    """Which way a surface of triangles (n, 3, 3) is bent most, and the way square to that, along which it stays straight: unit
    vectors (3,), both square to its mean normal. At each place it may bend alike all ways: then it is bent along its length.
    None where it is bent nearly as much the other way to the same side, as a ball, or goes all the way round.
    """
    found = bends(points)
    return None if found is None or found.is_even(_MAINLY) else (found.across, found.along)


@dataclass(frozen=True, eq=False)
class Bends:
    """Which way a surface is bent most, and least: unit vectors (3,) square to each other and to its mean normal; what share
    of the one it is bent the other way, 0 to 1; and whether it is so to the opposite side, as a saddle is."""

    across: np.ndarray
    along: np.ndarray
    evenly: float
    opposite: bool

    def is_even(self, share: float) -> bool:
        """Is it bent both ways alike, by more than a share, so that none is the main one? Of a saddle one always is: both bends
        are made, one after the other."""
        return self.evenly > share and not self.opposite


def bends(points: np.ndarray) -> Bends | None:
    """How a surface of triangles (n, 3, 3) bends on the whole; None where it goes all the way round.

    A part of curvature k and length L rises from its plane by k L^2 / 8 and turns by k L. It counts as bent by k L^(4/3),
    between both: by its rise alone a stave of a barrel would be bent along its length, by its turn alone a slat about it. With
    A x the lean of the normals at places x, both in its plane, and C the spread of these, which goes with L^2, the two bends are
    the eigenvectors of C^(1/3) A C^(1/3).
    """
    normals = np.cross(points[:, 1] - points[:, 0], points[:, 2] - points[:, 0])
    size = np.linalg.norm(normals, axis=1)
    mean = normals.sum(axis=0)
    if float(np.linalg.norm(mean)) <= _OPEN * float(size.sum()):  # no foam at all as well
        return None
    mean /= np.linalg.norm(mean)
    plane = np.linalg.svd(mean[None])[2][1:]  # two ways square to it
    middles = points.mean(axis=1)
    places = (middles - (size @ middles) / size.sum()) @ plane.T
    leans = (normals / np.maximum(size[:, None], 1e-12)) @ plane.T
    spread = (places * size[:, None]).T @ places / size.sum()
    shape = np.linalg.lstsq(places * np.sqrt(size)[:, None], leans * np.sqrt(size)[:, None], rcond=None)[0]
    values, axes = np.linalg.eigh(spread)
    root = axes @ np.diag(np.cbrt(np.maximum(values, 0.0))) @ axes.T
    bent, ways = np.linalg.eigh(root @ (shape + shape.T) @ root)
    least, opposite = int(np.abs(bent).argmin()), bool(bent[0] < 0.0 < bent[1])
    if opposite and abs(bent[least]) > (1.0 - _ALIKE) * abs(bent[1 - least]):
        least = 0
    along = (root @ ways[:, least]) @ plane
    along /= np.linalg.norm(along)
    evenly = min(float(abs(bent[least]) / max(abs(bent[1 - least]), 1e-300)), 1.0)
    return Bends(np.cross(along, mean), along, evenly, opposite)


def _straight_across(mesh: FlatMesh, middle: np.ndarray, foam: shapely.Geometry) -> list[np.ndarray]:
    """Straight lines square to the way that a part turns most, which is the way that it is longer; none where it is as long
    all ways."""
    ways = main_bend(mesh.surface.corners)
    if ways is None:
        return []
    flat = mesh.flat[mesh.surface.triangles]
    sizes = np.abs(np.linalg.det(flat[:, 1:] - flat[:, :1]))
    around = (laid_flat(flat, mesh.surface.corners, ways[0]) * sizes[:, None]).sum(axis=0)
    if not np.linalg.norm(around) > 0.0:
        return []
    around /= np.linalg.norm(around)
    along = np.array([-around[1], around[0]])
    corners = shapely.get_coordinates(foam)
    off = (corners - middle) @ around
    reach, apart = float(np.ptp(corners, axis=0).sum()), float(np.ptp(off)) / _LINES
    beside = off.min() + apart * (np.arange(_LINES) + 0.5)
    lines = []
    for spot in (0.0, *beside[np.abs(beside) > 0.5 * apart]):
        start = middle + spot * around
        cut = shapely.intersection(foam, shapely.LineString([start - reach * along, start + reach * along]))
        line = max(shapely.get_parts(cut), key=lambda part: part.length, default=None)
        if line is not None and line.length > 0.0:
            lines.append(np.array(line.segmentize(line.length / _POINTS).coords))
    return lines


def _on_paper(pattern: Pattern, middle: np.ndarray) -> np.ndarray | None:
    """The way (2,) on the flat part, at its middle, along which all of it stays straight; None where nothing tells."""
    assert pattern.mesh is not None
    mesh = pattern.mesh
    whole = bends(mesh.surface.corners)
    if whole is None or whole.is_even(_NEARLY_ALIKE):
        return None
    flat = mesh.flat[mesh.surface.triangles]
    near = int(np.linalg.norm(flat.mean(axis=1) - middle, axis=1).argmin())
    (way,) = laid_flat(flat[[near]], mesh.surface.corners[[near]], whole.along)
    size = float(np.linalg.norm(way))
    return way / size if size > _CLEARLY else None


def _of_bare_foam(
    lines: Sequence[np.ndarray], apart: float, field: _Field, foam: shapely.Geometry, size: float
) -> Iterator[np.ndarray]:
    """More such lines where foam lies farther from all of them than they are `apart`: beside an opening, before which the others
    end, or at the far end of a part that turns a corner."""
    places = field.middles[shapely.contains_xy(foam, field.middles)]
    if not lines or not len(places):
        return
    far = np.min([_off(places, line) for line in lines], axis=0)
    for _ in range(_MORE_LINES):
        seed = int(far.argmax())
        if far[seed] < apart:
            return
        line = field.followed(places[seed], foam, size)
        if len(line) * _STEP * size > apart:  # in a corner there is nothing to bend
            yield line
        far = np.minimum(far, _off(places, line))


def _off(places: np.ndarray, line: np.ndarray) -> np.ndarray:
    """How far places (n, 2) lie from a line (k, 2)."""
    return np.asarray(
        shapely.distance(shapely.points(places), shapely.LineString(line if len(line) > 1 else [*line, *line]))
    )


def hollow(pattern: Pattern, lines: Sequence[np.ndarray]) -> float:
    """How far in mm the surface stands off a straight line from one end to the other of the first of `lines`, square to it."""
    assert pattern.mesh is not None
    surface = pattern.mesh.surface
    points = in_space(pattern, lines[0])
    chord = points[-1] - points[0]
    half = points[len(points) // 2]
    nearest = int(np.linalg.norm(surface.corners.mean(axis=1) - half, axis=1).argmin())
    normal = surface.face_normals[nearest]
    normal = normal - (normal @ chord) / max(float(chord @ chord), 1e-9) * chord
    return float(np.abs((points - points[0]) @ normal / max(float(np.linalg.norm(normal)), 1e-9)).max())


def _bent(points: np.ndarray) -> float:
    """How much a line through places (k, 3) is bent, as `bends` counts it: by what the farthest of them rises from the straight
    line between its ends, over the length of that to the power of 2/3."""
    if len(points) < 3:
        return 0.0
    chord = points[-1] - points[0]
    off = points - points[0]
    along = np.clip(off @ chord / max(float(chord @ chord), 1e-12), 0.0, 1.0)
    rise = float(np.linalg.norm(off - along[:, None] * chord, axis=1).max())
    return rise / max(float(np.linalg.norm(chord)), 1e-12) ** (2.0 / 3.0)


def spanned(pattern: Pattern, lines: Sequence[np.ndarray]) -> float:
    """How long in mm that straight line is."""
    points = in_space(pattern, lines[0])
    return float(np.linalg.norm(points[-1] - points[0]))


def in_space(pattern: Pattern, line: np.ndarray) -> np.ndarray:
    """Places (k, 3) on the surface of a line (k, 2) on the flat part."""
    assert pattern.mesh is not None
    points = LinearNDInterpolator(pattern.mesh.flat, pattern.mesh.surface.points)(line)
    return np.asarray(points[~np.isnan(points).any(axis=1)])


class _Field:
    """How strongly a flat part is bent, and which way, at each place.

    Places near it are fitted by a quadratic over the flat part, whose second derivatives along the normal are the second
    fundamental form (F. Cazals and M. Pouget, "Estimating differential quantities using polynomial fitting of osculating jets",
    2003, from memory). Corners of triangles lie on the surface; what is told by the way that triangles face is wrong at a rim,
    where they are on one side only.
    """

    def __init__(self, mesh: FlatMesh):
        self.straight = 0  # of the two principal curvatures the one that lines follow: the least
        used = np.unique(mesh.surface.triangles)
        self.flat, self.points = mesh.flat[used], mesh.surface.points[used]
        self.middles = mesh.flat[mesh.surface.triangles].mean(axis=1)
        self.tree = cKDTree(self.flat)
        self.reach = _SMOOTH * float(np.ptp(mesh.flat, axis=0).max())

    def _at(self, place: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
        """Squares of the two principal curvatures, the least first, and their ways in the columns of an array (2, 2)."""
        far, near = self.tree.query(place, min(_NEAR, len(self.flat)))
        if far[0] > 0.5 * self.reach:  # in an opening: what lies on one side of it alone would turn a line
            near = np.array(self.tree.query_ball_point(place, far[0] + 2.0 * self.reach))
            far = np.linalg.norm(self.flat[near] - place, axis=1) - far[0]
        weight = np.exp(-0.5 * (far / self.reach) ** 2)[:, None]
        u, v = ((self.flat[near] - place) / self.reach).T
        terms = np.column_stack([np.ones_like(u), u, v, u * u / 2.0, u * v, v * v / 2.0])
        fitted = np.linalg.lstsq(weight * terms, weight * self.points[near], rcond=None)[0]
        normal = np.cross(fitted[1], fitted[2])
        uu, uv, vv = fitted[3:] @ normal / max(float(np.linalg.norm(normal)), 1e-300) / self.reach**2
        form = np.array([[uu, uv], [uv, vv]])
        values, axes = np.linalg.eigh(form @ form)
        return values, axes

    def ratio(self, place: np.ndarray) -> float:
        """The least bend by the greatest."""
        values, _ = self._at(place)
        return float(np.sqrt(max(values[0], 0.0) / max(values[1], 1e-300)))

    def evenness(self) -> float:
        """The median of that over the part: one place, beside an opening perhaps, does not tell how it is bent."""
        some = np.unique(np.linspace(0, len(self.middles) - 1, min(len(self.middles), _LOOKED_AT)).astype(int))
        return float(np.median([self.ratio(place) for place in self.middles[some]]))

    def by_bend(self, pattern: Pattern, middle: np.ndarray, foam: shapely.Geometry, size: float) -> _Field:
        """The field whose lines go the way that a part is bent less: on the whole, or, where it goes round or turns
        so that this tells neither, judged through its middle."""
        other = copy(self)
        other.straight = 1 - self.straight
        way = _on_paper(pattern, middle)
        if way is not None:
            along = abs(float(self._at(middle)[1][:, self.straight] @ way))
            if max(along, (1.0 - along**2) ** 0.5) > _CLEARLY:
                return self if along > _CLEARLY else other
        bent = [_bent(in_space(pattern, field.followed_round(middle, foam, size))) for field in (self, other)]
        return other if bent[1] > bent[0] else self

    def followed(self, start: np.ndarray, foam: shapely.Geometry, size: float) -> np.ndarray:
        """The line (k, 2) through a place along which a part stays straight, as far as there is foam and its way is steady, which
        it is not where a part bends nearly alike all ways. One place is no line."""
        line, steady = self._traced(start, self.straight, _STEADY, foam, size)
        return line if steady or len(line) * _STEP >= _SHORT else line[:1]

    def followed_round(self, start: np.ndarray, foam: shapely.Geometry, size: float) -> np.ndarray:
        """The line (k, 2) through a place that goes the way of the bend, as far as there is foam."""
        return self._traced(start, 1 - self.straight, -1.0, foam, size)[0]

    def _traced(
        self, start: np.ndarray, axis: int, steady: float, foam: shapely.Geometry, size: float
    ) -> tuple[np.ndarray, bool]:
        """The line (k, 2) both ways from a place along an axis, and whether its way kept within a cosine from step to step."""
        halves = []
        kept = True
        shapely.prepare(foam)
        for sign in (-1.0, 1.0):
            points = [start]
            way = sign * self._at(start)[1][:, axis]
            for _ in range(int(2.5 / _STEP)):
                there = points[-1] + _STEP * size * way
                if not foam.contains(shapely.Point(there)):
                    break
                points.append(there)
                turned = self._at(there)[1][:, axis]
                if abs(turned @ way) < steady:
                    kept = False
                    break
                way = turned if turned @ way >= 0.0 else -turned
            halves.append(points)
        return np.array([*halves[0][:0:-1], *halves[1]]), kept
