"""How the foam of one part lies over that of others, as the record tells it: what is touched on the paper of both.

What touches is one area in space, so its outlines on two papers are nearly alike: laid on each other they carry points
of one paper to the other. Where an edge stands on a face the outline there is a strip as long as the edge. These say
where a part begins to be bent; where it comes to lie follows from its own lengths and its marks. Lengths in mm.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from itertools import product

import numpy as np
import shapely
from scipy.interpolate import RBFInterpolator
from scipy.spatial import cKDTree
from scipy.spatial.distance import cdist

from foamwright.geometry import chord_length
from foamwright.proof.bench.foam import Copy, Edge, Foam, Part, Touch, corners, other_stretches
from foamwright.proof.bench.footings import FACES
from foamwright.proof.bench.pieces import Placed
from foamwright.proof.bench.rigid import sampled

_SPACING = 5.0
_TURNS = 24
_ROUNDS = 20
_KEPT = 2  # ways in which two outlines fit each other that are looked at further
_LEAST = 0.75  # share of the larger outline's area that the smaller must have, or they are not of one area
_APART = 0.15  # of the largest extent, between ways that differ
_ALIKE, _WORSE = 0.5, 2.0  # mm, and times the best fit, by which another one may be worse and still be looked at
_STRETCH = (0.7, 1.4)
_LONG = 1.3  # times as long as wide, from where a shape has a direction
_NARROW = 6.0  # times as long as wide, at least, is a strip,
_STUB = 2.0  # or a piece of one that a dart parts
_MEET = 1.0  # of its width, between pieces of a strip that follow each other
_CORNER = 35.0  # degrees
_SPECK = 0.02  # of the largest area
_PATHS = 0.06  # share by which points may be further apart in space than on the paper
_MOST = 260  # points of a chart
_SMOOTH = 1.0
_REACH = 0.85  # of an edge that must touch for its strip to be as long as it


@dataclass(frozen=True, eq=False)
class Chart:
    """Points `flat` (K, 2) of a paper and where they lie in space, `at` (K, 3), at the depth of the `face` that touches;
    `away` (K, 3) are unit normals there, from what it lies on to the part. `off` tells how ill the outlines fit."""

    flat: np.ndarray
    at: np.ndarray
    away: np.ndarray
    face: str
    off: float


def lies_on(foam: Foam, copy: Copy, placed: Mapping[Copy, Placed]) -> list[tuple[Touch, bool]]:
    """What is glued to a broad face of a copy and stands already; True where the copy is the touch's `a`."""
    found = []
    for touch in foam.touches:
        for first, one, face, other in (
            (True, touch.a, touch.face_a, touch.b),
            (False, touch.b, touch.face_b, touch.a),
        ):
            if one == copy and touch.glued and face in FACES and other in placed and other != copy:
                found.append((touch, first))
    return found


def charts(foam: Foam, copy: Copy, placed: Mapping[Copy, Placed]) -> list[tuple[Chart, ...]]:
    """For each thing that the copy lies on the ways in which it can do so, the likeliest first."""
    found, round_about = [], []
    for touch, first in lies_on(foam, copy, placed):
        other, face = (touch.b, touch.face_b) if first else (touch.a, touch.face_a)
        own_rings, rings = (touch.on_a, touch.on_b) if first else (touch.on_b, touch.on_a)
        own_face = touch.face_a if first else touch.face_b
        if not own_rings:
            continue
        lower = placed[other]
        if face in FACES and rings:
            ways = _over_face(foam, copy, own_face, own_rings, lower, face, rings, touch.gap)
        elif face not in FACES and (edge := lower.part.edge(face)) is not None:
            ways = _over_edge(foam, copy, own_face, own_rings, lower, edge, touch)
        else:
            ways = ()
        if ways and _closed(lower.part, face):
            round_about.append(ways)
        elif ways:
            found.append(ways)
    return found or round_about  # a closed edge does not tell where the strip about it begins


def _closed(part: Part, face: str) -> bool:
    edge = part.edge(face)
    return edge is not None and edge.loop


def _mirror(foam: Foam, copy: Copy) -> np.ndarray:
    return np.array([-1.0, 1.0]) if foam.mirrored(copy) else np.ones(2)


def _over_face(
    foam: Foam,
    copy: Copy,
    own_face: str,
    own_rings: Sequence[np.ndarray],
    lower: Placed,
    face: str,
    rings: Sequence[np.ndarray],
    gap: float,
) -> tuple[Chart, ...]:
    part = foam.part(copy)
    side = _mirror(foam, copy)
    own_rings = _broad(own_rings)
    own_drawn = (own_face == "inside") == part.drawn_inside
    drawn = (face == "inside") == lower.part.drawn_inside
    flip = np.array([-1.0, 1.0]) if own_drawn == drawn else np.ones(2)  # the faces look at each other
    there = np.array([-1.0, 1.0]) if lower.mirrored else np.ones(2)
    around = _around(part, own_rings)
    own = [ring * side for ring in around]
    onto = [ring * there * flip for ring in _broad(rings)]
    sizes = [sum(shapely.Polygon(r).area for r in some) for some in (own, onto)]
    if min(sizes) < _LEAST * max(sizes):
        return ()
    points = np.vstack([sampled(ring, _SPACING, closed=True) for ring in own])
    depth = lower.part.depth(face == "inside")
    found: list[Chart] = []
    one, other = strip_of(own), strip_of(onto)
    others = (other,) if other is not None else _parted(onto)
    if one is not None and others:  # strips may curve otherwise on either paper
        in_space = [Strip(*(lower.place(line * flip * there, depth) for line in (s.right, s.left))) for s in others]
        order = _in_line(in_space, _MEET * one.wide)
        either = (order, [(k, not back) for k, back in order[::-1]]) if order else ()
        for ways in either:
            strips = [others[k].reversed() if back else others[k] for k, back in ways]
            placed = [in_space[k].reversed() if back else in_space[k] for k, back in ways]
            sides = [_evenly(strips, placed, name, len(one.right)) for name in ("right", "left")]
            flat = np.vstack(sides) * flip * there
            at = lower.place(flat, depth)
            away = lower.up(flat) * (1.0 if drawn else -1.0)
            laid = _back(part, np.vstack([one.right, one.left]) * side)
            found.append(Chart(laid, at + gap * away, away, own_face, 0.0))
        if found:
            return tuple(found)
    stretch = _stretched(own, onto)  # where it turns, foam is longer or shorter on its surface that keeps its lengths
    for turn, shift, off in _laid_on([ring @ stretch.T for ring in own], onto):
        flat = (points @ stretch.T @ turn.T + shift) * flip * there
        at = lower.place(flat, np.full(len(flat), depth))
        away = lower.up(flat) * (1.0 if drawn else -1.0)
        found.append(Chart(_back(part, points * side), at + gap * away, away, own_face, off))
    return tuple(found)


def _around(part: Part, rings: Sequence[np.ndarray]) -> list[np.ndarray]:
    """Outlines on a strip that touch both of its ends, as one: it comes round on itself there."""
    if not {"start", "end"} <= {edge.id for edge in part.edges} or len(rings) < 2:
        return list(rings)
    low, high = float(part.rings[0][:, 0].min()), float(part.rings[0][:, 0].max())
    first, last = (
        [r for r in rings if abs(end(r[:, 0]) - at) < _SPACING] for end, at in ((np.min, low), (np.max, high))
    )
    if not first or not last or first[0] is last[0]:
        return list(rings)
    return [ring - (high - low, 0.0) if ring[:, 0].mean() > (low + high) / 2 else ring for ring in rings]


def _back(part: Part, points: np.ndarray) -> np.ndarray:
    """Points of `_around` where they are on the paper."""
    low, high = float(part.rings[0][:, 0].min()), float(part.rings[0][:, 0].max())
    return np.column_stack([np.where(points[:, 0] < low - 1.0, points[:, 0] + high - low, points[:, 0]), points[:, 1]])


def _stretched(own: Sequence[np.ndarray], onto: Sequence[np.ndarray]) -> np.ndarray:
    """(2, 2) by which outlines are stretched along and across themselves to be as large as others."""
    size = []
    for rings in (own, onto):
        points = np.vstack([sampled(ring, 1.0, closed=True) for ring in rings])
        size.append(np.linalg.svd(points - points.mean(axis=0), full_matrices=False)[1:] + (len(points),))
    (one, axes, count), (other, _, others) = size
    by = np.clip(other / one * np.sqrt(count / others), *_STRETCH)
    if one[0] < _LONG * one[1]:
        by = np.full(2, by.mean())
    found: np.ndarray = axes.T @ np.diag(by) @ axes
    return found


def _laid_on(own: Sequence[np.ndarray], onto: Sequence[np.ndarray]) -> list[tuple[np.ndarray, np.ndarray, float]]:
    """Turns (2, 2) and shifts (2,) that lay outlines on others, and what is left between them in mm."""
    a, b = (np.vstack([sampled(ring, _SPACING, closed=True) for ring in some]) for some in (own, onto))
    middles = [
        np.asarray(shapely.MultiPolygon([shapely.Polygon(r) for r in some]).centroid.coords[0]) for some in (own, onto)
    ]
    forth = cKDTree(b)
    ends = []
    for k in range(_TURNS):
        angle = 2 * np.pi * k / _TURNS
        turn = np.array([[np.cos(angle), -np.sin(angle)], [np.sin(angle), np.cos(angle)]])
        shift = middles[1] - turn @ middles[0]
        for _ in range(_ROUNDS):
            moved = a @ turn.T + shift
            goals = b[forth.query(moved)[1]]
            back = cKDTree(moved).query(b)[1]
            points, to = np.vstack([a, a[back]]), np.vstack([goals, b])
            turn, shift = _best(points, to)
        moved = a @ turn.T + shift
        off = float(forth.query(moved)[0].mean() + cKDTree(moved).query(b)[0].mean()) / 2
        ends.append((turn, shift, off))
    ends.sort(key=lambda end: end[2])
    kept = ends[:1]
    far = _APART * float(np.ptp(a, axis=0).max())
    for end in ends:
        moved = a @ end[0].T + end[1]
        fresh = all(float(np.linalg.norm(moved - (a @ k[0].T + k[1]), axis=1).mean()) > far for k in kept)
        if fresh and end[2] < _ALIKE + _WORSE * ends[0][2] and len(kept) < _KEPT:
            kept.append(end)
    return kept


def _best(points: np.ndarray, onto: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """The turn and shift of least squares in the plane."""
    p, q = points - points.mean(axis=0), onto - onto.mean(axis=0)
    angle = np.arctan2((p[:, 0] * q[:, 1] - p[:, 1] * q[:, 0]).sum(), (p * q).sum())
    turn = np.array([[np.cos(angle), -np.sin(angle)], [np.sin(angle), np.cos(angle)]])
    return turn, onto.mean(axis=0) - turn @ points.mean(axis=0)


def _over_edge(
    foam: Foam, copy: Copy, own_face: str, rings: Sequence[np.ndarray], lower: Placed, edge: Edge, touch: Touch
) -> tuple[Chart, ...]:
    """A strip on the face, as long as the edge that stands on it; it may run along the edge either way."""
    part = foam.part(copy)
    near, far, out = edge_lines(lower, edge)
    side = _mirror(foam, copy)
    strip = strip_of([ring * side for ring in _around(part, _broad(rings))])
    if strip is None or strip.length < _REACH * chord_length((near + far) / 2)[-1]:
        return ()
    count = len(strip.right)
    lines = [sampled_in(line, count) for line in (near, far, out)]
    own_drawn = (own_face == "inside") == part.drawn_inside
    flat = _back(part, np.vstack([strip.right, strip.left]) * side)
    found = []
    for ways in (lines, [line[::-1] for line in lines]):
        one, other, away = ways
        up = -away if own_drawn else away  # of the part's drawn face, towards its reader
        left = np.cross(up, np.gradient((one + other) / 2, axis=0))
        if float(((other - one) * left).sum()) < 0.0:
            one, other = other, one
        at = np.vstack([one, other]) + touch.gap * np.vstack([away] * 2)
        found.append(Chart(flat, at, np.vstack([away] * 2), own_face, 0.0))
    return tuple(found)


def _parted(rings: Sequence[np.ndarray]) -> tuple[Strip, ...]:
    """Areas each of which is a strip, as darts part one that goes over their mouths; none if one of them is no strip."""
    strips = [strip_of([ring], _STUB) for ring in rings]
    return tuple(strip for strip in strips if strip is not None) if all(strip is not None for strip in strips) else ()


def _in_line(strips: Sequence[Strip], most: float) -> list[tuple[int, bool]]:
    """Strips in space in the order in which they follow each other end on end, and whether each is run through backwards; none
    if the ends of two are further apart than `most`."""
    ends = np.array([[(strip.right[k] + strip.left[k]) / 2 for k in (0, -1)] for strip in strips])
    if len(strips) == 1:
        return [(0, False)]
    far = np.linalg.norm(ends[:, :, None, None] - ends[None, None], axis=4)  # (S, 2, S, 2)
    for k in range(len(strips)):
        far[k, :, k] = np.inf
    first, end = divmod(int(far.min(axis=(2, 3)).argmax()), 2)  # the end that is furthest from all others
    order, at = [(first, bool(end))], ends[first, 1 - end]
    rest = [k for k in range(len(strips)) if k != first]
    while rest:
        apart = np.linalg.norm(ends[rest] - at, axis=2)
        k, end = divmod(int(apart.argmin()), 2)
        if apart.min() > most:
            return []
        order.append((rest[k], bool(end)))
        at = ends[rest.pop(k), 1 - end]
    return order


def _evenly(flat: Sequence[Strip], placed: Sequence[Strip], side: str, count: int) -> np.ndarray:
    """So many points (K, 2) of the paper evenly along one side of strips that follow each other in space."""
    line, there = (np.vstack([getattr(strip, side) for strip in strips]) for strips in (flat, placed))
    s = chord_length(there)
    at = np.linspace(0.0, s[-1], count)
    behind = 0
    for strip in flat[:-1]:  # nothing lies between two of them
        behind += len(getattr(strip, side))
        low, high = s[behind - 1], s[behind]
        between = (at > low) & (at < high)
        at[between] = np.where(at[between] - low < high - at[between], low, high)
    return np.column_stack([np.interp(at, s, column) for column in line.T])


@dataclass(frozen=True, eq=False)
class Strip:
    """An area that is long and narrow, by its sides (K, 2) or (K, 3) from end to end: to the right and to the left."""

    right: np.ndarray
    left: np.ndarray

    @property
    def length(self) -> float:
        return float(chord_length((self.right + self.left) / 2)[-1])

    @property
    def wide(self) -> float:
        return float(np.linalg.norm(self.right - self.left, axis=1).mean())

    def reversed(self) -> Strip:
        return Strip(self.left[::-1], self.right[::-1])


def strip_of(rings: Sequence[np.ndarray], narrow: float = _NARROW) -> Strip | None:
    """The area within the rings as a strip, at least so many times as long as wide; None if it is none, or several."""
    area = shapely.union_all([shapely.Polygon(ring).buffer(0.4) for ring in rings]).buffer(-0.4)
    if area.geom_type != "Polygon" or area.is_empty:
        return None
    line = shapely.get_coordinates(area.simplify(0.05).exterior)[:-1]
    if shapely.LinearRing(line).is_ccw is False:
        line = line[::-1]
    wide = 2.0 * area.area / area.exterior.length
    if wide * narrow > area.exterior.length / 2 or area.interiors:
        return None
    far = np.linalg.norm(line[:, None] - line[None], axis=2)
    ends = [_end(line, int(k), wide) for k in np.unravel_index(int(far.argmax()), far.shape)]
    if any(end is None for end in ends):
        return None
    (a, b), (c, d) = (
        end for end in ends if end is not None
    )  # the line enters an end at the first and leaves it at the second
    right, left = _stretch(line, b, c), _stretch(line, d, a)
    count = max(8, int(area.exterior.length / 2 / _SPACING))
    return Strip(sampled_in(right, count), sampled_in(left[::-1], count))


def _end(line: np.ndarray, at: int, wide: float) -> tuple[int, int] | None:
    """The two corners of a closed line, about `wide` from each other, that end a strip near its point `at`."""
    found = corners(line, _CORNER)
    found = found[np.linalg.norm(line[found] - line[at], axis=1) < 1.8 * wide]
    best = None
    for i in found:
        for j in found:
            run = _stretch(line, int(i), int(j))
            length = float(chord_length(run)[-1]) if i != j else np.inf
            off = abs(length - wide)
            if off < 0.8 * wide and (best is None or off < best[0]):
                best = (off, int(i), int(j))
    return None if best is None else best[1:]


def _stretch(line: np.ndarray, i: int, j: int) -> np.ndarray:
    return line[np.arange(i, i + (j - i) % len(line) + 1) % len(line)]


def sampled_in(line: np.ndarray, count: int) -> np.ndarray:
    """So many points (K, n) evenly along a line."""
    s = chord_length(line)
    return np.column_stack([np.interp(np.linspace(0.0, s[-1], count), s, column) for column in line.T])


def _broad(rings: Sequence[np.ndarray]) -> list[np.ndarray]:
    """Without specks."""
    sizes = [shapely.Polygon(ring).area for ring in rings]
    return [ring for ring, size in zip(rings, sizes) if size > _SPECK * max(sizes)]


def edge_lines(piece: Placed, edge: Edge) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """Of an edge in space the line of the drawn face and that of the other one, and unit normals out of the foam (K, 3)."""
    part = piece.part
    line, across = np.vstack(edge.stretches), np.vstack(other_stretches(part, edge))
    apart = np.concatenate([[True], np.linalg.norm(np.diff(line, axis=0), axis=1) > 1e-6])
    line, across = line[apart], across[apart]
    way = np.gradient(line, axis=0)
    out = np.column_stack([way[:, 1], -way[:, 0]])
    out /= np.maximum(np.linalg.norm(out, axis=1, keepdims=True), 1e-9)
    near, far = piece.place(line, np.zeros(len(line))), piece.place(across, np.full(len(line), part.thickness))
    half = np.full(len(line), part.thickness / 2)
    outwards = piece.place((line + across) / 2 + 0.5 * out, half) - piece.place((line + across) / 2 - 0.5 * out, half)
    ahead = np.gradient((near + far) / 2, axis=0)
    normal = np.cross(ahead, far - near)
    normal *= np.sign((normal * outwards).sum(axis=1))[:, None]
    normal /= np.maximum(np.linalg.norm(normal, axis=1, keepdims=True), 1e-9)
    return near, far, normal


def begun(
    found: Sequence[tuple[Chart, ...]],
    part: Part,
    own_arrows: Mapping[str, np.ndarray],
    arrows: Mapping[str, np.ndarray],
    flat: np.ndarray,
) -> tuple[np.ndarray, tuple[Chart, ...]]:
    """Points `flat` (n, 2) of a paper in space, at the depth that keeps its lengths, by the ways that fit together best,
    and these: nothing is further apart in space than on the paper; then by the arrows. There must be a chart."""
    best, start, chosen = np.inf, np.zeros((0, 3)), tuple(ways[0] for ways in found)
    for ways in product(*found):
        charted = np.vstack([way.flat for way in ways])
        lifted = np.vstack([way.at + _lift(part, way.face) * way.away for way in ways])
        step = max(1, len(charted) // _MOST)
        charted, lifted = charted[::step], lifted[::step]
        charted, kept = np.unique(np.round(charted, 3), axis=0, return_index=True)
        lifted = lifted[kept]
        on_paper = cdist(charted, charted)
        in_space = cdist(lifted, lifted)
        over = float(np.maximum(in_space - (1 + _PATHS) * on_paper - 1.0, 0.0).mean())
        carry = RBFInterpolator(charted, lifted, kernel="thin_plate_spline", smoothing=_SMOOTH, degree=1)
        turned = 0.0
        for name, way in arrows.items():
            own = own_arrows.get(name)
            if own is not None:
                middle = charted.mean(axis=0)
                ends = carry(np.array([middle, middle + own]))
                turned += float((ends[1] - ends[0]) @ way)
        score = over + sum(way.off for way in ways) - 0.3 * turned
        if score < best:
            best, start, chosen = score, carry(flat), ways
    return start, chosen


def _lift(part: Part, face: str) -> float:
    """From the face that touches to the surface that keeps its lengths, away from what it lies on."""
    return abs(part.neutral - part.depth(face == "inside"))
