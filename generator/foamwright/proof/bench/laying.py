"""Foam that is bent by what it lies on, skins, lapped plates and bands: it lies against that at the gap that the record
tells, keeps its own lengths, and slides until its outline agrees with the lines drawn for it. Lengths in mm."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property, lru_cache

import igl
import numpy as np
import shapely
from scipy.spatial import cKDTree

from foamwright.proof.bench.bands import goes_once_round
from foamwright.proof.bench.charts import Chart, begun, charts, edge_lines, lies_on
from foamwright.proof.bench.foam import Copy, Foam, Sewn, ring_area
from foamwright.proof.bench.footings import FACES, Footing, own_points
from foamwright.proof.bench.mesh import rounded, sheet_of
from foamwright.proof.bench.pieces import Placed
from foamwright.proof.bench.rigid import Lines, lengths, sampled
from foamwright.proof.bench.seams import glue
from foamwright.proof.bench.shell import NO_SPOTS, Holds, Spots, at_rest, joined
from foamwright.proof.bench.shells import Net, net

_TRIANGLES = 260
_SPACING = 7.0  # between the points that lie against what is below
_INSET = 0.5  # from the line of what touches
_ROUNDS = (0.3, 1.0, 1.0, 1.0, 1.0)  # how hard it is pressed on, beside glue
_STILL = 0.02  # mm of the last round: no further one would move it more
_SLIDES = 0.02  # how hard it is drawn to its lines beside that: it slides there, and is not stretched
_TOLD = 0.000005  # the same to where the record has it: too little to stretch anything
_STEPS = 6
_ROUNDED = 2  # times that each side of the triangles of bent foam is halved
_ASIDE = 1.5  # mm from the foot of a normal: past the edge of what it lies on, where it hangs free
_LINE = 1.0  # mm between points of an outline
_ALONG = 0.5  # cosine: a line that runs otherwise is another one


@dataclass(frozen=True, eq=False)
class Ground:
    """A face or an edge that foam lies against: points (n, 3), triangles (m, 3), normals (m, 3) out of it."""

    points: np.ndarray
    triangles: np.ndarray
    normals: np.ndarray

    @cached_property
    def _tree(self) -> igl.AABB:
        tree = igl.AABB()
        tree.init(self.points, self.triangles)
        return tree

    def feet(self, points: np.ndarray) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
        """The nearest points (K, 3), the normals there (K, 3), and whether they are feet of normals (K,)."""
        found = self._tree.squared_distance(self.points, self.triangles, np.ascontiguousarray(points))
        which, near = np.asarray(found[1]).ravel(), np.asarray(found[2]).reshape(-1, 3)
        normals = self.normals[which]
        apart = points - near
        level = apart - (apart * normals).sum(axis=1)[:, None] * normals
        return near, normals, lengths(level) < _ASIDE


@lru_cache(maxsize=256)
def ground_of(piece: Placed, face: str) -> Ground | None:
    """A face of a copy, or the strip of one of its edges; None if it has no such edge.

    A bent face is rounded: on the facets of its triangles a plate would come to rest tilted by half the angle between two.
    """
    part = piece.part
    if face in FACES:
        sheet = piece.sheet if part.bent else sheet_of(part, max(8.0, np.sqrt(ring_area(part.rings) / 40.0)))
        points = piece.place(sheet.flat, np.full(len(sheet.flat), part.depth(face == "inside")))
        normals = piece.up(sheet.flat) * (1.0 if (face == "inside") == part.drawn_inside else -1.0)
        triangles = sheet.triangles
        for _ in range(_ROUNDED if part.bent else 0):
            points, normals, triangles = rounded(points, normals, triangles)
        outwards = normals[triangles].sum(axis=1)
        outwards /= np.maximum(np.linalg.norm(outwards, axis=1, keepdims=True), 1e-9)
        return Ground(np.ascontiguousarray(points), np.ascontiguousarray(triangles.astype(np.int64)), outwards)
    edge = part.edge(face)
    if edge is None:
        return None
    near, far, normal = edge_lines(piece, edge)
    k = np.arange(len(near) - 1)
    n = len(near)
    triangles = np.vstack([np.column_stack([k, k + 1, k + n]), np.column_stack([k + 1, k + 1 + n, k + n])])
    return Ground(np.vstack([near, far]), triangles.astype(np.int64), np.vstack([normal[:-1]] * 2))


def laid(
    foam: Foam, copy: Copy, placed: Mapping[Copy, Placed], joints: Sequence[Footing], arrows: Mapping[str, np.ndarray]
) -> tuple[Placed, tuple[float, ...]] | None:
    """A bent copy on what stands, and how far each of its lines is from its outline there, by the middle one of the
    points; None if nothing on the paper tells where it lies."""
    part = foam.part(copy)
    spacing = float(np.sqrt(ring_area(part.rings) / _TRIANGLES / 0.433))
    own = net(foam, [copy], [], spacing)
    ways = charts(foam, copy, placed)
    if not ways:
        return None
    x, chosen = begun(ways, part, part.arrows[copy.number - 1], arrows, own.sheets[copy].flat)
    grounds = _grounds(foam, copy, placed)
    marks = [f for f in joints if (f.upper == copy and f.lower in placed) or (f.lower == copy and f.upper in placed)]
    told = [hold for way in chosen for hold in _told(own, copy, way)] + _sewn_to(own, copy, placed)
    rested = _come_to_rest(own, x, copy, placed, grounds, marks, told, _ROUNDS)
    if rested is not None and goes_once_round(
        foam, copy
    ):  # elsewhere than where it is held it springs open but for that joint
        closed = net(foam, [copy], [Sewn("", copy, "start", copy, "end")], spacing)
        rested = _come_to_rest(closed, rested[0], copy, placed, grounds, marks, told, _ROUNDS[1:])
    if rested is None:
        return None
    x, left = rested
    return own.placed(x)[copy], tuple(float(np.median(np.abs(away))) for away in left)


def _come_to_rest(
    own: Net,
    x: np.ndarray,
    copy: Copy,
    placed: Mapping[Copy, Placed],
    grounds: Sequence[tuple[Ground, str, np.ndarray, float]],
    marks: Sequence[Footing],
    told: Sequence[Holds],
    rounds: Sequence[float],
) -> tuple[np.ndarray, list[np.ndarray]] | None:
    """The vertices (n, 3) pressed on what they lie on, in rounds, and how far the copy's lines are off then; None if nothing
    holds it."""
    left: list[np.ndarray] = []
    for strength in rounds:
        here = own.placed(x)[copy]
        pressed = _pressed(own, here, copy, grounds, strength)
        lines = [_lined(own, here, copy, placed, f) for f in marks]
        left = [away for _, away in lines if len(away)]
        holds = together([*pressed, *told, *(h for h, away in lines if len(away))])
        if holds is None:
            return None
        before, x = x, at_rest(own.made, x, holds, steps=_STEPS).points
        if strength == rounds[-1] and float(np.linalg.norm(x - before, axis=1).max()) < _STILL:
            break
    return x, left


def _grounds(foam: Foam, copy: Copy, placed: Mapping[Copy, Placed]) -> list[tuple[Ground, str, np.ndarray, float]]:
    """What the copy lies on, with its own face, the points (K, 2) of its paper that lie there, and the gap."""
    found = []
    for touch, first in lies_on(foam, copy, placed):
        other, face = (touch.b, touch.face_b) if first else (touch.a, touch.face_a)
        ground = ground_of(placed[other], face)
        rings = touch.on_a if first else touch.on_b
        if ground is None or not rings:
            continue
        points = np.vstack([within(ring) for ring in rings])
        if len(points):
            found.append((ground, touch.face_a if first else touch.face_b, points, touch.gap))
    return found


def within(ring: np.ndarray) -> np.ndarray:
    """Points (K, 2) in an area, on a lattice and a little within its line."""
    area = shapely.make_valid(shapely.Polygon(ring))
    x0, y0, x1, y1 = area.bounds
    lattice = np.stack(np.meshgrid(np.arange(x0, x1, _SPACING), np.arange(y0, y1, _SPACING)), axis=-1).reshape(-1, 2)
    inner = area.buffer(-_INSET)
    kept = lattice[shapely.contains_xy(inner, lattice[:, 0], lattice[:, 1])]
    fields = [field for field in shapely.get_parts(inner) if field.geom_type == "Polygon" and not field.is_empty]
    rims = [sampled(shapely.get_coordinates(field.exterior), _SPACING) for field in fields]
    return np.vstack([kept, *rims])


def _pressed(
    own: Net, here: Placed, copy: Copy, grounds: Sequence[tuple[Ground, str, np.ndarray, float]], strength: float
) -> list[Holds]:
    found = []
    for ground, face, flat, gap in grounds:
        depth = np.full(len(flat), here.part.depth(face == "inside"))
        feet, normals, met = ground.feet(here.place(flat, depth))
        if met.any():
            spots = own.spots(copy, flat[met], depth[met])
            found.append(fixed(spots, normals[met], feet[met] + gap * normals[met], strength * _SPACING))
    return found


def _told(own: Net, copy: Copy, way: Chart) -> list[Holds]:
    """Where what touches lies, as the record has it: it decides where no line does, as along a strip."""
    depth = np.full(len(way.flat), own.foam.part(copy).depth(way.face == "inside"))
    spots = own.spots(copy, way.flat, depth)
    side = np.cross(way.away, np.roll(way.away, 1, axis=1) + np.array([0.3, 0.5, 0.7]))
    side /= np.maximum(np.linalg.norm(side, axis=1, keepdims=True), 1e-9)
    return [fixed(spots, level, way.at, _TOLD * _SPACING) for level in (side, np.cross(way.away, side))]


def _sewn_to(own: Net, copy: Copy, placed: Mapping[Copy, Placed]) -> list[Holds]:
    """Its edges drawn to those that they are sewn to, of what lies there already."""
    found = []
    for sewn in own.foam.sewn:
        here, other = (sewn.a, sewn.b) if sewn.a == copy else (sewn.b, sewn.a)
        seam = glue(own.foam, sewn, _SPACING) if here == copy and other != copy and other in placed else None
        if seam is not None:
            ends = (seam.a, seam.depth_a), (seam.b, seam.depth_b)
            (flat, depth), beyond = ends if sewn.a == copy else ends[::-1]
            spots, goals = own.spots(copy, flat, depth), placed[other].place(*beyond)
            found += [fixed(spots, np.tile(way, (len(flat), 1)), goals, _SLIDES * _SPACING / 2) for way in np.eye(3)]
    return found


def fixed(spots: Spots, ways: np.ndarray, goals: np.ndarray, share: float) -> Holds:
    """Holds of points to places that stand still."""
    still = Spots(spots.corners, np.zeros_like(spots.weights), np.zeros_like(spots.lift))
    return Holds(spots, still, ways, (ways * goals).sum(axis=1), np.full(len(ways), share))


def _lined(own: Net, here: Placed, copy: Copy, placed: Mapping[Copy, Placed], f: Footing) -> tuple[Holds, np.ndarray]:
    """The lines of a footing and the outline that belongs there, held across the line and in the face; with how far they
    are apart (K,)."""
    if f.upper == copy:
        lower = placed[f.lower]
        flat, _ = own_points(f, lower, _SPACING)
        at = lower.place(flat, np.full(len(flat), lower.part.depth(f.mark.inside)))
        face = next((face for face in f.faces if face in FACES), None)
        if face is None or not len(flat):
            return _none(), np.zeros(0)
        depth = here.part.depth(face == "inside")
        rings = [sampled(ring, _LINE, closed=True) for ring in here.part.face_rings(face == "inside")]
        line = np.vstack(rings)
        ahead = np.vstack([np.gradient(ring, axis=0) for ring in rings])
        in_space = here.place(line, np.full(len(line), depth))
        up = lower.up(flat)
        near, across = _beside(at, up, in_space, here.place(line + ahead, np.full(len(line), depth)) - in_space)
        spots = own.spots(copy, line[near], np.full(len(near), depth))
        away = ((in_space[near] - at) * across).sum(axis=1)
        return fixed(spots, across, at, _SLIDES * _SPACING), away
    flat, _ = own_points(f, here, _SPACING)
    edges = [edge for face in f.faces if (edge := placed[f.upper].part.edge(face)) is not None]
    if not edges or not len(flat):
        return _none(), np.zeros(0)
    deep = np.full(len(flat), here.part.depth(f.mark.inside))
    at = here.place(flat, deep)
    both = [edge_lines(placed[f.upper], edge)[:2] for edge in edges]
    rims = Lines.of([line for pair in both for line in pair])
    goals = rims.nearest(at)
    steps = goals - at
    up = here.up(flat)
    level = steps - (steps * up).sum(axis=1)[:, None] * up
    size = np.linalg.norm(level, axis=1)
    across = level / np.maximum(size, 1e-9)[:, None]
    kept = size > 1e-6
    spots = own.spots(copy, flat[kept], deep[kept])
    return fixed(spots, across[kept], goals[kept], _SLIDES * _SPACING), size


def _beside(at: np.ndarray, up: np.ndarray, line: np.ndarray, ahead: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """Which points of a line (L, 3) belong to points (K, 3) on a face with normals `up`, and unit ways across (K, 3)."""
    near = cKDTree(line).query(at)[1]
    across = np.cross(up, ahead[near])
    return near, across / np.maximum(np.linalg.norm(across, axis=1, keepdims=True), 1e-9)


def _none() -> Holds:
    return Holds(NO_SPOTS, NO_SPOTS, np.zeros((0, 3)), np.zeros(0), np.zeros(0))


def together(holds: Sequence[Holds]) -> Holds | None:
    if not holds:
        return None
    return Holds(
        joined([h.a for h in holds]),
        joined([h.b for h in holds]),
        *(np.concatenate([getattr(h, name) for h in holds]) for name in ("directions", "off", "share")),
    )
