"""Cuts along drawn lines: a curve in a view, carried straight through space, and a line on a form itself."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property

import numpy as np
import shapely
from scipy.interpolate import CubicSpline
from scipy.spatial import cKDTree
from shapely.geometry import LineString, Polygon

from foamwright.errors import BuildError
from foamwright.forms.nearest import NearestPoint
from foamwright.parts.leg_levels import LegLevel, legs_of

_PER_SPAN = 24  # straight pieces between two points of a curve in a view
_FAR = 1e5  # mm, how far a curve goes on straight past its ends
_ASIDE = 0.05  # mm beside a line, from where it is seen which way the form faces on both sides
_SHORT = 0.25  # of the way from the end of a line to the next sample
_SPACING = 1.0  # mm, of the samples among which the nearest point of a line is sought
_NEWTON = 4  # steps from the nearest sample to the nearest point; each doubles the digits


@dataclass(frozen=True, eq=False)
class CurveLevel:
    """Distance to a line in a view, positive on its left: `left` is all that lies there."""

    line: LineString
    left: Polygon
    columns: tuple[int, int]

    def __call__(self, points: np.ndarray) -> np.ndarray:
        flat = shapely.points(points[:, self.columns])
        distance = shapely.distance(flat, self.line)
        return np.where(shapely.contains_properly(self.left, flat), distance, -distance)

    @cached_property
    def legs(self) -> tuple[LegLevel, ...]:
        """The smooth stretches of the line between its sharp corners, one after the other; none if it has none."""
        line = np.array(self.line.coords)
        closed = bool(np.allclose(line[0], line[-1]))
        return tuple(LegLevel(leg, self.columns, 1) for leg in legs_of(line[:-1] if closed else line, closed))


def curve_level(points: Sequence, smooth: bool, closed: bool, columns: tuple[int, int]) -> CurveLevel:
    """The level of a curve through flat points (N, 2), drawn in the two columns of space that the view shows.

    Raises BuildError for a curve that crosses itself, its straight continuations included.
    """
    through = np.asarray(points, float)
    curve = _through(through, closed)
    if smooth and curve is not None:
        share = np.arange(_PER_SPAN * (len(curve.x) - 1) + 1) / _PER_SPAN
        line = curve(np.interp(share, np.arange(len(curve.x)), curve.x))
        first, last = curve(curve.x[[0, -1]], 1)
    else:
        line = np.vstack([through, through[:1]]) if closed else through
        first, last = line[1] - line[0], line[-1] - line[-2]
    if closed:
        left = Polygon(line)
        outside = not left.exterior.is_ccw
    else:
        start = line[0] - _FAR * first / np.linalg.norm(first)
        end = line[-1] + _FAR * last / np.linalg.norm(last)
        line = np.vstack([start, line, end])
        left = Polygon(np.vstack([line, _arc(end - line.mean(0), start - line.mean(0)) + line.mean(0)]))
        outside = False
    if not left.is_valid:
        ends = "" if closed else " (past its ends it goes straight on)"
        raise BuildError(f"a curve crosses itself{ends}; move its points")
    if outside:  # clockwise: everything but the inside is on its left
        left = Polygon(_circle(3 * _FAR), [left.exterior.coords])
    shapely.prepare(left)
    return CurveLevel(LineString(line), left, columns)


def _through(points: np.ndarray, closed: bool) -> CubicSpline | None:
    """A smooth curve by chord length; None for two points, between which it is straight."""
    if closed:
        points = np.vstack([points, points[:1]])
    if len(points) < 3:
        return None
    knots = np.concatenate([[0.0], np.cumsum(np.linalg.norm(np.diff(points, axis=0), axis=1))])
    return CubicSpline(knots, points, bc_type="periodic" if closed else "not-a-knot")


def _arc(start: np.ndarray, stop: np.ndarray) -> np.ndarray:
    """Points counter-clockwise about the origin, well outside the line from `start` to `stop`."""
    first, last = np.arctan2(start[1], start[0]), np.arctan2(stop[1], stop[0])
    angle = np.linspace(first, first + (last - first) % (2 * np.pi), 64)
    radius = 1.5 * max(np.linalg.norm(start), np.linalg.norm(stop))
    return radius * np.column_stack([np.cos(angle), np.sin(angle)])


def _circle(radius: float) -> np.ndarray:
    angle = np.linspace(0, 2 * np.pi, 64, endpoint=False)
    return radius * np.column_stack([np.cos(angle), np.sin(angle)])


@dataclass(frozen=True, eq=False)
class LineLevel:
    """Distance to the surface that a form's normals along a line sweep, positive on the line's left seen from
    outside. Past its ends the line goes straight on, and so does the surface."""

    curve: CubicSpline  # (x, y, z) over its length
    normals: CubicSpline
    tree: cKDTree  # of the curve at `at`
    at: np.ndarray

    def __call__(self, points: np.ndarray) -> np.ndarray:
        s = self.at[self.tree.query(points)[1]]
        for _ in range(_NEWTON):
            gap, along = points - self.curve(s), self.curve(s, 1)
            bend = (gap * self.curve(s, 2)).sum(1)
            square = (along * along).sum(1)
            step = (gap * along).sum(1) / np.where(bend < 0.5 * square, square - bend, square)
            step = np.clip(step, -_SPACING, _SPACING)
            s = s + step if self._closed else np.clip(s + step, self.at[0], self.at[-1])
        left = np.cross(self.normals(s), self.curve(s, 1))
        left /= np.linalg.norm(left, axis=1, keepdims=True)
        return ((points - self.curve(s)) * left).sum(1)

    @property
    def _closed(self) -> bool:
        return self.curve.extrapolate == "periodic"


def line_level(through: Sequence, closed: bool, nearest: NearestPoint) -> LineLevel:
    """The level of the smooth line on a form past the places nearest to points (N, 3)."""
    surface = nearest.surface
    points = surface.point(nearest.coords(np.asarray(through, float)))
    curve = _through(points, closed)
    if curve is None:
        rough = np.linspace(points[0], points[1], 65)
    else:
        rough = curve(np.linspace(0, curve.x[-1], 64 * len(points) + 1))
    # laid on the form, then once more at equal distances
    for _ in range(2):
        coords = nearest.coords(rough)
        laid = surface.point(coords)
        s = np.concatenate([[0.0], np.cumsum(np.linalg.norm(np.diff(laid, axis=0), axis=1))])
        count = max(9, int(np.ceil(s[-1] / _SPACING)) + 1)
        rough = np.column_stack([np.interp(np.linspace(0, s[-1], count), s, column) for column in laid.T])
    normals = surface.normal(coords)
    if surface.sheet_count > 1:
        normals = _between_sheets(nearest, laid, normals)
    ends = "periodic" if closed else "natural"
    if closed:
        laid[-1], normals[-1] = laid[0], normals[0]
    return LineLevel(CubicSpline(s, laid, bc_type=ends), CubicSpline(s, normals, bc_type=ends), cKDTree(laid), s)


def _between_sheets(nearest: NearestPoint, laid: np.ndarray, normals: np.ndarray) -> np.ndarray:
    """The normals (N, 3) along a line at `laid` (N, 3) that may run along a crease: there in the middle between those of
    both sides, and not now of one and now of the other."""
    along, laid = np.gradient(laid, axis=0), laid.copy()
    for end, beside in ((0, 1), (-1, -2)):  # short of a corner of the form, which faces another way
        laid[end] += _SHORT * (laid[beside] - laid[end])
    for _ in range(2):  # first beside the side that was met, then beside the middle
        aside = np.cross(normals, along)
        aside *= _ASIDE / np.maximum(np.linalg.norm(aside, axis=1, keepdims=True), 1e-300)
        both = [nearest.surface.normal(nearest.coords(laid + sign * aside)) for sign in (1, -1)]
        normals = both[0] + both[1]
        normals /= np.maximum(np.linalg.norm(normals, axis=1, keepdims=True), 1e-300)
    return normals
