"""The curve of a bent panel's drawn face through its middle, to cut gauges by that are held against it. Lengths in mm."""

from __future__ import annotations

from dataclasses import dataclass

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
_LEAST_RISE = 1.5  # in the middle of a curve; less can be told from straight by nobody who holds a card against foam
_SIDE = 6  # parts that a side of a triangle of a chart, which is rough, is cut into: shares of its corners, and their triangles
_WITHIN = np.array([[i, j, _SIDE - i - j] for i in range(_SIDE + 1) for j in range(_SIDE + 1 - i)]) / _SIDE
_PARTS = Delaunay(_WITHIN[:, :2]).simplices


@dataclass(frozen=True, eq=False)
class BendGauge:
    """The drawn face of a panel as it is bent, along a plane square to it: a curve (k, 2) with x along the face and y from the
    hollow side outwards, 0 where the middle of the panel is; `way` (3,) is that of x, where the part is modelled."""

    curve: np.ndarray
    way: np.ndarray

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
    """The gauges of a panel, each of its middle and no wider than `widest`; none for what is no panel or bends alike all ways."""
    body = pattern.piece.body
    lines = bend_lines(pattern) if isinstance(body, PanelBody) else []
    if not isinstance(body, PanelBody) or not lines:
        return BendGauges(None, None)
    line = in_space(pattern, lines[0])
    surface, corners = body.surface, body.chart.coords[body.chart.faces]
    half = line[len(line) // 2]
    rough = surface.point(body.chart.coords)[body.chart.faces]
    nearest = int(np.linalg.norm(rough.mean(axis=1) - half, axis=1).argmin())
    sides = rough[nearest, 1:] - rough[nearest, 0]
    share = np.linalg.lstsq(sides.T, half - rough[nearest, 0], rcond=None)[0]
    place = surface.blend(corners[[nearest]], np.array([[1.0 - share.sum(), *share]]))
    (middle,), (up,) = surface.offset(place, body.inner_offset), surface.normal(place)
    way = line[min(len(line) // 2 + 1, len(line) - 1)] - line[max(len(line) // 2 - 1, 0)]
    way = way - (way @ up) * up
    way /= np.linalg.norm(way)
    size = 2.0 * float(np.linalg.norm(np.ptp(rough, axis=1), axis=1).max())

    def gauge(x: np.ndarray) -> BendGauge | None:
        across = np.abs((rough - middle) @ np.cross(x, up)).min(axis=1) < size  # triangles near that plane
        fine = surface.blend(np.repeat(corners[across], len(_WITHIN), axis=0), np.tile(_WITHIN, (int(across.sum()), 1)))
        points, normals = surface.offset(fine, body.inner_offset), surface.normal(fine)
        faces = (np.arange(int(across.sum()))[:, None, None] * len(_WITHIN) + _PARTS).reshape(-1, 3)
        return _gauge(points[faces], normals[faces].mean(axis=1), middle, x, up, widest)

    return BendGauges(gauge(np.cross(up, way)), gauge(way))


def _gauge(
    face: np.ndarray, outwards: np.ndarray, middle: np.ndarray, x: np.ndarray, y: np.ndarray, widest: float
) -> BendGauge | None:
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
        return None
    points = np.vstack(
        [_to_the_right(np.array(part.coords)) for part in sorted(curve, key=lambda part: part.bounds[0])]
    )
    high = float(np.abs(points[:, 1]).max()) + 1.0
    kept = shapely.clip_by_rect(shapely.LineString(points), -widest / 2.0, -high, widest / 2.0, high)
    points = shapely.get_coordinates(shapely.simplify(kept, _TRUE))
    gauge = BendGauge(points, x) if len(points) > 2 and np.ptp(points[:, 0]) >= _SHORTEST else None
    return gauge if gauge is not None and gauge.rise >= _LEAST_RISE else None


def _to_the_right(points: np.ndarray) -> np.ndarray:
    return points if points[0, 0] < points[-1, 0] else points[::-1]
