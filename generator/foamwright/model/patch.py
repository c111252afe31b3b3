"""One face of a panel as a smooth spline patch, somewhat larger than the panel. Lengths in mm.

The patch is drawn over a plane map of the form's surface coordinates. Away from the poles the map is the
coordinates themselves. A panel that holds or touches a pole is mapped by way of the unit sphere and the
stereographic projection from the point opposite to the panel, under which a pole is a point like any other.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import cast

import numpy as np
from scipy.interpolate import RectBivariateSpline

from foamwright.forms.periodic import PeriodicCoordinates
from foamwright.forms.surface import Surface
from foamwright.model.failure import ShapeFailure
from foamwright.parts.records import PanelBody

PATCH_TOLERANCE = 0.01  # mm, of the patch from the true offset surface
GRIDS = (12, 18, 27, 40, 60, 90, 135)  # points each way, tried in turn
OPEN_END = np.pi / 6  # where an end that is not a pole lies on the sphere
OVERHANG = 0.08  # of the panel's extent, on every side


@dataclass(frozen=True, eq=False)
class Unrolled:
    """The surface coordinates as they are, stretched to about true size."""

    stretch: np.ndarray  # (2,)

    def to_plane(self, coords: np.ndarray) -> np.ndarray:
        return coords * self.stretch

    def to_coords(self, plane: np.ndarray) -> np.ndarray:
        return plane / self.stretch


@dataclass(frozen=True, eq=False)
class Stereographic:
    """The surface coordinates on the unit sphere, seen from the point opposite to `axes[2]`."""

    ends: tuple[float, float]  # polar angle of u = 0 and u = 1
    axes: np.ndarray  # (3, 3) rows: x and y of the plane, and the middle of the panel
    size: float

    def to_plane(self, coords: np.ndarray) -> np.ndarray:
        local = on_sphere(coords, self.ends) @ self.axes.T
        return 2.0 * self.size * local[:, :2] / np.maximum(1.0 + local[:, 2:], 1e-9)

    def to_coords(self, plane: np.ndarray) -> np.ndarray:
        x, y = (plane / self.size).T
        square = x * x + y * y
        local = np.stack([4.0 * x, 4.0 * y, 4.0 - square], axis=1) / (4.0 + square)[:, None]
        q = local @ self.axes
        polar = np.arctan2(np.hypot(q[:, 0], q[:, 1]), q[:, 2])
        u = (polar - self.ends[0]) / (self.ends[1] - self.ends[0])
        return np.stack([u, np.arctan2(q[:, 1], q[:, 0]) / (2.0 * np.pi)], axis=1)


Map = Unrolled | Stereographic


def on_sphere(coords: np.ndarray, ends: tuple[float, float]) -> np.ndarray:
    """Surface coordinates (N, 2) to points (N, 3) of the unit sphere."""
    polar = ends[0] + coords[:, 0] * (ends[1] - ends[0])
    turn = 2.0 * np.pi * coords[:, 1]
    return np.stack([np.sin(polar) * np.cos(turn), np.sin(polar) * np.sin(turn), np.cos(polar)], axis=1)


def plane_map(body: PanelBody) -> Map:
    """The map for a panel: right-handed seen from outside, and in about true size."""
    coords, faces = body.chart.coords, body.chart.faces
    low, high = coords.min(axis=0), coords.max(axis=0)
    room = 2.0 * OVERHANG * (high - low)[0]
    first, last = cast(PeriodicCoordinates, body.surface).poles  # imported forms have another map
    clear = (not first or low[0] > room, not last or high[0] < 1.0 - room)
    points = body.surface.point(coords)
    edges = np.vstack([faces[:, [0, 1]], faces[:, [1, 2]], faces[:, [2, 0]]])
    steps = np.abs(coords[edges[:, 0]] - coords[edges[:, 1]])
    closes = steps[:, 1].max() > 0.5  # it runs all the way around, so v jumps somewhere
    if all(clear) and not closes:
        lengths = np.linalg.norm(points[edges[:, 0]] - points[edges[:, 1]], axis=1)
        stretch, *_ = np.linalg.lstsq(steps**2, lengths**2, rcond=None)
        return Unrolled(np.sqrt(np.maximum(stretch, 1.0)))
    ends = (0.0 if first else OPEN_END, np.pi if last else np.pi - OPEN_END)
    sphere = on_sphere(coords, ends)
    mean = sphere.mean(axis=0)
    middles = [np.array([0.0, 0.0, 1.0]), np.array([0.0, 0.0, -1.0])]
    if np.linalg.norm(mean) > 0.05:
        middles.insert(0, mean / np.linalg.norm(mean))
    middle = max(middles, key=lambda m: float((sphere @ m).min()))
    spread = np.linalg.eigh(np.cov((sphere - np.outer(sphere @ middle, middle)).T))[1][:, ::-1]
    side = np.cross(middle, spread[:, 0])
    side = side / np.linalg.norm(side)
    axes = np.stack([np.cross(side, middle), side, middle])
    unit = Stereographic(ends, axes, 1.0)
    size = np.sqrt(_area(points, faces) / _area(unit.to_plane(coords), faces))
    return Stereographic(ends, axes, float(size))


def _area(points: np.ndarray, faces: np.ndarray) -> float:
    a, b, c = points[faces[:, 0]], points[faces[:, 1]], points[faces[:, 2]]
    wide = np.zeros((len(faces), 3)), np.zeros((len(faces), 3))
    wide[0][:, : points.shape[1]] = b - a
    wide[1][:, : points.shape[1]] = c - a
    return float(np.linalg.norm(np.cross(*wide), axis=1).sum() / 2.0)


def extended_offset(surface: Surface, coords: np.ndarray, distance: float) -> np.ndarray:
    """`surface.offset`, carried on past the ends u = 0 and u = 1 by the parabola through the last points."""
    step = 0.01
    u = coords[:, 0]
    points = surface.offset(np.column_stack([np.clip(u, 0.0, 1.0), coords[:, 1]]), distance)
    for end, inward, beyond in ((0.0, step, -u), (1.0, -step, u - 1.0)):
        outside = beyond > 0.0
        if outside.any():
            v = coords[outside, 1]
            p0, p1, p2 = (
                surface.offset(np.column_stack([np.full(len(v), end + k * inward), v]), distance) for k in range(3)
            )
            x = -(beyond[outside] / step)[:, None]
            points[outside] = p0 + x * (p1 - p0) + x * (x - 1.0) / 2.0 * (p2 - 2.0 * p1 + p0)
    return points


@dataclass(frozen=True, eq=False)
class Patch:
    """A bicubic patch over a rectangle of the plane map, at one distance from the form."""

    splines: tuple[RectBivariateSpline, RectBivariateSpline, RectBivariateSpline]
    box: np.ndarray  # (2, 2): lowest and highest corner

    def at(self, plane: np.ndarray, dx: int = 0, dy: int = 0) -> np.ndarray:
        """Points (N, 3), or their derivatives, at (N, 2) of the plane map."""
        return np.stack([s.ev(plane[:, 0], plane[:, 1], dx=dx, dy=dy) for s in self.splines], axis=1)

    def foot(self, points: np.ndarray, near: np.ndarray) -> np.ndarray:
        """Where the patch comes nearest to `points` (N, 3), searched from `near` (N, 2); Gauss-Newton."""
        plane = np.clip(near, *self.box)
        longest = (self.box[1] - self.box[0]).max() / 4.0
        for _ in range(40):
            jx, jy, r = self.at(plane, 1, 0), self.at(plane, 0, 1), points - self.at(plane)
            xx, yy, xy = (jx * jx).sum(1), (jy * jy).sum(1), (jx * jy).sum(1)
            bx, by = (jx * r).sum(1), (jy * r).sum(1)
            det = np.maximum(xx * yy - xy * xy, 1e-12)
            step = np.stack([yy * bx - xy * by, xx * by - xy * bx], axis=1) / det[:, None]
            size = np.linalg.norm(step, axis=1, keepdims=True)
            step *= np.minimum(1.0, longest / np.maximum(size, 1e-12))
            plane = np.clip(plane + step, *self.box)
            if np.abs(step).max() < 1e-9:
                break
        return plane


def patch(body: PanelBody, plane: Map, distance: float, thickness: float) -> Patch:
    """The patch at `distance` from the form, large enough for the panel's edges however they are cut."""
    faces = body.chart.faces
    vertices = plane.to_plane(body.chart.coords)
    probes = np.vstack([vertices, vertices[faces].mean(axis=1)])
    truth = extended_offset(body.surface, plane.to_coords(probes), distance)
    low, high = vertices.min(axis=0), vertices.max(axis=0)
    room = OVERHANG * (high - low) + 2.0 * thickness
    box = np.stack([low - room, high + room])
    extent = box[1] - box[0]
    for grid in GRIDS:
        counts = np.maximum(8, np.round(grid * np.minimum(1.0, 2.0 * extent / extent.max()))).astype(int)
        x, y = (np.linspace(box[0, i], box[1, i], counts[i]) for i in range(2))
        nodes = np.stack(np.meshgrid(x, y, indexing="ij"), axis=-1).reshape(-1, 2)
        values = extended_offset(body.surface, plane.to_coords(nodes), distance).reshape(len(x), len(y), 3)
        fitted = Patch(tuple(RectBivariateSpline(x, y, values[:, :, i], s=0) for i in range(3)), box)
        error = np.linalg.norm(fitted.at(probes) - truth, axis=1).max()
        if error < PATCH_TOLERANCE:
            return fitted
    if error > 20.0 * PATCH_TOLERANCE:
        raise ShapeFailure(f"no smooth patch within {error:.2f} mm of the form")
    return fitted
