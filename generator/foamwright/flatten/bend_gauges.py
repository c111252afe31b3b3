"""The curve of a bent panel's drawn face through its middle, to cut gauges by that are held against it. Lengths in mm."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from itertools import pairwise

import numpy as np
import shapely
from scipy.spatial import Delaunay

from foamwright.flatten.bend_lines import bend_lines, in_space
from foamwright.flatten.records import Pattern
from foamwright.parts.records import PanelBody

_STEEP = (
    0.42  # cosine of a lean of the face; what leans more, a card that is moved up to it from the hollow side goes past
)
_TRUE = 0.02  # that points of the curve may be left out by
_SHORTEST = 30.0  # that tells a bend
_BARE = 2.0  # of a curve that may lie over openings, for a gauge to be held there all the same
_PLACES = 16  # at most that are tried along a line
_LEAST_RISE = 1.5  # in the middle of a curve; less can be told from straight by nobody who holds a card against foam
_SIDE = 6  # parts that a side of a triangle of a chart, which is rough, is cut into: shares of its corners, and their triangles
_WITHIN = np.array([[i, j, _SIDE - i - j] for i in range(_SIDE + 1) for j in range(_SIDE + 1 - i)]) / _SIDE
_PARTS = Delaunay(_WITHIN[:, :2]).simplices


@dataclass(frozen=True, eq=False)
class BendGauge:
    """The drawn face of a panel as it is bent, along a plane square to it: a curve (k, 2) with x along the face and y from the
    hollow side outwards, 0 where the gauge is held; `way` (3,) is that of x, where the part is modelled, `bare` how much of the
    curve lies over openings, and `moved` (3,) from the middle of the panel to where it is held, beside an opening there."""

    curve: np.ndarray
    way: np.ndarray
    bare: float
    moved: np.ndarray

    @property
    def rise(self) -> float:
        """How far it stands off the straight line between its ends, to either side."""
        chord = self.curve[-1] - self.curve[0]
        off = self.curve - self.curve[0]
        return float(np.abs(off[:, 0] * chord[1] - off[:, 1] * chord[0]).max() / np.linalg.norm(chord))

    @property
    def skew(self) -> float:
        """How far it is off itself when it is turned end for end."""
        x, y = self.curve.T
        both = np.linspace(0.0, min(-x[0], x[-1]), 50)
        return float(np.abs(np.interp(both, x, y) - np.interp(-both, x, y)).max())


@dataclass(frozen=True, eq=False)
class BendGauges:
    """Of one panel: `around` its bend, square to the line along which it stays straight, and `along` that; None where the
    face is as good as straight that way."""

    around: BendGauge | None
    along: BendGauge | None


def bend_gauges(pattern: Pattern, widest: float) -> BendGauges:
    """The gauges of a panel, each of its middle and no wider than `widest`; none for what is no panel or bends alike all ways.

    Where there is an opening, a gauge is of the place nearest to the middle where there is foam all along it: along the bend line
    for the one across, beside it for the other."""
    body = pattern.piece.body
    lines = bend_lines(pattern) if isinstance(body, PanelBody) else []
    if not isinstance(body, PanelBody) or not lines:
        return BendGauges(None, None)
    face = _Face(pattern, body, widest)
    around = face.best(lambda place: np.cross(place.up, place.way), _along(lines[0]))
    along = face.best(lambda place: place.way, [_middle_of(line) for line in lines])
    return BendGauges(around, along)


def _along(line: np.ndarray) -> list[np.ndarray]:
    """Steps (2, 2) of a line (k, 2), the middle one first."""
    middle = len(line) // 2
    some = np.unique(np.linspace(1, max(len(line) - 2, 1), max(min(len(line) - 2, _PLACES), 0)).astype(int))
    return [_middle_of(line), *(line[[i - 1, i + 1]] for i in sorted(some, key=lambda i: (abs(i - middle), i)))]


def _middle_of(line: np.ndarray) -> np.ndarray:
    """The step (2, 2) in the middle of a line."""
    return line[[max(len(line) // 2 - 1, 0), min(len(line) // 2 + 1, len(line) - 1)]]


@dataclass(frozen=True, eq=False)
class _Place:
    """On the drawn face: where, square to it outwards, and along its bend line, each (3,)."""

    at: np.ndarray
    up: np.ndarray
    way: np.ndarray


class _Face:
    """The drawn face of a panel, as it is bent, to be cut by planes."""

    def __init__(self, pattern: Pattern, body: PanelBody, widest: float):
        self.pattern, self.body, self.widest = pattern, body, widest
        self.corners = body.chart.coords[body.chart.faces]
        self.rough = body.surface.point(body.chart.coords)[body.chart.faces]
        self.size = 2.0 * float(np.linalg.norm(np.ptp(self.rough, axis=1), axis=1).max())

    def best(self, x_of: Callable[[_Place], np.ndarray], steps: Sequence[np.ndarray]) -> BendGauge | None:
        """The gauge with its x as `x_of` gives it at the first of some steps (2, 2) on the flat part, the first of which is the
        middle, that has foam all along, else at the one with the most."""
        found: list[_Cut] = []
        middle = None
        for step in steps:
            place = self._place(step)
            if place is None:
                continue
            middle = middle or place
            found.append(self._cut(place, x_of(place), place.at - middle.at))
            if found[-1].bare <= _BARE:
                break
        return min(found, key=lambda cut: cut.bare).gauge if found else None

    def _place(self, step: np.ndarray) -> _Place | None:
        """None beyond the last triangles of a rim."""
        places = in_space(self.pattern, np.array([step[0], step.mean(axis=0), step[1]]))
        if len(places) < 3:
            return None
        start, half, end = places
        nearest = int(np.linalg.norm(self.rough.mean(axis=1) - half, axis=1).argmin())
        sides = self.rough[nearest, 1:] - self.rough[nearest, 0]
        share = np.linalg.lstsq(sides.T, half - self.rough[nearest, 0], rcond=None)[0]
        surface = self.body.surface
        coords = surface.blend(self.corners[[nearest]], np.array([[1.0 - share.sum(), *share]]))
        (at,), (up,) = surface.offset(coords, self.body.inner_offset), surface.normal(coords)
        way = end - start - ((end - start) @ up) * up
        return _Place(at, up, way / np.linalg.norm(way))

    def _cut(self, place: _Place, x: np.ndarray, moved: np.ndarray) -> _Cut:
        off = np.abs((self.rough - place.at) @ np.cross(x, place.up)).min(axis=1)
        near = off < self.size  # triangles near that plane
        surface, count = self.body.surface, int(near.sum())
        fine = surface.blend(np.repeat(self.corners[near], len(_WITHIN), axis=0), np.tile(_WITHIN, (count, 1)))
        points, normals = surface.offset(fine, self.body.inner_offset), surface.normal(fine)
        faces = (np.arange(count)[:, None, None] * len(_WITHIN) + _PARTS).reshape(-1, 3)
        return _gauge(points[faces], normals[faces].mean(axis=1), place.at, x, place.up, self.widest, moved)


@dataclass(frozen=True, eq=False)
class _Cut:
    """What is found at a place: how much of it lies over openings, and the gauge, if there is a bend that it could tell."""

    bare: float
    gauge: BendGauge | None


def _gauge(
    face: np.ndarray,
    outwards: np.ndarray,
    middle: np.ndarray,
    x: np.ndarray,
    y: np.ndarray,
    widest: float,
    moved: np.ndarray,
) -> _Cut:
    """Where triangles (n, 3, 3) with their ways outwards (n, 3) are cut by the plane through `middle` that holds x and y."""
    from trimesh import Trimesh
    from trimesh.intersections import mesh_plane

    mesh = Trimesh(face.reshape(-1, 3), np.arange(3 * len(face)).reshape(-1, 3), process=False)
    ends, triangles = mesh_plane(mesh, np.cross(x, y), middle, return_faces=True)
    seen = outwards[triangles] @ y > _STEEP * np.linalg.norm(outwards[triangles], axis=1)
    cut = (ends[seen] - middle) @ np.column_stack([x, y])  # (m, 2, 2)
    parts = shapely.get_parts(
        shapely.line_merge(shapely.multilinestrings([shapely.set_precision(shapely.linestrings(cut), 1e-6)]))
    )
    parts = sorted(
        (part for part in parts if part.length > 0.0), key=lambda part: part.distance(shapely.Point(0.0, 0.0))
    )
    curve: list[shapely.LineString] = []
    for part in parts:  # beyond a hole the face goes on; what lies over or under it is another stretch of foam
        if all(part.bounds[0] > other.bounds[2] or part.bounds[2] < other.bounds[0] for other in curve):
            curve.append(part)
    if not curve:
        return _Cut(np.inf, None)
    curve.sort(key=lambda part: part.bounds[0])
    half = widest / 2.0
    gaps = [(max(a.bounds[2], -half), min(b.bounds[0], half)) for a, b in pairwise(curve)]
    bare = sum((max(end - start, 0.0) for start, end in gaps), 0.0)
    points = np.vstack([_to_the_right(np.array(part.coords)) for part in curve])
    high = float(np.abs(points[:, 1]).max()) + 1.0
    kept = shapely.clip_by_rect(shapely.LineString(points), -half, -high, half, high)
    points = shapely.get_coordinates(shapely.simplify(kept, _TRUE))
    gauge = BendGauge(points, x, bare, moved) if len(points) > 2 and np.ptp(points[:, 0]) >= _SHORTEST else None
    return _Cut(bare, gauge if gauge is not None and gauge.rise >= _LEAST_RISE else None)


def _to_the_right(points: np.ndarray) -> np.ndarray:
    return points if points[0, 0] < points[-1, 0] else points[::-1]
