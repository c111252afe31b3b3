"""Rows: copies along a curve, with gaps between them that a straight spacer sets. Lengths in mm.

A gap is what a straight spacer between two neighbours measures: between straight sides the distance where they stand on the
curve, between round or pointed ones the least that there is. The curve is plane or nearly so; "outwards" is square to it in
its plane.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

import numpy as np
import shapely
from scipy.optimize import brentq
from shapely.geometry import Polygon
from shapely.geometry.polygon import orient

from foamwright.design.budget import MOST_COPIES
from foamwright.errors import BuildError
from foamwright.parts.curves import arc_steps
from foamwright.parts.records import Frame

_EXACT = 1e-7  # mm
_LEVEL = 1e-4  # mm by which points of one side may differ along the curve
_SIDE = 0.25  # of a copy's width: a shorter side is where a round one was drawn by straight lines


@dataclass(frozen=True, eq=False)
class Course:
    """What a row follows: a polyline in a `frame`'s plane, with the height of each point over it.

    `points` (N, 2) and `heights` (N,), first point repeated at the end if `closed`.
    """

    frame: Frame
    points: np.ndarray
    heights: np.ndarray
    closed: bool

    @property
    def distances(self) -> np.ndarray:
        return np.concatenate([[0.0], np.cumsum(np.hypot(*np.diff(self.points, axis=0).T))])

    @property
    def length(self) -> float:
        return float(self.distances[-1])


@dataclass(frozen=True, eq=False)
class Row:
    """Where each copy stands: (4, 4) matrices from the row's own axes to space, and the even gap."""

    matrices: tuple[np.ndarray, ...]
    gap: float


@dataclass(frozen=True, eq=False)
class Foot:
    """What a copy covers of the course's plane: convex `outline` (N, 2), x outwards and y along the curve, open."""

    outline: np.ndarray

    @property
    def low(self) -> float:
        return float(self.outline[:, 1].min())

    @property
    def high(self) -> float:
        return float(self.outline[:, 1].max())

    @property
    def straight(self) -> bool:
        """Whether both ends along the curve are sides that a spacer lies against."""
        return all(np.ptp(self._at(end)) >= _SIDE * np.ptp(self.outline[:, 0]) for end in (self.low, self.high))

    def _at(self, end: float) -> np.ndarray:
        return self.outline[np.abs(self.outline[:, 1] - end) < _LEVEL, 0]


def foot(points: np.ndarray) -> Foot:
    """Of points (N, 2) in the row's axes, that of what they span."""
    hull = shapely.MultiPoint(points).convex_hull
    return Foot(shapely.get_coordinates(hull.exterior if hull.geom_type == "Polygon" else hull)[:-1])


def course(curve: np.ndarray, frame: Frame, offset: float, span: tuple[float, float]) -> Course:
    """The curve (N, 3), moved outwards by `offset`, from the side of the frame's y axis counter-clockwise.

    `span` says which shares of its length to follow; it is closed if that is all of it.
    """
    local = frame.to_frame(curve)
    ring = Polygon(local[:, :2])
    moved = ring.buffer(offset, quad_segs=arc_steps(abs(offset), math.pi / 2)) if offset else ring
    if moved.geom_type != "Polygon":
        raise BuildError(f"nothing is left of the curve {-offset:g} mm inside of it")
    outline = shapely.get_coordinates(orient(moved).exterior)
    line = shapely.LineString(outline)
    first = _begin(moved, line)
    total = line.length
    start, end = (first + share * total for share in span)
    closed = bool(abs(span[1] - span[0] - 1.0) < 1e-9)
    corners = np.concatenate([turn * total + _distances(outline)[:-1] for turn in (-1, 0, 1, 2)])
    corners = corners[(corners > start + 1e-6) & (corners < end - 1e-6)]
    at = np.concatenate([[start], corners, [end]])
    points = shapely.get_coordinates(shapely.line_interpolate_point(line, at % total))
    heights = _heights(local, points)
    return Course(frame, points, heights, closed)


def _heights(curve: np.ndarray, points: np.ndarray) -> np.ndarray:
    """Height (N,) of the closed curve (M, 3) where it is nearest to points (N, 2) of its plane."""
    line = shapely.LineString(curve[:, :2])
    return np.interp(shapely.line_locate_point(line, shapely.points(points)), _distances(curve[:, :2]), curve[:, 2])


def _distances(points: np.ndarray) -> np.ndarray:
    return np.concatenate([[0.0], np.cumsum(np.hypot(*np.diff(points, axis=0).T))])


def _begin(ring: Polygon, line: shapely.LineString) -> float:
    """How far along the ring it is furthest out in the direction of y from its middle."""
    x, y = ring.centroid.x, ring.centroid.y
    ray = shapely.LineString([(x, y), (x, y + 2 * (ring.length + 1.0))])
    met = shapely.get_coordinates(ray.intersection(line))
    if not len(met):
        raise BuildError("the curve has no point straight up from its middle; give its outline another `up`")
    return line.project(shapely.Point(met[np.argmax(met[:, 1])]))


def row(along: Mapping[str, Any], curve: Course, foot: Foot) -> Row:
    """The row that `along` of the design asks for, of copies that stand on a `foot` each.

    A closed row takes the number of copies that comes nearest to a stated gap or pitch, and gaps that close it.
    An open one begins with the curve; with a stated count alone it ends with it too. Raises BuildError for
    copies that do not fit.
    """
    width = foot.high - foot.low
    walk = _Walk(curve, foot)
    taper = along.get("taper")
    count, gap, pitch = along.get("count"), along.get("gap"), along.get("pitch")
    if pitch is not None and pitch <= width:
        raise BuildError(f"a pitch of {pitch:g} mm for copies that are {width:.2f} mm long")
    if curve.closed:
        step = pitch or width + (gap or 0.0)
        return walk.stretched(_within_budget(count or max(1, round(curve.length / step))), taper)
    if pitch is not None:
        most = int((curve.length - width) / pitch + 1e-9) + 1 if curve.length >= width else 0
        return walk.pitched(pitch, _fitting(count, most, curve, width))
    if gap is not None:
        most = walk.most(gap, count)
        return walk.laid(gap, _fitting(count, most, curve, width), taper)
    return walk.stretched(count or 1, taper)


def _fitting(count: int | None, most: int, curve: Course, width: float) -> int:
    if most < 1 or (count or 0) > most:
        wanted = f"{count} copies" if count else "one copy"
        raise BuildError(f"{wanted} of {width:.2f} mm on a curve of {curve.length:.2f} mm; {most} fit")
    return _within_budget(count or most)


def _within_budget(count: int) -> int:
    if count > MOST_COPIES:
        raise BuildError(f"{count} copies in one row; expected at most {MOST_COPIES}")
    return count


class _Walk:
    """Lays copies one after another along a curve."""

    def __init__(self, curve: Course, foot: Foot):
        self.curve, self.foot, self.low, self.high = curve, foot, foot.low, foot.high
        self.width = self.high - self.low
        self._space = self._between_sides if foot.straight else self._between_outlines
        self._at, self._points = curve.distances, curve.points

    def laid(self, gap: float, count: int, taper) -> Row:
        return self.at(self._stations(gap, count, taper)[:count], gap)

    def pitched(self, pitch: float, count: int) -> Row:
        """Evenly along an open curve; the gap is that between the first two, on a bend not what the pitch leaves along it."""
        stations = [i * pitch - self.low for i in range(count)]
        return self.at(stations, self._space(stations[0], stations[1]) if count > 1 else pitch - self.width)

    def stretched(self, count: int, taper) -> Row:
        """`count` copies over the whole curve, with the even gap that takes."""
        if self._left(0.0, count, taper) < 0:
            raise BuildError(
                f"{count} copies of {self.width:.2f} mm do not fit on a curve of {self.curve.length:.2f} mm"
            )
        if count == 1:
            return self.laid(0.0, 1, taper)
        gap = brentq(lambda g: self._left(g, count, taper), 0.0, self.curve.length, xtol=_EXACT)
        return self.laid(gap, count, taper)

    def _left(self, gap: float, count: int, taper) -> float:
        """How much of the curve is left beyond the last copy, or the first again."""
        stations = self._stations(gap, count, taper)
        if self.curve.closed:
            return stations[0] + self.curve.length - stations[-1]
        return self.curve.length - self.high - stations[-1]

    def most(self, gap: float, count: int | None) -> int:
        """How many copies fit on an open curve with the gap; no further than `count`."""
        if self.curve.length < self.width:
            return 0
        stations = [-self.low]
        while len(stations) != count:
            on = self._next(stations[-1], gap)
            if on > self.curve.length - self.high + 1e-6:
                break
            stations.append(on)
            _within_budget(len(stations))
        return len(stations)

    def _stations(self, gap: float, count: int, taper) -> list[float]:
        """Distance along the curve of each copy; of a closed row one more: where the first would come again."""
        number = count if self.curve.closed else count - 1
        stations = [0.0 if self.curve.closed else -self.low]
        for i in range(number):
            stations.append(self._next(stations[-1], _tapered(gap, i, number, taper)))
        return stations

    def _next(self, station: float, gap: float) -> float:
        """The station whose near side is `gap` from the far side of the copy at `station`."""
        if gap <= 0.0:
            return station + self.width
        beyond = station + 2 * (self.width + gap) + 1.0
        if self.curve.closed:  # halfway round the other side is furthest away
            beyond = min(beyond, station + self.width + self.curve.length / 2)
        if self._space(station, beyond) < gap:
            return beyond
        return brentq(lambda on: self._space(station, on) - gap, station, beyond, xtol=_EXACT)

    def _between_sides(self, station: float, on: float) -> float:
        """From the far side of the copy at `station` to the near side of the one `on`; below 0 where they overlap."""
        space = self._side(on, self.low) - self._side(station, self.high)
        return float(np.copysign(np.hypot(*space), space @ self._forward(station)))

    def _between_outlines(self, station: float, on: float) -> float:
        return float(shapely.distance(self._covered(station), self._covered(on)))

    def _covered(self, station: float) -> Polygon:
        (x, y), along = self._forward(station), self.foot.outline
        return Polygon(self._place(station) + np.outer(along[:, 0], (y, -x)) + np.outer(along[:, 1], (x, y)))

    def _side(self, station: float, reach: float) -> np.ndarray:
        return self._place(station) + reach * self._forward(station)

    def _place(self, station: float) -> np.ndarray:
        length = self.curve.length
        if self.curve.closed:
            return self._interpolated(station % length)
        beyond = station - min(max(station, 0.0), length)
        end = self._points[-1] - self._points[-2] if beyond > 0 else self._points[1] - self._points[0]
        return self._interpolated(station - beyond) + beyond * end / np.hypot(*end)

    def _interpolated(self, station: float) -> np.ndarray:
        return np.array([np.interp(station, self._at, column) for column in self._points.T])

    def _forward(self, station: float) -> np.ndarray:
        """Unit direction of a copy: that of the chord under it."""
        half = max(self.width / 2, 0.5)
        chord = self._place(station + half) - self._place(station - half)
        return chord / np.hypot(*chord)

    def at(self, stations, gap: float) -> Row:
        matrices = []
        for station in stations:
            place, (x, y) = self._place(station), self._forward(station)
            within = station % self.curve.length if self.curve.closed else station
            height = float(np.interp(within, self._at, self.curve.heights))
            axes = np.array(
                [[y, x, 0.0], [-x, y, 0.0], [0.0, 0.0, 1.0]]
            )  # outwards, along the curve, up from its plane
            matrix = np.eye(4)
            matrix[:3, :3] = self.curve.frame.axes @ axes
            matrix[:3, 3] = self.curve.frame.to_space(np.array([[*place, height]]))[0]
            matrices.append(matrix)
        return Row(tuple(matrices), float(gap))


def _tapered(gap: float, index: int, number: int, taper) -> float:
    """Gap number `index` of `number`: even, and running to `taper.to` over the last `taper.over` of them."""
    if not taper:
        return gap
    over = min(taper["over"], number)
    step = index - (number - over) + 1
    return gap if step <= 0 else gap + (taper["to"] - gap) * step / over
