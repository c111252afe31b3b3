"""Surfaces given by formulas: what they have in common, revolution and superellipsoid."""

from __future__ import annotations

from collections.abc import Callable
from copy import copy

import numpy as np
from scipy.interpolate import CubicSpline, PPoly
from scipy.spatial import cKDTree

from foamwright.forms.axes import turning_frame
from foamwright.forms.one_sheet import OneSheet
from foamwright.forms.periodic import PeriodicCoordinates
from foamwright.forms.surface import BEND, NARROW, SAMPLES, Crease, Surface
from foamwright.geometry import Mesh

# Normals at a pole are taken this far beside it, where the partial derivatives still span the surface.
_BESIDE_POLE = 1e-6
# A profile that meets the axis with a greater slope than this, along over across, makes a tip.
_SHARP = 1e-6
# Straight lines of a profile that turn by more than this, in radians, meet in a crease.
_CREASE = 1e-3
_SWELLS, _LEAST = 0.03, 0.5  # of its radius, and mm: what a maker did not draw and would see; our own
_BETWEEN = 51  # places between two sections
SEARCHED = 24000  # triangles whose corners the place nearest to a point is looked for among at first
TIP = 1.0  # mm, the radius at which a tip ends, so that every place in it has a normal
_AROUND = 360  # points that stand for a crease
_SHORT_OF_TIP = 0.02  # of the way to the axis: how near to it a sheet is carried on past a crease


def once_around(v: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """Cosine and sine once around; v runs clockwise seen along the axis, so that dS/du x dS/dv points out."""
    angle = -2 * np.pi * v
    return np.cos(angle), np.sin(angle)


class Parametric(OneSheet, PeriodicCoordinates):
    """Offset and normals from the subclass's `point` and `partials`."""

    tips: tuple[bool, bool] = (False, False)  # does the form begin, end in the tip of a cone, or in a line?

    def partials(self, coords: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
        raise NotImplementedError

    def normal(self, coords: np.ndarray) -> np.ndarray:
        coords = np.array(coords, float)
        low, high = (_BESIDE_POLE if any(end) else 0.0 for end in zip(self.poles, self.tips))
        high = 1 - high
        coords[:, 0] = np.clip(coords[:, 0], low, high)
        (a, b, c), (d, e, f) = (side.T for side in self.partials(coords))
        normal = np.column_stack([b * f - c * e, c * d - a * f, a * e - b * d])  # np.cross, with less around it
        return normal / np.sqrt((normal * normal).sum(axis=1, keepdims=True))

    def offset(self, coords: np.ndarray, distance: float | np.ndarray) -> np.ndarray:
        return self.point(coords) + np.reshape(distance, (-1, 1)) * self.normal(coords)

    def coarse_search(self) -> tuple[np.ndarray, Callable[[np.ndarray], np.ndarray]]:
        coords = self.triangulation(SEARCHED).coords
        points = self.point(coords)
        tree = cKDTree(points)
        return points, lambda asked: coords[tree.query(asked)[1]]


class Profile:
    """Smooth or straight curves through rows of values, by one parameter 0 to 1 spaced by chord length.

    Where a row starts or ends on the axis (all `radii` 0) the curve meets the axis at a right angle: the
    station's first and the radii's second derivative are 0 there, which is what symmetry about the axis asks.
    """

    def __init__(self, stations: np.ndarray, radii: np.ndarray, others: np.ndarray, smooth: bool):
        size = np.max(np.abs(radii))
        on_axis = [bool(np.all(np.abs(radii[i]) <= 1e-9 * size)) for i in (0, -1)]
        self.poles = on_axis[0], on_axis[1]
        chord = np.linalg.norm(np.diff(np.column_stack([stations, radii]), axis=0), axis=1)
        self.knots = np.concatenate([[0.0], np.cumsum(chord)]) / chord.sum()
        table = np.column_stack([stations, radii, others]) if others.size else np.column_stack([stations, radii])
        if not smooth or len(stations) == 2:
            slopes = np.diff(table, axis=0) / np.diff(self.knots)[:, None]
            self._curve = PPoly(np.stack([slopes, table[:-1]]), self.knots)
        else:
            columns = [
                CubicSpline(self.knots, column, bc_type=self._ends(on_axis=0 < i <= radii.shape[1]))
                for i, column in enumerate(table.T)
            ]
            self._curve = PPoly(np.stack([c.c for c in columns], axis=-1), self.knots)
        self._slope = self._curve.derivative()

    def _ends(self, on_axis: bool) -> tuple:
        """End conditions of one column; scipy mixes conditions only by derivative, so an open end is natural
        where the other end is a pole."""
        if not any(self.poles):
            return ("not-a-knot", "not-a-knot") if len(self.knots) > 3 else ((2, 0.0), (2, 0.0))
        return tuple((2, 0.0) if on_axis or not pole else (1, 0.0) for pole in self.poles)

    def values(self, u: np.ndarray) -> np.ndarray:
        return self._curve(u).T

    def derivatives(self, u: np.ndarray) -> np.ndarray:
        return self._slope(u).T

    def swells(self, row: int) -> list[tuple[float, float, float]]:
        """Where the smooth curve of a row of radii leaves the two values that it runs between, by more than `_SWELLS` of the
        larger: the stations of both and by how many mm, outwards or (negative) inwards."""
        stations, values = self._curve(self.knots)[:, [0, row]].T
        found = []
        for k in range(len(self.knots) - 1):
            between = self._curve(np.linspace(self.knots[k], self.knots[k + 1], _BETWEEN))[:, row]
            low, high = sorted(values[k : k + 2])
            out, dip = between.max() - high, low - between.min()
            by = out if out >= dip else -dip
            if abs(by) > max(_SWELLS * high, _LEAST):
                found.append((float(stations[k]), float(stations[k + 1]), float(by)))
        return found

    def carried_on(self, start: float, end: float, radii: tuple[int, ...]) -> Profile:
        """The curves going straight on at both ends, by so many mm along stations and the first row of the radii, or short of
        where one of the rows `radii` meets the axis; the parameter is 0 to 1 again."""
        rows = list(radii)
        steps = []
        for at, reach, way in ((0.0, start, -1.0), (1.0, end, 1.0)):
            value, slope = self.values(np.array([at]))[:, 0], way * self.derivatives(np.array([at]))[:, 0]
            shrinks = slope[rows] < 0
            to_axis = -value[rows][shrinks] / slope[rows][shrinks]
            longest = max(
                (1 - _SHORT_OF_TIP) * to_axis.min(initial=np.inf), 0.0
            )  # less by rounding, on the axis itself
            steps.append(min(reach / np.hypot(*slope[:2]), longest))
        straight = np.zeros((len(self._curve.c), 2, self._curve.c.shape[2]))
        straight[-2] = self.derivatives(np.array([0.0, 1.0])).T
        straight[-1] = self.values(np.array([0.0, 1.0])).T
        straight[-1, 0] -= steps[0] * straight[-2, 0]
        size = 1.0 + sum(steps)
        pieces = np.concatenate([straight[:, :1], self._curve.c, straight[:, 1:]], axis=1)
        pieces *= size ** np.arange(len(pieces) - 1, -1, -1)[:, None, None]
        knots = np.concatenate([[-steps[0]], self._curve.x, [1.0 + steps[1]]])
        longer = copy(self)
        longer._curve = PPoly(pieces, (knots + steps[0]) / size)
        longer._slope = longer._curve.derivative()
        longer.knots = longer._curve.x
        return longer


class Revolution(Parametric):
    """A profile turned about an axis.

    `profile` (N, 2) holds station along the axis and radius, in mm, stations ascending. With `smooth` a cubic spline
    runs through the points and a radius of 0 at an end is a rounded pole; otherwise the points are joined by straight
    lines (cylinders and cones), and where these turn is a crease. `tips` says of which ends a cone runs to a tip:
    there is no normal, so a tip is the end of the form, a rim of no length, and no pole.
    """

    def __init__(self, axis: str, origin, profile, smooth: bool = True):
        profile = np.asarray(profile, float)
        self.frame = turning_frame(axis)
        self.origin = np.asarray(origin, float)
        self._profile = Profile(profile[:, 0], profile[:, 1:2], np.empty((len(profile), 0)), smooth)
        along, outward = np.abs(self._profile.derivatives(np.array([0.0, 1.0])))
        tip = self._profile.poles & (along > _SHARP * outward)
        self.tips = bool(tip[0]), bool(tip[1])
        self.poles = self._profile.poles[0] and not tip[0], self._profile.poles[1] and not tip[1]
        self._stops = np.array([0, len(profile) - 1]) if smooth else _straight_runs(profile)
        self._stations, self._axis, self._smooth = profile, axis, smooth
        self.sheet_count = len(self._stops) - 1

    @property
    def notes(self) -> tuple[str, ...]:
        """Where a smooth profile leaves its points, for the maker."""
        told = "its smooth profile runs {by:.1f} mm {way} than its points at {start:.0f} and {end:.0f}; {remedy}"
        remedy = "set a point between them where it must not, or smooth: false"
        return tuple(
            told.format(by=abs(by), way="further out" if by > 0 else "further in", start=start, end=end, remedy=remedy)
            for start, end, by in self._profile.swells(1)
        )

    def carried_on(self, start: float, end: float) -> Revolution:
        """The form going straight on at its two ends, by so many mm along the profile, or short of the axis."""
        if self._smooth:
            longer = copy(self)
            longer._profile = self._profile.carried_on(start, end, (1,))
            return longer
        profile = self._stations.copy()
        for k, beside, reach in ((0, 1, start), (-1, -2, end)):
            slope = self._stations[k] - self._stations[beside]
            profile[k] = _carried_on(profile[k], slope / np.linalg.norm(slope), reach)
        return Revolution(self._axis, self.origin, profile, smooth=False)

    def sheet(self, numbers, reach) -> Surface:
        if self.sheet_count == 1:
            return self
        first, last = min(numbers), max(numbers)
        corners = self._stations[self._stops[first : last + 2]]
        lengths = np.linalg.norm(np.diff(corners, axis=0), axis=1)
        slopes = np.diff(corners, axis=0) / lengths[:, None]
        if first > 0:
            corners[0] = _carried_on(corners[0], -slopes[0], reach)
        if last < self.sheet_count - 1:
            corners[-1] = _carried_on(corners[-1], slopes[-1], reach)
        if first == last:
            return Frustum(self._axis, self.origin, corners)
        bends = np.minimum(BEND * reach, NARROW * np.minimum(lengths[1:], lengths[:-1]))
        return BentFrusta(self._axis, self.origin, corners, bends)

    def tipped(self, distance: float, radius: float = TIP) -> Surface:
        """A cone that runs to a tip, as a sheet that does so at `distance` from the form: there it ends elsewhere, where
        it is `radius` from the axis."""
        if len(self._stops) != 2 or not any(self.tips):
            return self
        ends = self._stations[self._stops].copy()
        slope = np.diff(ends, axis=0)[0]
        grows = slope[0] / np.linalg.norm(slope)
        for k, tip in enumerate(self.tips):
            if tip:
                ends[k] += (radius - distance * grows - ends[k, 1]) / slope[1] * slope
        return Frustum(self._axis, self.origin, ends, self.tips)

    def creases(self):
        creases = []
        for number, stop in enumerate(self._stops[1:-1]):
            slopes = np.diff(self._stations[stop - 1 : stop + 2], axis=0)
            along, outward = (slopes / np.linalg.norm(slopes, axis=1, keepdims=True)).T
            v = np.arange(_AROUND) / _AROUND
            c, s = (part[:, None] for part in once_around(v))
            normals = [np.hstack([np.full_like(c, -b), a * c, a * s]) for a, b in zip(along, outward)]
            ahead = np.hstack([np.zeros_like(c), s, -c])  # the way in which v grows
            points = self.point(np.column_stack([np.full(_AROUND, self._profile.knots[stop]), v]))
            creases.append(Crease((number, number + 1), points, ahead @ self.frame.T, np.stack(normals) @ self.frame.T))
        return tuple(creases)

    def samples(self):
        made = self.triangulation(SAMPLES)
        middle = self.blend(made.coords[made.faces], np.full((len(made.faces), 3), 1 / 3))
        sheet = np.searchsorted(self._profile.knots[self._stops[1:-1]], middle[:, 0], side="right")
        return self.point(middle), Mesh(self.point(made.coords), made.faces).areas, sheet

    def unbent(self, coords):
        coords = np.asarray(coords, float)
        number = np.searchsorted(self._profile.knots[self._stops[1:-1]], coords[:, 0], side="right")
        return self.point(coords), Revolution.normal(self, coords), number

    def point(self, coords):
        coords = np.asarray(coords, float)
        station, radius = self._profile.values(coords[:, 0])
        c, s = once_around(coords[:, 1])
        return self.origin + np.column_stack([station, radius * c, radius * s]) @ self.frame.T

    def partials(self, coords):
        coords = np.asarray(coords, float)
        _, radius = self._profile.values(coords[:, 0])
        d_station, d_radius = self._profile.derivatives(coords[:, 0])
        c, s = once_around(coords[:, 1])
        du = np.column_stack([d_station, d_radius * c, d_radius * s])
        dv = np.column_stack([np.zeros_like(c), radius * s, -radius * c])
        return du @ self.frame.T, dv @ self.frame.T


class Frustum(Revolution):
    """A cylinder or a frustum of a cone: the sheet between two creases of a revolution. `ends` (2, 2) as a profile."""

    def __init__(self, axis: str, origin, ends: np.ndarray, to_tip: tuple[bool, bool] = (False, False)):
        super().__init__(axis, origin, ends, smooth=False)
        self.to_tip = to_tip

    def normal(self, coords):
        along, outward = np.diff(self._stations, axis=0)[0] / np.linalg.norm(np.diff(self._stations, axis=0))
        c, s = once_around(np.asarray(coords, float)[:, 1])
        return np.column_stack([np.full(len(c), -outward), along * c, along * s]) @ self.frame.T

    def ends_at(self, distance: float) -> tuple[float, float]:
        """The u at which the cone's surface at `distance` from this one begins and ends: of a tip its own."""
        radius, step = self._stations[:, 1] + distance * self._slope_out(), np.diff(self._stations[:, 1])[0]
        start, end = ((TIP - r) / step if tip and step else 0.0 for r, tip in zip(radius, self.to_tip))
        return start, 1.0 + end

    @property
    def beyond_tip(self) -> float:
        """How far it is along the surface from the rim of a tip, `TIP` from the axis, to where the cone comes to a point."""
        return TIP / float(np.sqrt(1.0 - self._slope_out() ** 2))

    def clear_of_axis(self, coords: np.ndarray) -> np.ndarray:
        """(N,) the least distance, 0 or more, at which places are beside the axis: past the form's own tip its points
        would be on the other side."""
        radius = self._profile.values(np.asarray(coords, float)[:, 0])[1]
        return np.maximum(TIP / 2 - radius, 0.0) / self._slope_out() if any(self.to_tip) else np.zeros(len(coords))

    def lengths(self, start: np.ndarray, end: np.ndarray, distance: float) -> np.ndarray:
        """(...) of the shortest lines in the parallel surface at `distance`, from places (..., 2) to others: a cone laid flat
        by radial lines is a sector, and such a line is a chord of it. Right however far apart the places are.

        In it a place at radius r from the axis lies r / sin a from the point of the sector, a being the half angle of the
        cone, and an angle f around the axis is f sin a; in the limit of a cylinder the chord is the side of a helix.
        """
        step = np.diff(self._stations, axis=0)[0]
        slant = float(np.linalg.norm(step))
        sine = step[1] / slant
        radii = [self._stations[0, 1] + at[..., 0] * step[1] + distance * self._slope_out() for at in (start, end)]
        along, around = slant * (end[..., 0] - start[..., 0]), end[..., 1] - start[..., 1]
        across = 2 * np.pi * around * np.sinc(around * sine)
        return np.sqrt(along**2 + radii[0] * radii[1] * across**2)

    def _slope_out(self) -> float:
        """How far the radius of a parallel surface grows for each mm of distance."""
        slope = np.diff(self._stations, axis=0)[0]
        return float(slope[0] / np.linalg.norm(slope))

    def height(self, points):
        local = (points - self.origin) @ self.frame
        start, end = self._stations
        along, outward = (end - start) / np.linalg.norm(end - start)
        return (np.hypot(local[:, 1], local[:, 2]) - start[1]) * along - (local[:, 0] - start[0]) * outward


class BentFrusta(Revolution):
    """Cylinders and frusta of cones between two creases. Up to so many mm beside its own creases as `bends` (N - 2,) says,
    the normal turns evenly to that in the middle of both sides. `corners` (N, 2) as a profile."""

    def __init__(self, axis: str, origin, corners: np.ndarray, bends: np.ndarray):
        super().__init__(axis, origin, corners, smooth=False)
        steps = np.diff(corners, axis=0)
        leans = np.unwrap(np.arctan2(steps[:, 1], steps[:, 0]))
        knots = self._profile.knots
        beside = bends / np.linalg.norm(steps, axis=1).sum()
        at = np.column_stack([knots[1:-1] - beside, knots[1:-1], knots[1:-1] + beside])
        lean = np.column_stack([leans[:-1], (leans[:-1] + leans[1:]) / 2, leans[1:]])
        self._turning = at.ravel(), lean.ravel()
        self.sheet_count = 1

    def normal(self, coords):
        coords = np.asarray(coords, float)
        lean = np.interp(coords[:, 0], *self._turning)
        c, s = once_around(coords[:, 1])
        return np.column_stack([-np.sin(lean), np.cos(lean) * c, np.cos(lean) * s]) @ self.frame.T


def _straight_runs(profile: np.ndarray) -> np.ndarray:
    """The points at which a profile (N, 2) of straight lines turns, its two ends included, by number."""
    slopes = np.diff(profile, axis=0)
    turns = np.abs(np.diff(np.unwrap(np.arctan2(slopes[:, 1], slopes[:, 0]))))
    return np.concatenate([[0], 1 + np.flatnonzero(turns > _CREASE), [len(profile) - 1]])


def _carried_on(end: np.ndarray, slope: np.ndarray, reach: float) -> np.ndarray:
    """The end of a straight profile moved on by `reach`, or short of the axis."""
    to_axis = -end[1] / slope[1] if slope[1] < 0 else np.inf
    return end + min(reach, (1 - _SHORT_OF_TIP) * to_axis) * slope


class Superellipsoid(Parametric):
    """(|x/a|^e + |y/b|^e)^(n/e) + |z/c|^n = 1 with `exponents` (e around, n along the axis); 2, 2 is an ellipsoid.

    Barr, "Superquadrics and angle-preserving transformations", IEEE CG&A 1981, with exponents written as
    powers (from memory). `radii` are those along x, y and z; the poles lie on `axis`.
    """

    poles = (True, True)

    def __init__(self, centre, radii, exponents=(2.0, 2.0), axis: str = "z"):
        self.frame = turning_frame(axis)
        self.centre = np.asarray(centre, float)
        self.radii = np.abs(self.frame.T @ np.asarray(radii, float))  # along the axis, then around it
        self.around, self.along = (float(e) for e in exponents)

    def _direction(self, coords):
        polar = np.pi * coords[:, 0]
        c, s = once_around(coords[:, 1])
        return -np.cos(polar), np.sin(polar) * c, np.sin(polar) * s

    def _level(self, d):
        w, p, q = (np.abs(x) for x in d)
        e, n = self.around, self.along
        ring = (p**e + q**e) ** (1 / e)
        return ring, (w**n + ring**n) ** (1 / n)

    def point(self, coords):
        d = self._direction(np.asarray(coords, float))
        _, level = self._level(d)
        return self.centre + (np.column_stack(d) / level[:, None] * self.radii) @ self.frame.T

    def normal(self, coords):
        d = self._direction(np.asarray(coords, float))
        ring, level = self._level(d)
        w = d[0] / level
        p, q = (x / np.maximum(ring, 1e-300) for x in d[1:])  # shares of the ring, so that no power grows without bound
        e, n = self.around, self.along
        around = (ring / level) ** (n - 1)
        gradient = np.column_stack(
            [
                np.sign(w) * np.abs(w) ** (n - 1),
                around * np.sign(p) * np.abs(p) ** (e - 1),
                around * np.sign(q) * np.abs(q) ** (e - 1),
            ]
        )
        normal = (gradient / self.radii) @ self.frame.T
        return normal / np.linalg.norm(normal, axis=1, keepdims=True)
