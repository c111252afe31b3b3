"""Flat parts that lie with a face on bent foam: pressed on as far as it goes, where the lines drawn for them agree.

A line on the foam is where the outline comes down along the foam's normal, however far above the foam it is there.
Lengths in mm.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence

import numpy as np
import shapely
from scipy.optimize import linprog
from scipy.spatial import cKDTree

from foamwright.proof.bench.charts import lies_on
from foamwright.proof.bench.foam import Copy, Foam, Part, Touch
from foamwright.proof.bench.footings import FACES, Footing, out_of_foam, own_points
from foamwright.proof.bench.laying import Ground, ground_of, within
from foamwright.proof.bench.mesh import sheet_of
from foamwright.proof.bench.pieces import Placed
from foamwright.proof.bench.rigid import STILL, Motion, best_motion, sampled, turned_about

_ROUNDS = 12
_SPACING = 6.0
_LINE = 1.0
_TILT = 0.2  # radians at most in one round
_SAME = 1e-3
_FEW = 3  # points of a line that tell nothing
_REST = 1e-3  # share of the rest of the face in what is pressed
_OVER = 0.35  # of a part's extent: what it lies on is not looked for further below it


def rested(
    foam: Foam, copy: Copy, start: Placed, placed: Mapping[Copy, Placed], joints: Sequence[Footing]
) -> tuple[Placed, tuple[float, ...]] | None:
    """A flat copy that lies on bent foam, from about where it belongs, and what is left between each line and its
    outline by the middle one of the points; None if it lies on no bent foam."""
    marks = [
        f
        for f in joints
        if f.upper == copy and f.lower in placed and any(face in FACES for face in f.faces) and _some(f, placed)
    ]
    below = lies_on(foam, copy, placed)
    others = [((t.b, t.face_b, t.face_a) if first else (t.a, t.face_a, t.face_b)) for t, first in below]
    if not marks or not any(foam.part(other).bent and face in FACES for other, face, _ in others):
        return None
    own_face = next(own for other, face, own in others if foam.part(other).bent and face in FACES)
    grounds = [
        g for other, face, own in others if own == own_face and (g := ground_of(placed[other], face)) is not None
    ]
    touched = [_touched(t, first, placed) for t, first in below if (t.face_a if first else t.face_b) == own_face]
    under = np.hstack([np.vstack([one[k] for one in touched]) for k in range(2)])
    part = start.part
    depth, rim = _rim(part, own_face)
    outwards = -1.0 if (own_face == "inside") == part.drawn_inside else 1.0  # from the face to the part, along `up`
    flat = sheet_of(part, max(_SPACING, float(np.sqrt(_extent(part.rings[0]) ** 2 / 300.0)))).flat
    lines = [_line(f, placed[f.lower]) for f in marks]
    at, up = (np.vstack([line[k] for line in lines]) for k in range(2))
    here = start
    reach = _OVER * _extent(part.rings[0])
    for _ in range(_ROUNDS):
        before = here.points
        here = here.moved(_slid(here, rim, depth, at, up))
        here = here.moved(_pressed(here, flat, depth, outwards, grounds, under, reach))
        if float(np.abs(here.points - before).max()) < _SAME:
            break
    return here, tuple(_off(here, rim, depth, line) for line in lines)


def outline_off(f: Footing, lower: Placed, upper: Placed) -> tuple[float, ...]:
    """How far the line on bent foam for a flat part is in the middle from where the outline of that part comes down, in mm;
    nothing if too little of it is drawn, or no face lies there. Where the line is within the outline and the part stands off
    further than it does on the whole, it only ends what touches."""
    own_face = next((face for face in f.faces if face in FACES), None)
    if own_face is None or not _some(f, {f.lower: lower}):
        return ()
    depth, rim = _rim(upper.part, own_face)
    at, up = _line(f, lower)
    away = np.linalg.norm(_aside(upper, rim, depth, at, up)[1], axis=1)
    flat, height = _above(upper, depth, at, up)
    outline, *holes = upper.part.face_rings(own_face == "inside")
    foot = shapely.Polygon(outline, holes)
    told = ~shapely.contains_xy(foot, *flat.T) | (height <= f.gap)
    return (float(np.median(away[told])),) if told.sum() > _FEW else ()


def _above(here: Placed, depth: float, at: np.ndarray, up: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """Where rays from points (K, 3) along `up` (K, 3) meet a flat face: on its paper (K, 2), and how far from the points (K,)."""
    frame = np.array([[0.0, 0.0], [1.0, 0.0], [0.0, 1.0]])
    begin, one, other = here.place(frame, np.full(3, depth))
    one, other = one - begin, other - begin
    normal = np.cross(one, other)
    height = ((begin - at) @ normal) / (up @ normal)
    met = at + height[:, None] * up - begin
    return np.column_stack([met @ one, met @ other]), height


def _rim(part: Part, face: str) -> tuple[float, np.ndarray]:
    """The depth of a face, and points (K, 2) along its outline."""
    inside = face == "inside"
    return part.depth(inside), np.vstack([sampled(ring, _LINE, closed=True) for ring in part.face_rings(inside)])


def _line(f: Footing, lower: Placed) -> tuple[np.ndarray, np.ndarray]:
    """Points (K, 3) of a line on the foam and the normals (K, 3) there."""
    points, _ = own_points(f, lower)
    at = lower.place(points, np.full(len(points), lower.part.depth(f.mark.inside)))
    return at, out_of_foam(f, lower, points)


def _off(here: Placed, rim: np.ndarray, depth: float, line: tuple[np.ndarray, np.ndarray]) -> float:
    return float(np.median(np.linalg.norm(_aside(here, rim, depth, *line)[1], axis=1)))


def _touched(touch: Touch, first: bool, placed: Mapping[Copy, Placed]) -> tuple[np.ndarray, np.ndarray]:
    """Points (K, 3) of what is touched on the foam below, and the normals there, as far as the record tells."""
    other, face, rings = (touch.b, touch.face_b, touch.on_b) if first else (touch.a, touch.face_a, touch.on_a)
    if not rings or face not in FACES:
        return np.zeros((0, 3)), np.zeros((0, 3))
    lower = placed[other]
    flat = np.vstack([within(ring) for ring in rings])
    drawn = (face == "inside") == lower.part.drawn_inside
    at = lower.place(flat, np.full(len(flat), lower.part.depth(face == "inside")))
    return at, lower.up(flat) * (1.0 if drawn else -1.0)


def _some(f: Footing, placed: Mapping[Copy, Placed]) -> bool:
    return len(own_points(f, placed[f.lower])[0]) > _FEW


def _extent(ring: np.ndarray) -> float:
    return float(np.ptp(ring, axis=0).max())


def _aside(
    here: Placed, rim: np.ndarray, depth: float, at: np.ndarray, up: np.ndarray
) -> tuple[np.ndarray, np.ndarray]:
    """For points of the lines (K, 3) the nearest of the outline, seen along the foam's normals, and the ways there."""
    line = here.place(rim, np.full(len(rim), depth))
    normal = up.mean(axis=0)
    normal /= np.linalg.norm(normal)
    level = line - np.outer(line @ normal, normal)
    # what is looked for lies above the line along its own normal: at the height that the outline has there
    goal = at
    for _ in range(2):
        near = cKDTree(level).query(goal - np.outer(goal @ normal, normal))[1]
        height = ((line[near] - at) * up).sum(axis=1)
        goal = at + height[:, None] * up
    way = goal - line[near]
    return line[near], way - (way * up).sum(axis=1)[:, None] * up


def _slid(here: Placed, rim: np.ndarray, depth: float, at: np.ndarray, up: np.ndarray) -> Motion:
    """In its own plane, so that the outline is above the lines."""
    points, ways = _aside(here, rim, depth, at, up)
    axis = here.up(rim[:1])[0]
    goals = points + ways - np.outer(ways @ axis, axis)
    size = np.linalg.norm(ways, axis=1)
    kept = size <= max(2.5 * float(np.median(size)), 0.5)
    # points lifted along the axis keep the plane as it is
    lift = 1e3 * axis
    one, other = np.vstack([points[kept], points[kept] + lift]), np.vstack([goals[kept], goals[kept] + lift])
    return best_motion(one, other)


def _pressed(
    here: Placed,
    flat: np.ndarray,
    depth: float,
    outwards: float,
    grounds: Sequence[Ground],
    under: np.ndarray,
    reach: float,
) -> Motion:
    """Down and tilted until it is as near as it comes to what it touches, points and normals `under` (K, 6), or else on
    the whole, and cuts into nothing: a linear programme of three unknowns, a shift along its normal and two small turns.
    """
    points = here.place(flat, np.full(len(flat), depth))
    axis = outwards * here.up(flat[:1])[0]
    middle = points.mean(axis=0)
    side = np.cross(axis, np.eye(3)[int(np.argmin(np.abs(axis)))])
    side /= np.linalg.norm(side)
    other = np.cross(axis, side)

    def moves(at: np.ndarray, lean: np.ndarray) -> np.ndarray:
        lever = at - middle
        return np.column_stack(
            [lean @ axis, (np.cross(side, lever) * lean).sum(axis=1), (np.cross(other, lever) * lean).sum(axis=1)]
        )

    rows, heights = [], []
    for ground in grounds:
        feet, normals, met = ground.feet(points)
        high = ((points - feet) * normals).sum(axis=1)
        met &= np.abs(high) < reach
        rows.append(moves(points[met], normals[met]))
        heights.append(high[met])
    a, b = np.vstack(rows), np.concatenate(heights)
    if len(b) < 3:
        return STILL
    size = max(float(np.abs(points - middle).max()), 1.0)
    wanted = moves(under[:, :3], under[:, 3:]) if len(under) else a
    found = linprog(
        wanted.mean(axis=0) + _REST * a.mean(axis=0),
        A_ub=-a,
        b_ub=b,
        bounds=[(None, None), (-_TILT, _TILT), (-_TILT, _TILT)],
        method="highs",
    )
    if not found.success:
        return STILL
    down, one, two = found.x
    turn = one * side + two * other
    angle = float(np.linalg.norm(turn))
    shift = Motion(np.eye(3), down * axis)
    return shift if angle < 1e-9 / size else shift.after(turned_about(turn, angle, middle))
