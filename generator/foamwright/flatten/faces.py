"""The cut lines of a panel's two faces in its flat pattern.

What is laid flat is the neutral surface. The line of a face is the flat image of the foot of its edge on the neutral
surface: in from the neutral line, or out from it, by what the edge's bevel makes over the foam between the two.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import shapely
from scipy.interpolate import CubicSpline
from shapely.ops import substring

from foamwright.geometry import arc_length, chord_length, tangents
from foamwright.parts.records import PanelEdge

SPACING = 1.0  # mm between points of a cut line
_APART = 0.25  # of the spacing of an edge's points: nearer to a vertex they are left out
_SAME = 1e-9  # mm: lines whose ends are nearer than this meet
_TIP = 1e-6  # mm: lines that meet so near to their ends meet there
_SLIT = 0.05  # mm between lines that a knife cuts as one
_CORNER = 0.94  # cosine of the turn from which a closed edge has a corner where it begins, and is not smooth there


@dataclass(frozen=True, eq=False)
class Stretch:
    """A line (K, 2) of a pattern, and at each of its points how far along the edge it is (K,), darts closed, in mm of
    the length that is compared along a seam."""

    points: np.ndarray
    reached: np.ndarray


def smooth(points: np.ndarray) -> np.ndarray:
    """A smooth curve through pattern points, at `SPACING`; both ends kept."""
    if len(points) < 3:
        return points
    s = arc_length(points)
    count = max(len(points), int(np.ceil(s[-1] / SPACING)) + 1)
    return _curve(s, points)(np.linspace(0, s[-1], count))


def _curve(s: np.ndarray, points: np.ndarray) -> CubicSpline:
    """Through points (N, k) at places `s` (N,) along; as smooth where a closed line begins as anywhere else on it."""
    closed = len(points) > 3 and bool(np.allclose(points[0], points[-1], atol=_SAME))
    first, last = points[1] - points[0], points[-1] - points[-2]
    even = closed and float(first @ last) > _CORNER * float(np.linalg.norm(first) * np.linalg.norm(last))
    if even:
        return CubicSpline(s, np.vstack([points[:-1], points[:1]]), bc_type="periodic")
    return CubicSpline(s, points)


def neutral_line(flat: np.ndarray, chain: np.ndarray, shares: np.ndarray, edge: PanelEdge, tight: bool) -> np.ndarray:
    """The neutral line (K, 2) along a stretch of an edge, in the pattern's direction, against the edge's own.

    `flat` (n, 2) is the pattern seen from the inside face, `chain` the stretch's vertices and `shares` where they
    stand along the edge, both in the edge's own direction. A `tight` edge is carried over point by point.
    """
    return _carried_over(flat, chain, shares, edge)[1][::-1] if tight else smooth(flat[chain[::-1]])


def face_line(
    flat: np.ndarray, chain: np.ndarray, shares: np.ndarray, edge: PanelEdge, tight: bool, inner: bool
) -> tuple[np.ndarray, np.ndarray]:
    """As `neutral_line`, the line (K, 2) of one of the two faces, and the share (K,) of the edge at each of its points.

    What leads from the edge to the face's is carried over from a line in space to one of the pattern that runs through the
    same vertices: along the edge's own points, which lie on the short sides of a drawn circle, it turns by fits and starts.
    """
    along = np.linspace(0.0, 1.0, len(edge.points))
    if tight:
        at, place, tangent, runs = _carried_over(flat, chain, shares, edge)
    else:
        at, ends = _points_between(along, shares), _on_edge(edge.points, shares)
        if len(chain) > 2:
            curve = _curve(shares, flat[chain])
            place, tangent, runs = curve(at), curve(at, 1), _curve(shares, ends)(at, 1)
        else:
            step = flat[chain[1]] - flat[chain[0]]
            place = flat[chain[0]] + np.outer((at - shares[0]) / (shares[1] - shares[0]), step)
            tangent, runs = (np.tile(way, (len(at), 1)) for way in (step, ends[1] - ends[0]))
    ahead, outward = (edge.inner_shift if inner else edge.outer_shift).T[:, :, None]
    way = _on_edge(ahead * tangents(edge.points) + outward * np.cross(tangents(edge.points), edge.normals), at)
    tangent, runs = (line / np.linalg.norm(line, axis=1, keepdims=True) for line in (tangent, runs))
    beside = np.cross(runs, _on_edge(edge.normals, at))
    # the pattern is a mirror image, so that what lies outward is on the left of the edge's own direction
    left = np.column_stack([-tangent[:, 1], tangent[:, 0]])
    ahead, outward = ((way * axis).sum(axis=1, keepdims=True) for axis in (runs, beside))
    return (place + ahead * tangent + outward * left)[::-1], at[::-1]


def _on_edge(values: np.ndarray, at: np.ndarray) -> np.ndarray:
    """(K, k) between values (N, k) that are given at equal shares of an edge."""
    along = np.linspace(0.0, 1.0, len(values))
    return np.column_stack([np.interp(at, along, column) for column in values.T])


def _points_between(along: np.ndarray, shares: np.ndarray) -> np.ndarray:
    """Both ends of a stretch and the edge's own points between: one hard by an end, as where a dart starts from it but for
    rounding, would say nothing but which way the noise between the two runs."""
    apart = _APART * along[1]
    return np.concatenate([shares[:1], along[(along > shares[0] + apart) & (along < shares[-1] - apart)], shares[-1:]])


def _carried_over(
    flat: np.ndarray, chain: np.ndarray, shares: np.ndarray, edge: PanelEdge
) -> tuple[np.ndarray, np.ndarray, np.ndarray, np.ndarray]:
    """Shares (K,), places (K, 2) of all points of a stretch, and which way the edge runs there on the pattern (K, 2) and in space
    (K, 3): each lies beside the flat chord between two vertices as it lies beside their chord in the surface."""
    along = np.linspace(0.0, 1.0, len(edge.points))
    between = _points_between(along, shares)
    # a point hard by a vertex would say nothing but which way the noise between the two runs
    apart = np.abs(between[:, None] - shares).min(axis=1) > _APART * along[1]
    at = np.unique(np.concatenate([between[apart], shares]))
    space, runs, ends = _on_edge(edge.points, at), _on_edge(tangents(edge.points), at), _on_edge(edge.points, shares)
    k = np.clip(np.searchsorted(shares, at, side="right") - 1, 0, len(shares) - 2)
    chord, step = ends[k + 1] - ends[k], flat[chain[k + 1]] - flat[chain[k]]
    right = np.column_stack([step[:, 1], -step[:, 0]])  # which is the right in the mirror image
    outward = np.cross(chord, _on_edge(edge.normals, at))

    def carried(way: np.ndarray) -> np.ndarray:
        ahead, aside = ((way * axis).sum(axis=1) / (chord * chord).sum(axis=1) for axis in (chord, -outward))
        return ahead[:, None] * step + aside[:, None] * right  # to the left of the chord, seen from outside

    return at, flat[chain[k]] + carried(space - ends[k]), carried(runs), runs


def joined(ring: list[Stretch]) -> list[Stretch]:
    """The lines of a closed loop, each carried on straight or cut off where it meets the next, and without a stretch before that
    along which no knife could follow both."""
    made = list(ring)
    if len(made) == 1 and len(made[0].points) > 3:
        return [_closed(made[0])]
    for i in range(len(made)):
        j = (i + 1) % len(made)
        if i != j:
            made[i], made[j] = _meeting(made[i], made[j])
    return made


def _closed(line: Stretch) -> Stretch:
    """A line that is a loop by itself, whose ends meet where it has a corner."""
    half = len(line.points) // 2
    first = Stretch(line.points[: half + 1], line.reached[: half + 1])
    last, first = _meeting(Stretch(line.points[half:], line.reached[half:]), first)
    return Stretch(np.vstack([first.points[:-1], last.points]), np.append(first.reached[:-1], last.reached))


def _meeting(a: Stretch, b: Stretch) -> tuple[Stretch, Stretch]:
    gap = float(np.linalg.norm(a.points[-1] - b.points[0]))
    if gap < _SAME:
        return _parted(a, b)
    reach = 2 * gap + 1.0
    first, second = _carried_on(a, reach), _turned(_carried_on(_turned(b), reach))
    one, other = shapely.LineString(first.points), shapely.LineString(second.points)
    met = shapely.get_parts(shapely.get_parts(one.intersection(other)))
    met = [p for p in met if p.geom_type == "Point"]
    middle = shapely.Point((a.points[-1] + b.points[0]) / 2)
    met = [p for p in met if p.distance(middle) < reach + gap]
    if not met:
        # they run past each other: the short way across, which belongs to neither
        return a, b
    corner = min(met, key=middle.distance)
    at = np.array(corner.coords[0])
    return _cut_off(first, one.project(corner), at), _turned(
        _cut_off(_turned(second), other.length - other.project(corner), at)
    )


def _parted(a: Stretch, b: Stretch) -> tuple[Stretch, Stretch]:
    """Two lines that meet, as the legs of a dart in its tip, without a stretch before that in which they run into each other by
    less than a knife can follow: nothing is cut away there, and the lines would cross."""
    one, other = shapely.LineString(a.points), shapely.LineString(b.points[::-1])
    met = [(one.project(shapely.Point(at)), at) for at in shapely.get_coordinates(one.intersection(other))]
    for along, corner in sorted(met, key=lambda pair: pair[0]):
        beside = other.project(shapely.Point(corner))
        beyond = substring(one, along, one.length), substring(other, beside, other.length)
        if along < one.length - _TIP and shapely.hausdorff_distance(*beyond) < _SLIT:
            return _cut_off(a, along, corner), _turned(_cut_off(_turned(b), beside, corner))
    return a, b


def _carried_on(line: Stretch, reach: float) -> Stretch:
    """What is reached goes on as it did: at the mouth of a dart in a bevelled edge one line begins before the leg, and the other
    ends short of it by as much."""
    tangent = line.points[-1] - line.points[-2]
    long = float(np.linalg.norm(tangent))
    end = line.points[-1] + reach * tangent / long
    further = reach * (line.reached[-1] - line.reached[-2]) / long
    return Stretch(np.vstack([line.points, end]), np.append(line.reached, line.reached[-1] + further))


def _turned(line: Stretch) -> Stretch:
    return Stretch(line.points[::-1], line.reached[::-1])


def _cut_off(line: Stretch, distance: float, end: np.ndarray) -> Stretch:
    """The line up to a distance along it, where `end` is."""
    s = chord_length(line.points)
    kept = s < distance - 1e-7
    reached = float(np.interp(distance, s, line.reached))
    return Stretch(np.vstack([line.points[kept], end]), np.append(line.reached[kept], reached))
